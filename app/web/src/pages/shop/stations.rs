//! Stations, their setups, and the minutes between them.

use leptos::prelude::*;
use shop::edge::EdgeKind;
use shop::owner::{SETUP_ROWS, kind_words, station_kinds};
use shop::route::OperationKind;

use super::{Ask, Sheet, ShopHead, card};
use crate::parts::{
    Actions, Badge, Button, ButtonKind, ButtonLink, Column, DataTable, Empty, Fold, Group, Input, Opt, Tone,
    id_of,
};

/// A station in the list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct StationLine {
    /// Its page.
    pub href: String,
    /// Its name.
    pub name: String,
    /// What is done there.
    pub does: String,
    /// Its setups.
    pub setups: String,
    /// What is mounted.
    pub mounted: String,
    /// The skill it takes.
    pub skill: String,
    /// Out of order.
    pub closed: bool,
}

/// All stations, in the order work flows.
#[component]
pub fn StationsPage(
    /// The list.
    stations: Vec<StationLine>,
) -> impl IntoView {
    let columns = vec![
        Column::words("Station"),
        Column::words("Does"),
        Column::words("Setups"),
        Column::words("Mounted"),
        Column::words("Skill"),
        Column::words("Stands"),
    ];
    let rows: Vec<_> = stations
        .into_iter()
        .map(|s| {
            let stands = if s.closed {
                view! { <Badge words="out of order" tone=Tone::Bad /> }.into_any()
            } else {
                view! { <Badge words="in order" tone=Tone::Good /> }.into_any()
            };
            vec![
                view! { <a href=s.href>{s.name}</a> }.into_any(),
                s.does.into_any(),
                s.setups.into_any(),
                s.mounted.into_any(),
                s.skill.into_any(),
                stands,
            ]
        })
        .collect();
    let list = if rows.is_empty() {
        view! { <Empty title="No station yet"><p>"Add the places where work is done."</p></Empty> }.into_any()
    } else {
        view! { <DataTable caption="Stations" caption_hidden=true columns=columns rows=rows /> }.into_any()
    };
    view! {
        <ShopHead under="/shop/stations" />
        {list}
        <Actions><ButtonLink href="/shop/stations/new" kind=ButtonKind::Primary>"Add a station"</ButtonLink></Actions>
    }
}

/// What the page of one station shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct StationView {
    /// The form.
    pub sheet: Sheet,
    /// Its id; empty for a new one.
    pub id: String,
    /// The heading.
    pub title: String,
}

/// One station, or a new one.
#[component]
pub fn StationPage(
    /// What is shown.
    of: StationView,
) -> impl IntoView {
    let sheet = of.sheet;
    let new = of.id.is_empty();
    let f = |ask: Ask<'_>| sheet.field(ask);
    let minutes =
        |name, label, hint| f(Ask::of(name, label).kind(Input::Whole).unit("min").hint(hint).optional());
    let action = if new { "/shop/stations/new".to_owned() } else { format!("/shop/stations/{}", of.id) };
    let kinds = station_kinds().map(|(code, kind)| Opt::new(code, kind_words(kind))).to_vec();
    let does: Vec<_> = OperationKind::ALL
        .iter()
        .map(|kind| sheet.tick(&format!("does-{}", kind.code()), kind.words(), ""))
        .collect();
    let id = new.then(|| {
        f(Ask::of("id", "Short name")
            .hint("Small letters and dashes; it stands in addresses and never changes."))
    });
    let filled = |row: &usize| !sheet.typed.get(&format!("setup-{row}-id")).is_empty();
    let rows: Vec<usize> = (0..SETUP_ROWS).filter(filled).collect();
    let free = (0..SETUP_ROWS).find(|row| !filled(row));
    let setups: Vec<_> = rows
        .iter()
        .map(|row| setup(&sheet, *row, false))
        .chain(free.map(|row| setup(&sheet, row, true)))
        .collect();
    let mut mounted = vec![Opt::new("", "nothing")];
    mounted.extend(rows.iter().map(|row| {
        let (id, name) =
            (sheet.typed.get(&format!("setup-{row}-id")), sheet.typed.get(&format!("setup-{row}-name")));
        Opt::new(id, if name.is_empty() { id } else { name })
    }));
    let remove = (!new).then(|| {
        view! {
            {card("Take it away", view! {
                <p class="quiet">"Only when no wheel, model or work ahead needs it. To close it for a while, tick “out of order” above."</p>
                <form method="post" action=format!("/shop/stations/{}/remove", of.id)>
                    {sheet.version()}
                    <Button kind=ButtonKind::Danger>"Take the station away"</Button>
                </form>
            })}
        }
    });
    view! {
        <ShopHead under="/shop/stations" title=of.title />
        {sheet.head()}
        <form method="post" action=action novalidate>
            {sheet.version()}
            {card("What it is", view! {
                <div class="columns">
                    {id}
                    {f(Ask::of("name", "Name"))}
                    {sheet.select("kind", "Kind", "It decides which cautions and checks are shown there.", kinds)}
                    {f(Ask::of("basin", "Pieces that go in together").kind(Input::Whole))}
                    {f(Ask::of("skill", "Skill it takes").hint("One word; empty: everybody may.").optional())}
                    {minutes("attended", "Somebody stands by for", "Empty: all the time.")}
                    {minutes("rest", "Rest afterwards", "")}
                    {sheet.select("mounted", "Mounted now", "", mounted)}
                </div>
                {sheet.tick("through-breaks", "Goes on through breaks: needs nobody while it works", "")}
                {sheet.tick("closed", "Out of order: plan no work here", "")}
            })}
            {card("", view! {
                <Group legend="What is done here" name="does" error=sheet.errors.of("does")>{does}</Group>
            })}
            {card("Setups", view! {
                <p class="quiet">"What must be mounted, dressed or set first. Pieces that share one run together."</p>
                <div class="stack">{setups}</div>
            })}
            {changeovers(&sheet, &rows)}
            <Actions>
                <Button kind=ButtonKind::Primary>{if new { "Add the station" } else { "Save the station" }}</Button>
            </Actions>
        </form>
        {remove}
        {sheet.foot()}
    }
}

