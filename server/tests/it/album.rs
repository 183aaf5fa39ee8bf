//! Pictures in a store that speaks S3 (moto's, from the Python package index), and what is swept out of wherever they are.

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use chrono::TimeDelta;
use server::album::{self, Album};
use server::backup;
use server::config::{Config, Photos};
use server::store::photos;
use server::use_cases::housekeeping;
use server::use_cases::store_photo::{self, Of};
use shop::ids::PhotoId;

use crate::on_both_engines;
use crate::test_shop::{Engine, TestShop};

/// moto's server.
struct Elsewhere {
    child: Child,
    says: BufReader<ChildStdout>,
    asks: ChildStdin,
    settings: Vec<(&'static str, String)>,
}

impl Elsewhere {
    fn start() -> Option<Self> {
        let Some(python) = std::env::var_os("WHETLEDGER_TEST_PYTHON").filter(|path| !path.is_empty()) else {
            eprintln!("no WHETLEDGER_TEST_PYTHON: not run");
            return None;
        };
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/s3_store.py");
        let mut child =
            Command::new(python).arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
        let says = BufReader::new(child.stdout.take().unwrap());
        let asks = child.stdin.take().unwrap();
        let mut store = Self { child, says, asks, settings: Vec::new() };
        let port = store.hear()["port"].as_u64().unwrap();
        store.settings = vec![
            ("WHETLEDGER_PHOTOS", "s3://knives/shop/photos".to_owned()),
            ("WHETLEDGER_S3_ENDPOINT", format!("http://127.0.0.1:{port}")),
            ("WHETLEDGER_S3_KEY_ID", "ann".to_owned()),
            ("WHETLEDGER_S3_SECRET", "secret".to_owned()),
        ];
        Some(store)
    }

    fn hear(&mut self) -> serde_json::Value {
        let mut line = String::new();
        self.says.read_line(&mut line).unwrap();
        serde_json::from_str(&line).unwrap_or_else(|error| panic!("{error}: {line:?}"))
    }

    /// What lies in the bucket, as a client that is not ours sees it.
    fn list(&mut self) -> Vec<String> {
        self.asks.write_all(b"list\n").unwrap();
        serde_json::from_value(self.hear()).unwrap()
    }

