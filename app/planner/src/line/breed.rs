//! A population of local optima, recombined.
//!
//! Most children come from edge assembly ([`super::assemble`]), which keeps neighbours: of those that differ from the first
//! parent in one cycle of arcs, a few that differ in more, and some that differ in a part of one, the cheapest is polished. This finds far more for its time,
//! above all where little is late and the line is nearly a shortest path with a few deadlines. Some keep times instead: a
//! stretch of one parent stays where it stands and the rest follows in the order of the other (linear order crossover,
//! Falkenauer and Bouffouix 1991), polished by a short iterated local search as Xu, Lü, Yin, Shen and Buscher (2014) do for
//! this problem.
//!
//! Where many jobs are late, the arcs of all members are merged now and then ([`super::merge`]), which finds orders that no two of them
//! make.
//!
//! A child can only take the place of its first parent, which keeps the population varied (Nagata and Kobayashi 2013); half of
//! the time that is the better of two members. Where few jobs are late, which ones decides on all the rest, and a population would settle
//! early for those it happened to do best with. So members with the same late jobs are a family, and a family has only so much room: when
//! it is full, its children take the place of its worst member (room for each niche: Goldberg and Richardson 1987, Mouret and Clune
//! 2015). Towards the end there is more and more room for the best of them.
//!
//! When hardly any child takes a place, the better half joins that of the population before; when these rest too, a new one is bred.

use std::hash::{DefaultHasher, Hash, Hasher as _};
use std::ops::{Range, RangeInclusive};

use super::Walk;
use super::assemble::Assembly;
use super::descent::Plain;
use super::hands::Hands;
use super::merge::Merge;
use super::problem::Line;
use super::sequence::Move;
use crate::rng::Rng;
use crate::search::Limit;

/// Founding members takes this share of what is left of the budget. Fewer members meet too soon, more take too long to meet:
/// a population comes to rest in several times what founding it took.
const FOUNDING: f64 = 0.075;
/// Members at least and at most.
const MEMBERS: RangeInclusive<usize> = 16..=400;
/// One crossing in so many is by order, the others are by arcs. It gains less for its time, but something else.
const BY_ORDER: usize = 16;
/// One member in so many gives up its turn as first parent to another one, if that is better: the better ones have more children, and
/// the others still pass on their arcs.
const CONTEST: usize = 2;
/// Of equal cost, an order is no news if fewer than one arc in so many is different; otherwise populations fill up with
/// orders that differ in jobs whose place does not matter.
const NEWS: usize = 6;
/// A job counts as late if it is by more than the mean minutes of a job divided by this: what is hardly late changes with every move.
const HARDLY: i64 = 2;
/// Few jobs are late if no more than this share of all are.
const FEW: f64 = 0.3;
/// A family has room for this share of the population, until so much of the budget is used; from then on more and more, in the end for all.
const FAMILY: f64 = 0.1;
const OPENING: Range<f64> = 0.3..0.8;
/// Kicks in a row without gain that end the polishing of a new member, of a child of the first crossing (which has lost
/// its polish), and of a child of the second.
const KICKS_NEW: usize = 3;
const KICKS_ORDER: usize = 5;
const KICKS_ARCS: usize = 2;
/// A child is only kicked if its descent has left it no dearer than its first parent by more than what lies between the best member and
/// the median, divided by this: from further off hardly any kick brings it below its parent.
const NEAR: i64 = 4;
/// Children of one pair by edge assembly: so many with one cycle, at most, and so many with several.
const ONE_CYCLE: usize = 30;
const MANY_CYCLES: usize = 5;
/// And so many with a part of a cycle.
const PARTS: usize = 12;
/// No more than one job in so many may hang loose in a child with a part of a cycle.
const LOOSE: usize = 4;
/// Where not few jobs are late, after so many generations the arcs of all members are merged ([`Merge`]), with those of so many members
/// of the population before.
const MERGING: usize = 8;
const ELDERS: usize = 50;
/// The last children tried are known again; so many slots there are.
const TRIED: usize = 1 << 14;
/// A population is at rest after so many generations in a row in which less than one member in fifty was replaced.
const RESTING: usize = 4;
/// A kick exchanges two blocks of up to so many jobs: about as long as the blocks a descent moves, so that it is seldom
/// undone by one move.
const KICK_BLOCK: usize = 8;
/// And up to so many jobs lie between them.
const KICK_BETWEEN: usize = 20;

/// Where every order of one station is timed job by job, this share of the budget goes to the line without what that is for.
const EASED: f64 = 0.4;

