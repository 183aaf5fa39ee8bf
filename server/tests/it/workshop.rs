//! A workshop with work in it, for tests of the plan and of the bench: visits put straight into the store, agreed and
//! in hand, with routes of the test's own.

use chrono::{DateTime, TimeDelta, Utc};
use server::planning::{Body, worker};
use server::store::requests::RequestKey;
use server::store::staff::{Person, Roles};
use server::store::{customers, operations, pieces, plans, visits};
use server::use_cases::{confirm_setup, seed_demo};
use shop::booking::{Arrival, BookedKnife, Trouble};
use shop::edge::EdgeKind;
use shop::ids::{CustomerId, OperationId, PieceId, StaffId, VisitId};
use shop::money::{Money, MoneyRange};
use shop::piece::PieceState;
use shop::price::Quote;
use shop::read::{Contact, Operation, OperationState, Piece, Verdict, Visit};
use shop::route::{OperationKind, RouteStep};
use shop::tag::{Reference, Tag};

use crate::test_shop::TestShop;

/// What a visit is to be like.
pub struct Wanted<'a> {
    pub routes: &'a [Vec<RouteStep>],
    pub state: PieceState,
    pub due: DateTime<Utc>,
    pub arrival: Arrival,
    pub confirmed: bool,
}

/// One step of twenty minutes or so.
pub fn step(kind: OperationKind, station: &str, setup: &str, minutes: u32) -> RouteStep {
    RouteStep {
        kind,
        station: station.into(),
        setup: setup.into(),
        minutes,
        attended: None,
        lag: 0,
        max_lag: None,
        skill: None,
        cut: None,
        not_before: None,
        targets: vec!["15° each side".into()],
        reason: "The worn edge is ground to a new one.".into(),
    }
}

/// A plain blade: bevel, strop, prove, pack.
pub fn plain_route() -> Vec<RouteStep> {
    vec![
        step(OperationKind::Bevel, "bevel", "d15", 12),
        step(OperationKind::Strop, "hone", "strop", 3),
        step(OperationKind::Prove, "inspect", "table", 6),
        step(OperationKind::Pack, "pack", "table", 4),
    ]
}

/// A route whose last step is the check.
pub fn short_route() -> Vec<RouteStep> {
    plain_route().into_iter().take(3).collect()
}

/// The demo shop with its bench and the two who work there.
pub async fn furnish(shop: &TestShop) {
    let owner = shop.add_person("nuno", "Nuno Marram", Roles::OWNER).await;
    let both = Roles { desk: true, bench: true, owner: false };
    let colleague = shop.add_person("teresa", "Teresa Vale", both).await;
    seed_demo::furnish(&shop.ctx, &[StaffId(owner.id), StaffId(colleague.id)]).await.unwrap();
}

/// Somebody of the shop, with every role.
pub async fn somebody(shop: &TestShop, name: &str) -> Person {
    let full = format!("{name} Example");
    shop.add_person(name, &full, Roles::OWNER).await
}

/// Five o'clock, `days` days from the test's Monday.
pub fn day(days: i64) -> DateTime<Utc> {
    "2026-03-02T17:00:00Z".parse::<DateTime<Utc>>().unwrap() + TimeDelta::days(days)
}

/// A visit of agreed pieces in hand.
pub async fn agreed(shop: &TestShop, routes: &[Vec<RouteStep>]) -> VisitId {
    let wanted =
        Wanted { routes, state: PieceState::Agreed, due: day(4), arrival: Arrival::Post, confirmed: true };
    visit(shop, wanted).await
}

