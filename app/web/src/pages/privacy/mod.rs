//! What is kept about people, for how long, who sees it, and how to have it erased.

use leptos::prelude::*;

use crate::parts::{Card, Column, DataTable};

/// Who keeps it, and the shop's own times.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Keeper {
    /// The shop's name; empty until it is set up.
    pub name: String,
    /// Its address, one line.
    pub address: String,
    /// Where to write.
    pub email: String,
    /// Days after which a booking that never arrived lapses.
    pub lapse_after_days: u16,
    /// How many nightly backups are kept; `None`: none are made by the program.
    pub backups: Option<u32>,
}

/// The public page.
#[component]
pub fn PrivacyPage(
    /// Who keeps it.
    keeper: Keeper,
) -> impl IntoView {
    let columns = vec![
        Column::words("What"),
        Column::words("What for"),
        Column::words("How long"),
        Column::words("Who sees it"),
    ];
    let backups = keeper.backups.map_or_else(
        || "as long as the shop's own backups".to_owned(),
        |n| format!("in the shop's last {n} nightly backups"),
    );
    let rows = [
        (
            "Your name, mail address, telephone, address",
            "to reach you and send your knives back",
            "until you ask to be erased".to_owned(),
            "desk, owner; the address also the parcel service",
        ),
        (
            "What you write about your knives, and our notes",
            "to do the work you want",
            "until you ask to be erased".to_owned(),
            "desk, bench, owner",
        ),
        (
            "Pictures of your knives",
            "to know them apart and show their state",
            "until you ask to be erased; pictures of a booking that was never sent, a day or two".to_owned(),
            "desk, bench, owner; you, by your private link",
        ),
        (
            "The notices we sent you",
            "so that what was said can be looked up",
            "until you ask to be erased".to_owned(),
            "desk, owner; your mail provider",
        ),
        (
            "Your bookings and what was agreed",
            "to keep what we promised",
            format!(
                "until you ask to be erased; a booking that never arrives lapses after {} days",
                keeper.lapse_after_days
            ),
            "desk, bench, owner",
        ),
        (
            "Numbered bills",
            "because bookkeeping asks for them",
            "as long as the law asks; they carry a number and no name".to_owned(),
            "owner",
        ),
        (
            "Each knife's technical record: measures, work, checks",
            "to say how much life a blade has left",
            "for good; it names nobody".to_owned(),
            "desk, bench, owner; whoever owns the knife",
        ),
        ("Copies of all of this", "so that nothing is lost by an accident", backups, "owner"),
        (
            "Technical log lines: time, page, answer, a reference number",
            "to find faults",
            "as long as the shop keeps its logs".to_owned(),
            "whoever runs the server; they hold no name, address or link",
        ),
    ]
    .into_iter()
    .map(|(what, why, long, who)| vec![what.into_any(), why.into_any(), long.into_any(), who.into_any()])
    .collect();
    let who = if keeper.name.is_empty() {
        view! { <p>"This shop is not set up yet, and keeps nothing about anybody."</p> }.into_any()
    } else {
        let mail = format!("mailto:{}", keeper.email);
        view! { <p>{keeper.name} ", " {keeper.address} ", " <a href=mail>{keeper.email.clone()}</a></p> }
            .into_any()
    };
    view! {
        <h1>"What is kept about you"</h1>
        <Card title="Who keeps it">{who}</Card>
        <DataTable caption="What is kept, what for, how long, and who sees it" columns=columns rows=rows />
        <Card title="What is not">
            <p>
                "No advertising, no measuring of visitors, no programs or pictures from other companies, and no card numbers. The only
                 cookie is the one that keeps staff signed in. A reminder that a knife is due for service comes only if you asked for it,
                 and stops with one click."
            </p>
        </Card>
        <Card title="To see it, to correct it, to have it erased">
            <p>
                "Write to the address above and name the reference of one of your visits. You get everything in one file, or we take you out
                 of our books: your name, addresses, notes, pictures and the notices go at once, and from the backups as they are replaced.
                 Only while a knife of yours is with us do we need to know whose it is."
            </p>
            <p>
                "The technical record of a blade stays, because the next owner depends on it, but nothing leads from it to you. In the
                 European Union these rights come from the General Data Protection Regulation, articles 15 to 20; you may also turn to
                 your data protection authority."
            </p>
        </Card>
    }
}
