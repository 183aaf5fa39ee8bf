//! The inspection sheet: what is measured, agreed by itself or asked, turned down, and put right later.

use chrono::TimeDelta;
use server::store::{knives, ledger, operations, outbox, pieces};
use shop::ledger::{Fact, Who};
use shop::money::Money;
use shop::piece::{PieceState, WaitsOn};
use shop::read::OperationState;
use shop::route::OperationKind;

use crate::desk::{facts, in_hand, measure, notices, open_shop, piece_now};
use crate::form::between;
use crate::on_both_engines;
use crate::test_shop::TestShop;

on_both_engines!(work_within_the_booked_range_is_agreed_by_itself, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let piece = &visit.pieces[0];
    let page = shop.get(&format!("/desk/piece/{}/inspect", piece.id)).await.expect(200).says("value=\"210\"");
    assert!(page.body.contains("Defects") && page.body.contains("id=\"sheet-aid\""));
    // Working it out saves nothing.
    measure(shop, piece, &[("do", "preview")]).await.expect(200).says("Agreed by itself").says("<svg");
    assert_eq!(piece_now(shop, piece).await.version, piece.version);
    measure(shop, piece, &[("height", "4 6")]).await.expect(422).says("please type a number");
    measure(shop, piece, &[]).await.expect(303);
    let now = piece_now(shop, piece).await;
    // 19.00 for a plain edge of 151 to 240 mm, as the demo's price list has it.
    assert_eq!((now.state, now.agreed), (PieceState::Agreed, Some(Money(1900))));
    let facts = facts(shop, piece).await;
    assert!(
        facts
            .iter()
            .any(|f| matches!(f, Fact::Measured { measures, .. } if measures.height_mm == Some(46.0)))
    );
    assert_eq!(facts.last(), Some(&Fact::Agreed { total: Money(1900), within_range: true }));
    let ops = operations::of_piece(shop.ctx.store.read(), piece.id).await.unwrap();
    let open: Vec<_> = ops.iter().filter(|op| op.state == OperationState::Open).collect();
    assert!(open.iter().all(|op| !op.estimated), "{open:?}");
    assert!(open.iter().any(|op| op.step.kind == OperationKind::Bevel));
    assert!(open.iter().any(|op| op.step.kind == OperationKind::Prove));
    assert!(!open.iter().any(|op| op.step.kind == OperationKind::Inspect), "it has been inspected");
    let knife = knives::get(shop.ctx.store.read(), now.knife.unwrap()).await.unwrap().unwrap();
    assert_eq!(knife.latest.unwrap().heights_mm.1, 46.0);
    assert_eq!(knife.heights.len(), 1);
    shop.send_post().await;
});

on_both_engines!(
    beyond_the_booked_range_the_customer_is_asked_and_the_desk_may_answer,
    async |shop: &TestShop| {
        open_shop(shop).await;
        let visit = in_hand(shop, "ines@example.org", &["Slicer", "Petty"]).await;
        let chip = [("chips[0][depth]", "1"), ("chips[0][choice]", "all")];
        for piece in &visit.pieces {
            measure(shop, piece, &chip).await.expect(303);
        }
        // 19.00 and 5.00 for each of the two half millimetres begun beyond 0.3 mm.
        let piece = piece_now(shop, &visit.pieces[0]).await;
        assert_eq!(piece.verdict.as_ref().unwrap().quote.total, Money(2900));
        assert_eq!((piece.state, piece.agreed), (PieceState::Measured, None));
        assert!(piece.waiting.as_ref().unwrap().what.contains("29.00 EUR"));
        assert_eq!(notices(shop, &visit).await, ["booked", "received", "quote"]);
        let path = format!("/desk/piece/{}/answer", piece.id);
        shop.post(&path, &[("answer", "yes"), ("total", "2900"), ("told[0][said]", "")])
            .await
            .expect(422)
            .says("who answered");
        shop.post(&path, &[("answer", "yes"), ("total", "1900"), ("told[0][said]", "Ines, by telephone")])
            .await
            .expect(422)
            .says("The price has changed");
        shop.post(&path, &[("answer", "yes"), ("total", "2900"), ("told[0][said]", "Ines, by telephone")])
            .await
            .expect(303);
        let other = format!("/desk/piece/{}/answer", visit.pieces[1].id);
        shop.post(&other, &[("answer", "no"), ("total", "2900"), ("told[0][said]", "Ines, by telephone")])
            .await
            .expect(303);
        let db = shop.ctx.store.read();
        let piece = piece_now(shop, &piece).await;
        assert_eq!((piece.state, piece.agreed, piece.waiting), (PieceState::Agreed, Some(Money(2900)), None));
        let entries = ledger::of_piece(db, piece.id).await.unwrap();
        let last = entries.last().unwrap();
        assert!(matches!(last.who, Who::Staff(_)) && last.why.is_some(), "{last:?}");
        let declined = piece_now(shop, &visit.pieces[1]).await;
        assert_eq!(declined.state, PieceState::Withdrawn);
        let ops = operations::of_piece(db, declined.id).await.unwrap();
        assert!(!ops.iter().any(|op| op.state == OperationState::Open));
        shop.send_post().await;
    }
);