    async fn shop(&self, engine: Engine) -> Option<TestShop> {
        let settings: Vec<_> = self.settings.iter().map(|(name, value)| (*name, value.as_str())).collect();
        TestShop::open_with(engine, &settings).await
    }
}

impl Drop for Elsewhere {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A small picture.
fn picture() -> Vec<u8> {
    let mut png = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(16, 8, image::Rgb([9, 90, 200]))
        .write_to(&mut png, image::ImageFormat::Png)
        .unwrap();
    png.into_inner()
}

async fn kept(shop: &TestShop, key: &str) -> PhotoId {
    store_photo::store_photo(&shop.ctx, picture(), Of::Draft(key.to_owned(), 1), "booking").await.unwrap()
}

/// Pictures without a row go after two days, whoever has a row stays, and what is none of ours is left alone.
async fn litter_goes(shop: &TestShop) {
    let named = kept(shop, "one-key-of-a-form").await;
    let litter = PhotoId(shop.ctx.new_id());
    shop.ctx.album.put(litter, vec![1; 100]).await.unwrap();
    shop.ctx.album.write("ab/somebody-elses.jpg", vec![2; 10]).await.unwrap();
    assert_eq!(housekeeping::sweep_pictures(&shop.ctx).await.unwrap(), 0, "its row may be about to come");
    shop.wait(TimeDelta::days(2) + TimeDelta::seconds(1));
    let young = PhotoId(shop.ctx.new_id());
    shop.ctx.album.put(young, vec![3; 10]).await.unwrap();
    assert_eq!(housekeeping::sweep_pictures(&shop.ctx).await.unwrap(), 1);
    assert_eq!(shop.ctx.album.get(litter).await.unwrap(), None);
    for there in [named, young] {
        assert!(shop.ctx.album.get(there).await.unwrap().is_some());
    }
    assert!(shop.ctx.album.names().await.unwrap().iter().any(|name| name == "ab/somebody-elses.jpg"));
    // A form that was never sent: row and picture go together.
    housekeeping::sweep(&shop.ctx).await.unwrap();
    assert_eq!(shop.ctx.album.get(named).await.unwrap(), None);
    assert!(photos::get(shop.ctx.store.read(), named).await.unwrap().is_none());
}

on_both_engines!(pictures_that_no_row_names_are_swept_out, async |shop: &TestShop| litter_goes(shop).await);

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pictures_live_in_a_store_that_speaks_s3() {
    let Some(mut elsewhere) = Elsewhere::start() else { return };
    for engine in [Engine::Sqlite, Engine::Postgres] {
        let Some(shop) = elsewhere.shop(engine).await else { continue };
        let id = kept(&shop, "one-key-of-a-form").await;
        assert!(elsewhere.list().contains(&format!("shop/photos/{}", album::name(id))));
        assert!(!shop.ctx.config.data.join("photos").exists(), "nothing of it is here");
        let shown = shop.get(&format!("/book/photo/one-key-of-a-form/{id}")).await.expect(200);
        assert_eq!(shown.header("content-type"), "image/jpeg");
        assert_eq!(
            shown.body.len(),
            String::from_utf8_lossy(&shop.ctx.album.get(id).await.unwrap().unwrap()).len()
        );
        litter_goes(&shop).await;
        let all: Vec<PhotoId> =
            shop.ctx.album.names().await.unwrap().iter().filter_map(|name| album::id_of(name)).collect();
        shop.ctx.album.remove(all).await;
        assert_eq!(elsewhere.list(), ["shop/photos/ab/somebody-elses.jpg"]);
        shop.close().await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_backup_holds_the_pictures_of_a_store_elsewhere_and_brings_them_back() {
    let Some(mut elsewhere) = Elsewhere::start() else { return };
    let shop = elsewhere.shop(Engine::Sqlite).await.unwrap();
    let id = kept(&shop, "one-key-of-a-form").await;
    let bytes = shop.ctx.album.get(id).await.unwrap().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shop.tar");
    let contents = backup::write(&shop.ctx, &file).await.unwrap();
    assert_eq!(contents.n_photos(), 1);

    // Back into the store it came from, where it was lost and a later one lies.
    shop.ctx.album.remove(vec![id]).await;
    let later = PhotoId(shop.ctx.new_id());
    shop.ctx.album.put(later, vec![1]).await.unwrap();
    let into = |settings: &[(&'static str, String)], data: &str| {
        let data = ("WHETLEDGER_DATA", folder.path().join(data).to_str().unwrap().to_owned());
        let vars = settings.iter().cloned().chain([data]);
        Config::from_vars(vars.map(|(name, value)| (name.to_owned(), value)).collect()).unwrap()
    };
    let config = into(&elsewhere.settings, "again");
    backup::restore(&config, &file, shop.ctx.now()).await.unwrap();
    assert_eq!(shop.ctx.album.get(id).await.unwrap().as_ref(), Some(&bytes));
    assert!(shop.ctx.album.get(later).await.unwrap().is_some(), "nothing is lost by it");
    assert_eq!(elsewhere.list().len(), 2);

    // Or into a folder: a shop may move its pictures by a backup and a restore.
    let config = into(&[], "folder");
    backup::restore(&config, &file, shop.ctx.now()).await.unwrap();
    let here = Album::open(&config.photos).unwrap();
    assert_eq!(here.get(id).await.unwrap().as_ref(), Some(&bytes));
    assert_eq!(here.names().await.unwrap().len(), 1);

    // A store that is away: the form is refused, no row is written, and a restore stops before the database is in place.
    let broken = [("WHETLEDGER_S3_ENDPOINT", "http://127.0.0.1:9".to_owned())];
    let settings: Vec<_> = elsewhere
        .settings
        .iter()
        .filter(|(name, _)| *name != "WHETLEDGER_S3_ENDPOINT")
        .cloned()
        .chain(broken)
        .collect();
    let config = into(&settings, "broken");
    assert!(matches!(config.photos, Photos::S3(_)));
    backup::restore(&config, &file, shop.ctx.now()).await.unwrap_err();
    assert!(!config.data.join("whetledger.db").exists());
    let away: Vec<_> = settings.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let poor = TestShop::open_with(Engine::Sqlite, &away).await.unwrap();
    let refused =
        store_photo::store_photo(&poor.ctx, picture(), Of::Draft("a-key-of-a-form".to_owned(), 1), "booking");
    assert!(refused.await.is_err());
    assert!(photos::of_draft(poor.ctx.store.read(), "a-key-of-a-form").await.unwrap().is_empty());
}
