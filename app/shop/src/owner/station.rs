//! One station of the bench: its setups and the table of changeovers between them.

use super::{Reader, Typed};
use crate::bench::{Dressing, Setup, Station, StationKind};
use crate::edge::EdgeKind;
use crate::field::FieldErrors;
use crate::route::OperationKind;

/// Rows of setups the form has at most; empty ones are left out.
pub const SETUP_ROWS: usize = 12;

/// The longest changeover, dressing or rest, minutes: a day.
const DAY: u32 = 1440;

/// All kinds of stations with the words of the form.
pub fn station_kinds() -> [(&'static str, StationKind); 10] {
    use StationKind as K;
    [
        K::Inspection,
        K::Wheel,
        K::ToothSpindle,
        K::Belt,
        K::WetWheel,
        K::Hand,
        K::Straighten,
        K::Handle,
        K::Bath,
        K::Pack,
    ]
    .map(|kind| (kind_code(kind), kind))
}

/// The word of the form for a kind.
pub fn kind_code(kind: StationKind) -> &'static str {
    match kind {
        StationKind::Inspection => "inspection",
        StationKind::Wheel => "wheel",
        StationKind::ToothSpindle => "tooth_spindle",
        StationKind::Belt => "belt",
        StationKind::WetWheel => "wet_wheel",
        StationKind::Hand => "hand",
        StationKind::Straighten => "straighten",
        StationKind::Handle => "handle",
        StationKind::Bath => "bath",
        StationKind::Pack => "pack",
    }
}

/// What people read.
pub fn kind_words(kind: StationKind) -> &'static str {
    match kind {
        StationKind::Inspection => "table with measuring tools",
        StationKind::Wheel => "bonded or plated wheel on a spindle",
        StationKind::ToothSpindle => "spindle for one tooth at a time",
        StationKind::Belt => "wet belt",
        StationKind::WetWheel => "slow wet wheel",
        StationKind::Hand => "stones, lap, strop: by hand",
        StationKind::Straighten => "clamp or press",
        StationKind::Handle => "glue, screws, pins",
        StationKind::Bath => "bath or rack for several blades",
        StationKind::Pack => "wrapping and boxing",
    }
}

/// What was typed about a station, and which setup each of its rows was before.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckedStation {
    /// The station.
    pub station: Station,
    /// Setups that are no longer there, by id.
    pub removed: Vec<String>,
}

/// What the form shows.
pub fn fill_station(station: &Station) -> Typed {
    let mut typed = Typed::default();
    typed.set("id", &station.id);
    typed.set("name", &station.name);
    typed.set("kind", kind_code(station.kind));
    typed.set("basin", station.basin.to_string());
    for kind in &station.does {
        typed.tick(format!("does-{}", kind.code()), true);
    }
    typed.set("mounted", station.mounted.as_deref().unwrap_or_default());
    typed.set("attended", station.attended.map(|m| m.to_string()).unwrap_or_default());
    typed.set("rest", station.rest.to_string());
    typed.set("skill", station.skill.as_deref().unwrap_or_default());
    typed.tick("through-breaks", station.through_breaks);
    typed.tick("closed", station.closed);
    for (row, setup) in station.setups.iter().enumerate() {
        typed.set(format!("setup-{row}-id"), &setup.id);
        typed.set(format!("setup-{row}-name"), &setup.name);
        typed.set(format!("setup-{row}-first"), setup.first.to_string());
        if let Some(dress) = setup.dress {
            typed.set(format!("setup-{row}-every"), dress.every.to_string());
            typed.set(format!("setup-{row}-dress"), dress.minutes.to_string());
        }
        if let Some(angle) = setup.angle_deg {
            typed.figure(format!("setup-{row}-angle"), angle);
        }
        typed.set(format!("setup-{row}-edge"), setup.edge.map_or("", EdgeKind::code));
        for kind in &setup.does {
            typed.tick(format!("setup-{row}-does-{}", kind.code()), true);
        }
        for (column, minutes) in station.changeover.get(row).into_iter().flatten().enumerate() {
            typed.set(format!("over-{row}-{column}"), minutes.to_string());
        }
    }
    typed
}

