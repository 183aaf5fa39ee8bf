//! The plan follows the shop: what is planned, what is left out, when it is made anew, and what it promises.

use chrono::{DateTime, TimeDelta, Utc};
use planner::Budget;
use server::planning::instance::{Give, Inputs, build};
use server::planning::worker::{self, Outcome};
use server::planning::{Body, promise};
use server::store::{operations, pieces, plans, settings};
use server::use_cases::{pin_operation, start_operation};
use shop::bench::Bench;
use shop::booking::Arrival;
use shop::piece::{PieceState, Waiting, WaitsOn};
use shop::route::OperationKind;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use crate::on_both_engines;
use crate::test_shop::TestShop;
use crate::workshop::{
    Wanted, agreed, day, furnish, mount, pieces_of, plain_route, plan, route_of, short_route, somebody, step,
    visit,
};

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

#[track_caller]
fn holds(body: &Body) {
    let complaints = planner::verify(&body.instance, &body.plan);
    assert!(complaints.is_empty(), "{complaints:?}");
}

on_both_engines!(agreed_work_gets_its_place_and_stands_in_line, async |shop: &TestShop| {
    furnish(shop).await;
    let id = agreed(shop, &[plain_route(), plain_route()]).await;
    let body = plan(shop).await;
    holds(&body);
    assert_eq!(body.plan.operations.len(), 8);
    for piece in pieces_of(shop, id).await {
        assert_eq!(piece.state, PieceState::InLine);
    }
    // d15 is mounted and both pieces want it: 2 × 12 minutes at the wheel, nothing to change there.
    let wheel: Vec<_> = body.plan.operations.iter().filter(|o| o.station == "bevel").collect();
    assert!(wheel.iter().all(|o| o.changeover_start == o.start), "{wheel:?}");
    let made = plans::latest(shop.ctx.store.read()).await.unwrap().unwrap();
    let view = body.view(made.made_at);
    assert_eq!(view.bars.len(), 8);
    assert!(view.late.is_empty() && view.left_out.is_empty());
});

on_both_engines!(what_cannot_be_planned_is_left_out_with_its_reason, async |shop: &TestShop| {
    furnish(shop).await;
    agreed(shop, &[plain_route()]).await;
    let odd = agreed(shop, &[vec![step(OperationKind::Bevel, "bevel", "d99", 10)]]).await;
    let held = agreed(shop, &[plain_route()]).await;
    let unconfirmed = Wanted {
        routes: &[plain_route()],
        state: PieceState::Expected,
        due: day(9),
        arrival: Arrival::Post,
        confirmed: false,
    };
    let unconfirmed = visit(shop, unconfirmed).await;
    let mut piece = pieces_of(shop, held).await.remove(0);
    piece.waiting = Some(Waiting { on: WaitsOn::Parts, what: "new rivets".into() });
    let tx = shop.ctx.store.begin_write().await.unwrap();
    pieces::save(&tx, &piece).await.unwrap();
    tx.commit().await.unwrap();
    let body = plan(shop).await;
    holds(&body);
    assert_eq!(body.jobs.len(), 1);
    let why = |visit| {
        let body = &body;
        async move {
            let piece = pieces_of(shop, visit).await.remove(0);
            body.left_out.iter().find(|l| l.piece == piece.id).map(|l| l.why.clone())
        }
    };
    assert!(why(odd).await.unwrap().contains("d99"));
    assert_eq!(why(held).await.unwrap(), "It waits for parts: new rivets.");
    assert_eq!(why(unconfirmed).await, None, "a booking nobody confirmed takes no place");
    assert_eq!(pieces_of(shop, odd).await[0].state, PieceState::Agreed, "without a place it is not in line");
});

on_both_engines!(a_booked_piece_is_planned_from_its_arrival_on, async |shop: &TestShop| {
    furnish(shop).await;
    let slot = "2026-03-04T10:00:00".parse().unwrap();
    let wanted = Wanted {
        routes: &[plain_route()],
        state: PieceState::Expected,
        due: day(9),
        arrival: Arrival::Counter { slot },
        confirmed: true,
    };
    let counter = visit(shop, wanted).await;
    let wanted = Wanted {
        routes: &[plain_route()],
        state: PieceState::Expected,
        due: day(9),
        arrival: Arrival::Post,
        confirmed: true,
    };
    let post = visit(shop, wanted).await;
    let body = plan(shop).await;
    holds(&body);
    let first = |piece: &shop::read::Piece| {
        let job = piece.id.to_string();
        body.at(body.plan.find(&job, 0).unwrap().start)
    };
    // Lisbon is on UTC in March until the 29th.
    assert!(first(&pieces_of(shop, counter).await[0]) >= at("2026-03-04T10:00:00Z"));
    // Two working days in the post: Wednesday at eight.
    assert!(first(&pieces_of(shop, post).await[0]) >= at("2026-03-04T08:00:00Z"));
});

