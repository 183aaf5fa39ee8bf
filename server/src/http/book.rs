//! The booking form: shown, corrected, sent.

use std::fmt::Write as _;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::multipart::Field;
use axum::extract::{DefaultBodyLimit, FromRequest as _, Multipart, Request, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Redirect, Response};
use axum::routing::get;
use chrono::{DateTime, Utc};
use leptos::prelude::*;
use serde::Deserialize;
use shop::booking::{Arrival, Booking, MOST_KNIVES, RawBooking};
use shop::draft::Press;
use shop::field::FieldErrors;
use shop::lang::Lang;
use web::pages::book::{BookPage, BookView};
use web::pages::home::HomePage;

use super::caller::Caller;
use super::form;
use super::limits::Door;
use super::problem::Problem;
use super::{Answer, page};
use crate::context::Ctx;
use crate::local;
use crate::photos::MOST_BYTES;
use crate::post::notice::is_mailbox;
use crate::store::photos as photo_rows;
use crate::store::requests::{self, RequestKey};
use crate::use_cases::book_visit::{self, Asked, BookError};
use crate::use_cases::offer::{self, Offer};
use crate::use_cases::promise;
use crate::use_cases::store_photo::{self, MOST_PER_KNIFE, Of, StorePhotoError};

/// The largest booking with its photos: three or four straight from a phone. The page makes them smaller where it can.
const MOST_BOOKING_BYTES: usize = 48 * 1024 * 1024;
/// The most characters of one text field; longer ones are cut, and then refused by their own limit.
const MOST_FIELD_BYTES: usize = 8 * 1024;
/// The most text fields in a booking of twenty knives, with room to spare.
const MOST_FIELDS: usize = 20 * 32 + 64;

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/book", get(show).post(send)).layer(DefaultBodyLimit::max(MOST_BOOKING_BYTES))
}

async fn show(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    caller.speak(caller.asked_language());
    let Some(offer) = offer::load(&ctx).await? else { return not_set_up(&caller).await };
    let raw = RawBooking::empty(RequestKey::fresh());
    if caller.person().is_some() {
        return answer(&ctx, &caller, &offer, raw, FieldErrors::default(), None).await;
    }
    let (lang, ready_by) = (caller.asked_language(), ready_by(&ctx, &caller, &offer, &raw).await?);
    let known = caller.site().blank_booking(lang, ctx.now());
    if let Some(blank) = known.filter(|blank| blank.offer == offer && blank.ready_by == ready_by) {
        return Ok(blank.again(&raw.key, caller.nonce()));
    }
    let key = raw.key.clone();
    let typed = Typed { raw, errors: FieldErrors::default(), seen: None, photos: Vec::new() };
    let (head, body) = drawn(&caller, &offer, typed, ready_by.clone()).await.into_parts();
    let page = axum::body::to_bytes(body, usize::MAX).await.map_err(anyhow::Error::from)?;
    let page = String::from_utf8_lossy(&page).into_owned();
    let answer = Response::from_parts(head, Body::from(page.clone()));
    let nonce = caller.nonce().to_string();
    caller.site().keep_blank_booking(Blank { lang, at: ctx.now(), offer, ready_by, key, nonce, page });
    Ok(answer)
}

/// The booking form that nobody has typed into yet, as it was drawn last for somebody who is not signed in. It is the page
/// that many ask for at once, and only the form's key and the nonce of its scripts differ from one to the next.
#[derive(Debug)]
pub(super) struct Blank {
    /// In which language.
    pub(super) lang: Lang,
    /// Drawn then.
    pub(super) at: DateTime<Utc>,
    offer: Offer,
    ready_by: String,
    key: String,
    nonce: String,
    page: String,
}

impl Blank {
    /// The same page with a key and a nonce of its own. Both are drawn at random, so neither can stand for anything else.
    fn again(&self, key: &str, nonce: &str) -> Response {
        page::whole(self.page.replace(&self.key, key).replace(&self.nonce, nonce))
    }
}

async fn not_set_up(caller: &Caller) -> Answer {
    let view = || view! { <HomePage profile=None ready_by=None /> };
    Ok(page::with_status(caller, StatusCode::NOT_FOUND, "Not set up yet", view).await)
}