/// What was typed. With `before`, the station keeps its id and a setup its place in the table of changeovers; a new setup
/// takes the minutes of its first mounting from and to every other until the table says otherwise.
pub fn check_station(typed: &Typed, before: Option<&Station>) -> Result<CheckedStation, FieldErrors> {
    let mut read = Reader::new(typed);
    let id = match before {
        Some(station) => station.id.clone(),
        None => read.id("id", "a short name for the station"),
    };
    let does: Vec<_> = OperationKind::ALL
        .iter()
        .copied()
        .filter(|kind| typed.ticked(&format!("does-{}", kind.code())))
        .collect();
    if does.is_empty() {
        read.errors.add("does", "Please say what is done here.");
    }
    let rows: Vec<usize> = (0..SETUP_ROWS).filter(|row| stands(typed, *row)).collect();
    let setups: Vec<Setup> = rows.iter().map(|row| setup(&mut read, *row, &does)).collect();
    if setups.is_empty() {
        read.errors.add("setup-0-id", "A station needs at least one setup.");
    }
    for (i, setup) in setups.iter().enumerate() {
        if setups[..i].iter().any(|other| other.id == setup.id) {
            read.errors.add(format!("setup-{}-id", rows[i]), "Another setup here has this short name.");
        }
    }
    let changeover = table(&mut read, &rows, &setups);
    let mounted = read.line("mounted", "the mounted setup", 24, false);
    let skill = read.line("skill", "the skill", 24, false);
    let station = Station {
        id,
        name: read.line("name", "the station's name", 60, true),
        kind: read.one_of("kind", &station_kinds()).unwrap_or(StationKind::Hand),
        basin: read.whole("basin", "how many pieces go in together", 1, 100),
        does,
        changeover,
        mounted: (!mounted.is_empty()).then_some(mounted),
        attended: read.whole_if("attended", "the minutes somebody stands by", 0, DAY),
        rest: read.whole("rest", "the rest afterwards", 0, DAY),
        skill: (!skill.is_empty()).then_some(skill),
        through_breaks: typed.ticked("through-breaks"),
        closed: typed.ticked("closed"),
        setups,
    };
    if station.mounted.as_ref().is_some_and(|id| !station.setups.iter().any(|s| s.id == *id)) {
        read.errors.add("mounted", "This is none of the setups here.");
    }
    let gone = |setup: &&Setup| !station.setups.iter().any(|s| s.id == setup.id);
    let removed = before.map_or_else(Vec::new, |before| {
        before.setups.iter().filter(gone).map(|setup| setup.id.clone()).collect()
    });
    read.or(CheckedStation { station, removed })
}

/// Whether a row of setups is filled and not to be removed.
fn stands(typed: &Typed, row: usize) -> bool {
    let filled = ["id", "name", "first"]
        .iter()
        .any(|part| !typed.get(&format!("setup-{row}-{part}")).trim().is_empty());
    filled && !typed.ticked(&format!("setup-{row}-remove"))
}

fn setup(read: &mut Reader<'_>, row: usize, station_does: &[OperationKind]) -> Setup {
    let field = |part: &str| format!("setup-{row}-{part}");
    let every = read.whole_if(&field("every"), "after how many pieces it is dressed", 1, 10_000);
    let minutes = read.whole_if(&field("dress"), "the minutes of a dressing", 1, DAY);
    if every.is_some() != minutes.is_some() {
        read.errors.add(field("dress"), "Please give both: after how many pieces, and how many minutes.");
    }
    let edge = read.typed.get(&field("edge"));
    let edge = if edge.is_empty() {
        None
    } else {
        read.one_of(&field("edge"), &EdgeKind::ALL.map(|k| (k.code(), k)))
    };
    Setup {
        id: read.id(&field("id"), "a short name"),
        name: read.line(&field("name"), "the name", 60, false),
        first: read.whole(&field("first"), "the minutes of mounting it", 0, DAY),
        dress: every.zip(minutes).map(|(every, minutes)| Dressing { every, minutes }),
        does: OperationKind::ALL
            .iter()
            .copied()
            .filter(|kind| {
                read.typed.ticked(&field(&format!("does-{}", kind.code()))) && station_does.contains(kind)
            })
            .collect(),
        angle_deg: read.figure_if(&field("angle"), "the angle", 1.0, 60.0),
        edge,
    }
}