on_both_engines!(on_a_day_with_a_clock_change_the_shop_opens_by_its_own_clock, async |shop: &TestShop| {
    furnish(shop).await;
    // Friday; Lisbon goes from UTC to UTC+1 on Sunday, 2026-03-29.
    shop.ctx.clock.set(at("2026-03-27T14:30:00Z"));
    agreed(shop, &[vec![step(OperationKind::Bevel, "bevel", "d15", 200)]]).await;
    let body = plan(shop).await;
    holds(&body);
    assert_eq!(body.origin, at("2026-03-27T00:00:00Z"));
    let placed = &body.plan.operations[0];
    // 200 minutes do not fit before three on Friday; Monday at eight by local clocks is seven in UTC.
    assert_eq!(body.at(placed.start), at("2026-03-30T07:00:00Z"));
    let windows = body.instance.stations[0].windows.clone().unwrap();
    assert!(windows.contains(&[3 * 1440 + 420, 3 * 1440 + 660]), "{:?}", &windows[..4]);
});

on_both_engines!(begun_work_stands_where_it_was_begun, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let id = agreed(shop, &[plain_route(), plain_route()]).await;
    plan(shop).await;
    let piece = pieces_of(shop, id).await.remove(0);
    let bevel = route_of(shop, piece.id).await.remove(0);
    mount(shop, &ann, "bevel", "d15").await;
    shop.wait(TimeDelta::minutes(7));
    start_operation::start_operation(&shop.ctx, &ann, &crate::workshop::key("start"), bevel.id)
        .await
        .unwrap();
    // It takes longer than the twelve minutes planned.
    shop.wait(TimeDelta::minutes(17));
    let body = plan(shop).await;
    holds(&body);
    let placed = body.plan.find(&piece.id.to_string(), 0).unwrap();
    assert_eq!(body.at(placed.start), at("2026-03-02T08:07:00Z"));
    // In steps of five: 17 minutes have passed, 20 are assumed.
    assert_eq!(placed.end - placed.start, 20);
    let next = body.plan.operations.iter().filter(|o| o.station == "bevel").map(|o| o.start).max().unwrap();
    assert!(next >= placed.end);
});

on_both_engines!(time_alone_moves_a_plan_only_when_it_was_missed, async |shop: &TestShop| {
    furnish(shop).await;
    agreed(shop, &[plain_route()]).await;
    plan(shop).await;
    shop.wait(TimeDelta::minutes(3));
    assert_eq!(worker::work_once(&shop.ctx).await.unwrap(), Outcome::Unchanged);
    shop.wait(TimeDelta::minutes(30));
    assert_eq!(worker::work_once(&shop.ctx).await.unwrap(), Outcome::Published);
    let body = plan(shop).await;
    holds(&body);
    assert!(body.plan.operations.iter().all(|o| body.at(o.changeover_start) >= shop.ctx.now()));
});

on_both_engines!(a_change_is_planned_near_what_people_have_seen, async |shop: &TestShop| {
    furnish(shop).await;
    agreed(shop, &[plain_route(), plain_route(), plain_route()]).await;
    let before = plan(shop).await;
    let id = agreed(shop, &[plain_route()]).await;
    assert_eq!(worker::work_once(&shop.ctx).await.unwrap(), Outcome::Published);
    let after = plan(shop).await;
    holds(&after);
    assert_eq!(after.jobs.len(), 4);
    assert!(after.jobs.contains_key(&pieces_of(shop, id).await[0].id.to_string()));
    let moved = before
        .plan
        .operations
        .iter()
        .filter(|o| after.plan.find(&o.job, o.index).is_none_or(|now| now.start != o.start))
        .count();
    assert_eq!(moved, 0, "what stood still stands");
});

on_both_engines!(a_plan_replaces_another_only_when_it_is_really_better, async |shop: &TestShop| {
    furnish(shop).await;
    agreed(shop, &[plain_route(), plain_route()]).await;
    let before = plan(shop).await;
    let budget = Budget { iterations: Some(200), ..Budget::default() };
    let never = Arc::new(AtomicBool::new(false));
    for _ in 0..3 {
        worker::improve_once(&shop.ctx, budget, never.clone()).await.unwrap();
    }
    let after = plan(shop).await;
    holds(&after);
    let cost = |body: &Body| {
        body.plan.objective.total - body.instance.objective.moved * body.plan.objective.moved as f64
    };
    if after.plan.operations != before.plan.operations {
        assert!(cost(&after) < cost(&before), "{} against {}", cost(&after), cost(&before));
    }
    // Two pieces behind one another cannot be done better than as they come: the second round finds nothing.
    assert_eq!(worker::improve_once(&shop.ctx, budget, never).await.unwrap(), Outcome::Unchanged);
});

