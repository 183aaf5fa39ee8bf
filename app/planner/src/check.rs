//! What can be refused without searching: figures out of range, and work no window, person or pin allows.

use crate::hours::FAR;
use crate::model::{Alt, NIL, NONE, Shop};
use crate::{Complaint, Instance, Minute};

/// No figure may be further from the origin, so that sums stay exact; 10⁹ minutes are some 1,900 years.
const FURTHEST: Minute = 1_000_000_000;

/// Figures that mean nothing: negative lengths, windows that end before they begin, weights that are no numbers.
pub(crate) fn figures(instance: &Instance) -> Vec<Complaint> {
    let mut found = Vec::new();
    let mut need = |holds: bool, job: Option<&str>, at: &dyn Fn() -> String, error: &str| {
        if !holds {
            found.push(Complaint { job: job.map(str::to_owned), ..Complaint::new(at(), error) });
        }
    };
    let near = |t: Minute| (-FURTHEST..=FURTHEST).contains(&t);
    let length = |t: Minute| (0..=FURTHEST).contains(&t);
    let weight = |w: f64| w.is_finite() && (0.0..=1e9).contains(&w);
    let windows =
        |w: &Option<Vec<[Minute; 2]>>| w.iter().flatten().all(|&[a, b]| near(a) && near(b) && a <= b);
    need(near(instance.now), None, &|| "now".into(), "now is too far away");
    need(instance.stations.len() < usize::from(NONE), None, &|| "stations".into(), "too many stations");
    for (k, s) in instance.stations.iter().enumerate() {
        need(
            windows(&s.windows),
            None,
            &|| format!("stations[{k}].windows"),
            "a window ends before it begins, or lies too far away",
        );
        need(s.basin >= 1, None, &|| format!("stations[{k}].basin"), "a basin holds at least one piece");
    }
    for (k, c) in instance.changeovers.iter().enumerate() {
        let fine = c.minutes.iter().flatten().chain(c.first.iter().flatten()).all(|&m| length(m));
        need(fine, None, &|| format!("changeovers[{k}]"), "changeover minutes are whole and not negative");
        let dress = c.dress.iter().flatten().flatten().all(|d| d.every >= 1 && length(d.minutes));
        need(
            dress,
            None,
            &|| format!("changeovers[{k}].dress"),
            "dressing comes after at least one load and takes no negative time",
        );
    }
    for (k, p) in instance.people.iter().flatten().enumerate() {
        need(
            windows(&p.windows),
            None,
            &|| format!("people[{k}].windows"),
            "a window ends before it begins, or lies too far away",
        );
    }
    for (k, j) in instance.jobs.iter().enumerate() {
        let job = Some(j.id.as_str());
        need(
            !j.operations.is_empty(),
            job,
            &|| format!("jobs[{k}].operations"),
            "a job has at least one operation",
        );
        need(
            near(j.release) && near(j.due),
            job,
            &|| format!("jobs[{k}]"),
            "release or due lies too far away",
        );
        need(weight(j.weight), job, &|| format!("jobs[{k}].weight"), "a weight is a number from 0 to 10⁹");
        for (i, o) in j.operations.iter().enumerate() {
            let at = |what: &str| format!("jobs[{k}].operations[{i}].{what}");
            need(!o.on.is_empty(), job, &|| at("on"), "an operation needs a station to be done on");
            need(length(o.lag), job, &|| at("lag"), "a lag is not negative");
            need(
                o.max_lag.is_none_or(|m| length(m) && m >= o.lag),
                job,
                &|| at("max_lag"),
                "the longest wait is shorter than the shortest",
            );
            for (a, alt) in o.on.iter().enumerate() {
                need(
                    alt.minutes >= 1 && length(alt.minutes),
                    job,
                    &|| at(&format!("on[{a}].minutes")),
                    "an operation takes at least one minute",
                );
                need(
                    alt.attended.is_none_or(length),
                    job,
                    &|| at(&format!("on[{a}].attended")),
                    "attended minutes are not negative",
                );
            }
            if let Some(f) = &o.fixed {
                let fine = near(f.changeover_start) && near(f.start) && near(f.end);
                need(fine, job, &|| at("fixed"), "fixed times lie too far away");
            }
        }
    }
    let w = instance.objective;
    let fine = [w.tardiness, w.changeover, w.flow, w.moved].into_iter().all(weight);
    need(fine, None, &|| "objective".into(), "objective weights are numbers from 0 to 10⁹");
    for (k, s) in instance.standing.iter().enumerate() {
        need(near(s.start), None, &|| format!("standing[{k}].start"), "a standing start lies too far away");
    }
    found
}

