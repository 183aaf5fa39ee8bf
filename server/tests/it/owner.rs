//! The owner sets the shop up: forms that keep what was typed, versions that nobody overwrites, warnings, people, backups.

use assess::Typical;
use chrono::{NaiveDate, TimeDelta};
use server::store::documents::Crew;
use server::store::settings::{self, Document};
use server::store::setup_checks::{self, SetupCheck};
use server::store::staff::Roles;
use server::store::{bills, knives, ledger, operations, staff, visits, wheels};
use server::use_cases::exchange_csv::Table;
use server::use_cases::figures::figures;
use server::use_cases::set_up::remembered;
use server::use_cases::{add_person, nightly_backup};
use shop::bench::{Bench, Wheel};
use shop::ids::StaffId;
use shop::ledger::{Fact, Measures, Who};
use shop::money::Money;
use shop::piece::{Amends, Harm, PieceState};
use shop::price::{Line, PriceList};
use shop::profile::Profile;
use shop::route::{Cut, OperationKind, RouteStep};

use crate::form::Form;
use crate::on_both_engines;
use crate::test_shop::{Answer, Engine, TestShop};
use crate::workshop::{agreed, day, furnish, plain_route, step};

/// The demo shop, with its owner signed in.
async fn open(shop: &TestShop) {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
}

async fn stored<T: Document>(shop: &TestShop) -> T {
    settings::get::<T>(shop.ctx.store.read()).await.unwrap().unwrap().value
}

async fn page(shop: &TestShop, path: &str) -> Answer {
    shop.get(path).await.expect(200)
}

async fn wheel(shop: &TestShop, mark: &str) -> Wheel {
    let all = wheels::all(shop.ctx.store.read()).await.unwrap();
    all.into_iter().find(|(known, _)| known.wheel.mark == mark).unwrap().0.wheel
}

on_both_engines!(every_form_of_the_owner_sent_back_as_it_came_changes_nothing, async |shop: &TestShop| {
    open(shop).await;
    let model = knives::models(shop.ctx.store.read()).await.unwrap().remove(0).id;
    let wheel_path = format!("/shop/wheels/{}", wheel(shop, "W-1").await.id);
    let (model_path, station_path) = (format!("/shop/models/{model}"), "/shop/stations/wheel".to_owned());
    let before = (
        stored::<Profile>(shop).await,
        stored::<PriceList>(shop).await,
        stored::<Bench>(shop).await,
        wheel(shop, "W-1").await,
        knives::model(shop.ctx.store.read(), model).await.unwrap(),
    );
    for path in ["/shop/profile", "/shop/hours", "/shop/prices", &model_path, &wheel_path, &station_path] {
        let answer = Form::of(&page(shop, path).await, path).send(shop).await.expect(303);
        assert_eq!(answer.header("location"), format!("{path}?said=saved"));
        page(shop, answer.header("location")).await.says("Saved.");
    }
    let after = (
        stored::<Profile>(shop).await,
        stored::<PriceList>(shop).await,
        stored::<Bench>(shop).await,
        wheel(shop, "W-1").await,
        knives::model(shop.ctx.store.read(), model).await.unwrap(),
    );
    assert_eq!(before, after);
    let shown = page(shop, "/shop/prices").await;
    assert!(!shown.body.contains("Who changed this"), "a form that changed nothing is no change");
});

on_both_engines!(
    a_price_that_cannot_be_read_keeps_what_was_typed_and_saves_nothing,
    async |shop: &TestShop| {
        open(shop).await;
        let before = stored::<PriceList>(shop).await;
        let form = Form::of(&page(shop, "/shop/prices").await, "/shop/prices");
        let wrong = form.clone().set("heel", "a dozen").set("tax", "21").send(shop).await.expect(422);
        let wrong = wrong.says("href=\"#heel\"").says("Please give this price as an amount");
        let again = Form::of(&wrong, "/shop/prices");
        assert_eq!((again.get("heel"), again.get("tax")), ("a dozen", "21"));
        assert_eq!(stored::<PriceList>(shop).await, before);
        again.set("heel", "12,50").send(shop).await.expect(303);
        let after = stored::<PriceList>(shop).await;
        assert_eq!((after.heel.0, after.tax_permille), (1250, 210));
        page(shop, "/shop/prices").await.says("heel: 12.00 → 12.50").says("Ann Example");
        page(shop, "/shop").await.says("tax: 23 → 21");
    }
);

