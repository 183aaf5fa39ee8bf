//! From a checked knife to the answer.

use crate::answer::{After, Estimate, Limit, Note, Registered, Removed, ServicesLeft, YearsLeft};
use crate::checked::{Knife, Worn};
use crate::ground::Ground;
use crate::impossible::Impossible;
use crate::num::tidy;
use crate::rates::Rates;
use crate::request::{EdgeKind, Mode, Request};
use crate::steels::Steel;
use crate::steps::{self, Work};
use crate::{chips, hardness, life, plain, serrated, steels};

/// Everything about one knife: metal, the blade afterwards, life, steps, cautions.
///
/// # Errors
/// [`Impossible`] when two of the figures cannot both be true. A knife that should not be ground is not an error: it
/// carries a refusal, and every number.
pub fn estimate(request: &Request, rates: &Rates) -> Result<Estimate, Impossible> {
    let (steel, steel_found) = match steels::find(&request.steel, &[]) {
        Some(steel) => (steel, true),
        None => (steels::unknown_steel(), false),
    };
    let WorkedOut { knife, laid, delta, ground } = work_out(request, steel)?;
    let removed = removed(&knife, &ground, delta, steel);
    let height_after = request.blade.height_mm - delta;
    let (services_left, limited_by) = services_left(&knife, &ground, delta);

    let repair_depth = knife
        .request
        .wear
        .chips
        .iter()
        .filter(|chip| counts(chip, knife.length))
        .map(|chip| chip.depth_mm)
        .fold(0.0, f64::max);
    let plunges = laid.as_ref().map_or(1, |laid| laid.stretches.len() as u32);
    let work = Work {
        delta,
        repair_depth,
        edge_mm3: removed.edge_mm3,
        thinning_mm3: removed.thinning_mm3,
        tip_mm3: removed.tip_mm3,
        plunges,
    };
    let steps = steps::route(&knife, &work, rates);
    let refusal = refusal(&knife, &ground, delta, height_after);
    let cautions = cautions(&knife, &ground, steel_found);
    let years_left = match (services_left, request.services_per_year) {
        (Some(left), Some(per_year)) => Some(YearsLeft {
            p10: tidy(f64::from(left.p10) / per_year),
            p50: tidy(f64::from(left.p50) / per_year),
            p90: tidy(f64::from(left.p90) / per_year),
        }),
        _ => None,
    };
    Ok(Estimate {
        recession_mm: tidy(delta),
        height_after_mm: tidy(height_after),
        removed,
        after: After {
            behind_edge_mm: tidy(ground.behind_edge_mm),
            bevel_face_mm: tidy(ground.bevel_face_mm),
            edge_hrc: request.blade.hardness.and_then(|profile| hardness::at(&profile, delta)).map(tidy),
            stiffness_pct: tidy(ground.stiffness_pct),
        },
        services_left,
        limited_by,
        minutes: steps.iter().map(|step| step.minutes).sum(),
        steps,
        cautions,
        refusal,
        advice: None,
        registration: laid.filter(|_| request.target.wheel.is_some()).and_then(|laid| {
            let first = laid.stretches.first()?;
            Some(Registered { phase_mm: tidy(first.2), cost_mm: tidy(laid.cost), plunges })
        }),
        years_left,
    })
}

/// The geometry of one knife, before anything is said about it.
pub(crate) struct WorkedOut<'a> {
    pub(crate) knife: Knife<'a>,
    /// How new teeth lie on the old ones; `None` when the same pattern is cut again, or none.
    pub(crate) laid: Option<serrated::Laid>,
    /// Δ, height lost from today's edge.
    pub(crate) delta: f64,
    pub(crate) ground: Ground,
}

/// Checks a request and does its geometry.
pub(crate) fn work_out<'a>(request: &'a Request, steel: &'a Steel) -> Result<WorkedOut<'a>, Impossible> {
    let knife = Knife::check(request, steel)?;
    let laid = serrated::lay(&knife);
    let delta = recession(&knife, laid.as_ref().map_or(0.0, |laid| laid.cost))?;
    let ground = match &knife.teeth {
        Some(teeth) => serrated::grind(&knife, teeth, laid.as_ref(), delta),
        None => plain::grind(&knife, delta)?,
    };
    Ok(WorkedOut { knife, laid, delta, ground })
}

