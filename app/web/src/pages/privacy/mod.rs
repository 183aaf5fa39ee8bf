//! What is kept about people, for how long, who sees it, and how to have it erased.

use leptos::prelude::*;

use crate::parts::{Card, Column, DataTable};
use crate::say::{t, tw};

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
        Column::words(t("kept-what")),
        Column::words(t("kept-why")),
        Column::words(t("kept-long")),
        Column::words(t("kept-who")),
    ];
    let backups = keeper
        .backups
        .map_or_else(|| t("kept-backups-own"), |n| tw("kept-backups", &[("n", &n.to_string())]));
    let lapse = tw("kept-5-long", &[("n", &keeper.lapse_after_days.to_string())]);
    let rows = (1..=9)
        .map(|row| {
            let long = match row {
                5 => lapse.clone(),
                8 => backups.clone(),
                row => t(&format!("kept-{row}-long")),
            };
            let cell = |what: &str| t(&format!("kept-{row}-{what}")).into_any();
            vec![cell("what"), cell("why"), long.into_any(), cell("who")]
        })
        .collect();
    let who = if keeper.name.is_empty() {
        view! { <p>{t("kept-none")}</p> }.into_any()
    } else {
        let mail = format!("mailto:{}", keeper.email);
        view! { <p>{keeper.name} ", " {keeper.address} ", " <a href=mail>{keeper.email.clone()}</a></p> }
            .into_any()
    };
    view! {
        <h1>{t("frame-privacy")}</h1>
        <Card title=t("kept-title")>{who}</Card>
        <DataTable caption=t("kept-caption") columns=columns rows=rows />
        <Card title=t("kept-not")>
            <p>
                {t("kept-not-say")}
            </p>
        </Card>
        <Card title=t("kept-rights")>
            <p>
                {t("kept-rights-1")}
            </p>
            <p>
                {t("kept-rights-2")}
            </p>
        </Card>
    }
}
