//! The booking form: one page, one form, everything on it.

mod knife;
mod visit;

pub use knife::KnifeForm;
pub(crate) use visit::SlotSelect;
pub use visit::VisitForm;

use answers::{Aid, Answer, Speech, Sum, answer_html, nothing_html, sum_html};
use assess::Knowledge;
use chrono::NaiveDateTime;
use leptos::prelude::*;
use shop::booking::{self, MOST_KNIVES, RawBooking};
use shop::field::FieldErrors;
use shop::packing;
use shop::profile::Profile;

use crate::parts::{Button, ButtonKind, Card, ErrorSummary, Fold};
use crate::say::{book, lang, t};

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

/// The booking page.
#[component]
pub fn BookPage(
    /// What it shows.
    view: BookView,
) -> impl IntoView {
    let BookView { raw, errors, profile, knows, slots, photos, ready_by, carrier_checked, seen } = view;
    let phrases = book(&[]);
    let speech = Speech { lang: lang(), book: book(&Speech::ROOMS) };
    let aid = Aid::of(&knows, &profile.currency, speech.clone());
    let sum = sum_html(&Sum::of(&knows, &profile.currency, &raw), &speech);
    let n = raw.knives.len();
    let knives: Vec<_> = raw
        .knives
        .iter()
        .enumerate()
        .map(|(i, knife)| {
            let number = knife.number();
            let pictures = photos.iter().filter(|p| Some(p.0) == number).map(|p| p.1.clone()).collect();
            let checked = booking::check_knife(knife, i, &knows.models, &mut FieldErrors::default());
            let answer = checked
                .map(|k| Answer::about(&knows, &profile.currency, &k, raw.rush, speech.lang).said(&speech));
            let answer = answer.map_or_else(|| nothing_html(&speech), |answer| answer_html(&answer, &speech));
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
        // Unhidden by the script of the page when a draft lies on this device.
        <div class="draft none" id="booking-draft">
            <p>{t("draft-began")}</p>
            <div class="actions">
                <button class="button" type="button" name="go-on">{t("draft-go-on")}</button>
                <button class="button quiet" type="button" name="throw-away">{t("draft-throw-away")}</button>
            </div>
        </div>
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
                <dl class="answers sum" id="booking-sum" aria-live="polite" inner_html=sum></dl>
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
        <script type="text/plain" id="booking-aid" inner_html=aid.write()></script>
    }
    .into_any()
}
