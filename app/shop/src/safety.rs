//! What is checked before something turns, and what to mind at each step, with its source. Which checks apply depends on
//! the station and on how the wheel's grain is held.
//!
//! They are the usual ones. Local rules, the wheel maker's marking and qualified practice come first ([`FIRST`]).

use crate::bench::{Bond, Setup, Station, StationKind, Wheel};
use crate::route::OperationKind;
use crate::units::short;
use serde::{Deserialize, Serialize};

/// Stands under every checklist.
pub const FIRST: &str = "Local rules, the wheel maker's marking and qualified practice come first; this list replaces none of them.";

/// The source where nothing is published that we know of.
const PRACTICE: &str = "common practice";

/// The rule on abrasive wheel machinery that the figures come from.
const WHEELS: &str = "29 CFR 1910.215";

/// What a check or a caution is about; it chooses the drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Danger {
    /// Hands and cloth that are caught.
    Caught,
    /// Eyes and face.
    Eye,
    /// Lungs.
    Lung,
    /// Hearing.
    Ear,
    /// A wheel that bursts.
    Burst,
    /// Cuts.
    Cut,
    /// Heat and glowing swarf.
    Heat,
    /// Chemicals.
    Chemical,
    /// Wet floor, wet hands, coolant.
    Wet,
    /// Nothing dangerous: the work would be poor.
    Work,
}

/// One thing to tick before the work begins.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Check {
    /// Its name in forms and store.
    pub code: String,
    /// What is true when it is ticked.
    pub words: String,
    /// Where it comes from.
    pub source: String,
    /// What it is about.
    pub danger: Danger,
}

/// One thing to mind at a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Caution {
    /// What to do.
    pub words: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// What it is about.
    pub danger: Danger,
}

fn check(code: &str, words: impl Into<String>, source: &str, danger: Danger) -> Check {
    Check { code: code.into(), words: words.into(), source: source.into(), danger }
}

/// Whether dressing is due in a setup: as many pieces as it may run were worked since the last one.
pub fn dressing_due(setup: &Setup, wheel: &Wheel) -> bool {
    wheel.bond != Bond::Plated && setup.dress.is_some_and(|d| wheel.pieces_since_dressing >= d.every)
}

/// The checks before work begins at a station in a setup, in the order they are made. `wheel` is what runs there.
///
/// # Errors
/// The sentence why it must not be run at all; such a setup is never shown.
pub fn setup_checks(station: &Station, setup: &Setup, wheel: Option<&Wheel>) -> Result<Vec<Check>, String> {
    if let Some(wheel) = wheel {
        wheel.fit_to_run()?;
    }
    let mut list = Vec::new();
    let bonded = matches!(station.kind, StationKind::Wheel | StationKind::ToothSpindle);
    if let Some(wheel) = wheel.filter(|w| w.spindle_rpm.is_some()) {
        of_wheel(&mut list, wheel, bonded);
    }
    if station.kind == StationKind::Wheel {
        list.push(check(
            "rest",
            "The work rest is tight and at most 1/8 in (3 mm) from the wheel.",
            WHEELS,
            Danger::Burst,
        ));
        list.push(check(
            "tongue",
            "The tongue of the guard is at most 1/4 in (6 mm) from the wheel.",
            WHEELS,
            Danger::Burst,
        ));
    }
    if bonded {
        list.push(check(
            "guard",
            "The guard is on and tight; flanges and blotters sit right.",
            WHEELS,
            Danger::Burst,
        ));
    }
    if station.kind == StationKind::Belt {
        list.push(check(
            "belt",
            "The belt is sound at its splice, runs with its arrow and tracks in the middle.",
            PRACTICE,
            Danger::Burst,
        ));
    }
    if let Some(wheel) = wheel.filter(|w| dressing_due(setup, w)) {
        list.push(check(
            "dressed",
            format!(
                "{} is dressed, with the dresser in its fixture: {} pieces since the last time.",
                wheel.mark, wheel.pieces_since_dressing
            ),
            PRACTICE,
            Danger::Work,
        ));
    }
    of_body(&mut list, station.kind);
    if bonded {
        list.push(check(
            "minute",
            "After mounting it ran one minute at full speed, guard closed, with nobody in line.",
            PRACTICE,
            Danger::Burst,
        ));
    }
    Ok(list)
}