/// True for a chip that is taken out and lies, in part at least, on the edge that is left.
fn counts(chip: &crate::request::Chip, length: f64) -> bool {
    !chip.leave && chip.at_mm.is_none_or(|at| at - 0.5 * chip.width_mm < length)
}

/// Δ: how far the new apex goes above today's edge.
fn recession(knife: &Knife<'_>, mismatch: f64) -> Result<f64, Impossible> {
    let request = knife.request;
    let (wear, height) = (&request.wear, request.blade.height_mm);
    let chip = wear
        .chips
        .iter()
        .filter(|chip| counts(chip, knife.length))
        .map(|chip| chip.depth_mm)
        .fold(0.0, f64::max);
    let teeth = wear
        .missing_teeth
        .iter()
        .filter(|tooth| !tooth.leave && tooth.at_mm <= knife.length)
        .map(|tooth| tooth.broken_to_mm)
        .fold(0.0, f64::max);
    let mut delta = chip.max(teeth).max(mismatch) + request.target.allowance_mm;
    if let (Worn::Round { radius }, true) = (knife.worn, knife.kind != EdgeKind::Double) {
        delta = delta.max(radius);
    }
    if delta < height {
        return Ok(delta);
    }
    let at = if chip >= teeth.max(mismatch) && chip > 0.0 {
        "wear.chips"
    } else if teeth >= mismatch && teeth > 0.0 {
        "wear.missing_teeth"
    } else if mismatch > 0.0 {
        "target.wheel"
    } else {
        "target.allowance_mm"
    };
    Err(Impossible::new(at, format!("{delta} mm would have to go from a blade of blade.height_mm {height}")))
}

fn removed(knife: &Knife<'_>, ground: &Ground, delta: f64, steel: &Steel) -> Removed {
    let wear = &knife.request.wear;
    let chips = if wear.chips.is_empty() {
        0.0
    } else {
        // A chip that stays in has lost no metal the new bevel would take beyond what it already lacks.
        chip_volume(knife, ground)
    };
    let edge = (ground.section_mm2 * knife.length - chips).max(0.0);
    let thinning = ground.thinning_mm2 * knife.length;
    let tip =
        plain::tip_volume(ground, delta, knife.lambda, knife.sides(), wear.tip_missing_mm, wear.keep_belly);
    let total = edge + thinning + tip;
    Removed {
        section_mm2: tidy(ground.section_mm2),
        edge_mm3: tidy(edge),
        thinning_mm3: tidy(thinning),
        tip_mm3: tidy(tip),
        total_mm3: tidy(total),
        mass_g: tidy(total * steel.density_g_mm3()),
    }
}

fn chip_volume(knife: &Knife<'_>, ground: &Ground) -> f64 {
    let wear = &knife.request.wear;
    let taken: Vec<_> = wear.chips.iter().filter(|chip| !chip.leave).copied().collect();
    match &knife.teeth {
        None => chips::volume(&taken, knife.length, |_| plain::AboveEdge::new(knife, &ground.before)),
        Some(teeth) => {
            let unplaced: Vec<_> = taken.iter().filter(|chip| chip.at_mm.is_none()).copied().collect();
            chips::volume(&unplaced, knife.length, |_| serrated::AboveEdge::new(knife, 0.0))
                + chips::volume_on_teeth(
                    &taken,
                    knife.length,
                    |x, depth| serrated::AboveEdge::new(knife, teeth.e(x)).column(depth),
                    |from, to, breaks| teeth.kinks(0.0, from, to, breaks),
                )
        }
    }
}

/// Services the least room of all limits has left, and which limit it is.
fn services_left(knife: &Knife<'_>, ground: &Ground, delta: f64) -> (Option<ServicesLeft>, Limit) {
    match room(knife, ground, delta) {
        None => (None, Limit::None),
        Some((room, limit)) => {
            let later = knife.request.typical_recession_mm;
            (Some(life::services(room, later.median, later.spread)), limit)
        }
    }
}

