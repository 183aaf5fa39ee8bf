//! The schema: up and down from empty, all or nothing, and two servers that start together.

use server::store::{Store, migrate, staff};

use crate::test_shop::{Engine, database_url};

/// Opens a database without any tables.
async fn empty(engine: Engine) -> Option<(Store, String, tempfile::TempDir)> {
    let folder = tempfile::tempdir().unwrap();
    let url = database_url(engine, &folder).await?;
    Some((Store::open(&url, 4).await.unwrap(), url, folder))
}

async fn up_and_down(engine: Engine) {
    let Some((store, _, _folder)) = empty(engine).await else { return };
    let n = migrate::pending(&store).await.unwrap().len();
    assert!(n >= 3, "{n}");
    assert_eq!(migrate::up(&store).await.unwrap(), n);
    assert!(migrate::pending(&store).await.unwrap().is_empty());
    assert_eq!(staff::count(store.read()).await.unwrap(), 0);
    assert_eq!(migrate::up(&store).await.unwrap(), 0, "a second time does nothing");
    // One step back and forth, then all of it: what a step leaves behind would be in the way of the next up.
    for steps in (1..=n).map(|n| u32::try_from(n).unwrap()) {
        migrate::down(&store, Some(steps)).await.unwrap();
        assert_eq!(migrate::up(&store).await.unwrap(), steps as usize);
    }
    migrate::down(&store, None).await.unwrap();
    assert_eq!(migrate::pending(&store).await.unwrap().len(), n);
    staff::count(store.read()).await.expect_err("the table is gone");
    store.close().await.unwrap();
}

#[tokio::test]
async fn every_change_can_be_undone_and_done_again_on_sqlite() {
    up_and_down(Engine::Sqlite).await;
}

#[tokio::test]
async fn every_change_can_be_undone_and_done_again_on_postgres() {
    up_and_down(Engine::Postgres).await;
}

async fn together(engine: Engine) {
    let Some((store, url, _folder)) = empty(engine).await else { return };
    let n = migrate::pending(&store).await.unwrap().len();
    let others = [Store::open(&url, 2).await.unwrap(), Store::open(&url, 2).await.unwrap()];
    let (one, two, three) =
        tokio::join!(migrate::up(&store), migrate::up(&others[0]), migrate::up(&others[1]));
    let mut applied = [one.unwrap(), two.unwrap(), three.unwrap()];
    applied.sort_unstable();
    assert_eq!(applied, [0, 0, n], "one of them did all the work");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 3)]
async fn three_servers_that_start_together_apply_each_change_once_on_sqlite() {
    together(Engine::Sqlite).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 3)]
async fn three_servers_that_start_together_apply_each_change_once_on_postgres() {
    together(Engine::Postgres).await;
}
