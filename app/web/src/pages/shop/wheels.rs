//! Wheels, stones and belts.

use leptos::prelude::*;

use super::models::teeth;
use super::{Ask, Sheet, ShopHead, card};
use crate::parts::{
    Actions, Badge, Button, ButtonKind, ButtonLink, Caution, Column, DataTable, Empty, Facts, Input, Opt,
    Picture, Refusal, Tone, known,
};

/// A wheel in the list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WheelLine {
    /// Its page.
    pub href: String,
    /// Its mark.
    pub mark: String,
    /// Its name.
    pub name: String,
    /// Station and setup.
    pub place: String,
    /// Grain and bond.
    pub grain: String,
    /// Diameter today and at which it is done, mm.
    pub diameter: String,
    /// Surface speed, m/s.
    pub speed: String,
    /// Which dressing, and pieces since.
    pub dressing: String,
    /// Why it must not be run.
    pub unfit: Option<String>,
    /// Out of use since.
    pub retired: Option<String>,
}

/// All wheels.
#[component]
pub fn WheelsPage(
    /// The list, those in use first.
    wheels: Vec<WheelLine>,
) -> impl IntoView {
    let columns = vec![
        Column::words("Mark"),
        Column::words("Name"),
        Column::words("Runs at"),
        Column::words("Grain"),
        Column::figures("Diameter, least", "mm"),
        Column::figures("Surface speed", "m/s"),
        Column::words("Dressing"),
        Column::words("Stands"),
    ];
    let refusals: Vec<_> = wheels
        .iter()
        .filter(|w| w.retired.is_none())
        .filter_map(|w| w.unfit.clone())
        .map(|why| view! { <Refusal title="Do not run this wheel"><p>{why}</p></Refusal> })
        .collect();
    let rows: Vec<_> = wheels
        .into_iter()
        .map(|w| {
            let stands = match (&w.retired, &w.unfit) {
                (Some(since), _) => view! { <Badge words=format!("out of use since {since}") /> }.into_any(),
                (None, Some(_)) => view! { <Badge words="do not run" tone=Tone::Bad /> }.into_any(),
                (None, None) => view! { <Badge words="in use" tone=Tone::Good /> }.into_any(),
            };
            vec![
                view! { <a href=w.href>{w.mark}</a> }.into_any(),
                w.name.into_any(),
                w.place.into_any(),
                w.grain.into_any(),
                known(w.diameter),
                known(w.speed),
                known(w.dressing),
                stands,
            ]
        })
        .collect();
    let list = if rows.is_empty() {
        view! { <Empty title="No wheel or stone yet"><p>"Add what stands at the bench."</p></Empty> }
            .into_any()
    } else {
        view! { <DataTable caption="Wheels and stones" caption_hidden=true columns=columns rows=rows /> }
            .into_any()
    };
    view! {
        <ShopHead under="/shop/wheels" />
        {refusals}
        {list}
        <Actions><ButtonLink href="/shop/wheels/new" kind=ButtonKind::Primary>"Add a wheel or stone"</ButtonLink></Actions>
    }
}

/// What the page of one wheel shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WheelView {
    /// The form.
    pub sheet: Sheet,
    /// Its id; empty for a new one.
    pub id: String,
    /// The heading.
    pub title: String,
    /// Why it must not be run.
    pub unfit: Option<String>,
    /// Surface speed, dressing, pieces: word and fact.
    pub facts: Vec<(String, String)>,
    /// It is dressed from time to time, and turns (then the diameter is asked).
    pub dress: Option<bool>,
    /// It is out of use.
    pub retired: bool,
    /// Setups of the bench: `station/setup` and name.
    pub places: Vec<(String, String)>,
}

