//! What is kept about people: said to everybody, given to them, taken out of the books; and what a watcher may see.

use axum::body::Body;
use http::{Request, header};
use server::store::staff::Roles;
use server::store::{customers, ledger, links, notes, outbox, pieces, visits};
use server::token::Token;
use shop::ids::{StaffId, VisitId};
use shop::ledger::{Fact, Who};
use shop::piece::PieceState;

use crate::form::Form;
use crate::on_both_engines;
use crate::test_shop::{Engine, TestShop};
use crate::workshop::{agreed, furnish, plain_route};

on_both_engines!(what_is_kept_is_said_to_everybody, async |shop: &TestShop| {
    shop.get("/privacy").await.expect(200).says("not set up yet");
    furnish(shop).await;
    let page =
        shop.get("/privacy").await.expect(200).says("Marram Bladeworks").says("mailto:bench@example.com");
    page.says("lapses after 21 days").says("to have it erased");
});

on_both_engines!(security_txt_names_a_contact_and_runs_out_within_a_year, async |shop: &TestShop| {
    shop.get("/.well-known/security.txt").await.expect(404);
    furnish(shop).await;
    let answer = shop.get("/.well-known/security.txt").await.expect(200);
    assert_eq!(answer.header("content-type"), "text/plain; charset=utf-8");
    // 180 days after 2 March 2026 (calendar arithmetic).
    answer.says("Contact: mailto:bench@example.com\n").says("Expires: 2026-08-29T00:00:00Z\n");
});

/// A visit with a note, a notice and a private link.
async fn told(shop: &TestShop) -> VisitId {
    let id = agreed(shop, &[plain_route()]).await;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let now = shop.ctx.now();
    let note = notes::add(&tx, id, "Rui rang twice", Some(StaffId(shop.ctx.new_id())), now).await.unwrap();
    let piece = visits::get(&tx, id).await.unwrap().unwrap().pieces.remove(0);
    ledger::add(&tx, &piece, Who::Program, &Fact::LinedUp, note, now).await.unwrap();
    links::make(&tx, shop.ctx.new_id(), links::Purpose::Visit, id.0, None, now).await.unwrap();
    tx.commit().await.unwrap();
    shop.queue(Some(id.0), "Your knife, Rui").await;
    shop.send_post().await;
    id
}

/// All pieces of a visit go home.
async fn go_home(shop: &TestShop, id: VisitId) {
    let tx = shop.ctx.store.begin_write().await.unwrap();
    for mut piece in visits::get(&tx, id).await.unwrap().unwrap().pieces {
        piece.state = PieceState::Home;
        piece.home_at = Some(shop.ctx.now());
        pieces::save(&tx, &piece).await.unwrap();
    }
    tx.commit().await.unwrap();
}

on_both_engines!(an_erased_person_is_gone_and_the_technical_record_stays, async |shop: &TestShop| {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
    let id = told(shop).await;
    let before = visits::get(shop.ctx.store.read(), id).await.unwrap().unwrap();
    let reference = before.reference.to_string();
    let path = format!("/shop/customers?reference={reference}");
    shop.get(&path).await.expect(200).says("Rui Example").says("hand it back first");
    go_home(shop, id).await;
    let form = Form::of(&shop.get(&path).await.expect(200), "/shop/customers/erase");
    form.clone()
        .set("confirm", "yes")
        .send(shop)
        .await
        .expect(422)
        .says("please type the reference")
        .says("value=\"yes\"");
    assert_eq!(
        customers::get(shop.ctx.store.read(), before.customer).await.unwrap().unwrap().name,
        "Rui Example"
    );
    form.set("confirm", &reference.to_lowercase()).send(shop).await.expect(303);

    let db = shop.ctx.store.read();
    let after = visits::get(db, id).await.unwrap().unwrap();
    assert_eq!(after.contact, shop::read::Contact::default());
    assert_eq!(after.pieces.len(), 1, "the visit itself stays");
    assert!(outbox::about(db, id.0).await.unwrap().is_empty());
    let entries = ledger::of_visit(db, id).await.unwrap();
    assert!(entries.iter().any(|entry| entry.fact == Fact::LinedUp), "the ledger stays");
    let noted: Vec<_> = entries.iter().filter_map(|entry| entry.why).collect();
    assert!(!noted.is_empty() && notes::texts(db, noted).await.unwrap().is_empty(), "its texts are gone");
    let shown = shop.get(&path).await.expect(200).says("erased already");
    assert!(!shown.body.contains("Rui"));
});

on_both_engines!(an_export_holds_what_is_kept_and_is_written_down, async |shop: &TestShop| {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
    let id = told(shop).await;
    let visit = visits::get(shop.ctx.store.read(), id).await.unwrap().unwrap();
    let answer = shop.get(&format!("/shop/customers/{}/export", visit.customer)).await.expect(200);
    assert_eq!(answer.header("content-type"), "application/x-tar");
    let answer =
        answer.says("data.json").says("rui@example.org").says("Rui rang twice").says("Your knife, Rui");
    answer.says(&visit.reference.to_string().replace('-', ""));
    shop.get("/shop").await.expect(200).says("exported");
    shop.get("/shop/customers/00000000-0000-0000-0000-000000000000/export").await.expect(404);
});

/// Asks for the figures as a machine at `from` would.
async fn figures_from(shop: &TestShop, from: &str, headers: &[(&str, &str)]) -> u16 {
    let mut request = Request::get("/metrics");
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    let mut request = request.body(Body::empty()).unwrap();
    let peer: std::net::SocketAddr = format!("{from}:4000").parse().unwrap();
    request.extensions_mut().insert(axum::extract::ConnectInfo(peer));
    shop.ask(request).await.status.as_u16()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn figures_are_for_this_machine_and_for_whoever_shows_the_token() {
    let token = Token::fresh().unwrap().to_string();
    let settings = [("WHETLEDGER_METRICS_TOKEN", token.as_str())];
    let shop = TestShop::open_with(Engine::Sqlite, &settings).await.unwrap();
    assert_eq!(figures_from(&shop, "127.0.0.1", &[]).await, 200);
    assert_eq!(figures_from(&shop, "127.0.0.1", &[("x-forwarded-for", "203.0.113.9")]).await, 404);
    assert_eq!(figures_from(&shop, "203.0.113.9", &[]).await, 404);
    let bearer = format!("Bearer {token}");
    assert_eq!(figures_from(&shop, "203.0.113.9", &[(header::AUTHORIZATION.as_str(), &bearer)]).await, 200);
    assert_eq!(
        figures_from(&shop, "203.0.113.9", &[(header::AUTHORIZATION.as_str(), "Bearer x")]).await,
        404
    );
    shop.queue(None, "Waits").await;
    let mut request = Request::get("/metrics").body(Body::empty()).unwrap();
    let peer: std::net::SocketAddr = "127.0.0.1:4000".parse().unwrap();
    request.extensions_mut().insert(axum::extract::ConnectInfo(peer));
    let answer = shop.ask(request).await.expect(200);
    answer.says("# TYPE whetledger_notices gauge").says("whetledger_notices{standing=\"waiting\"} 1\n");
    shop.send_post().await;
    shop.close().await;
}
