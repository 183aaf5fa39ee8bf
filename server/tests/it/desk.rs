//! Receiving, measuring, answering, handing back and billing, as a browser without JavaScript sees them.

use chrono::TimeDelta;
use server::store::staff::Roles;
use server::store::{bills, knives, ledger, operations, outbox, pieces, visits};
use server::use_cases::{issue_bill, seed_demo};
use shop::ids::VisitId;
use shop::ledger::{Fact, Who};
use shop::money::Money;
use shop::piece::{PieceState, WaitsOn};
use shop::read::{OperationState, Piece, Visit};
use shop::route::OperationKind;
use shop::tag::Tag;

use crate::on_both_engines;
use crate::test_shop::{Answer, TestShop};

/// Opens the demo shop and signs in somebody of the desk.
pub(crate) async fn open_shop(shop: &TestShop) {
    seed_demo::run(&shop.ctx).await.unwrap();
    shop.sign_in_as(Roles::OWNER).await;
}

#[track_caller]
fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    let from = text.find(before).unwrap_or_else(|| panic!("{before:?} is not in:\n{text}")) + before.len();
    &text[from..from + text[from..].find(after).unwrap()]
}

/// Books dull plain knives of 210 mm, fetched at the counter, for somebody with this mail address.
pub(crate) async fn book(shop: &TestShop, email: &str, names: &[&str]) -> Visit {
    let page = shop.get("/book").await.expect(200);
    let key = between(&page.body, "name=\"key\" value=\"", "\"").to_owned();
    let mut fields: Vec<(String, String)> = [
        ("key", key.as_str()),
        ("arrival", "post"),
        ("packing", "true"),
        ("back", "counter"),
        ("name", "Ines Example"),
        ("email", email),
        ("declared", ""),
        ("refused", "back"),
        ("do", "book"),
    ]
    .iter()
    .map(|(n, v)| ((*n).to_owned(), (*v).to_owned()))
    .collect();
    for (i, name) in names.iter().enumerate() {
        let knife = [
            ("place", (i + 1).to_string()),
            ("model", "other".to_owned()),
            ("make", (*name).to_owned()),
            ("edge", "double".to_owned()),
            ("length", "210".to_owned()),
            ("dull", "true".to_owned()),
        ];
        fields.extend(knife.into_iter().map(|(n, v)| (format!("knives[{i}][{n}]"), v)));
    }
    send(shop, "/book", &fields).await.expect(303);
    let newest = visits::open(shop.ctx.store.read()).await.unwrap();
    newest.into_iter().max_by_key(|v| v.id).expect("a visit")
}

async fn send(shop: &TestShop, path: &str, fields: &[(String, String)]) -> Answer {
    let fields: Vec<_> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    shop.post(path, &fields).await
}

pub(crate) fn href(visit: &Visit) -> String {
    format!("/desk/visit/{}", visit.reference.plain())
}

pub(crate) async fn again(shop: &TestShop, visit: &Visit) -> Visit {
    visits::get(shop.ctx.store.read(), visit.id).await.unwrap().unwrap()
}

/// The receiving form as the page gives it, every piece as in `came`.
async fn receiving(shop: &TestShop, visit: &Visit, came: &[&str]) -> Vec<(String, String)> {
    let page = shop.get(&href(visit)).await.expect(200);
    let form = between(&page.body, "/receive\"", "</form>");
    let mut fields = vec![
        ("key".to_owned(), between(form, "name=\"key\" value=\"", "\"").to_owned()),
        ("version".to_owned(), between(form, "name=\"version\" value=\"", "\"").to_owned()),
        ("do".to_owned(), "receive".to_owned()),
    ];
    for (i, (piece, came)) in visit.pieces.iter().zip(came).enumerate() {
        fields.push((format!("pieces[{i}][id]"), piece.id.to_string()));
        fields.push((format!("pieces[{i}][came]"), (*came).to_owned()));
    }
    fields
}

pub(crate) async fn receive(shop: &TestShop, visit: &Visit, came: &[&str]) -> Visit {
    let form = receiving(shop, visit, came).await;
    send(shop, &format!("{}/receive", href(visit)), &form).await.expect(303);
    again(shop, visit).await
}

/// Books and receives.
pub(crate) async fn in_hand(shop: &TestShop, email: &str, names: &[&str]) -> Visit {
    let visit = book(shop, email, names).await;
    receive(shop, &visit, &vec!["here"; names.len()]).await
}