/// Where some jobs cost nothing, this share of the budget goes to the others alone. In what is left one of them may still shorten the
/// changeovers between two others.
const WITHOUT_COSTLESS: f64 = 0.98;

struct Breed<'a, 'b, W> {
    line: &'a Line,
    walk: W,
    assembly: Assembly<'a>,
    rng: &'b mut Rng,
    limit: &'b Limit<'b>,
    steps: u64,
    best: Found,
    home: Vec<u16>,
    child: Vec<u16>,
    /// What a child may cost more than its first parent and still be kicked.
    near: i64,
    /// Children by edge assembly before they were polished, each as a hash in the slot it names.
    tried: Vec<u64>,
}

/// The best order of a search.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) order: Vec<u16>,
    pub(crate) cost: i64,
    /// After how many steps it was found.
    pub(crate) at: u64,
    /// How many steps there were.
    pub(crate) steps: u64,
}

/// A local optimum.
#[derive(Clone, Debug)]
pub(super) struct Member {
    pub(super) cost: i64,
    pub(super) order: Vec<u16>,
    /// Names the jobs that are late, if they are few.
    pub(super) family: Option<u64>,
}

/// So few jobs are tried in every order, which takes a millisecond.
pub(crate) const TRY_ALL: usize = 8;

/// Search for the best order of a line. `at_once` is an order to begin with.
pub(crate) fn search(line: &Line, at_once: Vec<u16>, rng: &mut Rng, limit: &Limit<'_>) -> Found {
    if line.n <= TRY_ALL { try_all(line, at_once) } else { breed(line, at_once, rng, limit) }
}

/// The best of all orders, one by one (Heap 1963).
fn try_all(line: &Line, at_once: Vec<u16>) -> Found {
    let mut best = Found { cost: line.cost(&at_once), order: at_once, at: 0, steps: 1 };
    let mut order = best.order.clone();
    let mut turns = vec![0; line.n];
    let mut k = 1;
    while k < line.n {
        if turns[k] < k {
            order.swap(if k % 2 == 0 { 0 } else { turns[k] }, k);
            let cost = line.cost(&order);
            if cost < best.cost {
                best.cost = cost;
                best.order.copy_from_slice(&order);
            }
            turns[k] += 1;
            k = 1;
        } else {
            turns[k] = 0;
            k += 1;
        }
    }
    best
}

/// Search by breeding.
pub(crate) fn breed(line: &Line, at_once: Vec<u16>, rng: &mut Rng, limit: &Limit<'_>) -> Found {
    let Some(rounds) = &line.rounds else { return breed_plain(line, at_once, rng, limit) };
    if !rounds.one_station() {
        return breed_by(Hands::new(line, rounds), line, at_once, rng, limit);
    }
    // Hours, dressing and late pieces often bind little, and without them moves are told by look-ups.
    let eased = Line { rounds: None, enough: 0, ..line.clone() };
    let easily = breed_plain(&eased, at_once.clone(), rng, &limit.part(EASED));
    let at_once = if line.cost(&easily.order) < line.cost(&at_once) { easily.order } else { at_once };
    let found = breed_by(Hands::new(line, rounds), line, at_once, rng, &limit.after(easily.steps));
    Found { at: easily.steps + found.at, steps: easily.steps + found.steps, ..found }
}

/// Search a line that is not timed job by job. What costs nothing wherever it stands waits at the end: the search is then for the others
/// alone, whose times it cannot change, and no time is lost on telling apart orders that only differ there.
fn breed_plain(line: &Line, at_once: Vec<u16>, rng: &mut Rng, limit: &Limit<'_>) -> Found {
    let costless = line.costless();
    let (last, some): (Vec<u16>, Vec<u16>) = at_once.iter().partition(|&&j| costless[usize::from(j)]);
    if last.is_empty() || some.is_empty() {
        return breed_by(Plain::new(line), line, at_once, rng, limit);
    }
    let shortens = last.iter().any(|&job| line.shortens(job));
    let within = if shortens { limit.part(WITHOUT_COSTLESS) } else { *limit };
    let few = search(&line.only(&some), (0..some.len() as u16).collect(), rng, &within);
    let order = few.order.iter().map(|&k| some[usize::from(k)]).chain(last).collect();
    if !shortens {
        return Found { order, ..few };
    }
    let all = breed_by(Plain::new(line), line, order, rng, &limit.after(few.steps));
    let at = if all.cost < few.cost { few.steps + all.at } else { few.at };
    Found { at, steps: few.steps + all.steps, ..all }
}

