//! What cannot be true is refused by name, and nothing else is.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use serde_json::{Value, json};

fn knife() -> Value {
    json!({
        "steel": "1.3505",
        "blade": {"edge_length_mm": 210, "height_mm": 46, "spine_mm": 2.4, "behind_edge_mm": 0.35},
        "edge": {"kind": "double", "half_angle_deg": 15},
        "target": {"allowance_mm": 0.5},
        "typical_recession_mm": {"median": 0.15, "spread": 0}
    })
}

fn toothed() -> Value {
    let mut knife = knife();
    knife["edge"] =
        json!({"kind": "serrated", "form": "arc", "pitch_mm": 5, "ridge_radius_mm": 6.5, "angle_deg": 20});
    knife
}

/// Sets the value at a path such as `/blade/height_mm`; missing objects on the way are made.
fn set(mut knife: Value, path: &str, value: Value) -> Value {
    let mut place = &mut knife;
    for key in path.trim_start_matches('/').split('/') {
        place = place.as_object_mut().unwrap().entry(key).or_insert(json!({}));
    }
    *place = value;
    knife
}

#[track_caller]
fn refused(knife: &Value, at: &str, naming: &str) {
    match craft::line(&knife.to_string(), &craft::Rates::default()) {
        Ok(answer) => panic!("answered: {answer}"),
        Err(no) => {
            assert_eq!(no.at, at, "{no}");
            assert!(no.error.contains(naming), "{} does not name {naming}", no.error);
        }
    }
}

#[track_caller]
fn answered(knife: &Value) -> Value {
    let line = craft::line(&knife.to_string(), &craft::Rates::default())
        .unwrap_or_else(|no| panic!("{no}\n{knife}"));
    serde_json::from_str(&line).unwrap()
}

#[test]
fn an_edge_flatter_than_the_primary_is_refused() {
    let flat = set(set(knife(), "/blade/spine_mm", json!(8)), "/edge/half_angle_deg", json!(5));
    refused(&set(flat, "/blade/height_mm", json!(30)), "edge.half_angle_deg", "primary");
    refused(&set(knife(), "/target/half_angle_deg", json!(1)), "target.half_angle_deg", "primary");
}

#[test]
fn a_spine_thinner_than_the_edge_is_refused() {
    refused(&set(knife(), "/blade/spine_mm", json!(0.3)), "blade.spine_mm", "behind_edge_mm");
}

#[test]
fn teeth_longer_than_the_blade_are_refused() {
    refused(&set(toothed(), "/blade/edge_length_mm", json!(4)), "edge.pitch_mm", "edge_length_mm");
    refused(&set(toothed(), "/edge/ridge_radius_mm", json!(2.4)), "edge.ridge_radius_mm", "pitch_mm");
}

#[test]
fn a_hardness_line_above_the_spine_is_refused() {
    refused(&set(knife(), "/blade/hardness", json!({"line_mm": 47})), "blade.hardness.line_mm", "height_mm");
    let upside_down = json!({"edge_hrc": 40, "spine_hrc": 60});
    refused(&set(knife(), "/blade/hardness", upside_down), "blade.hardness.spine_hrc", "edge_hrc");
}

#[test]
fn a_chip_deeper_than_the_blade_is_refused() {
    let chips = |depth: f64, at: f64| json!([{"depth_mm": depth, "width_mm": 1, "at_mm": at}]);
    refused(&set(knife(), "/wear/chips", chips(46.0, 60.0)), "wear.chips[0].depth_mm", "height_mm");
    refused(&set(knife(), "/wear/chips", chips(1.0, 260.0)), "wear.chips[0].at_mm", "edge_length_mm");
    refused(&set(knife(), "/wear/chips", chips(45.8, 60.0)), "wear.chips", "height_mm");
}

#[test]
fn grinds_that_cannot_pass_where_they_must_are_refused() {
    let grind = |kind: &str, radius: f64| json!({"kind": kind, "radius_mm": radius});
    refused(&set(knife(), "/blade/grind", grind("convex", 20.0)), "blade.grind.radius_mm", "circle");
    refused(&set(knife(), "/blade/grind", grind("hollow", 200.0)), "blade.grind.radius_mm", "thinner");
    refused(
        &set(knife(), "/blade/grind", json!({"kind": "flat", "to_mm": 50})),
        "blade.grind.to_mm",
        "height_mm",
    );
    refused(&set(knife(), "/blade/grind", json!({"kind": "hollow"})), "blade.grind.radius_mm", "radius_mm");
}

#[test]
fn a_tip_longer_than_the_edge_and_a_blade_that_grew_are_refused() {
    refused(&set(knife(), "/wear/tip_missing_mm", json!(210)), "wear.tip_missing_mm", "edge_length_mm");
    refused(&set(knife(), "/blade/original_height_mm", json!(40)), "blade.original_height_mm", "height_mm");
}

