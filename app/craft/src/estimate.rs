//! From a checked knife to the answer.

use crate::answer::{After, Estimate, Limit, Note, Registered, Removed, YearsLeft};
use crate::checked::{Knife, Worn};
use crate::ground::Ground;
use crate::impossible::Impossible;
use crate::num::tidy;
use crate::rates::Rates;
use crate::request::{EdgeKind, Mode, Request};
use crate::steels::Steel;
use crate::steps::{self, Operation, Work};
use crate::{advice, chips, hardness, plain, serrated, steels};

/// Everything about one knife: metal, the blade afterwards, life, steps, cautions.
///
/// # Errors
/// [`Impossible`] when two of the figures cannot both be true. A knife that should not be ground is not an error: it
/// carries a refusal, and every number.
pub fn estimate(request: &Request, rates: &Rates) -> Result<Estimate, Impossible> {
    let (steel, steel_found) = match steels::find(&request.steel, &rates.steels) {
        Some(steel) => (steel, true),
        None => (steels::unknown_steel(), false),
    };
    let found = work_out(request, steel)?;
    let WorkedOut { knife, delta, ground, .. } = &found;
    let delta = *delta;
    let removed = removed(knife, ground, delta, steel);
    let height_after = request.blade.height_mm - delta;
    let room = room(knife, ground, delta);
    let later = request.typical_recession_mm;
    let services_left = room.map(|(room, _)| later.services(room));
    let limited_by = room.map_or(Limit::None, |(_, limit)| limit);
    let advice = advice::advice(
        &found,
        room.map(|(room, _)| room),
        services_left.map(|left| left.p50),
        removed.tip_mm3,
    );
    let WorkedOut { knife, laid, causes, delta, ground } = found;

    let repair_depth = causes.chip;
    let plunges = laid.as_ref().map_or(1, |laid| laid.stretches.len() as u32);
    let work = Work {
        delta,
        repair_depth,
        edge_mm3: removed.edge_mm3,
        thinning_mm3: removed.thinning_mm3,
        tip_mm3: removed.tip_mm3,
        plunges,
        thinning_depth: thinning_depth(&knife, &ground),
        faces_mm2: ground.bevel_face_mm * knife.length * knife.sides(),
        hrc: request.blade.hardness.and_then(|profile| hardness::at(&profile, delta)),
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
        minutes: steps.iter().fold(0, |sum: u32, step| sum.saturating_add(step.minutes)),
        steps,
        cautions,
        refusal,
        advice,
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
    pub(crate) causes: Causes,
    /// Δ, height lost from today's edge.
    pub(crate) delta: f64,
    pub(crate) ground: Ground,
}

/// Checks a request and does its geometry.
pub(crate) fn work_out<'a>(request: &'a Request, steel: &'a Steel) -> Result<WorkedOut<'a>, Impossible> {
    let knife = Knife::check(request, steel)?;
    let laid = serrated::lay(&knife);
    let causes = Causes::of(&knife, laid.as_ref().map_or(0.0, |laid| laid.cost));
    let delta = causes.check(request.blade.height_mm)?;
    let ground = match &knife.teeth {
        Some(teeth) => serrated::grind(&knife, teeth, laid.as_ref(), delta),
        None => plain::grind(&knife, delta)?,
    };
    Ok(WorkedOut { knife, laid, causes, delta, ground })
}

/// True for a chip that is taken out and lies, in part at least, on the edge that is left.
fn counts(chip: &crate::request::Chip, length: f64) -> bool {
    !chip.leave && chip.at_mm.is_none_or(|at| at - 0.5 * chip.width_mm < length)
}

/// What sets how far the new apex goes above today's edge.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Causes {
    /// Deepest chip that is taken out.
    pub(crate) chip: f64,
    /// Deepest broken tooth that is not left.
    pub(crate) teeth: f64,
    /// Cost of another wheel, or of the same at another angle.
    pub(crate) mismatch: f64,
    pub(crate) allowance: f64,
    /// A rounding on a flat back must be cleared whatever else there is.
    pub(crate) least: f64,
}

impl Causes {
    fn of(knife: &Knife<'_>, mismatch: f64) -> Self {
        let wear = &knife.request.wear;
        let teeth = wear.missing_teeth.iter().filter(|tooth| !tooth.leave && tooth.at_mm <= knife.length);
        Self {
            chip: deepest_chip(knife),
            teeth: teeth.map(|tooth| tooth.broken_to_mm).fold(0.0, f64::max),
            mismatch,
            allowance: knife.request.target.allowance_mm,
            least: match (knife.worn, knife.kind) {
                (Worn::Round { radius }, EdgeKind::Single | EdgeKind::Serrated) => radius,
                _ => 0.0,
            },
        }
    }

