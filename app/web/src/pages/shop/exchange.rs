//! CSV out and in.

use leptos::prelude::*;

use super::{Sheet, ShopHead, card};
use crate::parts::{Actions, Badge, Button, ButtonKind, ButtonLink, Column, DataTable, Notice, Opt, Tone};

/// What became, or would become, of one line.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TriedLine {
    /// Its number.
    pub number: String,
    /// The mark or field it is about.
    pub about: String,
    /// What it does, in a word or two.
    pub word: String,
    /// What it changes, or why it is refused.
    pub lines: Vec<String>,
    /// Refused.
    pub bad: bool,
}

/// What the page shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ExchangeView {
    /// What can be exchanged: word and name.
    pub tables: Vec<(String, String)>,
    /// The form of what is brought in.
    pub sheet: Sheet,
    /// What became of each line.
    pub lines: Vec<TriedLine>,
    /// It was taken over, not only tried.
    pub taken: bool,
    /// Lines that are refused.
    pub n_refused: usize,
}

/// CSV out and in.
#[component]
pub fn ExchangePage(
    /// What is shown.
    of: ExchangeView,
) -> impl IntoView {
    let sheet = of.sheet;
    let links: Vec<_> = of
        .tables
        .clone()
        .into_iter()
        .map(|(code, name)| view! { <ButtonLink href=format!("/shop/csv/{code}.csv")>{name}</ButtonLink> })
        .collect();
    let tables = of.tables.into_iter().map(|(code, name)| Opt::new(code, name)).collect();
    let outcome = (!of.lines.is_empty()).then(|| {
        let said = match (of.taken, of.n_refused) {
            (true, _) => view! { <Notice tone=Tone::Good>"Taken over. It holds from now on."</Notice> }.into_any(),
            (false, 0) => view! { <Notice tone=Tone::Plain>"Nothing would be refused. Nothing is taken over yet."</Notice> }.into_any(),
            (false, n) => {
                let words = format!("{n} lines are refused, so nothing is taken over.");
                view! { <Notice tone=Tone::Bad>{words}</Notice> }.into_any()
            }
        };
        let columns =
            vec![Column::figures("Line", ""), Column::words("About"), Column::words("Outcome"), Column::words("What")];
        let mut lines = of.lines;
        lines.sort_by_key(|line| !line.bad);
        let rows = lines
            .into_iter()
            .map(|line| {
                let tone = if line.bad { Tone::Bad } else { Tone::Plain };
                vec![
                    line.number.into_any(),
                    line.about.into_any(),
                    view! { <Badge words=line.word tone=tone /> }.into_any(),
                    line.lines.join(" ").into_any(),
                ]
            })
            .collect();
        view! { {said} <DataTable caption="Every line" columns=columns rows=rows /> }
    });
    let out = view! {
        <p>
            "A line of names on top, then one thing a line; profile, hours, prices, wording and stations one field a line, because \
             theirs are many. Any spreadsheet opens it. Figures go out only."
        </p>
        <div class="row">{links} <ButtonLink href="/shop/csv/figures.csv">"Figures"</ButtonLink></div>
    };
    let fields = view! {
        {sheet.select("table", "What it is", "", tables)}
        {sheet.text("text", "The lines", "Paste them with the line of names on top: out of a CSV file, or straight out of a spreadsheet. What is known is changed, what is new is added, and what is not mentioned stays as it is. A tick is true, or empty.", 10)}
        <Actions>
            <Button kind=ButtonKind::Primary name="do" value="try">"Try it"</Button>
            <Button name="do" value="take">"Take it over"</Button>
        </Actions>
    };
    view! {
        <ShopHead under="/shop/csv" />
        {sheet.head()}
        {outcome}
        {card("Out", out)}
        <form method="post" action="/shop/csv" novalidate>{card("In", fields)}</form>
    }
}
