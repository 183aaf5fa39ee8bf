//! The packing slip: what goes on top, inside the box.

use leptos::prelude::*;
use shop::booking::Address;
use shop::packing;
use shop::profile::Profile;
use shop::read::Visit;

use crate::parts::Notice;
use crate::say::{book, lang, t};

/// The packing slip, one sheet of paper.
#[component]
pub fn SlipPage(
    /// The visit.
    visit: Visit,
    /// The shop.
    profile: Profile,
    /// The reference as a QR code (SVG).
    qr: String,
    /// By when it should leave, in words; `None` for the counter.
    send_by: Option<String>,
    /// The private page.
    back: String,
) -> impl IntoView {
    let unconfirmed = visit.confirmed_at.is_none().then(|| {
        view! {
            <div class="no-print">
                <Notice tone=crate::parts::Tone::Warn>
                    <p>{t("slip-confirm")}</p>
                </Notice>
            </div>
        }
    });
    let phrases = book(&["name", "edge", "packing"]);
    let pieces: Vec<_> = visit
        .pieces
        .iter()
        .map(|piece| {
            let words = format!("{}, {}", phrases.say(&piece.name), lang().length(piece.booked.length_mm, 0));
            let edge = phrases.say(piece.booked.edge.words());
            view! { <tr><td class="num">{piece.number}</td><td>{words}<br /><small>{edge}</small></td><td class="box-to-tick"></td></tr> }
        })
        .collect();
    let rules: Vec<_> =
        packing::RULES.into_iter().map(|rule| view! { <li>{phrases.say(rule)}</li> }).collect();
    let from = visit.contact.address.clone().map(lines);
    let send_by = send_by.map(|day| view! { <p>{t("slip-by")} " " <strong>{day}</strong></p> });
    view! {
        <div class="no-print">
            <p><a href=back>{t("slip-back")}</a></p>
            <PrintButton />
        </div>
        {unconfirmed}
        <article class="sheet-a4 slip">
            <header class="slip-head">
                <div>
                    <p class="what">{t("slip")}</p>
                    <h1 class="reference">{visit.reference.to_string()}</h1>
                    {send_by}
                </div>
                <div class="qr" inner_html=qr></div>
            </header>
            <div class="split">
                <address>
                    <p class="what">{t("slip-to")}</p>
                    <p>{profile.name}<br />{profile.street}<br />{profile.town}<br />{profile.country}</p>
                </address>
                <address>
                    <p class="what">{t("slip-from")}</p>
                    <p>{visit.contact.name}{from}</p>
                </address>
            </div>
            <table class="lines">
                <thead><tr><th scope="col">{t("slip-no")}</th><th scope="col">{t("slip-knife")}</th><th scope="col">{t("slip-in-box")}</th></tr></thead>
                <tbody>{pieces}</tbody>
            </table>
            <h2>{t("slip-packing")}</h2>
            <ol>{rules}</ol>
            <p class="quiet">{t("slip-opener")}</p>
        </article>
    }
    .into_any()
}

/// Printing is the browser's own business; without a program in the page the words say how.
#[component]
fn PrintButton() -> impl IntoView {
    view! { <p class="quiet">{t("slip-print")}</p> }
}

fn lines(address: Address) -> impl IntoView {
    view! {
        <br />
        {address.street}
        <br />
        {format!("{} {}", address.postcode, address.town)}
        <br />
        {address.country}
    }
}
