//! The shop's front: what it does, and the way in.

use leptos::prelude::*;
use shop::hours::{Hours, clock};
use shop::packing;
use shop::profile::Profile;

use crate::parts::{ButtonKind, ButtonLink, Card, Empty, Pictogram, Picture};

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
            <Empty title="This shop is not set up yet">
                <p>"Whoever runs it can sign in and begin. " <a href="/sign-in">"Sign in"</a></p>
            </Empty>
        }
        .into_any();
    };
    let refused: Vec<_> = packing::REFUSED
        .into_iter()
        .map(|(what, why)| view! { <li><strong>{what}</strong>": " {why} "."</li> })
        .collect();
    let hours = opening(&profile.counter);
    let ready = ready_by.map(|day| view! { <p class="lead">"Sent today, a knife would be ready by " <strong>{day}</strong> "."</p> });
    let phone = (!profile.phone.is_empty()).then(|| view! { <li>{profile.phone.clone()}</li> });
    view! {
        <article class="home stack">
            <header class="hero">
                <h1>{profile.name.clone()}</h1>
                <p class="lead">
                    "We take knives back: our own, serrated ones above all, because only the maker still has the wheel that cut \
                     the teeth, and plain ones of other makes."
                </p>
                {ready}
                <p class="actions">
                    <ButtonLink href="/book" kind=ButtonKind::Primary>"Book a sharpening"</ButtonLink>
                    <ButtonLink href="/link">"Where is my knife?"</ButtonLink>
                </p>
            </header>
            <section class="columns">
                <div class="way">
                    <Pictogram of=Picture::Knife />
                    <h2>"You say what is wrong"</h2>
                    <p>"A few ticks for each knife. You see at once what steel it would take, what it would cost and how often it can be done again."</p>
                </div>
                <div class="way">
                    <Pictogram of=Picture::Inspection />
                    <h2>"We measure"</h2>
                    <p>"With caliper and gauge, before anything turns. If it comes out beyond what you booked, we ask you first."</p>
                </div>
                <div class="way">
                    <Pictogram of=Picture::Wheel />
                    <h2>"We grind, and prove it"</h2>
                    <p>"On the wheel that cut it, no deeper than agreed. Every knife passes a cutting test before it leaves."</p>
                </div>
                <div class="way">
                    <Pictogram of=Picture::Home />
                    <h2>"It comes back with its record"</h2>
                    <p>"What was taken off, what is left, and a forecast: the ledger of that very knife, for as long as it lives."</p>
                </div>
            </section>
            <Card title="What we do not take, and why"><ul>{refused}</ul></Card>
            <Card title="Where we are">
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
            </Card>
        </article>
    }
    .into_any()
}

/// The week's hours of the counter; days with the same hours stand together.
fn opening(hours: &Hours) -> Vec<impl IntoView + use<>> {
    const DAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
    let words = |day: usize| {
        let stretches: Vec<_> =
            hours.week[day].iter().map(|s| format!("{} to {}", clock(s.from), clock(s.to))).collect();
        if stretches.is_empty() { "closed".to_owned() } else { stretches.join(", ") }
    };
    let mut groups: Vec<(usize, usize, String)> = Vec::new();
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
            let name = if first == last {
                DAYS[first].to_owned()
            } else {
                format!("{} to {}", DAYS[first], DAYS[last])
            };
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
                <h1>"Look into your mail"</h1>
                <Notice tone=Tone::Good>
                    <p>
                        "If we know this address, a mail with links to your visits is on its way; it takes a minute or two. If \
                         none comes, you may have booked with another address."
                    </p>
                </Notice>
                <p><a href="/">"To the beginning"</a></p>
            </article>
        }
        .into_any();
    }
    view! {
        <article class="card narrow">
            <h1>"Where is my knife?"</h1>
            <p>"Every mail from us holds a link to your visit. If you cannot find it, we send you a new one."</p>
            <form method="post" action="/link" class="stack">
                <Field
                    name="email"
                    label="The mail address you booked with"
                    value=address
                    kind=Input::Email
                    error=error
                    maxlength=254
                    required=true
                />
                <Actions><Button kind=ButtonKind::Primary>"Send me a link"</Button></Actions>
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
                <h1>"This link is past its day"</h1>
                <p>"Links work for a while only, so that an old mail opens nothing. We can send a new one to the mail address of the visit."</p>
                <form method="post" action=format!("/v/{token}/renew")>
                    <Actions><Button kind=ButtonKind::Primary>"Send me a new link"</Button></Actions>
                </form>
            </article>
        }
        .into_any(),
        None => view! {
            <article class="card narrow problem">
                <h1>"This link opens nothing"</h1>
                <p>
                    "Perhaps a piece of it was lost when it was copied: it should end with 43 letters and figures. Open it from the mail \
                     itself, or let us send you a new one."
                </p>
                <p class="actions"><ButtonLink href="/link" kind=ButtonKind::Primary>"Send me a new link"</ButtonLink></p>
            </article>
        }
        .into_any(),
    }
}