/// Puts a visit into the store.
pub async fn visit(shop: &TestShop, wanted: Wanted<'_>) -> VisitId {
    let ctx = &shop.ctx;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await.unwrap();
    let customer = CustomerId(ctx.new_id());
    let person = shop::booking::Person {
        name: "Rui Example".into(),
        email: "rui@example.org".into(),
        phone: String::new(),
        address: None,
    };
    customers::insert(&tx, customer, &person, shop::lang::Lang::En, now).await.unwrap();
    let id = VisitId(ctx.new_id());
    // Serials from the random end of the id, so that no two are alike.
    let serial = |id: uuid::Uuid| id.as_u128() as u64;
    let here = wanted.state.is_here();
    let visit = Visit {
        language: shop::lang::Lang::En,
        complaint_of: None,
        id,
        reference: Reference::from_serial(serial(id.0)),
        customer,
        contact: Contact { name: person.name, email: person.email, ..Contact::default() },
        arrival: wanted.arrival,
        back_by_post: false,
        declared: Money(0),
        rush: false,
        recycle_refused: false,
        promise_at: wanted.due,
        booked_at: now,
        confirmed_at: wanted.confirmed.then_some(now),
        cancelled_at: None,
        received_at: here.then_some(now),
        ready_at: None,
        parcel: None,
        paid: None,
        pieces: vec![],
        version: 1,
    };
    visits::insert(&tx, &visit, true).await.unwrap();
    for (k, route) in wanted.routes.iter().enumerate() {
        let piece = PieceId(ctx.new_id());
        let price = MoneyRange { low: Money(1400), high: Money(1400) };
        let estimate = Verdict {
            recession_mm: (0.2, 0.2),
            likely_recession_mm: None,
            years_after: None,
            services_before: None,
            services_after: None,
            limited_by: String::new(),
            minutes: (25, 25),
            price,
            quote: Quote { lines: vec![], total: Money(1400) },
            cautions: vec![],
            refusal: None,
            advice: String::new(),
            route: route.clone(),
        };
        let booked = BookedKnife {
            model: None,
            tag: None,
            name: format!("Knife {}", k + 1),
            edge: EdgeKind::Double,
            length_mm: 180.0,
            steel: None,
            darkened: false,
            trouble: Trouble::default(),
            to_plain: false,
            note: String::new(),
        };
        pieces::insert(
            &tx,
            &Piece {
                id: piece,
                visit: id,
                knife: None,
                number: k as u32 + 1,
                tag: here.then(|| Tag::from_serial(serial(piece.0))),
                name: booked.name.clone(),
                state: wanted.state,
                waiting: None,
                booked,
                estimate,
                inspection: None,
                verdict: None,
                agreed: here.then_some(Money(1400)),
                turned_down: None,
                mishaps: vec![],
                due_at: wanted.due,
                rush: false,
                home_at: None,
                photos: vec![],
                version: 1,
            },
        )
        .await
        .unwrap();
        let steps: Vec<Operation> = route
            .iter()
            .zip(0..)
            .map(|(step, position)| Operation {
                id: OperationId(ctx.new_id()),
                piece,
                position,
                step: step.clone(),
                estimated: !here,
                state: OperationState::Open,
                started_at: None,
                done_at: None,
                by: None,
                pinned: false,
                version: 1,
            })
            .collect();
        operations::insert(&tx, &steps).await.unwrap();
    }
    tx.commit().await.unwrap();
    id
}

/// The pieces of a visit as they stand.
pub async fn pieces_of(shop: &TestShop, id: VisitId) -> Vec<Piece> {
    visits::get(shop.ctx.store.read(), id).await.unwrap().unwrap().pieces
}

/// The route of a piece as it stands.
pub async fn route_of(shop: &TestShop, id: PieceId) -> Vec<Operation> {
    operations::of_piece(shop.ctx.store.read(), id).await.unwrap()
}

/// Lets the planner work until nothing changes any more.
pub async fn plan(shop: &TestShop) -> Body {
    while worker::work_once(&shop.ctx).await.unwrap() != worker::Outcome::Unchanged {}
    let stored = plans::latest(shop.ctx.store.read()).await.unwrap().unwrap();
    Body::read(&stored).unwrap()
}

/// A fresh key.
pub fn key(what: &'static str) -> RequestKey {
    RequestKey::parse(what, &RequestKey::fresh()).unwrap()
}

/// Every code a checklist can have.
pub fn all_ticks() -> Vec<String> {
    [
        "wheel", "speed", "ring", "sound", "rest", "tongue", "guard", "belt", "dressed", "eyes", "lungs",
        "ears", "cloth", "gloves", "minute", "air", "sheet", "clamp",
    ]
    .map(str::to_owned)
    .into()
}

/// Goes through the checks of a setup.
pub async fn mount(shop: &TestShop, by: &Person, station: &str, setup: &str) {
    confirm_setup::confirm_setup(&shop.ctx, by, &key("setup"), station, setup, &all_ticks(), "")
        .await
        .unwrap();
}
