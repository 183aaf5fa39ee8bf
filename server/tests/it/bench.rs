//! The bench: setups are checked before anything turns, work counts once, nothing is ground past what was agreed, and
//! the customer hears of it exactly once.

use chrono::TimeDelta;
use server::local;
use server::store::staff::{Person, Roles};
use server::store::{ledger, operations, outbox, pieces, settings, setup_checks, visits, wheels};
use server::use_cases::hand_back::{HandBack, Way, hand_back};
use server::use_cases::hands::Refused;
use server::use_cases::record_payment::Payment;
use server::use_cases::show_run::show_run;
use server::use_cases::split_run::split_run;
use server::use_cases::tend_wheel::{Tended, tend_wheel};
use server::use_cases::{
    check_piece, confirm_setup, finish_operation, mishap, start_operation, stop_operation,
};
use shop::bench::Bench;
use shop::ids::{OperationId, PieceId, StaffId};
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::{Harm, PieceState, WaitsOn};
use shop::profile::{Profile, ReadyRule};
use shop::read::{OperationState, Piece};
use shop::route::OperationKind;
use shop::work::{LOOKED_AT, RawCheck, RawDone};

use crate::on_both_engines;
use crate::test_shop::TestShop;
use crate::workshop::{
    agreed, all_ticks, day, furnish, key, mount, pieces_of, plain_route, plan, route_of, short_route,
    somebody, step,
};

/// Begins and finishes an operation that takes `minutes`.
async fn work(shop: &TestShop, by: &Person, id: OperationId, minutes: i64) {
    start_operation::start_operation(&shop.ctx, by, &key("start"), id).await.unwrap();
    shop.wait(TimeDelta::minutes(minutes));
    finish_operation::finish_operation(&shop.ctx, by, &key("done"), id, &RawDone::default()).await.unwrap();
}

fn passed() -> RawCheck {
    RawCheck {
        good: LOOKED_AT.iter().map(|(code, _)| (*code).to_owned()).collect(),
        method: "force".into(),
        number: "2.5".into(),
        verdict: "pass".into(),
        ..RawCheck::default()
    }
}

/// Works a piece up to its check, and begins that.
async fn up_to_check(shop: &TestShop, by: &Person, piece: PieceId) -> OperationId {
    let route = route_of(shop, piece).await;
    for op in route.iter().filter(|o| o.state == OperationState::Open) {
        if op.step.kind == OperationKind::Prove {
            start_operation::start_operation(&shop.ctx, by, &key("start"), op.id).await.unwrap();
            return op.id;
        }
        work(shop, by, op.id, 5).await;
    }
    panic!("no check on this route");
}

async fn facts_of(shop: &TestShop, piece: &Piece) -> Vec<Fact> {
    let entries = ledger::of_piece(shop.ctx.store.read(), piece.id).await.unwrap();
    entries.into_iter().map(|e| e.fact).collect()
}

async fn notices(shop: &TestShop, kind: &str) -> usize {
    let all = outbox::list(shop.ctx.store.read(), outbox::Which::All, None, 100).await.unwrap();
    all.iter().filter(|n| n.kind == kind).count()
}

#[track_caller]
fn says(outcome: Result<(), Refused>, words: &str) {
    match outcome {
        Err(Refused::First(sentence)) => {
            assert!(sentence.contains(words), "{words:?} is not in {sentence:?}")
        }
        other => panic!("expected a sentence with {words:?}, got {other:?}"),
    }
}

on_both_engines!(nothing_turns_before_its_setup_is_checked, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let id = agreed(shop, &[plain_route()]).await;
    let bevel = route_of(shop, pieces_of(shop, id).await[0].id).await.remove(0);
    let start = async || start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await;
    says(start().await, "setup checks first");
    // Gloves are a tick of their own: without it nothing is written.
    let ticks: Vec<_> = all_ticks().into_iter().filter(|t| t != "gloves").collect();
    let missing =
        confirm_setup::confirm_setup(&shop.ctx, &ann, &key("setup"), "bevel", "d15", &ticks, "").await;
    let Err(Refused::Fields(errors)) = missing else { panic!("{missing:?}") };
    assert!(errors.of("ticks-gloves").unwrap().contains("OFF"));
    assert!(setup_checks::latest(shop.ctx.store.read(), "bevel").await.unwrap().is_none());
    mount(shop, &ann, "bevel", "d15").await;
    start().await.unwrap();
    // The next morning it is checked again.
    shop.wait(TimeDelta::minutes(5));
    finish_operation::finish_operation(&shop.ctx, &ann, &key("done"), bevel.id, &RawDone::default())
        .await
        .unwrap();
    shop.wait(TimeDelta::days(1));
    let other = agreed(shop, &[plain_route()]).await;
    let bevel = route_of(shop, pieces_of(shop, other).await[0].id).await.remove(0);
    says(
        start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await,
        "setup checks first",
    );
});