    /// Δ.
    pub(crate) fn recession(&self) -> f64 {
        (self.chip.max(self.teeth).max(self.mismatch) + self.allowance).max(self.least)
    }

    /// Refused when nothing would be left of the blade.
    fn check(&self, height: f64) -> Result<f64, Impossible> {
        let delta = self.recession();
        if delta < height {
            return Ok(delta);
        }
        let at = if self.chip > 0.0 && self.chip >= self.teeth.max(self.mismatch) {
            "wear.chips"
        } else if self.teeth > 0.0 && self.teeth >= self.mismatch {
            "wear.missing_teeth"
        } else if self.mismatch > 0.0 {
            "target.wheel"
        } else {
            "target.allowance_mm"
        };
        Err(Impossible::new(
            at,
            format!("{delta} mm would have to go from a blade of blade.height_mm {height}"),
        ))
    }
}

/// Deepest chip that is taken out.
fn deepest_chip(knife: &Knife<'_>) -> f64 {
    let chips = knife.request.wear.chips.iter().filter(|chip| counts(chip, knife.length));
    chips.map(|chip| chip.depth_mm).fold(0.0, f64::max)
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

/// Depth thinning takes off each face where it takes most, at the new shoulder.
fn thinning_depth(knife: &Knife<'_>, ground: &Ground) -> f64 {
    if ground.thinning_mm2 <= 0.0 {
        return 0.0;
    }
    let foot = ground.after.pieces().first().map_or(0.0, |piece| piece.y1);
    ((ground.before.x(foot) - ground.after.x(foot)) * if knife.kind == EdgeKind::Double { 1.0 } else { 0.5 })
        .max(0.0)
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
    let material = knife.request.steel.trim();
    if material.eq_ignore_ascii_case("ceramic") {
        return Some(Note::new(
            "ceramic",
            "Ceramic blades need other wheels than ours: we do not grind them.",
        ));
    }
    if ["copper-beryllium", "beryllium copper", "cube2"]
        .iter()
        .any(|name| material.eq_ignore_ascii_case(name))
    {
        return Some(Note::new(
            "beryllium",
            "Dust of copper-beryllium harms the lungs for life: it is not ground here.",
        ));
    }
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
    let wear = &knife.request.wear;
    if ground.thinning_fails {
        notes.push(Note::at(
            Operation::Thin,
            "thinning_does_not_fit",
            "Thinning is wanted and no longer fits this blade: it is left out.",
        ));
    }
    if ground.ends_on_old_bevel {
        notes.push(Note::new(
            "ghosts",
            "The steeper new bevel ends on the old one: part of the old bevel, and ghosts of old flutes, stay visible above it.",
        ));
    }
    if wear.tip_missing_mm > 0.0 {
        notes.push(Note::at(
            Operation::Repair,
            "tip_redrawn",
            if wear.keep_belly {
                "The tip is redrawn from the edge: the belly keeps its curve and loses height there."
            } else {
                "The tip is redrawn from the spine: the blade gets shorter, the edge loses no height."
            },
        ));
    }
    if wear.chips.iter().any(|chip| chip.leave) || wear.missing_teeth.iter().any(|tooth| tooth.leave) {
        notes.push(Note::new(
            "left_in",
            "Some of the damage is left in, as agreed: it stays visible and can catch.",
        ));
    }
    if knife.kind == EdgeKind::Serrated {
        if knife.mode == Mode::Plain {
            notes.push(Note::new("to_plain", "Ground to a plain edge, the teeth are gone for good."));
        } else {
            notes.push(Note::at(
                Operation::Serrate,
                "end_teeth",
                "Same pitch and shape; the whole row sits higher and the end teeth may differ.",
            ));
            if knife.request.target.wheel.is_some() {
                notes.push(Note::at(
                    Operation::Serrate,
                    "other_wheel",
                    "Recut with another wheel than the one that cut it: the teeth will not look as they did.",
                ));
            }
        }
    }
    if knife.steel.needs_redarkening() {
        notes.push(Note::at(
            Operation::Redarken,
            "bright_band",
            "Grinding leaves a bright band; re-darkening seldom matches in shade.",
        ));
    }
    if knife.steel.needs_oil() {
        notes.push(Note::at(
            Operation::Oil,
            "rusts",
            "This steel rusts when wet: rinse, dry and oil it within the hour, non-drying food-grade oil only.",
        ));
    }
    notes
}
