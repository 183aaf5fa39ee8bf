//! The route of a piece: what is done, in which order, for how long.

use serde::{Deserialize, Serialize};

use crate::checked::Knife;
use crate::num::{deg, sin, sort_short, whole_minutes};
use crate::rates::{Rates, RemovalRate};
use crate::request::{EdgeKind, Form, Mode, ToothShape};
use crate::{grit, heat};

/// Operations, in the order a piece meets them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Operation {
    /// Look, measure, decide.
    Inspect,
    /// Clean and disinfect.
    Clean,
    /// Make the handle safe.
    Handle,
    /// Take a bend out.
    Straighten,
    /// Take rust off.
    Derust,
    /// Chips, tip, heel.
    Repair,
    /// Thin the primary face.
    Thin,
    /// Grind a plain bevel.
    Bevel,
    /// Recut teeth on a wheel.
    Serrate,
    /// Recut teeth one by one.
    Tooth,
    /// Hone the edge or the flat back.
    Hone,
    /// Strop.
    Strop,
    /// Prove the edge.
    Prove,
    /// Darken the bright band again.
    Redarken,
    /// Oil.
    Oil,
    /// Pack.
    Pack,
}

impl Operation {
    /// All of them, in order.
    pub const ALL: [Self; 16] = [
        Self::Inspect,
        Self::Clean,
        Self::Handle,
        Self::Straighten,
        Self::Derust,
        Self::Repair,
        Self::Thin,
        Self::Bevel,
        Self::Serrate,
        Self::Tooth,
        Self::Hone,
        Self::Strop,
        Self::Prove,
        Self::Redarken,
        Self::Oil,
        Self::Pack,
    ];

    /// The word it is stored and printed under.
    pub fn word(self) -> &'static str {
        match self {
            Self::Inspect => "inspect",
            Self::Clean => "clean",
            Self::Handle => "handle",
            Self::Straighten => "straighten",
            Self::Derust => "derust",
            Self::Repair => "repair",
            Self::Thin => "thin",
            Self::Bevel => "bevel",
            Self::Serrate => "serrate",
            Self::Tooth => "tooth",
            Self::Hone => "hone",
            Self::Strop => "strop",
            Self::Prove => "prove",
            Self::Redarken => "redarken",
            Self::Oil => "oil",
            Self::Pack => "pack",
        }
    }
}

/// One step of the route.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// What is done.
    pub operation: Operation,
    /// What must be mounted or set for it, where it matters: `arc 5`, `15° double`, `P120`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setup: Option<String>,
    /// Whole minutes at the bench.
    pub minutes: u32,
    /// Share of the height lost that goes here, 0 to 1.
    pub height_share: f64,
    /// Passes over the whole edge; 0 where counting makes no sense.
    pub passes: u32,
    /// Stone, belt or wheel and its grain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grit: Option<String>,
    /// Under water or coolant.
    pub wet: bool,
    /// How the edge is kept cool.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heat: Option<String>,
    /// What its minutes rest on, where steel is ground away.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut: Option<Cut>,
}

/// The steel a step grinds away and the time that takes: volume over the learned removal rate, never below handling.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Cut {
    /// Steel ground away, mm³.
    pub metal_mm3: f64,
    /// Handling: however little is ground away, it takes as many whole minutes.
    pub handling: u32,
    /// Whole minutes eight times in ten lie within; `None` until a removal rate is learned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub span: Option<(u32, u32)>,
}

impl Step {
    fn new(operation: Operation, minutes: f64) -> Self {
        Self {
            operation,
            setup: None,
            minutes: whole_minutes(minutes),
            height_share: 0.0,
            passes: 0,
            grit: None,
            wet: false,
            heat: None,
            cut: None,
        }
    }

