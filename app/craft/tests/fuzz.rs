//! Hostile and wild input: whatever comes in, no panic, and nothing but numbers out.
//!
//! A few hundred cases in the ordinary tests; `PROPTEST_CASES=2000000 cargo test -p craft --test fuzz` goes on for as long as one likes.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use craft::booked::{EdgeShape, Told, Trouble};
use craft::drawing::Units;
use craft::{Rates, Recession};
use proptest::prelude::*;
use serde_json::{Map, Value, json};

/// A figure: mostly what knives have, sometimes what nobody has.
fn figure() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => 0.0..3.0_f64,
        4 => 0.0..60.0_f64,
        2 => 0.0..600.0_f64,
        1 => prop::sample::select(vec![0.0, -0.0, -1.0, 1e-300, 1e-12, 1e-6, 1.0, 45.0, 89.999, 90.0, 180.0, 1e6, 1e18, 1e300, f64::MAX]),
        1 => any::<f64>().prop_filter("JSON has no other", |value| value.is_finite()),
    ]
}

/// `keys` with figures, each there or not.
fn some_of(keys: &'static [&'static str]) -> impl Strategy<Value = Map<String, Value>> {
    prop::collection::vec(prop::option::weighted(0.4, figure()), keys.len()).prop_map(move |values| {
        keys.iter().zip(values).filter_map(|(key, value)| Some(((*key).to_owned(), json!(value?)))).collect()
    })
}

/// A figure nearly always in this range.
fn mostly(range: core::ops::Range<f64>) -> impl Strategy<Value = f64> {
    prop_oneof![19 => range, 1 => figure()]
}

fn word(words: &'static [&'static str]) -> impl Strategy<Value = Value> {
    prop::sample::select(words).prop_map(|word| json!(word))
}

fn tooth() -> impl Strategy<Value = Value> {
    (word(&["arc", "wavy", "pointed"]), 0.3..9.0_f64, 0.5..2.0_f64, figure()).prop_map(
        |(form, pitch, ridge, odd)| {
            let mut tooth = json!({"form": form, "pitch_mm": pitch});
            let (key, size) = if form == "arc" {
                ("ridge_radius_mm", pitch * ridge)
            } else {
                ("depth_mm", pitch * ridge * 0.2)
            };
            tooth[key] = json!(if odd > 55.0 { odd } else { size });
            tooth
        },
    )
}

