//! The bench as the owner sets it up: stations, setups, changeovers, wheels and stones, and the shop's models.

use crate::edge::EdgeKind;
use crate::ids::{ModelId, WheelId};
use crate::route::OperationKind;
use serde::{Deserialize, Serialize};

/// What kind of place a station is; it decides which cautions and setup checks are shown there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StationKind {
    /// A table with measuring tools.
    Inspection,
    /// A bonded or plated wheel on a spindle, with a rest and a guard.
    Wheel,
    /// A narrow ridge or rod on a spindle, one tooth at a time.
    ToothSpindle,
    /// A wet belt.
    Belt,
    /// A slow wet wheel.
    WetWheel,
    /// Stones, lap, strop: by hand.
    Hand,
    /// A clamp or press.
    Straighten,
    /// Glue, screws, pins.
    Handle,
    /// A bath or rack that takes several blades at once.
    Bath,
    /// Wrapping and boxing.
    Pack,
}

impl StationKind {
    /// True where a wheel, belt or buff turns: gloves come off first.
    pub fn turns(self) -> bool {
        matches!(self, Self::Wheel | Self::ToothSpindle | Self::Belt | Self::WetWheel)
    }
}

/// When a setup wants dressing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dressing {
    /// After so many pieces.
    pub every: u32,
    /// So many minutes.
    pub minutes: u32,
}

/// What must be mounted, dressed or set before a piece can be worked.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Setup {
    /// Short id, unique in its station: `arc-5`.
    pub id: String,
    /// What people read: `Arc wheel, pitch 5`.
    pub name: String,
    /// Minutes to mount it on an empty station.
    pub first: u32,
    /// Dressing, if it wants any.
    #[serde(default)]
    pub dress: Option<Dressing>,
    /// The operations of its station that are done in this setup; empty: all of them.
    #[serde(default)]
    pub does: Vec<OperationKind>,
    /// For bevels: the angle it is set to, degrees (half-angle or angle from the back).
    #[serde(default)]
    pub angle_deg: Option<f64>,
    /// For bevels and teeth: the kind of edge it is for.
    #[serde(default)]
    pub edge: Option<EdgeKind>,
}

impl Setup {
    /// Whether an operation of its station is done in it, for this kind of edge.
    pub fn takes(&self, kind: OperationKind, edge: Option<EdgeKind>) -> bool {
        let edge_fits = edge.is_none() || self.edge.is_none() || self.edge == edge;
        (self.does.is_empty() || self.does.contains(&kind)) && edge_fits
    }
}

/// A place where one thing is done at a time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Station {
    /// Short id: `wheel`.
    pub id: String,
    /// What people read: `Serrating wheel`.
    pub name: String,
    /// What kind of place it is.
    pub kind: StationKind,
    /// How many pieces go in together.
    pub basin: u32,
    /// The operations done here.
    #[serde(default)]
    pub does: Vec<OperationKind>,
    /// Its setups; at least one.
    pub setups: Vec<Setup>,
    /// Minutes from one setup (row) to the next (column).
    pub changeover: Vec<Vec<u32>>,
    /// What is mounted now.
    #[serde(default)]
    pub mounted: Option<String>,
    /// Minutes somebody stands by; `None`: all the time.
    #[serde(default)]
    pub attended: Option<u32>,
    /// Rest after an operation here, minutes.
    #[serde(default)]
    pub rest: u32,
    /// The skill it takes, if not everybody may work here.
    #[serde(default)]
    pub skill: Option<String>,
    /// Open on all working hours, or all day between first and last hour (a bath needs nobody).
    #[serde(default)]
    pub through_breaks: bool,
    /// Out of order until the owner says otherwise.
    #[serde(default)]
    pub closed: bool,
}

impl Station {
    /// A station that takes one piece at a time, with somebody beside it all the while, and is set up for the next in no time.
    pub fn plain(
        id: &str,
        name: &str,
        kind: StationKind,
        does: &[OperationKind],
        setups: Vec<Setup>,
    ) -> Self {
        let n = setups.len();
        Self {
            id: id.to_owned(),
            name: name.to_owned(),
            kind,
            basin: 1,
            does: does.to_vec(),
            setups,
            changeover: vec![vec![0; n]; n],
            mounted: None,
            attended: None,
            rest: 0,
            skill: None,
            through_breaks: false,
            closed: false,
        }
    }

