//! Wheels, stones and belts: what they are, and their dressing.

use super::{Reader, Typed};
use crate::bench::{Bond, Teeth, Wheel};
use crate::edge::EdgeKind;
use crate::field::FieldErrors;
use crate::ids::WheelId;

/// How grain is held, with the words of the form.
pub fn bonds() -> [(&'static str, Bond); 6] {
    [Bond::Vitrified, Bond::Organic, Bond::Plated, Bond::Stone, Bond::Belt, Bond::Soft]
        .map(|b| (bond_code(b), b))
}

/// The word of the form for a bond.
pub fn bond_code(bond: Bond) -> &'static str {
    match bond {
        Bond::Vitrified => "vitrified",
        Bond::Organic => "organic",
        Bond::Plated => "plated",
        Bond::Stone => "stone",
        Bond::Belt => "belt",
        Bond::Soft => "soft",
    }
}

/// What the form shows.
pub fn fill_wheel(wheel: &Wheel) -> Typed {
    let mut typed = Typed::default();
    typed.set("mark", &wheel.mark);
    typed.set("name", &wheel.name);
    typed.set("place", format!("{}/{}", wheel.station, wheel.setup));
    typed.set("bond", bond_code(wheel.bond));
    typed.set("grit", &wheel.grit);
    if wheel.diameter_mm > 0.0 {
        typed.figure("diameter-mm", wheel.diameter_mm);
        typed.figure("least-diameter-mm", wheel.least_diameter_mm);
    }
    if let Some(new) = wheel.new_diameter_mm {
        typed.figure("new-diameter-mm", new);
    }
    typed.set("pieces", wheel.pieces.to_string());
    typed.figure("width-mm", wheel.width_mm);
    for (field, speed) in [("marked-rpm", wheel.marked_max_rpm), ("spindle-rpm", wheel.spindle_rpm)] {
        if let Some(speed) = speed {
            typed.figure(field, speed);
        }
    }
    fill_teeth(&mut typed, wheel.teeth.as_ref());
    typed
}

/// Writes what teeth are cut.
pub(super) fn fill_teeth(typed: &mut Typed, teeth: Option<&Teeth>) {
    let Some(teeth) = teeth else { return };
    typed.set("teeth", teeth.form.code());
    typed.figure("pitch-mm", teeth.pitch_mm);
    typed.figure("teeth-angle-deg", teeth.angle_deg);
    if let Some(radius) = teeth.ridge_radius_mm {
        typed.figure("ridge-radius-mm", radius);
    }
    if let Some(depth) = teeth.depth_mm {
        typed.figure("depth-mm", depth);
    }
}

/// Reads what teeth are cut; `None` when the form says none.
pub(super) fn read_teeth(read: &mut Reader<'_>) -> Option<Teeth> {
    let form = read.typed.get("teeth");
    if form.is_empty() {
        return None;
    }
    let Some(form) = form.parse::<EdgeKind>().ok().filter(|form| form.is_serrated()) else {
        read.errors.add("teeth", "Please choose one.");
        return None;
    };
    let arc = form == EdgeKind::Arc;
    Some(Teeth {
        form,
        pitch_mm: read.length("pitch-mm", "the distance from tooth to tooth", 0.5, 60.0),
        angle_deg: read.figure("teeth-angle-deg", "the angle of the teeth's bevel", 5.0, 60.0),
        ridge_radius_mm: arc.then(|| read.length("ridge-radius-mm", "the ridge's radius", 0.2, 200.0)),
        depth_mm: (!arc).then(|| read.length("depth-mm", "the depth of the teeth", 0.05, 20.0)),
    })
}

