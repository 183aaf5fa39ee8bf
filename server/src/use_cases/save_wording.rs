//! The owner words the notices anew, and sees them with real data before saving.

use chrono::{DateTime, Utc};
use shop::field::FieldErrors;
use shop::lang::Lang;
use shop::owner::Typed;
use shop::piece::{Amends, Harm, Settlement};
use shop::profile::Profile;
use shop::read::Visit;

use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::post::bench::{Delay, NeedsMore, Ready};
use crate::post::desk::{
    Harmed, Lapsed, NotArrived, Received, Returned, Righted, Settled, TurnedDown, Unfetched,
};
use crate::post::notice::Notice;
use crate::post::visit::{
    Answered, Booked, Cancelled, Complained, NewLinks, QuoteAsked, ServiceDue, Written,
};
use crate::post::words::{MAIL, check_wording, editable, wording_key};
use crate::store::changes::Subject;
use crate::store::staff::Person;
use crate::store::{Result, visits};
use crate::store::{WriteTx, settings};

/// The notices whose words can be changed: the word in the names of their texts, and what people call them.
pub const KINDS: [(&str, &str); 20] = [
    ("booked", "Booked"),
    ("received", "Received"),
    ("quote", "A price is asked"),
    ("answered", "Answered"),
    ("ready", "Ready"),
    ("delay", "Later than promised"),
    ("more", "More work than agreed"),
    ("refused", "One we cannot do"),
    ("lost", "Lost here"),
    ("damaged", "Damaged here"),
    ("righted", "Found again, or not damaged"),
    ("settled", "Settled what was lost or damaged"),
    ("returned", "Gone home"),
    ("complained", "Complaint taken in"),
    ("cancelled", "Called off"),
    ("not-arrived", "Not arrived"),
    ("lapsed", "Lapsed"),
    ("unfetched", "Not fetched"),
    ("links", "New links"),
    ("due", "Due for service"),
];

/// The names of a notice's texts, as they are written in the catalogue.
pub fn texts(kind: &str) -> Vec<&'static str> {
    let own = format!("{MAIL}{kind}-");
    let mut names = words::names(&own);
    names.retain(|name| editable(Lang::En, name).is_some() && editable(Lang::De, name).is_some());
    names
}

/// What the form shows: the owner's texts, and nothing where the program's own hold.
pub fn fill(profile: &Profile, lang: Lang, kind: &str) -> Typed {
    let mut typed = Typed::default();
    for name in texts(kind) {
        if let Some(own) = profile.wording.get(&wording_key(lang, name)) {
            typed.set(name, own);
        }
    }
    typed
}

/// The profile with what was typed.
pub fn worded(
    before: &Profile,
    lang: Lang,
    kind: &str,
    typed: &Typed,
) -> std::result::Result<Profile, FieldErrors> {
    let mut errors = FieldErrors::default();
    let mut after = before.clone();
    for name in texts(kind) {
        let text = typed.get(name).replace("\r\n", "\n");
        let text = text.trim();
        let key = wording_key(lang, name);
        if text.is_empty() || editable(lang, name).as_deref() == Some(text) {
            after.wording.remove(&key);
            continue;
        }
        match check_wording(name, text) {
            Ok(()) if text.chars().count() <= 1200 => {
                after.wording.insert(key, text.to_owned());
            }
            Ok(()) => errors.add(name, "Please shorten this to 1200 characters."),
            Err(why) => errors.add(name, why),
        }
    }
    errors.or(Some(after))
}

/// Saves what was typed over the profile that was read at `version`.
pub async fn save_wording(
    ctx: &Ctx,
    by: &Person,
    version: i64,
    (lang, kind): (Lang, &str),
    typed: &Typed,
) -> std::result::Result<(), NotSaved> {
    saved(ctx, async |tx| put(tx, by, version, (lang, kind), typed, ctx.now()).await).await
}

/// The same inside a transaction.
pub(super) async fn put(
    tx: &WriteTx,
    by: &Person,
    version: i64,
    (lang, kind): (Lang, &str),
    typed: &Typed,
    now: DateTime<Utc>,
) -> std::result::Result<(), NotSaved> {
    let before = settings::get::<Profile>(tx).await?.ok_or(NotSaved::Gone)?.value;
    let after = worded(&before, lang, kind, typed)?;
    settings::put(tx, &after, version, Some(by.id), now).await?;
    let forms = (fill(&before, lang, kind), fill(&after, lang, kind));
    write_down(tx, (Subject::Profile, None), by, (&forms.0, &forms.1), now).await?;
    Ok(())
}