    /// Minutes from one setup to another, by their places in the table; none where it does not say.
    pub fn minutes_between(&self, from: usize, to: usize) -> u32 {
        self.changeover.get(from).and_then(|row| row.get(to)).copied().unwrap_or(0)
    }

    /// Writes them into the table, if it has that place.
    pub fn set_minutes_between(&mut self, from: usize, to: usize, minutes: u32) {
        if let Some(place) = self.changeover.get_mut(from).and_then(|row| row.get_mut(to)) {
            *place = minutes;
        }
    }
}

/// The whole bench.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Bench {
    /// All stations in the order work flows.
    pub stations: Vec<Station>,
    /// How long ground carbon steel may wait, minutes, before it is darkened or oiled.
    #[serde(default)]
    pub longest_bare_wait: Option<u32>,
}

/// What an operation asks of its setup.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Want<'a> {
    /// A certain setup, by id: the wheel that cut the teeth.
    pub setup: Option<&'a str>,
    /// A bevel of this angle, degrees.
    pub angle_deg: Option<f64>,
    /// For this kind of edge.
    pub edge: Option<EdgeKind>,
}

impl Bench {
    /// The station with this id.
    pub fn station(&self, id: &str) -> Option<&Station> {
        self.stations.iter().find(|s| s.id == id)
    }

    /// The name of a setup for people: `Serrating wheel · Arc wheel, pitch 5`; the bare ids where unknown.
    pub fn setup_name(&self, station: &str, setup: &str) -> String {
        match self.station(station) {
            None => format!("{station} · {setup}"),
            Some(s) => match s.setups.iter().find(|x| x.id == setup) {
                Some(x) if !x.name.is_empty() => format!("{} · {}", s.name, x.name),
                _ => s.name.clone(),
            },
        }
    }

    /// Where an operation is done: the first open station that does it, and its setup that fits best: the one asked for
    /// by id; else one made for this kind of edge before one for any, and the nearest angle. `None` when there is none.
    pub fn place(&self, kind: OperationKind, want: Want<'_>) -> Option<(&Station, &Setup)> {
        let off = |s: &Setup| {
            let for_any_edge = want.edge.is_some() && s.edge.is_none();
            (for_any_edge, s.angle_deg.zip(want.angle_deg).map_or(0.0, |(a, w)| (a - w).abs()))
        };
        self.stations.iter().filter(|s| s.does.contains(&kind) && !s.closed).find_map(|station| {
            let setup = match want.setup {
                Some(id) => station.setups.iter().find(|s| s.id == id),
                None => station.setups.iter().filter(|s| s.takes(kind, want.edge)).min_by(|a, b| {
                    let (a, b) = (off(a), off(b));
                    a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
                }),
            };
            setup.map(|setup| (station, setup))
        })
    }

    /// What does not add up, in words; empty when all is well.
    pub fn complaints(&self) -> Vec<String> {
        let mut found = Vec::new();
        for (i, s) in self.stations.iter().enumerate() {
            if self.stations[..i].iter().any(|o| o.id == s.id) {
                found.push(format!("There are two stations called {}.", s.id));
            }
            let n = s.setups.len();
            if n == 0 {
                found.push(format!("Station {} has no setup.", s.id));
            }
            if s.basin == 0 {
                found.push(format!("Station {} has room for no piece.", s.id));
            }
            if s.changeover.len() != n || s.changeover.iter().any(|row| row.len() != n) {
                found.push(format!(
                    "Station {}: the changeover table must have {n} rows of {n} figures.",
                    s.id
                ));
            }
            if let Some(m) = &s.mounted
                && !s.setups.iter().any(|x| x.id == *m)
            {
                found.push(format!("Station {}: the mounted setup {m} is not one of its setups.", s.id));
            }
        }
        found
    }
}

/// How a wheel's grain is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bond {
    /// Vitrified: may be ring-tested.
    Vitrified,
    /// Resin or rubber.
    Organic,
    /// One plated layer of grain: never dressed.
    Plated,
    /// Natural or soft wet stone.
    Stone,
    /// Cloth, paper or film belt.
    Belt,
    /// Leather, felt, cloth.
    Soft,
}

