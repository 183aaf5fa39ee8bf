//! From a sheet as typed to one that can be true: limits, pairs that contradict each other, what is needed.

use super::{Chip, DEFECTS, FILES_HRC, Inspection, MeasuredTeeth, RawInspection, TeethWay};
use crate::edge::EdgeKind;
use crate::field::{self, FieldErrors};
use crate::units;

/// Where Rockwell C is used at all, HRC (the range of the table in ASTM E140).
const SCALE_HRC: (f64, f64) = (20.0, 68.0);

struct Sheet<'a> {
    errors: &'a mut FieldErrors,
}

impl Sheet<'_> {
    fn mm(&mut self, field: &str, typed: &str, what: &str, least: f64, most: f64) -> Option<f64> {
        if typed.trim().is_empty() {
            return None;
        }
        match units::length(typed) {
            Some(t) if (least..=most).contains(&t.mm) => Some(t.mm),
            Some(t) => {
                self.errors
                    .add(field, format!("{what} can be {least} to {most} mm; this reads as {}.", t.echo()));
                None
            }
            None => {
                self.errors.add(field, format!("{what}: please type a number, like 0.35, 1,5 or 1/16."));
                None
            }
        }
    }

    fn needed(&mut self, field: &str, typed: &str, what: &str, least: f64, most: f64) -> Option<f64> {
        if typed.trim().is_empty() {
            self.errors.add(field, format!("{what} is needed."));
        }
        self.mm(field, typed, what, least, most)
    }

    fn figure(
        &mut self,
        field: &str,
        typed: &str,
        what: &str,
        unit: &str,
        least: f64,
        most: f64,
    ) -> Option<f64> {
        if typed.trim().is_empty() {
            return None;
        }
        match units::decimal(typed) {
            Some(v) if (least..=most).contains(&v) => Some(v),
            Some(_) => {
                self.errors.add(field, format!("{what} can be {least} to {most} {unit}."));
                None
            }
            None => {
                self.errors.add(field, format!("{what}: please type a number."));
                None
            }
        }
    }
}

