//! One knife of the booking form.

use std::fmt::Write as _;

use leptos::prelude::*;
use shop::bench::{Drawing, Model};
use shop::booking::RawKnife;
use shop::edge::EdgeKind;
use shop::field::FieldErrors;
use shop::units;

use crate::parts::{
    Button, ButtonKind, Choice, Field, Fold, Group, Input, Opt, Pictogram, Picture, TextArea, Tick, id_of,
};
use crate::say::{book, lang, t, tn, tw};

/// The fields of one knife, and our answers about it.
#[component]
pub fn KnifeForm(
    /// Place in the form, from 0.
    i: usize,
    /// It is the only one.
    only: bool,
    /// The form is full: no more knives.
    full: bool,
    /// As typed.
    knife: RawKnife,
    /// Our models, current ones first.
    models: Vec<Model>,
    /// What is wrong with the form.
    errors: FieldErrors,
    /// Addresses of the pictures sent so far.
    pictures: Vec<String>,
    /// Our answers (HTML).
    answer: String,
    /// The eye should go here.
    seen: bool,
) -> impl IntoView {
    let at = move |name: &str| format!("knives[{i}][{name}]");
    let said = {
        let errors = errors.clone();
        move |name: &str| errors.of(&at(name)).map(str::to_owned)
    };
    let echo = |typed: &str| Some(units::echo(typed, lang()));
    let whole = errors.of(&format!("knives[{i}]")).map(|text| {
        view! { <p class="error" id=format!("knives-{i}") tabindex="-1">{text.to_owned()}</p> }
    });
    let phrases = book(&["edge"]);
    let edges: Vec<_> =
        EdgeKind::ALL.map(|edge| Opt::new(edge.code(), phrases.say(edge.words())).drawn(edge)).into();
    let place = knife.place.clone();
    let seen = seen && errors.is_empty();
    let again = (!full).then(|| {
        view! {
            <Button kind=ButtonKind::Quiet name="do" value=format!("again-{i}") attr:formnovalidate=true>{t("knife-again")}</Button>
        }
    });
    let remove = (!only).then(|| {
        view! {
            <Button kind=ButtonKind::Quiet name="do" value=format!("remove-{i}") attr:formnovalidate=true>{t("knife-remove")}</Button>
        }
    });
    let shown: Vec<_> = pictures
        .into_iter()
        .enumerate()
        .map(|(n, src)| view! { <li><img src=src alt=tw("knife-photo-alt", &[("photo", &(n + 1).to_string()), ("knife", &(i + 1).to_string())]) width="96" height="96" /></li> })
        .collect();
    let shown = (!shown.is_empty()).then(|| {
        view! { <ul class="thumbs" aria-label=t("knife-photos-have")>{shown}</ul> }
    });
    let photo_name = format!("photo-{place}");
    let photo_error = errors
        .of(&photo_name)
        .map(|text| view! { <p class="error" id=format!("{photo_name}-error")>{text.to_owned()}</p> });
    let photo_bad = photo_error.is_some();
    view! {
        <fieldset class="card knife" id=format!("knife-{}", i + 1)>
            <legend>
                <span tabindex="-1" autofocus=seen>{tn("knife-n", i + 1)}</span>
            </legend>
            <input type="hidden" name=at("place") value=place />
            {whole}
            <ModelChoice i=i models=models chosen=knife.model.clone() error=said("model") />
            <div class="other-make">
                <Field
                    name=at("make")
                    label=t("knife-make")
                    value=knife.make
                    hint=t("knife-make-hint")
                    error=said("make")
                    optional=true
                    maxlength=80
                />
                <Choice name=at("edge") legend=t("knife-edge") options=edges chosen=knife.edge.clone() error=said("edge") />
                <Choice
                    name=at("teeth_wish")
                    legend=t("knife-teeth")
                    hint=t("knife-teeth-hint")
                    options=vec![
                        Opt::new("keep", t("knife-keep")).note(t("knife-keep-note")),
                        Opt::new("plain", t("knife-plain")),
                    ]
                    chosen=knife.teeth_wish.clone()
                    error=said("teeth_wish")
                    optional=true
                />
            </div>
            <div class="fields">
                <Field
                    name=at("length")
                    label=t("knife-length")
                    value=knife.length.clone()
                    kind=Input::Length
                    unit="mm"
                    hint=t("knife-length-hint")
                    error=said("length")
                    echo=echo(&knife.length)
                    maxlength=20
                />
                <Field
                    name=at("tag")
                    label=t("knife-tag")
                    value=knife.tag
                    kind=Input::Tag
                    hint=t("knife-tag-hint")
                    error=said("tag")
                    optional=true
                    maxlength=12
                />
            </div>
            <div class="other-make">
                <Field
                    name=at("steel")
                    label=t("knife-steel")
                    value=knife.steel
                    hint=t("knife-steel-hint")
                    error=said("steel")
                    optional=true
                    maxlength=40
                />
                <Tick name=at("carbon") label=t("knife-carbon") checked=knife.carbon />
            </div>
            // Not named `dull`: that is the first tick, and two elements of one id leave its label without effect.
            <Group legend=t("knife-wrong") name=at("trouble") error=said("dull")>
                <Tick name=at("dull") label=t("knife-dull") checked=knife.dull picture=Picture::Dull />
                <Tick name=at("chips") label=t("knife-chips") checked=knife.chips picture=Picture::Chips />
                <Tick name=at("tip") label=t("knife-tip") checked=knife.tip picture=Picture::TipMissing />
                <Tick name=at("teeth") label=t("knife-teeth-worn") checked=knife.teeth picture=Picture::TeethWorn />
                <Tick name=at("bent") label=t("knife-bent") checked=knife.bent picture=Picture::Bent />
                <Tick name=at("rust") label=t("knife-rust") checked=knife.rust picture=Picture::Rust />
                <Tick name=at("handle") label=t("knife-handle") checked=knife.handle picture=Picture::Handle />
                <Tick name=at("crack") label=t("knife-crack") checked=knife.crack picture=Picture::Crack />
                <Tick name=at("ceramic") label=t("knife-ceramic") checked=knife.ceramic picture=Picture::Ceramic />
            </Group>
            <div class="fields depths">
                <Field
                    name=at("chip_depth")
                    label=t("knife-chip-depth")
                    value=knife.chip_depth.clone()
                    kind=Input::Length
                    unit="mm"
                    hint=t("knife-chip-hint")
                    error=said("chip_depth")
                    echo=echo(&knife.chip_depth)
                    optional=true
                    maxlength=20
                />
                <Field
                    name=at("tip_length")
                    label=t("knife-tip-length")
                    value=knife.tip_length.clone()
                    kind=Input::Length
                    unit="mm"
                    error=said("tip_length")
                    echo=echo(&knife.tip_length)
                    optional=true
                    maxlength=20
                />
            </div>
            <div class="field photos" class:bad=photo_bad>
                <label for=id_of(&photo_name)>{t("knife-photos")}<span class="optional">{crate::say::optional()}</span></label>
                <p class="hint" id=format!("{photo_name}-hint")>
                    {t("knife-photos-hint")}
                </p>
                {shown}
                <input
                    type="file"
                    id=id_of(&photo_name)
                    name=photo_name.clone()
                    accept="image/jpeg,image/png,image/webp"
                    multiple
                    aria-describedby=format!("{photo_name}-hint")
                    aria-invalid=photo_bad.then_some("true")
                />
                {photo_error}
            </div>
            <Fold summary=t("knife-note-fold") open=!knife.note.is_empty()>
                <TextArea name=at("note") label=t("knife-note") value=knife.note error=said("note") optional=true maxlength=1000 />
            </Fold>
            <div class="answer" aria-live="polite" data-answer=i.to_string() inner_html=answer></div>
            <div class="actions">{again}{remove}</div>
        </fieldset>
    }
    .into_any()
}