impl Bond {
    /// What people read.
    pub fn words(self) -> &'static str {
        match self {
            Self::Vitrified => "vitrified",
            Self::Organic => "resin or rubber bond",
            Self::Plated => "plated",
            Self::Stone => "stone",
            Self::Belt => "belt",
            Self::Soft => "leather, felt or cloth",
        }
    }
}

/// The profile a serrating wheel cuts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Teeth {
    /// Arc, wavy or pointed.
    pub form: EdgeKind,
    /// Tooth to tooth, millimetres.
    pub pitch_mm: f64,
    /// Angle of the bevel from the flat back, degrees.
    pub angle_deg: f64,
    /// Arc: the ridge's radius normal to the bevel, millimetres.
    #[serde(default)]
    pub ridge_radius_mm: Option<f64>,
    /// Wavy, pointed: depth on the blade, millimetres.
    #[serde(default)]
    pub depth_mm: Option<f64>,
}

/// A wheel, stone or belt the shop owns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Wheel {
    /// Its id.
    pub id: WheelId,
    /// Its own mark: `W-03`.
    pub mark: String,
    /// What people read.
    pub name: String,
    /// Where it runs.
    pub station: String,
    /// In which setup.
    pub setup: String,
    /// How its grain is held.
    pub bond: Bond,
    /// Grain as marked, with its scale: `FEPA F 120`.
    pub grit: String,
    /// Diameter today, millimetres; 0 for belts and bench stones.
    pub diameter_mm: f64,
    /// Width, millimetres.
    pub width_mm: f64,
    /// Diameter at which it is done, millimetres.
    pub least_diameter_mm: f64,
    /// The highest spindle speed marked on it, per minute; `None` for what does not turn.
    pub marked_max_rpm: Option<f64>,
    /// The speed of the spindle it runs on, per minute.
    pub spindle_rpm: Option<f64>,
    /// The teeth it cuts, for serrating wheels.
    pub teeth: Option<Teeth>,
    /// Which dressing of its profile this is, from 1.
    pub generation: u32,
    /// Pieces since it was last dressed.
    pub pieces_since_dressing: u32,
    /// Diameter when it was new, or when it was first written down, millimetres; `None`: not known, or it does not turn.
    #[serde(default)]
    pub new_diameter_mm: Option<f64>,
    /// Pieces ground on it since it had that diameter.
    #[serde(default)]
    pub pieces: u32,
}

/// How far a wheel is worn, and what it may still do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelLife {
    /// Millimetres of its diameter that are left above the least.
    pub left_mm: f64,
    /// The same as a share of what it had, 0 to 1.
    pub share: f64,
    /// Pieces it may still grind if it wears as it has worn so far, to two figures; `None` while too little is worn to say.
    pub pieces: Option<u32>,
}

/// Millimetres that have to be worn before they say anything: a caliper over a turning face reads to half of it.
const LEAST_WORN_MM: f64 = 1.0;

/// A count to two figures: a caliper says no more than that of what is worn.
fn two_figures(count: f64) -> u32 {
    let step = 10_f64.powf((count.max(1.0).log10().floor() - 1.0).max(0.0));
    ((count / step).floor() * step) as u32
}

impl Wheel {
    /// How far it is worn, where its diameter says so: not for belts and bench stones, and not for a plated wheel, whose one
    /// layer of grain goes long before its diameter does.
    pub fn life(&self) -> Option<WheelLife> {
        let new = self.new_diameter_mm.filter(|new| *new > self.least_diameter_mm)?;
        if self.bond == Bond::Plated || self.diameter_mm <= 0.0 {
            return None;
        }
        let left_mm = (self.diameter_mm - self.least_diameter_mm).max(0.0);
        let worn_mm = new - self.diameter_mm;
        let counts = worn_mm >= LEAST_WORN_MM && self.pieces > 0;
        let pieces = counts.then(|| two_figures(left_mm / worn_mm * f64::from(self.pieces)));
        Some(WheelLife { left_mm, share: (left_mm / (new - self.least_diameter_mm)).min(1.0), pieces })
    }

    /// Counts one piece more. A wheel whose life nobody has written down begins to be watched with it.
    pub fn count_piece(&mut self) {
        if self.diameter_mm > 0.0 {
            self.new_diameter_mm.get_or_insert(self.diameter_mm);
        }
        self.pieces_since_dressing += 1;
        self.pieces += 1;
    }