on_both_engines!(two_owners_who_edit_the_same_page_cannot_overwrite_each_other, async |shop: &TestShop| {
    open(shop).await;
    let first = Form::of(&page(shop, "/shop/profile").await, "/shop/profile");
    let second = first.clone().set("name", "Second name").set("promise-days", "9");
    first.set("name", "First name").send(shop).await.expect(303);
    let refused = second.send(shop).await.expect(409);
    let refused = refused.says("Somebody else has saved this").says("name: First name → Second name");
    assert_eq!(stored::<Profile>(shop).await.name, "First name");
    // Having seen it, one may save all the same.
    Form::of(&refused, "/shop/profile").send(shop).await.expect(303);
    let profile = stored::<Profile>(shop).await;
    assert_eq!((profile.name.as_str(), profile.promise_days), ("Second name", 9));
});

on_both_engines!(a_profile_in_no_time_zone_is_refused, async |shop: &TestShop| {
    open(shop).await;
    let form = Form::of(&page(shop, "/shop/profile").await, "/shop/profile");
    let wrong = form.set("time-zone", "Europe/Atlantis").send(shop).await.expect(422);
    wrong.says("There is no such time zone").says("Europe/Atlantis");
});

on_both_engines!(holidays_are_typed_as_a_stretch_and_close_the_shop, async |shop: &TestShop| {
    open(shop).await;
    let form = Form::of(&page(shop, "/shop/hours").await, "/shop/hours");
    let form = form.set("bench-closed", "2026-12-24 to 2026-12-26").set("counter-sat", "9-12");
    form.clone()
        .set("bench-tue", "17-8")
        .send(shop)
        .await
        .expect(422)
        .says("Tuesday: please write hours")
        .says("17-8");
    form.send(shop).await.expect(303);
    let profile = stored::<Profile>(shop).await;
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    // The 24th is a Thursday, the 28th the next Monday.
    assert_eq!(profile.bench.open_day_after(day("2026-12-24"), 0), Some(day("2026-12-28")));
    assert!(profile.counter.is_open(day("2026-12-26")), "the counter has holidays of its own");
});

on_both_engines!(
    a_wheel_faster_than_its_marking_is_named_wherever_the_owner_looks,
    async |shop: &TestShop| {
        open(shop).await;
        let path = format!("/shop/wheels/{}", wheel(shop, "W-1").await.id);
        let calm = page(shop, &path).await;
        assert!(!calm.body.contains("Do not run this wheel"));
        // 197.4 mm at 2850 per minute: π · 0.1974 · 2850 / 60 = 29.457 m/s (arithmetic).
        let calm = calm.says("29.5 m/s");
        Form::of(&calm, &path).set("spindle-rpm", "3341").send(shop).await.expect(303);
        for place in [path.as_str(), "/shop/wheels", "/shop"] {
            page(shop, place)
                .await
                .says("W-1 is marked for at most 3340 per minute, the spindle turns at 3341");
        }
        let form = Form::of(&page(shop, &path).await, &path);
        form.set("marked-rpm", "").send(shop).await.expect(422).says("What carries no marking is not run");
    }
);