fn table(read: &mut Reader<'_>, rows: &[usize], setups: &[Setup]) -> Vec<Vec<u32>> {
    rows.iter()
        .enumerate()
        .map(|(i, from)| {
            rows.iter()
                .enumerate()
                .map(|(j, to)| {
                    let minutes =
                        read.whole_if(&format!("over-{from}-{to}"), "the minutes of this change", 0, DAY);
                    if i == j { 0 } else { minutes.unwrap_or(setups[j].first) }
                })
                .collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn station() -> Station {
        let setup = |id: &str, angle| Setup {
            id: id.into(),
            name: format!("Setup {id}"),
            first: 9,
            dress: Some(Dressing { every: 8, minutes: 6 }),
            does: vec![OperationKind::Bevel],
            angle_deg: angle,
            edge: Some(EdgeKind::Double),
        };
        Station {
            id: "wet".into(),
            name: "Wet wheel".into(),
            kind: StationKind::WetWheel,
            basin: 1,
            does: vec![OperationKind::Thin, OperationKind::Bevel],
            setups: vec![setup("d15", Some(15.0)), setup("d18", Some(18.0))],
            changeover: vec![vec![0, 4], vec![5, 0]],
            mounted: Some("d15".into()),
            attended: Some(3),
            rest: 2,
            skill: Some("serrate".into()),
            through_breaks: true,
            closed: false,
        }
    }

    #[test]
    fn a_station_goes_through_its_form_unchanged() {
        let checked = check_station(&fill_station(&station()), Some(&station())).unwrap();
        assert_eq!((checked.station, checked.removed), (station(), vec![]));
    }

    #[test]
    fn a_new_setup_takes_its_first_mounting_until_the_table_says_otherwise() {
        let mut typed = fill_station(&station());
        for (part, text) in [("id", "d20"), ("name", "20"), ("first", "7")] {
            typed.set(format!("setup-2-{part}"), text);
        }
        let after = check_station(&typed, Some(&station())).unwrap().station;
        assert_eq!(after.changeover, [vec![0, 4, 7], vec![5, 0, 7], vec![9, 9, 0]]);
    }

    #[test]
    fn a_removed_setup_leaves_the_table_and_is_named() {
        let mut typed = fill_station(&station());
        typed.set("setup-0-remove", "true");
        let errors = check_station(&typed, Some(&station())).unwrap_err();
        assert!(errors.of("mounted").is_some(), "{errors:?}");
        typed.set("mounted", "d18");
        let after = check_station(&typed, Some(&station())).unwrap();
        assert_eq!(after.removed, ["d15"]);
        assert_eq!(after.station.changeover, [[0]]);
    }

    #[test]
    fn short_names_are_small_letters_and_differ() {
        let mut typed = fill_station(&station());
        typed.set("setup-1-id", "d15");
        typed.set("setup-0-every", "");
        typed.set("does-bevel", "");
        typed.set("does-thin", "");
        let errors = check_station(&typed, None).unwrap_err();
        assert!(
            errors.of("setup-1-id").is_some()
                && errors.of("setup-0-dress").is_some()
                && errors.of("does").is_some()
        );
        typed.set("setup-1-id", "D 18");
        assert!(check_station(&typed, None).unwrap_err().of("setup-1-id").unwrap().contains("small letters"));
    }
}
