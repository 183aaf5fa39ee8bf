//! What is chased by itself: bookings nobody confirms, parcels that never come, knives nobody fetches.

use chrono::TimeDelta;
use server::store::{operations, outbox, visits};
use server::use_cases::{chase, confirm_visit};
use shop::piece::PieceState;
use shop::read::{OperationState, Visit};

use crate::desk::{again, book, href, notices, open_shop, ready, receive};
use crate::on_both_engines;
use crate::test_shop::TestShop;

async fn chased(shop: &TestShop) -> usize {
    chase::chase(&shop.ctx).await.unwrap()
}

async fn nothing_is_planned(shop: &TestShop, visit: &Visit) -> bool {
    let ops = operations::of_piece(shop.ctx.store.read(), visit.pieces[0].id).await.unwrap();
    !ops.iter().any(|op| op.state == OperationState::Open)
}

on_both_engines!(a_booking_nobody_confirms_is_dropped_without_a_word, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    shop.wait(TimeDelta::hours(71));
    assert_eq!(chased(shop).await, 0);
    shop.wait(TimeDelta::hours(1));
    assert_eq!(chased(shop).await, 1);
    assert_eq!(chased(shop).await, 0);
    let dropped = again(shop, &visit).await;
    assert_eq!(dropped.pieces[0].state, PieceState::Lapsed);
    assert!(nothing_is_planned(shop, &dropped).await);
    assert_eq!(notices(shop, &visit).await, ["booked"]);
    // It comes after all.
    let here = receive(shop, &dropped, &["here"]).await;
    assert_eq!(here.pieces[0].state, PieceState::InHand);
    assert!(!nothing_is_planned(shop, &here).await);
    shop.send_post().await;
});

on_both_engines!(a_parcel_that_never_comes_is_asked_after_once_and_then_lapses, async |shop: &TestShop| {
    open_shop(shop).await;
    // Booked on Monday 2 March, expected on Thursday: a day to pack, two for the post.
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    confirm_visit::confirm_visit(&shop.ctx, visit.id).await.unwrap();
    // The demo shop lets a booking lapse after 21 days; half of that, rounded up, is 11.
    shop.wait(TimeDelta::days(13));
    assert_eq!(chased(shop).await, 0);
    shop.wait(TimeDelta::days(1));
    assert_eq!(chased(shop).await, 1);
    assert_eq!(chased(shop).await, 0, "asked once");
    shop.wait(TimeDelta::days(9));
    assert_eq!(chased(shop).await, 0);
    shop.wait(TimeDelta::days(1));
    assert_eq!(chased(shop).await, 1);
    assert_eq!(again(shop, &visit).await.pieces[0].state, PieceState::Lapsed);
    assert_eq!(notices(shop, &visit).await, ["booked", "not_arrived", "lapsed"]);
    shop.send_post().await;
});

on_both_engines!(a_knife_nobody_fetches_is_asked_about_three_times, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = ready(shop, "ines@example.org", &["Slicer"]).await;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let mut told = visits::get(&tx, visit.id).await.unwrap().unwrap();
    told.ready_at = Some(shop.ctx.now());
    visits::save(&tx, &told, shop.ctx.now()).await.unwrap();
    tx.commit().await.unwrap();
    shop.wait(TimeDelta::days(6));
    assert_eq!(chased(shop).await, 0);
    shop.get("/desk").await.expect(200).says("To hand back");
    shop.wait(TimeDelta::days(1));
    // Two programs at the same moment ask once.
    let (one, two) = tokio::join!(chased(shop), chased(shop));
    assert_eq!(one + two, 1);
    for _ in 0..5 {
        shop.wait(TimeDelta::days(7));
        chased(shop).await;
    }
    let kinds = notices(shop, &visit).await;
    assert_eq!(kinds.iter().filter(|kind| *kind == "unfetched").count(), 3);
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
    assert!(kept.last().unwrap().text.contains("Slicer"));
    assert!(href(&visit).contains(&visit.reference.plain()));
    shop.send_post().await;
});