fn breed_by<W: Walk>(walk: W, line: &Line, at_once: Vec<u16>, rng: &mut Rng, limit: &Limit<'_>) -> Found {
    let mut run = Breed {
        line,
        walk,
        assembly: Assembly::new(line),
        rng,
        limit,
        steps: 0,
        best: Found { cost: line.cost(&at_once), order: at_once, at: 0, steps: 0 },
        home: Vec::new(),
        child: Vec::new(),
        near: 0,
        tried: vec![0; TRIED],
    };
    run.run();
    Found { steps: run.steps, ..run.best }
}

impl<W: Walk> Breed<'_, '_, W> {
    fn run(&mut self) {
        let mut first = Some(self.best.order.clone());
        let mut elders: Vec<Member> = Vec::new();
        let mut merging = Merge::new(self.line);
        while !self.done() {
            let mut members = self.found_population(first.take());
            let mut pairs: Vec<usize> = (0..members.len()).collect();
            let (mut resting, mut generation) = (0, 0);
            let families = members.iter().filter(|m| m.family.is_some()).count();
            let merges = self.line.rounds.is_none() && 2 * families <= members.len();
            while members.len() > 1 && !self.done() {
                if resting == RESTING {
                    if elders.is_empty() {
                        break;
                    }
                    resting = 0;
                    self.join(&mut members, std::mem::take(&mut elders));
                    pairs = (0..members.len()).collect();
                }
                self.near = half_spread(&members) / NEAR;
                self.shuffle(&mut pairs);
                let mut replaced = 0;
                for k in 0..pairs.len() {
                    if self.done() {
                        break;
                    }
                    let (mut a, mut b) = (pairs[k], pairs[(k + 1) % pairs.len()]);
                    let rival = self.rng.below(members.len());
                    if self.rng.below(CONTEST) == 0 && members[rival].cost < members[a].cost {
                        b = if b == rival { a } else { b };
                        a = rival;
                    }
                    self.steps += 1;
                    let child = if self.rng.below(BY_ORDER) == 0 {
                        Some(self.cross_orders(&members[a], &members[b].order))
                    } else {
                        self.cross_arcs(&members[a], &members[b].order)
                    };
                    if let Some(child) = child {
                        let room = room(self.limit.progress(self.steps), members.len());
                        let out = place(&child, &members, a, room);
                        if child.cost < members[out].cost && self.is_news(&child, &members, out) {
                            members[out] = child;
                            replaced += 1;
                        }
                    }
                }
                generation += 1;
                if merges && generation % MERGING == 0 && !self.done() {
                    replaced += usize::from(self.merge(&mut merging, &mut members, &elders));
                }
                resting = if replaced * 50 <= members.len() { resting + 1 } else { 0 };
            }
            elders = members;
        }
    }

    /// Merge the arcs of the members and of some elders. What is better than everything before takes the place of the member it
    /// is most like. Returns whether there was anything.
    fn merge(&mut self, merging: &mut Merge<'_>, members: &mut [Member], elders: &[Member]) -> bool {
        let mut ranked: Vec<&Member> = members.iter().collect();
        ranked.sort_by_key(|m| m.cost);
        let orders = ranked.iter().copied().chain(elders.iter().take(ELDERS)).map(|m| &m.order[..]);
        let limit = self.limit;
        let order = merging.best(orders, self.best.cost, &|| limit.out_of_time());
        self.steps += merging.steps();
        let Some(order) = order else { return false };
        self.walk.load(&order);
        self.wake_all();
        let merged = self.polish(KICKS_NEW);
        let like = members.iter_mut().min_by_key(|m| {
            self.assembly.parents(&merged.order, &m.order);
            self.assembly.arcs_apart()
        });
        like.filter(|like| merged.cost < like.cost).map(|like| *like = merged).is_some()
    }

    /// The better half of each of two populations.
    fn join(&mut self, members: &mut Vec<Member>, elders: Vec<Member>) {
        let most = members.len().max(2);
        members.sort_by_key(|m| m.cost);
        members.truncate(most.div_ceil(2));
        let mut elders = elders;
        elders.sort_by_key(|m| m.cost);
        for elder in elders {
            if members.len() < most && self.is_news(&elder, members, usize::MAX) {
                members.push(elder);
            }
        }
    }

