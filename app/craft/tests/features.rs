//! Everything the contract adds beside the plain bevel, on figures a sharpener can redo on paper.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use serde_json::{Value, json};

/// A parallel blade, so that every area is a rectangle, a parallelogram or a triangle: 2 mm thick, 40 mm high, 100 mm long.
fn slab(edge: Value, wear: Value, target: Value) -> Value {
    json!({"steel": "52100",
        "blade": {"edge_length_mm": 100, "height_mm": 40, "spine_mm": 2, "behind_edge_mm": 2},
        "edge": edge, "wear": wear, "target": target, "typical_recession_mm": {"median": 0.2, "spread": 0}})
}

fn double(angle: f64) -> Value {
    json!({"kind": "double", "half_angle_deg": angle})
}

fn arc() -> Value {
    json!({"kind": "serrated", "form": "arc", "pitch_mm": 5, "ridge_radius_mm": 6.5, "angle_deg": 20})
}

fn answer(request: &Value) -> Value {
    let line = craft::line(&request.to_string(), &craft::Rates::default())
        .unwrap_or_else(|no| panic!("{request}\n{no}"));
    serde_json::from_str(&line).unwrap()
}

#[track_caller]
fn check(answer: &Value, path: &str, expected: f64) {
    let found = answer.pointer(path).unwrap_or_else(|| panic!("{path} is not in {answer}")).as_f64().unwrap();
    assert!(
        (found - expected).abs() <= 1e-8 * expected.abs().max(1.0),
        "{path}: expected {expected}, found {found}"
    );
}

#[test]
fn a_parallel_blade_loses_thickness_times_recession() {
    let got = answer(&slab(double(20.0), json!({}), json!({"allowance_mm": 0.3})));
    check(&got, "/removed/section_mm2", 0.6);
    check(&got, "/removed/edge_mm3", 60.0);
    check(&got, "/removed/mass_g", 60.0 * 7.81e-3);
    check(&got, "/after/behind_edge_mm", 2.0);
    check(&got, "/after/bevel_face_mm", 1.0 / 20.0_f64.to_radians().sin());
}

#[test]
fn a_steeper_bevel_that_ends_on_the_old_one_leaves_the_shoulder_alone() {
    // 15° to 25° with Δ 0.1: lines cross where tan 25 (y - 0.1) = tan 15 y; the sliver is ½·0.1·x twice.
    let (old, new) = (15.0_f64.to_radians().tan(), 25.0_f64.to_radians().tan());
    let x = 0.1 * old * new / (new - old);
    let got = answer(&slab(double(15.0), json!({}), json!({"allowance_mm": 0.1, "half_angle_deg": 25})));
    check(&got, "/removed/section_mm2", 0.1 * x);
    check(&got, "/after/behind_edge_mm", 2.0);
    check(&got, "/after/bevel_face_mm", x / 25.0_f64.to_radians().sin());
}

#[test]
fn a_chip_lacks_the_wedge_it_broke_out_of() {
    // In a sharp V of half-angle θ: ∫ w (1 - y/d)·2 tan θ·y dy = w·tan θ·d²/3.
    let chip = json!({"chips": [{"depth_mm": 0.6, "width_mm": 3, "at_mm": 50}]});
    let got = answer(&slab(double(20.0), chip.clone(), json!({"allowance_mm": 0.0})));
    check(&got, "/recession_mm", 0.6);
    let gone = 3.0 * 20.0_f64.to_radians().tan() * 0.36 / 3.0;
    check(&got, "/removed/section_mm2", 1.2);
    check(&got, "/removed/edge_mm3", 120.0 - gone);
    // The same chip told twice is one chip.
    let twice = json!({"chips": [chip["chips"][0], chip["chips"][0]]});
    check(
        &answer(&slab(double(20.0), twice, json!({"allowance_mm": 0.0}))),
        "/removed/edge_mm3",
        120.0 - gone,
    );
}

#[test]
fn a_land_never_adds_to_the_recession() {
    let got = answer(&slab(double(20.0), json!({"land_mm": 0.1}), json!({"allowance_mm": 0.2})));
    check(&got, "/recession_mm", 0.2);
    let tan = 20.0_f64.to_radians().tan();
    check(&got, "/removed/section_mm2", 2.0 * (0.2 + 0.05 / tan) - 0.01 / (4.0 * tan));
}

