//! The bench's first page: which station next.

use leptos::prelude::*;

use super::{FloorView, StationCard, Strip};
use crate::parts::{Badge, Bench, ButtonKind, ButtonLink, Empty, Pictogram, Tone};

/// Stations with their next runs.
#[component]
pub fn FloorPage(
    /// What is shown.
    floor: FloorView,
) -> impl IntoView {
    let mine = floor.mine.clone().map(|(href, words)| {
        view! { <p><ButtonLink href=href kind=ButtonKind::Primary big=true>"My next run: " {words}</ButtonLink></p> }
    });
    let body = if floor.bare {
        view! { <Empty title="The bench is not set up yet"><p>"The owner sets up stations under Shop."</p></Empty> }.into_any()
    } else {
        let cards: Vec<_> =
            floor.stations.into_iter().map(|card| view! { <StationLink card=card /> }).collect();
        view! { <ul class="plain stations">{cards}</ul> }.into_any()
    };
    view! {
        <Bench>
            <div class="stack" data-bench="/bench">
                <h1>"Bench"</h1>
                {mine}
                {body}
            </div>
            <Strip path="/bench".to_owned() />
        </Bench>
    }
}

#[component]
fn StationLink(card: StationCard) -> impl IntoView {
    let busy: Vec<_> =
        card.busy.into_iter().map(|text| view! { <p><Badge words=text tone=Tone::Now /></p> }).collect();
    let next = match (card.closed, card.next) {
        (true, _) => view! { <p><Badge words="out of order" tone=Tone::Bad /></p> }.into_any(),
        (false, Some((setup, n, when))) => {
            let pieces = if n == 1 { "1 piece".to_owned() } else { format!("{n} pieces") };
            let ready = match card.ready {
                0 => "none can be begun yet".to_owned(),
                r if r == n => "all can be begun".to_owned(),
                r => format!("{r} can be begun"),
            };
            let when = (!when.is_empty()).then(|| view! { <p class="quiet">{when}</p> });
            view! {
                {(!setup.is_empty()).then(|| view! { <p><strong>{setup}</strong></p> })}
                <p>{format!("{pieces}, {ready}")}</p>
                {when}
            }
            .into_any()
        }
        (false, None) => view! { <p class="quiet">"nothing in line"</p> }.into_any(),
    };
    view! {
        <li>
            <a class="station-card" href=card.href>
                <Pictogram of=card.kind />
                <span class="inside">
                    <span class="station-name">{card.name}</span>
                    {busy}
                    {next}
                </span>
            </a>
        </li>
    }
}
