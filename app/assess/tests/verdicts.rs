//! What the desk says, tried on an invented shop with one wheel, one belt and one bevel stone.

mod invented;

use assess::{Knowledge, booked, draw, inspected};
use craft::learn::{Habit, Observed};
use shop::bench::Wheel;
use shop::booking::{BookedKnife, Trouble};
use shop::edge::EdgeKind;
use shop::ids::ModelId;
use shop::inspection::{Chip, Inspection, MeasuredTeeth, TeethWay};
use shop::lang::Lang;
use shop::money::Money;
use shop::route::OperationKind as Op;
use uuid::Uuid;

use invented::knowledge;

fn plain_sheet() -> Inspection {
    Inspection {
        defects: vec![],
        edge: EdgeKind::Double,
        steel: Some("1.3505".into()),
        redarken: false,
        length_mm: 210.0,
        heights_mm: (None, 46.0, None),
        original_height_mm: Some(48.0),
        least_height_mm: Some(31.0),
        spine_mm: 2.4,
        behind_edge_mm: 0.35,
        angle_deg: 15.0,
        target_angle_deg: None,
        target_behind_edge_mm: None,
        land_mm: None,
        edge_hrc: None,
        edge_band_hrc: None,
        spine_hrc: None,
        line_mm: None,
        transition_mm: 0.0,
        least_hrc: None,
        chips: vec![Chip { depth_mm: 0.8, width_mm: 1.5, at_mm: 60.0, take_mm: 0.8 }],
        tip_mm: None,
        teeth: None,
        cut_test: None,
        allowance_mm: 0.02,
        note: String::new(),
    }
}

fn slicer(trouble: Trouble) -> BookedKnife {
    BookedKnife {
        model: Some(ModelId(Uuid::from_u128(7))),
        tag: None,
        name: "Test slicer".into(),
        edge: EdgeKind::Arc,
        length_mm: 210.0,
        steel: Some("1.2842".into()),
        darkened: true,
        trouble,
        to_plain: false,
        note: String::new(),
    }
}

#[test]
fn a_measured_chip_costs_its_depth_and_the_allowance_and_goes_over_the_belt() {
    // Depth 0.8 and allowance 0.02 make 0.82 (arithmetic); one chip of 0.5 mm beyond the free 0.3 is one step of 4.00.
    let verdict = inspected(&knowledge(), &plain_sheet(), None, false, false).unwrap();
    assert!((verdict.likely_mm() - 0.82).abs() < 1e-9);
    // The chip's depth is known to 0.05 mm; the bench may take 0.02 mm more.
    let (least, most) = verdict.recession_mm;
    assert!((least - 0.77).abs() < 1e-9 && (most - 0.89).abs() < 1e-9, "{least} {most}");
    assert_eq!(verdict.quote.total, Money(2400));
    let kinds: Vec<_> = verdict.route.iter().map(|s| s.kind).collect();
    assert!(kinds.is_sorted(), "{kinds:?}");
    assert!(
        kinds.contains(&Op::Repair) && kinds.contains(&Op::Bevel) && kinds.contains(&Op::Prove),
        "{kinds:?}"
    );
    let (before, after) = (verdict.services_before.unwrap(), verdict.services_after.unwrap());
    assert!(after.0 <= before.0 && after.1 < before.1, "{before:?} {after:?}");
}

#[test]
fn what_the_ledger_taught_and_how_often_it_comes_make_the_life() {
    let plain = inspected(&knowledge(), &plain_sheet(), None, false, false).unwrap();
    assert_eq!(plain.years_after, None, "nobody knows how often it comes");
    let mut knows = knowledge();
    knows.per_year = Some(2.0);
    // Sixty services measured that took twice as much as was thought, each to 0.01 mm.
    let prior = Habit::from_median(0.18, 0.5, 4.0);
    let seen = [Observed { recession_mm: 0.36, reading_sd_mm: 0.01 }; 60];
    knows.typical.learned.double = Some(prior.learn(&seen));
    let taught = inspected(&knows, &plain_sheet(), None, false, false).unwrap();
    let (before, after) = (plain.services_after.unwrap(), taught.services_after.unwrap());
    assert!(after.1 < before.1, "{after:?} {before:?}");
    assert!(
        after.1 - after.0 < before.1 - before.0,
        "sixty like services leave less open than a guess: {after:?} {before:?}"
    );
    let years = taught.years_after.unwrap();
    assert_eq!(years, (after.0 / 2, after.1.div_ceil(2)));
    // Another kind of edge has learned nothing from them.
    knows.typical.learned.single = knows.typical.learned.double.take();
    knows.per_year = None;
    assert_eq!(inspected(&knows, &plain_sheet(), None, false, false).unwrap(), plain);
}

