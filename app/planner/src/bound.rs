//! A cost no plan can be below.

use crate::check::earliest_chain;
use crate::model::Shop;

/// Every job alone in the shop, with the shortest changeovers there are: nobody can do better than all of them at once.
pub(crate) fn bound(shop: &Shop) -> f64 {
    let w = shop.weights;
    let mut total = 0.0;
    for (k, job) in shop.jobs.iter().enumerate() {
        let Some(&(_, end)) = earliest_chain(shop, k).ok().as_deref().and_then(<[_]>::last) else {
            continue;
        };
        total +=
            w.tardiness * job.weight * (end - job.due).max(0) as f64 + w.flow * (end - job.release) as f64;
    }
    total
}