/// Our models by picture and mark, and another make.
#[component]
fn ModelChoice(i: usize, models: Vec<Model>, chosen: String, error: Option<String>) -> impl IntoView {
    let name = format!("knives[{i}][model]");
    let id = id_of(&name);
    let bad = error.is_some();
    let error = error.map(|text| view! { <p class="error" id=format!("{id}-error")>{text}</p> });
    let described = bad.then(|| format!("{id}-error"));
    let cards: Vec<_> = models
        .into_iter()
        .enumerate()
        .map(|(n, model)| {
            let own = if n == 0 { id.clone() } else { format!("{id}-{n}") };
            let value = model.id.to_string();
            let checked = value == chosen;
            let target = own.clone();
            let words = format!("{}, {}", model.name, lang().length(model.drawing.length_mm, 0));
            let picture = outline(&model.drawing);
            view! {
                <label class="pick-card model" for=target>
                    <input type="radio" id=own name=name.clone() value=value checked=checked />
                    <span class="outline" inner_html=picture></span>
                    <span class="words"><strong>{model.mark}</strong><span class="note">{words}</span></span>
                </label>
            }
        })
        .collect();
    let none = cards.is_empty();
    let other = if none { id.clone() } else { format!("{id}-other") };
    let other_target = other.clone();
    let other_chosen = chosen == "other";
    view! {
        <fieldset class="asked" class:bad=bad aria-describedby=described>
            <legend>{t("knife-which")}</legend>
            <p class="hint">{t("knife-mark")}</p>
            <div class="cards models">
                {cards}
                <label class="pick-card model" for=other_target>
                    <input type="radio" id=other name=name value="other" checked=other_chosen />
                    <Pictogram of=Picture::Knife />
                    <span class="words"><strong>{t("knife-other")}</strong><span class="note">{t("knife-other-note")}</span></span>
                </label>
            </div>
            {error}
        </fieldset>
    }
    .into_any()
}

