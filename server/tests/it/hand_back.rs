//! Knives go home by their tags, when they are paid, with a bill whose number nobody else has.

use server::store::{bills, ledger, outbox, pieces};
use server::use_cases::issue_bill;
use shop::ids::VisitId;
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::PieceState;
use shop::read::Visit;
use shop::tag::Tag;

use crate::desk::{again, href, in_hand, measure, open_shop, piece_now, ready, send, with};
use crate::form::between;
use crate::on_both_engines;
use crate::test_shop::TestShop;

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