    /// `Err(sentence)` when it must not be run: faster than its marking, or worn out. Never print such a setup.
    pub fn fit_to_run(&self) -> Result<(), String> {
        if let (Some(marked), Some(spindle)) = (self.marked_max_rpm, self.spindle_rpm)
            && spindle > marked
        {
            return Err(format!(
                "{} is marked for at most {marked:.0} per minute, the spindle turns at {spindle:.0}. Do not run it.",
                self.mark
            ));
        }
        if self.diameter_mm > 0.0 && self.diameter_mm < self.least_diameter_mm {
            return Err(format!(
                "{} is worn to {:.0} mm, its least is {:.0} mm. Take it off.",
                self.mark, self.diameter_mm, self.least_diameter_mm
            ));
        }
        Ok(())
    }

    /// Surface speed in metres a second, vs = π·D·N/60000 (D in mm, N per minute); `None` for what does not turn.
    pub fn surface_speed_m_s(&self) -> Option<f64> {
        self.spindle_rpm
            .filter(|_| self.diameter_mm > 0.0)
            .map(|n| std::f64::consts::PI * self.diameter_mm * n / 60_000.0)
    }
}

/// A design the shop makes, with its drawing values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Model {
    /// Its id.
    pub id: ModelId,
    /// The mark on the blade: `HS-21`.
    pub mark: String,
    /// What people read.
    pub name: String,
    /// Still made (offered in the booking form first).
    pub current: bool,
    /// The drawing.
    pub drawing: Drawing,
}