on_both_engines!(dressing_begins_a_generation_and_retiring_keeps_the_record, async |shop: &TestShop| {
    open(shop).await;
    let path = format!("/shop/wheels/{}", wheel(shop, "W-1").await.id);
    let dress = Form::of(&page(shop, &path).await, &format!("{path}/dress"));
    dress.clone().set("diameter-after", "250").send(shop).await.expect(422).says("does not make it grow");
    let dress = dress.set("diameter-after", "196.9");
    dress.send(shop).await.expect(303);
    let dressed = wheel(shop, "W-1").await;
    assert_eq!((dressed.generation, dressed.pieces_since_dressing, dressed.diameter_mm), (2, 0, 196.9));
    // The same form twice: the second one is out of date.
    dress.send(shop).await.expect(409);
    assert_eq!(wheel(shop, "W-1").await.generation, 2);
    let shown = page(shop, &path).await.says("generation 2, 197.4 → 196.9 mm");
    Form::of(&shown, &format!("{path}/retire")).tick("retire", "yes").send(shop).await.expect(303);
    page(shop, "/shop/wheels").await.says("out of use since 2026-03-02");
    let taken = Form::of(&page(shop, "/shop/wheels/new").await, "/shop/wheels/new");
    let taken = taken
        .set("mark", "W-1")
        .set("name", "Another")
        .set("place", "wheel/arc-5")
        .set("grit", "FEPA F 150")
        .set("width-mm", "25");
    taken.clone().send(shop).await.expect(422).says("Another wheel has this mark");
    taken.set("mark", "W-11").send(shop).await.expect(303);
});

on_both_engines!(a_model_is_added_drawn_and_retired, async |shop: &TestShop| {
    open(shop).await;
    let known = knives::models(shop.ctx.store.read()).await.unwrap();
    let gannet = known.iter().find(|model| model.mark == "GN-20").unwrap();
    let like = Form::of(
        &page(shop, &format!("/shop/models/{}", gannet.id)).await.says("<svg").says("goes from the height"),
        &format!("/shop/models/{}", gannet.id),
    );
    let mut form = Form::of(&page(shop, "/shop/models/new").await, "/shop/models/new").tick("edge", "double");
    for field in [
        "name",
        "length-mm",
        "height-mm",
        "least-height-mm",
        "spine-mm",
        "behind-edge-mm",
        "angle-deg",
        "steel",
        "edge-hrc",
        "spine-hrc",
        "least-hrc",
        "line-mm",
        "transition-mm",
    ] {
        form = form.set(field, like.get(field));
    }
    form.clone().set("mark", "GN-20").send(shop).await.expect(422).says("Another model has this mark");
    let thick = form.clone().set("mark", "GN-22").set("behind-edge-mm", "2.3").send(shop).await.expect(422);
    thick.says("It cannot be thicker behind the edge than at the spine");
    let added = form.set("mark", "GN-22").send(shop).await.expect(303);
    let path = added.header("location").split('?').next().unwrap().to_owned();
    let shown = page(shop, &path).await.says("<svg");
    shop.get("/book").await.expect(200).says("GN-22");
    Form::of(&shown, &format!("{path}/offer")).tick("current", "no").send(shop).await.expect(303);
    page(shop, "/shop/models").await.says("no longer made");
    let all = knives::models(shop.ctx.store.read()).await.unwrap();
    let added = all.iter().find(|model| model.mark == "GN-22").unwrap();
    assert!(!added.current);
    assert_eq!((added.drawing.line_mm, added.drawing.height_mm), (Some(16.0), 46.0));
});

on_both_engines!(a_setup_that_work_depends_on_cannot_be_taken_away, async |shop: &TestShop| {
    open(shop).await;
    let path = "/shop/stations/bevel";
    let form = Form::of(&page(shop, path).await, path);
    assert_eq!((form.get("over-0-1"), form.get("over-0-2")), ("4", "7"));
    form.clone().tick("setup-1-remove", "true").send(shop).await.expect(422).says("S-2 still runs here");
    let stone = format!("/shop/wheels/{}", wheel(shop, "S-2").await.id);
    Form::of(&page(shop, &stone).await, &format!("{stone}/retire"))
        .tick("retire", "yes")
        .send(shop)
        .await
        .expect(303);
    let mut route = plain_route();
    route[0].setup = "d18".to_owned();
    agreed(shop, &[route]).await;
    form.clone()
        .tick("setup-1-remove", "true")
        .send(shop)
        .await
        .expect(422)
        .says("1 steps of knives in the house");
    // A new setup joins the table with the minutes of its mounting.
    let more = form.set("setup-3-id", "d22").set("setup-3-name", "22° each side").set("setup-3-first", "9");
    more.set("over-0-1", "5").send(shop).await.expect(303);
    let bench = stored::<Bench>(shop).await;
    let station = bench.station("bevel").unwrap();
    assert_eq!(station.changeover, [vec![0, 5, 7, 9], vec![4, 0, 7, 9], vec![7, 7, 0, 9], vec![8, 8, 8, 0]]);
    assert!(bench.complaints().is_empty());
});