on_both_engines!(a_wheel_above_its_marking_is_never_shown_as_a_setup, async |shop: &TestShop| {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
    let ann = somebody(shop, "bea").await;
    let route = vec![step(OperationKind::Serrate, "wheel", "arc-5", 14)];
    agreed(shop, &[route]).await;
    plan(shop).await;
    shop.get("/bench/wheel")
        .await
        .expect(200)
        .says("First the setup")
        .says("29 CFR 1910.215")
        .says("Gloves are OFF");
    let mut known = wheels::for_setup(shop.ctx.store.read(), "wheel", "arc-5").await.unwrap().remove(0);
    known.wheel.spindle_rpm = known.wheel.marked_max_rpm.map(|m| m + 1.0);
    let tx = shop.ctx.store.begin_write().await.unwrap();
    wheels::save(&tx, &known, None).await.unwrap();
    tx.commit().await.unwrap();
    let page = shop.get("/bench/wheel").await.expect(200).says("must not be run").says("Do not run it");
    assert!(!page.body.contains("All checked: begin"), "no checklist for such a setup");
    says(
        confirm_setup::confirm_setup(&shop.ctx, &ann, &key("setup"), "wheel", "arc-5", &all_ticks(), "")
            .await,
        "Do not run it",
    );
});

on_both_engines!(dressing_is_counted_by_pieces_and_begins_anew_when_ticked, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let count = async || {
        wheels::for_setup(shop.ctx.store.read(), "wheel", "arc-5")
            .await
            .unwrap()
            .remove(0)
            .wheel
            .pieces_since_dressing
    };
    let before = count().await;
    let id = agreed(shop, &[vec![step(OperationKind::Serrate, "wheel", "arc-5", 14)]]).await;
    let serrate = route_of(shop, pieces_of(shop, id).await[0].id).await.remove(0);
    mount(shop, &ann, "wheel", "arc-5").await;
    work(shop, &ann, serrate.id, 14).await;
    assert_eq!(count().await, before + 1);
    let mut known = wheels::for_setup(shop.ctx.store.read(), "wheel", "arc-5").await.unwrap().remove(0);
    known.wheel.pieces_since_dressing = 8;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    wheels::save(&tx, &known, None).await.unwrap();
    tx.commit().await.unwrap();
    let ticks = all_ticks();
    let grown =
        confirm_setup::confirm_setup(&shop.ctx, &ann, &key("setup"), "wheel", "arc-5", &ticks, "250").await;
    assert!(matches!(grown, Err(Refused::Fields(_))), "{grown:?}");
    confirm_setup::confirm_setup(&shop.ctx, &ann, &key("setup"), "wheel", "arc-5", &ticks, "196.8")
        .await
        .unwrap();
    let worn = wheels::for_setup(shop.ctx.store.read(), "wheel", "arc-5").await.unwrap().remove(0).wheel;
    assert_eq!(worn.diameter_mm, 196.8);
    assert_eq!(count().await, 0);
    // The one-piece visit was finished with its only step.
    assert_eq!(pieces_of(shop, id).await[0].state, PieceState::Ready);
    shop.send_post().await;
});

