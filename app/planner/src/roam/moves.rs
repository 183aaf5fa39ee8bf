//! The moves.

use super::{Moved, RUN, Roam};
use crate::Minute;
use crate::model::{Alt, NIL, NONE};

impl Roam<'_> {
    pub(super) fn change(&mut self) -> Moved {
        let staffed = self.shop.people.len() > 1 && self.shop.staffed;
        match self.rng.below(100) {
            0..=5 if !self.basins.is_empty() => self.regroup(),
            6..=13 if !self.choices.is_empty() => self.choose(),
            14..=21 if staffed => self.hand_over(),
            22..=37 => self.join_run(),
            38..=49 => self.move_run(),
            50..=61 => self.go_ahead(),
            62..=67 => self.whole_job(),
            68..=79 => self.at_station(),
            80..=87 => self.block(),
            _ => self.in_hand(),
        }
    }

    /// Note which operations belong to late jobs and which loads come with a changeover.
    pub(super) fn look_round(&mut self) {
        self.late.clear();
        for job in &self.shop.jobs {
            if self.end_of(job.first + job.len - 1) > job.due {
                let ops = job.first..job.first + job.len;
                self.late.extend(ops.filter(|&op| self.shop.ops[op as usize].fixed == NIL));
            }
        }
        self.changed_over.clear();
        for &load in self.ripple.at_station.iter().flatten() {
            let t = &self.ripple.times[load as usize];
            if t.start > t.changeover_start {
                self.changed_over.push(self.ripple.head[load as usize]);
            }
        }
    }

    /// A load; two times of three one that costs something.
    fn some_load(&mut self) -> u32 {
        let list = match self.rng.below(3) {
            0 if !self.fresh.is_empty() && self.rng.below(2) == 0 => &self.fresh,
            0 if !self.late.is_empty() => &self.late,
            1 if !self.changed_over.is_empty() => &self.changed_over,
            _ => &self.loose,
        };
        let op = list[self.rng.below(list.len())];
        self.ripple.load_of[op as usize]
    }

    pub(super) fn end_of(&self, op: u32) -> Minute {
        let fixed = self.shop.ops[op as usize].fixed;
        if fixed == NIL {
            self.ripple.times[self.ripple.load_of[op as usize] as usize].end
        } else {
            self.shop.fixed[fixed as usize].end
        }
    }

    /// From when on the pieces of a load are there.
    fn ready(&self, load: u32) -> Minute {
        let all = self.ripple.members(load).map(|op| self.ready_of(op));
        all.max().unwrap_or(self.shop.now).max(self.shop.now)
    }

    fn ready_of(&self, op: u32) -> Minute {
        let before = self.shop.before(op);
        if before == NIL {
            self.shop.jobs[self.shop.ops[op as usize].job as usize].release
        } else {
            self.end_of(before) + self.shop.ops[before as usize].lag
        }
    }

    /// A key right before (or behind) a load, within what routes allow for `load`.
    fn key_beside(&mut self, load: u32, beside: u32, behind: bool, hand: bool) -> Option<u64> {
        let (low, high) = self.ripple.bounds(load);
        let at = self.ripple.loads[beside as usize].key;
        let other = self.ripple.neighbour(beside, behind, hand);
        let gap = if other == NIL { 1 << 30 } else { at.abs_diff(self.ripple.loads[other as usize].key) };
        let away = (gap / 64).max(1);
        if gap < 128 {
            self.crowded = true;
        }
        let key = if behind { at.checked_add(away)? } else { at.checked_sub(away)? };
        let key = if behind { key.max(low + 1) } else { key.min(high - 1) };
        // Between the one beside and the next one over, if routes leave that open.
        (low < key && key < high && (key > at) == behind && key != at).then_some(key)
    }

    /// Move a load beside another.
    fn go_beside(&mut self, load: u32, beside: u32, behind: bool, hand: bool) -> Moved {
        let key = self.key_beside(load, beside, behind, hand)?;
        let person = self.ripple.loads[load as usize].person;
        self.ripple.take(load);
        self.ripple.put(load, key, person);
        Some(())
    }

    fn walk(&self, load: u32, steps: usize, behind: bool, hand: bool) -> u32 {
        let mut at = load;
        for _ in 0..steps {
            let next = self.ripple.neighbour(at, behind, hand);
            if next == NIL {
                break;
            }
            at = next;
        }
        at
    }

    fn stride(&mut self) -> usize {
        let most = [2, 6, 20, 80][self.rng.below(4)];
        1 + self.rng.below(most)
    }

    fn at_station(&mut self) -> Moved {
        let load = self.some_load();
        let (steps, behind) = (self.stride(), self.rng.below(2) == 0);
        let beside = self.walk(load, steps, behind, false);
        if beside == load { None } else { self.go_beside(load, beside, behind, false) }
    }

    fn in_hand(&mut self) -> Moved {
        let load = self.some_load();
        if self.ripple.loads[load as usize].person == NONE {
            return self.at_station();
        }
        let (steps, behind) = (self.stride(), self.rng.below(2) == 0);
        let beside = self.walk(load, steps, behind, true);
        if beside == load { None } else { self.go_beside(load, beside, behind, true) }
    }

    /// The nearest load of the same setup at the station that is not in the same run, in one direction.
    fn other_run(&self, load: u32, behind: bool) -> Option<u32> {
        let setup = self.ripple.loads[load as usize].setup;
        let mut at = load;
        let mut left = false;
        for _ in 0..400 {
            at = self.ripple.neighbour(at, behind, false);
            if at == NIL {
                return None;
            }
            let same = self.ripple.loads[at as usize].setup == setup;
            if same && left {
                return Some(at);
            }
            left |= !same;
        }
        None
    }

    fn join_run(&mut self) -> Moved {
        let load = self.some_load();
        let behind = self.rng.below(2) == 0;
        let other = self.other_run(load, behind)?;
        // Into the run from the near side: behind an earlier run, before a later one; or a little further in.
        let into = if self.rng.below(3) == 0 { self.rng.below(6) } else { 0 };
        let mut beside = other;
        for _ in 0..into {
            let next = self.ripple.neighbour(beside, behind, false);
            if next == NIL || self.ripple.loads[next as usize].setup != self.ripple.loads[load as usize].setup
            {
                break;
            }
            beside = next;
        }
        self.go_beside(load, beside, !behind, false)
    }

    /// The run a load is in (or the part of it on one side of the load), in order.
    fn run_of(&mut self, load: u32) -> Vec<u32> {
        let setup = self.ripple.loads[load as usize].setup;
        let part = self.rng.below(3);
        let mut run = vec![load];
        for behind in [false, true] {
            if (part == 1 && behind) || (part == 2 && !behind) {
                continue;
            }
            let mut at = load;
            loop {
                at = self.ripple.neighbour(at, behind, false);
                if at == NIL || self.ripple.loads[at as usize].setup != setup || run.len() >= RUN {
                    break;
                }
                run.push(at);
            }
        }
        run.sort_unstable_by_key(|&l| self.ripple.rank(l));
        run
    }

    /// Move several loads, in order, beside another.
    fn go_together(&mut self, loads: &[u32], beside: u32, behind: bool, hand: bool) -> Moved {
        let at = self.ripple.loads[beside as usize].key;
        let other = self.ripple.neighbour(beside, behind, hand);
        let other = if other == NIL {
            if behind { at.checked_add(1 << 30)? } else { at.checked_sub(1 << 30)? }
        } else {
            self.ripple.loads[other as usize].key
        };
        let (low, high) = if behind { (at, other) } else { (other, at) };
        let apart = high.checked_sub(low)? / 4 / (loads.len() as u64 + 1);
        if apart < 4 {
            self.crowded = true;
            return None;
        }
        // Close to the one beside.
        let first = if behind { low } else { high - apart * (loads.len() as u64 + 1) };
        let taken: Vec<(u32, u16)> =
            loads.iter().map(|&l| (l, self.ripple.loads[l as usize].person)).collect();
        for &(l, _) in &taken {
            self.ripple.take(l);
        }
        for (k, &(l, person)) in (1u64..).zip(&taken) {
            let key = first + apart * k;
            let (low, high) = self.ripple.bounds(l);
            if key <= low || key >= high {
                return None;
            }
            self.ripple.put(l, key, person);
        }
        Some(())
    }

    fn move_run(&mut self) -> Moved {
        let load = self.some_load();
        let run = self.run_of(load);
        let behind = self.rng.below(2) == 0;
        let end = if behind { run[run.len() - 1] } else { run[0] };
        if self.rng.below(3) > 0 {
            let other = self.other_run(end, behind)?;
            return self.go_together(&run, other, !behind, false);
        }
        // Past the run next to it.
        let next = self.ripple.neighbour(end, behind, false);
        if next == NIL {
            return None;
        }
        let setup = self.ripple.loads[next as usize].setup;
        let mut beside = next;
        for _ in 0..RUN {
            let further = self.ripple.neighbour(beside, behind, false);
            if further == NIL || self.ripple.loads[further as usize].setup != setup {
                break;
            }
            beside = further;
        }
        self.go_together(&run, beside, behind, false)
    }

    /// A few loads in a row of one person's (or station's) go elsewhere.
    fn block(&mut self) -> Moved {
        let load = self.some_load();
        let hand = self.ripple.loads[load as usize].person != NONE && self.rng.below(3) > 0;
        let length = 2 + self.rng.below(5);
        let mut loads = vec![load];
        while loads.len() < length {
            let next = self.ripple.neighbour(loads[loads.len() - 1], true, hand);
            if next == NIL {
                break;
            }
            loads.push(next);
        }
        let (steps, behind) = (self.stride(), self.rng.below(2) == 0);
        let end = if behind { loads[loads.len() - 1] } else { load };
        let beside = self.walk(end, steps, behind, hand);
        if beside == end { None } else { self.go_together(&loads, beside, behind, hand) }
    }

    /// The first load of a list that begins at a minute or later.
    fn first_from(&self, list: &[u32], minute: Minute) -> Option<u32> {
        let k = list.partition_point(|&l| self.ripple.times[l as usize].changeover_start < minute);
        list.get(k).copied()
    }

    /// What waits goes ahead of some of what it waits for.
    fn go_ahead(&mut self) -> Moved {
        let load = self.some_load();
        let ready = self.ready(load);
        let t = &self.ripple.times[load as usize];
        let wait = t.changeover_start - ready;
        if wait <= 0 {
            return None;
        }
        let minute = t.changeover_start - 1 - self.rng.below(wait as usize) as Minute;
        let l = &self.ripple.loads[load as usize];
        let hand = l.person != NONE && self.rng.below(2) == 0;
        let list = if hand {
            &self.ripple.in_hand[usize::from(l.person)]
        } else {
            &self.ripple.at_station[usize::from(l.station)]
        };
        let beside = self.first_from(list, minute)?;
        if beside == load { None } else { self.go_beside(load, beside, false, hand) }
    }

    /// Take out the rest of a job and put it back, each step soon after the one before.
    fn whole_job(&mut self) -> Moved {
        let load = self.some_load();
        let members: Vec<u32> = self.ripple.members(load).collect();
        let op = members[self.rng.below(members.len())];
        let job = self.shop.jobs[self.shop.ops[op as usize].job as usize].clone();
        let from = if self.rng.below(2) == 0 { op } else { job.first };
        let ops: Vec<u32> = (from..job.first + job.len).collect();
        if ops.iter().any(|&op| self.shop.ops[op as usize].fixed != NIL) {
            return None;
        }
        let mut at = self.ready_of(from).max(self.shop.now);
        if self.rng.below(2) == 0 {
            let start = self.ripple.times[self.ripple.load_of[from as usize] as usize].changeover_start;
            at += self.rng.below((start - at).max(1) as usize) as Minute;
        }
        let mut low = self.ripple.bounds_of(from).0;
        let mut out = Vec::with_capacity(ops.len());
        for &op in &ops {
            let load = self.ripple.load_of[op as usize];
            out.push(if self.ripple.alone(load) {
                self.ripple.take(load);
                load
            } else {
                self.ripple.leave(op)?
            });
        }
        // All places are looked for before any is taken: what is put back has no time yet.
        let mut places = Vec::with_capacity(ops.len());
        for (&op, &load) in ops.iter().zip(&out) {
            let l = self.ripple.loads[load as usize];
            at = self.open_from(load, at);
            if let Some(together) = self.load_to_join(load, at, low) {
                let t = &self.ripple.times[together as usize];
                at = t.end + self.shop.ops[op as usize].lag;
                low = self.ripple.loads[together as usize].key;
                places.push(Err(together));
                continue;
            }
            let mut key = u64::MAX;
            let lists = [
                Some(&self.ripple.at_station[usize::from(l.station)]),
                self.ripple.in_hand.get(usize::from(l.person)),
            ];
            for list in lists.into_iter().flatten() {
                if let Some(next) = self.first_from(list, at) {
                    key = key.min(self.ripple.loads[next as usize].key);
                }
            }
            let key = if key == u64::MAX { l.key } else { key - (1 << 16) }.max(low + 1);
            low = key;
            places.push(Ok(key));
            at += l.minutes + self.shop.ops[op as usize].lag;
        }
        for ((&op, load), place) in ops.iter().zip(out).zip(places) {
            match place {
                Ok(key) => self.ripple.put(load, key, self.ripple.loads[load as usize].person),
                Err(together) => self.ripple.join(op, together, self.ripple.alt[op as usize]),
            }
        }
        Some(())
    }

    /// The first minute from `at` on at which a load could start by the hours of its station and its person.
    fn open_from(&self, load: u32, at: Minute) -> Minute {
        let l = &self.ripple.loads[load as usize];
        let here = &self.shop.stations[usize::from(l.station)].hours;
        let mut start = here.fit(at, 0, l.minutes, &mut 0).unwrap_or(at);
        if let Some(person) = self.shop.people.get(usize::from(l.person)) {
            start = person.hours.fit(start, 0, l.attended, &mut 0).unwrap_or(start);
        }
        start
    }

    /// The next basin load that a load which is out could be part of, if that is not far off.
    fn load_to_join(&self, load: u32, at: Minute, low: u64) -> Option<u32> {
        let l = &self.ripple.loads[load as usize];
        let room = self.shop.stations[usize::from(l.station)].basin;
        if room < 2 {
            return None;
        }
        let list = &self.ripple.at_station[usize::from(l.station)];
        let k = list.partition_point(|&o| self.ripple.times[o as usize].start < at);
        list[k..].iter().take(3).copied().find(|&o| {
            let other = &self.ripple.loads[o as usize];
            other.setup == l.setup
                && other.key > low
                && self.ripple.members(o).count() < room
                && self.ripple.members(load).all(|op| {
                    let skill = self.shop.alts[self.ripple.alt[op as usize] as usize].skill;
                    other.person == NONE || self.shop.may(usize::from(other.person), skill)
                })
        })
    }

    /// Somebody else attends a load.
    fn hand_over(&mut self) -> Moved {
        let load = self.some_load();
        let l = self.ripple.loads[load as usize];
        let person = self.rng.below(self.shop.people.len()) as u16;
        if person == l.person || !self.may(person, load) {
            return None;
        }
        let key = if self.rng.below(2) == 0 {
            let minute = self.ripple.times[load as usize].changeover_start - self.rng.below(120) as Minute;
            let beside = self.first_from(&self.ripple.in_hand[usize::from(person)], minute)?;
            self.key_beside(load, beside, false, true)?
        } else {
            l.key
        };
        self.ripple.take(load);
        self.ripple.put(load, key, person);
        Some(())
    }

    fn may(&self, person: u16, load: u32) -> bool {
        let skill = |op: u32| self.shop.alts[self.ripple.alt[op as usize] as usize].skill;
        person == NONE || self.ripple.members(load).all(|op| self.shop.may(usize::from(person), skill(op)))
    }

    /// Another way to do an operation, about when it was done.
    fn choose(&mut self) -> Moved {
        let op = self.choices[self.rng.below(self.choices.len())];
        let load = self.ripple.load_of[op as usize];
        if !self.ripple.alone(load) {
            return None;
        }
        let o = &self.shop.ops[op as usize];
        let alt = o.from + self.rng.below((o.to - o.from) as usize) as u32;
        if alt == self.ripple.alt[op as usize] {
            return None;
        }
        let a = self.shop.alts[alt as usize];
        let person = self.able(&a, self.ripple.loads[load as usize].person)?;
        let minute = self.ripple.times[load as usize].changeover_start - self.rng.below(240) as Minute;
        let list = &self.ripple.at_station[usize::from(a.station)];
        let beside = self.first_from(list, minute).filter(|&b| b != load);
        let key = match beside {
            Some(beside) => self.key_beside(load, beside, false, false)?,
            None => self.ripple.loads[load as usize].key,
        };
        self.ripple.take(load);
        self.ripple.choose(load, alt);
        self.ripple.put(load, key, person);
        Some(())
    }

    /// Whoever attends now if they may, else somebody who may.
    fn able(&mut self, a: &Alt, person: u16) -> Option<u16> {
        if person == NONE || self.shop.may(usize::from(person), a.skill) {
            return Some(person);
        }
        let n = self.shop.people.len();
        let begin = self.rng.below(n);
        (0..n).map(|k| (begin + k) % n).find(|&p| self.shop.may(p, a.skill)).map(|p| p as u16)
    }

    /// Basin loads: a piece joins another load of its setup, or leaves its load for one of its own.
    fn regroup(&mut self) -> Moved {
        let op = self.basins[self.rng.below(self.basins.len())];
        let load = self.ripple.load_of[op as usize];
        let station = self.ripple.loads[load as usize].station;
        let room = self.shop.stations[usize::from(station)].basin;
        if room < 2 {
            return None;
        }
        let (low, high) = self.ripple.bounds_of(op);
        let alone = self.ripple.alone(load);
        let target = (self.rng.below(3) > 0).then(|| {
            let (steps, behind) = (1 + self.rng.below(3), self.rng.below(2) == 0);
            self.walk(load, steps, behind, false)
        });
        if let Some(target) = target {
            let t = self.ripple.loads[target as usize];
            let skill = self.shop.alts[self.ripple.alt[op as usize] as usize].skill;
            let fits = target != load
                && t.setup == self.ripple.loads[load as usize].setup
                && low < t.key
                && t.key < high
                && self.ripple.members(target).count() < room
                && (t.person == NONE || self.shop.may(usize::from(t.person), skill));
            if !fits {
                return None;
            }
            if alone {
                self.ripple.take(load);
            } else {
                self.ripple.leave(op)?;
            }
            self.ripple.join(op, target, self.ripple.alt[op as usize]);
            return Some(());
        }
        if alone {
            return None;
        }
        let behind = self.rng.below(2) == 0;
        let person = self.ripple.loads[load as usize].person;
        let own = self.ripple.leave(op)?;
        let key = self.key_beside(own, load, behind, false)?;
        self.ripple.put(own, key, person);
        Some(())
    }
}