on_both_engines!(somebody_new_gets_a_one_time_password_that_is_shown_once, async |shop: &TestShop| {
    open(shop).await;
    let form = Form::of(&page(shop, "/shop/crew").await, "/shop/crew");
    let form = form.set("full-name", "Bea Example").set("sign-in-name", "bea");
    form.clone()
        .untick("bench")
        .send(shop)
        .await
        .expect(422)
        .says("Name at least one of desk, bench and owner");
    form.clone()
        .set("sign-in-name", "Ann")
        .send(shop)
        .await
        .expect(422)
        .says("Somebody has this sign-in name already");
    let shown = form.send(shop).await.expect(200).says("One-time password");
    let password = shown.body.split("<code>").nth(2).unwrap().split('<').next().unwrap().to_owned();
    assert!(!page(shop, "/shop/crew").await.body.contains(&password));
    let crew = stored::<Crew>(shop).await;
    assert_eq!(crew.hands.len(), 3, "they joined the bench");
    let owner = shop.cookies();
    shop.forget_cookies();
    shop.post("/sign-in", &[("name", "bea"), ("password", &password)]).await.expect(303);
    assert_eq!(shop.get("/bench").await.expect(303).header("location"), "/account");
    shop.get("/shop").await.expect(303);

    shop.set_cookies(owner);
    let bea = staff::by_name(shop.ctx.store.read(), "bea").await.unwrap().unwrap().0;
    let path = format!("/shop/crew/{}", bea.id);
    let form = Form::of(&page(shop, &path).await, &path);
    let form = form
        .set("skills", "serrate, Straighten")
        .tick("own-hours", "true")
        .set("own-mon", "9-13")
        .tick("desk", "true");
    form.send(shop).await.expect(303);
    let crew = stored::<Crew>(shop).await;
    let hand = crew.hands.iter().find(|hand| hand.staff.0 == bea.id).unwrap();
    assert_eq!(hand.skills, ["serrate", "straighten"]);
    assert_eq!(hand.hours.as_ref().unwrap().week[0][0].to, 13 * 60);
    assert!(staff::by_id(shop.ctx.store.read(), bea.id).await.unwrap().unwrap().roles.desk);

    Form::of(&page(shop, &path).await, &format!("{path}/left"))
        .tick("left", "yes")
        .send(shop)
        .await
        .expect(303);
    page(shop, "/shop/crew").await.says("no longer works here");
    assert_eq!(stored::<Crew>(shop).await.hands.len(), 2);
});

