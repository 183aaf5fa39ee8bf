//! The shop's own designs.

use leptos::prelude::*;
use shop::edge::EdgeKind;

use super::{Ask, Sheet, ShopHead, card};
use crate::parts::{
    Actions, Badge, Button, ButtonKind, ButtonLink, Choice, Column, DataTable, Empty, Input, Opt, Tone,
};

/// A model in the list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ModelLine {
    /// Its page.
    pub href: String,
    /// Its mark.
    pub mark: String,
    /// Its name.
    pub name: String,
    /// Its edge, in words.
    pub edge: String,
    /// Edge length, mm.
    pub length: String,
    /// Height when new and when worn out, mm.
    pub heights: String,
    /// Its steel.
    pub steel: String,
    /// Still made.
    pub current: bool,
}

/// All models.
#[component]
pub fn ModelsPage(
    /// The list, current ones first.
    models: Vec<ModelLine>,
) -> impl IntoView {
    let columns = vec![
        Column::words("Mark"),
        Column::words("Name"),
        Column::words("Edge"),
        Column::figures("Length", "mm"),
        Column::figures("Height, new to worn out", "mm"),
        Column::words("Steel"),
        Column::words("Stands"),
    ];
    let rows: Vec<_> = models
        .into_iter()
        .map(|m| {
            let stands = if m.current {
                view! { <Badge words="made now" tone=Tone::Good /> }.into_any()
            } else {
                view! { <Badge words="no longer made" /> }.into_any()
            };
            vec![
                view! { <a href=m.href>{m.mark}</a> }.into_any(),
                m.name.into_any(),
                m.edge.into_any(),
                m.length.into_any(),
                m.heights.into_any(),
                m.steel.into_any(),
                stands,
            ]
        })
        .collect();
    let list = if rows.is_empty() {
        view! { <Empty title="No model yet"><p>"Add the designs you make: their drawings price and plan the work."</p></Empty> }.into_any()
    } else {
        view! { <DataTable caption="Models" caption_hidden=true columns=columns rows=rows /> }.into_any()
    };
    view! {
        <ShopHead under="/shop/models" />
        {list}
        <Actions><ButtonLink href="/shop/models/new" kind=ButtonKind::Primary>"Add a model"</ButtonLink></Actions>
    }
}

/// What the page of one model shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ModelView {
    /// The form.
    pub sheet: Sheet,
    /// Its id; empty for a new one.
    pub id: String,
    /// The heading.
    pub title: String,
    /// Still made.
    pub current: bool,
    /// Its section near the edge, drawn to scale, as inline SVG; empty where it cannot be drawn.
    pub section: String,
    /// Why not, or what the drawing shows.
    pub section_words: String,
    /// Serrating setups of the bench: id and name.
    pub setups: Vec<(String, String)>,
    /// Steels whose figures are known.
    pub steels: Vec<String>,
}