/// A sheet for a sound, dull blade.
fn sheet(piece: &Piece) -> Vec<(String, String)> {
    [
        ("version", piece.version.to_string().as_str()),
        ("edge", "double"),
        ("length", "210"),
        ("height", "46"),
        ("spine", "2,4"),
        ("behind_edge", "0.35"),
        ("angle", "15"),
        ("land", "0.03"),
        ("do", "save"),
    ]
    .iter()
    .map(|(n, v)| ((*n).to_owned(), (*v).to_owned()))
    .collect()
}

fn with(mut form: Vec<(String, String)>, more: &[(&str, &str)]) -> Vec<(String, String)> {
    for (name, value) in more {
        if !name.ends_with("[]") {
            form.retain(|(n, _)| n != name);
        }
        form.push(((*name).to_owned(), (*value).to_owned()));
    }
    form
}

pub(crate) async fn measure(shop: &TestShop, piece: &Piece, more: &[(&str, &str)]) -> Answer {
    send(shop, &format!("/desk/piece/{}/inspect", piece.id), &with(sheet(piece), more)).await
}

async fn piece_now(shop: &TestShop, piece: &Piece) -> Piece {
    pieces::get(shop.ctx.store.read(), piece.id).await.unwrap().unwrap()
}

/// Puts pieces where the bench would have brought them.
async fn put_in(shop: &TestShop, visit: &Visit, state: PieceState) -> Visit {
    let tx = shop.ctx.store.begin_write().await.unwrap();
    for mut piece in visits::get(&tx, visit.id).await.unwrap().unwrap().pieces {
        piece.state = state;
        pieces::save(&tx, &piece).await.unwrap();
    }
    tx.commit().await.unwrap();
    again(shop, visit).await
}

async fn facts(shop: &TestShop, piece: &Piece) -> Vec<Fact> {
    let entries = ledger::of_piece(shop.ctx.store.read(), piece.id).await.unwrap();
    entries.into_iter().map(|e| e.fact).collect()
}

pub(crate) async fn notices(shop: &TestShop, visit: &Visit) -> Vec<String> {
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
    kept.into_iter().map(|n| n.kind).collect()
}

on_both_engines!(a_partial_parcel_is_received_piece_by_piece, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer", "Petty", "Boner"]).await;
    let visit = receive(shop, &visit, &["here", "missing", "later"]).await;
    let states: Vec<_> = visit.pieces.iter().map(|p| p.state).collect();
    assert_eq!(states, [PieceState::InHand, PieceState::Missing, PieceState::Expected]);
    assert!(visit.confirmed_at.is_some(), "whoever sends the knives has meant the booking");
    let (tag, knife) = (visit.pieces[0].tag.unwrap(), visit.pieces[0].knife.unwrap());
    let known = knives::by_tag(shop.ctx.store.read(), tag).await.unwrap().unwrap();
    assert_eq!((known.id, known.owner), (knife, Some(visit.customer)));
    assert!(
        facts(shop, &visit.pieces[0])
            .await
            .iter()
            .any(|f| matches!(f, Fact::Received { tag: t, unbooked: false } if *t == tag.plain()))
    );
    assert_eq!(facts(shop, &visit.pieces[1]).await.last(), Some(&Fact::Missing));
    assert_eq!(notices(shop, &visit).await, ["booked", "received"]);
    // The page offers the tag, and still the one that has not come; the missing one may turn up yet.
    let page = shop.get(&href(&visit)).await.expect(200).says(&tag.to_string()).says("Receive");
    assert!(!page.body.contains(&visit.pieces[0].id.to_string().repeat(2)));
    shop.get(&format!("{}/tags", href(&visit))).await.expect(200).says(&tag.to_string()).says("<svg");
    // It turned up.
    let visit = {
        let form = receiving(shop, &visit, &["", "here", "here"]).await;
        send(shop, &format!("{}/receive", href(&visit)), &form).await.expect(303);
        again(shop, &visit).await
    };
    assert!(visit.pieces.iter().all(|p| p.state == PieceState::InHand && p.tag.is_some()));
    shop.send_post().await;
});