on_both_engines!(the_last_owner_can_neither_leave_nor_lose_the_keys, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    let ann = staff::by_name(shop.ctx.store.read(), "ann").await.unwrap().unwrap().0;
    let path = format!("/shop/crew/{}", ann.id);
    let shown = page(shop, &path).await;
    Form::of(&shown, &path).untick("owner").send(shop).await.expect(422).says("Nobody else is an owner");
    Form::of(&shown, &format!("{path}/left")).tick("left", "yes").send(shop).await.expect(409);
    page(shop, "/shop").await.says("There is no shop yet");
});

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn backups_are_made_by_night_kept_so_many_and_missed_when_old() {
    let shop = TestShop::open_with(Engine::Sqlite, &[("WHETLEDGER_BACKUP_KEEP", "2")]).await.unwrap();
    open(&shop).await;
    page(&shop, "/shop").await.says("There is no backup yet");
    // Monday, 8:00: the hour has struck tonight, and there is none yet.
    let first = nightly_backup::back_up_if_due(&shop.ctx).await.unwrap().unwrap();
    assert!(nightly_backup::back_up_if_due(&shop.ctx).await.unwrap().is_none(), "once a night");
    let calm = page(&shop, "/shop").await.says("The last one was made on 2 March 2026, 8:00");
    assert!(!calm.body.contains("There is no backup yet"));
    for _ in 0..2 {
        shop.wait(TimeDelta::days(1));
        nightly_backup::back_up_if_due(&shop.ctx).await.unwrap().unwrap();
    }
    assert!(!first.exists(), "two are kept");
    assert_eq!(std::fs::read_dir(&shop.ctx.config.backup_folder).unwrap().count(), 2);
    shop.wait(TimeDelta::hours(37));
    shop.sign_in_again().await;
    page(&shop, "/shop").await.says("The last backup is of 4 March 2026");
    shop.wait(TimeDelta::days(366));
    shop.sign_in_again().await;
    page(&shop, "/shop").await.says("rule on blades was last checked on 2026-01-21");
    shop.close().await;
}

on_both_engines!(a_steel_of_ones_own_is_added_used_and_taken_out, async |shop: &TestShop| {
    open(shop).await;
    // The table stands there with its sources.
    page(shop, "/shop/steels").await.says("1.2842").says("two property pages").says("7850 (7660 to 7850)");
    let fresh = page(shop, "/shop/steels/new").await;
    let steel = |form: Form| {
        form.set("name", "1.9999")
            .set("designations", "Test 99")
            .set("density", "8000")
            .set("density-least", "7950")
            .set("density-source", "card 1.9999")
            .set("conductivity", "15")
            .set("conductivity-source", "card 1.9999")
            .set("heat-capacity", "500")
            .set("heat-capacity-source", "from memory")
            .set("hardness-least", "58")
            .set("hardness-most", "61")
            .tick("corrosion", "stainless")
    };
    // Impossible figures are refused by name, and nothing typed is lost.
    let wrong = steel(Form::of(&fresh, "/shop/steels/new")).set("density", "80").send(shop).await;
    wrong.expect(422).says("80 is not the density of a knife steel").says("card 1.9999");
    steel(Form::of(&fresh, "/shop/steels/new")).send(shop).await.expect(303);
    page(shop, "/shop/steels").await.says("8000 (7950 to 8000)").says("card 1.9999").says("Your own");
    // Another one of the same name is refused; so is a form read before.
    let stale = steel(Form::of(&fresh, "/shop/steels/new"))
        .set("name", "1.9998")
        .set("designations", "")
        .send(shop)
        .await;
    stale.expect(409);
    let again = page(shop, "/shop/steels/new").await;
    steel(Form::of(&again, "/shop/steels/new")).send(shop).await.expect(422).says("Another steel of yours");
    // Inspection and booking reckon with it, by any of its names.
    let knows = server::use_cases::knowledge::load(&shop.ctx).await.unwrap();
    let used = knows.rates.steel("test 99").unwrap();
    assert_eq!((used.density_kg_m3.value, used.density_kg_m3.range), (8000.0, (7950.0, 8000.0)));
    // Changed, and taken out again; who did it stands below.
    let own = page(shop, "/shop/steels/1.9999").await.says("7950");
    Form::of(&own, "/shop/steels/1.9999").set("grindability", "0.5").send(shop).await.expect(303);
    let own = page(shop, "/shop/steels/1.9999").await;
    Form::of(&own, "/shop/steels/1.9999/remove").send(shop).await.expect(303);
    page(shop, "/shop/steels").await.says("grindability: 1 → 0.5");
    shop.get("/shop/steels/1.9999").await.expect(404);
});

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

