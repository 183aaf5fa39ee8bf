//! A shop in one file and back, while it is open, and what a damaged file does.

use std::fs;
use std::path::Path;

use server::backup;
use server::config::Config;
use server::context::Ctx;
use server::store::outbox::{self, Which};
use server::store::{Store, copy, staff};
use tempfile::TempDir;

use crate::test_shop::{Engine, TestShop};

/// A shop with two people, some notices and two photos, and its backup.
async fn shop_with_backup() -> (TestShop, TempDir, std::path::PathBuf) {
    let shop = TestShop::open(Engine::Sqlite).await.unwrap();
    shop.sign_in_as(staff::Roles::OWNER).await;
    for n in 0..20 {
        shop.queue(None, &format!("notice {n}")).await;
    }
    let photos = shop.ctx.config.data.join("photos/ab");
    fs::create_dir_all(&photos).unwrap();
    fs::write(photos.join("one.jpg"), [1; 70_000]).unwrap();
    fs::write(photos.join("two.jpg"), [2; 10]).unwrap();
    fs::write(photos.join("half.jpg.tmp"), [3; 10]).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shop.tar");
    (shop, folder, file)
}

fn empty_config(folder: &Path) -> Config {
    let vars = [("WHETLEDGER_DATA", folder.join("other").to_str().unwrap().to_owned())];
    Config::from_vars(vars.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()).unwrap()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_shop_that_goes_on_working_comes_back_whole() {
    let (shop, folder, file) = shop_with_backup().await;
    let writer = {
        let ctx: Ctx = shop.ctx.clone();
        tokio::spawn(async move {
            for _ in 0..50 {
                let letter =
                    server::post::notice::Notice::Trial { by: "Ann".to_owned() }.letter("a@example.com", "");
                let tx = ctx.store.begin_write().await.unwrap();
                outbox::queue(&tx, ctx.new_id(), letter, ctx.now()).await.unwrap();
                tx.commit().await.unwrap();
            }
        })
    };
    let contents = backup::write(&shop.ctx, &file).await.unwrap();
    writer.await.unwrap();
    assert_eq!(contents.n_photos(), 2, "{contents:?}");

    let config = empty_config(folder.path());
    let (restored, _) = backup::restore(&config, &file, shop.ctx.now()).await.unwrap();
    assert_eq!(restored, contents);
    let store = Store::open(config.database_url.reveal(), 1).await.unwrap();
    let people = staff::list(store.read()).await.unwrap();
    assert_eq!(people, staff::list(shop.ctx.store.read()).await.unwrap());
    let notices = outbox::list(store.read(), Which::All, None, 1000).await.unwrap();
    let all = outbox::list(shop.ctx.store.read(), Which::All, None, 1000).await.unwrap();
    assert!((20..=70).contains(&notices.len()), "{}", notices.len());
    assert_eq!(notices, all[all.len() - notices.len()..], "the same ones as far as the snapshot goes");
    assert_eq!(fs::read(config.data.join("photos/ab/one.jpg")).unwrap(), [1; 70_000]);
    assert_eq!(fs::read(config.data.join("photos/ab/two.jpg")).unwrap(), [2; 10]);
    assert!(!config.data.join("photos/ab/half.jpg.tmp").exists());
    store.close().await.unwrap();

    // Once more over what is there: it is set aside and not lost.
    fs::write(config.data.join("photos/ab/three.jpg"), [3; 10]).unwrap();
    let (_, aside) =
        backup::restore(&config, &file, shop.ctx.now() + chrono::TimeDelta::seconds(1)).await.unwrap();
    assert!(aside.join("whetledger.db").is_file());
    assert!(aside.join("photos/ab/three.jpg").is_file());
    assert!(!config.data.join("photos/ab/three.jpg").exists());
    let left: Vec<_> = fs::read_dir(&config.data)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with(".tmp") || name.contains("restoring"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[tokio::test]
async fn a_damaged_backup_is_refused_before_anything_is_touched() {
    let (shop, folder, file) = shop_with_backup().await;
    backup::write(&shop.ctx, &file).await.unwrap();
    let whole = fs::read(&file).unwrap();
    let config = empty_config(folder.path());
    backup::restore(&config, &file, shop.ctx.now()).await.unwrap();
    let restored = Store::open(config.database_url.reveal(), 1).await.unwrap();
    let sums = copy::sums(restored.read()).await.unwrap();
    assert_eq!(sums, copy::sums(shop.ctx.store.read()).await.unwrap(), "every row of every table");
    restored.close().await.unwrap();
    let database = config.data.join("whetledger.db");
    let before = fs::read(&database).unwrap();

    let photo = whole.windows(1000).position(|bytes| bytes == [1; 1000]).unwrap();
    let mut flipped = whole.clone();
    flipped[photo + 500] ^= 1;
    let cut_off = whole[..whole.len() / 2].to_vec();
    for (name, bytes) in
        [("flipped", flipped), ("cut off", cut_off), ("empty", Vec::new()), ("other", vec![7; 4096])]
    {
        fs::write(&file, bytes).unwrap();
        let refused = backup::restore(&config, &file, shop.ctx.now() + chrono::TimeDelta::hours(1)).await;
        assert!(refused.is_err(), "{name}");
        assert_eq!(fs::read(&database).unwrap(), before, "{name}");
        assert!(config.data.join("photos/ab/one.jpg").is_file(), "{name}");
    }
}

#[tokio::test]
async fn a_shop_on_postgres_is_told_what_to_use() {
    let Some(shop) = TestShop::open(Engine::Postgres).await else { return };
    let folder = tempfile::tempdir().unwrap();
    let refused = backup::write(&shop.ctx, &folder.path().join("shop.tar")).await.unwrap_err();
    assert!(refused.to_string().contains("pg_dump"), "{refused}");
    shop.close().await;
}