on_both_engines!(a_double_done_counts_once, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let id = agreed(shop, &[plain_route()]).await;
    let piece = pieces_of(shop, id).await.remove(0);
    let bevel = route_of(shop, piece.id).await.remove(0);
    mount(shop, &ann, "bevel", "d15").await;
    start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await.unwrap();
    shop.wait(TimeDelta::seconds(13 * 60 + 10));
    let same = key("done");
    let raw = RawDone { height: "45.8".into(), ..RawDone::default() };
    let (one, two) = tokio::join!(
        finish_operation::finish_operation(&shop.ctx, &ann, &same, bevel.id, &raw),
        finish_operation::finish_operation(&shop.ctx, &ann, &same, bevel.id, &raw),
    );
    one.unwrap();
    two.unwrap();
    let done: Vec<_> = facts_of(shop, &piece)
        .await
        .into_iter()
        .filter_map(|f| match f {
            Fact::Done { minutes, measures, .. } => Some((minutes, measures.height_mm)),
            _ => None,
        })
        .collect();
    // Thirteen minutes and ten seconds are fourteen begun ones.
    assert_eq!(done, [(14, Some(45.8))]);
    // Another press with another key is told that it is done.
    says(
        finish_operation::finish_operation(&shop.ctx, &ann, &key("done"), bevel.id, &raw).await,
        "already done",
    );
});

on_both_engines!(of_two_who_begin_the_same_piece_one_is_told_who_was_first, async |shop: &TestShop| {
    furnish(shop).await;
    let (ann, ben) = (somebody(shop, "ann").await, somebody(shop, "ben").await);
    let id = agreed(shop, &[plain_route()]).await;
    let bevel = route_of(shop, pieces_of(shop, id).await[0].id).await.remove(0);
    mount(shop, &ann, "bevel", "d15").await;
    let (a, b) = (key("start"), key("start"));
    let (one, two) = tokio::join!(
        start_operation::start_operation(&shop.ctx, &ann, &a, bevel.id),
        start_operation::start_operation(&shop.ctx, &ben, &b, bevel.id),
    );
    assert!(one.is_ok() != two.is_ok(), "{one:?} {two:?}");
    let stands = operations::get(shop.ctx.store.read(), bevel.id).await.unwrap().unwrap();
    let winner = if one.is_ok() { &ann } else { &ben };
    assert_eq!(stands.by.unwrap().0, winner.id);
    match if one.is_ok() { two } else { one } {
        Err(Refused::First(sentence)) => assert!(sentence.contains(&winner.full_name), "{sentence}"),
        // On PostgreSQL both may have read the piece before one of them saved it.
        Err(Refused::Stale(_)) => {}
        other => panic!("{other:?}"),
    }
    // And a second piece finds the station taken.
    let other = agreed(shop, &[plain_route()]).await;
    let next = route_of(shop, pieces_of(shop, other).await[0].id).await.remove(0);
    says(start_operation::start_operation(&shop.ctx, &ben, &key("start"), next.id).await, "is taken");
});

on_both_engines!(work_goes_in_turn_and_rests_as_long_as_it_must, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let mut first = step(OperationKind::Straighten, "straighten", "table", 12);
    first.lag = 10;
    let id = agreed(shop, &[vec![first, step(OperationKind::Strop, "hone", "strop", 3)]]).await;
    let route = route_of(shop, pieces_of(shop, id).await[0].id).await;
    let strop = async || start_operation::start_operation(&shop.ctx, &ann, &key("start"), route[1].id).await;
    says(strop().await, "First it has to be done: straighten");
    mount(shop, &ann, "straighten", "table").await;
    work(shop, &ann, route[0].id, 12).await;
    says(strop().await, "rests until 8:22");
    shop.wait(TimeDelta::minutes(10));
    strop().await.unwrap();
});