on_both_engines!(a_pin_holds_and_gives_way_when_nothing_else_works, async |shop: &TestShop| {
    furnish(shop).await;
    let id = agreed(shop, &[plain_route(), plain_route()]).await;
    plan(shop).await;
    let pieces = pieces_of(shop, id).await;
    let bevel = route_of(shop, pieces[1].id).await.remove(0);
    pin_operation::pin_operation(&shop.ctx, bevel.id).await.unwrap();
    let body = plan(shop).await;
    holds(&body);
    let (job, index) = body.find(bevel.id).unwrap();
    let stood = body.plan.find(job, index).unwrap().start;
    // The pinned station breaks: the pin does not stop the rest from being planned.
    let db = shop.ctx.store.read();
    let mut bench = settings::get::<Bench>(db).await.unwrap().unwrap();
    bench.value.stations.iter_mut().find(|s| s.id == "hone").unwrap().closed = true;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    settings::put(&tx, &bench.value, bench.version, None, shop.ctx.now()).await.unwrap();
    tx.commit().await.unwrap();
    let body = plan(shop).await;
    assert_eq!(body.left_out.len(), 2);
    assert!(body.left_out[0].why.contains("out of order"), "{}", body.left_out[0].why);
    assert!(stood >= 480);
});

on_both_engines!(a_plan_for_a_shop_that_changed_meanwhile_is_thrown_away, async |shop: &TestShop| {
    furnish(shop).await;
    let id = agreed(shop, &[plain_route()]).await;
    let now = shop.ctx.now();
    let before = Inputs::load(shop.ctx.store.read(), now).await.unwrap().unwrap();
    let one = build(&before, &Give::default()).fingerprint;
    // Time passing is no change; work begun is.
    let later = Inputs { now: now + TimeDelta::minutes(4), ..before.clone() };
    assert_eq!(build(&later, &Give::default()).fingerprint, one);
    let piece = pieces_of(shop, id).await.remove(0);
    pin_operation::set_rush(&shop.ctx, piece.id, true).await.unwrap();
    let after = Inputs::load(shop.ctx.store.read(), now).await.unwrap().unwrap();
    assert_ne!(build(&after, &Give::default()).fingerprint, one);
});

on_both_engines!(bare_steel_that_waits_too_long_is_said_and_still_planned, async |shop: &TestShop| {
    furnish(shop).await;
    let mut grind = step(OperationKind::Bevel, "bevel", "d15", 12);
    grind.max_lag = Some(60);
    let route = vec![grind, step(OperationKind::Oil, "oil", "rack", 5)];
    let id = agreed(shop, &[route]).await;
    let piece = pieces_of(shop, id).await.remove(0);
    let mut bevel = route_of(shop, piece.id).await.remove(0);
    bevel.state = shop::read::OperationState::Done;
    bevel.started_at = Some(shop.ctx.now());
    bevel.done_at = Some(shop.ctx.now());
    let tx = shop.ctx.store.begin_write().await.unwrap();
    operations::save(&tx, &bevel).await.unwrap();
    tx.commit().await.unwrap();
    // In time the longest wait binds.
    let body = plan(shop).await;
    holds(&body);
    let oil = body.plan.operations.iter().find(|o| o.station == "oil").unwrap();
    assert!(body.at(oil.start) <= at("2026-03-02T09:00:00Z"));
    // Two hours later it is over.
    shop.wait(TimeDelta::hours(2));
    let body = plan(shop).await;
    holds(&body);
    let job = &body.jobs[&piece.id.to_string()];
    assert!(job.assumed.as_ref().unwrap().contains("oil it by hand"), "{job:?}");
});

on_both_engines!(a_promise_is_never_earlier_than_the_plan_allows, async |shop: &TestShop| {
    furnish(shop).await;
    // Without a plan it is the shop's own six working days: Monday the 2nd to Tuesday the 10th, closing at five.
    let now = shop.ctx.now();
    let fallback = promise(&shop.ctx, &[short_route()], now).await.unwrap();
    assert_eq!(fallback, at("2026-03-10T17:00:00Z"));
    // A long week of work at the bevel wheel: 6 × 190 minutes, one or two a day.
    let long = vec![step(OperationKind::Bevel, "bevel", "d15", 190)];
    agreed(shop, &vec![long; 6]).await;
    let body = plan(shop).await;
    let last = body.finishes().into_values().max().unwrap();
    let behind =
        promise(&shop.ctx, &[vec![step(OperationKind::Bevel, "bevel", "d15", 190)]], now).await.unwrap();
    assert!(behind > last, "{behind} against {last}");
    // Something short fits in between, but never on the day of arrival itself.
    let soon =
        promise(&shop.ctx, &[vec![step(OperationKind::Strop, "hone", "strop", 3)]], now).await.unwrap();
    assert_eq!(soon, at("2026-03-03T17:00:00Z"));
    // Twenty of them together are later than one.
    let one = step(OperationKind::Bevel, "bevel", "d18", 60);
    let alone = promise(&shop.ctx, &[vec![one.clone()]], now).await.unwrap();
    let all = promise(&shop.ctx, &vec![vec![one]; 20], now).await.unwrap();
    assert!(all > alone, "{all} against {alone}");
    // A route over a station we do not have gets the shop's own days.
    let odd = promise(&shop.ctx, &[vec![step(OperationKind::Thin, "laser", "x", 3)]], now).await.unwrap();
    assert_eq!(odd, fallback);
});
