//! What the owner sets up goes out as CSV and comes in.

use server::store::staff::Roles;
use server::store::{knives, staff, wheels};
use server::use_cases::add_person;
use server::use_cases::exchange_csv::Table;
use server::use_cases::set_up::remembered;
use shop::bench::Bench;
use shop::price::PriceList;
use shop::profile::Profile;

use crate::on_both_engines;
use crate::owner::{open, stored, wheel};
use crate::test_shop::TestShop;

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