on_both_engines!(the_ready_notice_leaves_once_when_the_last_piece_passes, async |shop: &TestShop| {
    furnish(shop).await;
    let (ann, ben) = (somebody(shop, "ann").await, somebody(shop, "ben").await);
    let id = agreed(shop, &[short_route(), short_route(), short_route()]).await;
    let all = pieces_of(shop, id).await;
    mount(shop, &ann, "bevel", "d15").await;
    let prove = up_to_check(shop, &ann, all[0].id).await;
    check_piece::check_piece(&shop.ctx, &ann, &key("check"), prove, &passed()).await.unwrap();
    assert_eq!(pieces_of(shop, id).await[0].state, PieceState::Finished);
    assert_eq!(notices(shop, "ready").await, 0, "two are still to come");
    // The table holds one piece at a time; give it room so that two checks can end at the same moment.
    let db = shop.ctx.store.read();
    let mut bench = settings::get::<Bench>(db).await.unwrap().unwrap();
    bench.value.stations.iter_mut().find(|s| s.id == "inspect").unwrap().basin = 2;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    settings::put(&tx, &bench.value, bench.version, None, shop.ctx.now()).await.unwrap();
    tx.commit().await.unwrap();
    let one = up_to_check(shop, &ann, all[1].id).await;
    let two = up_to_check(shop, &ben, all[2].id).await;
    let (a, b) = (key("check"), key("check"));
    let raw = passed();
    let (first, second) = tokio::join!(
        check_piece::check_piece(&shop.ctx, &ann, &a, one, &raw),
        check_piece::check_piece(&shop.ctx, &ben, &b, two, &raw),
    );
    first.unwrap();
    second.unwrap();
    assert!(pieces_of(shop, id).await.iter().all(|p| p.state == PieceState::Ready));
    assert_eq!(notices(shop, "ready").await, 1);
    // The same form once more changes nothing.
    check_piece::check_piece(&shop.ctx, &ann, &a, one, &raw).await.unwrap();
    assert_eq!(notices(shop, "ready").await, 1);
    assert_eq!(shop.send_post().await, 1);
});

/// Eleven at night of the same day, or now when it is later.
async fn wait_for_night(shop: &TestShop) {
    let profile = settings::get::<Profile>(shop.ctx.store.read()).await.unwrap().unwrap().value;
    let zone = local::zone(&profile);
    let night = local::at_minute(zone, local::date(zone, shop.ctx.now()), 23 * 60);
    shop.wait((night - shop.ctx.now()).max(TimeDelta::zero()));
}

on_both_engines!(
    what_is_ready_at_night_is_told_in_the_morning_unless_it_is_fetched_first,
    async |shop: &TestShop| {
        furnish(shop).await;
        let ann = somebody(shop, "ann").await;
        let (kept, fetched) = (agreed(shop, &[short_route()]).await, agreed(shop, &[short_route()]).await);
        mount(shop, &ann, "bevel", "d15").await;
        for id in [kept, fetched] {
            let piece = pieces_of(shop, id).await[0].id;
            let prove = up_to_check(shop, &ann, piece).await;
            wait_for_night(shop).await;
            check_piece::check_piece(&shop.ctx, &ann, &key("check"), prove, &passed()).await.unwrap();
        }
        assert_eq!(notices(shop, "ready").await, 2);
        assert_eq!(shop.send_post().await, 0, "nobody is woken");
        // One of them is a neighbour, who saw light and came in.
        let visit = visits::get(shop.ctx.store.read(), fetched).await.unwrap().unwrap();
        let asked = HandBack {
            key: key("hand-back"),
            visit: fetched,
            version: visit.version,
            pieces: visit.pieces.iter().map(|p| p.id).collect(),
            way: Way::Counter { taken_by: "The neighbour".into() },
            payment: Some(Payment { amount: Money(1_000_000), how: "cash" }),
            part: false,
        };
        hand_back(&shop.ctx, &ann, asked).await.unwrap();
        assert_eq!(notices(shop, "ready").await, 1);
        assert_eq!(shop.send_post().await, 1, "that it went home is told at once");
        shop.wait(TimeDelta::hours(9));
        assert_eq!(shop.send_post().await, 1);
        assert!(shop.sent().last().unwrap().starts_with("Ready:"), "{:?}", shop.sent());
    }
);

