//! From craft's steps to a route over the shop's own stations.

use craft::Step;
use shop::bench::{Bench, Want};
use shop::edge::EdgeKind;
use shop::route::{Cut, OperationKind, RouteStep};

/// Tightened and glued handles rest until the glue is hard, minutes (common practice: overnight).
const GLUE_REST: u32 = 720;

/// What the route must know of the piece beside craft's steps.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Needs<'a> {
    pub(crate) edge: Option<EdgeKind>,
    /// Bevel angle, degrees.
    pub(crate) angle_deg: Option<f64>,
    /// The setup teeth are cut on.
    pub(crate) teeth_setup: Option<&'a str>,
    /// Ground carbon steel that must not stay bare for long.
    pub(crate) rusts: bool,
    /// Height to take, millimetres, for the targets.
    pub(crate) recession_mm: f64,
    /// A bolster to relieve.
    pub(crate) bolster: bool,
    /// A heel or hollow to level.
    pub(crate) level: bool,
    /// Handle glued, not only tightened.
    pub(crate) glued: bool,
}

impl<'a> Needs<'a> {
    /// What the setup for an operation should be like.
    pub(crate) fn want(self, kind: OperationKind) -> Want<'a> {
        let setup = match kind {
            OperationKind::Serrate | OperationKind::Tooth => self.teeth_setup,
            _ => None,
        };
        let edge = match kind {
            OperationKind::Bevel | OperationKind::Hone | OperationKind::Serrate => self.edge,
            _ => None,
        };
        Want { setup, angle_deg: self.angle_deg, edge }
    }
}

/// Lays craft's steps over the bench. `Err`: the operation no open station does.
pub(crate) fn lay(steps: &[Step], bench: &Bench, needs: Needs<'_>) -> Result<Vec<RouteStep>, OperationKind> {
    let mut route = Vec::with_capacity(steps.len() + 2);
    for step in steps {
        let Ok(kind) = step.operation.word().parse::<OperationKind>() else { continue };
        let placed = placed(kind, step.minutes, targets(step, kind, needs), bench, needs)?;
        let cut =
            step.cut.map(|cut| Cut { metal_mm3: cut.metal_mm3, handling: cut.handling, span: cut.span });
        route.push(RouteStep { cut, ..placed });
    }
    // 15 minutes each in the shop's own list (invented for the demo).
    if needs.bolster {
        let said = vec!["relieve the bolster to the edge line".to_owned()];
        route.push(placed(OperationKind::Bolster, 15, said, bench, needs)?);
    }
    if needs.level && !route.iter().any(|s| s.kind == OperationKind::Repair) {
        let said = vec!["level the edge line on a flat board".to_owned()];
        route.push(placed(OperationKind::Repair, 15, said, bench, needs)?);
    }
    craft::sort_short(&mut route, |a, b| a.kind.cmp(&b.kind));
    limit_bare_waits(&mut route, bench, needs.rusts);
    Ok(route)
}

fn placed(
    kind: OperationKind,
    minutes: u32,
    targets: Vec<String>,
    bench: &Bench,
    needs: Needs<'_>,
) -> Result<RouteStep, OperationKind> {
    let (station, setup) = bench.place(kind, needs.want(kind)).ok_or(kind)?;
    let rest = if kind == OperationKind::Handle && needs.glued { GLUE_REST } else { station.rest };
    Ok(RouteStep {
        kind,
        station: station.id.clone(),
        setup: setup.id.clone(),
        minutes: minutes.max(1),
        attended: station.attended.map(|a| a.min(minutes.max(1))),
        lag: rest,
        max_lag: None,
        skill: station.skill.clone(),
        cut: None,
        not_before: None,
        targets,
        reason: reason(kind).to_owned(),
    })
}

/// Bare carbon steel is not left standing: from the last step that grinds it to the first that protects it.
fn limit_bare_waits(route: &mut [RouteStep], bench: &Bench, rusts: bool) {
    let (true, Some(longest)) = (rusts, bench.longest_bare_wait) else { return };
    let protects = |kind| matches!(kind, OperationKind::Redarken | OperationKind::Oil);
    let Some(end) = route.iter().position(|s| protects(s.kind)) else { return };
    let Some(begin) = route[..end].iter().position(|s| s.kind.takes_steel()) else { return };
    for step in &mut route[begin..end] {
        step.max_lag = Some(longest.max(step.lag));
    }
}

fn targets(step: &Step, kind: OperationKind, needs: Needs<'_>) -> Vec<String> {
    let mut said = Vec::new();
    let grinds_edge = matches!(kind, OperationKind::Bevel | OperationKind::Serrate | OperationKind::Tooth);
    if let (true, Some(angle)) = (grinds_edge, needs.angle_deg) {
        let sides = if needs.edge == Some(EdgeKind::Double) { "each side" } else { "from the flat back" };
        said.push(format!("{}° {sides}", shop::units::short(angle, 1)));
    }
    if grinds_edge && needs.recession_mm > 0.0 {
        said.push(format!("take {} mm of height", shop::units::short(needs.recession_mm, 2)));
    }
    if step.passes > 0 {
        said.push(format!("{} passes", step.passes));
    }
    if let Some(grit) = &step.grit {
        said.push(grit.clone());
    }
    if step.wet {
        said.push("wet".to_owned());
    }
    if let Some(heat) = &step.heat {
        said.push(heat.clone());
    }
    said
}

fn reason(kind: OperationKind) -> &'static str {
    match kind {
        OperationKind::Inspect => "Every piece is measured before anything is decided.",
        OperationKind::Clean => "Food and grit would get into wheels and hands.",
        OperationKind::Handle => "A loose handle is made safe before anything turns.",
        OperationKind::Straighten => "A bent blade cannot be ground evenly.",
        OperationKind::Derust => "Rust is removed before the edge is ground.",
        OperationKind::Repair => "Chips, tip or heel are put right before the edge.",
        OperationKind::Bolster => "The bolster stands below the edge line.",
        OperationKind::Thin => "The blade is too thick behind the new edge.",
        OperationKind::Bevel => "The worn edge is ground to a new one.",
        OperationKind::Serrate => "The teeth are cut again on their wheel.",
        OperationKind::Tooth => "No wheel fits, so the teeth are cut one by one.",
        OperationKind::Hone => "The burr comes off and the face is made fine.",
        OperationKind::Strop => "The last burr comes off.",
        OperationKind::Prove => "Nothing goes home that has not cut.",
        OperationKind::Redarken => "Grinding leaves a bright band on darkened steel.",
        OperationKind::Oil => "Bare carbon steel rusts.",
        OperationKind::Pack => "It goes home safe to handle.",
    }
}