/// One wheel, or a new one.
#[component]
pub fn WheelPage(
    /// What is shown.
    of: WheelView,
) -> impl IntoView {
    let sheet = of.sheet;
    let f = |ask: Ask<'_>| sheet.field(ask);
    let new = of.id.is_empty();
    let action = if new { "/shop/wheels/new".to_owned() } else { format!("/shop/wheels/{}", of.id) };
    let refusal = of.unfit.map(|why| view! { <Refusal title="Do not run this wheel"><p>{why}</p></Refusal> });
    let facts = (!of.facts.is_empty()).then(|| {
        let items = of.facts.into_iter().map(|(word, fact)| (word, fact.into_any())).collect();
        view! { {card("Today", view! {<Facts items=items />})} }
    });
    let mut places = vec![Opt::new("", "please choose")];
    places.extend(of.places.into_iter().map(|(id, name)| Opt::new(id, name)));
    let bonds = shop::owner::bonds().map(|(code, bond)| Opt::new(code, bond.words())).to_vec();
    let dress = of.dress.map(|turns| {
        let after = turns.then(|| f(Ask::of("diameter-after", "Diameter after dressing").kind(Input::Length).unit("mm")));
        view! {
            {card("Dressed", view! {
                <p class="quiet">"A new generation of its profile begins; knives remember which one cut them."</p>
                <form method="post" action=format!("/shop/wheels/{}/dress", of.id) novalidate>
                    {sheet.version()}
                    {after}
                    <Button>"Note the dressing"</Button>
                </form>
            })}
        }
    });
    let retire = (!new).then(|| {
        let (value, words) =
            if of.retired { ("no", "Put it back into use") } else { ("yes", "Take it out of use") };
        view! {
            {card("Out of use", view! {
                <p class="quiet">"Worn out, broken or sold. Its record and the knives it cut stay."</p>
                <form method="post" action=format!("/shop/wheels/{}/retire", of.id)>
                    {sheet.version()}
                    <Button name="retire" value=value>{words}</Button>
                </form>
            })}
        }
    });
    view! {
        <ShopHead under="/shop/wheels" title=of.title />
        {refusal}
        {sheet.head()}
        {facts}
        <form method="post" action=action novalidate>
            {sheet.version()}
            {card("What it is", view! {
                <div class="columns">
                    {f(Ask::of("mark", "Its own mark").hint("Written on it: W-3."))}
                    {f(Ask::of("name", "Name"))}
                    {sheet.select("place", "Runs at", "", places)}
                    {sheet.select("bond", "Grain held by", "", bonds)}
                    {f(Ask::of("grit", "Grain as marked").hint("With its scale: FEPA F 120, JIS 1000."))}
                </div>
            })}
            {card("Size and speed", view! {
                <Caution picture=Picture::Warn source="Common practice; the wheel maker's marking and local rules come first.">
                    "Never run a wheel faster than the speed marked on it. One without a marking is not run."
                </Caution>
                <div class="columns">
                    {f(Ask::of("diameter-mm", "Diameter today").kind(Input::Length).unit("mm").hint("Empty for belts and bench stones.").optional())}
                    {f(Ask::of("new-diameter-mm", "Diameter when new").kind(Input::Length).unit("mm").hint("Empty: its life is counted from today.").optional())}
                    {f(Ask::of("least-diameter-mm", "Taken off at").kind(Input::Length).unit("mm").optional())}
                    {f(Ask::of("pieces", "Pieces ground on it so far").hint("Since it was new; counted on by itself.").optional())}
                    {f(Ask::of("width-mm", "Width").kind(Input::Length).unit("mm"))}
                    {f(Ask::of("marked-rpm", "Highest speed marked on it").unit("per min").hint("Read it off the wheel. Empty for what does not turn.").optional())}
                    {f(Ask::of("spindle-rpm", "Speed of its spindle").unit("per min").optional())}
                </div>
            })}
            {card("Teeth it cuts, where it cuts any", view! {{teeth(&sheet)}})}
            <Actions>
                <Button kind=ButtonKind::Primary>{if new { "Add it" } else { "Save the wheel" }}</Button>
            </Actions>
        </form>
        {dress}
        {retire}
        {sheet.foot()}
    }
}
