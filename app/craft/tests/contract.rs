//! The figures the command-line contract prints, and the rules it states.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use serde_json::{Value, json};

/// A plain 46 mm blade; `change` is merged in.
fn knife(change: Value) -> Value {
    let mut base = json!({
        "steel": "1.3505",
        "blade": {"edge_length_mm": 210, "height_mm": 46, "spine_mm": 2.4, "behind_edge_mm": 0.35},
        "edge": {"kind": "double", "half_angle_deg": 15},
        "target": {"allowance_mm": 0.5},
        "typical_recession_mm": {"median": 0.15, "spread": 0}
    });
    merge(&mut base, change);
    base
}

fn merge(base: &mut Value, change: Value) {
    match (base, change) {
        (Value::Object(base), Value::Object(change)) => {
            for (key, value) in change {
                if key == "edge" {
                    base.insert(key, value);
                } else {
                    merge(base.entry(key).or_insert(Value::Null), value);
                }
            }
        }
        (base, change) => *base = change,
    }
}

fn answer(request: &Value) -> Value {
    let line = craft::line(&request.to_string(), &craft::Rates::default())
        .unwrap_or_else(|no| panic!("{request}\n{no}"));
    serde_json::from_str(&line).unwrap()
}

#[track_caller]
fn check(answer: &Value, path: &str, expected: f64, tolerance: f64) {
    let found = answer.pointer(path).unwrap_or_else(|| panic!("{path} is not in {answer}")).as_f64().unwrap();
    assert!((found - expected).abs() <= tolerance, "{path}: expected {expected}, found {found}");
}

#[test]
fn the_printed_example_comes_out_to_the_last_digit() {
    let request = json!({"steel": "1.3505",
     "blade": {"edge_length_mm": 210, "height_mm": 46, "original_height_mm": 48, "least_height_mm": 31,
               "spine_mm": 2.4, "behind_edge_mm": 0.35, "grind": {"kind": "flat"},
               "hardness": {"edge_hrc": 64, "spine_hrc": 32, "line_mm": 18, "transition_mm": 4, "least_hrc": 58}},
     "edge": {"kind": "double", "half_angle_deg": 15},
     "wear": {"land_mm": 0.06, "chips": [{"depth_mm": 0.8, "width_mm": 1.5, "at_mm": 60}]},
     "target": {"half_angle_deg": 15, "allowance_mm": 0.02},
     "typical_recession_mm": {"median": 0.15, "spread": 0}});
    let got = answer(&request);
    for (path, expected) in [
        ("/recession_mm", 0.82),
        ("/height_after_mm", 45.18),
        ("/removed/section_mm2", 0.344_211),
        ("/removed/edge_mm3", 72.165_246),
        ("/removed/thinning_mm3", 0.0),
        ("/removed/tip_mm3", 0.0),
        ("/removed/total_mm3", 72.165_246),
        ("/removed/mass_g", 0.563_611),
        ("/after/behind_edge_mm", 0.395_889),
        ("/after/bevel_face_mm", 0.764_799),
        ("/after/edge_hrc", 64.0),
    ] {
        check(&got, path, expected, 6e-7);
    }
    check(&got, "/after/stiffness_pct", 100.0, 0.05);
    assert_eq!(got["services_left"], json!({"p10": 94, "p50": 94, "p90": 94}));
    assert_eq!(got["limited_by"], "height");
    assert_eq!(got["refusal"], Value::Null);
    assert_eq!(got["recession_mm"].to_string(), "0.82");
    assert_eq!(got["height_after_mm"].to_string(), "45.18");
}

#[test]
fn unworn_double_bevels_match_the_printed_areas() {
    let got = answer(&knife(json!({})));
    check(&got, "/removed/section_mm2", 0.181_171, 6e-7);
    check(&got, "/after/behind_edge_mm", 0.374_686, 6e-7);
    check(&got, "/after/bevel_face_mm", 0.723_838, 6e-7);
    let got = answer(&knife(json!({
        "blade": {"height_mm": 30, "spine_mm": 2.0, "behind_edge_mm": 0.5},
        "edge": {"kind": "double", "half_angle_deg": 20}, "target": {"allowance_mm": 1.2}})));
    check(&got, "/removed/section_mm2", 0.639_629, 6e-7);
    check(&got, "/after/behind_edge_mm", 0.566_049, 6e-7);
}