/// Checks a sheet. `setups` are the serrating setups the shop has.
pub fn check(raw: &RawInspection, setups: &[String]) -> Result<Inspection, FieldErrors> {
    let mut errors = FieldErrors::default();
    let mut s = Sheet { errors: &mut errors };
    let edge = raw.edge.parse::<EdgeKind>().ok();
    if edge.is_none() {
        s.errors.add("edge", "Please choose the kind of edge.");
    }
    let serrated = edge.is_some_and(EdgeKind::is_serrated);
    let single = edge.is_some_and(|k| k != EdgeKind::Double);
    for code in &raw.defects {
        if !DEFECTS.iter().any(|d| d.code == code) {
            s.errors.add("defects", "One of the ticked defects is unknown; please tick again.");
        }
    }
    let steel = field::line(s.errors, "steel", &raw.steel, "the steel", 40, false).unwrap_or_default();
    let length = s.needed("length", &raw.length, "Edge length", 20.0, 600.0);
    let heel = s.mm("height_heel", &raw.height_heel, "Height at the heel", 8.0, 120.0);
    let height = s.needed("height", &raw.height, "Height at the middle", 8.0, 120.0);
    let tip_height = s.mm("height_tip", &raw.height_tip, "Height at the tip", 3.0, 120.0);
    let original = s.mm("original_height", &raw.original_height, "Height when new", 8.0, 125.0);
    let least_height = s.mm("least_height", &raw.least_height, "Least height", 3.0, 120.0);
    let spine = s.needed("spine", &raw.spine, "Spine thickness", 0.8, 8.0);
    let behind = s.needed("behind_edge", &raw.behind_edge, "Thickness behind the edge", 0.05, 2.0);
    let (least_angle, most_angle) = if single { (8.0, 45.0) } else { (5.0, 35.0) };
    if raw.angle.trim().is_empty() {
        s.errors.add("angle", "The edge angle is needed.");
    }
    let angle = s.figure("angle", &raw.angle, "Edge angle", "degrees", least_angle, most_angle);
    let target_angle =
        s.figure("target_angle", &raw.target_angle, "New angle", "degrees", least_angle, most_angle);
    let target_behind = s.mm("target_behind_edge", &raw.target_behind_edge, "Thinned thickness", 0.05, 2.0);
    let land = s.mm("land", &raw.land, "Land", 0.0, 2.0);
    let edge_hrc = s.figure("edge_hrc", &raw.edge_hrc, "Edge hardness", "HRC", SCALE_HRC.0, SCALE_HRC.1);
    let edge_band_hrc = check_files(raw, edge_hrc, &mut s);
    let spine_hrc = s.figure("spine_hrc", &raw.spine_hrc, "Spine hardness", "HRC", SCALE_HRC.0, SCALE_HRC.1);
    let line = s.mm("line", &raw.line, "Hardness line", 0.0, 120.0);
    let transition = s.mm("transition", &raw.transition, "Transition", 0.0, 60.0);
    let least_hrc = s.figure("least_hrc", &raw.least_hrc, "Least hardness", "HRC", SCALE_HRC.0, SCALE_HRC.1);
    let known = edge_hrc.is_some() || edge_band_hrc.is_some();
    if line.is_some() && !(known && spine_hrc.is_some()) && s.errors.of("edge_hrc").is_none() {
        s.errors.add("edge_hrc", "A hardness line needs the hardness of edge and spine.");
    }
    if let (Some(h), Some(b), Some(t)) = (height, behind, spine) {
        if b > t {
            s.errors.add(
                "behind_edge",
                format!("The blade cannot be thicker behind the edge ({b} mm) than at the spine ({t} mm)."),
            );
        }
        if least_height.is_some_and(|l| l > h) {
            s.errors
                .add("least_height", format!("The blade is already lower ({h} mm) than this least height."));
        }
        if line.is_some_and(|l| l > h) {
            s.errors.add("line", format!("The hardness line cannot lie above the spine ({h} mm)."));
        }
        if original.is_some_and(|o| o < h) {
            s.errors
                .add("original_height", format!("It cannot have been lower when new than today ({h} mm)."));
        }
    }
    let mut chips = Vec::new();
    for (i, c) in raw.chips.iter().enumerate() {
        if [&c.depth, &c.width, &c.at].iter().all(|t| t.trim().is_empty()) {
            continue;
        }
        let at = |name: &str| format!("chips[{i}][{name}]");
        let depth = s.needed(&at("depth"), &c.depth, "Chip depth", 0.01, 20.0);
        let width = if c.width.trim().is_empty() {
            depth.map(|d| d * 2.0)
        } else {
            s.mm(&at("width"), &c.width, "Chip width", 0.01, 60.0)
        };
        let from_heel = if c.at.trim().is_empty() {
            length.map(|l| l / 2.0)
        } else {
            s.mm(&at("at"), &c.at, "Distance from the heel", 0.0, 600.0)
        };
        if let (Some(a), Some(l)) = (from_heel, length)
            && a > l
        {
            s.errors.add(at("at"), format!("The edge ends at {l} mm."));
        }
        let take = match c.choice.as_str() {
            "leave" => Some(0.0),
            "part" => s.needed(&at("part"), &c.part, "Depth to take", 0.01, 20.0),
            _ => depth,
        };
        if let (Some(d), Some(t)) = (depth, take)
            && t > d
        {
            s.errors.add(at("part"), format!("The chip is only {d} mm deep."));
        }
        if let (Some(depth_mm), Some(width_mm), Some(at_mm), Some(take_mm)) = (depth, width, from_heel, take)
        {
            chips.push(Chip { depth_mm, width_mm, at_mm, take_mm });
        }
    }
    let tip = s.mm("tip", &raw.tip, "Missing tip", 0.2, 60.0);
    let teeth = serrated.then(|| check_teeth(raw, edge, setups, &mut s)).flatten();
    let cut_test =
        s.figure("cut_test", &raw.cut_test, "Cut test", if serrated { "strokes" } else { "N" }, 0.0, 200.0);
    let allowance = if raw.allowance.trim().is_empty() {
        Some(0.02)
    } else {
        s.mm("allowance", &raw.allowance, "Allowance", 0.0, 3.0)
    };
    let note = field::text(s.errors, "note", &raw.note, "the note", 2000);
    let inspection = (|| {
        Some(Inspection {
            defects: raw.defects.clone(),
            edge: edge?,
            steel: (!steel.is_empty()).then_some(steel),
            redarken: raw.redarken,
            length_mm: length?,
            heights_mm: (heel, height?, tip_height),
            original_height_mm: original,
            least_height_mm: least_height,
            spine_mm: spine?,
            behind_edge_mm: behind?,
            angle_deg: angle?,
            target_angle_deg: target_angle,
            target_behind_edge_mm: target_behind,
            land_mm: land,
            edge_hrc,
            edge_band_hrc,
            spine_hrc,
            line_mm: line,
            transition_mm: transition.unwrap_or(0.0),
            least_hrc,
            chips,
            tip_mm: tip,
            teeth,
            cut_test,
            allowance_mm: allowance?,
            note: note?,
        })
    })();
    errors.or(inspection)
}

