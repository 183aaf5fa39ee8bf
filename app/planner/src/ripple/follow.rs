//! Timing what a change reaches.

use std::cmp::Reverse;

use super::{Ripple, STAY, Timing};
use crate::Minute;
use crate::hours::FAR;
use crate::model::{NIL, NONE, Shop};

impl Ripple<'_> {
    #[inline]
    pub(super) fn note(&mut self, load: u32) {
        let l = &mut self.loads[load as usize];
        if l.noted != self.trial {
            l.noted = self.trial;
            self.noted.push((load, self.times[load as usize]));
        }
    }

    pub(super) fn note_tail(&mut self, station: usize) {
        self.noted_tails.push((station, self.tail_broken[station]));
    }

    /// Follow a change to its end. `false` when it is given up: it reached too far, or it costs more than `ceiling` and
    /// everything still to come can only come later.
    pub(crate) fn follow(&mut self, ceiling: f64, penalty: f64, reach: usize) -> bool {
        let mut left = reach;
        while let Some(Reverse((_, load))) = self.waiting.pop() {
            let l = &mut self.loads[load as usize];
            if l.dirty == 3 {
                self.earlier -= 1;
            }
            l.dirty = 0;
            left = left.saturating_sub(1);
            if left == 0
                || (self.earlier == 0 && self.score().energy(penalty) > ceiling && self.was.broken == 0.0)
            {
                self.give_up();
                return false;
            }
            self.time_again(load);
        }
        for k in 0..self.noted_tails.len() {
            let station = self.noted_tails[k].0;
            self.time_tail(station);
        }
        true
    }

    pub(super) fn give_up(&mut self) {
        while let Some(Reverse((_, load))) = self.waiting.pop() {
            self.loads[load as usize].dirty = 0;
        }
        self.earlier = 0;
    }

    fn time_again(&mut self, load: u32) {
        if self.load_of[self.head[load as usize] as usize] != load {
            // Its operation went into another load meanwhile.
            return;
        }
        let new = self.timing(load);
        let old = self.times[load as usize];
        if new != old {
            self.pass_on(load, &old, &new);
        }
        // Pieces come and go between loads without anything else changing, so this is looked at every time.
        let (mut op, mut waits) = (self.head[load as usize], false);
        while op != NIL {
            waits |= self.shop.ops[op as usize].max_lag < FAR;
            let before = self.shop.before(op);
            if before != NIL && self.shop.ops[before as usize].max_lag < FAR {
                let from = self.load_of[before as usize];
                if from != NIL {
                    self.hold_for_next(from);
                }
            }
            op = self.next[op as usize];
        }
        if waits {
            self.hold_for_next(load);
        }
    }

    fn pass_on(&mut self, load: u32, old: &Timing, new: &Timing) {
        self.note(load);
        self.cost += new.cost - old.cost;
        self.broken += new.broken - old.broken;
        self.times[load as usize] = *new;
        let l = self.loads[load as usize];
        if (new.end, new.since, new.passed) != (old.end, old.since, old.passed) {
            let earlier = new.end < old.end || (new.since, new.passed) != (old.since, old.passed);
            if l.after == NIL {
                self.note_tail(usize::from(l.station));
            }
            self.mark(l.after, earlier);
        }
        if new.hand != old.hand {
            self.mark(l.after_hand, new.hand < old.hand);
        }
        let mut op = self.head[load as usize];
        while op != NIL && new.end != old.end {
            let after = self.shop.after(op);
            if after != NIL {
                self.mark(self.load_of[after as usize], new.end < old.end);
            }
            op = self.next[op as usize];
        }
    }

    /// Set from when on a load must not start earlier, lest one of its pieces wait too long for what comes next.
    fn hold_for_next(&mut self, load: u32) {
        let t = self.times[load as usize];
        let length = t.end - t.start;
        let mut need = -FAR;
        for op in self.members(load) {
            let (o, after) = (&self.shop.ops[op as usize], self.shop.after(op));
            if after == NIL || o.max_lag >= FAR || self.load_of[after as usize] == NIL {
                continue;
            }
            let next = self.times[self.load_of[after as usize] as usize].start;
            let least = next - o.max_lag - length;
            // What follows as soon as it may holds nothing back, unless this is held back for it already.
            if next > t.end + o.lag || (t.start == t.wait_hold && least == t.start) {
                need = need.max(least);
            }
        }
        if need > t.start + STAY && self.put_offs > 0 {
            self.put_off(load, need);
        } else if need != t.wait_hold {
            self.note(load);
            self.times[load as usize].wait_hold = need;
            if need > t.start || t.wait_hold >= t.start {
                self.mark(load, need < t.start);
            }
        }
    }

    /// A load that has to wait so long lets others go first, rather than keep its station and its person waiting.
    fn put_off(&mut self, load: u32, need: Minute) {
        self.put_offs -= 1;
        let l = self.loads[load as usize];
        let mut key = 0;
        let lists = [Some(&self.at_station[usize::from(l.station)]), self.in_hand.get(usize::from(l.person))];
        for list in lists.into_iter().flatten() {
            let k = list.partition_point(|&o| self.times[o as usize].changeover_start < need);
            if let Some(&last) = k.checked_sub(1).and_then(|k| list.get(k)) {
                key = key.max(self.loads[last as usize].key);
            }
        }
        let (low, high) = self.bounds(load);
        let key = key.saturating_add(1 << 12).min(high - 1);
        if key > l.key && key > low {
            self.take(load);
            self.put(load, key, l.person);
        }
        self.note(load);
        self.times[load as usize].wait_hold = need;
        self.mark(load, true);
    }

    /// When a load happens as everything before it stands.
    fn timing(&mut self, load: u32) -> Timing {
        let shop = self.shop;
        let l = self.loads[load as usize];
        let model = &shop.stations[usize::from(l.station)];
        let (mut free, mut mounted, mut since, mut passed) = if l.before == NIL {
            (-FAR, model.mounted, 0, 0)
        } else {
            let t = &self.times[l.before as usize];
            (t.end, self.loads[l.before as usize].setup, t.since, t.passed)
        };
        let hand = if l.before_hand == NIL { -FAR } else { self.times[l.before_hand as usize].hand };
        let wait_hold = self.times[load as usize].wait_hold;
        let mut ready = l.hold.max(wait_hold);
        let mut broken = 0.0;
        let mut op = self.head[load as usize];
        while op != NIL {
            let o = &shop.ops[op as usize];
            let before = shop.before(op);
            ready = ready.max(if before == NIL {
                shop.jobs[o.job as usize].release
            } else {
                self.end_of(before) + shop.ops[before as usize].lag
            });
            let after = shop.after(op);
            if after != NIL && shop.ops[after as usize].fixed != NIL && o.max_lag < FAR {
                let next = shop.fixed[shop.ops[after as usize].fixed as usize].start;
                ready = ready.max(next - o.max_lag - l.minutes);
            }
            op = self.next[op as usize];
        }
        let (spot, c, count) = loop {
            let (c, count) = model.change(mounted, since, l.setup);
            let from = ready.max(shop.now.max(free) + c);
            let spot = self.attend(load, c, from, hand);
            if let Some(f) = model.fixed.get(passed as usize).map(|&f| &shop.fixed[f as usize]) {
                let fits = spot.is_some_and(|start| start + l.minutes <= f.changeover_start)
                    && model.change(l.setup, count + 1, f.setup).0 == f.start - f.changeover_start;
                if !fits {
                    let (c, count) = model.change(mounted, since, f.setup);
                    if c != f.start - f.changeover_start {
                        broken += 1.0;
                    }
                    (free, mounted, since, passed) = (f.end, f.setup, count + 1, passed + 1);
                    continue;
                }
            }
            break (spot, c, count);
        };
        let start = spot.unwrap_or_else(|| {
            broken += 1000.0;
            ready.max(free).max(hand).max(FAR / 1000)
        });
        let end = start + l.minutes;
        let busy = l.person != NONE && c + l.attended > 0;
        let mut cost = shop.weights.changeover * c as f64;
        let mut op = self.head[load as usize];
        while op != NIL {
            cost += cost_of(shop, op, start, end);
            broken += self.pinned_waits(op, start, end);
            op = self.next[op as usize];
        }
        Timing {
            changeover_start: start - c,
            start,
            end,
            since: count + 1,
            passed,
            hand: if busy { start + l.attended } else { hand },
            wait_hold,
            cost,
            broken,
        }
    }

    /// What is wrong between an operation and pinned work before and after it in its route.
    fn pinned_waits(&self, op: u32, start: Minute, end: Minute) -> f64 {
        let shop = self.shop;
        let too = |minutes: Minute| if minutes > 0 { 1.0 + minutes as f64 / 1000.0 } else { 0.0 };
        let mut broken = 0.0;
        let before = shop.before(op);
        if before != NIL && shop.ops[before as usize].fixed != NIL {
            broken += too(start - self.end_of(before) - shop.ops[before as usize].max_lag);
        }
        let after = shop.after(op);
        if after != NIL && shop.ops[after as usize].fixed != NIL {
            let gap = shop.fixed[shop.ops[after as usize].fixed as usize].start - end;
            let o = &shop.ops[op as usize];
            broken += too(o.lag - gap) + too(gap - o.max_lag);
        }
        broken
    }

    #[inline]
    fn end_of(&self, op: u32) -> Minute {
        let o = &self.shop.ops[op as usize];
        if o.fixed == NIL {
            self.times[self.load_of[op as usize] as usize].end
        } else {
            self.shop.fixed[o.fixed as usize].end
        }
    }

    /// The first start from `from` on when station and person are both there.
    #[inline]
    fn attend(&mut self, load: u32, c: Minute, from: Minute, hand: Minute) -> Option<Minute> {
        let shop = self.shop;
        let l = &mut self.loads[load as usize];
        let hours = &shop.stations[usize::from(l.station)].hours;
        if l.person == NONE || c + l.attended == 0 {
            return hours.fit(from, c, l.minutes, &mut l.hint);
        }
        let theirs = &shop.people[usize::from(l.person)].hours;
        let mut start = from.max(hand + c);
        loop {
            let s = hours.fit(start, c, l.minutes, &mut l.hint)?;
            start = theirs.fit(s, c, l.attended, &mut l.hand_hint)?;
            if start == s {
                return Some(s);
            }
        }
    }

    /// Fixed work behind the last load of a station.
    pub(super) fn time_tail(&mut self, station: usize) {
        let model = &self.shop.stations[station];
        if model.fixed.is_empty() {
            return;
        }
        let (mut mounted, mut since, passed) = match self.at_station[station].last() {
            Some(&l) => {
                let t = &self.times[l as usize];
                (self.loads[l as usize].setup, t.since, t.passed)
            }
            None => (model.mounted, 0, 0),
        };
        let mut broken = 0.0;
        for &f in &model.fixed[passed as usize..] {
            let f = &self.shop.fixed[f as usize];
            let (c, count) = model.change(mounted, since, f.setup);
            if c != f.start - f.changeover_start {
                broken += 1.0;
            }
            (mounted, since) = (f.setup, count + 1);
        }
        self.broken += broken - self.tail_broken[station];
        self.tail_broken[station] = broken;
    }
}

#[inline]
pub(super) fn cost_of(shop: &Shop, op: u32, start: Minute, end: Minute) -> f64 {
    let o = &shop.ops[op as usize];
    let job = &shop.jobs[o.job as usize];
    let w = shop.weights;
    let mut cost = 0.0;
    if o.index + 1 == job.len {
        cost +=
            w.tardiness * job.weight * (end - job.due).max(0) as f64 + w.flow * (end - job.release) as f64;
    }
    if let Some(s) = o.standing {
        cost += o.stay * (start - s).abs() as f64;
    }
    cost
}
