//! What is typed at the bench: after an operation, at the check, and when somebody stops.

use serde::{Deserialize, Serialize};

use crate::bench::Wheel;
use crate::field::{self, FieldErrors};
use crate::ledger::Measures;
use crate::piece::WaitsOn;
use crate::route::OperationKind;
use crate::units;

/// What was measured afterwards, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawDone {
    /// Minutes, where they were not those of the clock.
    pub minutes: String,
    /// Height at the middle.
    pub height: String,
    /// Thickness behind the edge.
    pub behind_edge: String,
    /// Angle.
    pub angle: String,
    /// Edge length.
    pub length: String,
    /// Bow that is left.
    pub bow: String,
    /// A remark.
    pub note: String,
}

/// The same, checked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Done {
    /// Minutes, where they were not those of the clock.
    pub minutes: Option<u32>,
    /// The figures.
    pub measures: Measures,
    /// A remark.
    pub note: String,
}

/// Checks what was typed after an operation.
pub fn done(raw: &RawDone) -> Result<Done, FieldErrors> {
    let mut errors = FieldErrors::default();
    let minutes = match raw.minutes.trim() {
        "" => None,
        typed => typed.parse().ok().filter(|m| (1..=1440).contains(m)).or_else(|| {
            errors.add("minutes", "Please give whole minutes from 1 to 1440, or leave it to the clock.");
            None
        }),
    };
    let measures = Measures {
        height_mm: figure(&mut errors, "height", &raw.height, "the height", 4.0, 150.0),
        behind_edge_mm: figure(
            &mut errors,
            "behind_edge",
            &raw.behind_edge,
            "the thickness behind the edge",
            0.02,
            4.0,
        ),
        angle_deg: figure(&mut errors, "angle", &raw.angle, "the angle in degrees", 4.0, 50.0),
        length_mm: figure(&mut errors, "length", &raw.length, "the edge's length", 15.0, 700.0),
        bow_mm: figure(&mut errors, "bow", &raw.bow, "the bow", 0.0, 50.0),
        ..Measures::default()
    };
    let note = field::line(&mut errors, "note", &raw.note, "the remark", 300, false).unwrap_or_default();
    errors.or(Some(Done { minutes, measures, note }))
}

/// The diameter of a wheel as measured when it was mounted; empty: not measured. A wheel never grows, and one that is
/// worn to its least is taken off.
pub fn worn_to(typed: &str, wheel: &Wheel) -> Result<Option<f64>, FieldErrors> {
    let mut errors = FieldErrors::default();
    // A caliper over a turning face reads a little differently each time.
    let most = wheel.diameter_mm + 0.5;
    let measured = figure(&mut errors, "diameter", typed, "the wheel's diameter", 1.0, most);
    if let Some(mm) = measured.filter(|mm| *mm < wheel.least_diameter_mm) {
        errors.add(
            "diameter",
            format!(
                "At {} mm {} is below its least of {} mm. Take it off; the owner puts it out of use.",
                units::short(mm, 1),
                wheel.mark,
                units::short(wheel.least_diameter_mm, 0)
            ),
        );
    }
    errors.or(Some(measured))
}

/// A figure that may stay empty. Lengths may come in inches; angles are read the same way, without a unit.
fn figure(
    errors: &mut FieldErrors,
    field: &str,
    typed: &str,
    what: &str,
    least: f64,
    most: f64,
) -> Option<f64> {
    if typed.trim().is_empty() {
        return None;
    }
    let read = units::length(typed.trim().trim_end_matches('°')).map(|t| t.mm);
    let fits = read.filter(|mm| (least..=most).contains(mm));
    if fits.is_none() {
        let (least, most) = (units::short(least, 2), units::short(most, 0));
        errors
            .add(field, format!("Please give {what} as a figure from {least} to {most}, or leave it empty."));
    }
    fits
}

/// What is looked at: code and what is true when it is ticked.
pub const LOOKED_AT: [(&str, &str); 4] = [
    ("burr", "No burr: both faces feel and look clean along the whole edge"),
    ("angle", "The angle is what the sheet says"),
    ("straight", "It is straight, and the edge line is even"),
    ("colour", "No colour near the edge: it did not get too hot"),
];

/// How the cutting test was made: code, words, unit, and the range a figure can have.
pub const METHODS: [(&str, &str, &str, f64, f64); 3] = [
    ("force", "Push cut through the shop's test medium", "N", 0.05, 60.0),
    ("rope", "Strokes through rope or crust at the set weight", "strokes", 1.0, 200.0),
    ("card", "Card cut after ISO 8442-5, first stroke", "mm", 1.0, 200.0),
];

