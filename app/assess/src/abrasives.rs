//! Which of the shop's own wheels, stones and belts a piece can meet.

use craft::Operation;
use craft::grit::{self, Abrasive};
use shop::route::OperationKind;

use crate::Knowledge;
use crate::route::Needs;

/// How far a guessed removal rate is off, as the standard deviation of its natural logarithm: invented, a factor of 1.4.
const GUESS_SPREAD: f64 = 0.35;

/// The wheels, stones and belts in use that may be run, under their marks, with the operations this piece can meet them in: where a piece
/// is ground on one setup, only what is mounted for it. One whose grain is written without its scale is left out.
fn own(knows: &Knowledge, needs: Needs<'_>) -> Vec<Abrasive> {
    let met = |wheel: &shop::bench::Wheel| {
        let station = knows.bench.stations.iter().find(|s| s.id == wheel.station && !s.closed)?;
        let setup = station.setups.iter().find(|s| s.id == wheel.setup)?;
        let (scale, number) = grit::read(&wheel.grit)?;
        let meets = |operation: &Operation| {
            let Ok(kind) = operation.word().parse::<OperationKind>() else { return false };
            if !station.does.contains(&kind) {
                return false;
            }
            let want = needs.want(kind);
            match kind {
                OperationKind::Bevel | OperationKind::Serrate | OperationKind::Tooth => knows
                    .bench
                    .place(kind, want)
                    .is_some_and(|(at, on)| at.id == station.id && on.id == setup.id),
                _ => setup.takes(kind, want.edge),
            }
        };
        let operations: Vec<Operation> = Operation::ALL.into_iter().filter(meets).collect();
        (!operations.is_empty()).then(|| Abrasive {
            id: wheel.mark.clone(),
            scale,
            number,
            operations,
            mm3_per_min: None,
            spread: GUESS_SPREAD,
        })
    };
    knows.wheels.iter().filter(|wheel| wheel.fit_to_run().is_ok()).filter_map(met).collect()
}

/// The shop's rates with the abrasives this piece can meet: no route names a stone the shop does not have.
pub(crate) fn rates(knows: &Knowledge, needs: Needs<'_>) -> craft::Rates {
    craft::Rates { abrasives: own(knows, needs), ..knows.rates.clone() }
}