/// The least start ≥ `ready` of an alternative in an otherwise empty shop, with the shortest changeover there is.
pub(crate) fn earliest(shop: &Shop, alt: &Alt, ready: Minute) -> Option<Minute> {
    let station = &shop.stations[usize::from(alt.station)];
    let c = station.least_into(alt.setup);
    let from = ready.max(shop.now + c);
    if !shop.staffed {
        return station.hours.fit(from, c, alt.minutes, &mut 0);
    }
    (0..shop.people.len())
        .filter(|&p| shop.may(p, alt.skill))
        .filter_map(|p| {
            let mut start = from;
            loop {
                let s = station.hours.fit(start, c, alt.minutes, &mut 0)?;
                if c + alt.attended == 0 {
                    return Some(s);
                }
                let t = shop.people[p].hours.fit(s, c, alt.attended, &mut 0)?;
                if t == s {
                    return Some(s);
                }
                start = t;
            }
        })
        .min()
}

/// Earliest start and end of each operation of a job in an otherwise empty shop; the index of the operation that
/// cannot be placed, if there is one. Both are valid lower bounds in any plan.
fn earliest_chain(shop: &Shop, job: usize) -> Result<Vec<(Minute, Minute)>, usize> {
    let model = &shop.jobs[job];
    let n = model.len as usize;
    let mut not_before = vec![-FAR; n];
    let mut chain = vec![(0, 0); n];
    let (mut i, mut rounds) = (0, 0);
    while i < n {
        let op = model.first + i as u32;
        let o = &shop.ops[op as usize];
        let ready = if i == 0 { model.release } else { chain[i - 1].1 + shop.ops[op as usize - 1].lag };
        if o.fixed == NIL {
            let ready = ready.max(not_before[i]);
            let spots =
                shop.alts_of(op).iter().filter_map(|a| earliest(shop, a, ready).map(|s| (s, s + a.minutes)));
            chain[i] = spots.reduce(|(s, e), (t, f)| (s.min(t), e.min(f))).ok_or(i)?;
        } else {
            let f = &shop.fixed[o.fixed as usize];
            if i > 0 && f.start < ready {
                return Err(i);
            }
            chain[i] = (f.start, f.end);
        }
        if let Some(least) = held_back(shop, op, i, &chain)? {
            rounds += 1;
            if rounds > 10_000 {
                return Err(i);
            }
            i -= 1;
            not_before[i] = least;
        } else {
            i += 1;
        }
    }
    Ok(chain)
}

/// The least start of the operation before, if the piece would otherwise wait too long for this one.
fn held_back(shop: &Shop, op: u32, i: usize, chain: &[(Minute, Minute)]) -> Result<Option<Minute>, usize> {
    let Some(before) = i.checked_sub(1) else {
        return Ok(None);
    };
    let model = &shop.ops[op as usize - 1];
    let (start, end) = chain[before];
    if chain[i].0 - end <= model.max_lag {
        return Ok(None);
    }
    if model.fixed != NIL {
        return Err(i);
    }
    let alts = shop.alts_of(op - 1);
    // In a basin a piece can stay as long as the longest beside it, so nothing is known.
    if alts.iter().any(|a| shop.stations[usize::from(a.station)].basin > 1) {
        return Ok(None);
    }
    // With one alternative the start is known; with several the longest keeps this a lower bound.
    let longest = alts.iter().map(|a| a.minutes).max().unwrap_or(0);
    let least = chain[i].0 - model.max_lag - longest;
    Ok((least > start).then_some(least))
}

/// Work that no window, person or pin allows, whatever the order; and when each operation could be done were its job alone,
/// which is complete if there is no such work.
pub(crate) fn feasibility(instance: &Instance, shop: &Shop) -> (Vec<(Minute, Minute)>, Vec<Complaint>) {
    let mut found = Vec::new();
    let mut alone = Vec::with_capacity(shop.ops.len());
    for (k, job) in instance.jobs.iter().enumerate() {
        match earliest_chain(shop, k) {
            Ok(chain) => alone.extend(chain),
            Err(i) => found.push(why_not(instance, shop, k, i)),
        }
        for i in 0..job.operations.len() {
            if let Some(c) = wrong_pin(instance, shop, k, i) {
                found.push(c);
            }
        }
    }
    if found.is_empty() {
        found = clashes(instance, shop);
    }
    (alone, found)
}

