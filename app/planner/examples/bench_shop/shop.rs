//! A resharpening shop's backlog, invented: twelve stations, four to nine operations a piece. All figures are made up.

use planner::{Alternative, Changeover, Dress, Instance, Job, Minute, Operation, Person, Station, Weights};

/// How large a shop, and what is in it.
pub(crate) struct Size {
    pub(crate) pieces: u64,
    /// 0: always somebody there.
    pub(crate) people: u64,
    /// Days over which due dates spread; by the number of pieces when left out.
    pub(crate) days: Option<u64>,
    /// Whether bare steel may wait only so long.
    pub(crate) waits: bool,
}

/// Numbers that follow from a first one (Knuth's linear congruence).
struct Draw(u64);

impl Draw {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n.max(1)
    }

    fn chance(&mut self, per_cent: u64) -> bool {
        self.below(100) < per_cent
    }

    fn one_of<'a, T: ?Sized>(&mut self, of: &[&'a T]) -> &'a T {
        of[self.below(of.len() as u64) as usize]
    }
}

const STATIONS: [(&str, u32); 12] = [
    ("inspect", 1),
    ("straighten", 1),
    ("handle", 1),
    ("derust", 8),
    ("belt", 1),
    ("wheel", 1),
    ("tooth", 1),
    ("bevel", 1),
    ("hone", 1),
    ("darken", 6),
    ("oil", 12),
    ("pack", 1),
];

fn table(station: &str, setups: &[&str], other: Minute, first: Minute) -> Changeover {
    let n = setups.len();
    Changeover {
        station: station.into(),
        setups: setups.iter().map(|&s| s.into()).collect(),
        minutes: (0..n).map(|i| (0..n).map(|j| if i == j { 0 } else { other }).collect()).collect(),
        first: Some(vec![first; n]),
        dress: None,
    }
}

fn tables() -> Vec<Changeover> {
    let mut wheel = table("wheel", &["arc-5", "arc-8", "wavy-6", "pointed-4"], 18, 20);
    let dress = Some(Dress { every: 8, minutes: 6 });
    wheel.dress = Some(vec![dress, dress, dress, None]);
    vec![
        wheel,
        table("tooth", &["R3", "R5"], 6, 8),
        table("belt", &["P60", "P120", "P240"], 4, 5),
        table("bevel", &["15-double", "18-double", "12-single"], 5, 8),
        table("hone", &["lap", "strop", "fine"], 2, 2),
        table("darken", &["light", "dark"], 15, 20),
        table("derust", &["bath"], 0, 5),
    ]
}

fn step(station: &str, setup: &str, minutes: Minute) -> Operation {
    let on = Alternative {
        station: station.into(),
        setup: setup.into(),
        minutes,
        attended: None,
        skill: (station == "wheel" || station == "tooth").then(|| "serrate".into()),
    };
    Operation { on: vec![on], lag: 0, max_lag: None, fixed: None }
}

fn bath(station: &str, setup: &str, minutes: Minute, attended: Minute, lag: Minute) -> Operation {
    let mut o = step(station, setup, minutes);
    o.on[0].attended = Some(attended);
    Operation { lag, ..o }
}

fn route(draw: &mut Draw, waits: bool) -> Vec<Operation> {
    let length = (90 + 30 * draw.below(7)) as Minute;
    let mut route = vec![step("inspect", "-", 10)];
    if draw.chance(6) {
        route.push(Operation { lag: 10, ..step("straighten", "-", 12) });
    }
    if draw.chance(12) {
        let lag = if draw.chance(50) { 720 } else { 0 };
        route.push(Operation { lag, ..step("handle", "-", 15) });
    }
    if draw.chance(15) {
        route.push(bath("derust", "bath", 40, 5, 0));
    }
    match draw.below(100) {
        0..=54 => {
            let setup = draw.one_of(&["arc-5", "arc-5", "arc-8", "wavy-6", "wavy-6", "pointed-4"]);
            route.push(step("wheel", setup, 4 + length * 55 / 1000));
            route.push(step("hone", "lap", 5));
        }
        55..=89 => {
            if draw.chance(30) {
                route.push(step("belt", draw.one_of(&["P60", "P120"]), 14));
            }
            let setup = draw.one_of(&["15-double", "15-double", "18-double", "12-single"]);
            route.push(step("bevel", setup, 6 + length / 40));
            route.push(step("hone", "fine", 7));
        }
        _ => {
            route.push(step("tooth", draw.one_of(&["R3", "R5"]), 5 + length / 9));
            route.push(step("hone", "lap", 5));
        }
    }
    route.push(step("hone", "strop", 3));
    if draw.chance(50) {
        if let Some(last) = route.last_mut().filter(|_| waits) {
            last.max_lag = Some(960);
        }
        route.push(bath("darken", draw.one_of(&["light", "dark"]), 25, 6, 30));
    }
    route.push(bath("oil", "-", 5, 1, 60));
    route.push(step("pack", "-", 6));
    route
}

/// The backlog.
pub(crate) fn invent(size: &Size, seed: u64) -> Instance {
    let mut draw = Draw(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let days = size.days.unwrap_or_else(|| (size.pieces / (5 * size.people.max(2)) + 2).max(5));
    let open: Vec<Minute> = (0..(4 * days + 20) as Minute).filter(|d| d % 7 < 5).collect();
    let halves: Vec<[Minute; 2]> = open
        .iter()
        .flat_map(|d| [[d * 1440 + 480, d * 1440 + 720], [d * 1440 + 765, d * 1440 + 1005]])
        .collect();
    let whole: Vec<[Minute; 2]> = open.iter().map(|d| [d * 1440 + 480, d * 1440 + 1005]).collect();
    let stations = STATIONS
        .iter()
        .map(|&(id, basin)| {
            let windows = if basin > 1 { whole.clone() } else { halves.clone() };
            Station { id: id.into(), setup: None, windows: Some(windows), basin }
        })
        .collect();
    let people = (size.people > 0).then(|| {
        (0..size.people)
            .map(|k| Person {
                id: format!("P{k}"),
                windows: Some(halves.clone()),
                may: if k % 2 == 0 { vec!["serrate".into()] } else { Vec::new() },
            })
            .collect()
    });
    let minutes = days * 1440;
    let jobs = (0..size.pieces)
        .map(|k| {
            let release = if draw.chance(60) { 0 } else { draw.below(minutes / 2) as Minute };
            let stay = [2, 4, 4, 6, 6, 6, 6, 8, 8, 8, 12, 12][draw.below(12) as usize] * 1440;
            // A given number of days is a busy week: everything is wanted in a third of the time.
            let hurry = if size.days.is_some() { 3 } else { 1 };
            Job {
                id: format!("K{k}"),
                release,
                due: release + (stay + draw.below(minutes) as Minute) / hurry,
                weight: [1.0, 1.0, 1.0, 2.0, 5.0][draw.below(5) as usize],
                operations: route(&mut draw, size.waits),
            }
        })
        .collect();
    Instance {
        now: 0,
        stations,
        changeovers: tables(),
        people,
        jobs,
        standing: Vec::new(),
        objective: Weights { changeover: 1.0, ..Weights::default() },
    }
}