/// The check as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawCheck {
    /// What was found good, by code.
    pub good: Vec<String>,
    /// The angle measured.
    pub angle: String,
    /// Height afterwards.
    pub height: String,
    /// Bow that is left.
    pub bow: String,
    /// The cutting test's method.
    pub method: String,
    /// Its number.
    pub number: String,
    /// The number before the work, by the same method; empty: it was not taken.
    pub before: String,
    /// `pass` or `rework`.
    pub verdict: String,
    /// For rework: what is done again, by code.
    pub again: Vec<String>,
    /// Why, or a remark.
    pub note: String,
}

/// The same, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// It passed.
    pub passed: bool,
    /// Else what is done again.
    pub again: Vec<OperationKind>,
    /// What was looked at and how it was.
    pub findings: Vec<String>,
    /// How the cutting test was made: a code of [`METHODS`].
    pub method: Option<String>,
    /// Its number before the work.
    pub before: Option<f64>,
    /// The figures, the cutting test's among them.
    pub measures: Measures,
    /// Why it goes back, or a remark.
    pub note: String,
}

/// Checks what was typed. A pass needs everything found good and a cutting test; rework needs a reason and a step.
pub fn check(raw: &RawCheck) -> Result<Check, FieldErrors> {
    let mut errors = FieldErrors::default();
    let passed = raw.verdict == "pass";
    let mut findings = Vec::new();
    for (code, words) in LOOKED_AT {
        let good = raw.good.iter().any(|g| g == code);
        if passed && !good {
            errors.add(
                format!("good-{code}"),
                format!("Look at this before it passes: {}.", words.to_lowercase()),
            );
        }
        findings.push(format!("{code}: {}", if good { "good" } else { "not good" }));
    }
    let method = METHODS.iter().find(|m| m.0 == raw.method);
    let number = match (method, raw.number.trim()) {
        (_, "") => {
            if passed {
                errors.add(
                    "number",
                    "Please give the number of the cutting test; nothing goes home that has not cut.",
                );
            }
            None
        }
        (None, _) => {
            errors.add("method", "Please say how the cutting test was made.");
            None
        }
        (Some(m), typed) => {
            let read = in_range(typed, m);
            if let Some(value) = read {
                findings.push(format!("cut test, {}: {} {}", m.1, units::short(value, 2), m.2));
            } else {
                errors.add("number", format!("Please give a number from {} to {} {}.", m.3, m.4, m.2));
            }
            read
        }
    };
    let before = match (method, raw.before.trim()) {
        (_, "") => None,
        (None, _) => {
            errors.add("method", "Please say how the cutting test was made.");
            None
        }
        (Some(m), typed) => {
            let read = in_range(typed, m);
            if let Some(value) = read {
                findings.push(format!("before the work: {} {}", units::short(value, 2), m.2));
            } else {
                errors.add(
                    "before",
                    format!("Please give a number from {} to {} {}, or leave it empty.", m.3, m.4, m.2),
                );
            }
            read
        }
    };
    let measures = Measures {
        angle_deg: figure(&mut errors, "angle", &raw.angle, "the angle in degrees", 4.0, 50.0),
        height_mm: figure(&mut errors, "height", &raw.height, "the height", 4.0, 150.0),
        bow_mm: figure(&mut errors, "bow", &raw.bow, "the bow", 0.0, 50.0),
        cut_test: number,
        ..Measures::default()
    };
    let again: Vec<OperationKind> = raw.again.iter().filter_map(|code| code.parse().ok()).collect();
    match raw.verdict.as_str() {
        "pass" => {}
        "rework" => {
            if again.is_empty() {
                errors.add("again", "Please choose what is done again.");
            }
        }
        _ => errors.add("verdict", "Please choose: passed, or back to the bench."),
    }
    let note = field::line(&mut errors, "note", &raw.note, "why it goes back", 300, raw.verdict == "rework");
    let method = method.filter(|_| number.is_some()).map(|m| m.0.to_owned());
    errors.or(note.map(|note| Check { passed, again, findings, method, before, measures, note }))
}

/// A figure as typed, if the method can give it.
fn in_range(typed: &str, method: &(&str, &str, &str, f64, f64)) -> Option<f64> {
    units::decimal(typed).filter(|v| (method.3..=method.4).contains(v))
}