#[test]
fn a_rounded_flat_backed_edge_must_be_cleared_whatever_is_allowed() {
    let edge = json!({"kind": "single", "angle_deg": 20});
    let got = answer(&slab(edge, json!({"radius_mm": 0.05}), json!({"allowance_mm": 0.01})));
    check(&got, "/recession_mm", 0.05);
    let half = 10.0_f64.to_radians();
    let lambda = 0.05 / half.tan();
    let gone = 0.0025 * (1.0 / half.tan() - (std::f64::consts::FRAC_PI_2 - half));
    check(&got, "/removed/section_mm2", 2.0 * (lambda + 0.05) - gone);
}

#[test]
fn thinning_takes_the_sliver_between_the_old_face_and_the_new() {
    // The bevel of 20° ends at 1/tan 20 = 2.747 above the new apex; thinned to 1 mm the face runs from (0.5, 0.5/tan 20) to (1, 12).
    let tan = 20.0_f64.to_radians().tan();
    let got = answer(&slab(double(20.0), json!({}), json!({"allowance_mm": 0.3, "behind_edge_mm": 1})));
    let (foot, shoulder) = (0.5 / tan, 1.0 / tan);
    // Per side: the triangle between (0.5, foot), (1, shoulder) and (1, 12).
    let sliver = 0.5 * 0.5 * (12.0 - shoulder);
    check(&got, "/removed/section_mm2", 0.6);
    check(&got, "/removed/thinning_mm3", 100.0 * 2.0 * sliver);
    check(&got, "/after/behind_edge_mm", 1.0);
    check(&got, "/after/bevel_face_mm", 0.5 / 20.0_f64.to_radians().sin());
    check(&got, "/removed/total_mm3", 60.0 + 200.0 * sliver);
    assert!(got["after"]["stiffness_pct"].as_f64().unwrap() < 95.0 && foot < shoulder);
    // The face needs 12 mm of blade: (39.7 - 12)/0.2.
    assert_eq!(got["limited_by"], "thickness");
    assert_eq!(got["services_left"]["p50"], 138);
    let idle = answer(&slab(double(20.0), json!({}), json!({"allowance_mm": 0.3, "behind_edge_mm": 2.1})));
    check(&idle, "/removed/thinning_mm3", 0.0);
}

#[test]
fn a_missing_tip_costs_length_and_no_height() {
    let whole = answer(&slab(double(20.0), json!({}), json!({"allowance_mm": 0.3})));
    let got = answer(&slab(double(20.0), json!({"tip_missing_mm": 10}), json!({"allowance_mm": 0.3})));
    assert_eq!(got["recession_mm"], whole["recession_mm"]);
    check(&got, "/removed/edge_mm3", 54.0);
    let tip = |wear: Value| {
        answer(&slab(double(20.0), wear, json!({"allowance_mm": 0.3})))["removed"]["tip_mm3"]
            .as_f64()
            .unwrap()
    };
    let (small, large) = (tip(json!({"tip_missing_mm": 2})), tip(json!({"tip_missing_mm": 10})));
    assert!(small > 0.0 && large > small, "{small} {large}");
    assert!(tip(json!({"tip_missing_mm": 10, "keep_belly": true})) > 0.0);
}

#[test]
fn teeth_left_broken_cost_nothing_and_others_their_depth() {
    let wear = |leave: bool| json!({"missing_teeth": [{"at_mm": 40, "broken_to_mm": 0.9, "leave": leave}]});
    check(&answer(&slab(arc(), wear(false), json!({"allowance_mm": 0.05}))), "/recession_mm", 0.95);
    check(&answer(&slab(arc(), wear(true), json!({"allowance_mm": 0.05}))), "/recession_mm", 0.05);
}

#[test]
fn a_tip_left_as_it_is_keeps_the_steel_that_redrawing_it_takes() {
    let advice = |wear: Value, allowance: f64| {
        answer(&slab(double(20.0), wear, json!({"allowance_mm": allowance})))["advice"]
            .as_str()
            .map(str::to_owned)
    };
    let tip = answer(&slab(double(20.0), json!({"tip_missing_mm": 10}), json!({"allowance_mm": 0.02})));
    let took = tip["removed"]["tip_mm3"].as_f64().unwrap();
    let left = format!("Leaving the tip as it is would take {took:.0} mm³ less steel.");
    assert_eq!(advice(json!({"tip_missing_mm": 10}), 0.02), Some(left));
    // Beside another choice it is said after it; without a missing tip, or for one that costs next to nothing, not at all.
    let both = advice(json!({"tip_missing_mm": 10}), 0.4).unwrap();
    assert!(
        both.starts_with("Half the allowance would keep 0.20 mm") && both.contains("Leaving the tip"),
        "{both}"
    );
    assert!(!advice(json!({}), 0.4).unwrap().contains("tip"));
    assert_eq!(advice(json!({"tip_missing_mm": 0.01}), 0.02), None);
}

