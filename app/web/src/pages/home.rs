//! The shop's front: what it does, and the way in.

use leptos::prelude::*;
use shop::hours::{Hours, clock};
use shop::packing;
use shop::profile::Profile;

use crate::parts::{ButtonKind, ButtonLink, Empty, Pictogram, Picture};
use crate::say::{book, lang, t, tw};

/// The front page. `None`: nobody has set the shop up yet.
#[component]
pub fn HomePage(
    /// The shop.
    profile: Option<Profile>,
    /// By when a knife booked now would be ready, in words.
    ready_by: Option<String>,
) -> impl IntoView {
    let Some(profile) = profile else {
        return view! {
            <Empty title=t("home-not-set-up")>
                <p>{t("home-not-set-up-say")} " " <a href="/sign-in">{t("home-sign-in")}</a></p>
            </Empty>
        }
        .into_any();
    };
    let said = book(&["refused"]);
    let refused: Vec<_> = packing::REFUSED
        .into_iter()
        .map(|(what, why)| view! { <li><strong>{said.say(what)}</strong>": " {said.say(why)} "."</li> })
        .collect();
    let hours = opening(&profile.counter);
    let ready =
        ready_by.map(|day| view! { <p class="lead">{t("home-ready")} " " <strong>{day}</strong> "."</p> });
    let phone = (!profile.phone.is_empty()).then(|| view! { <li>{profile.phone.clone()}</li> });
    view! {
        <article class="home stack">
            <header class="hero">
                <h1>{profile.name.clone()}</h1>
                <p class="lead">
                    {t("home-lead")}
                </p>
                {ready}
                <p class="actions">
                    <ButtonLink href="/book" kind=ButtonKind::Primary>{t("home-book")}</ButtonLink>
                    <ButtonLink href="/link">{t("home-where")}</ButtonLink>
                </p>
            </header>
            <section class="columns">
                <div class="way">
                    <Pictogram of=Picture::Knife />
                    <h2>{t("home-1")}</h2>
                    <p>{t("home-1-say")}</p>
                </div>
                <div class="way">
                    <Pictogram of=Picture::Inspection />
                    <h2>{t("home-2")}</h2>
                    <p>{t("home-2-say")}</p>
                </div>
                <div class="way">
                    <Pictogram of=Picture::Wheel />
                    <h2>{t("home-3")}</h2>
                    <p>{t("home-3-say")}</p>
                </div>
                <div class="way">
                    <Pictogram of=Picture::Home />
                    <h2>{t("home-4")}</h2>
                    <p>{t("home-4-say")}</p>
                </div>
            </section>
            <section class="card refused"><h2>{t("refused-title")}</h2><ul>{refused}</ul></section>
            <section class="card place">
                <h2>{t("home-place")}</h2>
                <div class="split">
                    <ul class="plain">
                        <li>{profile.street.clone()}</li>
                        <li>{profile.town.clone()}</li>
                        <li>{profile.country.clone()}</li>
                        <li><a href=format!("mailto:{}", profile.email)>{profile.email.clone()}</a></li>
                        {phone}
                    </ul>
                    <dl class="hours">{hours}</dl>
                </div>
            </section>
        </article>
    }
    .into_any()
}

/// The week's hours of the counter; days with the same hours stand together.
fn opening(hours: &Hours) -> Vec<impl IntoView + use<>> {
    let days = lang().weekdays();
    let to = |from: &str, to: &str| tw("from-to", &[("from", from), ("to", to)]);
    let words = |day: usize| {
        let stretches: Vec<_> = hours.week[day].iter().map(|s| to(&clock(s.from), &clock(s.to))).collect();
        if stretches.is_empty() { vec![t("home-closed")] } else { stretches }
    };
    let mut groups: Vec<(usize, usize, Vec<String>)> = Vec::new();
    for day in 0..7 {
        let words = words(day);
        match groups.last_mut() {
            Some((_, last, same)) if *same == words => *last = day,
            _ => groups.push((day, day, words)),
        }
    }
    groups
        .into_iter()
        .map(|(first, last, words)| {
            let name = if first == last { days[first].to_owned() } else { to(days[first], days[last]) };
            // Each stretch of hours stays on one line.
            let last = words.len() - 1;
            let words: Vec<_> = words
                .into_iter()
                .enumerate()
                .map(|(i, words)| view! { <span>{words}{(i < last).then_some(",")}</span> " " })
                .collect();
            view! { <div><dt>{name}</dt><dd>{words}</dd></div> }
        })
        .collect()
}

/// Asks for a new private link by mail.
#[component]
pub fn LinkPage(
    /// The address as typed.
    address: String,
    /// What is wrong with it.
    error: Option<String>,
    /// It was sent, if there was anything to send.
    sent: bool,
) -> impl IntoView {
    use crate::parts::{Actions, Button, Field, Input, Notice, Tone};
    if sent {
        return view! {
            <article class="card narrow">
                <h1>{t("link-sent-title")}</h1>
                <Notice tone=Tone::Good>
                    <p>
                        {t("link-sent")}
                    </p>
                </Notice>
                <p><a href="/">{t("to-beginning")}</a></p>
            </article>
        }
        .into_any();
    }
    view! {
        <article class="card narrow">
            <h1>{t("home-where")}</h1>
            <p>{t("link-say")}</p>
            <form method="post" action="/link" class="stack">
                <Field
                    name="email"
                    label=t("link-address")
                    value=address
                    kind=Input::Email
                    error=error
                    maxlength=254
                    required=true
                />
                <Actions><Button kind=ButtonKind::Primary>{t("link-send")}</Button></Actions>
            </form>
        </article>
    }
    .into_any()
}

/// A private link that does not open, and the way to a new one.
#[component]
pub fn LostLinkPage(
    /// It was one of ours: its token, so that a new one can be sent without typing anything.
    stale: Option<String>,
) -> impl IntoView {
    use crate::parts::{Actions, Button};
    match stale {
        Some(token) => view! {
            <article class="card narrow problem">
                <h1>{t("link-stale")}</h1>
                <p>{t("link-stale-say")}</p>
                <form method="post" action=format!("/v/{token}/renew")>
                    <Actions><Button kind=ButtonKind::Primary>{t("link-new")}</Button></Actions>
                </form>
            </article>
        }
        .into_any(),
        None => view! {
            <article class="card narrow problem">
                <h1>{t("link-nothing")}</h1>
                <p>
                    {t("link-nothing-say")}
                </p>
                <p class="actions"><ButtonLink href="/link" kind=ButtonKind::Primary>{t("link-new")}</ButtonLink></p>
            </article>
        }
        .into_any(),
    }
}