/// A knife with every key the command line knows, figures likely enough that many of them can be.
fn any_record() -> impl Strategy<Value = Value> {
    let blade = (20.0..400.0_f64, 8.0..90.0_f64, 0.8..6.0_f64, 0.05..0.9_f64);
    let more_blade = some_of(&["original_height_mm", "least_height_mm", "core_line_mm", "mark_mm"]);
    let grind = (word(&["flat", "hollow", "convex"]), 20.0..9000.0_f64, prop::option::of(figure()));
    let hardness = some_of(&["edge_hrc", "spine_hrc", "line_mm", "transition_mm", "least_hrc"]);
    let edge = (0..6_u8, 4.0..46.0_f64, prop::collection::vec(tooth(), 1..4));
    let wear = (
        some_of(&["land_mm", "radius_mm", "tip_flat_mm", "tip_missing_mm"]),
        prop::collection::vec(
            (0.0..3.0_f64, 0.0..9.0_f64, prop::option::of(0.0..1.0_f64), any::<bool>()),
            0..4,
        ),
        prop::collection::vec((0.0..1.0_f64, 0.0..3.0_f64, any::<bool>()), 0..3),
    );
    let target = (
        0.0..1.5_f64,
        prop::option::weighted(0.3, 4.0..46.0_f64),
        some_of(&["behind_edge_mm", "thin_to_mm"]),
        prop::option::weighted(0.4, (tooth(), 8.0..45.0_f64)),
        prop::option::weighted(0.4, word(&["full", "indexed", "tooth", "plain"])),
        prop::option::weighted(0.3, 0..9_u32),
    );
    let rest = (
        (mostly(0.02..1.0), mostly(0.0..1.0)),
        any::<bool>(),
        some_of(&[
            "wheel_width_mm",
            "wheel_radius_mm",
            "tilt_deg",
            "groove_nose_mm",
            "edge_radius_mm",
            "back_bevel_mm",
            "back_bevel_deg",
        ]),
        prop::collection::vec((figure(), figure()), 0..5),
        word(&["1.3505", "unknown", "1.4116", "M2", "no such", "ceramic"]),
    );
    // How far each part is trusted: a wild one sinks most records, so most have none.
    let wild = prop::collection::vec(prop::bool::weighted(0.25), 6);
    (blade, more_blade, grind, hardness, edge, wear, target, rest, wild).prop_map(
        |((length, height, spine, behind), more_blade, grind, hardness, edge, wear, target, rest, wild)| {
            let (kind, angle, teeth) = edge;
            let half = if kind < 2 { "half_angle_deg" } else { "angle_deg" };
            let kinds = ["double", "double", "single", "serrated", "serrated", "serrated"];
            let mut cut = json!({"kind": kinds[usize::from(kind)]});
            cut[half] = json!(angle);
            if kind == 5 {
                (cut["form"], cut["teeth"]) = (json!("mixed"), json!(teeth));
            } else if kind >= 3 {
                cut.as_object_mut().unwrap().extend(teeth[0].as_object().unwrap().clone());
            }
            let mut blade = json!({"edge_length_mm": length, "height_mm": height, "spine_mm": spine, "behind_edge_mm": behind});
            if wild[0] {
                blade.as_object_mut().unwrap().extend(more_blade);
            }
            if kind < 3 && wild[1] {
                blade["grind"] = json!({"kind": grind.0});
                if grind.0 != "flat" {
                    blade["grind"]["radius_mm"] = json!(grind.1);
                }
                if let Some(to) = grind.2 {
                    blade["grind"]["to_mm"] = json!(to);
                }
            }
            if wild[2] {
                blade["hardness"] = json!(hardness);
            }
            let (figures, chips, missing) = wear;
            let mut worn = json!({"chips": chips.iter().map(|(depth, width, at, leave)| {
                let mut chip = json!({"depth_mm": depth, "width_mm": width, "leave": leave});
                if let Some(at) = at { chip["at_mm"] = json!(at * length); }
                chip
            }).collect::<Vec<_>>()});
            if wild[3] {
                worn.as_object_mut().unwrap().extend(figures);
            } else if kind < 3 {
                worn["land_mm"] = json!(behind * 0.2);
            }
            if kind >= 3 {
                worn["missing_teeth"] = json!(missing.iter().map(|(at, to, leave)|
                    json!({"at_mm": at * length, "broken_to_mm": to, "leave": leave})).collect::<Vec<_>>());
            }
            let (allowance, new_angle, thin, wheel, mode, ridges) = target;
            let mut wanted = json!({"allowance_mm": allowance});
            if let (Some(angle), true) = (new_angle, wheel.is_none() || kind < 3) {
                wanted[half] = json!(angle);
            }
            if wild[4] {
                wanted.as_object_mut().unwrap().extend(thin);
            }
            if let (Some((mut wheel, angle)), true) = (wheel, kind >= 3) {
                wheel["angle_deg"] = json!(angle);
                wanted["wheel"] = wheel;
            }
            if let (Some(mode), true) = (mode, kind >= 3) {
                if mode == "indexed" {
                    wanted["ridges"] = json!(ridges.unwrap_or(5));
                }
                wanted["mode"] = mode;
            }
            let ((median, spread), wheels, bench, line, steel) = rest;
            let mut record = json!({"steel": steel, "blade": blade, "edge": cut, "wear": worn, "target": wanted,
                "typical_recession_mm": {"median": median, "spread": spread}});
            if wild[5] {
                let mut points = line.clone();
                points.sort_by(|a, b| a.0.total_cmp(&b.0));
                record["more"] = json!({"bench": bench, "edge_line": points, "wheels": wheels && kind >= 3,
                    "stations": [{"at_mm": 20, "height_mm": height, "behind_edge_mm": behind, "spine_mm": spine},
                                 {"at_mm": length, "height_mm": height * 0.6, "behind_edge_mm": behind, "spine_mm": spine, "line_mm": median}]});
                record["services_per_year"] = json!(spread);
            }
            record
        },
    )
}