#[test]
fn what_a_ledger_taught_widens_or_narrows_the_life_and_has_to_be_a_distribution() {
    let mut request = slab(double(20.0), json!({}), json!({"allowance_mm": 0.3}));
    request["blade"]["least_height_mm"] = json!(34);
    request["typical_recession_mm"] = json!({"median": 0.2, "spread": 0.5});
    let left = |request: &Value| {
        let left = &answer(request)["services_left"];
        ["p10", "p50", "p90"].map(|p| left[p].as_i64().unwrap())
    };
    let guessed = left(&request);
    let learned = |weight: f64, scale: f64| json!({"location": 0.2_f64.ln(), "weight": weight, "shape": 0.5 * weight, "scale": 0.5 * weight * scale});
    request["typical_recession_mm"]["learned"] = learned(4.0, 0.25);
    let vague = left(&request);
    assert!(vague[0] < guessed[0] && vague[2] > guessed[2], "{vague:?} {guessed:?}");
    request["typical_recession_mm"]["learned"] = learned(4e6, 0.25);
    let sure = left(&request);
    assert!(sure.iter().zip(guessed).all(|(a, b)| (a - b).abs() <= 1), "{sure:?} {guessed:?}");
    request["typical_recession_mm"]["learned"] = learned(-4.0, 0.25);
    let no = craft::line(&request.to_string(), &craft::Rates::default()).unwrap_err().to_string();
    assert!(no.contains("typical_recession_mm.learned"), "{no}");
}

#[test]
fn gullets_meet_the_hardness_line_one_depth_before_the_tips() {
    let request = |edge: Value| {
        let mut request = slab(edge, json!({}), json!({"allowance_mm": 0.1}));
        request["blade"]["hardness"] =
            json!({"edge_hrc": 60, "spine_hrc": 40, "line_mm": 6.1, "least_hrc": 55});
        request
    };
    let plain = answer(&request(json!({"kind": "single", "angle_deg": 20})));
    let teeth = answer(&request(arc()));
    // Room 6.0 and 6.0 - 1.4619, at 0.2 a service.
    assert_eq!(
        (plain["services_left"]["p50"].as_u64(), plain["limited_by"].as_str()),
        (Some(30), Some("hardness"))
    );
    assert_eq!(teeth["services_left"]["p50"], 22);
    // A least height that leaves exactly the same room comes first in the order.
    let mut tie = request(json!({"kind": "single", "angle_deg": 20}));
    tie["blade"]["least_height_mm"] = json!(33.9);
    assert_eq!(answer(&tie)["limited_by"], "height");
}

#[test]
fn flats_on_the_tips_are_gone_from_the_tips_alone() {
    let worn = answer(&slab(arc(), json!({"tip_flat_mm": 0.5}), json!({"allowance_mm": 0.2})));
    check(&worn, "/recession_mm", 0.2);
    // λ = e(0.25); a parallel blade loses b·(λ + Δ) less the mean of tan θ·(λ - e)²/2 over the flat.
    let sine = 20.0_f64.to_radians().sin();
    let e = |x: f64| ((42.25 - (x - 2.5) * (x - 2.5)).sqrt() - 6.0) / sine;
    let lambda = e(0.25);
    let n = 20_000;
    let gone: f64 = (0..n)
        .map(|i| {
            let x = 0.25 * (f64::from(i) + 0.5) / f64::from(n);
            0.5 * 20.0_f64.to_radians().tan() * (lambda - e(x)) * (lambda - e(x))
        })
        .sum::<f64>()
        * 0.25
        / f64::from(n)
        * 2.0
        / 5.0;
    check(&worn, "/removed/section_mm2", 2.0 * (lambda + 0.2) - gone);
}

