//! A customer's private page: where each knife stands, what is asked, what can still be done.

use leptos::prelude::*;
use shop::booking::{Arrival, RawWayBack};
use shop::field::FieldErrors;
use shop::money::Money;
use shop::packing;
use shop::piece::{PieceState, WaitsOn};
use shop::profile::Profile;
use shop::read::{Piece, Verdict, Visit};
use shop::units::short;

use crate::islands::booking::BookingDone;
use crate::pages::book::span_mm;
use crate::parts::{
    Actions, Amount, AmountRange, Button, ButtonKind, ButtonLink, Card, Choice, ErrorSummary, Field, Fold,
    Notice, Opt, Picture, PieceSteps, Refusal, StateBadge, Tone,
};

/// What the page shows. Days and times come as words, by the shop's clock.
#[derive(Debug, Clone)]
pub struct VisitView {
    /// The page's own path: `/v/` and the token.
    pub path: String,
    /// The visit.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
    /// Its pieces.
    pub pieces: Vec<PieceView>,
    /// The link came by mail: its holder may confirm and answer.
    pub by_mail: bool,
    /// It may still be called off.
    pub may_cancel: bool,
    /// When it was booked.
    pub booked: String,
    /// How and when it comes.
    pub arrives: String,
    /// When it will be ready.
    pub promise: String,
    /// What measuring costs when the answer to a price is no.
    pub withdrawn: Money,
    /// What was just done, in a sentence.
    pub said: Option<String>,
    /// How they go back, as it stands or as typed, and what is wrong with it; `None`: it can no longer be changed here.
    pub way_back: Option<(RawWayBack, FieldErrors)>,
    /// It was booked this moment, in this browser.
    pub just_booked: bool,
}

/// One piece on the page.
#[derive(Debug, Clone)]
pub struct PieceView {
    /// The piece.
    pub piece: Piece,
    /// Its section before and after (SVG); may be empty.
    pub drawing: String,
    /// What happened, oldest first: when, and a sentence.
    pub history: Vec<(String, String)>,
    /// Addresses of its pictures.
    pub photos: Vec<String>,
    /// The price that waits for an answer.
    pub asked: Option<Money>,
    /// When it is due.
    pub due: String,
}

/// The private page of a visit.
#[component]
pub fn VisitPage(
    /// What it shows.
    view: VisitView,
) -> impl IntoView {
    let visit = view.visit.clone();
    let said = view.said.clone().map(|words| view! { <Notice tone=Tone::Good><p>{words}</p></Notice> });
    let n = visit.pieces.len();
    let title = if n == 1 { "Your knife".to_owned() } else { format!("Your {n} knives") };
    let currency = view.profile.currency.clone();
    let may_answer = view.by_mail;
    let path = view.path.clone();
    let withdrawn = view.withdrawn;
    let pieces: Vec<_> = view
        .pieces
        .clone()
        .into_iter()
        .map(|piece| {
            view! {
                <PieceCard
                    view=piece
                    currency=currency.clone()
                    path=path.clone()
                    may_answer=may_answer
                    withdrawn=withdrawn
                />
            }
        })
        .collect();
    let cancelled = visit.cancelled_at.is_some();
    view! {
        <article class="visit stack">
            <header class="page-head">
                <h1>{title}</h1>
                <p>"Reference " <strong class="reference">{visit.reference.to_string()}</strong> ", booked " {view.booked.clone()}</p>
            </header>
            {said}
            {view.just_booked.then(|| view! { <BookingDone /> })}
            {if cancelled {
                view! {
                    <Notice>
                        <p>"This visit was called off. Nothing is to be paid, and nothing should be sent. " <a href="/book">"Book again"</a></p>
                    </Notice>
                }.into_any()
            } else {
                view! { <Standing view=view.clone() /> }.into_any()
            }}
            {pieces}
            {(!cancelled).then(|| view! { <Way view=view.clone() /> })}
        </article>
    }
    .into_any()
}

