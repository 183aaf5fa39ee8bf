//! The sign of life, and pages that are not there.

use axum::body::Body;
use http::Request;

use crate::on_both_engines;
use crate::test_shop::{Engine, TestShop};

on_both_engines!(a_shop_with_its_database_is_healthy, async |shop: &TestShop| {
    shop.get("/healthz").await.expect(200).says("good");
});

#[tokio::test]
async fn a_shop_whose_database_file_was_taken_away_is_not_healthy() {
    let shop = TestShop::open(Engine::Sqlite).await.unwrap();
    let file = shop.ctx.config.database_url.reveal().strip_prefix("sqlite:").unwrap().to_owned();
    let away = format!("{file}.away");
    std::fs::rename(&file, &away).unwrap();
    shop.get("/healthz").await.expect(503).says("gone");
    std::fs::copy(&away, &file).unwrap();
    shop.get("/healthz").await.expect(503).says("gone");
    std::fs::rename(&away, &file).unwrap();
    shop.get("/healthz").await.expect(200);
}

on_both_engines!(a_page_that_is_not_there_is_said_calmly, async |shop: &TestShop| {
    let answer = shop.get("/nowhere").await.expect(404).says("There is nothing here");
    assert_eq!(answer.header("cache-control"), "no-store");
    let put = Request::put("/sign-in").header("sec-fetch-site", "same-origin").body(Body::empty()).unwrap();
    let answer = shop.ask(put).await.expect(405).says("That cannot be done here");
    assert_eq!(answer.header("allow"), "GET,HEAD,POST");
    shop.get("/pkg/nothing.css").await.expect(404);
});

on_both_engines!(a_program_hears_of_a_problem_in_json, async |shop: &TestShop| {
    let request = Request::get("/nowhere").header("accept", "application/json").body(Body::empty()).unwrap();
    let answer = shop.ask(request).await.expect(404);
    assert_eq!(answer.header("content-type"), "application/json");
    answer.says(r#"{"error":"There is nothing here","reference":null}"#);
});
