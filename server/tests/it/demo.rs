//! The demo shop a newcomer meets, lived through by the use cases themselves.

use server::store::outbox::{self, Which};
use server::store::{bills, knives, visits};
use server::use_cases::seed_demo;
use shop::piece::PieceState;

use crate::on_both_engines;
use crate::test_shop::TestShop;

on_both_engines!(the_demo_has_work_in_every_state_and_nothing_in_the_future, async |shop: &TestShop| {
    assert!(seed_demo::with_history(&shop.ctx).await.unwrap().is_some());
    assert!(seed_demo::with_history(&shop.ctx).await.unwrap().is_none(), "a second time changes nothing");
    let db = shop.ctx.store.read();
    let open = visits::open(db).await.unwrap();
    for state in [PieceState::Expected, PieceState::InHand, PieceState::InLine, PieceState::Ready] {
        assert!(open.iter().flat_map(|v| &v.pieces).any(|p| p.state == state), "nothing is {state}");
    }
    assert!(open.iter().all(|v| v.booked_at <= shop.ctx.now()));
    let known = knives::page(db, "", None, 100).await.unwrap();
    let often = known
        .iter()
        .find(|k| k.heights.len() >= 4)
        .expect("one knife was here twice, measured before and after");
    assert!(
        often.heights.windows(2).all(|w| w[0].0 <= w[1].0 && w[0].1 >= w[1].1 - 1e-9),
        "{:?}",
        often.heights
    );
    let mut n_billed = 0;
    for knife in &known {
        for visit in visits::of_customer(db, knife.owner.unwrap()).await.unwrap() {
            for bill in bills::of_visit(db, visit.id).await.unwrap() {
                assert_eq!(visit.paid.as_ref().map(|p| p.0), Some(bill.total));
                n_billed += 1;
            }
        }
    }
    assert!(n_billed > 0);
    assert_eq!(
        outbox::count(db, Which::Waiting).await.unwrap(),
        0,
        "what was said in the past is not said again"
    );
});