/// A notice of a kind with the data of the newest visit: subject and text. `None`: there is no visit yet. Links in it open nothing.
pub async fn preview(
    ctx: &Ctx,
    profile: &Profile,
    lang: Lang,
    kind: &str,
) -> Result<Option<(String, String)>> {
    let Some(visit) = visits::newest(ctx.store.read()).await? else { return Ok(None) };
    let visit = Visit { language: lang, ..visit };
    let Some(notice) = sample(ctx, visit, profile, kind) else { return Ok(None) };
    Ok(Some((notice.subject(), notice.sheet().to_text())))
}

fn sample(ctx: &Ctx, visit: Visit, profile: &Profile, kind: &str) -> Option<Notice> {
    let profile = profile.clone();
    let link = ctx.url("/v/…");
    let pieces: Vec<_> = visit.pieces.iter().map(|p| p.id).collect();
    let first = *pieces.first()?;
    Some(match kind {
        "booked" => Notice::Booked(Box::new(Booked { visit, profile, link, calendar: String::new() })),
        "received" => Notice::Received(Box::new(Received { visit, touched: pieces, profile, link })),
        "quote" => {
            let withdrawn = shop::money::Money(500);
            Notice::QuoteAsked(Box::new(QuoteAsked { visit, profile, withdrawn, link, again: false }))
        }
        "answered" => Notice::Answered(Box::new(Answered { visit, profile, link })),
        "ready" => Notice::Ready(Box::new(Ready { visit, pieces, profile, link })),
        "delay" => {
            let until = visit.promise_at + chrono::TimeDelta::days(2);
            Notice::Delay(Box::new(Delay { visit, until, why: String::new(), profile, link }))
        }
        "more" => {
            let (what, price) = ("…".to_owned(), visit.price().high.show(&profile.currency));
            Notice::NeedsMore(Box::new(NeedsMore { visit, piece: first, what, price, profile, link }))
        }
        "refused" => Notice::TurnedDown(Box::new(TurnedDown { visit, piece: first, profile, link })),
        "lost" | "damaged" | "righted" => {
            let piece = visit.pieces.first()?.clone();
            let harm = Harm::parse(kind).unwrap_or(Harm::Lost);
            match kind {
                "righted" => Notice::Righted(Box::new(Righted { visit, piece, harm, profile, link })),
                _ => {
                    let words = "…".to_owned();
                    Notice::Harmed(Box::new(Harmed { visit, piece, harm, words, profile, link }))
                }
            }
        }
        "settled" => {
            let piece = visit.pieces.first()?.clone();
            let entry = shop::ids::EntryId(uuid::Uuid::nil());
            let amount = Some(shop::money::Money(8_000));
            let (amends, words) = (Amends::Paid, "…".to_owned());
            let settlement = Settlement { amends, amount, words, entry, notice: None };
            Notice::Settled(Box::new(Settled { visit, piece, settlement, profile, link }))
        }
        "returned" => {
            let ledgers = visit.pieces.iter().map(|p| (p.name.clone(), ctx.url("/k/…"))).collect();
            let by_post = visit.back_by_post;
            Notice::Returned(Box::new(Returned { visit, pieces, by_post, profile, link, ledgers }))
        }
        "complained" => {
            let about = visit.reference.to_string();
            Notice::Complained(Box::new(Complained { visit, about, profile, link }))
        }
        "cancelled" => Notice::Cancelled(Box::new(Cancelled { visit, profile })),
        "not-arrived" => Notice::NotArrived(Box::new(NotArrived { visit, profile, link })),
        "lapsed" => Notice::Lapsed(Box::new(Lapsed { visit, profile })),
        "unfetched" => Notice::Unfetched(Box::new(Unfetched { visit, profile, link })),
        "links" => {
            let knives = Some(ctx.url("/once/…"));
            Notice::NewLinks(Box::new(NewLinks { links: vec![(visit, link)], knives, profile }))
        }
        "due" => Notice::ServiceDue(Box::new(ServiceDue {
            customer: visit.customer,
            name: visit.contact.name.clone(),
            language: visit.language,
            knives: visit.pieces.iter().map(|p| (p.name.clone(), visit.booked_at.date_naive())).collect(),
            profile,
            link: ctx.url("/once/…"),
            book: ctx.url("/book"),
            unsubscribe: ctx.url("/stop/…"),
        })),
        _ => Notice::Written(Box::new(Written { visit, body: "…".into(), answers: true, profile, link })),
    })
}
