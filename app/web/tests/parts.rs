//! What the parts promise to the people who use pages made of them. The page that draws every part is the witness.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use leptos::prelude::*;
use shop::field::FieldErrors;
use shop::money::Money;
use shop::piece::PieceState;
use web::pages::style::{StyleBenchPage, StylePage};
use web::parts::*;

fn html<V: IntoView>(view: impl FnOnce() -> V) -> String {
    // Without the markers Leptos puts between children, which say nothing to anybody who reads the page.
    Owner::new().with(|| view().into_view().to_html().replace("<!>", ""))
}

fn all_parts() -> String {
    html(|| view! { <StylePage /> }) + &html(|| view! { <StyleBenchPage /> })
}

/// All values of an attribute, in order.
fn values<'a>(html: &'a str, attribute: &str) -> Vec<&'a str> {
    let start = format!(" {attribute}=\"");
    html.split(&start).skip(1).filter_map(|rest| rest.split_once('"').map(|(value, _)| value)).collect()
}

#[test]
fn no_part_carries_a_style_of_its_own() {
    let html = all_parts();
    assert!(!html.contains(" style=") && !html.contains("<style"), "the page's policy forbids inline styles");
}

#[test]
fn every_id_is_there_once_and_every_reference_leads_to_one() {
    let html = html(|| view! { <StylePage /> });
    let mut seen = BTreeSet::new();
    for id in values(&html, "id") {
        assert!(seen.insert(id), "two elements have the id {id}");
    }
    for attribute in ["for", "aria-describedby", "aria-labelledby", "list"] {
        for id in values(&html, attribute).into_iter().flat_map(str::split_whitespace) {
            assert!(seen.contains(id), "{attribute} names {id}, which is not there");
        }
    }
    for href in values(&html, "href") {
        if let Some(id) = href.strip_prefix('#') {
            assert!(seen.contains(id), "a link leads to #{id}, which is not there");
        }
    }
}

#[test]
fn every_class_has_a_rule() {
    let sheets = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../style");
    let css: String = std::fs::read_dir(&sheets)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "css"))
        .map(|path| std::fs::read_to_string(path).unwrap())
        .collect();
    let known: BTreeSet<&str> = css
        .split('.')
        .skip(1)
        .map(|rest| rest.split(|c: char| !(c.is_ascii_alphanumeric() || c == '-')).next().unwrap_or_default())
        .collect();
    for class in values(&all_parts(), "class").into_iter().flat_map(str::split_whitespace) {
        assert!(known.contains(class), "class {class} has no rule in style/*.css");
    }
}

#[test]
fn an_error_stands_above_the_form_and_beside_its_field() {
    let mut errors = FieldErrors::default();
    errors.add("knives[0][length]", "Please give the length.");
    errors.add("", "This form was open for too long.");
    let html = html(|| {
        view! {
            <ErrorSummary errors=errors.clone() />
            <Field name="knives[0][length]" label="Length" unit="mm" value="\"><script>" error=errors.of("knives[0][length]") />
        }
    });
    assert!(html.contains("<a href=\"#knives-0-length\" autofocus>Please give the length.</a>"), "{html}");
    assert!(html.contains("<li>This form was open for too long.</li>"), "{html}");
    assert!(
        html.contains("aria-invalid=\"true\"") && html.contains("id=\"knives-0-length-error\""),
        "{html}"
    );
    assert_eq!(values(&html, "aria-describedby"), ["knives-0-length-error"]);
    assert!(
        html.contains("value=\"&quot;&gt;&lt;script&gt;\""),
        "what was typed is kept, and is not markup: {html}"
    );
}

#[test]
fn a_field_that_nothing_is_said_about_names_nothing() {
    let html = html(|| view! { <Field name="town" label="Town" error=FieldErrors::default().of("town") /> });
    assert!(!html.contains("aria-") && !html.contains("error"), "{html}");
}