on_both_engines!(what_is_lost_before_the_morning_is_not_told_ready, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let id = agreed(shop, &[short_route(), short_route()]).await;
    mount(shop, &ann, "bevel", "d15").await;
    for piece in pieces_of(shop, id).await {
        let prove = up_to_check(shop, &ann, piece.id).await;
        wait_for_night(shop).await;
        check_piece::check_piece(&shop.ctx, &ann, &key("check"), prove, &passed()).await.unwrap();
    }
    let ready = async || {
        let all = outbox::about(shop.ctx.store.read(), id.0).await.unwrap();
        all.into_iter().filter(|n| n.kind == "ready").map(|n| n.subject).collect::<Vec<_>>()
    };
    let both = ready().await;
    assert!(both.len() == 1 && both[0].contains("2 knives"), "{both:?}");
    let lost = pieces_of(shop, id).await.remove(0);
    let words = "It fell between the boards and we cannot reach it.";
    mishap::report(&shop.ctx, &ann, lost.id, lost.version, Harm::Lost, words).await.unwrap();
    shop.wait(mishap::GRACE);
    assert_eq!(shop.send_post().await, 1, "a loss does not wait for the morning");
    let one = ready().await;
    assert!(one.len() == 1 && !one[0].contains("2 knives"), "{one:?}");
    let found = pieces_of(shop, id).await.remove(0);
    let entry = found.mishaps[0].entry;
    mishap::set_right(&shop.ctx, &ann, found.id, found.version, entry).await.unwrap();
    assert_eq!(ready().await, both);
    assert_eq!(shop.send_post().await, 1, "that it is found does not wait either");
    shop.wait(TimeDelta::hours(9));
    assert_eq!(shop.send_post().await, 1);
    assert_eq!(shop.sent().last(), both.last());
});

on_both_engines!(by_the_piece_every_piece_is_told_by_itself, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let db = shop.ctx.store.read();
    let mut profile = settings::get::<Profile>(db).await.unwrap().unwrap();
    profile.value.ready_rule = ReadyRule::PerPiece;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    settings::put(&tx, &profile.value, profile.version, None, shop.ctx.now()).await.unwrap();
    tx.commit().await.unwrap();
    let id = agreed(shop, &[short_route(), short_route()]).await;
    mount(shop, &ann, "bevel", "d15").await;
    for piece in pieces_of(shop, id).await {
        let prove = up_to_check(shop, &ann, piece.id).await;
        check_piece::check_piece(&shop.ctx, &ann, &key("check"), prove, &passed()).await.unwrap();
    }
    assert_eq!(notices(shop, "ready").await, 2);
    shop.send_post().await;
});

on_both_engines!(a_failed_check_adds_its_steps_and_goes_back_into_line, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let id = agreed(shop, &[plain_route()]).await;
    let piece = pieces_of(shop, id).await.remove(0);
    mount(shop, &ann, "bevel", "d15").await;
    let prove = up_to_check(shop, &ann, piece.id).await;
    let raw = RawCheck {
        verdict: "rework".into(),
        again: vec!["strop".into()],
        note: "a burr near the heel".into(),
        ..RawCheck::default()
    };
    check_piece::check_piece(&shop.ctx, &ann, &key("check"), prove, &raw).await.unwrap();
    assert_eq!(pieces_of(shop, id).await[0].state, PieceState::InLine);
    let ahead: Vec<_> = route_of(shop, piece.id)
        .await
        .into_iter()
        .filter(|o| o.state == OperationState::Open)
        .map(|o| (o.step.kind, o.step.reason))
        .collect();
    let kinds: Vec<_> = ahead.iter().map(|(kind, _)| *kind).collect();
    assert_eq!(kinds, [OperationKind::Strop, OperationKind::Prove, OperationKind::Pack]);
    assert_eq!(ahead[0].1, "Again: a burr near the heel");
    let body = plan(shop).await;
    assert_eq!(body.jobs[&piece.id.to_string()].operations.len(), 3);
    // The second time it passes, is packed, and is ready.
    let prove = up_to_check(shop, &ann, piece.id).await;
    check_piece::check_piece(&shop.ctx, &ann, &key("check"), prove, &passed()).await.unwrap();
    assert_eq!(pieces_of(shop, id).await[0].state, PieceState::Proven);
    let pack = route_of(shop, piece.id).await.pop().unwrap();
    work(shop, &ann, pack.id, 4).await;
    assert_eq!(pieces_of(shop, id).await[0].state, PieceState::Ready);
    assert_eq!(notices(shop, "ready").await, 1);
    shop.send_post().await;
});