/// A reason to stop: its code, what people read, and whether the piece is then held.
pub struct Reason {
    /// Code in forms and ledger.
    pub code: &'static str,
    /// What people read.
    pub words: &'static str,
    /// On whom the piece waits afterwards; `None`: it goes on whenever somebody takes it up.
    pub holds: Option<WaitsOn>,
}

/// All reasons, the harmless one first.
pub const REASONS: &[Reason] = &[
    Reason { code: "pause", words: "Pause: it goes on later", holds: None },
    Reason { code: "crack", words: "A crack or a flaw shows", holds: Some(WaitsOn::Shop) },
    Reason { code: "heat", words: "It got too hot: a colour shows", holds: Some(WaitsOn::Shop) },
    Reason { code: "machine", words: "Wheel, belt or machine has a fault", holds: Some(WaitsOn::Parts) },
    Reason { code: "identity", words: "Knife and tag do not belong together", holds: Some(WaitsOn::Shop) },
    Reason {
        code: "measure",
        words: "The measures on the sheet cannot be right",
        holds: Some(WaitsOn::Shop),
    },
    Reason {
        code: "damaged",
        words: "It was damaged here; the customer reads what you write",
        holds: Some(WaitsOn::Shop),
    },
    Reason { code: "lost", words: "It cannot be found; the customer reads what you write", holds: None },
    Reason { code: "other", words: "Something else", holds: Some(WaitsOn::Shop) },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_after_the_work_come_in_mm_or_inches_and_may_be_left_empty() {
        let raw = RawDone { height: "1 13/16 in".into(), angle: "15°".into(), ..RawDone::default() };
        let read = done(&raw).unwrap();
        assert!((read.measures.height_mm.unwrap() - 46.0375).abs() < 1e-9);
        assert_eq!(read.measures.angle_deg, Some(15.0));
        assert_eq!(read.measures.behind_edge_mm, None);
        let wrong = RawDone { height: "460".into(), minutes: "0".into(), ..RawDone::default() };
        let errors = done(&wrong).unwrap_err();
        assert!(errors.of("height").is_some() && errors.of("minutes").is_some());
    }

    fn all_good() -> RawCheck {
        RawCheck {
            good: LOOKED_AT.iter().map(|(code, _)| (*code).to_owned()).collect(),
            method: "force".into(),
            number: "2,4".into(),
            verdict: "pass".into(),
            ..RawCheck::default()
        }
    }

    #[test]
    fn a_pass_needs_everything_good_and_a_number() {
        let passed = check(&all_good()).unwrap();
        assert!(passed.passed);
        assert_eq!(passed.measures.cut_test, Some(2.4));
        let mut burr = all_good();
        burr.good.retain(|g| g != "burr");
        assert!(check(&burr).unwrap_err().of("good-burr").is_some());
        let both = check(&RawCheck { before: "11".into(), ..all_good() }).unwrap();
        assert_eq!((both.method.as_deref(), both.before), (Some("force"), Some(11.0)));
        assert!(both.findings.iter().any(|f| f == "before the work: 11 N"), "{:?}", both.findings);
        let untested = RawCheck { number: String::new(), ..all_good() };
        assert!(check(&untested).unwrap_err().of("number").is_some());
    }

    #[test]
    fn rework_needs_a_reason_and_a_step() {
        let bare = RawCheck { verdict: "rework".into(), ..RawCheck::default() };
        let errors = check(&bare).unwrap_err();
        assert!(errors.of("again").is_some() && errors.of("note").is_some());
        let said = RawCheck { again: vec!["hone".into()], note: "burr left".into(), ..bare };
        assert_eq!(check(&said).unwrap().again, [OperationKind::Hone]);
    }

    #[test]
    fn a_wheel_only_wears_and_is_taken_off_at_its_least() {
        let wheel: Wheel = serde_json::from_value(serde_json::json!({
            "id": "00000000-0000-0000-0000-000000000000", "mark": "W-1", "name": "", "station": "wheel",
            "setup": "arc-5", "bond": "vitrified", "grit": "", "diameter_mm": 197.4, "width_mm": 25.0,
            "least_diameter_mm": 150.0, "marked_max_rpm": 3340.0, "spindle_rpm": 2850.0, "teeth": null,
            "generation": 1, "pieces_since_dressing": 0
        }))
        .unwrap();
        assert_eq!(worn_to("", &wheel), Ok(None));
        assert_eq!(worn_to("196,8", &wheel), Ok(Some(196.8)));
        assert!(worn_to("198.2", &wheel).is_err(), "it has not grown");
        assert!(worn_to("149", &wheel).unwrap_err().of("diameter").unwrap().contains("Take it off"));
    }
}