/// The band the files leave: steel is no softer than the hardest file that skates on it, and no harder than the softest that
/// bites (common practice). Open ends are those of the scale.
fn check_files(raw: &RawInspection, edge_hrc: Option<f64>, s: &mut Sheet<'_>) -> Option<(f64, f64)> {
    let mut file = |field: &str, typed: &str| {
        let typed = typed.trim();
        let known = FILES_HRC.into_iter().find(|hrc| hrc.to_string() == typed);
        if known.is_none() && !typed.is_empty() {
            s.errors.add(field, "There is no such file in the set: 40, 45, 50, 55, 60 or 65 HRC.");
        }
        known
    };
    let (skates, bites) = (file("skates", &raw.skates), file("bites", &raw.bites));
    if let (Some(skates), Some(bites)) = (skates, bites)
        && bites <= skates
    {
        let message = format!(
            "A file of {bites} HRC cannot bite where one of {skates} HRC skates. Please try both again on clean steel."
        );
        s.errors.add("bites", message);
        return None;
    }
    if skates.is_none() && bites.is_none() {
        return None;
    }
    let (least, most) = (skates.map_or(SCALE_HRC.0, f64::from), bites.map_or(SCALE_HRC.1, f64::from));
    if let Some(hrc) = edge_hrc.filter(|hrc| !(least..=most).contains(hrc)) {
        let message = format!(
            "The files say {least} to {most} HRC, and {} lies outside. Empty: the band counts.",
            units::short(hrc, 1)
        );
        s.errors.add("edge_hrc", message);
    }
    Some((least, most))
}