/// JSON has no NaN and no infinity: they would be written as null.
fn only_numbers(answer: &Value, path: &str) -> Result<(), TestCaseError> {
    match answer {
        Value::Null => prop_assert!(
            matches!(path, "/after/edge_hrc" | "/services_left" | "/refusal")
                || path.ends_with("/services_left")
                || ["/wheel", "/generation", "/ridges", "/refused"].iter().any(|key| path.ends_with(key)),
            "null at {path}"
        ),
        Value::Number(number) => {
            prop_assert!(number.as_f64().is_some_and(f64::is_finite), "{number} at {path}")
        }
        Value::Array(list) => {
            for (i, value) in list.iter().enumerate() {
                only_numbers(value, &format!("{path}/{i}"))?;
            }
        }
        Value::Object(map) => {
            for (key, value) in map {
                only_numbers(value, &format!("{path}/{key}"))?;
            }
        }
        Value::String(words) => {
            prop_assert!(!words.contains("NaN") && !words.contains(" inf"), "{words} at {path}");
        }
        Value::Bool(_) => {}
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_a_record_says_the_answer_is_words_or_numbers(record in any_record()) {
        if let Ok(line) = craft::line(&record.to_string(), &Rates::default()) {
            only_numbers(&serde_json::from_str(&line).unwrap(), "")?;
            let request: craft::Request = serde_json::from_value(record).unwrap();
            for svg in [craft::drawing::section(&request, Units::Millimetres), craft::drawing::blade_side(&request, Units::Millimetres),
                craft::drawing::life_fan(&request, &[request.blade.height_mm + 1.0], Units::Millimetres), craft::drawing::serration(&request, Units::Millimetres)].into_iter().flatten() {
                prop_assert!(!svg.contains("NaN") && !svg.contains("inf"), "{}", svg);
            }
            let narrow = craft::booked::measured(&request, &Rates::default());
            if let Ok(narrow) = narrow {
                only_numbers(&serde_json::to_value((narrow.recession_mm, narrow.removed_mm3)).unwrap(), "")?;
            }
        }
    }

    #[test]
    fn a_record_cut_torn_and_patched_is_answered_or_refused(
        record in any_record(), cuts in prop::collection::vec((any::<prop::sample::Index>(), 0..9_usize, "\\PC{0,6}|[-+0-9.eE]{1,8}|[\\[\\]{}\",:]{1,3}|null|true|1e999"), 1..4)
    ) {
        let mut text = record.to_string();
        for (at, length, patch) in cuts {
            let mut start = at.index(text.len().max(1)).min(text.len());
            while !text.is_char_boundary(start) { start -= 1; }
            let mut end = (start + length).min(text.len());
            while !text.is_char_boundary(end) { end += 1; }
            text.replace_range(start..end, &patch);
        }
        match craft::line(&text, &Rates::default()) {
            Ok(line) => only_numbers(&serde_json::from_str(&line).unwrap(), "")?,
            Err(no) => prop_assert!(!no.error.is_empty()),
        }
    }

    #[test]
    fn single_figures_of_any_size_never_come_out_as_anything_but_numbers(
        a in figure(), b in figure(), c in figure(), d in figure(), e in figure(), f in figure()
    ) {
        let section = craft::kernel::PlainSection { height_mm: a, spine_mm: b, behind_edge_mm: c, half_angle_deg: d, land_mm: e, recession_mm: f };
        prop_assert!(section.removed_mm2().is_none_or(f64::is_finite));
        let row = craft::kernel::Row { pitch_mm: a, ridge_radius_mm: b, angle_deg: c };
        let teeth = craft::kernel::Teeth { edge_length_mm: d, height_mm: e, spine_mm: b, behind_edge_mm: f, row, recession_mm: c };
        prop_assert!(row.depth_mm().is_none_or(f64::is_finite));
        prop_assert!(teeth.removed_mm3().is_none_or(f64::is_finite));
        let left = craft::life::services(a, b.abs().clamp(1e-6, 1e6), c.abs().min(3.0));
        prop_assert!(left.p10 <= left.p50 && left.p50 <= left.p90);
        let habit = craft::learn::Habit::from_median(b.abs().clamp(1e-6, 1e6), c.abs().clamp(1e-3, 3.0), 4.0)
            .learn(&[craft::learn::Observed { recession_mm: d, reading_sd_mm: e }, craft::learn::Observed { recession_mm: f, reading_sd_mm: a }]);
        prop_assert!(habit.median_mm().is_finite() && habit.spread().is_finite() && habit.freedom().is_finite(), "{:?}", habit);
        let drawn = habit.services(d.min(1e4), 7, 20);
        prop_assert!(drawn.p10 <= drawn.p90);
        for steel in craft::steels() {
            let guard = craft::heat::guard(steel, (d < 72.0).then_some(d), a.abs().clamp(1.0, 170.0), b.abs().min(50.0), &craft::heat::Process::default());
            prop_assert!([guard.temper_c, guard.pass_mm, guard.peak_c, guard.dwell_s, guard.flash_c].iter().all(|x| x.is_finite()), "{:?}", guard);
            prop_assert!(guard.pass_mm > 0.0);
        }
        prop_assert!(craft::heat::jaeger(a.abs()).is_finite());
        let finish = craft::grit::Finish { depth_mm: a.abs().min(50.0), area_mm2: b.abs().min(1e6), finest_um: c.abs(), after_um: (e > 1.0).then_some(e), grindability: d.abs() };
        for step in craft::grit::plan(&Rates::default().abrasives, &finish).unwrap_or_default() {
            prop_assert!(step.minutes.2.is_finite() && step.height_share.is_finite());
        }
        prop_assert!(craft::hardness::vickers(a).is_none_or(|hv| (238..=940).contains(&hv)));
    }

    #[test]
    fn whatever_is_told_on_the_phone_gives_ranges_or_words(
        which in 0..5_usize, length in figure(), height in prop::option::of(figure()), sizes in prop::collection::vec((0..4_u8, figure()), 0..4),
        count in 0..200_u32, median in 0.01..2.0_f64, spread in 0.0..2.0_f64
    ) {
        let edge = [EdgeShape::Double, EdgeShape::Single, EdgeShape::Arc, EdgeShape::Wavy, EdgeShape::Pointed][which];
        let wrong = sizes.into_iter().map(|(kind, size)| match kind {
            0 => Trouble::Chips { deepest_mm: size, count },
            1 => Trouble::TipMissing { length_mm: size },
            2 => Trouble::TeethMissing { count },
            _ => Trouble::TeethWorn,
        }).collect();
        let told = Told { edge, length_mm: length, steel: None, height_mm: height, wrong, model: None };
        if let Ok(found) = craft::booked::outlook(&told, Recession { median, spread, learned: None }, &Rates::default()) {
            prop_assert!(found.recession_mm.low.is_finite() && found.recession_mm.high.is_finite() && found.recession_mm.low <= found.recession_mm.high);
            prop_assert!(found.removed_mm3.high.is_finite());
        }
    }
}
