//! The state of stations and people while a plan is laid out from left to right, and where the next load fits.

use crate::Minute;
use crate::hours::FAR;
use crate::model::{NONE, Shop};

/// What a load needs, whatever pieces are in it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Need {
    pub(crate) station: u16,
    pub(crate) setup: u16,
    pub(crate) minutes: Minute,
    pub(crate) attended: Minute,
    /// The pieces are there from here on.
    pub(crate) ready: Minute,
    /// Who attends, or `NONE` for whoever can first.
    pub(crate) person: u16,
}

/// Where a load came to stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Spot {
    pub(crate) changeover_start: Minute,
    pub(crate) start: Minute,
    pub(crate) end: Minute,
    pub(crate) person: u16,
    count: u32,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct StationState {
    pub(crate) free: Minute,
    pub(crate) mounted: u16,
    pub(crate) since: u32,
    /// How many fixed loads are behind us.
    pub(crate) next_fixed: u32,
    hint: u32,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct PersonState {
    pub(crate) free: Minute,
    hint: u32,
}

/// Stations and people at one moment of laying out.
#[derive(Clone, Debug)]
pub(crate) struct Bench {
    pub(crate) stations: Vec<StationState>,
    pub(crate) people: Vec<PersonState>,
    /// Minutes of changeover and dressing so far.
    pub(crate) changeover: Minute,
    /// What cannot stand so: fixed work behind the wrong setup.
    pub(crate) broken: f64,
}

impl Bench {
    pub(crate) fn new(shop: &Shop) -> Self {
        let mut bench = Self { stations: Vec::new(), people: Vec::new(), changeover: 0, broken: 0.0 };
        bench.reset(shop);
        bench
    }

    pub(crate) fn reset(&mut self, shop: &Shop) {
        self.stations.clear();
        let fresh = |mounted| StationState { free: -FAR, mounted, since: 0, next_fixed: 0, hint: 0 };
        self.stations.extend(shop.stations.iter().map(|s| fresh(s.mounted)));
        self.people.clear();
        self.people.resize(shop.people.len(), PersonState { free: -FAR, hint: 0 });
        self.changeover = 0;
        self.broken = 0.0;
    }

    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.stations.clear();
        self.stations.extend_from_slice(&other.stations);
        self.people.clear();
        self.people.extend_from_slice(&other.people);
        self.changeover = other.changeover;
        self.broken = other.broken;
    }

    /// The earliest place for a load behind everything that stands; fixed work it cannot get in front of is passed.
    /// `skilled` says who may attend. `None` when no window is left.
    #[inline]
    pub(crate) fn find(&mut self, shop: &Shop, need: &Need, skilled: &dyn Fn(usize) -> bool) -> Option<Spot> {
        let model = &shop.stations[usize::from(need.station)];
        loop {
            let state = self.stations[usize::from(need.station)];
            let (c, count) = model.change(state.mounted, state.since, need.setup);
            let from = need.ready.max(shop.now.max(state.free) + c);
            let mut hint = state.hint;
            let spot = self.attend(shop, need, skilled, c, from, &mut hint);
            let fixed = model.fixed.get(state.next_fixed as usize).map(|&f| &shop.fixed[f as usize]);
            if let Some(f) = fixed {
                let fits = spot.is_some_and(|(start, _)| start + need.minutes <= f.changeover_start)
                    && model.change(need.setup, count + 1, f.setup).0 == f.start - f.changeover_start;
                if !fits {
                    self.pass_fixed(shop, usize::from(need.station));
                    continue;
                }
            }
            let (start, person) = spot?;
            return Some(Spot {
                changeover_start: start - c,
                start,
                end: start + need.minutes,
                person,
                count,
            });
        }
    }

    /// The earliest start at which station and somebody are free together, and who.
    #[inline]
    fn attend(
        &mut self,
        shop: &Shop,
        need: &Need,
        skilled: &dyn Fn(usize) -> bool,
        c: Minute,
        from: Minute,
        hint: &mut u32,
    ) -> Option<(Minute, u16)> {
        let hours = &shop.stations[usize::from(need.station)].hours;
        if !shop.staffed {
            let start = hours.fit(from, c, need.minutes, hint)?;
            self.stations[usize::from(need.station)].hint = *hint;
            return Some((start, NONE));
        }
        let mut best: Option<(Minute, Minute, u16)> = None;
        let range = if need.person == NONE {
            0..shop.people.len()
        } else {
            usize::from(need.person)..usize::from(need.person) + 1
        };
        for p in range {
            if !skilled(p) {
                continue;
            }
            let state = &mut self.people[p];
            let idle = c + need.attended == 0;
            let mut start = if idle { from } else { from.max(state.free + c) };
            let mut hint = *hint;
            let found = loop {
                if best.is_some_and(|(s, _, _)| start > s) {
                    break None;
                }
                let Some(s) = hours.fit(start, c, need.minutes, &mut hint) else {
                    break None;
                };
                if idle {
                    break Some(s);
                }
                match shop.people[p].hours.fit(s, c, need.attended, &mut state.hint) {
                    Some(t) if t == s => break Some(s),
                    Some(t) => start = t,
                    None => break None,
                }
            };
            // Equal starts: whoever has been free for the shortest time, so that the others stay of use.
            if let Some(s) = found
                && best.is_none_or(|(bs, bf, _)| s < bs || (s == bs && state.free > bf))
            {
                best = Some((s, state.free, p as u16));
            }
        }
        best.map(|(s, _, p)| (s, p))
    }

    /// Put a load where `find` said.
    #[inline]
    pub(crate) fn put(&mut self, need: &Need, spot: &Spot) {
        let state = &mut self.stations[usize::from(need.station)];
        state.free = spot.end;
        state.mounted = need.setup;
        state.since = spot.count + 1;
        self.changeover += spot.start - spot.changeover_start;
        if spot.person != NONE && spot.start + need.attended > spot.changeover_start {
            self.people[usize::from(spot.person)].free = spot.start + need.attended;
        }
    }

    /// Let the next fixed load of a station go by.
    pub(crate) fn pass_fixed(&mut self, shop: &Shop, station: usize) {
        let model = &shop.stations[station];
        let state = &mut self.stations[station];
        let f = &shop.fixed[model.fixed[state.next_fixed as usize] as usize];
        let (c, count) = model.change(state.mounted, state.since, f.setup);
        if c != f.start - f.changeover_start {
            self.broken += 1.0;
        }
        self.changeover += f.start - f.changeover_start;
        state.free = f.end;
        state.mounted = f.setup;
        state.since = count + 1;
        state.next_fixed += 1;
    }

    /// Let all remaining fixed work go by.
    pub(crate) fn finish(&mut self, shop: &Shop) {
        for station in 0..shop.stations.len() {
            while (self.stations[station].next_fixed as usize) < shop.stations[station].fixed.len() {
                self.pass_fixed(shop, station);
            }
        }
    }
}

impl Spot {
    /// A spot without changeover, for work that fits nowhere.
    pub(crate) fn at(start: Minute, minutes: Minute, person: u16) -> Self {
        Self { changeover_start: start, start, end: start + minutes, person, count: 0 }
    }
}