fn of_wheel(list: &mut Vec<Check>, wheel: &Wheel, bonded: bool) {
    let size = if wheel.diameter_mm > 0.0 {
        format!(", {} mm across", short(wheel.diameter_mm, 1))
    } else {
        String::new()
    };
    list.push(check(
        "wheel",
        format!("On the spindle is {} ({}){size}, {}.", wheel.mark, wheel.name, wheel.bond.words()),
        PRACTICE,
        Danger::Work,
    ));
    if let (Some(marked), Some(spindle)) = (wheel.marked_max_rpm, wheel.spindle_rpm) {
        let speed = wheel
            .surface_speed_m_s()
            .map_or_else(String::new, |v| format!(", which is {} m/s at its rim", short(v, 1)));
        list.push(check(
            "speed",
            format!(
                "Its marking allows {marked:.0} per minute or more; the spindle turns at {spindle:.0}{speed}. Read the marking, not this page."
            ),
            WHEELS,
            Danger::Burst,
        ));
    }
    if bonded && wheel.bond == Bond::Vitrified {
        list.push(check("ring", "Dry and hung up, it rings clear when tapped.", WHEELS, Danger::Burst));
    } else if bonded {
        list.push(check(
            "sound",
            "It was looked over: no crack, no chip, no loose grain. (A ring test says nothing with this bond.)",
            PRACTICE,
            Danger::Burst,
        ));
    }
}

/// What is worn and put away. Gloves are a tick of their own: a glove that is caught takes the hand along.
fn of_body(list: &mut Vec<Check>, kind: StationKind) {
    if kind.turns() {
        list.push(check("eyes", "Eye and face protection is on.", "29 CFR 1910.133", Danger::Eye));
        let lungs = if kind == StationKind::WetWheel {
            "Splash and mist stay away from your face."
        } else {
            "Dust is drawn off, or a mask for steel and abrasive dust is on."
        };
        list.push(check("lungs", lungs, PRACTICE, Danger::Lung));
        if kind != StationKind::WetWheel {
            list.push(check("ears", "Hearing protection is on.", PRACTICE, Danger::Ear));
        }
        list.push(check(
            "cloth",
            "Hair is tied back, sleeves are tight, rings and watch are off.",
            PRACTICE,
            Danger::Caught,
        ));
        list.push(check("gloves", "Gloves are OFF.", PRACTICE, Danger::Caught));
        return;
    }
    match kind {
        StationKind::Bath => {
            list.push(check("eyes", "Goggles are on.", PRACTICE, Danger::Eye));
            list.push(check("air", "The fan runs or the door is open.", PRACTICE, Danger::Lung));
            list.push(check(
                "sheet",
                "The safety data sheet of what is in it is at hand and read; gloves as it says.",
                "the product's safety data sheet",
                Danger::Chemical,
            ));
        }
        StationKind::Straighten => {
            list.push(check(
                "eyes",
                "Eye protection is on; the shield stands between blade and face.",
                PRACTICE,
                Danger::Eye,
            ));
            list.push(check(
                "clamp",
                "The clamp holds the soft zone only; nobody stands in line.",
                PRACTICE,
                Danger::Cut,
            ));
        }
        _ => {}
    }
}

