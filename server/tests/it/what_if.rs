//! What if a piece were rush, a station broke, everybody stayed longer: asked of the plan, and nothing changed by asking.

use server::planning::what_if::{Question, what_if};
use server::store::plans;
use server::store::staff::Roles;
use shop::booking::Arrival;
use shop::piece::PieceState;
use shop::route::OperationKind;

use crate::on_both_engines;
use crate::test_shop::TestShop;
use crate::workshop::{Wanted, day, furnish, pieces_of, plan, step, visit};

on_both_engines!(asking_what_if_says_what_would_move_and_moves_nothing, async |shop: &TestShop| {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
    // Four long pieces cannot be done by tomorrow: whatever comes last is late.
    let routes = vec![vec![step(OperationKind::Bevel, "bevel", "d15", 200)]; 4];
    let wanted = Wanted {
        routes: &routes,
        state: PieceState::Agreed,
        due: day(1),
        arrival: Arrival::Post,
        confirmed: true,
    };
    let id = visit(shop, wanted).await;
    let body = plan(shop).await;
    let before = plans::latest(shop.ctx.store.read()).await.unwrap().unwrap().id;
    let finishes = body.finishes();
    let (last, _) = finishes.iter().max_by_key(|(_, at)| **at).unwrap();
    let last = pieces_of(shop, id).await.into_iter().find(|p| p.id.to_string() == *last).unwrap();

    let rush = what_if(&shop.ctx, Question::Rush(last.id)).await.unwrap().unwrap();
    let own = rush.shifts.iter().find(|s| s.job == last.id.to_string()).unwrap();
    assert!(own.after < own.before && own.late_after < own.late_before, "{own:?}");
    assert!(rush.shifts.iter().any(|s| s.after > s.before), "another makes room: {:?}", rush.shifts);

    let broken = what_if(&shop.ctx, Question::Broken("bevel".into(), day(3))).await.unwrap().unwrap();
    assert_eq!(broken.impossible, None);
    assert_eq!(broken.shifts.len(), 4);
    assert!(broken.shifts.iter().all(|s| s.after > s.before), "{:?}", broken.shifts);
    assert!(broken.late.1 > broken.late.0, "{:?}", broken.late);

    let longer = what_if(&shop.ctx, Question::Longer(240)).await.unwrap().unwrap();
    assert!(longer.late.1 < longer.late.0, "{:?}", longer.late);
    assert!(what_if(&shop.ctx, Question::Broken("no-such".into(), day(3))).await.unwrap().is_none());

    let page = format!("/plan/what-if?if=rush&piece={}", last.id);
    shop.get(&page).await.expect(200).says("were rush").says("earlier").says("Asking changes nothing");
    let page = "/plan/what-if?if=broken&station=bevel&until=2026-03-05";
    shop.get(page).await.expect(200).says("out of order until Thursday, 5 March").says("later");
    shop.get("/plan/what-if?if=longer&minutes=60").await.expect(200).says("stayed 1 h longer");
    shop.get("/plan/what-if?if=broken&station=bevel&until=soon")
        .await
        .expect(200)
        .says("Please give the day");
    assert_eq!(plans::latest(shop.ctx.store.read()).await.unwrap().unwrap().id, before);
});