on_both_engines!(hardness_by_files_is_a_band_that_the_sheet_keeps, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let piece = &visit.pieces[0];
    measure(shop, piece, &[("skates", "60"), ("bites", "55"), ("edge_hrc", "")])
        .await
        .expect(422)
        .says("cannot bite where one of 60 HRC skates");
    measure(shop, piece, &[("skates", "55"), ("bites", "60"), ("edge_hrc", "63")])
        .await
        .expect(422)
        .says("The files say 55 to 60 HRC");
    measure(shop, piece, &[("skates", "55"), ("bites", "60"), ("edge_hrc", "")]).await.expect(303);
    let saved = piece_now(shop, piece).await;
    assert_eq!(saved.inspection.as_ref().unwrap().edge_band_hrc, Some((55.0, 60.0)));
    assert!(saved.verdict.unwrap().cautions.iter().any(|words| words.contains("55 to 60 HRC")));
    let page = shop.get(&format!("/desk/piece/{}/inspect", piece.id)).await.expect(200);
    let chosen = between(&page.body, "name=\"skates\"", "</select>").to_owned();
    let option = between(&chosen, "<option value=\"55\"", ">");
    assert!(option.contains("selected"), "{chosen}");
    shop.send_post().await;
});

on_both_engines!(two_people_at_one_sheet_are_told_and_lose_nothing, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let seen = visit.pieces[0].clone();
    measure(shop, &seen, &[]).await.expect(303);
    let late = measure(shop, &seen, &[("height", "45.2"), ("note", "heel is low")]).await.expect(409);
    let late =
        late.says("Somebody else was here").says("Ann Example").says("value=\"45.2\"").says("heel is low");
    assert_eq!(piece_now(shop, &seen).await.inspection.unwrap().heights_mm.1, 46.0);
    // Sent again from that page it is a decision and counts.
    let version = between(&late.body, "name=\"version\" value=\"", "\"").to_owned();
    measure(shop, &seen, &[("version", &version), ("height", "45.2")]).await.expect(303);
    assert_eq!(piece_now(shop, &seen).await.inspection.unwrap().heights_mm.1, 45.2);
    shop.send_post().await;
});

on_both_engines!(
    years_are_counted_by_how_often_a_knife_comes_and_steel_within_its_tools,
    async |shop: &TestShop| {
        open_shop(shop).await;
        let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
        let piece = &visit.pieces[0];
        // Something has to set an end, or there are no years to count.
        let least = [("least_height", "40")];
        measure(shop, piece, &least).await.expect(303);
        let first = piece_now(shop, piece).await.verdict.unwrap();
        let (low, most) = first.recession_mm;
        assert!(low <= first.likely_mm() && first.likely_mm() < most, "{first:?}");
        assert_eq!(first.years_after, None, "it was never here before");
        // It went home half a year and a whole year ago.
        let tx = shop.ctx.store.begin_write().await.unwrap();
        for days in [365, 183] {
            let mut past = piece_now(shop, piece).await;
            past.id = shop::ids::PieceId(shop.ctx.new_id());
            past.number = 100 + u32::try_from(days).unwrap();
            past.state = PieceState::Home;
            (past.inspection, past.verdict) = (None, None);
            past.home_at = Some(shop.ctx.now() - TimeDelta::days(days));
            pieces::insert(&tx, &past).await.unwrap();
        }
        tx.commit().await.unwrap();
        let again = piece_now(shop, piece).await;
        measure(shop, &again, &least).await.expect(303);
        let second = piece_now(shop, piece).await.verdict.unwrap();
        let (services, years) = (second.services_after.unwrap(), second.years_after.expect("twice a year"));
        let per_year = 365.25 / 182.0;
        assert_eq!(years.0, (f64::from(services.0) / per_year).floor() as u32, "{second:?}");
        assert!(years.1 > years.0 && f64::from(years.1) >= f64::from(services.1) / per_year, "{second:?}");
        let tag = piece_now(shop, piece).await.tag.unwrap();
        shop.get(&format!("/desk/piece/{}/inspect", piece.id))
            .await
            .expect(200)
            .says("years at this habit")
            .says(" mm left");
        shop.get(&format!("/desk/knife/{}", tag.plain())).await.expect(200).says("years at this habit");
        shop.send_post().await;
    }
);