on_both_engines!(more_than_agreed_waits_for_the_customer, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let id = agreed(shop, &[plain_route()]).await;
    let piece = pieces_of(shop, id).await.remove(0);
    let bevel = route_of(shop, piece.id).await.remove(0);
    mount(shop, &ann, "bevel", "d15").await;
    let start = async || start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await;
    start().await.unwrap();
    let what = "the chip goes 0.6 mm deeper";
    stop_operation::needs_more(&shop.ctx, &ann, &key("more"), bevel.id, what, "19").await.unwrap();
    let now = pieces_of(shop, id).await.remove(0);
    assert_eq!(now.waiting.as_ref().unwrap().on, WaitsOn::Customer);
    assert_eq!(notices(shop, "needs_more").await, 1);
    shop.send_post().await;
    says(start().await, "It waits");
    // What the customer said is written down, and it goes on at the new price.
    let refused = stop_operation::goes_on(&shop.ctx, &ann, &key("go-on"), piece.id, "19", "").await;
    assert!(matches!(refused, Err(Refused::Fields(_))), "how it was settled has to be said");
    stop_operation::goes_on(&shop.ctx, &ann, &key("go-on"), piece.id, "19", "Rui said yes by telephone")
        .await
        .unwrap();
    let now = pieces_of(shop, id).await.remove(0);
    assert_eq!((now.waiting, now.agreed.map(|m| m.0)), (None, Some(1900)));
    start().await.unwrap();
});

on_both_engines!(a_stop_with_a_problem_holds_the_piece_and_a_pause_does_not, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let id = agreed(shop, &[plain_route()]).await;
    let piece = pieces_of(shop, id).await.remove(0);
    let bevel = route_of(shop, piece.id).await.remove(0);
    mount(shop, &ann, "bevel", "d15").await;
    let start = async || start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await;
    start().await.unwrap();
    stop_operation::stop_operation(&shop.ctx, &ann, &key("stop"), bevel.id, "pause", "").await.unwrap();
    assert_eq!(pieces_of(shop, id).await[0].waiting, None);
    start().await.unwrap();
    let unsaid = stop_operation::stop_operation(&shop.ctx, &ann, &key("stop"), bevel.id, "other", "").await;
    assert!(matches!(unsaid, Err(Refused::Fields(_))));
    stop_operation::stop_operation(&shop.ctx, &ann, &key("stop"), bevel.id, "crack", "at the heel")
        .await
        .unwrap();
    let held = pieces::get(shop.ctx.store.read(), piece.id).await.unwrap().unwrap();
    assert_eq!(held.waiting.unwrap().on, WaitsOn::Shop);
    let body = plan(shop).await;
    assert!(body.left_out[0].why.contains("crack"), "{:?}", body.left_out);
});

on_both_engines!(a_wheel_is_dressed_and_measured_while_its_run_goes_on, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let arc =
        async || wheels::for_setup(shop.ctx.store.read(), "wheel", "arc-5").await.unwrap().remove(0).wheel;
    let id = agreed(shop, &[vec![step(OperationKind::Serrate, "wheel", "arc-5", 14)]]).await;
    let serrate = route_of(shop, pieces_of(shop, id).await[0].id).await.remove(0);
    mount(shop, &ann, "wheel", "arc-5").await;
    start_operation::start_operation(&shop.ctx, &ann, &key("start"), serrate.id).await.unwrap();
    let before = arc().await;
    let worn = format!("{:.1}", before.diameter_mm - 0.3);
    let same = key("wheel");
    let tended = Tended { dressed: true, diameter: worn.clone() };
    for _ in 0..2 {
        tend_wheel(&shop.ctx, &ann, &same, "wheel", "arc-5", &tended).await.unwrap();
    }
    let after = arc().await;
    assert_eq!((after.generation, after.pieces_since_dressing), (before.generation + 1, 0));
    assert!((before.diameter_mm - after.diameter_mm - 0.3).abs() < 0.051, "{after:?}");
    let grown = Tended { dressed: false, diameter: "300".into() };
    let refused = tend_wheel(&shop.ctx, &ann, &key("wheel"), "wheel", "arc-5", &grown).await;
    assert!(matches!(refused, Err(Refused::Fields(_))), "{refused:?}");
    let nothing = tend_wheel(&shop.ctx, &ann, &key("wheel"), "wheel", "arc-5", &Tended::default()).await;
    assert!(matches!(nothing, Err(Refused::Fields(_))), "{nothing:?}");
});

