//! The demo shop's stations, setups, wheels and models. All invented.

use shop::bench::{Bench, Bond, Drawing, Dressing, Model, Setup, Station, StationKind, Teeth, Wheel};
use shop::edge::EdgeKind;
use shop::ids::{ModelId, WheelId};
use shop::route::OperationKind::{
    self, Bevel, Bolster, Clean, Derust, Handle, Hone, Inspect, Oil, Pack, Prove, Redarken, Repair, Serrate,
    Straighten, Strop, Thin, Tooth,
};

fn setup(id: &str, name: &str, first: u32) -> Setup {
    Setup {
        id: id.into(),
        name: name.into(),
        first,
        dress: None,
        does: Vec::new(),
        angle_deg: None,
        edge: None,
    }
}

fn table(rows: &[&[u32]]) -> Vec<Vec<u32>> {
    rows.iter().map(|row| row.to_vec()).collect()
}

/// Stations and changeovers.
pub(super) fn bench() -> Bench {
    let dressed = Some(Dressing { every: 8, minutes: 6 });
    let teeth = |id: &str, name: &str, first, edge, dress| Setup {
        edge: Some(edge),
        dress,
        ..setup(id, name, first)
    };
    let grit =
        |id: &str, name: &str, does: &[OperationKind]| Setup { does: does.to_vec(), ..setup(id, name, 5) };
    let angle = |id: &str, name: &str, edge, degrees| Setup {
        edge: Some(edge),
        angle_deg: Some(degrees),
        ..setup(id, name, 8)
    };
    let hand =
        |id: &str, name: &str, does: &[OperationKind]| Setup { does: does.to_vec(), ..setup(id, name, 2) };
    let one = |name: &str| vec![setup("table", name, 0)];
    Bench {
        longest_bare_wait: Some(960),
        stations: vec![
            Station::plain(
                "inspect",
                "Inspection table",
                StationKind::Inspection,
                &[Inspect, Clean, Prove],
                one(""),
            ),
            Station {
                rest: 10,
                ..Station::plain(
                    "straighten",
                    "Straightening clamp",
                    StationKind::Straighten,
                    &[Straighten],
                    one(""),
                )
            },
            Station::plain("handle", "Handle bench", StationKind::Handle, &[Handle], one("")),
            Station {
                basin: 8,
                attended: Some(5),
                through_breaks: true,
                ..Station::plain(
                    "derust",
                    "Rust bath",
                    StationKind::Bath,
                    &[Derust],
                    vec![setup("bath", "", 5)],
                )
            },
            Station {
                changeover: table(&[&[0, 5, 5], &[3, 0, 5], &[3, 3, 0]]),
                ..Station::plain(
                    "belt",
                    "Wet belt",
                    StationKind::Belt,
                    &[Repair, Bolster, Thin],
                    vec![
                        grit("p60", "belt P60", &[Repair, Bolster]),
                        grit("p120", "belt P120", &[Thin]),
                        grit("p240", "belt P240", &[Thin]),
                    ],
                )
            },
            Station {
                changeover: table(&[&[0, 18, 18, 15], &[18, 0, 18, 15], &[18, 18, 0, 15], &[20, 20, 20, 0]]),
                skill: Some("serrate".into()),
                mounted: Some("arc-5".into()),
                ..Station::plain(
                    "wheel",
                    "Serrating wheel",
                    StationKind::Wheel,
                    &[Serrate],
                    vec![
                        teeth("arc-5", "arc wheel, pitch 5", 20, EdgeKind::Arc, dressed),
                        teeth("arc-8", "arc wheel, pitch 8", 20, EdgeKind::Arc, dressed),
                        teeth("wavy-6", "wavy wheel, pitch 6", 20, EdgeKind::Wavy, dressed),
                        teeth("pointed-4", "pointed wheel, pitch 4, plated", 15, EdgeKind::Pointed, None),
                    ],
                )
            },
            Station {
                changeover: table(&[&[0, 6], &[6, 0]]),
                skill: Some("serrate".into()),
                ..Station::plain(
                    "tooth",
                    "Tooth-by-tooth spindle",
                    StationKind::ToothSpindle,
                    &[Tooth],
                    vec![setup("r3", "ridge R 3", 8), setup("r5", "ridge R 5", 8)],
                )
            },
            Station {
                changeover: table(&[&[0, 4, 7], &[4, 0, 7], &[7, 7, 0]]),
                mounted: Some("d15".into()),
                ..Station::plain(
                    "bevel",
                    "Wet bevel wheel",
                    StationKind::WetWheel,
                    &[Bevel],
                    vec![
                        angle("d15", "15° each side", EdgeKind::Double, 15.0),
                        angle("d18", "18° each side", EdgeKind::Double, 18.0),
                        angle("s12", "12° one side", EdgeKind::Single, 12.0),
                    ],
                )
            },
            Station {
                changeover: table(&[&[0, 2, 2], &[2, 0, 2], &[2, 2, 0]]),
                ..Station::plain(
                    "hone",
                    "Honing bench",
                    StationKind::Hand,
                    &[Hone, Strop],
                    vec![
                        hand("lap", "flat lap", &[Hone]),
                        hand("strop", "strop", &[Strop]),
                        Setup { edge: Some(EdgeKind::Double), ..hand("fine", "fine stone", &[Hone]) },
                    ],
                )
            },
            Station {
                basin: 6,
                attended: Some(6),
                rest: 30,
                through_breaks: true,
                changeover: table(&[&[0, 15], &[15, 0]]),
                ..Station::plain(
                    "darken",
                    "Darkening bath",
                    StationKind::Bath,
                    &[Redarken],
                    vec![setup("light", "light bath", 20), setup("dark", "dark bath", 20)],
                )
            },
            Station {
                basin: 12,
                attended: Some(1),
                rest: 60,
                through_breaks: true,
                ..Station::plain("oil", "Oil rack", StationKind::Bath, &[Oil], vec![setup("rack", "", 0)])
            },
            Station::plain("pack", "Packing table", StationKind::Pack, &[Pack], one("")),
        ],
    }
}