fn why_not(instance: &Instance, shop: &Shop, k: usize, i: usize) -> Complaint {
    let job = &instance.jobs[k];
    let (id, at) = (&job.id, format!("jobs[{k}].operations[{i}]"));
    let op = shop.jobs[k].first + i as u32;
    let complain = |what: &str, error: String| Complaint::of_job(id, format!("{at}{what}"), error);
    if shop.ops[op as usize].fixed != NIL {
        return complain(
            ".fixed",
            format!(
                "contradictory fixed work: operation {i} of \"{id}\" is fixed where the one before it cannot have ended"
            ),
        );
    }
    if i > 0 && shop.ops[op as usize - 1].fixed != NIL && shop.ops[op as usize - 1].max_lag < FAR {
        return complain(
            ".on",
            format!("operation {i} of \"{id}\" cannot follow fixed work within its longest wait"),
        );
    }
    let unskilled = |a: &&Alt| shop.staffed && !(0..shop.people.len()).any(|p| shop.may(p, a.skill));
    if let Some(a) = shop.alts_of(op).iter().find(unskilled) {
        let skill = job.operations[i].on.iter().find_map(|o| {
            o.skill.as_ref().filter(|_| o.station == shop.stations[usize::from(a.station)].name)
        });
        return complain(
            ".on",
            match skill {
                Some(skill) => {
                    format!("nobody has the skill \"{skill}\" that operation {i} of \"{id}\" needs")
                }
                None => format!("there is nobody to attend operation {i} of \"{id}\""),
            },
        );
    }
    let Some(a) = shop.alts_of(op).first() else {
        return complain(".on", format!("operation {i} of \"{id}\" has no station"));
    };
    let name = &shop.stations[usize::from(a.station)].name;
    complain(
        ".on",
        format!(
            "no window is long enough for operation {i} of \"{id}\": {} minutes at \"{name}\", with its changeover and who attends it",
            a.minutes
        ),
    )
}

/// A pin whose length or changeover cannot be right.
fn wrong_pin(instance: &Instance, shop: &Shop, k: usize, i: usize) -> Option<Complaint> {
    let op = shop.jobs[k].first + i as u32;
    let load = shop.ops[op as usize].fixed;
    if load == NIL {
        return None;
    }
    let f = &shop.fixed[load as usize];
    let id = &instance.jobs[k].id;
    let at = format!("jobs[{k}].operations[{i}].fixed");
    let length = |&op: &u32| {
        shop.alts_of(op)
            .iter()
            .find(|a| a.station == f.station && a.setup == f.setup)
            .map_or(0, |a| a.minutes)
    };
    let longest = f.ops.iter().map(length).max().unwrap_or(0);
    let station = &shop.stations[usize::from(f.station)];
    // A longer piece may still join a pinned load of a basin that nobody attends; nothing else changes its length.
    let company = station.basin > 1 && !(shop.staffed && f.start + f.attended > f.changeover_start);
    if f.end - f.start != longest && (!company || f.end - f.start < longest) {
        return Some(Complaint::of_job(
            id,
            at,
            format!("\"{id}\" is fixed for {} minutes but takes {longest}", f.end - f.start),
        ));
    }
    let c = f.start - f.changeover_start;
    let possible = match &station.table {
        None => c == 0,
        Some(t) => {
            let dress = t.dress[usize::from(f.setup)].1;
            let nothing = station.mounted == NONE && t.first[usize::from(f.setup)] == c;
            let own = t.minutes[usize::from(f.setup) * t.size + usize::from(f.setup)] + dress;
            nothing
                || own == c
                || (0..t.size).any(|from| t.minutes[from * t.size + usize::from(f.setup)] == c)
        }
    };
    (!possible).then(|| {
        Complaint::of_job(
            id,
            at,
            format!("\"{id}\" is fixed with {c} minutes of changeover, which no setup before it gives"),
        )
    })
}

/// Fixed work that overlaps other fixed work.
fn clashes(instance: &Instance, shop: &Shop) -> Vec<Complaint> {
    let mut found = Vec::new();
    let place = |load: u32| {
        let op = &shop.ops[shop.fixed[load as usize].ops[0] as usize];
        (&instance.jobs[op.job as usize].id, format!("jobs[{}].operations[{}].fixed", op.job, op.index))
    };
    for station in &shop.stations {
        for pair in station.fixed.windows(2) {
            if shop.fixed[pair[1] as usize].changeover_start < shop.fixed[pair[0] as usize].end {
                let ((one, _), (two, at)) = (place(pair[0]), place(pair[1]));
                found.push(Complaint::of_job(
                    two,
                    at,
                    format!(
                        "contradictory fixed work: \"{one}\" and \"{two}\" overlap at \"{}\"",
                        station.name
                    ),
                ));
            }
        }
    }
    for (p, person) in shop.people.iter().enumerate() {
        let mut turns: Vec<u32> = (0..shop.fixed.len() as u32)
            .filter(|&l| usize::from(shop.fixed[l as usize].person) == p)
            .collect();
        turns.retain(|&l| {
            shop.fixed[l as usize].start + shop.fixed[l as usize].attended
                > shop.fixed[l as usize].changeover_start
        });
        turns.sort_by_key(|&l| shop.fixed[l as usize].changeover_start);
        for pair in turns.windows(2) {
            let first = &shop.fixed[pair[0] as usize];
            if shop.fixed[pair[1] as usize].changeover_start < first.start + first.attended {
                let ((one, _), (two, at)) = (place(pair[0]), place(pair[1]));
                found.push(Complaint::of_job(
                    two,
                    at,
                    format!(
                        "contradictory fixed work: {} is needed for \"{one}\" and \"{two}\" at once",
                        person.name
                    ),
                ));
            }
        }
    }
    found
}