fn check_teeth(
    raw: &RawInspection,
    edge: Option<EdgeKind>,
    setups: &[String],
    s: &mut Sheet<'_>,
) -> Option<MeasuredTeeth> {
    let way = TeethWay::parse(&raw.teeth_way);
    if way.is_none() {
        s.errors.add("teeth_way", "Please choose how the teeth are brought back.");
    }
    let over = s.needed("teeth_over", &raw.teeth_over, "Length over the counted teeth", 0.5, 600.0);
    let count = s.figure("teeth_count", &raw.teeth_count, "Number of teeth", "teeth", 1.0, 600.0);
    if raw.teeth_count.trim().is_empty() {
        s.errors
            .add("teeth_count", "Please count the teeth over that length, 20 or more if there are so many.");
    }
    let pitch = over.zip(count).map(|(o, n)| o / n);
    if let Some(p) = pitch
        && !(0.5..=20.0).contains(&p)
    {
        s.errors.add(
            "teeth_over",
            format!("That makes a pitch of {} mm; teeth have 0.5 to 20 mm.", units::short(p, 2)),
        );
    }
    let (mut depth, mut radius) = (None, None);
    if edge == Some(EdgeKind::Arc) {
        radius = s.needed("ridge_radius", &raw.ridge_radius, "Ridge radius", 0.2, 100.0);
        if let (Some(p), Some(r)) = (pitch, radius)
            && r <= p / 2.0
        {
            s.errors.add(
                "ridge_radius",
                format!("A radius of {r} mm cannot span a pitch of {} mm.", units::short(p, 2)),
            );
        }
    } else {
        depth = s.needed("depth", &raw.depth, "Depth of the teeth", 0.02, 8.0);
    }
    let setup = (!raw.setup.is_empty()).then(|| raw.setup.clone());
    match (&setup, way) {
        (Some(id), _) if !setups.contains(id) => {
            s.errors.add("setup", "This setup is not at the bench any more.");
        }
        (None, Some(TeethWay::Own | TeethWay::Fitting | TeethWay::Tooth)) => {
            s.errors.add("setup", "Please choose the wheel to cut on.");
        }
        _ => {}
    }
    Some(MeasuredTeeth { pitch_mm: pitch?, depth_mm: depth, ridge_radius_mm: radius, way: way?, setup })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inspection::RawChip;

    fn plain() -> RawInspection {
        RawInspection {
            edge: "double".into(),
            length: "210".into(),
            height: "46".into(),
            spine: "2,4".into(),
            behind_edge: ".35".into(),
            angle: "15".into(),
            ..RawInspection::default()
        }
    }

    #[track_caller]
    fn refused(raw: &RawInspection, field: &str) {
        let errors = check(raw, &["arc-5".to_owned()]).expect_err("should be refused");
        assert!(errors.of(field).is_some(), "no message beside {field}: {errors:?}");
    }

    #[test]
    fn the_least_sheet_is_enough() {
        let sheet = check(&plain(), &[]).unwrap();
        assert_eq!((sheet.spine_mm, sheet.allowance_mm, sheet.chips.len()), (2.4, 0.02, 0));
    }

    #[test]
    fn files_narrow_the_hardness_to_a_band() {
        let band = |skates: &str, bites: &str| {
            let raw = RawInspection { skates: skates.into(), bites: bites.into(), ..plain() };
            check(&raw, &[]).map(|sheet| sheet.edge_band_hrc)
        };
        assert_eq!(band("", ""), Ok(None));
        assert_eq!(band("55", "60"), Ok(Some((55.0, 60.0))));
        assert_eq!(band("65", ""), Ok(Some((65.0, 68.0))), "even the hardest skates");
        assert_eq!(band("", "40"), Ok(Some((20.0, 40.0))), "even the softest bites");
        assert_eq!(band("50", "60"), Ok(Some((50.0, 60.0))), "one between was not tried");
        refused(&RawInspection { skates: "60".into(), bites: "55".into(), ..plain() }, "bites");
        refused(&RawInspection { skates: "57".into(), ..plain() }, "skates");
        let files = || RawInspection { skates: "55".into(), bites: "60".into(), ..plain() };
        refused(&RawInspection { edge_hrc: "61".into(), ..files() }, "edge_hrc");
        assert_eq!(
            check(&RawInspection { edge_hrc: "58".into(), ..files() }, &[]).unwrap().edge_hrc,
            Some(58.0)
        );
        let line = RawInspection { line: "18".into(), spine_hrc: "30".into(), ..files() };
        assert!(check(&line, &[]).is_ok(), "the band is enough for a hardness line");
    }

    #[test]
    fn figures_that_cannot_both_be_true_are_named() {
        refused(&RawInspection { behind_edge: "1.9".into(), spine: "1.8".into(), ..plain() }, "behind_edge");
        refused(&RawInspection { least_height: "47".into(), ..plain() }, "least_height");
        refused(
            &RawInspection { line: "50".into(), edge_hrc: "64".into(), spine_hrc: "30".into(), ..plain() },
            "line",
        );
        refused(&RawInspection { line: "18".into(), ..plain() }, "edge_hrc");
        refused(&RawInspection { angle: "4".into(), ..plain() }, "angle");
        refused(&RawInspection { angle: "-15".into(), ..plain() }, "angle");
        refused(&RawInspection { defects: vec!["magic".into()], ..plain() }, "defects");
        let chip =
            RawChip { depth: "0.5".into(), choice: "part".into(), part: "0.6".into(), ..RawChip::default() };
        refused(&RawInspection { chips: vec![chip], ..plain() }, "chips[0][part]");
    }

    #[test]
    fn pitch_is_the_counted_length_by_the_number_of_teeth() {
        let raw = RawInspection {
            edge: "arc".into(),
            angle: "20".into(),
            teeth_over: "100".into(),
            teeth_count: "20".into(),
            ridge_radius: "6.5".into(),
            teeth_way: "own".into(),
            setup: "arc-5".into(),
            ..plain()
        };
        let sheet = check(&raw, &["arc-5".to_owned()]).unwrap();
        assert_eq!(sheet.teeth.unwrap().pitch_mm, 5.0);
        refused(&RawInspection { ridge_radius: "2.5".into(), ..raw.clone() }, "ridge_radius");
        refused(&RawInspection { setup: "arc-9".into(), ..raw.clone() }, "setup");
        refused(&RawInspection { setup: String::new(), ..raw }, "setup");
    }

    #[test]
    fn an_untouched_chip_row_is_no_chip_and_a_left_one_takes_nothing() {
        let left = RawChip { depth: "0.8".into(), choice: "leave".into(), ..RawChip::default() };
        let raw = RawInspection { chips: vec![RawChip::default(), left], ..plain() };
        let sheet = check(&raw, &[]).unwrap();
        assert_eq!(sheet.chips, [Chip { depth_mm: 0.8, width_mm: 1.6, at_mm: 105.0, take_mm: 0.0 }]);
    }
}
