//! The owner's figures: what the ledger, promises and bills say, and what is learned from them.

use assess::Typical;
use chrono::TimeDelta;
use server::store::setup_checks::{self, SetupCheck};
use server::store::{bills, ledger, operations, visits};
use server::use_cases::figures::figures;
use shop::bench::Bench;
use shop::ids::StaffId;
use shop::ledger::{Fact, Measures, Who};
use shop::money::Money;
use shop::piece::{Amends, Harm, PieceState};
use shop::price::Line;
use shop::route::{Cut, OperationKind, RouteStep};

use crate::form::Form;
use crate::on_both_engines;
use crate::owner::{open, page, stored};
use crate::test_shop::TestShop;
use crate::workshop::{agreed, day, plain_route, step};

on_both_engines!(figures_wait_for_work_and_the_ledger_teaches_nothing_before, async |shop: &TestShop| {
    open(shop).await;
    let shown =
        page(shop, "/shop/figures").await.says("It fills as visits become ready").says("Serrated: now");
    assert!(!shown.body.contains("/shop/figures/learned"));
    shop.post("/shop/figures/learned", &[("version", "1")]).await.expect(409).says("holds no service");
});

on_both_engines!(figures_come_from_promises_the_ledger_and_bills, async |shop: &TestShop| {
    open(shop).await;
    let id = agreed(shop, &[plain_route()]).await;
    let now = shop.ctx.now();
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let mut visit = visits::get(&tx, id).await.unwrap().unwrap();
    let bevel = operations::of_piece(&tx, visit.pieces[0].id).await.unwrap().remove(0);
    let height = |mm| Measures { height_mm: Some(mm), ..Measures::default() };
    let checked = |passed, again| Fact::Checked {
        passed,
        findings: Vec::new(),
        measures: Measures::default(),
        method: Some("force".into()),
        before: Some(9.0),
        again,
    };
    let facts = [
        Fact::Measured {
            measures: height(40.0),
            recession_mm: 0.2,
            services_left: None,
            limited_by: String::new(),
        },
        Fact::Done { operation: bevel.id, kind: bevel.step.kind, minutes: 18, measures: height(39.5) },
        checked(false, vec![OperationKind::Strop]),
        checked(true, Vec::new()),
    ];
    for fact in &facts {
        ledger::add(&tx, &visit.pieces[0], Who::Program, fact, None, now).await.unwrap();
    }
    // Two knives came to harm: one is settled, for less at the second try, the other was found again.
    let piece = &visit.pieces[0];
    let harmed = |harm| Fact::Harmed { harm, stood: PieceState::InLine };
    let spoilt = ledger::add(&tx, piece, Who::Program, &harmed(Harm::Damaged), None, now).await.unwrap();
    for amount in [Money(9_000), Money(7_500)] {
        let fact = Fact::Settled { harm: spoilt, amends: Amends::Paid, amount: Some(amount) };
        ledger::add(&tx, piece, Who::Program, &fact, None, now).await.unwrap();
    }
    let lost = ledger::add(&tx, piece, Who::Program, &harmed(Harm::Lost), None, now).await.unwrap();
    let found = Fact::SetRight { entry: lost, harm: Harm::Lost };
    ledger::add(&tx, piece, Who::Program, &found, None, now).await.unwrap();
    // Promised for Friday, five o'clock; told on Sunday.
    visit.ready_at = Some(day(6));
    visits::save(&tx, &visit, now).await.unwrap();
    let line = Line { what: "Plain edge, both sides".into(), price: Money(12_300) };
    bills::issue(&tx, id, vec![line], Money(2_300), None, now).await.unwrap();
    tx.commit().await.unwrap();
    shop.wait(TimeDelta::days(7));
    shop.sign_in_again().await;
    let shown = page(shop, "/shop/figures").await.says("of 1 visits").says("up to 3 days late");
    // Twelve minutes were estimated, eighteen it took.
    let shown = shown.says("150 %").says("123.00").says("23.00");
    // The first check failed, and its steel was stropped again.
    let shown = shown.says("Passed at once").says("of 1 pieces at their first check").says("again: strop");
    // One service, of half a millimetre, stands under its steel and under the setup it was ground on.
    let shown = shown.says("Height taken, by steel and by the setup");
    let shown = shown.says("Lost and damaged here").says(">Damaged<").says("75.00 EUR");
    assert!(!shown.body.contains(">Lost<"), "what was found again is not counted");
    assert_eq!(shown.body.matches("0.50 to 0.50").count(), 2, "{}", shown.body);
    assert_eq!(
        shown.body.matches("It fills").count(),
        2,
        "only the plan and the changes of setup, which nobody made here, have nothing to show"
    );
    Form::of(&shown, "/shop/figures/learned").send(shop).await.expect(303);
    let typical = stored::<Typical>(shop).await;
    // Four services at 0.18 mm against one at 0.5 mm; the other kinds learn nothing, and what was set stays what it was.
    let taught = typical.learned.double.expect("it is taken over");
    assert!(taught.median_mm() > 0.19 && taught.median_mm() < 0.3, "{typical:?}");
    assert!(taught.freedom() > 4.0 && typical.learned.single.is_none() && typical.learned.serrated.is_none());
    assert_eq!((typical.double_mm, typical.single_mm, typical.serrated_mm), (0.18, 0.20, 0.25));
    // Life is drawn from it: the next estimate counts on a wider spread than was set.
    let knows = server::use_cases::knowledge::load(&shop.ctx).await.unwrap();
    assert_eq!(knows.typical.later(shop::edge::EdgeKind::Double).learned, Some(taught));
    page(shop, "/shop/figures").await.says("from 1 services");
});

