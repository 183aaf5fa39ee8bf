//! The booking form: one page, one form, everything on it.

mod answer;
mod knife;
mod visit;

pub use answer::{Answer, AnswerCard};
pub use knife::KnifeForm;
pub(crate) use visit::SlotSelect;
pub use visit::VisitForm;

use assess::Knowledge;
use chrono::NaiveDateTime;
use leptos::prelude::*;
use serde::{Deserialize, Serialize};
use shop::booking::{self, MOST_KNIVES, RawBooking};
use shop::field::FieldErrors;
use shop::money::{Money, MoneyRange};
use shop::packing;
use shop::phrasebook::Phrasebook;
use shop::profile::Profile;

use crate::islands::booking::{BookingDraft, BookingSum};
use crate::parts::{Button, ButtonKind, Card, ErrorSummary, Fold};
use crate::say::{Lang, book, lang, t};

/// What the booking page shows.
#[derive(Debug, Clone)]
pub struct BookView {
    /// The form as typed.
    pub raw: RawBooking,
    /// What is wrong with it.
    pub errors: FieldErrors,
    /// The shop.
    pub profile: Profile,
    /// What the shop knows of knives.
    pub knows: Knowledge,
    /// Free counter slots, local time.
    pub slots: Vec<NaiveDateTime>,
    /// Pictures sent with this form so far: the knife's number, the picture's address.
    pub photos: Vec<(u32, String)>,
    /// By when it would be ready, in words, and from which arrival.
    pub ready_by: String,
    /// The carrier's rule was asked on this day, in words.
    pub carrier_checked: String,
    /// The knife the eye should go to.
    pub seen: Option<usize>,
}

/// What the islands of the booking page know; written into the page once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Aid {
    /// What the shop knows of knives.
    pub knows: Knowledge,
    /// The currency's code.
    pub currency: String,
    /// How the page speaks.
    #[serde(default)]
    pub speech: Speech,
}

/// How a page speaks, for its islands: they make sentences in English and say them in this language.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Speech {
    /// The language.
    pub lang: Lang,
    /// Its phrases; empty for English.
    #[serde(default, skip_serializing_if = "Phrasebook::is_empty")]
    pub book: Phrasebook,
}

/// What the islands of the booking page may say.
const SPOKEN_HERE: [&str; 7] = ["answer", "assess", "advice", "limit", "price", "name", "draft"];

impl Speech {
    /// How this page speaks.
    pub fn of_page() -> Self {
        Self { lang: lang(), book: book(&SPOKEN_HERE) }
    }

    /// A sentence in the page's language.
    pub fn say(&self, english: &str) -> String {
        self.book.say(english)
    }
}

/// What the whole booking comes to.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Sum {
    /// Work on the knives described so far.
    pub work: MoneyRange,
    /// How many that are.
    pub n_known: usize,
    /// How many there are.
    pub n_all: usize,
    /// The return parcel: up to which value it is covered, and its price.
    pub parcel: Option<(Money, Money)>,
    /// The currency's code.
    pub currency: String,
}

impl Sum {
    /// Adds up what was typed.
    pub fn of(knows: &Knowledge, currency: &str, raw: &RawBooking) -> Self {
        let known: Vec<_> = raw
            .knives
            .iter()
            .filter_map(|k| booking::check_knife(k, 0, &knows.models, &mut FieldErrors::default()))
            .map(|k| assess::booked(knows, &k, raw.rush))
            .filter(|v| v.refusal.is_none())
            .collect();
        let declared = Money::parse(&raw.declared).unwrap_or_default();
        Self {
            work: known.iter().map(|v| v.price).sum(),
            n_known: known.len(),
            n_all: raw.knives.len(),
            parcel: (raw.back == "post").then(|| knows.prices.parcel(declared)).flatten(),
            currency: currency.to_owned(),
        }
    }
}

/// The booking page.
#[component]
pub fn BookPage(
    /// What it shows.
    view: BookView,
) -> impl IntoView {
    let BookView { raw, errors, profile, knows, slots, photos, ready_by, carrier_checked, seen } = view;
    let phrases = book(&[]);
    let speech = Speech::of_page();
    let aid = Aid { knows: knows.clone(), currency: profile.currency.clone(), speech: speech.clone() };
    // Inside a script element only `<` could end it.
    let aid = serde_json::to_string(&aid).unwrap_or_default().replace('<', "\\u003c");
    let sum = Sum::of(&knows, &profile.currency, &raw);
    let n = raw.knives.len();
    let knives: Vec<_> = raw
        .knives
        .iter()
        .enumerate()
        .map(|(i, knife)| {
            let number = knife.number();
            let pictures = photos.iter().filter(|p| Some(p.0) == number).map(|p| p.1.clone()).collect();
            let checked = booking::check_knife(knife, i, &knows.models, &mut FieldErrors::default());
            let answer =
                checked.map(|k| Answer::about(&knows, &profile.currency, &k, raw.rush).said(&speech));
            let (only, full, here) = (n == 1, n >= MOST_KNIVES, seen == Some(i));
            view! {
                <KnifeForm
                    i=i
                    only=only
                    full=full
                    knife=knife.clone()
                    models=knows.models.clone()
                    errors=errors.clone()
                    pictures=pictures
                    answer=answer
                    seen=here
                />
            }
        })
        .collect();
    let refused: Vec<_> = packing::REFUSED
        .into_iter()
        .map(|(what, why)| view! { <li><strong>{phrases.say(what)}</strong>": " {phrases.say(why)} "."</li> })
        .collect();
    let full = n >= MOST_KNIVES;
    let more = (!full).then(|| {
        view! { <p><Button name="do" value="more" attr:formnovalidate=true>{t("book-more")}</Button></p> }
    });
    view! {
        <header class="page-head">
            <h1>{t("home-book")}</h1>
            <p>
                {t("book-lead")}
            </p>
        </header>
        <BookingDraft />
        <ErrorSummary errors=errors.clone() />
        <form id="booking" method="post" action="/book" enctype="multipart/form-data" novalidate class="stack">
            <input type="hidden" name="key" value=raw.key.clone() />
            // Enter in a field presses the first button of a form: this one, which books nothing.
            <button class="hidden" type="submit" name="do" value="estimate" tabindex="-1" aria-hidden="true">
                {t("book-estimate")}
            </button>
            {knives}
            {more}
            <Fold summary=t("refused-title")><ul>{refused}</ul></Fold>
            <VisitForm
                raw=raw.clone()
                errors=errors
                profile=profile.clone()
                slots=slots
                carrier_checked=carrier_checked
            />
            <Card title=t("book-all") first=true>
                <BookingSum first=sum />
                <dl class="answers">
                    <div><dt>{t("book-when")}</dt><dd>{ready_by}</dd></div>
                    <div><dt>{t("book-risk")}</dt><dd>{profile.risk_text_in(lang()).to_owned()}</dd></div>
                </dl>
                <div class="actions">
                    <Button kind=ButtonKind::Primary name="do" value="book">{t("book-book")}</Button>
                    <Button name="do" value="estimate" attr:formnovalidate=true>{t("book-estimate")}</Button>
                </div>
                <p class="quiet">
                    {t("book-after")} " " <a href="/privacy">{t("frame-privacy")}</a>
                </p>
            </Card>
        </form>
        <script type="application/json" id="booking-aid" inner_html=aid></script>
    }
    .into_any()
}
