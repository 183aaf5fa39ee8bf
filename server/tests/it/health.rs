//! The sign of life, and pages that are not there.

use crate::on_both_engines;
use crate::test_shop::TestShop;

on_both_engines!(a_shop_with_its_database_is_healthy, async |shop: &TestShop| {
    shop.get("/healthz").await.expect(200).says("good");
});

on_both_engines!(a_page_that_is_not_there_is_said_calmly, async |shop: &TestShop| {
    let answer = shop.get("/nowhere").await.expect(404).says("There is nothing here");
    assert_eq!(answer.header("cache-control"), "no-store");
    shop.ask(
        axum::http::Request::put("/sign-in")
            .header("sec-fetch-site", "same-origin")
            .body(axum::body::Body::empty())
            .unwrap(),
    )
    .await
    .expect(405)
    .says("That cannot be done here");
});