fn arc(pitch_mm: f64, ridge_radius_mm: f64, angle_deg: f64) -> Teeth {
    Teeth { form: EdgeKind::Arc, pitch_mm, angle_deg, ridge_radius_mm: Some(ridge_radius_mm), depth_mm: None }
}

fn cut(form: EdgeKind, pitch_mm: f64, depth_mm: f64, angle_deg: f64) -> Teeth {
    Teeth { form, pitch_mm, angle_deg, ridge_radius_mm: None, depth_mm: Some(depth_mm) }
}

/// Wheels, stones and belts. `id` draws fresh ids.
pub(super) fn wheels(id: &mut impl FnMut() -> uuid::Uuid) -> Vec<Wheel> {
    let mut list = Vec::new();
    let mut add = |mark: &str,
                   name: &str,
                   at: (&str, &str),
                   bond: Bond,
                   grit: &str,
                   turns: Option<(f64, f64)>,
                   d: (f64, f64, f64),
                   teeth| {
        list.push(Wheel {
            id: WheelId(id()),
            mark: mark.into(),
            name: name.into(),
            station: at.0.into(),
            setup: at.1.into(),
            bond,
            grit: grit.into(),
            diameter_mm: d.0,
            width_mm: d.1,
            least_diameter_mm: d.2,
            marked_max_rpm: turns.map(|t| t.0),
            spindle_rpm: turns.map(|t| t.1),
            teeth,
            generation: 1,
            pieces_since_dressing: 0,
            new_diameter_mm: None,
            pieces: 0,
        });
    };
    // 200 mm at 3340 per minute is 35 m/s (computed).
    let wheel = Some((3340.0, 2850.0));
    add(
        "W-1",
        "Arc wheel, pitch 5",
        ("wheel", "arc-5"),
        Bond::Vitrified,
        "FEPA F 150",
        wheel,
        (197.4, 25.0, 150.0),
        Some(arc(5.0, 6.0, 20.0)),
    );
    add(
        "W-2",
        "Arc wheel, pitch 8",
        ("wheel", "arc-8"),
        Bond::Vitrified,
        "FEPA F 150",
        wheel,
        (199.0, 25.0, 150.0),
        Some(arc(8.0, 9.5, 20.0)),
    );
    add(
        "W-3",
        "Wavy wheel, pitch 6",
        ("wheel", "wavy-6"),
        Bond::Vitrified,
        "FEPA F 150",
        wheel,
        (196.2, 25.0, 150.0),
        Some(cut(EdgeKind::Wavy, 6.0, 1.1, 18.0)),
    );
    add(
        "W-4",
        "Pointed wheel, pitch 4",
        ("wheel", "pointed-4"),
        Bond::Plated,
        "FEPA F 180",
        wheel,
        (200.0, 25.0, 199.0),
        Some(cut(EdgeKind::Pointed, 4.0, 1.0, 22.0)),
    );
    let small = Some((6000.0, 4500.0));
    add("R-3", "Ridge radius 3", ("tooth", "r3"), Bond::Plated, "FEPA F 180", small, (60.0, 8.0, 58.0), None);
    add(
        "R-5",
        "Ridge radius 5",
        ("tooth", "r5"),
        Bond::Plated,
        "FEPA F 180",
        small,
        (60.0, 12.0, 58.0),
        None,
    );
    let slow = Some((180.0, 90.0));
    add("S-1", "Wet stone", ("bevel", "d15"), Bond::Stone, "JIS 400", slow, (248.0, 50.0, 170.0), None);
    add("S-2", "Wet stone", ("bevel", "d18"), Bond::Stone, "JIS 400", slow, (250.0, 50.0, 170.0), None);
    add(
        "S-3",
        "Wet stone, single bevels",
        ("bevel", "s12"),
        Bond::Stone,
        "JIS 800",
        slow,
        (244.0, 50.0, 170.0),
        None,
    );
    for (mark, setup, grit) in
        [("B-1", "p60", "FEPA P 60"), ("B-2", "p120", "FEPA P 120"), ("B-3", "p240", "FEPA P 240")]
    {
        add(mark, &format!("Belt {grit}"), ("belt", setup), Bond::Belt, grit, None, (0.0, 50.0, 0.0), None);
    }
    add("H-1", "Flat lap", ("hone", "lap"), Bond::Stone, "JIS 1000", None, (0.0, 75.0, 0.0), None);
    add("H-2", "Fine stone", ("hone", "fine"), Bond::Stone, "JIS 3000", None, (0.0, 75.0, 0.0), None);
    add("H-3", "Strop", ("hone", "strop"), Bond::Soft, "JIS 8000", None, (0.0, 60.0, 0.0), None);
    // What they have done before the shop kept its books here.
    for (mark, new, pieces) in [
        ("W-1", 200.0, 310),
        ("W-2", 200.0, 120),
        ("W-3", 200.0, 455),
        ("S-1", 250.0, 260),
        ("S-2", 250.0, 0),
        ("S-3", 250.0, 540),
    ] {
        for wheel in list.iter_mut().filter(|wheel| wheel.mark == mark) {
            (wheel.new_diameter_mm, wheel.pieces) = (Some(new), pieces);
        }
    }
    list
}