/// A blade from the side as an SVG element, one unit to the millimetre: spine, tip, edge or teeth, and a handle. Only to tell
/// models apart; the point's own curve is not in the drawing values and is drawn as common practice.
fn outline(drawing: &Drawing) -> String {
    const HANDLE: f64 = 110.0;
    let (length, height) = (drawing.length_mm, drawing.height_mm);
    let width = length + HANDLE + 4.0;
    let (heel, edge) = (length + 2.0, height + 2.0);
    let mut path = format!("M{heel} 2H{:.1}Q{:.1} 2 2 {:.1}", length * 0.35, length * 0.08, height * 0.72);
    match drawing.teeth {
        None => {
            let _ = write!(path, "Q{:.1} {edge:.1} {:.1} {edge:.1}", length * 0.05, length * 0.22);
        }
        Some(teeth) => {
            // A few teeth fewer and larger than real ones, so that they can be seen at the size of a thumbnail.
            let pitch = (teeth.pitch_mm * 2.0).max(8.0);
            let n = (length / pitch).floor().max(1.0);
            let pitch = length / n;
            let _ = write!(path, "L2 {edge:.1}");
            for _ in 0..n as u32 {
                let _ = match teeth.form {
                    EdgeKind::Pointed => write!(path, "l{:.2} -6l{:.2} 6", pitch / 2.0, pitch / 2.0),
                    EdgeKind::Wavy => write!(path, "q{:.2} -6 {pitch:.2} 0", pitch / 2.0),
                    _ => write!(path, "a{:.2} {:.2} 0 0 1 {pitch:.2} 0", pitch / 2.0, pitch / 2.2),
                };
            }
        }
    }
    let _ = write!(path, "H{heel}Z");
    format!(
        "<svg viewBox=\"0 0 {width:.0} {:.0}\" aria-hidden=\"true\" focusable=\"false\"><path class=\"steel\" d=\"{path}\"/>\
         <rect class=\"wood\" x=\"{heel}\" y=\"4\" width=\"{HANDLE}\" height=\"22\" rx=\"6\"/></svg>",
        height + 6.0
    )
}