#[test]
fn mixed_rows_of_teeth_are_one_pattern() {
    let mixed = json!({"kind": "serrated", "form": "mixed", "angle_deg": 20, "teeth": [
        {"form": "arc", "pitch_mm": 9, "ridge_radius_mm": 10},
        {"form": "arc", "pitch_mm": 3, "ridge_radius_mm": 4}, {"form": "arc", "pitch_mm": 3, "ridge_radius_mm": 4}]});
    let got = answer(&slab(mixed.clone(), json!({}), json!({"allowance_mm": 0.3})));
    check(&got, "/removed/section_mm2", 0.6);
    // Three equal teeth told as a mixed row are the plain row.
    let same = json!({"kind": "serrated", "form": "mixed", "angle_deg": 20,
        "teeth": [{"form": "arc", "pitch_mm": 5, "ridge_radius_mm": 6.5}, {"form": "arc", "pitch_mm": 5, "ridge_radius_mm": 6.5}]});
    let wheel = json!({"allowance_mm": 0, "wheel": {"form": "arc", "pitch_mm": 5.02, "angle_deg": 20, "ridge_radius_mm": 6.5}});
    let (one, two) = (answer(&slab(arc(), json!({}), wheel.clone())), answer(&slab(same, json!({}), wheel)));
    let cost = |answer: &Value| answer["recession_mm"].as_f64().unwrap();
    assert!((cost(&one) - cost(&two)).abs() < 1e-6, "{} {}", cost(&one), cost(&two));
    // To plain costs the deepest gullet.
    let plain = answer(&slab(mixed, json!({}), json!({"allowance_mm": 0, "mode": "plain"})));
    let deepest = (10.0 - (100.0_f64 - 20.25).sqrt()) / 20.0_f64.to_radians().sin();
    check(&plain, "/recession_mm", deepest);
}

#[test]
fn the_same_wheel_at_a_steeper_angle_costs_the_depth_it_no_longer_reaches() {
    let got = answer(&slab(arc(), json!({}), json!({"allowance_mm": 0.0, "angle_deg": 25})));
    let profile = 6.5 - 6.0;
    let depth = |angle: f64| profile / angle.to_radians().sin();
    check(&got, "/recession_mm", depth(20.0) - depth(25.0));
}

#[test]
fn a_spread_makes_the_cautious_count_smaller_and_years_follow_the_habit() {
    let mut request = slab(double(20.0), json!({}), json!({"allowance_mm": 0.1}));
    request["blade"]["least_height_mm"] = json!(30);
    request["typical_recession_mm"] = json!({"median": 0.2, "spread": 0.5});
    request["services_per_year"] = json!(4);
    let got = answer(&request);
    let (p10, p50, p90) = (
        got["services_left"]["p10"].as_u64().unwrap(),
        got["services_left"]["p50"].as_u64().unwrap(),
        got["services_left"]["p90"].as_u64().unwrap(),
    );
    assert!(p10 < p50 && p50 < p90, "{p10} {p50} {p90}");
    // The mean bite is 0.2·e^(1/8) = 0.2266: 9.9 mm are near 43 services.
    assert!((40..=46).contains(&p50), "{p50}");
    check(&got, "/years_left/p50", p50 as f64 / 4.0);
}

#[test]
fn advice_names_the_gentlest_thing_worth_doing() {
    let chip = json!({"chips": [{"depth_mm": 1.2, "width_mm": 2, "at_mm": 50}]});
    let mut request = slab(double(20.0), chip, json!({"allowance_mm": 0.05}));
    request["blade"]["least_height_mm"] = json!(30);
    let advice = answer(&request)["advice"].as_str().unwrap().to_owned();
    assert!(
        advice.contains("chip") && advice.contains("0.60 mm") && advice.contains("3 more services"),
        "{advice}"
    );
    let idle = slab(double(20.0), json!({}), json!({"allowance_mm": 0.02}));
    assert_eq!(answer(&idle).get("advice"), None);
}

