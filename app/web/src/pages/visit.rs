//! A customer's private page: where each knife stands, what is asked, what can still be done.

use leptos::prelude::*;
use shop::booking::{Arrival, RawWayBack};
use shop::field::FieldErrors;
use shop::money::Money;
use shop::packing;
use shop::piece::{Amends, Harm, PieceState, Settlement, WaitsOn};
use shop::profile::Profile;
use shop::read::{Piece, Verdict, Visit};

use crate::pages::talk::{ComplaintForm, ComplaintView, LetterLine, TalkCard};
use crate::parts::{
    Actions, Amount, AmountRange, Button, ButtonKind, ButtonLink, Card, Choice, ErrorSummary, Field, Fold,
    Notice, Opt, Picture, PieceSteps, Refusal, StateBadge, Tone,
};
use crate::say::{book, lang, t, tn, tw};

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
    /// Questions and answers; `None`: the link did not come by mail.
    pub talk: Option<TalkView>,
    /// The form for something that was not right; `None`: nothing went home lately.
    pub complaint: Option<ComplaintView>,
    /// The reference of the visit that looks at some of it again.
    pub complained: Option<String>,
}

/// Questions and answers, and the letter as typed.
#[derive(Debug, Clone, Default)]
pub struct TalkView {
    /// The letters, oldest first.
    pub letters: Vec<LetterLine>,
    /// As typed.
    pub typed: String,
    /// A fresh key for the next letter.
    pub key: String,
    /// What is wrong with it.
    pub error: Option<String>,
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
    let title = tn("visit-title", n);
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
                    alone=n == 1
                />
            }
        })
        .collect();
    let cancelled = visit.cancelled_at.is_some();
    let complaint = view.complaint.clone().map(|form| {
        let action = format!("{}/complaint", view.path);
        view! { <ComplaintForm view=form action=action /> }
    });
    let again = view.complained.clone().map(|reference| {
        view! { <Notice><p>{tw("wrong-again", &[("reference", &reference)])}</p></Notice> }
    });
    let about = visit.complaint_of.map(|_| view! { <Notice><p>{t("wrong-about")}</p></Notice> });
    let talk = view.talk.clone().map(|talk| {
        let action = format!("{}/ask", view.path);
        view! { <TalkCard letters=talk.letters action=action typed=talk.typed key=talk.key error=talk.error /> }
    });
    view! {
        <article class="visit stack">
            <header class="page-head">
                <h1>{title}</h1>
                <p>{t("visit-reference")} " " <strong class="reference">{visit.reference.to_string()}</strong> ", " {tw("visit-booked", &[("day", &view.booked)])}</p>
            </header>
            {said}
            {about}
            {again}
            {view.just_booked.then(|| view! { <span id="booking-done" hidden></span> })}
            {if cancelled {
                view! {
                    <Notice>
                        <p>{t("visit-off")} " " <a href="/book">{t("visit-again")}</a></p>
                    </Notice>
                }.into_any()
            } else {
                view! { <Standing view=view.clone() /> }.into_any()
            }}
            {pieces}
            {complaint}
            {(!cancelled).then(|| view! { <Way view=view.clone() /> })}
            {talk}
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
                <Card title=t("confirm-title") first=true>
                    <p>{t("confirm-say")}</p>
                    <form method="post" action=confirm_path>
                        <Button kind=ButtonKind::Primary>{t("confirm-button")}</Button>
                    </form>
                </Card>
            }
            .into_any()
        } else {
            view! {
                <Card title=t("link-sent-title") first=true>
                    <p>
                        {t("confirm-written")} " " <strong>{address}</strong> ". " {t("confirm-written-say")}
                    </p>
                </Card>
            }
            .into_any()
        }
    });
    let asked: Vec<_> = view.pieces.iter().filter(|p| p.asked.is_some()).collect();
    let asks = (!asked.is_empty()).then(|| {
        let words = tn("visit-asked", asked.len());
        let first = format!("#knife-{}", asked[0].piece.number);
        view! { <Notice tone=Tone::Warn><p>{words} " " <a href=first>{t("visit-to-question")}</a></p></Notice> }
    });
    let settled = visit.pieces.iter().all(|p| p.state == PieceState::Home);
    let promise = (!settled).then(|| {
        view! { <div><dt>{t("visit-ready-by")}</dt><dd class="when">{view.promise.clone()}</dd></div> }
    });
    let parcel = visit.parcel.clone().map(|(carrier, number)| {
        view! { <div><dt>{t("visit-parcel")}</dt><dd>{carrier} ", " {t("visit-parcel-number")} " " <strong>{number}</strong></dd></div> }
    });
    let paid = visit.paid.clone().map(|(amount, how)| {
        view! { <div><dt>{t("visit-paid")}</dt><dd><Amount money=amount currency=currency.clone() /> ", " {how}</dd></div> }
    });
    let first = confirm.is_none() && asks.is_none();
    view! {
        {confirm}
        {asks}
        <Card first=first>
            <dl class="facts">
                {promise}
                <div><dt>{t("visit-costs")}</dt><dd><AmountRange range=visit.price() currency=currency.clone() /></dd></div>
                {paid}
                <div><dt>{t("visit-comes")}</dt><dd>{view.arrives.clone()}</dd></div>
                <div>
                    <dt>{t("visit-goes")}</dt>
                    <dd>{t(if visit.back_by_post { "visit-by-post" } else { "visit-fetched" })}</dd>
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
    /// It is the only one: what the visit says above is not said again.
    alone: bool,
) -> impl IntoView {
    let piece = view.piece;
    let verdict = piece.verdict.clone().unwrap_or_else(|| piece.estimate.clone());
    let measured = piece.verdict.is_some();
    let phrases = StoredValue::new(book(&[]));
    let say = move |text: &str| phrases.with_value(|p| p.say(text));
    let off = matches!(
        piece.state,
        PieceState::TurnedDown
            | PieceState::Withdrawn
            | PieceState::Missing
            | PieceState::Lost
            | PieceState::Settled
            | PieceState::Lapsed
    );
    let reason = piece
        .turned_down
        .clone()
        .map(|why| view! { <Refusal title=t("we-cannot")><p>{say(&why)}</p></Refusal> });
    let mishaps: Vec<_> = piece
        .mishaps
        .iter()
        .map(|mishap| {
            let (title, after) = match mishap.harm {
                Harm::Lost => ("harm-lost", "harm-lost-say"),
                Harm::Damaged if piece.awaits_decision() => ("harm-damaged", "harm-damaged-say"),
                Harm::Damaged => ("harm-damaged", "harm-write"),
            };
            let words = mishap.words.clone();
            let after = match &mishap.settled {
                Some(settled) => {
                    view! { <Settled settled=settled.clone() currency=currency.clone() /> }.into_any()
                }
                // Something that came before is settled with what came after.
                None if piece.mishaps.iter().any(|m| m.settled.is_some()) => ().into_any(),
                None => view! { <p>{t(after)}</p> }.into_any(),
            };
            view! { <Notice tone=Tone::Bad title=t(title)><p>{words}</p>{after}</Notice> }
        })
        .collect();
    let waits = piece.waiting.clone().filter(|_| view.asked.is_none() && !piece.awaits_decision());
    let waiting = waits.map(|w| {
        let whom = match w.on {
            WaitsOn::Customer => t("waits-you"),
            WaitsOn::Shop | WaitsOn::Decision => t("waits-us"),
            WaitsOn::Parts => t("waits-part"),
        };
        let what = say(&w.what);
        view! { <Notice tone=Tone::Warn><p>{whom} ": " {what}</p></Notice> }
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
    let cost = piece.price();
    let due = (!alone).then(|| view! { <div><dt>{t("due")}</dt><dd>{view.due.clone()}</dd></div> });
    let facts = (!off).then(|| {
        let life = life_words(&verdict);
        view! {
            <dl class="facts">
                <div>
                    <dt>{t(if piece.agreed.is_some() { "price-agreed" } else if measured { "price" } else { "price-unmeasured" })}</dt>
                    <dd><AmountRange range=cost currency=currency.clone() /></dd>
                </div>
                {due}
                <div><dt>{t("steel-takes")}</dt><dd>{tw("of-height", &[("span", &lang().span(verdict.recession_mm))])}</dd></div>
                <div><dt>{t("more-times")}</dt><dd>{life}</dd></div>
            </dl>
        }
    });
    let drawing = (!off && !view.drawing.is_empty()).then(|| {
        view! { <Fold summary=t("edge-drawn")><div class="drawing" inner_html=view.drawing></div></Fold> }
    });
    let lines = (!off).then(|| view! { <Lines verdict=verdict.clone() currency=currency.clone() /> });
    let history: Vec<_> = view
        .history
        .into_iter()
        .map(|(when, words)| view! { <li><time>{when}</time> " " {say(&words)}</li> })
        .collect();
    let photos: Vec<_> = view
        .photos
        .into_iter()
        .enumerate()
        .map(|(n, src)| {
            let href = src.clone();
            view! { <li><a href=href><img src=src alt=tn("photo-n", n + 1) loading="lazy" width="96" height="96" /></a></li> }
        })
        .collect();
    let photos =
        (!photos.is_empty()).then(|| view! { <ul class="thumbs" aria-label=t("photos")>{photos}</ul> });
    let ledger = (piece.knife.is_some() && may_answer).then(|| {
        view! {
            <form method="post" action=format!("{path}/ledger")>
                <input type="hidden" name="piece" value=piece.id.to_string() />
                <Button kind=ButtonKind::Quiet>{t("ledger-of")}</Button>
            </form>
        }
    });
    let tag = piece.tag.map(
        |tag| view! { <p class="quiet">{t("tag")} " " <strong class="reference">{tag.to_string()}</strong></p> },
    );
    view! {
        <section class="card piece" id=format!("knife-{}", piece.number)>
            <header class="piece-head">
                <h2>{say(&piece.name)} ", " {lang().length(piece.booked.length_mm, 0)}</h2>
                <StateBadge state=piece.state />
            </header>
            <p>{say(piece.state.sentence())}</p>
            {(!off).then(|| view! { <PieceSteps state=piece.state /> })}
            {mishaps}
            {reason}
            {waiting}
            {question}
            {facts}
            {drawing}
            {lines}
            <Fold summary=t("so-far")><ol class="history">{history}</ol></Fold>
            {photos}
            {(tag.is_some() || ledger.is_some()).then(|| view! { <div class="row knife-way">{tag} {ledger}</div> })}
        </section>
    }
    .into_any()
}

/// What was agreed about a harm.
#[component]
fn Settled(settled: Settlement, currency: String) -> impl IntoView {
    let how = match settled.amends {
        Amends::Replaced => Some("harm-replaced"),
        Amends::Paid => Some("harm-paid"),
        Amends::Other => None,
    };
    let how = how.map(|name| format!("{} ", t(name)));
    let amount = settled.amount.map(|amount| {
        let amount = lang().money(amount, &currency);
        format!(" {}", tw("harm-amount", &[("amount", &amount)]))
    });
    view! { <p><strong>{t("harm-settled")}</strong>" " {how} {settled.words} {amount}</p> }
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
    let phrases = book(&["assess", "advice", "found"]);
    let life = life_words(&verdict);
    let booked = piece.estimate.price;
    let span = lang().span(verdict.recession_mm);
    let no = if withdrawn == Money(0) {
        t("ask-no-free")
    } else {
        tw("ask-no", &[("amount", &lang().money(withdrawn, &currency))])
    };
    let yes = tw("ask-yes", &[("amount", &lang().money(total, &currency))]);
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
        view! { <p class="quiet">{t("ask-by-mail")}</p> }.into_any()
    };
    let advice = (!verdict.advice.is_empty())
        .then(|| view! { <p>{tw("we-advise", &[("advice", &phrases.say(&verdict.advice))])}</p> });
    let cautions: Vec<_> =
        verdict.cautions.iter().map(|words| view! { <li>{phrases.say(words)}</li> }).collect();
    let cautions = (!cautions.is_empty()).then(|| view! { <ul>{cautions}</ul> });
    view! {
        <div class="question">
            <h3>{t("ask-title")}</h3>
            <p>
                {t("ask-comes")} " " <strong><Amount money=total currency=currency.clone() /></strong> ". " {t("ask-was")} " "
                <AmountRange range=booked currency=currency.clone() /> ". " {t("ask-takes")} " "
                <strong>{tw("of-height", &[("span", &span)])}</strong> "; " {t("ask-after")} " " <strong>{life}</strong> "."
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
    let phrases = book(&["price"]);
    let lines: Vec<_> = verdict
        .quote
        .lines
        .into_iter()
        .map(|line| view! { <tr><td>{phrases.say(&line.what)}</td><td class="num"><Amount money=line.price currency=currency.clone() /></td></tr> })
        .collect();
    (!lines.is_empty()).then(|| {
        view! {
            <Fold summary=t("price-lines")>
                <table class="lines"><tbody>{lines}</tbody></table>
            </Fold>
        }
    })
}

/// How often it can be done again, in words that promise nothing.
pub fn life_words(verdict: &Verdict) -> String {
    let services = match verdict.services_after {
        None => t("life-none"),
        Some((_, 0)) => t("life-last"),
        Some((low, high)) if low == high => tw("life-about", &[("n", &high.to_string())]),
        Some((low, high)) => tw("life-span", &[("low", &low.to_string()), ("high", &high.to_string())]),
    };
    match verdict.years_after {
        Some((low, high)) if high > 0 => {
            let years = [("services", &*services), ("low", &*low.to_string()), ("high", &*high.to_string())];
            tw(if low == 0 { "life-years-up-to" } else { "life-years" }, &years)
        }
        _ => services,
    }
}

/// The form to change how, or to where, the knives go back; open when something is wrong with what was typed.
#[component]
fn ChangeWayBack(path: String, raw: RawWayBack, errors: FieldErrors) -> impl IntoView {
    let open = !errors.is_empty();
    let back = vec![
        Opt::new("post", t("way-post")).drawn(Picture::Parcel).note(t("way-address-note")),
        Opt::new("counter", t("way-fetch")).drawn(Picture::Counter).note(t("way-fetch-note")),
    ];
    let said = |name: &str| errors.of(name).map(str::to_owned);
    let (back_said, street, postcode, town, country) =
        (said("back"), said("street"), said("postcode"), said("town"), said("country"));
    view! {
        <Fold summary=t("way-change") open=open>
            <ErrorSummary errors=errors />
            <form method="post" action=path class="stack" novalidate>
                <Choice name="back" legend=t("way-back") options=back chosen=raw.back error=back_said />
                <Field name="street" label=t("who-street") value=raw.street error=street maxlength=120 autocomplete="street-address" />
                <div class="fields">
                    <Field name="postcode" label=t("who-postcode") value=raw.postcode error=postcode maxlength=16 autocomplete="postal-code" />
                    <Field name="town" label=t("who-town") value=raw.town error=town maxlength=80 autocomplete="address-level2" />
                </div>
                <Field name="country" label=t("who-country") value=raw.country error=country maxlength=60 autocomplete="country-name" />
                <Actions><Button>{t("way-change-button")}</Button></Actions>
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
    let checked = lang().day(view.profile.carrier_checked);
    let rule = view.profile.carrier_rule_in(lang()).to_owned();
    let risk = view.profile.risk_text_in(lang()).to_owned();
    let packing = (waiting && by_post).then(|| {
        let phrases = book(&["packing"]);
        let rules: Vec<_> =
            packing::RULES.into_iter().map(|rule| view! { <li>{phrases.say(rule)}</li> }).collect();
        view! {
            <Card title=t("way-pack")>
                <p>{rule} " " <span class="quiet">{tw("way-checked", &[("day", &checked)])}</span></p>
                <ol>{rules}</ol>
                <p class="quiet">{risk}</p>
            </Card>
        }
    });
    let (slip_path, cancel_path) = (format!("{}/slip", view.path), format!("{}/cancel", view.path));
    let calendar_path = format!("{}/visit.ics", view.path);
    let slip = waiting.then(|| {
        view! { <ButtonLink href=slip_path>{t("slip")}</ButtonLink> }
    });
    let cancel = view.may_cancel.then(|| {
        view! {
            <Fold summary=t("off-title")>
                <p>{t("off-say")}</p>
                <form method="post" action=cancel_path>
                    <Button kind=ButtonKind::Danger>{t("off-button")}</Button>
                </form>
            </Fold>
        }
    });
    let change = view.way_back.clone().map(|(raw, errors)| {
        view! { <ChangeWayBack path=format!("{}/back", view.path) raw=raw errors=errors /> }
    });
    view! {
        {packing}
        <Card title=t("papers")>
            <p class="actions">
                {slip}
                <ButtonLink href=calendar_path>{t("calendar-file")}</ButtonLink>
            </p>
            <p class="quiet">
                {t("papers-write")} " " <a href=format!("mailto:{}", view.profile.email)>{view.profile.email.clone()}</a>
            </p>
            {change}
            {cancel}
        </Card>
    }
    .into_any()
}
