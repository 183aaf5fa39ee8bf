//! The owner sets the shop up: forms that keep what was typed, versions that nobody overwrites, warnings, people, backups.

use chrono::{NaiveDate, TimeDelta};
use server::store::documents::Crew;
use server::store::settings::{self, Document};
use server::store::staff::Roles;
use server::store::{knives, staff, wheels};
use server::use_cases::nightly_backup;
use shop::bench::{Bench, Wheel};
use shop::price::PriceList;
use shop::profile::Profile;

use crate::form::Form;
use crate::on_both_engines;
use crate::test_shop::{Answer, Engine, TestShop};
use crate::workshop::{agreed, furnish, plain_route};

/// The demo shop, with its owner signed in.
pub(crate) async fn open(shop: &TestShop) {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
}

pub(crate) async fn stored<T: Document>(shop: &TestShop) -> T {
    settings::get::<T>(shop.ctx.store.read()).await.unwrap().unwrap().value
}

pub(crate) async fn page(shop: &TestShop, path: &str) -> Answer {
    shop.get(path).await.expect(200)
}

pub(crate) async fn wheel(shop: &TestShop, mark: &str) -> Wheel {
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