/// One model, or a new one.
#[component]
pub fn ModelPage(
    /// What is shown.
    of: ModelView,
) -> impl IntoView {
    let sheet = of.sheet;
    let f = |ask: Ask<'_>| sheet.field(ask);
    let mm = |name, label, hint| f(Ask::of(name, label).kind(Input::Length).unit("mm").hint(hint));
    let edges = EdgeKind::ALL.map(|kind| Opt::new(kind.code(), kind.words()).drawn(kind)).to_vec();
    let action =
        if of.id.is_empty() { "/shop/models/new".to_owned() } else { format!("/shop/models/{}", of.id) };
    let mut setups = vec![Opt::new("", "none: a plain edge")];
    setups.extend(of.setups.into_iter().map(|(id, name)| Opt::new(id, name)));
    let steel = view! {
        <crate::parts::Field
            name="steel"
            label="Steel"
            hint="Its open designation, such as 1.2842. One that is not in the list is reckoned with cautious figures."
            value=sheet.typed.get("steel")
            error=sheet.errors.of("steel")
            suggestions=of.steels
        />
    };
    let section = (!of.id.is_empty()).then(|| {
        let drawn = (!of.section.is_empty()).then(|| view! { <div inner_html=of.section></div> });
        view! { {card("Section at the edge", view! {<figure>{drawn}<figcaption>{of.section_words}</figcaption></figure>})} }
    });
    let offer = (!of.id.is_empty()).then(|| {
        let (value, words) = if of.current { ("no", "No longer made") } else { ("yes", "Make it again") };
        let note = "Its knives stay known and can always be booked by their mark or tag; the booking form only stops to offer it first.";
        view! {
            {card("Retire", view! {
                <p class="quiet">{note}</p>
                <form method="post" action=format!("/shop/models/{}/offer", of.id)>
                    {sheet.version()}
                    <Button name="current" value=value>{words}</Button>
                </form>
            })}
        }
    });
    let hidden =
        sheet.typed.ticked("current").then(|| view! { <input type="hidden" name="current" value="true" /> });
    view! {
        <ShopHead under="/shop/models" title=of.title />
        {sheet.head()}
        <form method="post" action=action novalidate>
            {sheet.version()}
            {hidden}
            {card("What it is", view! {
                <div class="columns">
                    {f(Ask::of("mark", "Mark on the blade"))}
                    {f(Ask::of("name", "Name"))}
                </div>
                <Choice name="edge" legend="Edge" options=edges chosen=sheet.typed.get("edge") error=sheet.errors.of("edge") />
            })}
            {card("Blade, as new", view! {
                <div class="columns">
                    {mm("length-mm", "Length of the edge", "")}
                    {mm("height-mm", "Height at the middle", "")}
                    {mm("least-height-mm", "Worn out at a height of", "")}
                    {mm("spine-mm", "Thickness of the spine", "")}
                    {mm("behind-edge-mm", "Thickness behind the edge", "")}
                    {f(Ask::of("angle-deg", "Angle").unit("°").hint("Of each side; from the back where one side or teeth are ground."))}
                </div>
            })}
            {card("Steel and hardness", view! {
                <div class="columns">
                    {steel}
                    {f(Ask::of("edge-hrc", "Hardness of the edge").unit("HRC"))}
                    {f(Ask::of("spine-hrc", "Hardness of the spine").unit("HRC").hint("The same where it is hard throughout."))}
                    {f(Ask::of("least-hrc", "Least hardness of an edge you sell").unit("HRC"))}
                    {f(Ask::of("line-mm", "Hardness line above the new edge").unit("mm").hint("Empty: hard throughout.").optional())}
                    {f(Ask::of("transition-mm", "Hardness falls over").unit("mm").optional())}
                </div>
                {sheet.tick("darkened", "Darkened carbon steel: has to be darkened again after grinding", "")}
                {f(Ask::of("handle", "Handle").optional())}
            })}
            {card("Teeth, where it has any", view! {
                {teeth(&sheet)}
                {sheet.select("setup", "Cut in the setup", "The wheel that cut its teeth, and no other.", setups)}
            })}
            <Actions>
                <Button kind=ButtonKind::Primary>{if of.id.is_empty() { "Add the model" } else { "Save the model" }}</Button>
            </Actions>
        </form>
        {section}
        {offer}
        {sheet.foot()}
    }
}

/// The fields of the teeth a wheel cuts or a model has.
pub(super) fn teeth(sheet: &Sheet) -> AnyView {
    let mut forms = vec![Opt::new("", "no teeth")];
    forms.extend(EdgeKind::ALL.iter().filter(|k| k.is_serrated()).map(|k| Opt::new(k.code(), k.words())));
    view! {
        <div class="columns">
            {sheet.select("teeth", "Form", "", forms)}
            {sheet.field(Ask::of("pitch-mm", "Tooth to tooth").kind(Input::Length).unit("mm").optional())}
            {sheet.field(Ask::of("teeth-angle-deg", "Angle of the bevel from the back").unit("°").optional())}
            {sheet.field(Ask::of("ridge-radius-mm", "Round hollows: the ridge's radius").kind(Input::Length).unit("mm").optional())}
            {sheet.field(Ask::of("depth-mm", "Wavy or pointed: depth on the blade").kind(Input::Length).unit("mm").optional())}
        </div>
    }
    .into_any()
}