on_both_engines!(a_double_click_receives_once, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    let form = receiving(shop, &visit, &["here"]).await;
    let path = format!("{}/receive", href(&visit));
    let (one, two) = tokio::join!(send(shop, &path, &form), send(shop, &path, &form));
    one.expect(303);
    two.expect(303);
    send(shop, &path, &form).await.expect(303);
    assert_eq!(knives::count(shop.ctx.store.read()).await.unwrap(), 1);
    assert_eq!(notices(shop, &visit).await, ["booked", "received"]);
    shop.send_post().await;
});

on_both_engines!(whoever_was_slower_receives_nothing_and_loses_nothing_typed, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer", "Petty"]).await;
    let slow = receiving(shop, &visit, &["missing", "missing"]).await;
    receive(shop, &visit, &["here", "later"]).await;
    let slow = with(slow, &[("note", "The box was wet & torn")]);
    send(shop, &format!("{}/receive", href(&visit)), &slow)
        .await
        .expect(422)
        .says("Somebody changed this visit")
        .says("The box was wet &amp; torn");
    let visit = again(shop, &visit).await;
    assert_eq!(visit.pieces[0].state, PieceState::InHand);
    assert_eq!(visit.pieces[1].state, PieceState::Expected);
    shop.send_post().await;
});

on_both_engines!(the_price_of_an_unbooked_knife_is_always_asked_for, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    let form = receiving(shop, &visit, &["here"]).await;
    let path = format!("{}/receive", href(&visit));
    // One more row, without losing what was decided.
    let more = send(shop, &path, &with(form.clone(), &[("do", "more")])).await.expect(200);
    assert!(
        more.body.contains("knives[0][model]") && more.body.contains("value=\"here\" checked"),
        "{}",
        more.body
    );
    let unbooked = [
        ("knives[0][model]", "other"),
        ("knives[0][make]", "Found one"),
        ("knives[0][edge]", "double"),
        ("knives[0][length]", "8 in"),
        ("knives[0][dull]", "true"),
    ];
    send(
        shop,
        &path,
        &with(form.clone(), &[("knives[0][model]", "other"), ("knives[0][make]", "Found one")]),
    )
    .await
    .expect(422)
    .says("Please choose the drawing that looks like the edge.");
    send(shop, &path, &with(form, &unbooked)).await.expect(303);
    let visit = again(shop, &visit).await;
    let extra = &visit.pieces[1];
    assert_eq!((extra.number, extra.state), (2, PieceState::InHand));
    assert!((extra.booked.length_mm - 203.2).abs() < 1e-9);
    assert!(!operations::of_piece(shop.ctx.store.read(), extra.id).await.unwrap().is_empty());
    // Sound and dull: the booked knife is agreed by itself, the unbooked one is not.
    measure(shop, &visit.pieces[0], &[]).await.expect(303);
    measure(shop, extra, &[]).await.expect(303);
    assert_eq!(piece_now(shop, &visit.pieces[0]).await.state, PieceState::Agreed);
    let extra = piece_now(shop, extra).await;
    assert_eq!(extra.state, PieceState::Measured);
    assert_eq!(extra.waiting.unwrap().on, WaitsOn::Customer);
    shop.send_post().await;
});