#[test]
fn a_band_by_the_files_widens_the_life_to_both_its_ends() {
    let hard_to = |hrc: Option<f64>, band: Option<(f64, f64)>| {
        let sheet = Inspection {
            edge_hrc: hrc,
            edge_band_hrc: band,
            spine_hrc: Some(32.0),
            least_hrc: Some(56.0),
            line_mm: Some(4.0),
            transition_mm: 8.0,
            ..plain_sheet()
        };
        inspected(&knowledge(), &sheet, None, false, false).unwrap()
    };
    let after = |hrc| hard_to(Some(hrc), None).services_after.unwrap();
    let banded = hard_to(None, Some((57.0, 63.0)));
    let (soft, hard) = (after(57.0), after(63.0));
    assert!(soft.0 < hard.0 && soft.1 < hard.1, "{soft:?} {hard:?}");
    assert_eq!(banded.services_after, Some((soft.0, hard.1)));
    assert!(banded.cautions.iter().any(|words| words.contains("57 to 63 HRC")), "{:?}", banded.cautions);
    // A record says more than the band around it.
    let known = hard_to(Some(60.0), Some((57.0, 63.0)));
    assert_eq!(known.services_after, hard_to(Some(60.0), None).services_after);
    // Where the softer end is not hard enough at all, nothing may be left.
    assert_eq!(hard_to(None, Some((50.0, 65.0))).services_after.unwrap().0, 0);
}

#[test]
fn a_chip_left_in_takes_no_height_and_half_of_it_takes_half() {
    let taking = |take_mm| {
        let mut sheet = plain_sheet();
        sheet.chips[0].take_mm = take_mm;
        inspected(&knowledge(), &sheet, None, false, false).unwrap().likely_mm()
    };
    assert!((taking(0.0) - 0.02).abs() < 1e-9);
    assert!((taking(0.4) - 0.42).abs() < 1e-9);
}

#[test]
fn a_crack_is_never_ground_and_says_so() {
    let sheet = Inspection { defects: vec!["crack".into()], ..plain_sheet() };
    let verdict = inspected(&knowledge(), &sheet, None, false, false).unwrap();
    assert_eq!(verdict.refusal.unwrap().0, "crack");
    let booked = booked(&knowledge(), &slicer(Trouble { crack: true, ..Trouble::default() }), false);
    assert_eq!(booked.refusal.unwrap().0, "crack");
}

#[test]
fn impossible_figures_come_back_beside_their_field() {
    let sheet = Inspection { behind_edge_mm: 2.4, spine_mm: 2.0, ..plain_sheet() };
    let unsound = inspected(&knowledge(), &sheet, None, false, false).unwrap_err();
    assert!(["behind_edge", "spine"].contains(&unsound.field.as_str()), "{unsound:?}");
}

#[test]
fn our_own_slicer_goes_to_its_own_wheel_and_is_darkened_before_it_can_rust() {
    let verdict = booked(&knowledge(), &slicer(Trouble { dull: true, ..Trouble::default() }), false);
    assert_eq!(verdict.refusal, None);
    assert!(verdict.recession_mm.0 < verdict.recession_mm.1);
    assert_eq!((verdict.price.low, verdict.price.high), (Money(2800), Money(2800)));
    let serrate = verdict.route.iter().find(|s| s.kind == Op::Serrate).expect("teeth are cut");
    assert_eq!((serrate.station.as_str(), serrate.setup.as_str()), ("wheel", "arc"));
    assert_eq!(serrate.max_lag, Some(960));
    assert!(verdict.route.iter().any(|s| s.kind == Op::Redarken), "darkened steel is darkened again");
    let (low, high) = verdict.services_after.unwrap();
    assert!(low < high, "a knife nobody measured has a wide range: {low} to {high}");
}

#[test]
fn what_the_shop_has_learned_and_its_own_steels_count_from_the_booking_on() {
    let ask = |typical_mm: f64| {
        let mut knows = knowledge();
        knows.typical.serrated_mm = typical_mm;
        booked(&knows, &slicer(Trouble { dull: true, ..Trouble::default() }), false).services_after.unwrap()
    };
    let (gentle, greedy) = (ask(0.1), ask(0.5));
    assert!(greedy.0 < gentle.0 && greedy.1 < gentle.1, "{greedy:?} {gentle:?}");
    let mut knows = knowledge();
    knows.rates.steels = vec![craft::Steel {
        designations: vec!["shop 7".into()].into(),
        ..craft::steel("440C").unwrap().clone()
    }];
    let knife = BookedKnife { model: None, steel: Some("Shop 7".into()), ..slicer(Trouble::default()) };
    assert_eq!(assess::outlook(&knows, &knife).unwrap().middle.steel, "Shop 7");
    assert_eq!(assess::outlook(&knowledge(), &knife).unwrap().middle.steel, "unknown");
}

