//! Who may open what: every route, every role, and nobody.

use axum::body::Body;
use http::Request;
use server::http::access::{Need, TABLE, meets, need_of};
use server::store::staff::{Person, Roles};

use crate::on_both_engines;
use crate::test_shop::TestShop;

const DESK: Roles = Roles { desk: true, bench: false, owner: false };
const BENCH: Roles = Roles { desk: false, bench: true, owner: false };
const OWNER: Roles = Roles { desk: false, bench: false, owner: true };

fn person(roles: Roles, must_change_password: bool) -> Person {
    Person {
        id: uuid::Uuid::nil(),
        sign_in_name: "ann".to_owned(),
        full_name: "Ann".to_owned(),
        roles,
        must_change_password,
        one_time_until: None,
        has_second_step: false,
        owes_second_step: false,
        left_at: None,
    }
}

#[test]
fn each_need_is_met_by_exactly_those_it_names() {
    // Nobody, one-time password, bench, desk, owner.
    let expected = [
        (Need::Open, [true, true, true, true, true]),
        (Need::SignedIn, [false, true, true, true, true]),
        (Need::Bench, [false, false, true, false, true]),
        (Need::Desk, [false, false, false, true, true]),
        (Need::DeskOrBench, [false, false, true, true, true]),
        (Need::Owner, [false, false, false, false, true]),
    ];
    let people = [
        None,
        Some(person(Roles::OWNER, true)),
        Some(person(BENCH, false)),
        Some(person(DESK, false)),
        Some(person(OWNER, false)),
    ];
    for (need, who) in expected {
        assert_eq!(people.each_ref().map(|person| meets(need, person.as_ref())), who, "{need:?}");
    }
}

#[test]
fn the_table_names_each_route_once() {
    for (n, (route, _)) in TABLE.iter().enumerate() {
        assert!(route.starts_with('/'), "{route}");
        assert!(TABLE[n + 1..].iter().all(|(other, _)| other != route), "{route} is there twice");
    }
    assert_eq!(need_of("/nowhere"), None);
}

/// Asks for every route of the table by GET and by POST and says how it answered.
async fn knock_everywhere(shop: &TestShop) -> Vec<(&'static str, Need, &'static str, u16, String)> {
    let mut answers = Vec::new();
    for (route, need) in TABLE {
        if *route == "/live" || *route == "/sign-out" {
            continue;
        }
        // A parameter gets a value that names nothing: whoever may come in sees a 404, others never get that far.
        let path: String = route
            .split('/')
            .map(|part| if part.starts_with('{') { "00000000-0000-0000-0000-000000000000" } else { part })
            .collect::<Vec<_>>()
            .join("/");
        for method in ["GET", "POST"] {
            let request = Request::builder()
                .method(method)
                .uri(&path)
                .header("sec-fetch-site", "same-origin")
                .body(Body::empty())
                .unwrap();
            let answer = shop.ask(request).await;
            let location = answer.header("location").to_owned();
            answers.push((*route, *need, method, answer.status.as_u16(), location));
        }
    }
    answers
}

on_both_engines!(nobody_comes_into_the_shop_without_signing_in, async |shop: &TestShop| {
    for (route, need, method, status, location) in knock_everywhere(shop).await {
        if need == Need::Open || status == 405 {
            continue;
        }
        assert_eq!(status, 303, "{method} {route}");
        assert!(location.starts_with("/sign-in?next="), "{method} {route} leads to {location}");
    }
});

on_both_engines!(each_role_opens_its_own_routes_and_no_other, async |shop: &TestShop| {
    shop.sign_in_as(BENCH).await;
    let mut n_closed = 0;
    for (route, need, method, status, _) in knock_everywhere(shop).await {
        if status == 405 {
            continue;
        }
        let open = meets(need, Some(&person(BENCH, false)));
        n_closed += usize::from(!open);
        assert_eq!(status != 403, open, "{method} {route} answered {status}");
        assert!(status < 500, "{method} {route} answered {status}");
    }
    assert!(n_closed > 0, "the table keeps something from the bench");
});
