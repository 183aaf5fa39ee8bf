//! A whole shop goes from SQLite to PostgreSQL.

use server::store::outbox::{self, Letter};
use server::store::{Store, StoreError, copy, migrate};

use crate::test_shop::{Engine, TestShop, database_url};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_shop_with_weeks_behind_it_moves_whole_and_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    // No PostgreSQL to test on.
    let Some(url) = database_url(Engine::Postgres, &folder).await else { return };
    let shop = TestShop::open_with_weeks(&[]).await;
    let target = Store::open(&url, 2).await.unwrap();
    migrate::up(&target).await.unwrap();

    let moved = copy::copy(&shop.ctx.store, &target).await.unwrap();
    assert_eq!(moved, copy::sums(shop.ctx.store.read()).await.unwrap());
    assert_eq!(moved, copy::sums(target.read()).await.unwrap());
    for table in ["ledger", "visit", "piece", "outbox", "bill"] {
        assert!(moved.iter().any(|sum| sum.table == table && sum.rows > 5), "{table}");
    }

    // The ledger goes on where it stopped.
    let letter = Letter {
        kind: "trial",
        about: None,
        to_address: "bob@example.org".to_owned(),
        to_name: String::new(),
        subject: "after the move".to_owned(),
        text: "text".to_owned(),
        html: "html".to_owned(),
        calendar: None,
        unsubscribe_url: None,
    };
    let tx = target.begin_write().await.unwrap();
    outbox::queue(&tx, shop.ctx.new_id(), letter, shop.ctx.now()).await.unwrap();
    tx.commit().await.unwrap();

    // A second move finds the place taken, and changes nothing.
    let before = copy::sums(target.read()).await.unwrap();
    let refused = copy::copy(&shop.ctx.store, &target).await;
    assert!(matches!(refused, Err(StoreError::Address(why)) if why.contains("not empty")));
    assert_eq!(before, copy::sums(target.read()).await.unwrap());
    target.close().await.unwrap();
    shop.close().await;
}