on_both_engines!(a_piece_whose_tag_is_gone_is_held_and_never_guessed, async |shop: &TestShop| {
    open_shop(shop).await;
    let first = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let old_tag = first.pieces[0].tag.unwrap();
    put_in(shop, &first, PieceState::Home).await;
    // Somebody else sends a knife that wears that tag, and one whose tag is gone.
    let visit = book(shop, "jo@example.org", &["Slicer", "Slicer"]).await;
    let form = receiving(shop, &visit, &["here", "here"]).await;
    let wrong = with(form.clone(), &[("pieces[0][tag]", "7KM2Q0")]);
    let path = format!("{}/receive", href(&visit));
    send(shop, &path, &wrong).await.expect(422).says("This tag cannot be right");
    let form = with(form, &[("pieces[0][tag]", &old_tag.to_string()), ("pieces[1][lost]", "true")]);
    send(shop, &path, &form).await.expect(303);
    let visit = again(shop, &visit).await;
    for piece in &visit.pieces {
        assert_eq!((piece.state, piece.tag, piece.knife), (PieceState::InHand, None, None));
        assert_eq!(piece.waiting.as_ref().unwrap().on, WaitsOn::Shop);
    }
    measure(shop, &visit.pieces[0], &[]).await.expect(422).says("This piece has no tag");
    // The first changed hands; that has to be said expressly.
    let tell = |piece: &Piece, more: &[(&str, &str)]| {
        let n = piece.number;
        let mut fields = vec![("version".to_owned(), piece.version.to_string())];
        fields.extend(more.iter().map(|(name, v)| (format!("which[{n}][{name}]"), (*v).to_owned())));
        (format!("/desk/piece/{}/tag", piece.id), fields)
    };
    let code = old_tag.plain();
    let (path, fields) = tell(&visit.pieces[0], &[("tag", &code)]);
    send(shop, &path, &fields).await.expect(422).says("somebody else");
    let (path, fields) =
        tell(&visit.pieces[0], &[("tag", &code), ("sold_on", "true"), ("note", "showed the bill")]);
    send(shop, &path, &fields).await.expect(303);
    let (path, fields) = tell(&visit.pieces[1], &[("tag", &code)]);
    send(shop, &path, &fields).await.expect(422).says("already");
    let (path, fields) = tell(&visit.pieces[1], &[("tag", "")]);
    send(shop, &path, &fields).await.expect(303);
    let visit = again(shop, &visit).await;
    assert_eq!(visit.pieces[0].tag, Some(old_tag));
    assert_eq!(visit.pieces[0].knife, first.pieces[0].knife);
    assert!(visit.pieces[1].tag.is_some_and(|t| t != old_tag));
    assert!(visit.pieces.iter().all(|p| p.waiting.is_none()));
    let knife = knives::by_tag(shop.ctx.store.read(), old_tag).await.unwrap().unwrap();
    assert_eq!(knife.owner, Some(visit.customer));
    shop.send_post().await;
});

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

/// Measured, agreed and ready.
pub(crate) async fn ready(shop: &TestShop, email: &str, names: &[&str]) -> Visit {
    let visit = in_hand(shop, email, names).await;
    for piece in &visit.pieces {
        measure(shop, piece, &[]).await.expect(303);
    }
    put_in(shop, &visit, PieceState::Ready).await
}

/// The hand-back form as the page gives it.
async fn handing(shop: &TestShop, visit: &Visit) -> Vec<(String, String)> {
    let page = shop.get(&format!("{}/hand-back", href(visit))).await.expect(200);
    vec![
        ("key".to_owned(), between(&page.body, "name=\"key\" value=\"", "\"").to_owned()),
        ("version".to_owned(), between(&page.body, "name=\"version\" value=\"", "\"").to_owned()),
        ("way".to_owned(), "counter".to_owned()),
        ("how".to_owned(), "cash".to_owned()),
        ("do".to_owned(), "go".to_owned()),
    ]
}