on_both_engines!(a_split_run_leaves_its_rest_for_later, async |shop: &TestShop| {
    furnish(shop).await;
    let id = agreed(shop, &[short_route(), short_route(), short_route()]).await;
    plan(shop).await;
    let shown = show_run(&shop.ctx, "bevel").await.unwrap().unwrap();
    let order: Vec<_> = shown.run.unwrap().work.iter().map(|w| w.operation.id).collect();
    assert_eq!(order.len(), 3);
    let same = key("split");
    assert_eq!(split_run(&shop.ctx, &same, "bevel", order[1], "two-hours").await.unwrap(), 2);
    assert_eq!(split_run(&shop.ctx, &same, "bevel", order[1], "two-hours").await.unwrap(), 0);
    let body = plan(shop).await;
    let until = shop.ctx.now() + TimeDelta::hours(2);
    for piece in pieces_of(shop, id).await {
        let bevel = route_of(shop, piece.id).await.remove(0);
        let (job, index) = body.find(bevel.id).unwrap();
        let begins = body.at(body.plan.find(job, index).unwrap().start);
        assert_eq!(begins >= until, bevel.id != order[0], "{begins} {until}");
    }
    let unknown = split_run(&shop.ctx, &key("split"), "bevel", order[1], "whenever").await;
    assert!(matches!(unknown, Err(Refused::Fields(_))), "{unknown:?}");
    // It is a wish: whoever takes it up earlier may.
    let ann = somebody(shop, "ann").await;
    mount(shop, &ann, "bevel", "d15").await;
    start_operation::start_operation(&shop.ctx, &ann, &key("start"), order[2]).await.unwrap();
});

on_both_engines!(work_is_handed_over_once_and_only_to_somebody_who_knows_it, async |shop: &TestShop| {
    furnish(shop).await;
    let (ann, ben) = (somebody(shop, "ann").await, somebody(shop, "ben").await);
    let id = agreed(shop, &[plain_route()]).await;
    let piece = pieces_of(shop, id).await.remove(0);
    let bevel = route_of(shop, piece.id).await.remove(0);
    mount(shop, &ann, "bevel", "d15").await;
    let (same, to) = (key("hand-over"), StaffId(ben.id));
    says(start_operation::hand_over(&shop.ctx, &ann, &same, bevel.id, to).await, "Only work that is begun");
    start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await.unwrap();
    for _ in 0..2 {
        start_operation::hand_over(&shop.ctx, &ann, &same, bevel.id, to).await.unwrap();
    }
    let stands = operations::get(shop.ctx.store.read(), bevel.id).await.unwrap().unwrap();
    assert_eq!(stands.by, Some(to));
    let handed = facts_of(shop, &piece).await.into_iter();
    let handed = handed.filter(|f| matches!(f, Fact::Stopped { code, .. } if code == "handed_over")).count();
    assert_eq!(handed, 1);
});

