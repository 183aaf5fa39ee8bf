//! Who asks: one value per request, with everything a handler needs to answer.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::{Arc, OnceLock};

use axum::extract::{ConnectInfo, FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use axum::middleware::Next;
use axum::response::Response;
use leptos::nonce::Nonce;
use shop::lang::Lang;

use super::limits::Door;
use super::page::Site;
use super::problem::Problem;
use crate::context::Ctx;
use crate::store::staff::Person;

/// One request's caller. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Caller(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    nonce: Nonce,
    reference: String,
    path: String,
    address: IpAddr,
    wants_json: bool,
    asked: Lang,
    spoken: OnceLock<Lang>,
    site: Arc<Site>,
    person: OnceLock<Option<Person>>,
}

impl Caller {
    /// The nonce of this answer's scripts.
    pub fn nonce(&self) -> &Nonce {
        &self.0.nonce
    }

    /// Names this request in the log; shown to people when something breaks.
    pub fn reference(&self) -> &str {
        &self.0.reference
    }

    /// The path that was asked for. May hold the token of a private link: never log it.
    pub fn path(&self) -> &str {
        &self.0.path
    }

    /// Where the request came from, behind our own proxies.
    pub fn address(&self) -> IpAddr {
        self.0.address
    }

    /// The caller is a program that asked for JSON rather than a page.
    pub fn wants_json(&self) -> bool {
        self.0.wants_json
    }

    /// The language the browser asks for: the one chosen on a page of ours, else the best it names itself.
    pub fn asked_language(&self) -> Lang {
        self.0.asked
    }

    /// Says in which language this answer speaks. Pages for customers say so; those for staff speak the shop's own.
    pub fn speak(&self, lang: Lang) {
        let _ = self.0.spoken.set(lang);
    }

    /// The language of this answer, if it was said.
    pub fn spoken(&self) -> Option<Lang> {
        self.0.spoken.get().copied()
    }

    /// A message in the language of this answer.
    pub fn say(&self, name: &str) -> String {
        self.say_with(name, &[])
    }

    /// A message with its places, in the language of this answer.
    pub fn say_with(&self, name: &str, places: &[(&str, words::Arg)]) -> String {
        words::say(self.spoken().unwrap_or_default(), name, places)
    }

    /// What all pages share.
    pub fn site(&self) -> &Site {
        &self.0.site
    }

    /// Who is signed in, once [`super::access`] has looked.
    pub fn person(&self) -> Option<&Person> {
        self.0.person.get()?.as_ref()
    }

    /// Written down once per request, by [`super::access`].
    pub(super) fn set_person(&self, person: Option<Person>) {
        let _ = self.0.person.set(person);
    }

    /// Takes one from the caller's allowance at a door, or says when to come back.
    pub fn knock(&self, door: Door, ctx: &Ctx) -> Result<(), Problem> {
        let knocked = self.0.site.limits().knock(door, self.0.address, ctx.now());
        knocked.map_err(|after_s| self.slowed(door, after_s))
    }

    /// The same for an account, whoever asks for it.
    pub fn knock_as(&self, door: Door, name: &str, ctx: &Ctx) -> Result<(), Problem> {
        let knocked = self.0.site.limits().knock_as(door, name, ctx.now());
        knocked.map_err(|after_s| self.slowed(door, after_s))
    }

    fn slowed(&self, door: Door, after_s: u64) -> Problem {
        tracing::warn!(reference = self.reference(), ?door, after_s, "slowed down");
        Problem::TooMany { after_s }
    }
}

impl<S: Sync> FromRequestParts<S> for Caller {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Problem> {
        parts.extensions.get::<Self>().cloned().ok_or_else(|| Problem::unexpected("no caller was attached"))
    }
}

/// Who is signed in. Only for routes that [`super::access::TABLE`] keeps for staff.
#[derive(Debug, Clone)]
pub struct Staff(pub Person);

impl<S: Sync> FromRequestParts<S> for Staff {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        let caller = Caller::from_request_parts(parts, state).await?;
        caller.person().cloned().map(Self).ok_or_else(|| Problem::SignIn { next: caller.path().to_owned() })
    }
}

/// Who is signed in, if anybody is.
#[derive(Debug, Clone)]
pub struct MaybeStaff(pub Option<Person>);

impl<S: Sync> FromRequestParts<S> for MaybeStaff {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        let caller = Caller::from_request_parts(parts, state).await?;
        Ok(Self(caller.person().cloned()))
    }
}