#[test]
fn what_is_said_follows_its_signal() {
    Owner::new().with(|| {
        let words = RwSignal::new(None);
        let said = Said::from(words);
        assert!(said.may_come() && !said.any());
        words.set(Some("= 1.59 mm".to_owned()));
        assert_eq!(said.now().as_deref(), Some("= 1.59 mm"));
        assert!(!Said::from("").any(), "empty words are none");
    });
}

#[test]
fn ticks_that_share_a_name_have_ids_of_their_own() {
    let html = html(|| {
        view! {
            <Tick name="defects[]" value="bow" label="Bowed" />
            <Tick name="defects[]" value="twist" label="Twisted" checked=true />
        }
    });
    assert_eq!(values(&html, "id"), ["defects-bow", "defects-twist"]);
    assert_eq!(values(&html, "value"), ["bow", "twist"]);
    assert_eq!(html.matches(" checked").count(), 1);
}

#[test]
fn each_state_and_each_tone_has_a_drawing_of_its_own() {
    let mut drawn = BTreeMap::new();
    let states = PieceState::ALL.iter().map(|state| (Picture::from(*state), state.words()));
    let tones = [Tone::Plain, Tone::Good, Tone::Warn, Tone::Bad, Tone::Now]
        .map(|tone| (tone.picture(), tone.class()));
    for (picture, words) in states.chain(tones) {
        let lines = html(|| view! { <Pictogram of=picture /> });
        if let Some(other) = drawn.insert(lines, words) {
            panic!("{words} looks like {other}");
        }
    }
}

#[test]
fn every_drawing_is_different_and_stays_on_its_square() {
    let mut drawn = BTreeMap::new();
    for picture in Picture::ALL {
        let lines = html(|| view! { <Pictogram of=*picture /> });
        assert!(drawn.insert(lines, picture).is_none(), "{picture:?} is drawn like another");
        assert!(!picture.words().is_empty());
    }
}

#[test]
fn a_piece_off_its_way_shows_its_state_and_no_steps() {
    let html = html(|| view! { <PieceSteps state=PieceState::TurnedDown /> });
    assert!(html.contains("turned down") && !html.contains("<ol"), "{html}");
    let html = self::html(|| view! { <PieceSteps state=PieceState::Measured /> });
    assert_eq!(html.matches("aria-current=\"step\"").count(), 1);
    assert_eq!(html.matches("done: ").count(), 2, "expected and in hand lie behind it: {html}");
}

#[test]
fn an_amount_names_its_currency_once_and_wears_a_true_minus() {
    let html = html(|| view! { <Amount money=Money(-1250) currency="EUR" /> });
    assert!(html.contains("\u{2212}12.50") && html.matches("EUR").count() == 1, "{html}");
}

#[test]
fn a_table_row_says_the_column_before_each_value() {
    let html = html(|| {
        let columns = vec![Column::words("Piece"), Column::figures("Height", "mm")];
        view! { <DataTable caption="Pieces" columns=columns rows=vec![vec!["Slicer".into_any(), "41.0".into_any()]] /> }
    });
    assert!(html.contains("role=\"rowheader\"") && html.contains(">Slicer</th>"), "{html}");
    assert!(
        html.contains("class=\"num\"") && html.contains(">Height, mm</span>") && html.contains("41.0"),
        "{html}"
    );
}

#[test]
fn forms_with_the_same_names_keep_apart() {
    let mut errors = FieldErrors::default();
    errors.add("note", "Please say why.");
    let html = html(|| {
        view! {
            <Within id="stop">
                <ErrorSummary errors=errors.clone() />
                <Field name="note" label="Why" error=errors.of("note") />
            </Within>
            <Within id="done"><Field name="note" label="Remark" /></Within>
            <Field name="note" label="Elsewhere" />
        }
    });
    let inputs: Vec<_> = values(&html, "id").into_iter().filter(|id| id.ends_with("note")).collect();
    assert_eq!(inputs, ["stop-note", "done-note", "note"]);
    assert_eq!(values(&html, "name"), ["note"; 3]);
    assert_eq!(values(&html, "href"), ["#stop-note"]);
}
