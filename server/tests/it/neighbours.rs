//! Two servers on one PostgreSQL.

use std::time::Duration;

use chrono::TimeDelta;
use server::context::{Change, Ctx};
use server::neighbours::{self, PlanningLease};
use server::planning::worker;
use server::store::{Queries as _, Store, StoreError, knives, leases, migrate, pieces, settings, wheels};
use server::use_cases::{knowledge, mishap};
use shop::piece::PieceState;
use shop::profile::Profile;
use tokio::sync::broadcast::Receiver;
use tokio::time::timeout;
use uuid::Uuid;

use crate::desk::{book, href, in_hand, open_shop, receive, send_booking};
use crate::on_both_engines;
use crate::test_shop::{Engine, TestShop};
use crate::workshop::furnish;

/// Long enough for a busy machine; never waited for when all is well.
const PATIENCE: Duration = Duration::from_secs(20);

async fn beside(shop: &TestShop) -> Ctx {
    let store = Store::open(shop.ctx.config.database_url.reveal(), 4).await.unwrap();
    Ctx::new(store, shop.ctx.clock.clone(), (*shop.ctx.config).clone()).unwrap()
}

async fn heard(pages: &mut Receiver<Change>, what: &str) -> Change {
    loop {
        let change = timeout(PATIENCE, pages.recv()).await.expect("in time").unwrap();
        if change.what == what {
            return change;
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_one_server_changes_shows_on_the_pages_of_the_other() {
    let Some(shop) = TestShop::open(Engine::Postgres).await else { return };
    let other = beside(&shop).await;
    let (mut pages, mut others_pages) = (shop.ctx.live.listen(), other.live.listen());
    let running = [shop.ctx.clone(), other.clone()].map(|ctx| tokio::spawn(neighbours::run(ctx)));
    // Both listen once they have heard that they may have missed something.
    heard(&mut pages, "everything").await;
    heard(&mut others_pages, "everything").await;

    let id = Uuid::new_v4();
    shop.ctx.live.tell("visit", Some(id));
    let change = heard(&mut others_pages, "visit").await;
    assert_eq!((change.id, change.from_afar), (Some(id), true));
    timeout(PATIENCE, other.planner.rung()).await.expect("the other planner looks as well");
    other.live.tell("plan", None);
    assert!(heard(&mut pages, "plan").await.from_afar);
    // Its own words do not come back to it.
    shop.ctx.live.tell("post", None);
    heard(&mut others_pages, "post").await;
    assert!(pages.try_recv().is_ok_and(|own| !own.from_afar), "said here");
    assert!(pages.try_recv().is_err(), "and heard once");

    shop.ctx.stop.cancel();
    other.stop.cancel();
    for one in running {
        timeout(PATIENCE, one).await.expect("it stops when asked").unwrap();
    }
    other.store.close().await.unwrap();
    shop.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_server_plans_until_it_stops_or_dies() {
    let Some(shop) = TestShop::open(Engine::Postgres).await else { return };
    let other = beside(&shop).await;
    let (mut ours, mut theirs) = (PlanningLease::default(), PlanningLease::default());
    assert!(ours.hold(&shop.ctx).await.unwrap());
    assert!(!theirs.hold(&other).await.unwrap());
    shop.wait(TimeDelta::seconds(15));
    assert!(ours.hold(&shop.ctx).await.unwrap(), "renewed");
    shop.wait(TimeDelta::seconds(15));
    assert!(!theirs.hold(&other).await.unwrap(), "it was renewed");
    // The first one dies without a word.
    shop.wait(TimeDelta::seconds(6));
    assert!(theirs.hold(&other).await.unwrap());
    assert!(!ours.hold(&shop.ctx).await.unwrap(), "it comes back and finds its place taken");
    theirs.give_back(&other).await.unwrap();
    assert!(ours.hold(&shop.ctx).await.unwrap(), "given back, it is free at once");
    other.store.close().await.unwrap();
    shop.close().await;
}

on_both_engines!(what_one_server_changes_the_other_counts_on_at_once, async |shop: &TestShop| {
    let other = beside(shop).await;
    let missing = knowledge::load(&other).await.unwrap_err();
    assert!(matches!(missing, StoreError::NotSetUp { .. }), "{missing}");
    furnish(shop).await;
    let before = knowledge::load(&other).await.unwrap();
    assert_eq!(before, knowledge::load(&other).await.unwrap());
    let now = shop.ctx.now();
    // A document, a wheel and a model, each changed by the first server after the second has read all of them.
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let mut profile = settings::get::<Profile>(&tx).await.unwrap().unwrap();
    "Another name".clone_into(&mut profile.value.name);
    settings::put(&tx, &profile.value, profile.version, None, now).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(knowledge::profile(&other).await.unwrap().name, "Another name");
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let wheel = wheels::in_use(&tx).await.unwrap().remove(0);
    wheels::save(&tx, &wheel, Some(now)).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(knowledge::load(&other).await.unwrap().wheels.len() + 1, before.wheels.len());
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let (mut model, version) = knives::model_version(&tx, before.models[0].id).await.unwrap().unwrap();
    "Renamed".clone_into(&mut model.name);
    knives::save_model(&tx, &model, version).await.unwrap();
    // What is not committed is not there.
    assert_eq!(knowledge::load(&other).await.unwrap().models, before.models);
    tx.commit().await.unwrap();
    assert!(knowledge::load(&other).await.unwrap().models.iter().any(|model| model.name == "Renamed"));
    other.store.close().await.unwrap();
});

on_both_engines!(a_lease_belongs_to_one_until_it_runs_out, async |shop: &TestShop| {
    let (one, two) = (Uuid::new_v4(), Uuid::new_v4());
    let now = shop.ctx.now();
    let until = now + TimeDelta::seconds(10);
    let take = async |who, now, until| {
        let tx = shop.ctx.store.begin_write().await.unwrap();
        let taken = leases::take(&tx, "sweeping", who, now, until).await.unwrap();
        tx.commit().await.unwrap();
        taken
    };
    assert!(take(one, now, until).await);
    assert!(!take(two, now, until).await);
    assert!(take(one, now, until).await);
    assert!(take(two, until, until + TimeDelta::seconds(10)).await, "it ran out");
    assert!(!take(one, until, until + TimeDelta::seconds(10)).await);
});

/// What a newer program does to the database while ours is running. Says how many rows that were.
async fn newer_program(shop: &TestShop, statements: &[&str]) -> u64 {
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let mut rows = 0;
    for statement in statements {
        rows += tx.execute_unprepared(statement).await.unwrap().rows_affected();
    }
    tx.commit().await.unwrap();
    rows
}

const NEWER: &str = "m20990101_000001_weather";

on_both_engines!(what_a_newer_program_writes_is_left_to_it_and_the_rest_goes_on, async |shop: &TestShop| {
    open_shop(shop).await;
    let theirs = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let ours = in_hand(shop, "olaf@example.org", &["Paring knife"]).await;
    let late = book(shop, "nele@example.org", &["Boning knife"]).await;
    shop.send_post().await;
    let id = theirs.pieces[0].id;
    // Written as the engine keeps ids: bytes in SQLite, its own kind in PostgreSQL. There is one slicer.
    let unknown = "UPDATE piece SET waits_on = 'weather', waits_for = 'less damp', version = version + 1 WHERE name = 'Slicer'";
    newer_program(shop, &["ALTER TABLE piece ADD COLUMN dampness text", unknown]).await;
    // Nobody newer has been here: the row is spoilt, and that is ours to find out.
    shop.get(&href(&theirs)).await.expect(500).says("Something broke on our side");
    let applied = format!("INSERT INTO seaql_migrations (version, applied_at) VALUES ('{NEWER}', 0)");
    newer_program(shop, &["CREATE TABLE weather (day text)", &applied]).await;
    assert_eq!(migrate::newer(&shop.ctx.store).await.unwrap(), [NEWER]);

    let answer = shop.get(&href(&theirs)).await.expect(503).says("just being renewed");
    assert_eq!(answer.header("retry-after"), "30");
    let fields = [
        ("version", "3"),
        ("do", "tell"),
        ("harm[0][what]", "lost"),
        ("harm[0][words]", "It cannot be found."),
    ];
    shop.post(&format!("/desk/piece/{id}/harm"), &fields).await.expect(503);
    let as_written = "UPDATE piece SET dampness = 'high' WHERE waits_on = 'weather' AND waits_for = 'less damp' AND state = 'in_hand'";
    assert_eq!(newer_program(shop, &[as_written]).await, 1, "it stands as the newer program wrote it");

    // What it has not touched goes on as before, in the widened table too.
    let piece = pieces::get(shop.ctx.store.read(), ours.pieces[0].id).await.unwrap().unwrap();
    let version = piece.version.to_string();
    let fields = [
        ("version", &*version),
        ("do", "tell"),
        ("harm[0][what]", "lost"),
        ("harm[0][words]", "It cannot be found."),
    ];
    shop.post(&format!("/desk/piece/{}/harm", piece.id), &fields).await.expect(303);
    shop.get(&href(&ours)).await.expect(200).says("Lost here");
    send_booking(shop, "mia@example.org", &["Bread knife"]).await.expect(303);
    let received = receive(shop, &late, &["here"]).await;
    assert_eq!(received.pieces[0].state, PieceState::InHand);
    // A list with what it cannot read in it is another server's to show.
    shop.get("/desk").await.expect(503);
    shop.wait(mishap::GRACE);
    shop.send_post().await;

    // A program that knows less than the database does is not started on it.
    let refused = migrate::up(&shop.ctx.store).await.unwrap_err();
    assert!(refused.to_string().contains(NEWER), "{refused}");
});

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_that_cannot_plan_lets_another() {
    let Some(shop) = TestShop::open(Engine::Postgres).await else { return };
    open_shop(&shop).await;
    in_hand(&shop, "ines@example.org", &["Slicer"]).await;
    shop.send_post().await;
    newer_program(&shop, &["UPDATE piece SET waits_on = 'weather', waits_for = 'less damp'"]).await;
    let (newer, mut theirs) = (beside(&shop).await, PlanningLease::default());
    assert!(PlanningLease::default().hold(&shop.ctx).await.unwrap());
    assert!(!theirs.hold(&newer).await.unwrap());
    let planning = tokio::spawn(worker::run(shop.ctx.clone()));
    // The clock stands still: a lease that is not given back never ends.
    let taken = async {
        while !theirs.hold(&newer).await.unwrap() {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    };
    timeout(PATIENCE, taken).await.expect("the older one has stood aside");
    shop.ctx.stop.cancel();
    timeout(PATIENCE, planning).await.expect("it stops when asked").unwrap();
    newer.store.close().await.unwrap();
    shop.close().await;
}