/// The button that was pressed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Pressed {
    r#do: String,
}

async fn send(State(ctx): State<Ctx>, caller: Caller, request: Request) -> Answer {
    caller.knock(Door::Booking, &ctx)?;
    caller.speak(caller.asked_language());
    let Some(offer) = offer::load(&ctx).await? else { return not_set_up(&caller).await };
    let Sent { mut raw, press, errors } = read(&ctx, request).await?;
    let seen = raw.press(press);
    if press != Press::Book {
        let errors = if press == Press::Estimate { only_knives(&offer, &raw, errors) } else { errors };
        return answer(&ctx, &caller, &offer, raw, errors, seen).await;
    }
    let mut errors = errors;
    let checked = match offer.check(&raw) {
        Ok(booking) if errors.is_empty() => Some(booking),
        Ok(_) => None,
        Err(found) => {
            errors.0.extend(found.0);
            None
        }
    };
    if errors.of("email").is_none() && !is_mailbox(raw.email.trim()) {
        errors.add(
            "email",
            "We cannot write to this address; please give it without accents or other special letters.",
        );
    }
    match checked.filter(|_| errors.is_empty()) {
        Some(booking) => book(&ctx, &caller, &offer, raw, booking).await,
        None => answer(&ctx, &caller, &offer, raw, errors, None).await,
    }
}

/// Pressing "estimate" complains about the knives only: the rest may still be empty.
fn only_knives(offer: &Offer, raw: &RawBooking, mut errors: FieldErrors) -> FieldErrors {
    if let Err(found) = offer.check(raw) {
        errors.0.extend(found.0.into_iter().filter(|e| e.field.starts_with("knives")));
    }
    errors
}

async fn book(ctx: &Ctx, caller: &Caller, offer: &Offer, raw: RawBooking, booking: Booking) -> Answer {
    let Some(key) = RequestKey::parse("booking", &raw.key) else {
        return Err(Problem::BadRequest("The form has lost its key.".to_owned()));
    };
    let places = raw.knives.iter().map(|k| k.number().unwrap_or(0)).collect();
    let language = caller.asked_language();
    let asked = Asked { key, form_key: raw.key.clone(), places, booking, language };
    let mut errors = FieldErrors::default();
    match book_visit::book_visit(ctx, offer, asked).await {
        Ok(token) => return Ok(Redirect::to(&format!("/v/{token}?said=booked")).into_response()),
        Err(BookError::Refused(knives)) => {
            for (i, why) in knives {
                errors
                    .add(format!("knives[{i}]"), format!("{why} Please take this knife out of the booking."));
            }
        }
        Err(BookError::SlotTaken) => {
            errors.add("slot", "Somebody was quicker and took this time; please choose another.");
        }
        Err(BookError::Store(error)) => return Err(error.into()),
    }
    answer(ctx, caller, offer, raw, errors, None).await
}

/// Shows the form as typed; with complaints it is status 422.
async fn answer(
    ctx: &Ctx,
    caller: &Caller,
    offer: &Offer,
    raw: RawBooking,
    errors: FieldErrors,
    seen: Option<usize>,
) -> Answer {
    let photos = photo_rows::of_draft(ctx.store.read(), &raw.key).await?;
    let photos = photos
        .into_iter()
        .filter_map(|p| Some((p.draft?.1, format!("/book/photo/{}/{}", raw.key, p.id))))
        .collect();
    let ready_by = ready_by(ctx, caller, offer, &raw).await?;
    Ok(drawn(caller, offer, Typed { raw, errors, seen, photos }, ready_by).await)
}

/// The form as typed, what is wrong with it, the knife the eye should go to, and the pictures sent so far.
struct Typed {
    raw: RawBooking,
    errors: FieldErrors,
    seen: Option<usize>,
    photos: Vec<(u32, String)>,
}