/// Drawing values of a blade as new. Lengths in millimetres, angles in degrees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Drawing {
    /// Kind of edge.
    pub edge: EdgeKind,
    /// Edge length.
    pub length_mm: f64,
    /// Height from edge to spine at the middle.
    pub height_mm: f64,
    /// Height at which it is worn out.
    pub least_height_mm: f64,
    /// Thickness of the spine.
    pub spine_mm: f64,
    /// Thickness behind the edge.
    pub behind_edge_mm: f64,
    /// Half-angle (double) or full angle from the back (single, serrated).
    pub angle_deg: f64,
    /// Steel by an open designation.
    pub steel: String,
    /// Hardness of the edge, HRC.
    pub edge_hrc: f64,
    /// Hardness of the spine, HRC; equal to the edge's when through-hardened.
    pub spine_hrc: f64,
    /// Height of the hardness line above the new edge; `None`: hard throughout.
    #[serde(default)]
    pub line_mm: Option<f64>,
    /// Height over which hardness falls.
    #[serde(default)]
    pub transition_mm: f64,
    /// The least hardness an edge of this model is sold with, HRC.
    pub least_hrc: f64,
    /// The wheel that cuts its teeth, for serrated models.
    #[serde(default)]
    pub teeth: Option<Teeth>,
    /// The serrating setup, e.g. `arc-5`.
    #[serde(default)]
    pub setup: Option<String>,
    /// Carbon steel that was darkened and has to be again after grinding.
    #[serde(default)]
    pub darkened: bool,
    /// Handle material in words.
    #[serde(default)]
    pub handle: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wheel() -> Wheel {
        Wheel {
            id: WheelId(uuid::Uuid::nil()),
            mark: "W-1".into(),
            name: "Test wheel".into(),
            station: "wheel".into(),
            setup: "arc-5".into(),
            bond: Bond::Vitrified,
            grit: "FEPA F 120".into(),
            diameter_mm: 250.0,
            width_mm: 25.0,
            least_diameter_mm: 150.0,
            marked_max_rpm: Some(2800.0),
            spindle_rpm: Some(2600.0),
            teeth: None,
            generation: 1,
            pieces_since_dressing: 0,
            new_diameter_mm: None,
            pieces: 0,
        }
    }

    #[test]
    fn a_wheel_is_never_run_above_its_marking() {
        assert!(wheel().fit_to_run().is_ok());
        assert!(Wheel { spindle_rpm: Some(2800.0), ..wheel() }.fit_to_run().is_ok());
        let said = Wheel { spindle_rpm: Some(2801.0), ..wheel() }.fit_to_run().unwrap_err();
        assert!(said.contains("Do not run it"), "{said}");
        assert!(Wheel { diameter_mm: 149.0, ..wheel() }.fit_to_run().is_err());
    }

    #[test]
    fn surface_speed_follows_the_worked_example() {
        // A 250 mm wheel at 2600 per minute runs at 34.03 m/s (posted exercise on surface grinding; computed).
        let vs = wheel().surface_speed_m_s().unwrap();
        assert!((vs - 34.03).abs() < 0.005, "{vs}");
    }

    fn setup(id: &str, angle_deg: Option<f64>) -> Setup {
        Setup {
            id: id.into(),
            name: String::new(),
            first: 5,
            dress: None,
            does: vec![],
            angle_deg,
            edge: None,
        }
    }

    fn wet_wheel() -> Station {
        let setups = vec![setup("d15", Some(15.0)), setup("d18", Some(18.0))];
        Station {
            changeover: vec![vec![0, 4], vec![4, 0]],
            ..Station::plain("bevel", "Wet wheel", StationKind::WetWheel, &[OperationKind::Bevel], setups)
        }
    }

    #[test]
    fn a_bevel_goes_to_the_nearest_angle_and_teeth_to_their_own_wheel() {
        let mut bench = Bench { stations: vec![wet_wheel()], longest_bare_wait: None };
        let at = |bench: &Bench, want: Want<'_>| {
            bench.place(OperationKind::Bevel, want).map(|(_, s)| s.id.clone())
        };
        assert_eq!(at(&bench, Want { angle_deg: Some(17.0), ..Want::default() }).as_deref(), Some("d18"));
        assert_eq!(at(&bench, Want { angle_deg: Some(9.0), ..Want::default() }).as_deref(), Some("d15"));
        assert_eq!(
            at(&bench, Want { setup: Some("d15"), angle_deg: Some(18.0), edge: None }).as_deref(),
            Some("d15")
        );
        assert_eq!(at(&bench, Want { setup: Some("d99"), ..Want::default() }), None);
        bench.stations[0].setups[1].edge = Some(EdgeKind::Double);
        assert_eq!(
            at(&bench, Want { edge: Some(EdgeKind::Double), ..Want::default() }).as_deref(),
            Some("d18")
        );
        assert_eq!(
            at(&bench, Want { edge: Some(EdgeKind::Single), ..Want::default() }).as_deref(),
            Some("d15")
        );
        assert!(bench.place(OperationKind::Thin, Want::default()).is_none());
        bench.stations[0].closed = true;
        assert_eq!(at(&bench, Want::default()), None);
    }

    #[test]
    fn a_changeover_table_must_be_square() {
        let mounted = Station { mounted: Some("d15".into()), ..wet_wheel() };
        let mut bench = Bench { stations: vec![mounted], longest_bare_wait: None };
        assert!(bench.complaints().is_empty());
        bench.stations[0].changeover.pop();
        bench.stations[0].mounted = Some("c".into());
        assert_eq!(bench.complaints().len(), 2);
    }

    #[test]
    fn a_wheel_lives_as_long_as_it_wears_as_it_has_worn() {
        let mut wheel = wheel();
        wheel.bond = Bond::Vitrified;
        (wheel.diameter_mm, wheel.least_diameter_mm) = (190.0, 150.0);
        assert_eq!(wheel.life(), None, "nobody knows how large it was");
        wheel.count_piece();
        assert_eq!((wheel.new_diameter_mm, wheel.pieces), (Some(190.0), 1));
        assert_eq!(wheel.life(), Some(WheelLife { left_mm: 40.0, share: 1.0, pieces: None }));
        // 10 mm went with 300 pieces, so the 40 mm that are left are good for 1200.
        (wheel.new_diameter_mm, wheel.pieces) = (Some(200.0), 300);
        assert_eq!(wheel.life(), Some(WheelLife { left_mm: 40.0, share: 0.8, pieces: Some(1200) }));
        wheel.pieces = 309;
        assert_eq!(wheel.life().and_then(|life| life.pieces), Some(1200), "1236, to two figures");
        wheel.diameter_mm = 149.0;
        assert_eq!(wheel.life(), Some(WheelLife { left_mm: 0.0, share: 0.0, pieces: Some(0) }));
        wheel.bond = Bond::Plated;
        assert_eq!(wheel.life(), None, "its grain goes first");
    }
}