#[test]
fn the_route_keeps_the_order_of_work_and_says_how_to_keep_cool() {
    let wear = json!({"land_mm": 0.05, "chips": [{"depth_mm": 0.8, "width_mm": 2, "at_mm": 50}]});
    let mut request = slab(double(20.0), wear, json!({"allowance_mm": 0.05, "behind_edge_mm": 1}));
    request["also"] = json!(["handle", "derust"]);
    let got = answer(&request);
    let steps = got["steps"].as_array().unwrap();
    let names: Vec<&str> = steps.iter().map(|step| step["operation"].as_str().unwrap()).collect();
    assert_eq!(
        names,
        [
            "inspect", "clean", "handle", "derust", "repair", "thin", "bevel", "hone", "prove", "redarken",
            "oil", "pack"
        ]
    );
    for step in
        steps.iter().filter(|step| ["repair", "thin", "bevel"].contains(&step["operation"].as_str().unwrap()))
    {
        assert!(
            step["passes"].as_u64().unwrap() > 0 && step["heat"].as_str().unwrap().contains("deeper"),
            "{step}"
        );
    }
    // Demo figures: inspection 8 + 3 for each of three damages, a chip of 0.8 mm 8 + 6, the bevel 6 + 0.025·100 rounded up.
    let minutes = |name: &str| {
        steps.iter().find(|step| step["operation"] == name).unwrap()["minutes"].as_u64().unwrap()
    };
    assert_eq!((minutes("inspect"), minutes("repair"), minutes("bevel")), (17, 14, 9));
    let shares: f64 = steps.iter().map(|step| step["height_share"].as_f64().unwrap()).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
}

#[test]
fn a_tapering_blade_is_integrated_along_its_curved_edge() {
    // 100 mm of a parallel blade that is 3 mm thick at the heel and 1 mm at the tip: 2 mm in the middle of a straight taper.
    let mut request = slab(double(20.0), json!({}), json!({"allowance_mm": 0.3}));
    let station = |at: f64, thick: f64| json!({"at_mm": at, "height_mm": 40, "behind_edge_mm": thick, "spine_mm": thick});
    // An edge that climbs 10 mm over the 100, straight: √(100² + 10²) long.
    request["more"] = json!({"stations": [station(0.0, 3.0), station(100.0, 1.0)], "edge_line": [[0, 0], [50, 5], [100, 10]]});
    let got = answer(&request);
    let length = 10_100.0_f64.sqrt();
    check(&got, "/along/edge_length_mm", length);
    check(&got, "/along/section_mm2", 0.6);
    check(&got, "/along/edge_mm3", 0.6 * length);
    check(&got, "/along/least_height_after_mm", 39.7);
    assert_eq!(got["along"].get("edge_radius_mm"), None, "a straight line has no radius");
    // A chip deepens the bevel along the whole edge.
    request["wear"] = json!({"chips": [{"depth_mm": 0.7, "width_mm": 2, "at_mm": 50}]});
    check(&answer(&request), "/along/section_mm2", 2.0);
    // What a missing tip took is not ground: 80 mm are left, 3 mm thick at the heel and 1.4 at their end.
    request["wear"] = json!({"tip_missing_mm": 20});
    let got = answer(&request);
    check(&got, "/along/edge_length_mm", 0.8 * length);
    check(&got, "/along/section_mm2", 0.3 * 2.2);
}

#[test]
fn the_bench_and_the_shops_wheels_are_answered_when_asked_for() {
    let mut request = slab(arc(), json!({}), json!({"allowance_mm": 0.05}));
    request["blade"]["spine_mm"] = json!(2);
    request["blade"]["behind_edge_mm"] = json!(0.4);
    request["more"] = json!({"wheels": true, "bench": {"wheel_width_mm": 25, "tilt_deg": 0.1},
        // 400 mm radius through three points: sagitta 3.125 over a chord of 100.
        "edge_line": [[0, 3.135], [50, 0], [100, 3.135]]});
    let got = answer(&request);
    let found = |code: &str| {
        got["checks"].as_array().unwrap().iter().find(|check| check["code"] == code).unwrap()["value"]
            .as_f64()
            .unwrap()
    };
    assert!((found("seam_step") - 0.13).abs() < 5e-3);
    // A natural spline through three points bends half as much again in the middle as the circle does.
    assert!((0.15..0.35).contains(&found("facets")), "{}", found("facets"));
    let choices = got["choices"].as_array().unwrap();
    let best = &choices[0];
    assert_eq!((best["wheel"].as_str(), best["refused"].as_str()), (Some("arc 5"), None));
    assert_eq!(best["recession_mm"], 0.05);
    assert_eq!(choices.last().unwrap()["mode"], "plain");
    assert!(
        choices.iter().any(|way| way["mode"] == "tooth")
            && choices.iter().any(|way| way["mode"] == "indexed")
    );
}