async fn drawn(caller: &Caller, offer: &Offer, typed: Typed, ready_by: String) -> Response {
    let Typed { raw, errors, seen, photos } = typed;
    let lang = caller.spoken().unwrap_or_default();
    let errors = errors.said(&words::phrasebook(lang, &[]));
    let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let view = BookView {
        ready_by,
        carrier_checked: lang.day(offer.profile.carrier_checked),
        profile: offer.profile.clone(),
        knows: offer.knows.clone(),
        slots: offer.slots.clone(),
        raw,
        errors,
        photos,
        seen,
    };
    let title = caller.say("home-book");
    page::with_status(caller, status, &title, move || view! { <BookPage view=view /> }).await
}

/// By when the knives described so far would be ready, in words.
async fn ready_by(ctx: &Ctx, caller: &Caller, offer: &Offer, raw: &RawBooking) -> Result<String, Problem> {
    let profile = &offer.profile;
    let slot = offer.slots.iter().copied().find(|s| s.format("%Y-%m-%dT%H:%M").to_string() == raw.slot);
    let way = match (raw.arrival.as_str(), slot) {
        ("counter", Some(slot)) => Arrival::Counter { slot },
        ("counter", None) => match offer.slots.first() {
            Some(slot) => Arrival::Counter { slot: *slot },
            None => Arrival::Post,
        },
        _ => Arrival::Post,
    };
    let arrival: DateTime<Utc> = promise::arrival(profile, &way, ctx.now());
    let verdicts = raw.knives.iter().filter_map(|knife| offer.verdict(knife, raw.rush));
    let routes: Vec<_> = verdicts.filter(|v| v.refusal.is_none()).map(|v| v.route).collect();
    let at = promise::promise(ctx, profile, &routes, arrival, raw.rush).await?;
    let zone = local::zone(profile);
    let day = |at| caller.spoken().unwrap_or_default().day(local::date(zone, at));
    Ok(caller.say_with("book-ready-by", &[("there", day(arrival).into()), ("ready", day(at).into())]))
}

/// A form as it came.
struct Sent {
    raw: RawBooking,
    press: Press,
    errors: FieldErrors,
}

async fn read(ctx: &Ctx, request: Request) -> Result<Sent, Problem> {
    let kind = request.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or("");
    if kind.starts_with("multipart/form-data") {
        let multipart = Multipart::from_request(request, &())
            .await
            .map_err(|_| Problem::BadRequest("The form did not arrive whole.".to_owned()))?;
        return read_multipart(ctx, multipart).await;
    }
    if !kind.starts_with("application/x-www-form-urlencoded") {
        return Err(Problem::BadRequest("The request is not a form.".to_owned()));
    }
    let bytes =
        Bytes::from_request(request, &()).await.map_err(|rejection| too_large_or(rejection.status()))?;
    // Only text comes this way, so it may not be larger than other forms.
    if bytes.len() > MOST_FIELD_BYTES * 32 {
        return Err(Problem::TooLarge);
    }
    read_text(&bytes, FieldErrors::default())
}

fn too_large_or(status: StatusCode) -> Problem {
    if status == StatusCode::PAYLOAD_TOO_LARGE {
        Problem::TooLarge
    } else {
        Problem::BadRequest("The form did not arrive whole.".to_owned())
    }
}

fn read_text(query: &[u8], errors: FieldErrors) -> Result<Sent, Problem> {
    let raw: RawBooking = form::read(query)?;
    let pressed: Pressed = form::read(query)?;
    let press =
        pressed.r#do.parse().map_err(|()| Problem::BadRequest("The form has no such button.".to_owned()))?;
    Ok(Sent { raw, press, errors })
}

/// Reads a form with pictures. A picture that is not taken becomes a message beside its field; the rest of the form lives.
async fn read_multipart(ctx: &Ctx, mut multipart: Multipart) -> Result<Sent, Problem> {
    let mut query = String::new();
    let mut n_fields = 0;
    let mut key: Option<String> = None;
    let mut errors = FieldErrors::default();
    while let Some(mut field) = multipart.next_field().await.map_err(|error| too_large_or(error.status()))? {
        let name = field.name().unwrap_or("").to_owned();
        let place = name.strip_prefix("photo-").and_then(|place| place.parse().ok());
        if let Some(place) = place {
            let bytes = read_picture(&mut field).await?;
            let Some(key) = &key else { continue };
            match bytes {
                Some(bytes) if bytes.is_empty() => {}
                Some(bytes) => keep_picture(ctx, key, place, bytes, &mut errors).await?,
                None => errors.add(name, crate::photos::PhotoError::TooLarge.to_string()),
            }
            continue;
        }
        n_fields += 1;
        if n_fields > MOST_FIELDS {
            return Err(Problem::TooLarge);
        }
        let text = read_line(&mut field).await?;
        // The form carries its key first, before any picture.
        if name == "key" {
            key = keeps_pictures(ctx, &text).await?;
        }
        query.push_str(if query.is_empty() { "" } else { "&" });
        escape(&mut query, &name);
        query.push('=');
        escape(&mut query, &text);
    }
    read_text(query.as_bytes(), errors)
}