/// The shop's own models.
pub(super) fn models(id: &mut impl FnMut() -> uuid::Uuid) -> Vec<Model> {
    struct Shape {
        edge: EdgeKind,
        length: f64,
        height: f64,
        least: f64,
        spine: f64,
        behind: f64,
        angle: f64,
    }
    let mut list = Vec::new();
    let mut add = |mark: &str,
                   name: &str,
                   s: &Shape,
                   steel: (&str, f64, f64, Option<(f64, f64)>, f64),
                   teeth: Option<(&str, Teeth)>,
                   darkened: bool,
                   handle: &str| {
        list.push(Model {
            id: ModelId(id()),
            mark: mark.into(),
            name: name.into(),
            current: true,
            drawing: Drawing {
                edge: s.edge,
                length_mm: s.length,
                height_mm: s.height,
                least_height_mm: s.least,
                spine_mm: s.spine,
                behind_edge_mm: s.behind,
                angle_deg: s.angle,
                steel: steel.0.into(),
                edge_hrc: steel.1,
                spine_hrc: steel.2,
                line_mm: steel.3.map(|l| l.0),
                transition_mm: steel.3.map_or(0.0, |l| l.1),
                least_hrc: steel.4,
                teeth: teeth.map(|t| t.1),
                setup: teeth.map(|t| t.0.into()),
                darkened,
                handle: handle.into(),
            },
        });
    };
    let shape = |edge, length, height, least, spine, behind, angle| Shape {
        edge,
        length,
        height,
        least,
        spine,
        behind,
        angle,
    };
    let carbon = ("1.2842", 61.0, 40.0, Some((16.0, 5.0)), 57.0);
    let stainless = ("1.4112", 58.0, 58.0, None, 55.0);
    add(
        "DN-21",
        "Dune 21",
        &shape(EdgeKind::Arc, 210.0, 38.0, 27.0, 2.2, 0.40, 20.0),
        carbon,
        Some(("arc-5", arc(5.0, 6.0, 20.0))),
        true,
        "oiled plum wood",
    );
    add(
        "DN-27",
        "Dune 27",
        &shape(EdgeKind::Arc, 270.0, 40.0, 28.0, 2.4, 0.45, 20.0),
        carbon,
        Some(("arc-8", arc(8.0, 9.5, 20.0))),
        true,
        "oiled plum wood",
    );
    add(
        "SW-24",
        "Swell 24",
        &shape(EdgeKind::Wavy, 240.0, 36.0, 26.0, 2.0, 0.38, 18.0),
        stainless,
        Some(("wavy-6", cut(EdgeKind::Wavy, 6.0, 1.1, 18.0))),
        false,
        "smoked oak",
    );
    add(
        "TN-12",
        "Tern 12",
        &shape(EdgeKind::Pointed, 120.0, 24.0, 18.0, 1.6, 0.30, 22.0),
        stainless,
        Some(("pointed-4", cut(EdgeKind::Pointed, 4.0, 1.0, 22.0))),
        false,
        "smoked oak",
    );
    add(
        "GN-20",
        "Gannet 20",
        &shape(EdgeKind::Double, 200.0, 46.0, 33.0, 2.2, 0.30, 15.0),
        carbon,
        None,
        true,
        "oiled plum wood",
    );
    add(
        "HR-27",
        "Heron 27",
        &shape(EdgeKind::Single, 270.0, 34.0, 24.0, 3.0, 0.40, 12.0),
        ("1.2067", 62.0, 62.0, None, 59.0),
        None,
        true,
        "boxwood",
    );
    list
}