/// The fields of one setup; `free`: an empty row for one more.
fn setup(sheet: &Sheet, row: usize, free: bool) -> AnyView {
    let name = |part: &str| format!("setup-{row}-{part}");
    let f = |part: &str, label: &str, unit: &str, hint: &str, kind: Input| {
        let ask = Ask { name: &name(part), label, unit, hint, kind, optional: part != "id" };
        sheet.field(ask)
    };
    let mut edges = vec![Opt::new("", "any")];
    edges.extend(EdgeKind::ALL.iter().map(|kind| Opt::new(kind.code(), kind.words())));
    let does: Vec<_> = OperationKind::ALL
        .iter()
        .map(|kind| sheet.tick(&name(&format!("does-{}", kind.code())), kind.words(), ""))
        .collect();
    let has_does =
        OperationKind::ALL.iter().any(|kind| sheet.typed.ticked(&name(&format!("does-{}", kind.code()))));
    let title = match (free, sheet.typed.get(&name("name")), sheet.typed.get(&name("id"))) {
        (true, ..) => "One more setup".to_owned(),
        (false, "", id) => id.to_owned(),
        (false, name, _) => name.to_owned(),
    };
    let wrong = sheet.errors.0.iter().any(|error| error.field.starts_with(&name("")));
    let remove = (!free).then(|| sheet.tick(&name("remove"), "Take this setup away", ""));
    let fields = view! {
        <div class="columns">
            {f("id", "Short name", "", "Such as arc-5.", Input::Text)}
            {f("name", "Name", "", "", Input::Text)}
            {f("first", "Mounting it takes", "min", "On an empty station.", Input::Whole)}
            {f("angle", "Set to an angle of", "°", "For bevels.", Input::Figure)}
            {sheet.select(&name("edge"), "For edges that are", "", edges)}
            {f("every", "Dressed after", "pieces", "", Input::Whole)}
            {f("dress", "A dressing takes", "min", "", Input::Whole)}
        </div>
    };
    let group = name("does");
    let legend = format!("What is done in {}", if free { "it".to_owned() } else { title.clone() });
    view! {
        <Fold summary=title open=wrong>
            {fields}
            <Fold summary="Only some of the station's work" open=has_does>
                <Group legend=legend name=group hint="Nothing ticked: all of it.">{does}</Group>
            </Fold>
            {remove}
        </Fold>
    }
    .into_any()
}

/// The table of changeovers: from the row's setup to the column's.
fn changeovers(sheet: &Sheet, rows: &[usize]) -> AnyView {
    if rows.len() < 2 {
        return ().into_any();
    }
    let label = |row: usize| {
        let name = sheet.typed.get(&format!("setup-{row}-name"));
        if name.is_empty() { sheet.typed.get(&format!("setup-{row}-id")).to_owned() } else { name.to_owned() }
    };
    let head: Vec<_> = rows.iter().map(|to| view! { <th scope="col">{label(*to)}</th> }).collect();
    let body: Vec<_> = rows
        .iter()
        .map(|from| {
            let cells: Vec<_> = rows
                .iter()
                .map(|to| {
                    if from == to {
                        return view! { <td class="quiet">"–"</td> }.into_any();
                    }
                    let name = format!("over-{from}-{to}");
                    let said = format!("From {} to {}, minutes", label(*from), label(*to));
                    let wrong =
                        sheet.errors.of(&name).map(|text| view! { <p class="error">{text.to_owned()}</p> });
                    view! {
                        <td>
                            <input
                                class="small"
                                id=id_of(&name)
                                name=name.clone()
                                type="text"
                                inputmode="numeric"
                                size="4"
                                autocomplete="off"
                                aria-label=said
                                aria-invalid=wrong.is_some().then_some("true")
                                value=sheet.typed.get(&name).to_owned()
                            />
                            {wrong}
                        </td>
                    }
                    .into_any()
                })
                .collect();
            view! { <tr><th scope="row">{label(*from)}</th>{cells}</tr> }
        })
        .collect();
    view! {
        {card("Changeovers", view! {
            <p class="quiet">"Minutes from the setup of the row to that of the column. A new setup starts with its mounting."</p>
            <div class="drawing-scroll" tabindex="0" role="group" aria-label="Table of changeovers">
                <table class="changeover">
                    <caption class="hidden">"Changeovers in minutes"</caption>
                    <thead><tr><th scope="col">"From, to"</th>{head}</tr></thead>
                    <tbody>{body}</tbody>
                </table>
            </div>
        })}
    }
    .into_any()
}
