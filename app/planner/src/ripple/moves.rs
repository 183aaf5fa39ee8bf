//! Taking loads out and putting them elsewhere, and taking that back.

use super::{Ripple, Step, Timing};
use crate::hours::FAR;
use crate::model::{NIL, NONE};

impl Ripple<'_> {
    /// Take a load out of station and hands.
    pub(crate) fn take(&mut self, load: u32) {
        let l = self.loads[load as usize];
        self.steps.push(Step::Taken {
            load,
            key: l.key,
            person: l.person,
            alt: self.alt[self.head[load as usize] as usize],
            hold: l.hold,
        });
        self.unlink(load);
        // Who moves is no longer held to where it was.
        self.loads[load as usize].hold = -FAR;
        if l.after == NIL {
            self.note_tail(usize::from(l.station));
        }
        self.mark(l.after, true);
        self.mark(l.after_hand, true);
        // It costs nothing while it is out.
        self.note(load);
        let t = &mut self.times[load as usize];
        self.cost -= t.cost;
        self.broken -= t.broken;
        (t.cost, t.broken, t.wait_hold) = (0.0, 0.0, -FAR);
    }

    /// Put a load that is out back at a key.
    pub(crate) fn put(&mut self, load: u32, key: u64, person: u16) {
        self.steps.push(Step::Put { load });
        self.loads[load as usize].key = key;
        self.loads[load as usize].person = person;
        self.tie(load);
        let l = self.loads[load as usize];
        if l.after == NIL {
            self.note_tail(usize::from(l.station));
        }
        self.mark(load, true);
        self.mark(l.after, true);
        self.mark(l.after_hand, true);
        let ops: Vec<u32> = self.members(load).collect();
        for op in ops {
            let after = self.shop.after(op);
            if after != NIL {
                self.mark(self.load_of[after as usize], true);
            }
        }
    }

    /// Another alternative for a load that is out and holds one operation.
    pub(crate) fn choose(&mut self, load: u32, alt: u32) {
        self.alt[self.head[load as usize] as usize] = alt;
        self.measure(load);
    }

    /// Put an operation, whose own load is out, into another load.
    pub(crate) fn join(&mut self, op: u32, load: u32, alt: u32) {
        let own = self.load_of[op as usize];
        self.steps.push(Step::Joined { op, own, load, alt: self.alt[op as usize] });
        self.spare.push(own);
        self.alt[op as usize] = alt;
        self.hook(op, load);
        self.mark(load, true);
        let after = self.shop.after(op);
        if after != NIL {
            self.mark(self.load_of[after as usize], true);
        }
    }

    /// Take an operation out of a load it shares; the load of its own that it then is, out like one that was taken.
    pub(crate) fn leave(&mut self, op: u32) -> Option<u32> {
        let load = self.load_of[op as usize];
        let own = self.spare.pop()?;
        self.steps.push(Step::Left { op, own, load });
        self.unhook(op, load);
        self.mark(load, true);
        self.head[own as usize] = op;
        self.measure(own);
        let person = self.loads[load as usize].person;
        let key = self.loads[load as usize].key;
        let mine = &mut self.loads[own as usize];
        (mine.person, mine.hold, mine.key) = (person, -FAR, key);
        self.note(own);
        let near = self.times[load as usize];
        self.times[own as usize] = Timing { cost: 0.0, broken: 0.0, wait_hold: -FAR, ..near };
        Some(own)
    }

    pub(super) fn hook(&mut self, op: u32, load: u32) {
        let head = self.head[load as usize] as usize;
        self.next[op as usize] = self.next[head];
        self.next[head] = op;
        self.measure(load);
    }

    pub(super) fn unhook(&mut self, op: u32, load: u32) {
        let after = self.next[op as usize];
        if self.head[load as usize] == op {
            self.head[load as usize] = after;
        } else {
            let mut k = self.head[load as usize];
            while self.next[k as usize] != op {
                k = self.next[k as usize];
            }
            self.next[k as usize] = after;
        }
        self.next[op as usize] = NIL;
        self.measure(load);
    }

    pub(super) fn unlink(&mut self, load: u32) {
        let l = self.loads[load as usize];
        let rank = self.rank(load);
        let list = &self.at_station[usize::from(l.station)];
        let k = list.partition_point(|&o| self.rank(o) < rank);
        self.at_station[usize::from(l.station)].remove(k);
        if l.before != NIL {
            self.loads[l.before as usize].after = l.after;
        }
        if l.after != NIL {
            self.loads[l.after as usize].before = l.before;
        }
        if l.person != NONE {
            let list = &self.in_hand[usize::from(l.person)];
            let k = list.partition_point(|&o| self.rank(o) < rank);
            self.in_hand[usize::from(l.person)].remove(k);
            if l.before_hand != NIL {
                self.loads[l.before_hand as usize].after_hand = l.after_hand;
            }
            if l.after_hand != NIL {
                self.loads[l.after_hand as usize].before_hand = l.before_hand;
            }
        }
    }

    pub(super) fn tie(&mut self, load: u32) {
        let l = self.loads[load as usize];
        let rank = self.rank(load);
        let list = &self.at_station[usize::from(l.station)];
        let k = list.partition_point(|&o| self.rank(o) < rank);
        let before = k.checked_sub(1).map_or(NIL, |k| list[k]);
        let after = list.get(k).copied().unwrap_or(NIL);
        self.at_station[usize::from(l.station)].insert(k, load);
        (self.loads[load as usize].before, self.loads[load as usize].after) = (before, after);
        if before != NIL {
            self.loads[before as usize].after = load;
        }
        if after != NIL {
            self.loads[after as usize].before = load;
        }
        (self.loads[load as usize].before_hand, self.loads[load as usize].after_hand) = (NIL, NIL);
        if l.person != NONE {
            let list = &self.in_hand[usize::from(l.person)];
            let k = list.partition_point(|&o| self.rank(o) < rank);
            let before = k.checked_sub(1).map_or(NIL, |k| list[k]);
            let after = list.get(k).copied().unwrap_or(NIL);
            self.in_hand[usize::from(l.person)].insert(k, load);
            (self.loads[load as usize].before_hand, self.loads[load as usize].after_hand) = (before, after);
            if before != NIL {
                self.loads[before as usize].after_hand = load;
            }
            if after != NIL {
                self.loads[after as usize].before_hand = load;
            }
        }
    }

    /// The keys a load may have: above what its pieces come from, below where they go next.
    pub(crate) fn bounds(&self, load: u32) -> (u64, u64) {
        self.members(load).fold((0, u64::MAX), |(low, high), op| {
            let (above, below) = self.bounds_of(op);
            (low.max(above), high.min(below))
        })
    }

    /// The same for one operation by itself.
    pub(crate) fn bounds_of(&self, op: u32) -> (u64, u64) {
        let key = |op: u32| {
            let load = if op == NIL { NIL } else { self.load_of[op as usize] };
            (load != NIL).then(|| self.loads[load as usize].key)
        };
        (key(self.shop.before(op)).unwrap_or(0), key(self.shop.after(op)).unwrap_or(u64::MAX))
    }

    /// Take back everything since `begin`.
    pub(crate) fn undo(&mut self) {
        self.give_up();
        while let Some(step) = self.steps.pop() {
            match step {
                Step::Put { load } => self.unlink(load),
                Step::Taken { load, key, person, alt, hold } => {
                    self.choose(load, alt);
                    let l = &mut self.loads[load as usize];
                    (l.key, l.person, l.hold) = (key, person, hold);
                    self.tie(load);
                }
                Step::Joined { op, own, load, alt } => {
                    self.unhook(op, load);
                    self.spare.pop();
                    self.alt[op as usize] = alt;
                    self.measure(own);
                }
                Step::Left { op, own, load } => {
                    self.spare.push(own);
                    self.hook(op, load);
                }
            }
        }
        while let Some((load, timing)) = self.noted.pop() {
            self.times[load as usize] = timing;
        }
        while let Some((station, broken)) = self.noted_tails.pop() {
            self.tail_broken[station] = broken;
        }
        (self.cost, self.broken) = (self.was.total, self.was.broken);
    }
}