/// What is to be done now, and the few facts of the whole visit.
#[component]
fn Standing(view: VisitView) -> impl IntoView {
    let visit = view.visit.clone();
    let currency = view.profile.currency.clone();
    let (confirm_path, address) = (format!("{}/confirm", view.path), visit.contact.email.clone());
    let confirm = (visit.confirmed_at.is_none() && visit.received_at.is_none()).then(|| {
        if view.by_mail {
            view! {
                <Card title="Please confirm" first=true>
                    <p>"The booking counts once you say that it was you. Until then nothing is kept free for it for long."</p>
                    <form method="post" action=confirm_path>
                        <Button kind=ButtonKind::Primary>"Confirm my booking"</Button>
                    </form>
                </Card>
            }
            .into_any()
        } else {
            view! {
                <Card title="Look into your mail" first=true>
                    <p>
                        "We have written to " <strong>{address}</strong>
                        ". The booking counts once you open the link in that mail and confirm. Is the address wrong? Then call it off \
                         below and book again; what you typed is quickly typed."
                    </p>
                </Card>
            }
            .into_any()
        }
    });
    let asked: Vec<_> = view.pieces.iter().filter(|p| p.asked.is_some()).collect();
    let asks = (!asked.is_empty()).then(|| {
        let words = if asked.len() == 1 {
            "One knife waits for your answer.".to_owned()
        } else {
            format!("{} knives wait for your answer.", asked.len())
        };
        let first = format!("#knife-{}", asked[0].piece.number);
        view! { <Notice tone=Tone::Warn><p>{words} " " <a href=first>"To the question"</a></p></Notice> }
    });
    let settled = visit.pieces.iter().all(|p| p.state == PieceState::Home);
    let promise = (!settled).then(|| {
        view! { <div><dt>"Ready by"</dt><dd>{view.promise.clone()}</dd></div> }
    });
    let parcel = visit.parcel.clone().map(|(carrier, number)| {
        view! { <div><dt>"Parcel back"</dt><dd>{carrier} ", number " <strong>{number}</strong></dd></div> }
    });
    let paid = visit.paid.clone().map(|(amount, how)| {
        view! { <div><dt>"Paid"</dt><dd><Amount money=amount currency=currency.clone() /> ", " {how}</dd></div> }
    });
    view! {
        {confirm}
        {asks}
        <Card>
            <dl class="facts">
                <div><dt>"What it costs"</dt><dd><AmountRange range=visit.price() currency=currency.clone() /></dd></div>
                {paid}
                {promise}
                <div><dt>"How they come"</dt><dd>{view.arrives.clone()}</dd></div>
                <div>
                    <dt>"How they go back"</dt>
                    <dd>{if visit.back_by_post { "by post" } else { "you fetch them at our counter" }}</dd>
                </div>
                {parcel}
            </dl>
        </Card>
    }
    .into_any()
}

