//! An invented shop with one model, one wheel, one belt and one bevel stone; the tests of `answers` know it too.

use assess::{Knowledge, Learned, Typical};
use shop::bench::{Bench, Bond, Drawing, Model, Setup, Station, StationKind, Teeth, Wheel};
use shop::edge::EdgeKind;
use shop::ids::{ModelId, WheelId};
use shop::money::Money;
use shop::price::{LengthStep, PriceList};
use shop::route::OperationKind as Op;
use uuid::Uuid;

fn station(id: &str, does: &[Op], setups: &[&str]) -> Station {
    let setup = |id: &&str| Setup { id: (*id).into(), first: 1, ..Setup::default() };
    Station::plain(id, id, StationKind::Hand, does, setups.iter().map(setup).collect())
}

fn teeth() -> Teeth {
    Teeth { form: EdgeKind::Arc, pitch_mm: 5.0, angle_deg: 20.0, ridge_radius_mm: Some(6.5), depth_mm: None }
}

pub(crate) fn knowledge() -> Knowledge {
    let all = vec![LengthStep { up_to_mm: 9999.0, price: Money(2000) }];
    let drawing = Drawing {
        edge: EdgeKind::Arc,
        length_mm: 210.0,
        height_mm: 40.0,
        least_height_mm: 28.0,
        spine_mm: 2.2,
        behind_edge_mm: 0.4,
        angle_deg: 20.0,
        steel: "1.2842".into(),
        edge_hrc: 61.0,
        spine_hrc: 40.0,
        line_mm: Some(14.0),
        transition_mm: 4.0,
        least_hrc: 57.0,
        teeth: Some(teeth()),
        setup: Some("arc".into()),
        darkened: true,
        handle: String::new(),
    };
    Knowledge {
        models: vec![Model {
            id: ModelId(Uuid::from_u128(7)),
            mark: "T-1".into(),
            name: "Test slicer".into(),
            current: true,
            drawing,
        }],
        prices: PriceList {
            tax_permille: 190,
            plain: all.clone(),
            single_extra: Money(500),
            back_flattening: Money(700),
            own_serrated: all.clone(),
            foreign_fitting: Money(4000),
            foreign_tooth: (Money(3000), Money(50)),
            foreign_to_plain: Money(3300),
            chip_free_mm: 0.3,
            chip_per_half_mm: Money(400),
            tip_per_3_mm: Money(900),
            heel: Money(1100),
            bolster: Money(1300),
            thin: all,
            straighten: Money(1200),
            derust_side: Money(600),
            redarken: Money(800),
            handle_tighten: Money(1000),
            handle_oil: Money(350),
            rush: (40, Money(800)),
            withdrawn: Money(500),
            parcels: vec![],
        },
        rates: craft::Rates::default(),
        bench: Bench {
            longest_bare_wait: Some(960),
            stations: vec![
                station("table", &[Op::Inspect, Op::Clean, Op::Prove, Op::Pack], &["-"]),
                station("belt", &[Op::Repair, Op::Bolster, Op::Thin], &["p120"]),
                station("wheel", &[Op::Serrate, Op::Tooth], &["arc"]),
                station("stone", &[Op::Bevel, Op::Hone, Op::Strop], &["15"]),
                station("baths", &[Op::Derust, Op::Redarken, Op::Oil, Op::Handle, Op::Straighten], &["-"]),
            ],
        },
        wheels: vec![Wheel {
            id: WheelId(Uuid::from_u128(9)),
            mark: "W".into(),
            name: "W".into(),
            station: "wheel".into(),
            setup: "arc".into(),
            bond: Bond::Vitrified,
            grit: "FEPA F 150".into(),
            diameter_mm: 200.0,
            width_mm: 25.0,
            least_diameter_mm: 150.0,
            marked_max_rpm: Some(3000.0),
            spindle_rpm: Some(2800.0),
            teeth: Some(teeth()),
            generation: 1,
            pieces_since_dressing: 0,
            new_diameter_mm: None,
            pieces: 0,
        }],
        typical: Typical {
            double_mm: 0.18,
            single_mm: 0.2,
            serrated_mm: 0.25,
            spread: 0.5,
            learned: Learned::default(),
        },
        per_year: None,
    }
}
