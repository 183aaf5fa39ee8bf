//! One honest line: what a gentler choice would save.

use crate::estimate::{Causes, WorkedOut, work_out};
use crate::request::{Mode, Request};

/// A saving too small to mention, mm of height.
const WORTH_MM: f64 = 0.05;

/// What would keep most height: a smaller allowance, the deepest chip left in part, broken teeth left, teeth cut one by one, today's angle
/// kept; and what a missing tip would keep if it were left as it is.
/// `room` is the height left to the limit, `services` the middle count it gives. `None` when nothing gentler is worth saying.
pub(crate) fn advice(
    found: &WorkedOut<'_>,
    room: Option<f64>,
    services: Option<u32>,
    tip_mm3: f64,
) -> Option<String> {
    let said = [height_kept(found, room, services).or_else(|| steel_saved(found)), tip_left(found, tip_mm3)];
    let said: Vec<String> = said.into_iter().flatten().collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// Redrawing a tip from the spine costs the edge no height, but steel and no edge that is gone comes back by it; the belly kept, the tip
/// loses height besides.
fn tip_left(found: &WorkedOut<'_>, tip_mm3: f64) -> Option<String> {
    let wear = &found.knife.request.wear;
    (wear.tip_missing_mm > 0.0 && tip_mm3 > 5.0)
        .then(|| format!("Leaving the tip as it is would take {tip_mm3:.0} mm³ less steel."))
}

fn height_kept(found: &WorkedOut<'_>, room: Option<f64>, services: Option<u32>) -> Option<String> {
    let causes = &found.causes;
    let mut best: Option<(f64, Choice)> = None;
    let mut offer = |choice: Choice, recession: f64| {
        let kept = found.delta - recession;
        if kept >= WORTH_MM && best.as_ref().is_none_or(|(known, _)| kept > *known + 1e-9) {
            best = Some((kept, choice));
        }
    };
    offer(Choice::Allowance, Causes { allowance: 0.5 * causes.allowance, ..*causes }.recession());
    offer(Choice::Chip, Causes { chip: 0.5 * causes.chip, ..*causes }.recession());
    offer(Choice::Teeth, Causes { teeth: 0.0, ..*causes }.recession());
    for choice in [Choice::ToothByTooth, Choice::Angle] {
        if let Some(other) =
            choice.request(found).and_then(|gentler| Some(work_out(&gentler, found.knife.steel).ok()?.delta))
        {
            offer(choice, other);
        }
    }
    let (kept, choice) = best?;
    let what = match choice {
        Choice::Allowance => "Half the allowance".to_owned(),
        Choice::Chip => format!("Leaving the lower half of the deepest chip ({:.1} mm) in", causes.chip),
        Choice::Teeth => "Leaving the broken teeth as they are".to_owned(),
        Choice::ToothByTooth => "Cutting tooth by tooth".to_owned(),
        Choice::Angle => "Keeping today's angle".to_owned(),
    };
    // Every limit counts from the new edge, so the room grows by exactly what is kept.
    let later = found.knife.request.typical_recession_mm;
    let more = match (room, services) {
        (Some(room), Some(now)) => later.middle_services(room + kept).saturating_sub(now),
        _ => 0,
    };
    let more = match more {
        0 => String::new(),
        1 => ", about one more service".to_owned(),
        n => format!(", about {n} more services"),
    };
    Some(format!("{what} would keep {kept:.2} mm of height{more}."))
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Choice {
    Allowance,
    Chip,
    Teeth,
    ToothByTooth,
    Angle,
}

impl Choice {
    /// The gentler request, where only new geometry can tell what it costs.
    fn request(self, found: &WorkedOut<'_>) -> Option<Request> {
        let knife = &found.knife;
        let costs = found.causes.mismatch > WORTH_MM;
        let target = &knife.request.target;
        let wanted = match self {
            Self::ToothByTooth => {
                costs && target.wheel.is_some() && matches!(knife.mode, Mode::Full | Mode::Indexed)
            }
            Self::Angle => costs && target.wheel.is_none() && knife.theta_new > knife.theta,
            Self::Allowance | Self::Chip | Self::Teeth => false,
        };
        wanted.then(|| {
            let mut gentler = knife.request.clone();
            if self == Self::ToothByTooth {
                gentler.target.mode = Some(Mode::Tooth);
                gentler.target.ridges = None;
            } else {
                (gentler.target.angle_deg, gentler.target.half_angle_deg) = (None, None);
            }
            gentler
        })
    }
}

/// No height to be saved: perhaps metal, by not making the angle finer.
fn steel_saved(found: &WorkedOut<'_>) -> Option<String> {
    let knife = &found.knife;
    if knife.teeth.is_some() || knife.theta_new >= knife.theta {
        return None;
    }
    let mut gentler = knife.request.clone();
    (gentler.target.angle_deg, gentler.target.half_angle_deg) = (None, None);
    let other = work_out(&gentler, knife.steel).ok()?;
    let (now, then) = (found.ground.section_mm2 * knife.length, other.ground.section_mm2 * knife.length);
    (now > 1.2 * then && now - then > 5.0)
        .then(|| format!("Keeping today's angle would take {:.0} mm³ less steel.", now - then))
}