on_both_engines!(a_csv_goes_out_and_comes_in_whole_or_not_at_all, async |shop: &TestShop| {
    open(shop).await;
    let wheels_out = shop.get("/shop/csv/wheels.csv").await.expect(200);
    assert!(wheels_out.header("content-type").starts_with("text/csv"));
    let text = wheels_out.body.clone();
    assert!(text.starts_with("mark,name,place,") && text.contains("\r\nW-1,"), "{text}");
    let bring = async |table: &str, text: &str, what: &str| {
        shop.post("/shop/csv", &[("table", table), ("text", text), ("do", what)]).await
    };
    // What went out changes nothing when it comes in.
    let before = wheels::in_use(shop.ctx.store.read()).await.unwrap();
    let same = bring("wheels", &text, "take").await.expect(200).says("Taken over");
    assert!(!same.body.contains("changes it"));
    let values = |all: &[wheels::KnownWheel]| all.iter().map(|known| known.wheel.clone()).collect::<Vec<_>>();
    assert_eq!(values(&before), values(&wheels::in_use(shop.ctx.store.read()).await.unwrap()));
    // One bad line keeps the good one out.
    let two = text.replace("197.4", "196").replace("3340,2850,wavy", ",2850,wavy");
    let refused = bring("wheels", &two, "take").await.expect(422).says("1 lines are refused").says("not run");
    refused.says("197.4 → 196");
    assert_eq!(wheel(shop, "W-1").await.diameter_mm, 197.4);
    // A trial takes nothing over, the real thing does.
    let one = text.replace("197.4", "196");
    bring("wheels", &one, "try").await.expect(200).says("Nothing is taken over yet");
    assert_eq!(wheel(shop, "W-1").await.diameter_mm, 197.4);
    bring("wheels", &one, "take").await.expect(200);
    assert_eq!(wheel(shop, "W-1").await.diameter_mm, 196.0);
    let prices = shop.get("/shop/csv/prices.csv").await.expect(200).body;
    bring("prices", &prices.replace("heel,12.00", "heel,twelve"), "try")
        .await
        .expect(422)
        .says("as an amount");
    bring("prices", &prices.replace("heel,12.00", "heel,13"), "take").await.expect(200);
    assert_eq!(stored::<PriceList>(shop).await.heel.0, 1300);
    let models = shop.get("/shop/csv/models.csv").await.expect(200).body;
    bring("models", &models.replace("GN-20,Gannet 20", "GN-21,Gannet 21"), "take")
        .await
        .expect(200)
        .says("adds it");
    bring("models", "name,mark\nx", "try").await.expect(422).says("cannot be read as CSV");
    assert_eq!(knives::models(shop.ctx.store.read()).await.unwrap().len(), 7);
});