#[test]
fn minutes_are_a_span_once_the_ledger_has_taught_what_a_minute_takes() {
    let sheet = plain_sheet();
    let mut knows = knowledge();
    let taught_nothing = inspected(&knows, &sheet, None, false, false).unwrap();
    assert_eq!(taught_nothing.minutes.0, taught_nothing.minutes.1);
    let bevel = |verdict: &shop::read::Verdict| {
        verdict.route.iter().find(|step| step.kind == Op::Bevel).cloned().unwrap()
    };
    let before = bevel(&taught_nothing);
    let cut = before.cut.expect("a bevel grinds steel away");
    assert!(cut.metal_mm3 > 0.0 && cut.span.is_none() && before.minutes == cut.handling);
    // At a rate that makes 30 minutes of this bevel, with a spread of a half: 30·e^(±1.2816·0.5) is 15.8 to 56.9.
    let rate = craft::RemovalRate {
        operation: craft::Operation::Bevel,
        steel: None,
        mm3_per_min: cut.metal_mm3 / 30.0,
        spread: 0.5,
    };
    knows.rates.removal = vec![rate.clone()];
    let taught = inspected(&knows, &sheet, None, false, false).unwrap();
    let after = bevel(&taught);
    assert_eq!((after.minutes, after.span()), (30, (16, 57)));
    // One step alone is uncertain, so the whole is as uncertain as it.
    let all: u32 = taught.route.iter().map(|step| step.minutes).sum();
    assert_eq!(taught.minutes, (all - 14, all + 27));
    // Its own steel counts before any steel, and a quick one is never quicker than handling.
    knows.rates.removal.push(craft::RemovalRate { steel: Some("1.3505".into()), mm3_per_min: 1e6, ..rate });
    let quick = bevel(&inspected(&knows, &sheet, None, false, false).unwrap());
    assert_eq!((quick.minutes, quick.span()), (cut.handling, (cut.handling, cut.handling)));
}

#[test]
fn foreign_teeth_may_cost_anything_from_a_fitting_wheel_to_one_by_one() {
    let knife = BookedKnife {
        model: None,
        darkened: false,
        steel: None,
        ..slicer(Trouble { teeth: true, ..Trouble::default() })
    };
    let verdict = booked(&knowledge(), &knife, false);
    assert_eq!(verdict.price.low, Money(4000));
    assert!(verdict.price.high > Money(4000));
}

#[test]
fn every_drawing_can_be_drawn_and_names_itself() {
    let knows = knowledge();
    let sheet = Inspection {
        edge: EdgeKind::Arc,
        angle_deg: 20.0,
        chips: vec![],
        teeth: Some(MeasuredTeeth {
            pitch_mm: 5.0,
            depth_mm: None,
            ridge_radius_mm: Some(6.5),
            way: TeethWay::Own,
            setup: Some("arc".into()),
        }),
        ..plain_sheet()
    };
    let drawings = [
        draw::section(&knows, &sheet, Lang::En).unwrap(),
        draw::serration(&knows, &sheet, Lang::En).unwrap().unwrap(),
        draw::blade_side(&knows, &sheet, Lang::En).unwrap(),
        draw::life_fan(&knows, &sheet, &[48.0, 46.9], Lang::En).unwrap(),
        draw::section_booked(&knows, &slicer(Trouble { dull: true, ..Trouble::default() }), Lang::En)
            .unwrap(),
    ];
    for svg in drawings {
        assert!(svg.starts_with("<svg") && svg.contains("<title") && svg.contains("<desc"), "{svg:.200}");
        assert!(!svg.contains("style=") && !svg.contains("NaN"), "the page's rules forbid inline styles");
    }
    assert!(draw::serration(&knows, &plain_sheet(), Lang::En).is_none());
}

#[test]
fn the_route_names_the_stones_the_shop_has_and_no_others() {
    let mut knows = knowledge();
    let stone = |mark: &str, station: &str, setup: &str, grit: &str| Wheel {
        mark: mark.into(),
        station: station.into(),
        setup: setup.into(),
        grit: grit.into(),
        marked_max_rpm: None,
        spindle_rpm: None,
        teeth: None,
        ..knows.wheels[0].clone()
    };
    let stones = vec![
        stone("A", "belt", "p120", "FEPA P 120"),
        stone("B", "stone", "15", "JIS 800"),
        stone("C", "stone", "15", "JIS 3000"),
        // Without its scale a number says nothing.
        stone("D", "stone", "15", "6000"),
    ];
    let said = |knows: &Knowledge, kind: Op| {
        let verdict = inspected(knows, &plain_sheet(), None, false, false).unwrap();
        verdict.route.iter().find(|step| step.kind == kind).unwrap().targets.join("; ")
    };
    // The wheel of the invented shop cuts teeth: for a plain edge there is nothing to name.
    assert!(!said(&knows, Op::Hone).contains('#') && !said(&knows, Op::Repair).contains("P1"));
    knows.wheels.extend(stones);
    assert!(said(&knows, Op::Repair).contains("P120"), "{}", said(&knows, Op::Repair));
    assert!(said(&knows, Op::Bevel).contains("#800"), "{}", said(&knows, Op::Bevel));
    let hone = said(&knows, Op::Hone);
    assert!(hone.contains("#3000 ") && hone.contains("pass"), "{hone}");
    assert!(!hone.contains("#800"), "the bevel stone's own scratches are what comes off: {hone}");
    assert!(!hone.contains("6000"), "{hone}");
}