/// Height the edge may still climb after this service, and what ends it: the least of all limits, on a tie the first in the
/// order of the list; `None` when nothing limits.
pub(crate) fn room(knife: &Knife<'_>, ground: &Ground, delta: f64) -> Option<(f64, Limit)> {
    let blade = &knife.request.blade;
    let gullet = new_depth(knife);
    let mut least: Option<(f64, Limit)> = None;
    let mut offer = |room: Option<f64>, limit: Limit| {
        if let Some(room) = room
            && least.is_none_or(|(known, _)| room < known - 1e-12)
        {
            least = Some((room, limit));
        }
    };
    offer(blade.least_height_mm.map(|limit| blade.height_mm - delta - limit), Limit::Height);
    offer(
        blade.hardness.and_then(|profile| hardness::highest_hard(&profile)).map(|y| y - gullet - delta),
        Limit::Hardness,
    );
    offer(
        knife.request.target.behind_edge_mm.map(|_| plain::thinning_room(knife, &ground.before) - delta),
        Limit::Thickness,
    );
    offer(blade.core_line_mm.map(|line| line - gullet - delta), Limit::Core);
    offer(
        blade.mark_mm.map(|mark| {
            let bevel = ground.after.pieces().first().map_or(0.0, |piece| piece.y1 - piece.y0);
            mark - gullet - delta - bevel
        }),
        Limit::Mark,
    );
    least
}

/// Depth of the teeth afterwards; 0 for a plain edge.
pub(crate) fn new_depth(knife: &Knife<'_>) -> f64 {
    match (&knife.teeth, &knife.new_teeth) {
        _ if knife.mode == Mode::Plain => 0.0,
        (_, Some(new)) => new.depth(),
        (Some(old), None) => old.depth(),
        (None, None) => 0.0,
    }
}

fn refusal(knife: &Knife<'_>, ground: &Ground, delta: f64, height_after: f64) -> Option<Note> {
    let blade = &knife.request.blade;
    if ground.past_spine {
        return Some(Note::new(
            "past_spine",
            "The new bevel would run out at the spine: there is not enough blade left to carry it.",
        ));
    }
    if let Some(least) = blade.least_height_mm
        && height_after < least - 1e-9
    {
        return Some(Note::new(
            "too_little_height",
            format!(
                "{height_after:.1} mm would be left of the blade, under the least useful height of {least} mm."
            ),
        ));
    }
    let soft = blade.hardness.and_then(|profile| hardness::highest_hard(&profile));
    if soft.is_some_and(|y| delta + new_depth(knife) > y + 1e-9) {
        return Some(Note::new(
            "too_soft",
            "The new edge would lie above the hardness line, in steel too soft to hold it.",
        ));
    }
    if blade.core_line_mm.is_some_and(|line| delta + new_depth(knife) > line + 1e-9) {
        return Some(Note::new(
            "past_core",
            "The new edge would lie above the hard core of this laminated blade.",
        ));
    }
    None
}

fn cautions(knife: &Knife<'_>, ground: &Ground, steel_found: bool) -> Vec<Note> {
    let mut notes = Vec::new();
    if !steel_found {
        notes.push(Note::new(
            "steel_not_in_table",
            format!(
                "No steel called {} is in the table: mass, heat and finish are taken from the middle of the range.",
                knife.request.steel
            ),
        ));
    } else if knife.steel.is_unknown() {
        notes.push(Note::new(
            "steel_unknown",
            "The steel is not known: mass, heat and finish are taken from the middle of the range.",
        ));
    }
    if ground.thinning_fails {
        notes.push(Note::new(
            "thinning_does_not_fit",
            "Thinning is wanted and no longer fits this blade: it is left out.",
        ));
    }
    if ground.ends_on_old_bevel {
        notes.push(Note::new(
            "ghosts",
            "The steeper new bevel ends on the old one: part of the old bevel stays visible above it.",
        ));
    }
    notes
}