#[test]
fn a_shallower_angle_without_recession_still_takes_metal() {
    let got = answer(&knife(json!({
        "edge": {"kind": "double", "half_angle_deg": 20},
        "target": {"half_angle_deg": 15, "allowance_mm": 0}})));
    check(&got, "/removed/section_mm2", 0.030_882, 6e-7);
    check(&got, "/after/behind_edge_mm", 0.358_472, 6e-7);
    check(&got, "/recession_mm", 0.0, 0.0);
}

#[test]
fn single_hollow_and_convex_blades_match_the_printed_figures() {
    let got = answer(&knife(json!({"edge": {"kind": "single", "angle_deg": 15}})));
    check(&got, "/removed/section_mm2", 0.181_918, 6e-7);
    check(&got, "/after/behind_edge_mm", 0.377_671, 6e-7);
    check(&got, "/after/bevel_face_mm", 1.459_207, 6e-7);
    let got = answer(&knife(json!({"blade": {"grind": {"kind": "convex", "radius_mm": 2000}}})));
    check(&got, "/removed/section_mm2", 0.184_688, 6e-7);
    check(&got, "/after/behind_edge_mm", 0.388_691, 6e-7);
    let got = answer(&knife(json!({"blade": {"grind": {"kind": "hollow", "radius_mm": 2000}}})));
    check(&got, "/removed/section_mm2", 0.177_962, 6e-7);
    check(&got, "/after/behind_edge_mm", 0.361_897, 6e-7);
}

#[test]
fn a_serrated_edge_is_lifted_by_exactly_what_the_dial_says() {
    // A deep pitch of 0.5 mm makes the teeth next to nothing: e 0, δ 0.3 then gives 0.121936 in every section.
    let got = answer(&knife(json!({
        "edge": {"kind": "serrated", "form": "wavy", "pitch_mm": 5, "depth_mm": 1e-9, "angle_deg": 20},
        "target": {"allowance_mm": 0.3}})));
    check(&got, "/removed/section_mm2", 0.121_936, 6e-7);
    check(&got, "/recession_mm", 0.3, 0.0);
}

#[test]
fn recutting_with_another_wheel_costs_what_the_drift_costs() {
    for (pitch, full, indexed) in
        [(5.02, 0.4227, 0.05), (5.05, 0.9137, 0.12), (5.10, 1.3808, 0.24), (5.20, 1.4597, 0.45)]
    {
        let request = |mode: Value| {
            let mut target = json!({"allowance_mm": 0, "wheel":
                {"form": "arc", "pitch_mm": pitch, "angle_deg": 20, "ridge_radius_mm": 6.5}});
            merge(&mut target, mode);
            knife(json!({"blade": {"edge_length_mm": 200},
                "edge": {"kind": "serrated", "form": "arc", "pitch_mm": 5, "ridge_radius_mm": 6.5, "angle_deg": 20},
                "target": target}))
        };
        check(&answer(&request(json!({}))), "/recession_mm", full, 6e-5);
        check(&answer(&request(json!({"mode": "indexed", "ridges": 5}))), "/recession_mm", indexed, 0.01);
        check(&answer(&request(json!({"mode": "tooth"}))), "/recession_mm", 0.0, 1e-9);
    }
}

#[test]
fn an_unknown_key_is_an_error_that_names_it() {
    let request = knife(json!({"blade": {"heigth_mm": 46}}));
    let no = craft::line(&request.to_string(), &craft::Rates::default()).unwrap_err();
    assert_eq!(no.at, "blade.heigth_mm");
    let mut request = knife(json!({}));
    request["blade"].as_object_mut().unwrap().remove("spine_mm");
    let no = craft::line(&request.to_string(), &craft::Rates::default()).unwrap_err();
    assert_eq!(no.at, "blade.spine_mm");
}