on_both_engines!(everything_the_owner_sets_goes_out_as_csv_and_comes_in, async |shop: &TestShop| {
    open(shop).await;
    let out = async |table: &str| shop.get(&format!("/shop/csv/{table}.csv")).await.expect(200).body;
    let bring = async |table: &str, text: &str, what: &str| {
        shop.post("/shop/csv", &[("table", table), ("text", text), ("do", what)]).await
    };
    // What went out changes nothing when it comes in, and leaves no trace among the changes.
    for (table, ..) in Table::ALL {
        let text = out(table).await;
        assert!(text.lines().count() > 2 || table == "steels", "{table}: {text}");
        if table != "steels" {
            let taken = bring(table, &text, "take").await.expect(200).says("Taken over");
            assert!(!taken.body.contains("changes it") && !taken.body.contains("adds it"), "{table}");
        }
        assert_eq!(out(table).await, text, "{table}");
    }
    assert!(remembered(&shop.ctx, None, None, 1).await.unwrap().is_empty());

    // A field a line; what is not mentioned stays.
    let before = stored::<Profile>(shop).await;
    bring("hours", "field;value\ncounter-mon;10-12\nbench-closed;2026-12-24", "take").await.expect(200);
    let refused =
        bring("hours", "field,value\ncounter-mon,late\ncounter-monday,8-12", "take").await.expect(422);
    refused.says("please write hours as").says("There is no such field");
    bring("profile", "field,value\nphone,+351 200 000 001\npaid-first,FALSE", "take").await.expect(200);
    bring("profile", "field,value\ntold-on-days-off,yes", "take").await.expect(422).says("Please write true");
    let after = stored::<Profile>(shop).await;
    assert_eq!((after.counter.week[0].len(), after.counter.week[0][0].from), (1, 600));
    assert_eq!((after.bench.week.clone(), after.bench.closed.len()), (before.bench.week, 1));
    assert_eq!(
        (after.phone.as_str(), after.paid_first, after.name),
        ("+351 200 000 001", false, before.name)
    );

    // A station is added with its setups, and a changeover of another is put right.
    let stations = out("stations").await;
    assert!(stations.contains("\r\nbelt,over-0-1,"), "{stations}");
    let lines = "station,field,value\nbelt,over-0-1,17\nbench-2,name,Second bench\nbench-2,kind,hand\nbench-2,basin,1\n\
                 bench-2,rest,0\nbench-2,does-hone,true\nbench-2,setup-0-id,stone\nbench-2,setup-0-first,4\n";
    bring("stations", lines, "take").await.expect(200).says("belt over-0-1");
    let bench = stored::<Bench>(shop).await;
    assert_eq!(bench.station("belt").unwrap().changeover[0][1], 17);
    assert_eq!(bench.station("bench-2").unwrap().setups[0].first, 4);
    let refused = bring("stations", "station,field,value\nbench-3,name,Third bench", "try").await.expect(422);
    refused.says("bench-3 does").says("Please say what is done here").says("missing");

    // A steel of the shop's own, which then goes out.
    let steel = "name,density,density-source,conductivity,conductivity-source,heat-capacity,heat-capacity-source,tempering,\
                 tempering-source,hardness-least,hardness-most,grindability,corrosion\n\
                 Trial 1,7800,guess,20,guess,460,guess,\"150 63\n200 60\",guess,58,63,0.8,rusts\n";
    bring("steels", steel, "take").await.expect(200).says("adds it");
    assert!(out("steels").await.contains("Trial 1,"));

    // Words of a notice, and back to the program's own.
    let words = "language,field,value\nen,mail-returned-heading,It is sharp again\n";
    bring("wording", words, "take").await.expect(200);
    assert!(stored::<Profile>(shop).await.wording.values().any(|own| own == "It is sharp again"));
    bring("wording", "language,field,value\nen,mail-returned-heading,", "take").await.expect(200);
    assert_eq!(stored::<Profile>(shop).await.wording, before.wording);
    bring("wording", "language,field,value\nen,mail-returned-heading,{nonsense}", "take").await.expect(422);
    bring("wording", "language,field,value\nfr,mail-returned-heading,x", "take")
        .await
        .expect(422)
        .says("en and de");

    // People are changed and not made: whoever is new gets a password on a page.
    add_person::add_person(&shop.ctx, "bob", "Bob Example", Roles { desk: true, bench: false, owner: false })
        .await
        .unwrap();
    bring("people", "sign-in-name,bench,at-bench,skills\nbob,true,true,serrate", "take").await.expect(200);
    let (bob, _) = staff::by_name(shop.ctx.store.read(), "bob").await.unwrap().unwrap();
    assert!(bob.roles.desk && bob.roles.bench && !bob.roles.owner);
    let people = staff::list(shop.ctx.store.read()).await.unwrap();
    let lines: String = people.iter().map(|person| format!("\n{},", person.sign_in_name)).collect();
    let refused = bring("people", &format!("sign-in-name,owner{lines}"), "take").await.expect(422);
    refused.says("1 lines are refused").says("Nobody else is an owner");
    bring("people", "sign-in-name,full-name\nbob,Robert", "take")
        .await
        .expect(422)
        .says("is not changed here");
    bring("people", "sign-in-name,desk\nzoe,true", "take").await.expect(422).says("Nobody here signs in so");

    let figures = out("figures").await;
    assert!(
        figures.starts_with("figure,of,measure,value,unit\r\n") && figures.contains("bills by month,"),
        "{figures}"
    );
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
