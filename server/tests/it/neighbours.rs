//! Two servers on one PostgreSQL.

use std::time::Duration;

use chrono::TimeDelta;
use server::context::{Change, Ctx};
use server::neighbours::{self, PlanningLease};
use server::store::{Store, StoreError, knives, leases, settings, wheels};
use server::use_cases::knowledge;
use shop::profile::Profile;
use tokio::sync::broadcast::Receiver;
use tokio::time::timeout;
use uuid::Uuid;

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