/// One piece: where it stands, what it costs and leaves, what is asked.
#[component]
fn PieceCard(
    view: PieceView,
    currency: String,
    path: String,
    may_answer: bool,
    withdrawn: Money,
) -> impl IntoView {
    let piece = view.piece;
    let verdict = piece.verdict.clone().unwrap_or_else(|| piece.estimate.clone());
    let measured = piece.verdict.is_some();
    let off = matches!(
        piece.state,
        PieceState::TurnedDown | PieceState::Withdrawn | PieceState::Missing | PieceState::Lapsed
    );
    let reason = piece
        .turned_down
        .clone()
        .map(|why| view! { <Refusal title="We cannot do this one"><p>{why}</p></Refusal> });
    let waiting = piece.waiting.clone().filter(|_| view.asked.is_none()).map(|w| {
        let whom = match w.on {
            WaitsOn::Customer => "It waits for you",
            WaitsOn::Shop => "It waits for us",
            WaitsOn::Parts => "It waits for a part",
        };
        view! { <Notice tone=Tone::Warn><p>{whom} ": " {w.what}</p></Notice> }
    });
    let question = view.asked.map(|total| {
        view! {
            <Question
                piece=piece.clone()
                verdict=verdict.clone()
                total=total
                currency=currency.clone()
                path=path.clone()
                may_answer=may_answer
                withdrawn=withdrawn
            />
        }
    });
    let (cost, due) = (piece.price(), view.due);
    let facts = (!off).then(|| {
        let life = life_words(&verdict);
        view! {
            <dl class="facts">
                <div>
                    <dt>{if piece.agreed.is_some() { "Price agreed" } else if measured { "Price" } else { "Price, until it is measured" }}</dt>
                    <dd><AmountRange range=cost currency=currency.clone() /></dd>
                </div>
                <div><dt>"Due"</dt><dd>{due}</dd></div>
                <div><dt>"Steel it takes"</dt><dd>{span_mm(verdict.recession_mm)} " of its height"</dd></div>
                <div><dt>"How many more times"</dt><dd>{life}</dd></div>
            </dl>
        }
    });
    let drawing = (!off && !view.drawing.is_empty()).then(|| {
        view! { <Fold summary="The edge before and after, to scale"><div class="drawing" inner_html=view.drawing></div></Fold> }
    });
    let lines = (!off).then(|| view! { <Lines verdict=verdict.clone() currency=currency.clone() /> });
    let history: Vec<_> = view
        .history
        .into_iter()
        .map(|(when, words)| view! { <li><time>{when}</time> " " {words}</li> })
        .collect();
    let photos: Vec<_> = view
        .photos
        .into_iter()
        .enumerate()
        .map(|(n, src)| {
            let href = src.clone();
            view! { <li><a href=href><img src=src alt=format!("Photo {}", n + 1) loading="lazy" width="96" height="96" /></a></li> }
        })
        .collect();
    let photos = (!photos.is_empty()).then(|| view! { <ul class="thumbs" aria-label="Photos">{photos}</ul> });
    let ledger = (piece.knife.is_some() && may_answer).then(|| {
        view! {
            <form method="post" action=format!("{path}/ledger")>
                <input type="hidden" name="piece" value=piece.id.to_string() />
                <Button kind=ButtonKind::Quiet>"The ledger of this knife"</Button>
            </form>
        }
    });
    let tag = piece.tag.map(
        |tag| view! { <p class="quiet">"Tag " <strong class="reference">{tag.to_string()}</strong></p> },
    );
    view! {
        <section class="card piece" id=format!("knife-{}", piece.number)>
            <header class="piece-head">
                <h2>{piece.name.clone()} ", " {short(piece.booked.length_mm, 0)} " mm"</h2>
                <StateBadge state=piece.state />
            </header>
            <p>{piece.state.sentence()}</p>
            {(!off).then(|| view! { <PieceSteps state=piece.state /> })}
            {reason}
            {waiting}
            {question}
            {facts}
            {drawing}
            {lines}
            {photos}
            {tag}
            {ledger}
            <Fold summary="What has happened so far"><ol class="history">{history}</ol></Fold>
        </section>
    }
    .into_any()
}

/// The price asked for a piece, what it buys and what it costs in life; yes or no.
#[component]
fn Question(
    piece: Piece,
    verdict: Verdict,
    total: Money,
    currency: String,
    path: String,
    may_answer: bool,
    withdrawn: Money,
) -> impl IntoView {
    let life = life_words(&verdict);
    let booked = piece.estimate.price;
    let no = if withdrawn == Money(0) {
        "No, send it back as it is".to_owned()
    } else {
        format!("No, send it back as it is ({} for measuring)", withdrawn.show(&currency))
    };
    let yes = format!("Yes, do it for {}", total.show(&currency));
    let answer = if may_answer {
        view! {
            <form method="post" action=format!("{path}/answer") class="actions">
                <input type="hidden" name="piece" value=piece.id.to_string() />
                <input type="hidden" name="total" value=total.0.to_string() />
                <Button kind=ButtonKind::Primary name="answer" value="agree">{yes}</Button>
                <Button name="answer" value="decline">{no}</Button>
            </form>
        }
        .into_any()
    } else {
        view! { <p class="quiet">"To answer, please open the link in our mail: that way we know it is you."</p> }.into_any()
    };
    let advice =
        (!verdict.advice.is_empty()).then(|| view! { <p>"We advise: " {verdict.advice.clone()}</p> });
    let cautions: Vec<_> = verdict.cautions.iter().cloned().map(|words| view! { <li>{words}</li> }).collect();
    let cautions = (!cautions.is_empty()).then(|| view! { <ul>{cautions}</ul> });
    view! {
        <div class="question">
            <h3>"Shall we?"</h3>
            <p>
                "Measured, it comes to " <strong><Amount money=total currency=currency.clone() /></strong> ". Booked it was "
                <AmountRange range=booked currency=currency.clone() /> ". The work takes " <strong>{span_mm(verdict.recession_mm)}</strong>
                " of its height; afterwards: " <strong>{life}</strong> "."
            </p>
            {advice}
            {cautions}
            {answer}
        </div>
    }
    .into_any()
}

