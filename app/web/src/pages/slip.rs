//! The packing slip: what goes on top, inside the box.

use leptos::prelude::*;
use shop::booking::Address;
use shop::packing;
use shop::profile::Profile;
use shop::read::Visit;

use crate::parts::Notice;

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
                    <p>"Please confirm the booking by the link in our mail before you send anything."</p>
                </Notice>
            </div>
        }
    });
    let pieces: Vec<_> = visit
        .pieces
        .iter()
        .map(|piece| {
            let words = format!("{}, {} mm", piece.name, shop::units::short(piece.booked.length_mm, 0));
            let edge = piece.booked.edge.words();
            view! { <tr><td class="num">{piece.number}</td><td>{words}<br /><small>{edge}</small></td><td class="box-to-tick"></td></tr> }
        })
        .collect();
    let rules: Vec<_> = packing::RULES.into_iter().map(|rule| view! { <li>{rule}</li> }).collect();
    let from = visit.contact.address.clone().map(lines);
    let send_by = send_by.map(|day| view! { <p>"Please send it by " <strong>{day}</strong> "."</p> });
    view! {
        <div class="no-print">
            <p><a href=back>"Back to your visit"</a></p>
            <PrintButton />
        </div>
        {unconfirmed}
        <article class="sheet-a4 slip">
            <header class="slip-head">
                <div>
                    <p class="what">"Packing slip"</p>
                    <h1 class="reference">{visit.reference.to_string()}</h1>
                    {send_by}
                </div>
                <div class="qr" inner_html=qr></div>
            </header>
            <div class="split">
                <address>
                    <p class="what">"To"</p>
                    <p>{profile.name}<br />{profile.street}<br />{profile.town}<br />{profile.country}</p>
                </address>
                <address>
                    <p class="what">"From"</p>
                    <p>{visit.contact.name}{from}</p>
                </address>
            </div>
            <table class="lines">
                <thead><tr><th scope="col">"No."</th><th scope="col">"Knife"</th><th scope="col">"In the box"</th></tr></thead>
                <tbody>{pieces}</tbody>
            </table>
            <h2>"Packing"</h2>
            <ol>{rules}</ol>
            <p class="quiet">"For whoever opens it: cut-resistant gloves on, open away from yourself. A blade may have come through its wrapping."</p>
        </article>
    }
    .into_any()
}

/// Printing is the browser's own business; without a program in the page the words say how.
#[component]
fn PrintButton() -> impl IntoView {
    view! { <p class="quiet">"Print this page (Ctrl+P, or “Print” in your browser’s menu); only the slip comes out."</p> }
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
