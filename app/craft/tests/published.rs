//! Worked examples of others. Figures that fail their own arithmetic in print (a textbook force ten times too large, a power ten times too
//! small) are left out.

use craft::heat::{Band, contact_length_mm, equivalent_chip_mm};
use craft::wheel::surface_m_s;

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "expected {expected}, found {found}");
}

#[test]
fn a_surface_grinding_example_of_a_textbook_companion() {
    // Example 4.21: depth 0.05, D 200 mm, 3000 turns, feed 100 mm/min.
    near(contact_length_mm(0.05, 200.0), 3.162, 2e-4);
    let wheel = surface_m_s(200.0, 3000.0);
    near(equivalent_chip_mm(0.05, 0.1 / 60.0, wheel), 2.65e-6, 2e-3);
}

#[test]
fn a_posted_exercise_on_contact_length() {
    // 250 mm wheel, infeed 0.05.
    near(contact_length_mm(0.05, 250.0), 3.536, 2e-4);
}

#[test]
fn a_band_on_bearing_steel_by_the_short_form_and_by_the_integral() {
    // q 20 W/mm², contact 3.162 mm, 0.1 m/s, 52100: L 6.29, 305 K by the short form, about 3.5 % less exactly.
    let steel = craft::steel("52100").unwrap();
    let band = Band {
        flux_w_m2: 20e6,
        length_m: 3.162e-3,
        speed_m_s: 0.1,
        conductivity_w_mk: steel.conductivity_w_mk.value,
        diffusivity_m2_s: steel.diffusivity_m2_s(),
    };
    near(band.outrun(), 6.29, 2e-3);
    near(band.rise_short(), 305.0, 5e-3);
    near(band.rise(), 305.0 * 0.965, 8e-3);
}

#[test]
fn diffusivities_worked_out_from_printed_rows_come_out() {
    for (name, mm2_s) in
        [("440C", 6.88), ("420", 7.31), ("1.4109", 8.47), ("1.2842", 8.31), ("D2", 5.93), ("52100", 12.56)]
    {
        near(craft::steel(name).unwrap().diffusivity_m2_s() * 1e6, mm2_s, 2e-3);
    }
}

#[test]
fn tempering_rows_meet_a_second_source() {
    // A second 440C table: 204 °C 59, 260 57, 316 56, 371 56. A D2 sheet: 204 °C 61, read here within one point.
    let row = &craft::steel("440C").unwrap().tempering;
    for pair in [(204.0, 59.0), (260.0, 57.0), (316.0, 56.0), (371.0, 56.0)] {
        assert!(row.contains(&pair), "{pair:?}");
    }
    let d2 = craft::heat::temper_of(craft::steel("D2").unwrap(), 60.5).unwrap();
    near(d2, 204.0, 0.05);
}

#[test]
fn a_flat_bevel_is_as_wide_and_high_as_on_paper() {
    // T 0.5 behind the edge, 15° a side: face T/(2 sin) 0.9659, height T/(2 tan) 0.9330 mm; read off an estimate that takes nothing.
    let request: craft::Request = serde_json::from_str(
        r#"{"steel": "440C",
            "blade": {"edge_length_mm": 200, "height_mm": 40, "spine_mm": 2, "behind_edge_mm": 0.5},
            "edge": {"kind": "double", "half_angle_deg": 15}, "target": {"allowance_mm": 0},
            "typical_recession_mm": {"median": 0.2}}"#,
    )
    .unwrap();
    let found = craft::estimate(&request, &craft::Rates::default()).unwrap();
    near(found.after.bevel_face_mm, 0.9659, 1e-4);
    assert_eq!(found.removed.total_mm3, 0.0);
}

#[test]
fn lower_bounds_of_wear_from_geometry() {
    // A flat of 10 µm at 30° included lies 18.7 µm under the sharp apex; a radius of 5 µm 14.3 µm. Read as the metal an idle regrind takes:
    // the section grows by the land's own height.
    let request = |wear: &str| -> craft::Request {
        serde_json::from_str(&format!(
            r#"{{"steel": "440C",
            "blade": {{"edge_length_mm": 200, "height_mm": 40, "spine_mm": 0.5, "behind_edge_mm": 0.5}},
            "edge": {{"kind": "double", "half_angle_deg": 15}}, "wear": {wear}, "target": {{"allowance_mm": 0}},
            "typical_recession_mm": {{"median": 0.2}}}}"#
        ))
        .unwrap()
    };
    let section =
        |wear: &str| craft::estimate(&request(wear), &craft::Rates::default()).unwrap().removed.section_mm2;
    // A parallel blade: lifting the V by λ takes b·λ, less the worn tip (land²/(4 tan), r²(cot - (π/2 - θ))).
    let theta = 15.0_f64.to_radians();
    near(section(r#"{"land_mm": 0.01}"#), 0.5 * 0.0187 - 1e-4 / (4.0 * theta.tan()), 3e-3);
    let gone = 0.005 * 0.005 * (1.0 / theta.tan() - (std::f64::consts::FRAC_PI_2 - theta));
    near(section(r#"{"radius_mm": 0.005}"#), 0.5 * 0.0143 - gone, 3e-3);
}

/// Mean grain sizes of coated abrasives as a second reference prints them (the article "sandpaper" of an online dictionary of units and
/// sizes, read in November 2026): the table of `craft::grit` was made from another page.
#[test]
fn coated_grains_are_as_large_as_a_second_reference_says() {
    use craft::grit::{Scale, grain_um};
    for (number, um) in [
        (12, 1815.0),
        (16, 1324.0),
        (20, 1000.0),
        (24, 764.0),
        (30, 642.0),
        (36, 538.0),
        (40, 425.0),
        (50, 336.0),
        (60, 269.0),
        (80, 201.0),
        (100, 162.0),
        (120, 125.0),
    ] {
        assert_eq!(grain_um(Scale::FepaP, number), Some(um), "P{number}");
    }
    // A sharpener's page gives waterstones of these numbers on the Japanese scale (March 2008).
    for (number, um) in [(4000, 3.0), (6000, 2.0), (8000, 1.2)] {
        assert_eq!(grain_um(Scale::Jis, number), Some(um), "#{number}");
    }
}