on_both_engines!(a_run_is_worked_through_plain_forms, async |shop: &TestShop| {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
    let id = agreed(shop, &[short_route(), short_route()]).await;
    plan(shop).await;
    let all = pieces_of(shop, id).await;
    let tag = all[0].tag.unwrap().to_string();
    shop.get("/plan").await.expect(200).says(&tag).says("The same as a table").says("<svg");
    shop.get(&format!("/plan/piece/{}", all[0].id))
        .await
        .expect(200)
        .says("Why it stands")
        .says("Pin it here");
    shop.get("/bench")
        .await
        .expect(200)
        .says("My next run")
        .says("Wet bevel wheel")
        .says("2 pieces, all can be begun");
    let page = shop.get("/bench/bevel").await.expect(200).says("First the setup");
    let forms: Vec<_> = page.body.split("<form").filter(|form| form.contains("class=\"start\"")).collect();
    assert_eq!(forms.len(), 2);
    let hidden = |form: &&str| form.split('>').next().is_some_and(|tag| tag.contains(" hidden"));
    assert!(forms.iter().all(hidden), "nothing can be started before the checks");
    // A tick is missing: the page comes again, with the others still ticked.
    let mut ticks: Vec<(&str, &str)> = vec![("key", "11111111-aaaa-bbbb"), ("setup", "d15")];
    let codes = all_ticks();
    ticks.extend(codes.iter().filter(|c| *c != "gloves").map(|c| ("ticks[]", c.as_str())));
    shop.post("/bench/bevel/setup", &ticks).await.expect(422).says("Not ticked yet").says("checked");
    ticks.push(("ticks[]", "gloves"));
    shop.post("/bench/bevel/setup", &ticks).await.expect(303);
    let route = route_of(shop, all[0].id).await;
    let bevel = route[0].id.to_string();
    shop.get("/bench/bevel").await.expect(200).says("Mounted and checked").says("Start ");
    let start = [("key", "22222222-aaaa-bbbb"), ("operation", bevel.as_str())];
    shop.post("/bench/bevel/start", &start).await.expect(303);
    shop.wait(TimeDelta::minutes(9));
    shop.get("/bench/bevel").await.expect(200).says("9:00").says("15°");
    let typed = [("key", "33333333-aaaa-bbbb"), ("operation", bevel.as_str()), ("height", "4m")];
    shop.post("/bench/bevel/done", &typed).await.expect(422).says("the height").says("value=\"4m\"");
    let typed = [("key", "33333333-aaaa-bbbb"), ("operation", bevel.as_str()), ("height", "45,6")];
    shop.post("/bench/bevel/done", &typed).await.expect(303);
    // A colleague's form for the same step is told, calmly.
    let late = [("key", "44444444-aaaa-bbbb"), ("operation", bevel.as_str())];
    shop.post("/bench/bevel/done", &late).await.expect(409).says("already done");
    let strop = route[1].id.to_string();
    let start = [("key", "55555555-aaaa-bbbb"), ("operation", strop.as_str())];
    shop.post("/bench/hone/start", &start).await.expect(303);
    shop.post("/bench/hone/done", &start).await.expect(303);
    let prove = route[2].id.to_string();
    let start = [("key", "66666666-aaaa-bbbb"), ("operation", prove.as_str())];
    shop.post("/bench/inspect/start", &start).await.expect(303);
    shop.get("/bench/inspect").await.expect(200).says("Never on skin").says("Cutting test").says("Passed");
    let half = [("key", "77777777-aaaa-bbbb"), ("operation", prove.as_str()), ("verdict", "pass")];
    shop.post("/bench/inspect/check", &half).await.expect(422).says("nothing goes home that has not cut");
    let mut whole: Vec<(&str, &str)> = half.to_vec();
    whole.extend(LOOKED_AT.iter().map(|(code, _)| ("good[]", *code)));
    whole.extend([("method", "force"), ("number", "2,1")]);
    shop.post("/bench/inspect/check", &whole).await.expect(303);
    assert_eq!(pieces_of(shop, id).await[0].state, PieceState::Finished);
});

on_both_engines!(a_promise_is_moved_only_by_hand_and_told_once, async |shop: &TestShop| {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
    // Four long pieces cannot be done by tomorrow.
    let long = vec![step(OperationKind::Bevel, "bevel", "d15", 200)];
    let routes = vec![long; 4];
    let wanted = crate::workshop::Wanted {
        routes: &routes,
        state: PieceState::Agreed,
        due: day(1),
        arrival: shop::booking::Arrival::Post,
        confirmed: true,
    };
    let id = crate::workshop::visit(shop, wanted).await;
    plan(shop).await;
    shop.get("/plan").await.expect(200).says("One promise would be broken").says("Nobody has been told yet");
    assert_eq!(notices(shop, "delay").await, 0);
    let visit = id.to_string();
    let until = format!("until[v{visit}]");
    let empty = [("visit", visit.as_str()), ("key", "11111111-aaaa-bbbb"), (until.as_str(), "")];
    shop.post("/plan/delay", &empty).await.expect(422).says("Please give the new day");
    let form = [("visit", visit.as_str()), ("key", "11111111-aaaa-bbbb"), (until.as_str(), "2026-03-06")];
    shop.post("/plan/delay", &form).await.expect(303);
    shop.post("/plan/delay", &form).await.expect(303);
    assert_eq!(notices(shop, "delay").await, 1);
    assert_eq!(pieces_of(shop, id).await[0].due_at, day(4));
    shop.send_post().await;
    plan(shop).await;
    let page = shop.get("/plan").await.expect(200);
    assert!(!page.body.contains("would be broken"));
});