/// Makes the caller, before anything else looks at the request.
pub(super) async fn attach(
    State((ctx, site)): State<(Ctx, Arc<Site>)>,
    mut request: Request,
    next: Next,
) -> Response {
    let peer = request
        .extensions()
        .get::<ConnectInfo<SocketAddr>>()
        .map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |info| info.0.ip());
    let caller = Caller(Arc::new(Inner {
        nonce: Nonce::new(),
        reference: reference(),
        path: request.uri().path().to_owned(),
        address: behind_proxies(peer, request.headers(), &ctx.config.proxies),
        wants_json: wants_json(request.headers()),
        asked: asked_language(request.headers(), ctx.config.is_https()),
        spoken: OnceLock::new(),
        site,
        person: OnceLock::new(),
    }));
    request.extensions_mut().insert(caller);
    next.run(request).await
}

/// Eight letters and digits that can be read out: 40 random bits, enough to tell the requests in a log apart.
fn reference() -> String {
    const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    let mut bits: u64 = rand::random();
    (0..8)
        .map(|_| {
            let letter = LETTERS[(bits & 31) as usize];
            bits >>= 5;
            char::from(letter)
        })
        .collect()
}

/// The cookie that keeps a language chosen by hand. With HTTPS the browser itself makes sure that it comes from us alone.
pub(super) fn language_cookie(https: bool) -> &'static str {
    if https { "__Host-whetledger-language" } else { "whetledger-language" }
}

fn asked_language(headers: &HeaderMap, https: bool) -> Lang {
    let cookie = language_cookie(https);
    let chosen = headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(name, value)| (name == cookie).then(|| Lang::parse(value)).flatten());
    let asked = headers.get(header::ACCEPT_LANGUAGE).and_then(|value| value.to_str().ok());
    chosen.unwrap_or_else(|| Lang::accepted(asked.unwrap_or_default()))
}

fn wants_json(headers: &HeaderMap) -> bool {
    let accept = headers.get(header::ACCEPT).and_then(|value| value.to_str().ok()).unwrap_or("");
    accept.starts_with("application/json")
}

/// Walks back through `X-Forwarded-For` as long as the hop before is one of our own proxies. What a stranger
/// writes into that header is never believed.
fn behind_proxies(peer: IpAddr, headers: &HeaderMap, proxies: &[IpAddr]) -> IpAddr {
    let mut address = peer;
    if !proxies.contains(&address) {
        return address;
    }
    let hops: Vec<&str> = headers
        .get_all("x-forwarded-for")
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(','))
        .collect();
    // From our own end: whatever a stranger put in front of what our proxies wrote is not even read.
    for hop in hops.into_iter().rev().map_while(|hop| hop.trim().parse::<IpAddr>().ok()) {
        address = hop;
        if !proxies.contains(&hop) {
            break;
        }
    }
    address
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(peer: &str, forwarded: &[&str], expected: &str) {
        let mut headers = HeaderMap::new();
        for value in forwarded {
            headers.append("x-forwarded-for", value.parse().unwrap());
        }
        let proxies = ["10.0.0.1".parse().unwrap(), "10.0.0.2".parse().unwrap()];
        let address = behind_proxies(peer.parse().unwrap(), &headers, &proxies);
        assert_eq!(address, expected.parse::<IpAddr>().unwrap());
    }

    #[test]
    fn a_stranger_cannot_choose_their_address() {
        check("203.0.113.9", &["198.51.100.1"], "203.0.113.9");
        check("10.0.0.1", &["198.51.100.1, 203.0.113.9"], "203.0.113.9");
        check("10.0.0.1", &["198.51.100.1, 203.0.113.9, 10.0.0.2"], "203.0.113.9");
        check("10.0.0.1", &["198.51.100.1", "203.0.113.9"], "203.0.113.9");
        check("10.0.0.1", &["nonsense, 203.0.113.9"], "203.0.113.9");
        check("10.0.0.1", &["203.0.113.9, nonsense"], "10.0.0.1");
        check("10.0.0.1", &[], "10.0.0.1");
    }

    #[test]
    fn references_differ_and_can_be_read_out() {
        let (one, two) = (reference(), reference());
        assert_eq!(one.len(), 8);
        assert_ne!(one, two);
        assert!(!one.contains(['I', 'L', 'O', 'U']), "{one}");
    }
}