    /// Random orders, polished, all different; fewer when there are no more.
    fn found_population(&mut self, mut first: Option<Vec<u16>>) -> Vec<Member> {
        self.tried.fill(0);
        let mut members: Vec<Member> = Vec::new();
        let mut in_vain = 0;
        let begun = self.limit.progress(self.steps);
        let until = begun + FOUNDING * (1.0 - begun);
        while in_vain < *MEMBERS.end() && members.len() < *MEMBERS.end() && !self.done() {
            if members.len() >= *MEMBERS.start() && self.limit.progress(self.steps) >= until {
                break;
            }
            let order = first.take().unwrap_or_else(|| {
                let mut order: Vec<u16> = (0..self.line.n as u16).collect();
                self.shuffle(&mut order);
                order
            });
            self.walk.load(&order);
            self.wake_all();
            let m = self.polish(KICKS_NEW);
            if members.iter().any(|o| o.order == m.order) {
                in_vain += 1;
            } else {
                members.push(m);
            }
        }
        members
    }

    /// Whether a child is different enough from every member but the one it would replace.
    fn is_news(&mut self, child: &Member, members: &[Member], replaced: usize) -> bool {
        let n = self.line.n;
        let mut others = members.iter().enumerate().filter(|&(k, m)| k != replaced && m.cost == child.cost);
        others.all(|(_, m)| {
            self.assembly.parents(&child.order, &m.order);
            self.assembly.arcs_apart() > n / NEWS
        })
    }

    fn done(&self) -> bool {
        self.best.cost <= self.line.enough || self.limit.reached(self.steps)
    }

    fn wake_all(&mut self) {
        for j in 0..self.line.n as u16 {
            self.walk.wake(j);
        }
    }

    fn shuffle<T>(&mut self, values: &mut [T]) {
        for k in (1..values.len()).rev() {
            values.swap(k, self.rng.below(k + 1));
        }
    }

    /// A stretch of the one parent where it stands, the rest in the order of the other.
    fn cross_orders(&mut self, one: &Member, other: &[u16]) -> Member {
        let n = one.order.len();
        let (mut a, mut b) = (self.rng.below(n), self.rng.below(n));
        if a > b {
            std::mem::swap(&mut a, &mut b);
        }
        let mut kept = vec![false; n];
        for &j in &one.order[a..=b] {
            kept[usize::from(j)] = true;
        }
        let rest = other.iter().copied().filter(|&j| !kept[usize::from(j)]);
        self.child.clear();
        self.child.extend(rest);
        self.child.splice(a..a, one.order[a..=b].iter().copied());
        self.walk.load(&self.child);
        self.wake_all();
        self.polish_child(one, KICKS_ORDER)
    }

    /// The one parent with some arcs of the other; `None` if nothing new comes of the two. Children that cost just what the first parent
    /// does are left: mostly they are the same order in all that matters, and of those polished on four public instances one in twenty to
    /// one in six ended below it, fewer than of those that cost more. A quarter to a half of what is cheapest would have been tried before,
    /// with another parent.
    fn cross_arcs(&mut self, one: &Member, other: &[u16]) -> Option<Member> {
        let cycles = self.assembly.parents(&one.order, other);
        let arcs = self.assembly.arcs_apart();
        if cycles == 0 {
            return None;
        }
        let (mut least, mut name) = (i64::MAX, 0);
        let first = self.rng.below(cycles);
        let single = if cycles > 1 { cycles.min(ONE_CYCLE) } else { 0 };
        let several = if cycles > 2 { MANY_CYCLES.min(ONE_CYCLE - single) } else { 0 };
        for k in 0..single + several + PARTS {
            self.assembly.begin();
            let mut loose = self.line.n;
            if k < single {
                self.assembly.take((first + k) % cycles);
            } else if k < single + several {
                let share = 0.2 + 0.5 * self.rng.unit();
                for cycle in 0..cycles {
                    if self.rng.unit() < share {
                        self.assembly.take(cycle);
                    }
                }
            } else {
                self.assembly.take_part(self.rng.below(arcs));
                loose /= LOOSE;
            }
            if let Some((order, cost)) = self.assembly.close(loose, least)
                && cost != one.cost
                && order != other
            {
                let hash = hash(order);
                if self.tried[slot(hash)] != hash {
                    (least, name) = (cost, hash);
                    self.child.clear();
                    self.child.extend_from_slice(order);
                }
            }
        }
        if least == i64::MAX {
            return None;
        }
        self.tried[slot(name)] = name;
        self.walk.load(&self.child);
        // The parent is polished; only where its arcs are gone is there anything to do.
        for k in 0..self.child.len() {
            let (before, j) = (k.checked_sub(1).map(|k| self.child[k]), self.child[k]);
            if !self.assembly.first_had(before, j) {
                self.walk.wake(j);
                if let Some(before) = before {
                    self.walk.wake(before);
                }
            }
        }
        Some(self.polish_child(one, KICKS_ARCS))
    }