    /// A step that grinds `metal_mm3` away: see [`Cut`]. Handling in minutes.
    fn grinding(
        operation: Operation,
        metal_mm3: f64,
        handling: f64,
        knife: &Knife<'_>,
        rates: &Rates,
    ) -> Self {
        let own = |rate: &&RemovalRate| {
            rate.operation == operation
                && rate
                    .steel
                    .as_deref()
                    .is_none_or(|name| knife.steel.designations.iter().any(|known| known == name))
        };
        let learned = rates.removal.iter().filter(own).max_by_key(|rate| rate.steel.is_some());
        let learned = learned.filter(|rate| rate.mm3_per_min > 0.0);
        let at = |mm3_per_min: f64| handling.max(metal_mm3 / mm3_per_min);
        let mut step = Self::new(operation, learned.map_or(handling, |rate| at(rate.mm3_per_min)));
        let span = learned.map(|rate| {
            let (quick, slow) = rate.eight_tenths();
            (whole_minutes(at(quick)), whole_minutes(at(slow)))
        });
        step.cut = Some(Cut { metal_mm3, handling: whole_minutes(handling), span });
        step
    }

    /// Whole minutes eight times in ten lie within; both the same where nothing was learned of their spread.
    pub fn span(&self) -> (u32, u32) {
        self.cut.and_then(|cut| cut.span).unwrap_or((self.minutes, self.minutes))
    }
}

/// What the geometry says about the work.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Work {
    pub(crate) delta: f64,
    pub(crate) repair_depth: f64,
    pub(crate) edge_mm3: f64,
    pub(crate) thinning_mm3: f64,
    pub(crate) tip_mm3: f64,
    pub(crate) plunges: u32,
    /// Depth thinning takes off each face.
    pub(crate) thinning_depth: f64,
    /// Area of the new bevels.
    pub(crate) faces_mm2: f64,
    /// Hardness of the new edge where it is known.
    pub(crate) hrc: Option<f64>,
}