/// What was typed, with the id and the dressing `before` has; without `before` a new wheel with `id`.
pub fn check_wheel(typed: &Typed, id: WheelId, before: Option<&Wheel>) -> Result<Wheel, FieldErrors> {
    let mut read = Reader::new(typed);
    let place = read.line("place", "where it runs", 60, true);
    let (station, setup) = place.split_once('/').unwrap_or((&place, ""));
    let (station, setup) = (station.to_owned(), setup.to_owned());
    let bond = read.one_of("bond", &bonds()).unwrap_or(Bond::Stone);
    let diameter_mm = read.length_if("diameter-mm", "the diameter today", 5.0, 1000.0).unwrap_or(0.0);
    let least = read.length_if("least-diameter-mm", "the diameter at which it is done", 1.0, 1000.0);
    let mut wheel = Wheel {
        id,
        mark: read.line("mark", "its mark", 24, true),
        name: read.line("name", "its name", 80, true),
        station,
        setup,
        bond,
        grit: read.line("grit", "the grain as marked", 40, true),
        diameter_mm,
        width_mm: read.length("width-mm", "the width", 0.5, 500.0),
        least_diameter_mm: least.unwrap_or(0.0),
        marked_max_rpm: read.figure_if("marked-rpm", "the speed marked on it", 1.0, 60_000.0),
        spindle_rpm: read.figure_if("spindle-rpm", "the spindle's speed", 1.0, 60_000.0),
        teeth: read_teeth(&mut read),
        generation: before.map_or(1, |b| b.generation),
        pieces_since_dressing: before.map_or(0, |b| b.pieces_since_dressing),
        new_diameter_mm: read.length_if("new-diameter-mm", "the diameter when new", 5.0, 1000.0),
        pieces: read.whole_if("pieces", "the pieces ground on it so far", 0, 1_000_000).unwrap_or(0),
    };
    // A wheel that is new to us, and nobody says how large it was, begins to be watched today.
    if before.is_none() && diameter_mm > 0.0 {
        wheel.new_diameter_mm.get_or_insert(diameter_mm);
    }
    if wheel.new_diameter_mm.is_some_and(|new| new < diameter_mm) {
        read.errors.add("new-diameter-mm", "It was smaller when new than it is today; please look again.");
    }
    let clean = |read: &Reader<'_>, field: &str| read.errors.of(field).is_none();
    if wheel.spindle_rpm.is_some() && wheel.marked_max_rpm.is_none() && clean(&read, "marked-rpm") {
        let words = "Please give the highest speed marked on it. What carries no marking is not run until its maker has said.";
        read.errors.add("marked-rpm", words);
    }
    if wheel.spindle_rpm.is_some() && diameter_mm == 0.0 && clean(&read, "diameter-mm") {
        read.errors.add("diameter-mm", "Please give the diameter of what turns.");
    }
    if diameter_mm > 0.0 && least.is_none() && clean(&read, "least-diameter-mm") {
        read.errors.add("least-diameter-mm", "Please give the diameter at which it is taken off.");
    }
    read.or(wheel)
}

/// The wheel after it was dressed: its next generation. The field `diameter-after` is asked of what turns.
pub fn check_dressing(typed: &Typed, before: &Wheel) -> Result<Wheel, FieldErrors> {
    let mut read = Reader::new(typed);
    let mut wheel = before.clone();
    if before.bond == Bond::Plated {
        read.errors.add("diameter-after", "A plated wheel has one layer of grain and is never dressed.");
        return read.or(wheel);
    }
    if before.diameter_mm > 0.0 {
        let after = read.length("diameter-after", "the diameter after dressing", 1.0, 1000.0);
        if after > before.diameter_mm {
            let was = crate::units::short(before.diameter_mm, 2);
            read.errors
                .add("diameter-after", format!("It was {was} mm before: dressing does not make it grow."));
        }
        wheel.diameter_mm = after;
    }
    wheel.generation += 1;
    wheel.pieces_since_dressing = 0;
    read.or(wheel)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wheel() -> Wheel {
        Wheel {
            id: WheelId(uuid::Uuid::from_u128(7)),
            mark: "W-9".into(),
            name: "Arc wheel".into(),
            station: "wheel".into(),
            setup: "arc-5".into(),
            bond: Bond::Vitrified,
            grit: "FEPA F 150".into(),
            diameter_mm: 197.4,
            width_mm: 25.0,
            least_diameter_mm: 150.0,
            marked_max_rpm: Some(3340.0),
            spindle_rpm: Some(2850.0),
            teeth: Some(Teeth {
                form: EdgeKind::Arc,
                pitch_mm: 5.0,
                angle_deg: 20.0,
                ridge_radius_mm: Some(6.0),
                depth_mm: None,
            }),
            generation: 3,
            pieces_since_dressing: 5,
            new_diameter_mm: Some(200.0),
            pieces: 65,
        }
    }

    #[test]
    fn a_wheel_goes_through_its_form_unchanged() {
        let before = wheel();
        assert_eq!(check_wheel(&fill_wheel(&before), before.id, Some(&before)), Ok(before));
    }

    #[test]
    fn what_turns_needs_its_marking_and_its_diameters() {
        let mut typed = fill_wheel(&wheel());
        typed.set("marked-rpm", "");
        typed.set("least-diameter-mm", " ");
        let errors = check_wheel(&typed, wheel().id, None).unwrap_err();
        assert!(errors.of("marked-rpm").unwrap().contains("not run"));
        assert!(errors.of("least-diameter-mm").is_some());
        assert_eq!(errors.0.len(), 2, "{errors:?}");
        for field in ["spindle-rpm", "diameter-mm"] {
            typed.set(field, "");
        }
        let belt = check_wheel(&typed, wheel().id, None).unwrap();
        assert_eq!((belt.generation, belt.surface_speed_m_s()), (1, None));
    }

    #[test]
    fn dressing_begins_a_generation_and_takes_diameter() {
        let mut typed = Typed::default();
        typed.set("diameter-after", "197.0");
        let dressed = check_dressing(&typed, &wheel()).unwrap();
        assert_eq!((dressed.generation, dressed.pieces_since_dressing, dressed.diameter_mm), (4, 0, 197.0));
        typed.set("diameter-after", "198");
        assert!(check_dressing(&typed, &wheel()).is_err());
        let plated = Wheel { bond: Bond::Plated, ..wheel() };
        typed.set("diameter-after", "197");
        assert!(check_dressing(&typed, &plated).is_err());
    }
}