#[test]
fn keys_of_another_kind_of_edge_are_refused() {
    refused(&set(knife(), "/edge/pitch_mm", json!(5)), "edge.kind", "serrated");
    refused(&set(knife(), "/wear/tip_flat_mm", json!(0.5)), "wear.tip_flat_mm", "teeth");
    refused(
        &set(
            knife(),
            "/target/wheel",
            json!({"form": "arc", "pitch_mm": 5, "angle_deg": 20, "ridge_radius_mm": 6}),
        ),
        "target.wheel",
        "serrated",
    );
    refused(&set(toothed(), "/target/mode", json!("indexed")), "target.ridges", "ridges");
    refused(&set(toothed(), "/edge/depth_mm", json!(1)), "edge.depth_mm", "ridge_radius_mm");
}

#[test]
fn measures_along_the_blade_that_go_backward_and_benches_that_cannot_be_are_refused() {
    let station = |at: f64| json!({"at_mm": at, "height_mm": 46, "behind_edge_mm": 0.35, "spine_mm": 2.4});
    let stations = json!([station(100.0), station(20.0)]);
    refused(&set(knife(), "/more/stations", stations), "more.stations[1]", "100");
    refused(&set(knife(), "/more/edge_line", json!([[0, 0], [0, 1]])), "more.edge_line[1]", "heel to tip");
    refused(
        &set(knife(), "/more/bench", json!({"wheel_radius_mm": 0})),
        "more.bench.wheel_radius_mm",
        "length",
    );
    refused(&set(knife(), "/more/wheels", json!(true)), "edge.kind", "teeth");
}

#[test]
fn words_and_brackets_that_are_no_record_are_refused() {
    for text in ["", "[]", "{", "null", "42", "{\"steel\": 3}", "{}extra"] {
        assert!(craft::line(text, &craft::Rates::default()).is_err(), "{text}");
    }
    let two = format!("{} {}", knife(), knife());
    assert!(craft::line(&two, &craft::Rates::default()).is_err());
    refused(&set(knife(), "/blade/height_mm", json!("tall")), "blade.height_mm", "expected f64");
    refused(&set(knife(), "/edge/kind", json!("triple")), "edge.kind", "triple");
}

#[test]
fn the_whole_range_the_contract_accepts_is_accepted() {
    for half_angle in [5.0, 15.0, 35.0] {
        for (length, height, spine, behind) in
            [(20.0, 120.0, 0.8, 0.05), (600.0, 120.0, 8.0, 0.5), (210.0, 46.0, 2.4, 0.35)]
        {
            let mut knife = knife();
            knife["blade"] = json!({"edge_length_mm": length, "height_mm": height, "spine_mm": spine,
                                    "behind_edge_mm": behind});
            knife["edge"]["half_angle_deg"] = json!(half_angle);
            for allowance in [0.0, 3.0] {
                knife["target"]["allowance_mm"] = json!(allowance);
                answered(&knife);
            }
        }
    }
    for angle in [8.0, 45.0] {
        for pitch in [0.5, 20.0] {
            let mut knife = toothed();
            knife["edge"] = json!({"kind": "serrated", "form": "pointed", "pitch_mm": pitch, "depth_mm": 0.3 * pitch,
                                   "angle_deg": angle});
            answered(&knife);
        }
    }
}

#[test]
fn too_little_blade_is_a_refusal_with_every_number_and_no_error() {
    let knife = set(set(knife(), "/blade/least_height_mm", json!(45.8)), "/wear/land_mm", json!(0.05));
    let answer = answered(&knife);
    assert_eq!(answer["refusal"]["code"], "too_little_height");
    assert!(answer["removed"]["total_mm3"].as_f64().unwrap() > 0.0);
    assert_eq!(answer["services_left"]["p50"], 0);
    assert_eq!(answer["limited_by"], "height");
    let soft = json!({"edge_hrc": 60, "spine_hrc": 30, "line_mm": 0.3, "least_hrc": 55});
    assert_eq!(answered(&set(knife, "/blade/hardness", soft))["refusal"]["code"], "too_little_height");
}

#[test]
fn an_unknown_steel_is_answered_from_the_middle_and_says_so() {
    for name in ["unknown", "no such steel"] {
        let answer = answered(&set(knife(), "/steel", json!(name)));
        let density =
            answer["removed"]["mass_g"].as_f64().unwrap() / answer["removed"]["total_mm3"].as_f64().unwrap();
        assert!((7.62e-3..=8.16e-3).contains(&density), "{density}");
        assert!(
            answer["cautions"]
                .as_array()
                .unwrap()
                .iter()
                .any(|note| note["code"].as_str().unwrap().starts_with("steel"))
        );
    }
}