/// The whole route of a piece.
pub(crate) fn route(knife: &Knife<'_>, work: &Work, rates: &Rates) -> Vec<Step> {
    let request = knife.request;
    let wear = &request.wear;
    let serrated = knife.kind == EdgeKind::Serrated;
    let also = |operation: Operation| request.also.contains(&operation);
    let mut steps = Vec::with_capacity(12);

    let damages = usize::from(!wear.chips.is_empty())
        + usize::from(wear.tip_missing_mm > 0.0)
        + usize::from(!wear.missing_teeth.is_empty())
        + request.also.iter().filter(|operation| **operation < Operation::Repair).count();
    let look = if serrated { rates.inspect_serrated } else { rates.inspect_plain };
    steps.push(Step::new(Operation::Inspect, look + rates.inspect_per_damage * damages as f64));
    steps.push(Step::new(Operation::Clean, rates.clean));
    for (operation, minutes) in [
        (Operation::Handle, rates.handle),
        (Operation::Straighten, rates.straighten),
        (Operation::Derust, rates.derust),
    ] {
        if also(operation) {
            steps.push(Step::new(operation, minutes));
        }
    }

    let cool = Cool::new(knife, work, rates);
    let mut repair = 0.0;
    if work.repair_depth > 0.0 {
        let halves = libm::ceil(work.repair_depth / 0.5 - 1e-9).max(1.0);
        repair += rates.chip_base + rates.chip_per_half_mm * (halves - 1.0);
    }
    if wear.tip_missing_mm > 0.0 {
        repair += rates.tip;
    }
    let mut repair_share = 0.0;
    if repair > 0.0 {
        repair_share = if work.delta > 0.0 { (work.repair_depth / work.delta).min(1.0) } else { 0.0 };
        let volume = work.tip_mm3 + work.edge_mm3 * repair_share;
        let mut step = Step::grinding(Operation::Repair, volume, repair, knife, rates);
        step.height_share = repair_share;
        set_up(&mut step, rates);
        cool.keep(&mut step, work.repair_depth * sin(knife.theta_new));
        steps.push(step);
    }
    if work.thinning_mm3 > 0.0 {
        let mut step = Step::grinding(Operation::Thin, work.thinning_mm3, rates.thin, knife, rates);
        set_up(&mut step, rates);
        // What is taken is a wedge: its depth in the mean is half of the deepest.
        let area =
            if work.thinning_depth > 0.0 { 2.0 * work.thinning_mm3 / work.thinning_depth } else { 0.0 };
        step.grit = chain(rates, Operation::Thin, None, (work.thinning_depth, area), knife).or(step.grit);
        cool.keep(&mut step, work.thinning_depth);
        steps.push(step);
    }

    let rest = work.edge_mm3 * (1.0 - repair_share);
    let (operation, handling, setup) = if serrated && knife.mode != Mode::Plain {
        if knife.mode == Mode::Tooth {
            let teeth = knife
                .teeth
                .as_ref()
                .map_or(0.0, |pattern| knife.length / pattern.period() * pattern.teeth().len() as f64);
            let minutes = rates.tooth_base + rates.tooth_per_tooth * libm::ceil(teeth);
            (Operation::Tooth, minutes, tooth_name(knife, "R"))
        } else {
            let more = rates.per_plunge * f64::from(work.plunges.saturating_sub(1));
            let minutes = rates.serrate_base + rates.serrate_per_mm * knife.length + more;
            (Operation::Serrate, minutes, tooth_name(knife, ""))
        }
    } else {
        let name = if knife.kind == EdgeKind::Double { "double" } else { "single" };
        let setup = format!("{}° {name}", crate::num::tidy(deg(knife.theta_new)));
        (Operation::Bevel, rates.bevel_base + rates.bevel_per_mm * knife.length, setup)
    };
    let mut step = Step::grinding(operation, rest, handling, knife, rates);
    step.setup = Some(setup);
    step.height_share = 1.0 - repair_share;
    let cut = grain(rates, operation);
    step.grit = cut.map(grit::Abrasive::written);
    cool.keep(&mut step, work.delta * (1.0 - repair_share) * sin(knife.theta_new));
    step.passes += SPARK_OUT;
    steps.push(step);

    let (hone, setup) = if knife.kind == EdgeKind::Double {
        (rates.hone_plain, "fine stone")
    } else {
        (rates.hone_back, "lap")
    };
    let mut step = Step::new(Operation::Hone, hone);
    step.setup = Some(setup.to_owned());
    step.wet = true;
    // No grit ladder inside flutes: only the flat back is honed there.
    let before = cut.and_then(grit::Abrasive::grain_um).unwrap_or(UNKNOWN_GRAIN_UM);
    let scratches = grit::scratch_mm(before);
    step.grit = chain(rates, Operation::Hone, Some(before), (scratches, work.faces_mm2), knife);
    steps.push(step);
    if knife.kind != EdgeKind::Double {
        let mut step = Step::new(Operation::Strop, rates.strop);
        step.setup = Some("strop".to_owned());
        steps.push(step);
    }
    steps.push(Step::new(
        Operation::Prove,
        if serrated && knife.mode != Mode::Plain { rates.prove_serrated } else { rates.prove_plain },
    ));
    if knife.steel.needs_redarkening() || also(Operation::Redarken) {
        steps.push(Step::new(Operation::Redarken, rates.redarken));
    }
    if knife.steel.needs_oil() || also(Operation::Oil) {
        steps.push(Step::new(Operation::Oil, rates.oil));
    }
    steps.push(Step::new(Operation::Pack, rates.pack));
    steps
}

/// The grain of a wheel nobody has written down, µm: about FEPA F 230 (invented for the demo shop).
const UNKNOWN_GRAIN_UM: f64 = 50.0;

/// Passes that only let the blade spring back, after the last one that cuts: common practice is three to five.
const SPARK_OUT: u32 = 3;

/// The heat guard of a piece: the same edge, steel and wheels for every grinding step, only the depth differs.
struct Cool {
    guard: heat::Guard,
    words: String,
}

impl Cool {
    fn new(knife: &Knife<'_>, work: &Work, rates: &Rates) -> Self {
        let included = knife.sides() * deg(knife.theta_new);
        let guard = heat::guard(knife.steel, work.hrc, included, 0.0, &rates.heat);
        let words = guard.words();
        Self { guard, words }
    }