/// What to mind at a step.
pub fn cautions(kind: OperationKind, station: StationKind) -> Vec<Caution> {
    let mut list = Vec::new();
    let mut say = |words, source, danger| list.push(Caution { words, source, danger });
    if kind.takes_steel() {
        say(
            "Keep the steel cool enough to hold: light passes, cool after each. A colour near the edge means that it is soft there.",
            PRACTICE,
            Danger::Heat,
        );
        say(
            "Steel swarf smoulders: never in one bin with aluminium, titanium, wood dust or oily rags.",
            PRACTICE,
            Danger::Heat,
        );
    }
    match station {
        StationKind::Wheel => say(
            "Never grind on the side of a straight wheel. Coolant off before the wheel stops, or it stands wet and out of balance.",
            PRACTICE,
            Danger::Burst,
        ),
        StationKind::Belt => {
            say("Edge trailing, never into the belt; below the middle.", PRACTICE, Danger::Caught);
        }
        StationKind::WetWheel => say("Wipe the floor: water and swarf are slippery.", PRACTICE, Danger::Wet),
        _ => {}
    }
    match kind {
        OperationKind::Clean => say(
            "Cut-resistant gloves for washing and carrying, off again before anything turns.",
            PRACTICE,
            Danger::Cut,
        ),
        OperationKind::Straighten => say(
            "Soft zone only, a little at a time; look again after it has rested. A hard edge snaps.",
            PRACTICE,
            Danger::Cut,
        ),
        OperationKind::Strop => {
            say("Edge trailing; below the middle when the strop turns.", PRACTICE, Danger::Cut);
        }
        OperationKind::Prove => {
            say("Never on skin: no arm hair, no thumb along the edge.", PRACTICE, Danger::Cut);
            say("Brass rod only on our own plain edges, never on teeth.", PRACTICE, Danger::Work);
        }
        OperationKind::Redarken => say(
            "Goggles, ventilation, and what the product's safety data sheet says. The old shade seldom comes back exactly.",
            "the product's safety data sheet",
            Danger::Chemical,
        ),
        OperationKind::Oil => {
            say(
                "Blades: food-grade oil that does not dry. Drying oils on handles only; no nut oils.",
                PRACTICE,
                Danger::Work,
            );
            say(
                "Rags with drying oil heat up by themselves: spread them flat or put them into a lidded metal bin.",
                PRACTICE,
                Danger::Heat,
            );
        }
        OperationKind::Derust => say(
            "Rinse, dry and oil at once: wet bare steel rusts while one looks on.",
            PRACTICE,
            Danger::Work,
        ),
        OperationKind::Pack => {
            say(
                "Sheathe the edge before anything else; the point cannot pierce the box.",
                PRACTICE,
                Danger::Cut,
            );
        }
        _ => {}
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Dressing;
    use crate::ids::WheelId;

    fn station(kind: StationKind) -> Station {
        Station::plain("s", "Station", kind, &[], vec![setup()])
    }

    fn setup() -> Setup {
        Setup {
            id: "a".into(),
            name: "A".into(),
            first: 0,
            dress: Some(Dressing { every: 8, minutes: 6 }),
            does: vec![],
            angle_deg: None,
            edge: None,
        }
    }

    fn wheel(bond: Bond) -> Wheel {
        Wheel {
            id: WheelId(uuid::Uuid::nil()),
            mark: "W-1".into(),
            name: "Arc wheel".into(),
            station: "s".into(),
            setup: "a".into(),
            bond,
            grit: "FEPA F 150".into(),
            diameter_mm: 200.0,
            width_mm: 25.0,
            least_diameter_mm: 150.0,
            marked_max_rpm: Some(3340.0),
            spindle_rpm: Some(2850.0),
            teeth: None,
            generation: 1,
            pieces_since_dressing: 8,
            new_diameter_mm: None,
            pieces: 8,
        }
    }

    fn codes(kind: StationKind, wheel: Option<&Wheel>) -> Vec<String> {
        setup_checks(&station(kind), &setup(), wheel).unwrap().into_iter().map(|c| c.code).collect()
    }

    #[test]
    fn gloves_off_is_the_last_thing_worn_that_is_ticked_wherever_something_turns() {
        for kind in [StationKind::Wheel, StationKind::ToothSpindle, StationKind::Belt, StationKind::WetWheel]
        {
            let codes = codes(kind, None);
            assert!(codes.iter().any(|c| c == "gloves"), "{kind:?}: {codes:?}");
        }
        assert!(!codes(StationKind::Bath, None).contains(&"gloves".to_owned()));
        assert!(codes(StationKind::Pack, None).is_empty());
    }

    #[test]
    fn only_vitrified_wheels_are_rung_and_plated_ones_never_dressed() {
        let vitrified = codes(StationKind::Wheel, Some(&wheel(Bond::Vitrified)));
        assert!(vitrified.contains(&"ring".to_owned()) && vitrified.contains(&"dressed".to_owned()));
        let plated = codes(StationKind::Wheel, Some(&wheel(Bond::Plated)));
        assert!(!plated.contains(&"ring".to_owned()) && !plated.contains(&"dressed".to_owned()));
        assert!(plated.contains(&"rest".to_owned()) && plated.contains(&"tongue".to_owned()));
    }

    #[test]
    fn a_setup_above_the_marking_has_no_checklist() {
        let fast = Wheel { spindle_rpm: Some(3341.0), ..wheel(Bond::Vitrified) };
        let said = setup_checks(&station(StationKind::Wheel), &setup(), Some(&fast)).unwrap_err();
        assert!(said.contains("Do not run it"), "{said}");
    }

    #[test]
    fn the_speed_check_names_both_speeds_and_the_rim() {
        let list =
            setup_checks(&station(StationKind::Wheel), &setup(), Some(&wheel(Bond::Vitrified))).unwrap();
        let speed = &list.iter().find(|c| c.code == "speed").unwrap().words;
        // vs = π · 200 · 2850 / 60000 = 29.8 m/s.
        assert!(speed.contains("3340") && speed.contains("2850") && speed.contains("29.8 m/s"), "{speed}");
    }
}