    /// Downhill, and [kicked](Self::kicked) if that is near what the first parent costs.
    fn polish_child(&mut self, one: &Member, kicks: usize) -> Member {
        self.descend();
        self.kicked(if self.walk.cost() <= one.cost + self.near { kicks } else { 0 })
    }

    /// Downhill, then [kicked](Self::kicked).
    fn polish(&mut self, kicks: usize) -> Member {
        self.descend();
        self.kicked(kicks)
    }

    /// Kicks that are kept if they do no harm, until so many in a row have gained nothing.
    fn kicked(&mut self, kicks: usize) -> Member {
        let mut cost = self.walk.cost();
        self.home.clear();
        self.home.extend_from_slice(self.walk.order());
        self.walk.keep();
        self.note(cost);
        let mut quiet = 0;
        while quiet < kicks && !self.done() {
            self.steps += 1;
            self.kick();
            self.descend();
            let found = self.walk.cost();
            quiet += 1;
            if found <= cost {
                if found < cost {
                    quiet = 0;
                }
                cost = found;
                self.home.copy_from_slice(self.walk.order());
                self.walk.keep();
                self.note(cost);
            } else {
                self.walk.go_back(&self.home);
            }
        }
        self.steps += 1;
        Member { cost, family: family(self.line, &self.home), order: self.home.clone() }
    }

    fn descend(&mut self) {
        let limit = self.limit;
        self.walk.descend(&|| limit.out_of_time());
    }

    /// Exchange two random blocks somewhere.
    fn kick(&mut self) {
        let n = self.line.n;
        let longest = (n / 4).clamp(1, KICK_BLOCK);
        let (x, y) = (1 + self.rng.below(longest), 1 + self.rng.below(longest));
        let between = self.rng.below(KICK_BETWEEN).min(n.saturating_sub(x + y));
        if x + y + between <= n {
            let a = 1 + self.rng.below(n + 1 - x - y - between);
            let m = Move { gain: 0, a, b: a + x - 1, d: a + x + between, c: a + x + between + y - 1 };
            self.walk.carry_out(&m);
        }
    }

    fn note(&mut self, cost: i64) {
        if cost < self.best.cost {
            self.best.cost = cost;
            self.best.order.clone_from(&self.home);
            self.best.at = self.steps;
        }
    }
}

/// What lies between the cost of the best member and the median.
fn half_spread(members: &[Member]) -> i64 {
    let mut costs: Vec<i64> = members.iter().map(|m| m.cost).collect();
    costs.sort_unstable();
    costs.get(costs.len() / 2).map_or(0, |median| median - costs[0])
}

/// How many of so many members a family has room for when so much of the budget is used.
pub(super) fn room(used: f64, members: usize) -> usize {
    let open = ((used - OPENING.start) / (OPENING.end - OPENING.start)).clamp(0.0, 1.0);
    ((members as f64 * (FAMILY + (1.0 - FAMILY) * open)) as usize).max(2)
}

/// Whose place a child may take: that of its first parent, but if it comes into another family that is full, that of the worst there.
pub(super) fn place(child: &Member, members: &[Member], parent: usize, room: usize) -> usize {
    if child.family.is_none() || child.family == members[parent].family {
        return parent;
    }
    let theirs = || (0..members.len()).filter(|&k| members[k].family == child.family);
    let worst = || theirs().max_by_key(|&k| members[k].cost).unwrap_or(parent);
    if theirs().count() < room { parent } else { worst() }
}

/// Names the jobs that are late in an order of a plain line, in all likelihood no others; `None` if they are not few.
pub(super) fn family(line: &Line, order: &[u16]) -> Option<u64> {
    if line.rounds.is_some() {
        return None;
    }
    let margin = line.minutes.iter().sum::<i64>() / line.n as i64 / HARDLY;
    let mut walked = line.start();
    let mut late = vec![false; line.n];
    for &job in order {
        walked = line.follow(walked, &[job]);
        late[usize::from(job)] = walked.at > line.due[usize::from(job)] + margin;
    }
    let few = late.iter().filter(|&&late| late).count() as f64 <= FEW * line.n as f64;
    few.then(|| hash(&late))
}

/// Names an order or anything else, in all likelihood nothing other.
fn hash(named: &(impl Hash + ?Sized)) -> u64 {
    let mut hasher = DefaultHasher::new();
    named.hash(&mut hasher);
    hasher.finish()
}

/// Where a hash is kept.
fn slot(hash: u64) -> usize {
    hash as usize % TRIED
}