on_both_engines!(what_a_minute_takes_is_learned_from_steps_that_were_done, async |shop: &TestShop| {
    open(shop).await;
    let bevel = |minutes: u32| {
        let cut = Cut { metal_mm3: 60.0, handling: 6, span: None };
        vec![RouteStep { cut: Some(cut), ..step(OperationKind::Bevel, "belt", "coarse", minutes) }]
    };
    let id = agreed(shop, &vec![bevel(12); 6]).await;
    let now = shop.ctx.now();
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let visit = visits::get(&tx, id).await.unwrap().unwrap();
    for (piece, minutes) in visit.pieces.iter().zip([19, 20, 20, 20, 20, 21]) {
        let bevel = operations::of_piece(&tx, piece.id).await.unwrap().remove(0);
        let fact =
            Fact::Done { operation: bevel.id, kind: bevel.step.kind, minutes, measures: Measures::default() };
        ledger::add(&tx, piece, Who::Program, &fact, None, now).await.unwrap();
    }
    tx.commit().await.unwrap();
    // Sixty mm³ in twenty minutes.
    let shown = page(shop, "/shop/figures").await.says("Steel ground away in a minute").says("any steel");
    let shown = shown.says("handling alone").says("3.0 (");
    Form::of(&shown, "/shop/figures/learned").send(shop).await.expect(303);
    let knows = server::use_cases::knowledge::load(&shop.ctx).await.unwrap();
    let learned = knows.rates.removal.iter().find(|rate| rate.steel.is_none()).expect("it is counted on");
    assert!((learned.mm3_per_min - 3.0).abs() < 0.05 && learned.spread > 0.05, "{learned:?}");
    // Taken over, the same ledger teaches the same once more.
    let shown = page(shop, "/shop/figures").await;
    Form::of(&shown, "/shop/figures/learned").send(shop).await.expect(303);
    let again = server::use_cases::knowledge::load(&shop.ctx).await.unwrap();
    assert_eq!(again.rates.removal, knows.rates.removal);
});