    /// Writes how the step is kept cool, and how many passes that makes for this depth normal to the face.
    fn keep(&self, step: &mut Step, depth_mm: f64) {
        step.passes = heat::passes(depth_mm, self.guard.pass_mm);
        step.wet = self.guard.wet;
        step.heat = Some(self.words.clone());
    }
}

/// The first belt of the shop for this operation, as setup and grain.
fn set_up(step: &mut Step, rates: &Rates) {
    if let Some(tool) = grain(rates, step.operation) {
        step.setup = Some(tool.id.clone());
        step.grit = Some(tool.written());
    }
}

/// The fewest of the shop's stones or belts for an operation that end at its finest: `#800 8 passes, #3000 29 passes`. `before`: the
/// grain whose scratches it takes out. Where no stone may follow that grain, the scratches are taken as a shape. `None` when
/// the shop has none.
fn chain(
    rates: &Rates,
    operation: Operation,
    before: Option<f64>,
    (depth_mm, area_mm2): (f64, f64),
    knife: &Knife<'_>,
) -> Option<String> {
    let mut tools: Vec<grit::Abrasive> = rates
        .abrasives
        .iter()
        .filter(|tool| tool.operations.contains(&operation))
        .filter(|tool| tool.grain_um().is_some_and(|grain| before.is_none_or(|before| grain < before)))
        .cloned()
        .collect();
    let grain = |tool: &grit::Abrasive| tool.grain_um().unwrap_or(0.0);
    sort_short(&mut tools, |a, b| grain(b).total_cmp(&grain(a)));
    if operation == Operation::Hone && knife.kind == EdgeKind::Serrated {
        // A serrated back is only lapped: a finer stone would round the tips.
        tools.truncate(1);
    }
    let finish = grit::Finish {
        depth_mm,
        area_mm2,
        finest_um: tools.last().map(grain)?,
        after_um: before,
        grindability: knife.steel.grindability,
    };
    let steps = grit::plan(&tools, &finish)
        .or_else(|| grit::plan(&tools, &grit::Finish { after_um: None, ..finish }))?;
    let said = |step: &grit::GritStep| {
        format!("{} {} {}", step.grain, step.passes, if step.passes == 1 { "pass" } else { "passes" })
    };
    Some(steps.iter().map(said).collect::<Vec<_>>().join(", "))
}

/// The shop's tool for an operation, coarsest first.
fn grain(rates: &Rates, operation: Operation) -> Option<&grit::Abrasive> {
    rates
        .abrasives
        .iter()
        .filter(|tool| tool.operations.contains(&operation))
        .max_by(|a, b| a.grain_um().unwrap_or(0.0).total_cmp(&b.grain_um().unwrap_or(0.0)))
}

/// `arc 5`, `wavy 6`, `R6.5`: what the serrating station must have mounted.
fn tooth_name(knife: &Knife<'_>, ridge: &str) -> String {
    let edge = &knife.request.edge;
    let shape = knife.request.target.wheel.map_or(
        ToothShape {
            form: edge.form.unwrap_or(Form::Mixed),
            pitch_mm: edge.pitch_mm.unwrap_or(0.0),
            ridge_radius_mm: edge.ridge_radius_mm,
            depth_mm: edge.depth_mm,
        },
        |wheel| ToothShape {
            form: wheel.form,
            pitch_mm: wheel.pitch_mm,
            ridge_radius_mm: wheel.ridge_radius_mm,
            depth_mm: wheel.depth_mm,
        },
    );
    if let (false, Some(radius)) = (ridge.is_empty(), shape.ridge_radius_mm) {
        return format!("{ridge}{radius}");
    }
    let form = match shape.form {
        Form::Arc => "arc",
        Form::Wavy => "wavy",
        Form::Pointed => "pointed",
        Form::Mixed => return "mixed".to_owned(),
    };
    format!("{form} {}", shape.pitch_mm)
}