on_both_engines!(a_cracked_blade_is_stopped_and_turned_down_with_a_reason, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let piece = &visit.pieces[0];
    measure(shop, piece, &[("defects[]", "crack")]).await.expect(303);
    let stopped = piece_now(shop, piece).await;
    assert_eq!((stopped.state, stopped.agreed), (PieceState::Measured, None));
    assert_eq!(stopped.waiting.as_ref().unwrap().on, WaitsOn::Shop);
    let ops = operations::of_piece(shop.ctx.store.read(), piece.id).await.unwrap();
    assert!(!ops.iter().any(|op| op.state == OperationState::Open), "nothing of it is planned: {ops:?}");
    assert_eq!(
        notices(shop, &visit).await,
        ["booked", "received"],
        "nobody is asked to pay for a cracked blade"
    );
    let path = format!("/desk/piece/{}/turn-down", piece.id);
    let version = stopped.version.to_string();
    shop.post(&path, &[("version", &version), ("code", "crack"), ("reason", "no")])
        .await
        .expect(422)
        .says("a sentence");
    let reason = "A crack runs from the heel into the blade; it could break under the wheel.";
    shop.post(&path, &[("version", &version), ("code", "crack"), ("reason", reason)]).await.expect(303);
    let down = piece_now(shop, piece).await;
    assert_eq!((down.state, down.turned_down.as_deref()), (PieceState::TurnedDown, Some(reason)));
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
    let text = kept.last().unwrap().text.replace('\n', " ");
    assert!(
        text.contains("A crack runs from the heel") && text.contains("Nothing is asked for it."),
        "{text}"
    );
    shop.send_post().await;
});

on_both_engines!(a_route_is_changed_with_a_reason_and_never_without_the_proof, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let piece = &visit.pieces[0];
    let change = [("add", "straighten"), ("add_minutes", "7")];
    measure(shop, piece, &change).await.expect(422).says("Please say why the route is another one");
    let no_proof =
        [("steps[0][kind]", "prove"), ("steps[0][leave_out]", "true"), ("route_reason", "in a hurry")];
    measure(shop, piece, &no_proof).await.expect(422).says("cannot be left out");
    let change = [("add", "straighten"), ("add_minutes", "7"), ("route_reason", "the tip leans")];
    measure(shop, piece, &change).await.expect(303);
    let ops = operations::of_piece(shop.ctx.store.read(), piece.id).await.unwrap();
    let added = ops.iter().find(|op| op.step.kind == OperationKind::Straighten).expect("it is on the route");
    assert_eq!((added.step.minutes, added.step.reason.as_str()), (7, "the tip leans"));
    assert!(facts(shop, piece).await.iter().any(|f| matches!(f, Fact::RouteChanged { .. })));
    shop.send_post().await;
});

on_both_engines!(a_wrong_figure_is_put_right_by_a_new_entry, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let piece = &visit.pieces[0];
    measure(shop, piece, &[]).await.expect(303);
    let db = shop.ctx.store.read();
    let entries = ledger::of_piece(db, piece.id).await.unwrap();
    let wrong = entries.iter().find(|e| matches!(e.fact, Fact::Measured { .. })).unwrap().id.to_string();
    let tag = piece.tag.unwrap().plain();
    let path = format!("/desk/knife/{tag}/correct");
    let id = piece.id.to_string();
    let fields = [("entry", wrong.as_str()), ("piece", &id), ("height", "45.5"), ("why", "")];
    shop.post(&path, &fields).await.expect(422).says("Please say why");
    let fields = [
        ("entry", wrong.as_str()),
        ("piece", &id),
        ("height", "1 3/4 in"),
        ("why", "caliper was not zeroed"),
    ];
    shop.post(&path, &fields).await.expect(303);
    let after = ledger::of_piece(db, piece.id).await.unwrap();
    assert_eq!(after.len(), entries.len() + 1);
    assert_eq!(after[..entries.len()], entries[..], "the old entries stay as they are");
    let knife = piece.knife.unwrap();
    let heights = ledger::heights(db, &[knife]).await.unwrap().remove(&knife).unwrap();
    // 1 3/4 inch is 44.45 mm.
    assert_eq!(heights.len(), 1);
    assert!((heights[0].1 - 44.45).abs() < 1e-9);
    shop.get(&format!("/desk/knife/{tag}"))
        .await
        .expect(200)
        .says("Corrected later")
        .says("caliper was not zeroed");
    shop.send_post().await;
});