on_both_engines!(knives_go_home_by_their_tags_and_when_they_are_paid, async |shop: &TestShop| {
    open_shop(shop).await;
    let other = ready(shop, "jo@example.org", &["Slicer"]).await;
    let visit = ready(shop, "ines@example.org", &["Slicer", "Petty"]).await;
    let path = format!("{}/hand-back", href(&visit));
    let form = handing(shop, &visit).await;
    let scan = |tag: Tag| [("do", "scan".to_owned()), ("scan", tag.plain())];
    let scanned = |form: &[(String, String)], tag: Tag| {
        let mut form = form.to_vec();
        form.retain(|(n, _)| n != "do");
        form.extend(scan(tag).map(|(n, v)| (n.to_owned(), v)));
        form
    };
    // A knife of somebody else, in the same kind of box.
    let wrong = scanned(&form, other.pieces[0].tag.unwrap());
    send(shop, &path, &wrong).await.expect(422).says("STOP").says(&other.reference.to_string());
    let tag = visit.pieces[0].tag.unwrap();
    let page = send(shop, &path, &scanned(&form, tag)).await.expect(200).says("1 to go");
    assert!(page.body.contains(&format!("value=\"{}\" checked", visit.pieces[0].id)), "{}", page.body);
    let one = with(form, &[("pieces[]", &visit.pieces[0].id.to_string()), ("taken_by", "Ines Example")]);
    send(shop, &path, &one).await.expect(422).says("Not scanned: Petty");
    let both = with(one, &[("pieces[]", &visit.pieces[1].id.to_string())]);
    send(shop, &path, &both).await.expect(422).says("38.00 EUR is still open");
    let nameless = with(both.clone(), &[("taken_by", "")]);
    send(shop, &path, &nameless).await.expect(422).says("the name of who takes them");
    let paid = with(both, &[("amount", "38"), ("how", "terminal")]);
    send(shop, &path, &paid).await.expect(303);
    send(shop, &path, &paid).await.expect(303);
    let visit = again(shop, &visit).await;
    assert!(visit.pieces.iter().all(|p| p.state == PieceState::Home && p.home_at.is_some()));
    assert_eq!(visit.paid, Some((Money(3800), "terminal".to_owned())));
    let db = shop.ctx.store.read();
    let issued = bills::of_visit(db, visit.id).await.unwrap();
    assert_eq!(issued.len(), 1);
    // 38.00 gross at 23 % holds 7.11 (38 · 23 / 123 = 7.1057).
    assert_eq!((issued[0].total, issued[0].tax), (Money(3800), Money(711)));
    shop.get(&format!("/desk/bill/{}", issued[0].number)).await.expect(200).says("7.11 EUR").says("23 %");
    let entries = ledger::of_visit(db, visit.id).await.unwrap();
    assert_eq!(entries.iter().filter(|e| matches!(e.fact, Fact::Paid { .. })).count(), 1);
    assert_eq!(entries.iter().filter(|e| matches!(e.fact, Fact::Returned { by_post: false })).count(), 2);
    // The notice opens each knife's ledger, for whoever holds the link, and shows no person.
    let kept = outbox::about(db, visit.id.0).await.unwrap();
    assert_eq!(kept.last().unwrap().kind, "returned");
    let text = &kept.last().unwrap().text;
    let link = between(text, "http://shop.example.com/k/", "\n").trim().to_owned();
    shop.forget_cookies();
    let page = shop.get(&format!("/k/{link}")).await.expect(200).says("46 mm high").says("Handed back.");
    assert!(
        !page.body.contains("Ines") && !page.body.contains("Ann Example") && !page.body.contains("38.00")
    );
    shop.get(&format!("/k/{}", link.to_lowercase())).await.expect(404);
    shop.send_post().await;
});

on_both_engines!(
    a_withdrawn_piece_costs_the_measuring_and_a_turned_down_one_nothing,
    async |shop: &TestShop| {
        open_shop(shop).await;
        let visit = in_hand(shop, "ines@example.org", &["Slicer", "Petty", "Boner"]).await;
        for piece in &visit.pieces {
            measure(shop, piece, &[("ask", "true")]).await.expect(303);
        }
        let told = [("total", "1900"), ("told[0][said]", "Ines at the counter")];
        for (piece, answer) in visit.pieces.iter().zip(["yes", "no"]) {
            let fields = [told[0], told[1], ("answer", answer)];
            shop.post(&format!("/desk/piece/{}/answer", piece.id), &fields).await.expect(303);
        }
        let third = piece_now(shop, &visit.pieces[2]).await;
        let version = third.version.to_string();
        let fields = [
            ("version", version.as_str()),
            ("code", "other"),
            ("reason", "The tang is loose inside the handle."),
        ];
        shop.post(&format!("/desk/piece/{}/turn-down", third.id), &fields).await.expect(303);
        shop.post(&format!("{}/bill", href(&visit)), &[]).await.expect(422).says("not decided or done yet");
        let tx = shop.ctx.store.begin_write().await.unwrap();
        let mut first = piece_now(shop, &visit.pieces[0]).await;
        first.state = PieceState::Ready;
        pieces::save(&tx, &first).await.unwrap();
        tx.commit().await.unwrap();
        shop.post(&format!("{}/bill", href(&visit)), &[]).await.expect(303);
        let issued = bills::of_visit(shop.ctx.store.read(), visit.id).await.unwrap();
        assert_eq!(issued[0].total, Money(1900 + 500));
        // A wrong bill is cancelled by another one; both keep their numbers and the sum is nothing.
        shop.post(&format!("{}/bill/cancel", href(&visit)), &[]).await.expect(303);
        shop.post(&format!("{}/bill", href(&visit)), &[]).await.expect(303);
        let issued = bills::of_visit(shop.ctx.store.read(), visit.id).await.unwrap();
        assert_eq!(issued.iter().map(|b| b.number).collect::<Vec<_>>(), [1, 2, 3]);
        assert_eq!(issued.iter().map(|b| b.total.0).sum::<i64>(), 2400);
        assert_eq!(issued[1].cancels, Some(issued[0].id));
        shop.get("/desk/bill/1").await.expect(200).says("cancelled by bill 2");
        shop.get("/desk/bill/99").await.expect(404);
        shop.send_post().await;
    }
);

