//! Live updates over a real socket, and a server that can stop while somebody listens.

use std::time::Duration;

use server::http::serve;
use server::store::plans;
use server::store::staff::{self, Roles};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::timeout;

use crate::test_shop::{Engine, TestShop};
use crate::workshop::{agreed, furnish, plain_route, plan};

/// Long enough for a busy machine; never waited for when all is well.
const PATIENCE: Duration = Duration::from_secs(20);

async fn read_until(stream: &mut TcpStream, words: &str) -> String {
    let mut text = String::new();
    let mut buffer = [0; 4096];
    while !text.contains(words) {
        let n = timeout(PATIENCE, stream.read(&mut buffer)).await.expect("in time").unwrap();
        assert!(n > 0, "closed before {words:?}: {text}");
        text.push_str(&String::from_utf8_lossy(&buffer[..n]));
    }
    text
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_open_page_hears_of_a_change_and_does_not_keep_the_server_from_stopping() {
    let shop = TestShop::open(Engine::Sqlite).await.unwrap();
    shop.sign_in_as(Roles::OWNER).await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let server = tokio::spawn(serve::serve(listener, shop.router(), shop.ctx.clone()));

    let (name, token) = shop.cookies().into_iter().next().unwrap();
    let mut page = TcpStream::connect(address).await.unwrap();
    let request = format!(
        "GET /live HTTP/1.1\r\nHost: shop.example.com\r\nAccept: text/event-stream\r\nCookie: {name}={token}\r\n\r\n"
    );
    page.write_all(request.as_bytes()).await.unwrap();
    let head = read_until(&mut page, r#"data: {"plan":null}"#).await;
    assert!(head.contains("event: hello"), "{head}");
    assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    assert!(head.contains("text/event-stream") && head.contains("x-accel-buffering: no"), "{head}");
    assert!(!head.contains("content-encoding"), "a compressed stream would hold events back: {head}");

    shop.ctx.live.tell("plan", None);
    read_until(&mut page, r#"data: {"what":"plan"}"#).await;

    // Another page of the same person goes deaf when they are shown out, and its stream ends.
    let mut left = TcpStream::connect(address).await.unwrap();
    left.write_all(request.as_bytes()).await.unwrap();
    read_until(&mut left, "event: hello").await;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let (ann, _) = staff::by_name(&tx, "ann").await.unwrap().unwrap();
    staff::close_sessions_of(&tx, ann.id).await.unwrap();
    tx.commit().await.unwrap();
    shop.ctx.live.tell("bench", None);
    // The last chunk of the answer; the line itself may be used again.
    let rest = read_until(&mut left, "0\r\n\r\n").await;
    assert!(!rest.contains("bench"), "{rest}");

    furnish(&shop).await;
    agreed(&shop, &[plain_route()]).await;
    plan(&shop).await;
    let made = plans::latest_id(shop.ctx.store.read()).await.unwrap().unwrap();
    shop.sign_in_again().await;
    let anew = shop.cookies().into_values().next().unwrap();
    let mut page = TcpStream::connect(address).await.unwrap();
    page.write_all(request.replace(&token, &anew).as_bytes()).await.unwrap();
    // By the plan that stands now, a page made before it knows that it is old.
    read_until(&mut page, &format!(r#"data: {{"plan":"{made}"}}"#)).await;
    shop.ctx.stop.cancel();
    timeout(PATIENCE, server).await.expect("it stops while somebody listens").unwrap().unwrap();
    TcpStream::connect(address).await.expect_err("the port is free again");
}
