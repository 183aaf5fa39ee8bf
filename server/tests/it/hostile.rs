//! Thousands of requests no honest browser sends: fields, headers, paths and uploads made to break something.
//! Nothing answers with a 5xx, nothing panics; and what a stranger sends changes no row of any table.
//!
//! `WHETLEDGER_TEST_HOSTILE` says how many are sent (1,000; `make soak` sends 10,000): four fifths by a stranger.

use std::collections::BTreeSet;

use axum::body::Body;
use http::Request;
use rand::rngs::SmallRng;
use rand::seq::IndexedRandom as _;
use rand::{Rng as _, SeedableRng as _};
use server::http::access::TABLE;
use server::store::staff::Roles;
use server::store::{copy, visits};

use crate::test_shop::{Answer, TestShop};

/// What fields, path segments and headers are filled with.
const POISON: &[&str] = &[
    "",
    " ",
    "0",
    "-1",
    "1e309",
    "NaN",
    "-inf",
    "1/0",
    "1,5",
    "0x10",
    "99999999999999999999",
    "9223372036854775808",
    "true",
    "null",
    "undefined",
    "[]",
    "{}",
    "' OR '1'='1",
    "\"; DROP TABLE visit; --",
    "%00",
    "\0",
    "\r\nSet-Cookie: a=b",
    "\r\nBcc: eve@example.org",
    "<script>alert(1)</script>",
    "</textarea><img src=x onerror=alert(1)>",
    "{{7*7}}",
    "${7*7}",
    "../../../../etc/passwd",
    "..%2f..%2fetc%2fpasswd",
    "C:\\windows",
    "file:///etc/passwd",
    "//evil.example.org",
    "javascript:alert(1)",
    "\u{202e}txt.exe",
    "\u{feff}",
    "\u{fffd}",
    "é\u{301}\u{301}\u{301}",
    "👩‍🔧",
    "ａｂｃ",
    "İıſß",
    "2027-02-30",
    "0000-00-00",
    "9999-12-31T23:59:60Z",
    "-262144-01-01",
    "+262143-12-31",
    "1970-01-01",
    "24:61",
    "00000000-0000-0000-0000-000000000000",
    "ffffffff-ffff-ffff-ffff-ffffffffffff",
    "a@b",
    "a@example.com\nTo: b@example.org",
    "\"a b\"@example.org",
    "@",
    "on",
    "estimate",
    "book",
    "more",
    "again-0",
    "again-4294967296",
    "remove--1",
];

struct Hostile {
    random: SmallRng,
    /// Ids, references and tags that are real.
    real: Vec<String>,
    /// Names of form fields that the pages have.
    names: Vec<String>,
}

impl Hostile {
    fn word(&mut self) -> String {
        match self.random.random_range(0..10) {
            0 => "A".repeat(self.random.random_range(1..5000)),
            1 => (0..self.random.random_range(1..40)).map(|_| self.random.random::<char>()).collect(),
            2 | 3 if !self.real.is_empty() => self.real.choose(&mut self.random).unwrap().clone(),
            4 => self.random.random_range(-1000..100_000).to_string(),
            _ => (*POISON.choose(&mut self.random).unwrap()).to_owned(),
        }
    }

    fn name(&mut self) -> String {
        match self.random.random_range(0..12) {
            0 => self.word(),
            1 => "knives[0][length]".replace('0', &self.random.random_range(0..100_000).to_string()),
            2 => "a[b][c][d][e][f][g][h]".to_owned(),
            3 => "[]]][[".to_owned(),
            _ => self.names.choose(&mut self.random).cloned().unwrap_or_default(),
        }
    }

    fn path(&mut self, route: &str) -> String {
        let parts: Vec<String> = route
            .split('/')
            .map(|part| match part.strip_prefix('{') {
                None => part.to_owned(),
                Some(_) => encode(self.word().chars().take(300).collect::<String>().as_bytes()),
            })
            .collect();
        let mut path = parts.join("/");
        if self.random.random_bool(0.2) {
            path = format!("{path}?{}={}", encode(self.name().as_bytes()), encode(self.word().as_bytes()));
        }
        if self.random.random_bool(0.03) {
            path.push_str("/../%2e%2e//");
        }
        path.truncate(7000);
        path
    }

    fn form(&mut self) -> Vec<u8> {
        let n = self.random.random_range(0..30);
        let fields: Vec<String> = (0..n)
            .map(|_| format!("{}={}", encode(self.name().as_bytes()), encode(self.word().as_bytes())))
            .collect();
        fields.join("&").into_bytes()
    }

    fn parts(&mut self) -> Vec<u8> {
        let mut body = Vec::new();
        for _ in 0..self.random.random_range(0..5) {
            let (name, file) = (self.name(), self.word());
            let kind = ["image/jpeg", "image/png", "image/svg+xml", "text/html", "x"]
                .choose(&mut self.random)
                .unwrap();
            let file: String = file.chars().filter(|c| !c.is_control()).take(200).collect();
            let head = if self.random.random_bool(0.7) {
                format!(
                    "--x\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"{file}\"\r\nContent-Type: {kind}\r\n\r\n"
                )
            } else {
                format!("--x\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n")
            };
            body.extend_from_slice(head.as_bytes());
            let begin: &[u8] = [
                &b"\xff\xd8\xff\xe0\0\x10JFIF"[..],
                b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\xff\xff\xff\xff\xff\xff\xff\xff\x08\x06",
                b"RIFF\xff\xff\xff\xffWEBPVP8L",
                b"GIF89a\xff\xff\xff\xff",
                b"<svg xmlns=\"http://www.w3.org/2000/svg\" onload=\"alert(1)\"/>",
                b"",
            ]
            .choose(&mut self.random)
            .unwrap();
            body.extend_from_slice(begin);
            let more = self.random.random_range(0..2000);
            body.extend((0..more).map(|_| self.random.random::<u8>()));
            body.extend_from_slice(b"\r\n");
        }
        if self.random.random_bool(0.8) {
            body.extend_from_slice(b"--x--\r\n");
        }
        body
    }