#[component]
fn Lines(verdict: Verdict, currency: String) -> impl IntoView {
    let lines: Vec<_> = verdict
        .quote
        .lines
        .into_iter()
        .map(|line| view! { <tr><td>{line.what}</td><td class="num"><Amount money=line.price currency=currency.clone() /></td></tr> })
        .collect();
    (!lines.is_empty()).then(|| {
        view! {
            <Fold summary="The price, line by line">
                <table class="lines"><tbody>{lines}</tbody></table>
            </Fold>
        }
    })
}

/// How often it can be done again, in words that promise nothing.
pub fn life_words(verdict: &Verdict) -> String {
    match verdict.services_after {
        None => "nothing we know of sets an end".to_owned(),
        Some((_, 0)) => "this would be the last time".to_owned(),
        Some((low, high)) if low == high => format!("about {high} more at your habit"),
        Some((low, high)) => format!("about {low} to {high} more at your habit"),
    }
}

/// The form to change how, or to where, the knives go back; open when something is wrong with what was typed.
#[component]
fn ChangeWayBack(path: String, raw: RawWayBack, errors: FieldErrors) -> impl IntoView {
    let open = !errors.is_empty();
    let back = vec![
        Opt::new("post", "By post").drawn(Picture::Parcel).note("to the address below"),
        Opt::new("counter", "You fetch them").drawn(Picture::Counter).note("we write when they are ready"),
    ];
    let said = |name: &str| errors.of(name).map(str::to_owned);
    let (back_said, street, postcode, town, country) =
        (said("back"), said("street"), said("postcode"), said("town"), said("country"));
    view! {
        <Fold summary="Change how they go back" open=open>
            <ErrorSummary errors=errors />
            <form method="post" action=path class="stack" novalidate>
                <Choice name="back" legend="Way back" options=back chosen=raw.back error=back_said />
                <Field name="street" label="Street and number" value=raw.street error=street maxlength=120 autocomplete="street-address" />
                <div class="fields">
                    <Field name="postcode" label="Postal code" value=raw.postcode error=postcode maxlength=16 autocomplete="postal-code" />
                    <Field name="town" label="Town" value=raw.town error=town maxlength=80 autocomplete="address-level2" />
                </div>
                <Field name="country" label="Country" value=raw.country error=country maxlength=60 autocomplete="country-name" />
                <Actions><Button>"Change it"</Button></Actions>
            </form>
        </Fold>
    }
    .into_any()
}

/// The way to us and back: slip, calendar, packing, calling off.
#[component]
fn Way(view: VisitView) -> impl IntoView {
    let visit = view.visit.clone();
    let waiting = visit.received_at.is_none();
    let by_post = visit.arrival == Arrival::Post;
    let packing = (waiting && by_post).then(|| {
        let rules: Vec<_> = packing::RULES.into_iter().map(|rule| view! { <li>{rule}</li> }).collect();
        view! {
            <Card title="Packing a blade for the post">
                <p>{view.profile.carrier_rule.clone()}</p>
                <ol>{rules}</ol>
                <p class="quiet">{view.profile.risk_text.clone()}</p>
            </Card>
        }
    });
    let (slip_path, cancel_path) = (format!("{}/slip", view.path), format!("{}/cancel", view.path));
    let calendar_path = format!("{}/visit.ics", view.path);
    let slip = waiting.then(|| {
        view! { <ButtonLink href=slip_path>"Packing slip"</ButtonLink> }
    });
    let cancel = view.may_cancel.then(|| {
        view! {
            <Fold summary="Call it off">
                <p>"As long as nothing has arrived this costs nothing. You can book again at any time."</p>
                <form method="post" action=cancel_path>
                    <Button kind=ButtonKind::Danger>"Call off the whole visit"</Button>
                </form>
            </Fold>
        }
    });
    let change = view.way_back.clone().map(|(raw, errors)| {
        view! { <ChangeWayBack path=format!("{}/back", view.path) raw=raw errors=errors /> }
    });
    view! {
        {packing}
        <Card title="Papers">
            <p class="actions">
                {slip}
                <ButtonLink href=calendar_path>"Calendar file"</ButtonLink>
            </p>
            <p class="quiet">
                "Anything to ask or to change? Write to " <a href=format!("mailto:{}", view.profile.email)>{view.profile.email.clone()}</a>
                " and name the reference."
            </p>
            {change}
            {cancel}
        </Card>
    }
    .into_any()
}