/// The form's key, if pictures may be kept under it: a form that was booked already takes no more.
async fn keeps_pictures(ctx: &Ctx, text: &str) -> Result<Option<String>, Problem> {
    let Some(key) = RequestKey::parse("booking", text) else { return Ok(None) };
    let booked = requests::outcome(ctx.store.read(), &key).await?;
    Ok(booked.is_none().then(|| text.trim().to_owned()))
}

/// All bytes of a picture; `None` when there are too many. The rest is still read, so that the browser gets an answer.
async fn read_picture(field: &mut Field<'_>) -> Result<Option<Vec<u8>>, Problem> {
    let mut bytes = Vec::new();
    let mut n = 0;
    while let Some(chunk) = field.chunk().await.map_err(|error| too_large_or(error.status()))? {
        n += chunk.len();
        if n <= MOST_BYTES {
            bytes.extend_from_slice(&chunk);
        } else {
            bytes = Vec::new();
        }
    }
    Ok((n <= MOST_BYTES).then_some(bytes))
}

async fn read_line(field: &mut Field<'_>) -> Result<String, Problem> {
    let mut bytes = Vec::new();
    while let Some(chunk) = field.chunk().await.map_err(|error| too_large_or(error.status()))? {
        if bytes.len() + chunk.len() > MOST_FIELD_BYTES {
            return Err(Problem::TooLarge);
        }
        bytes.extend_from_slice(&chunk);
    }
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

async fn keep_picture(
    ctx: &Ctx,
    key: &str,
    place: u32,
    bytes: Vec<u8>,
    errors: &mut FieldErrors,
) -> Result<(), Problem> {
    let field = format!("photo-{place}");
    let kept = photo_rows::of_draft(ctx.store.read(), key).await?;
    let of_this = kept.iter().filter(|p| p.draft.as_ref().is_some_and(|d| d.1 == place)).count();
    if of_this >= MOST_PER_KNIFE || kept.len() >= MOST_PER_KNIFE * MOST_KNIVES {
        errors.add(field, format!("Up to {MOST_PER_KNIFE} photos of each knife; the others were left out."));
        return Ok(());
    }
    match store_photo::store_photo(ctx, bytes, Of::Draft(key.to_owned(), place), "booking").await {
        Ok(_) => Ok(()),
        Err(StorePhotoError::NotTaken(why)) => {
            errors.add(field, why.to_string());
            Ok(())
        }
        Err(StorePhotoError::Store(error)) => Err(error.into()),
        Err(StorePhotoError::Failed(error)) => Err(error.into()),
    }
}

/// Writes `text` as the URL standard's form encoding does.
fn escape(out: &mut String, text: &str) {
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-_.*".contains(&byte) {
            out.push(char::from(byte));
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_fields_of_a_form_with_pictures_read_like_those_of_any_form() {
        let mut query = String::new();
        for (name, text) in [
            ("key", "k&=é"),
            ("knives[0][note]", "50 % + [worn]"),
            ("knives[0][dull]", "true"),
            ("do", "more"),
        ] {
            query.push_str(if query.is_empty() { "" } else { "&" });
            escape(&mut query, name);
            query.push('=');
            escape(&mut query, text);
        }
        let Ok(sent) = read_text(query.as_bytes(), FieldErrors::default()) else { panic!("not read") };
        assert_eq!((sent.raw.key.as_str(), sent.press), ("k&=é", Press::More));
        assert_eq!(sent.raw.knives[0].note, "50 % + [worn]");
        assert!(sent.raw.knives[0].dull);
    }
}