    fn request(&mut self, route: &str) -> Request<Body> {
        let method = *["GET", "POST", "POST", "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "PATCH"]
            .choose(&mut self.random)
            .unwrap();
        let mut request = Request::builder().method(method).uri(self.path(route));
        // Every request comes from somewhere else: the limits on one address are tested elsewhere.
        let from = std::net::Ipv4Addr::from(self.random.random::<u32>());
        request = request.header("x-forwarded-for", from.to_string()).header("sec-fetch-site", "same-origin");
        for name in [
            "accept",
            "accept-language",
            "if-none-match",
            "range",
            "cookie",
            "referer",
            "origin",
            "x-request-id",
        ] {
            if self.random.random_bool(0.1) {
                let value: Vec<u8> =
                    self.word().bytes().filter(|b| *b >= 32 && *b != 127).take(500).collect();
                request = request.header(name, value);
            }
        }
        let (kind, body) = match self.random.random_range(0..10) {
            0 => ("application/json", self.word().into_bytes()),
            1 => ("application/x-www-form-urlencoded", (0..500).map(|_| self.random.random()).collect()),
            2..5 => ("multipart/form-data; boundary=x", self.parts()),
            _ => ("application/x-www-form-urlencoded", self.form()),
        };
        request.header("content-type", kind).body(Body::from(body)).unwrap()
    }
}

fn requests() -> usize {
    std::env::var("WHETLEDGER_TEST_HOSTILE").map_or(1000, |n| n.parse().unwrap())
}

fn encode(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("%{byte:02X}")).collect()
}

/// Every `name="..."` of a page.
fn names_of(page: &Answer) -> impl Iterator<Item = String> + '_ {
    page.body
        .split(" name=\"")
        .skip(1)
        .filter_map(|rest| rest.split_once('"'))
        .map(|(name, _)| name.to_owned())
}

async fn open() -> (TestShop, Hostile) {
    let shop = TestShop::open_with_weeks(&[("WHETLEDGER_PROXIES", "0.0.0.0")]).await;
    let mut hostile =
        Hostile { random: SmallRng::seed_from_u64(20_261_125), real: Vec::new(), names: Vec::new() };
    for visit in visits::open(shop.ctx.store.read()).await.unwrap() {
        hostile.real.push(visit.reference.to_string());
        for piece in &visit.pieces {
            hostile.real.push(piece.id.to_string());
            hostile.real.extend(piece.tag.as_ref().map(ToString::to_string));
        }
    }
    hostile.real.extend(["wheel", "bevel", "hone", "ledger", "visits"].map(str::to_owned));
    (shop, hostile)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_a_stranger_sends_breaks_or_changes_anything() {
    let (shop, mut hostile) = open().await;
    let mut names = BTreeSet::new();
    for page in ["/", "/book", "/sign-in", "/link"] {
        names.extend(names_of(&shop.get(page).await));
    }
    hostile.names = names.into_iter().collect();
    let before = copy::sums(shop.ctx.store.read()).await.unwrap();
    let routes: Vec<&str> = TABLE.iter().map(|(route, _)| *route).filter(|route| *route != "/live").collect();
    for n in 0..requests() * 4 / 5 {
        let route = if n % 3 == 0 { "/book" } else { routes[n % routes.len()] };
        let request = hostile.request(route);
        let what = format!("{} {}", request.method(), request.uri());
        let answer = shop.ask(request).await;
        assert!(answer.status.as_u16() < 500, "{what}: {}\n{}", answer.status, answer.body);
        shop.forget_cookies();
    }
    let after = copy::sums(shop.ctx.store.read()).await.unwrap();
    for (before, after) in before.iter().zip(&after) {
        assert_eq!(before, after, "a stranger changed {}", before.table);
    }
    shop.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_somebody_signed_in_sends_breaks_anything() {
    let (shop, mut hostile) = open().await;
    shop.sign_in_as(Roles::OWNER).await;
    let routes: Vec<&str> = TABLE
        .iter()
        .map(|(route, _)| *route)
        .filter(|route| !["/live", "/sign-out", "/account", "/shop/crew/{id}/left"].contains(route))
        .collect();
    let mut names = BTreeSet::new();
    for route in &routes {
        let path: Vec<&str> =
            route.split('/').map(|part| if part.starts_with('{') { "bevel" } else { part }).collect();
        names.extend(names_of(&shop.get(&path.join("/")).await));
    }
    for id in hostile.real.clone() {
        names.extend(names_of(&shop.get(&format!("/desk/piece/{id}/inspect")).await));
    }
    hostile.names = names.into_iter().collect();
    let cookies = shop.cookies();
    for n in 0..requests() / 5 {
        let request = hostile.request(routes[n % routes.len()]);
        let what = format!("{} {}", request.method(), request.uri());
        let answer = shop.ask(request).await;
        assert!(answer.status.as_u16() < 500, "{what}: {}\n{}", answer.status, answer.body);
        shop.set_cookies(cookies.clone());
    }
}
