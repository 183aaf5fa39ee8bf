//! What a tablet without the line has kept and sends later: counted once, as of when it was pressed, for whoever pressed it.

use axum::body::Body;
use chrono::TimeDelta;
use http::{Request, header};
use server::store::operations;
use server::store::staff::Roles;
use shop::ledger::Fact;
use shop::read::OperationState;

use crate::on_both_engines;
use crate::test_shop::{Answer, TestShop};
use crate::workshop::{agreed, furnish, mount, pieces_of, plain_route, route_of, somebody};

/// Sends a form as the bench's worker does.
async fn send(shop: &TestShop, path: &str, form: &str, ago_s: i64, by: &str) -> Answer {
    let request = Request::post(path)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header(header::ACCEPT, "application/json")
        .header("sec-fetch-site", "same-origin")
        .header("x-pressed-ago", ago_s.to_string())
        .header("x-pressed-by", by)
        .body(Body::from(form.to_owned()))
        .unwrap();
    shop.ask(request).await
}

on_both_engines!(what_was_kept_counts_once_and_as_of_its_press, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "bea").await;
    shop.sign_in_as(Roles::OWNER).await;
    let id = agreed(shop, &[plain_route()]).await;
    let piece = pieces_of(shop, id).await.remove(0);
    let bevel = route_of(shop, piece.id).await.remove(0);
    mount(shop, &ann, "bevel", "d15").await;
    let start = format!("key=22222222-aaaa-bbbb&operation={}", bevel.id);
    let done = format!("key=33333333-aaaa-bbbb&operation={}", bevel.id);
    // An hour later the line is back. It was begun 50 minutes ago and done 38 minutes ago.
    shop.wait(TimeDelta::hours(1));
    let now = shop.ctx.now();
    send(shop, "/bench/bevel/start", &start, 50 * 60, "").await.expect(200).says("begun");
    for _ in 0..2 {
        send(shop, "/bench/bevel/done", &done, 38 * 60, "").await.expect(200).says("done");
    }
    let stands = operations::get(shop.ctx.store.read(), bevel.id).await.unwrap().unwrap();
    assert_eq!(stands.state, OperationState::Done);
    assert_eq!(stands.started_at, Some(now - TimeDelta::minutes(50)));
    assert_eq!(stands.done_at, Some(now - TimeDelta::minutes(38)));
    let entries = server::store::ledger::of_piece(shop.ctx.store.read(), piece.id).await.unwrap();
    let minutes: Vec<_> = entries
        .iter()
        .filter_map(|e| match e.fact {
            Fact::Done { minutes, .. } => Some(minutes),
            _ => None,
        })
        .collect();
    assert_eq!(minutes, [12]);
    // Another press for the same step is a conflict: told in a sentence, nothing written.
    let other = format!("key=44444444-aaaa-bbbb&operation={}", bevel.id);
    send(shop, "/bench/bevel/done", &other, 0, "").await.expect(409).says("already done");
    // A field that does not fit is told in its own sentence.
    let strop = route_of(shop, piece.id).await.remove(1);
    let typed = format!("key=55555555-aaaa-bbbb&operation={}&height=4m", strop.id);
    send(shop, "/bench/hone/done", &typed, 0, "").await.expect(422).says("the height");
});

on_both_engines!(what_one_pressed_is_never_sent_as_another, async |shop: &TestShop| {
    furnish(shop).await;
    let bea = somebody(shop, "bea").await;
    let id = agreed(shop, &[plain_route()]).await;
    let bevel = route_of(shop, pieces_of(shop, id).await[0].id).await.remove(0);
    mount(shop, &bea, "bevel", "d15").await;
    let start = format!("key=22222222-aaaa-bbbb&operation={}", bevel.id);
    // Nobody is signed in: a program is told so, and not sent to a page.
    send(shop, "/bench/bevel/start", &start, 5, &bea.id.to_string()).await.expect(401);
    shop.sign_in_as(Roles::OWNER).await;
    send(shop, "/bench/bevel/start", &start, 5, &bea.id.to_string()).await.expect(403);
    let stands = operations::get(shop.ctx.store.read(), bevel.id).await.unwrap().unwrap();
    assert_eq!(stands.state, OperationState::Open);
});

on_both_engines!(a_tablet_from_a_drawer_does_not_rewrite_last_month, async |shop: &TestShop| {
    furnish(shop).await;
    let bea = somebody(shop, "bea").await;
    shop.sign_in_as(Roles::OWNER).await;
    let id = agreed(shop, &[plain_route()]).await;
    let bevel = route_of(shop, pieces_of(shop, id).await[0].id).await.remove(0);
    mount(shop, &bea, "bevel", "d15").await;
    let start = format!("key=22222222-aaaa-bbbb&operation={}", bevel.id);
    // Thirty days ago no setup was checked either: three days is as far back as a press counts.
    send(shop, "/bench/bevel/start", &start, 30 * 86_400, "").await.expect(409).says("setup checks");
    send(shop, "/bench/bevel/start", &start, -500, "").await.expect(200);
    let stands = operations::get(shop.ctx.store.read(), bevel.id).await.unwrap().unwrap();
    assert_eq!(stands.started_at, Some(shop.ctx.now()), "a clock that runs ahead is not believed");
});

#[test]
fn the_worker_has_an_address_that_reaches_the_bench() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../style/static");
    let page = std::fs::read_to_string(root.join("bench.js")).unwrap();
    assert!(page.contains(r#"register("/bench-worker.js", { scope: "/bench" })"#));
    assert!(root.join("bench-worker.js").exists());
    assert_eq!(server::http::access::need_of("/bench-worker.js"), Some(server::http::access::Need::Open));
}