on_both_engines!(bills_issued_at_the_same_moment_leave_no_number_out, async |shop: &TestShop| {
    open_shop(shop).await;
    let mut ids: Vec<VisitId> = Vec::new();
    for i in 0..4 {
        ids.push(ready(shop, &format!("k{i}@example.org"), &["Slicer"]).await.id);
    }
    // Each visit twice: two desks press the button for the same visit.
    let racing = ids.iter().chain(&ids).map(|id| issue_bill::issue_bill(&shop.ctx, *id));
    let issued = futures::future::join_all(racing).await;
    let mut numbers: Vec<u64> = issued.into_iter().map(|b| b.expect("a bill").number).collect();
    numbers.sort_unstable();
    numbers.dedup();
    assert_eq!(numbers, [1, 2, 3, 4]);
    shop.send_post().await;
});

on_both_engines!(the_one_field_finds_every_code_and_catches_slips, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let piece = &visit.pieces[0];
    let tag = piece.tag.unwrap().plain();
    let inspect = format!("/desk/piece/{}/inspect", piece.id);
    assert_eq!(shop.get(&format!("/desk?code={tag}")).await.expect(303).header("location"), inspect);
    let sloppy = format!("{}-{}", &tag[..4], &tag[4..]).to_lowercase();
    assert_eq!(shop.get(&format!("/desk?code={sloppy}")).await.expect(303).header("location"), inspect);
    let reference = visit.reference.plain();
    assert_eq!(
        shop.get(&format!("/desk?code={reference}")).await.expect(303).header("location"),
        href(&visit)
    );
    // One character misread: the check character catches it.
    let other = if tag.starts_with('7') { '8' } else { '7' };
    shop.get(&format!("/desk?code={other}{}", &tag[1..])).await.expect(200).says("misread");
    shop.get("/desk?code=ABC").await.expect(200).says("A tag has 6 characters");
    shop.get(&format!("/desk?code={}", Tag::from_serial(4711).plain()))
        .await
        .expect(200)
        .says("Nothing of ours");
    put_in(shop, &visit, PieceState::Home).await;
    let knife = format!("/desk/knife/{tag}");
    assert_eq!(shop.get(&format!("/desk?code={tag}")).await.expect(303).header("location"), knife);
    shop.get(&knife).await.expect(200).says("Slicer").says("Ann Example");
    shop.get("/knives?q=slic").await.expect(200).says(&piece.tag.unwrap().to_string());
    shop.send_post().await;
});

on_both_engines!(the_desk_lists_what_needs_a_hand_by_urgency, async |shop: &TestShop| {
    open_shop(shop).await;
    shop.get("/desk").await.expect(200).says("Nothing needs a hand");
    let expected = book(shop, "late@example.org", &["Late one"]).await;
    shop.get("/desk").await.expect(200).says("Expected later");
    in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let asked = in_hand(shop, "jo@example.org", &["Petty"]).await;
    measure(shop, &asked.pieces[0], &[("ask", "true")]).await.expect(303);
    let page = shop.get("/desk").await.expect(200).says("To measure").says("Waiting for customers");
    assert!(!page.body.contains("To receive"), "the post takes two days");
    shop.wait(TimeDelta::days(6));
    let page = shop.get("/desk").await.expect(200).says("To receive").says("should have come");
    let at = |words: &str| page.body.find(words).unwrap_or_else(|| panic!("{words}: {}", page.body));
    assert!(at("id=\"receive\"") < at("id=\"inspect\"") && at("id=\"inspect\"") < at("id=\"customer\""));
    page.says(&expected.reference.to_string());
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

on_both_engines!(the_desk_is_closed_to_strangers, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    shop.forget_cookies();
    for path in [
        "/desk".to_owned(),
        href(&visit),
        format!("/desk/piece/{}/inspect", visit.pieces[0].id),
        "/knives".into(),
    ] {
        assert!(shop.get(&path).await.expect(303).header("location").starts_with("/sign-in"), "{path}");
    }
    shop.send_post().await;
});
