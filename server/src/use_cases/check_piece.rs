//! Somebody checks a piece: burr, angle, straightness, colour, and a cutting test with its number and method. It passes,
//! or goes back for more work.

use serde::{Deserialize, Serialize};
use shop::field::{self, FieldErrors};
use shop::ids::OperationId;
use shop::ledger::{Fact, Measures};
use shop::piece::Event;
use shop::read::{Operation, OperationState, Piece};
use shop::route::OperationKind;

use super::bench::{self, Refused};
use super::finish_operation::{again_when_stale, end, figure, is_last};
use super::ready;
use crate::context::Ctx;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{WriteTx, operations, visits};

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
    passed: bool,
    again: Vec<OperationKind>,
    findings: Vec<String>,
    measures: Measures,
    note: String,
}

/// Checks what was typed. A pass needs everything found good and a cutting test; rework needs a reason and a step.
pub fn check(raw: &RawCheck) -> Result<Check, FieldErrors> {
    let mut errors = FieldErrors::default();
    let passed = raw.verdict == "pass";
    let mut findings = Vec::new();
    for (code, words) in LOOKED_AT {
        let good = raw.good.iter().any(|g| g == code);
        if passed && !good {
            errors.add(format!("good-{code}"), format!("Look at this before it passes: {}.", words.to_lowercase()));
        }
        findings.push(format!("{code}: {}", if good { "good" } else { "not good" }));
    }
    let method = METHODS.iter().find(|m| m.0 == raw.method);
    let number = match (method, raw.number.trim()) {
        (_, "") => {
            if passed {
                errors.add("number", "Please give the number of the cutting test; nothing goes home that has not cut.");
            }
            None
        }
        (None, _) => {
            errors.add("method", "Please say how the cutting test was made.");
            None
        }
        (Some(m), typed) => {
            let read = typed.replace(',', ".").parse::<f64>().ok().filter(|v| (m.3..=m.4).contains(v));
            match read {
                Some(value) => {
                    findings.push(format!("cut test, {}: {} {}", m.1, shop::units::short(value, 2), m.2));
                    Some(value)
                }
                None => {
                    errors.add("number", format!("Please give a number from {} to {} {}.", m.3, m.4, m.2));
                    None
                }
            }
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
    errors.or(note.map(|note| Check { passed, again, findings, measures, note }))
}

/// Writes the check down and moves the piece.
pub async fn check_piece(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
    raw: &RawCheck,
) -> Result<(), Refused> {
    let checked = check(raw).map_err(Refused::Fields)?;
    again_when_stale(async || {
        let now = ctx.now();
        let tx = ctx.store.begin_write().await?;
        if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
            return Ok(());
        }
        let (mut operation, mut piece) = bench::operation(&tx, id).await?;
        if operation.step.kind != OperationKind::Prove {
            return Err(Refused::first("This step is not a check."));
        }
        let done = end(&tx, &mut operation, None, Measures::default(), now).await?;
        let fact = Fact::Checked {
            passed: checked.passed,
            findings: checked.findings.clone(),
            measures: checked.measures,
        };
        let event = if checked.passed { Event::Pass } else { Event::Rework };
        bench::save(&tx, &mut piece, Some(event), bench::who(by), &[fact, done], &checked.note, now).await?;
        if !checked.passed {
            add_rework(ctx, &tx, &piece, &checked).await?;
            // A visit that was told to be ready is not any more.
            let mut visit = visits::get(&tx, piece.visit).await?.ok_or(Refused::Gone)?;
            if visit.ready_at.take().is_some() {
                visits::save(&tx, &visit, now).await?;
            }
        } else if is_last(&tx, &piece).await? {
            ready::finish(ctx, &tx, &mut piece, bench::who(by), now).await?;
        }
        requests::settle(&tx, key, id.0).await?;
        tx.commit().await?;
        bench::ring(ctx, piece.visit);
        Ok(())
    })
    .await
}

/// Appends what is done again, the check after it, and then the finishing steps that were still to come.
async fn add_rework(ctx: &Ctx, tx: &WriteTx, piece: &Piece, checked: &Check) -> Result<(), Refused> {
    let route = operations::of_piece(tx, piece.id).await?;
    let open: Vec<Operation> = route.iter().filter(|o| o.state == OperationState::Open).cloned().collect();
    let mut again: Vec<Operation> = Vec::new();
    for kind in &checked.again {
        // The last time this kind was done says where and how.
        match route.iter().rfind(|o| o.step.kind == *kind && o.state == OperationState::Done) {
            Some(before) if !again.iter().any(|o| o.step.kind == *kind) => again.push(before.clone()),
            Some(_) => {}
            None => return Err(Refused::field("again", format!("“{kind}” was not done on this piece."))),
        }
    }
    again.sort_by_key(|o| o.step.kind);
    let prove = route.iter().rfind(|o| o.step.kind == OperationKind::Prove).cloned();
    operations::drop_open(tx, piece.id).await?;
    let first = route.iter().map(|o| o.position + 1).max().unwrap_or(0);
    let steps = again.into_iter().chain(prove).map(|o| (o, true)).chain(open.into_iter().map(|o| (o, false)));
    let fresh: Vec<Operation> = (first..)
        .zip(steps)
        .map(|(position, (model, again))| {
            let mut step = model.step;
            if again {
                step.reason = format!("Again: {}", checked.note);
            }
            Operation {
                id: OperationId(ctx.new_id()),
                piece: piece.id,
                position,
                step,
                estimated: false,
                state: OperationState::Open,
                started_at: None,
                done_at: None,
                by: None,
                pinned: false,
                version: 1,
            }
        })
        .collect();
    operations::insert(tx, &fresh).await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
