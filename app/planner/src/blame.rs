//! Who is to blame when no plan was found: the jobs that stand wrongly in the best draft there is, each by name.

use crate::draft::{Draft, Times};
use crate::hours::FAR;
use crate::model::{NIL, Shop};
use crate::{Complaint, Instance, Minute};

/// What is broken in a timetable, by name. Never empty.
pub(crate) fn blame(shop: &Shop, draft: &Draft, times: &Times, instance: &Instance) -> Vec<Complaint> {
    let mut found = Vec::new();
    for op in 0..shop.ops.len() as u32 {
        if let Some(why) = why_broken(shop, draft, times, op) {
            let o = &shop.ops[op as usize];
            let id = &instance.jobs[o.job as usize].id;
            let at = format!("jobs[{}].operations[{}]", o.job, o.index);
            found.push(Complaint::of_job(id, at, format!("operation {} of \"{id}\" {why}", o.index)));
        }
    }
    for station in 0..shop.stations.len() {
        found.extend(wrong_changeovers(shop, draft, times, instance, station));
    }
    if found.is_empty() {
        let error = "no plan was found that keeps all windows, longest waits and fixed work";
        found.push(Complaint::new("jobs", error));
    }
    found
}

fn start_and_end(shop: &Shop, times: &Times, op: u32) -> (Minute, Minute) {
    match shop.ops[op as usize].fixed {
        NIL => (times.start[op as usize], times.end[op as usize]),
        f => (shop.fixed[f as usize].start, shop.fixed[f as usize].end),
    }
}

fn why_broken(shop: &Shop, draft: &Draft, times: &Times, op: u32) -> Option<String> {
    let o = &shop.ops[op as usize];
    let (start, end) = start_and_end(shop, times, op);
    if o.fixed == NIL && start >= FAR / 1000 {
        let station = usize::from(shop.alts[draft.alt[op as usize] as usize].station);
        let name = &shop.stations[station].name;
        return Some(format!("finds no window that is still free at \"{name}\" or for who attends it"));
    }
    let after = shop.after(op);
    if after == NIL {
        return None;
    }
    let next = start_and_end(shop, times, after).0;
    // What stands behind the last window has said so already.
    if next >= FAR / 1000 {
        return None;
    }
    if next - end < o.lag {
        return Some(format!("cannot end {} minutes before the next, which is fixed at {next}", o.lag));
    }
    (next - end > o.max_lag).then(|| {
        format!(
            "would wait {} minutes for the next, longer than its longest wait of {}",
            next - end,
            o.max_lag
        )
    })
}

/// Fixed work before which another changeover would be needed than the one it is fixed with.
fn wrong_changeovers(
    shop: &Shop,
    draft: &Draft,
    times: &Times,
    instance: &Instance,
    station: usize,
) -> Vec<Complaint> {
    let model = &shop.stations[station];
    // (start, setup, fixed load or NIL)
    let mut loads: Vec<(Minute, u16, u32)> = draft
        .order
        .iter()
        .map(|&l| (times.start[l as usize], &shop.alts[draft.alt[l as usize] as usize], NIL))
        .filter(|(_, alt, _)| usize::from(alt.station) == station)
        .map(|(start, alt, fixed)| (start, alt.setup, fixed))
        .collect();
    loads
        .extend(model.fixed.iter().map(|&f| (shop.fixed[f as usize].start, shop.fixed[f as usize].setup, f)));
    loads.sort_unstable();
    let (mut mounted, mut since) = (model.mounted, 0);
    let mut found = Vec::new();
    for (_, setup, fixed) in loads {
        let (c, count) = model.change(mounted, since, setup);
        if let Some(f) = shop.fixed.get(fixed as usize)
            && c != f.start - f.changeover_start
        {
            let o = &shop.ops[f.ops[0] as usize];
            let id = &instance.jobs[o.job as usize].id;
            let error = format!(
                "\"{id}\" is fixed with {} minutes of changeover at \"{}\", but no order of the work before it gives that",
                f.start - f.changeover_start,
                model.name
            );
            found.push(Complaint::of_job(
                id,
                format!("jobs[{}].operations[{}].fixed", o.job, o.index),
                error,
            ));
        }
        (mounted, since) = (setup, count + 1);
    }
    found
}