on_both_engines!(changes_of_setup_are_learned_from_the_ledger_and_taken_over, async |shop: &TestShop| {
    open(shop).await;
    let bevel = |setup: &str| vec![step(OperationKind::Bevel, "bevel", setup, 12)];
    let id = agreed(shop, &[bevel("d15"), bevel("d18")]).await;
    let db = shop.ctx.store.read();
    let pieces = visits::get(db, id).await.unwrap().unwrap().pieces;
    let steps = [
        operations::of_piece(db, pieces[0].id).await.unwrap().remove(0),
        operations::of_piece(db, pieces[1].id).await.unwrap().remove(0),
    ];
    let [ann, bob] = [1, 2].map(|n| Who::Staff(StaffId(uuid::Uuid::from_u128(n))));
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let mut at = shop.ctx.now() - TimeDelta::days(1);
    // One after the other in two setups: a piece takes ten minutes, then so many pass until the next is begun.
    let mut turn = 0;
    let mut grind = async |who, pause: i64, at: &mut chrono::DateTime<chrono::Utc>| {
        let (piece, step) = (&pieces[turn % 2], &steps[turn % 2]);
        turn += 1;
        *at += TimeDelta::minutes(pause);
        let begun = Fact::Started { operation: step.id, kind: step.step.kind, wheel: None };
        ledger::add(&tx, piece, who, &begun, None, *at).await.unwrap();
        *at += TimeDelta::minutes(10);
        let done = Fact::Done {
            operation: step.id,
            kind: step.step.kind,
            minutes: 10,
            measures: Measures::default(),
        };
        ledger::add(&tx, piece, who, &done, None, *at).await.unwrap();
    };
    // To d18 in 7, 9 and 8 minutes, once after a night; back in 20 and 21.
    for pause in [0, 7, 20, 9, 21, 8, 20, 900] {
        grind(ann, pause, &mut at).await;
    }
    grind(bob, 25, &mut at).await;
    let check = SetupCheck {
        id: shop.ctx.new_id(),
        station: "bevel".to_owned(),
        setup: "d18".to_owned(),
        wheel: None,
        by: StaffId(uuid::Uuid::from_u128(1)),
        at: at + TimeDelta::minutes(6),
        ticks: vec!["dressed".to_owned()],
    };
    setup_checks::insert(&tx, &check).await.unwrap();
    // With a dressing in between it says nothing.
    grind(ann, 30, &mut at).await;
    tx.commit().await.unwrap();

    let bench = stored::<Bench>(shop).await;
    let bevel = bench.station("bevel").unwrap();
    let place = |id: &str| bevel.setups.iter().position(|setup| setup.id == id).unwrap();
    let (d15, d18) = (place("d15"), place("d18"));
    let found = figures(&shop.ctx).await.unwrap().unwrap();
    let there = found.changes.iter().find(|one| (one.from, one.to) == (d15, d18)).unwrap();
    assert_eq!((there.n, there.ledger, there.minutes()), (3, (7.0, 8.0, 9.0), 8));
    let back = found.changes.iter().find(|one| (one.from, one.to) == (d18, d15)).unwrap();
    assert_eq!((back.n, back.ledger), (4, (20.0, 20.5, 25.0)));
    assert_ne!(bevel.minutes_between(d15, d18), 8, "or the test would say nothing");

    let shown = page(shop, "/shop/figures").await.says("by the same hands");
    let form = Form::of(&shown, "/shop/figures/changeovers");
    let done = form.clone().send(shop).await.expect(303);
    page(shop, done.header("location")).await.says("The table of changeovers says so now");
    let after = stored::<Bench>(shop).await;
    let after = after.station("bevel").unwrap();
    assert_eq!((after.minutes_between(d15, d18), after.minutes_between(d18, d15)), (8, 21));
    // Of a bench read before somebody changed it nothing is taken over, and a second time there is nothing to take.
    form.send(shop).await.expect(409);
    page(shop, "/shop/stations/bevel").await.says("d15 to d18");
});
