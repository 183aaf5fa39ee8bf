//! The shop's own steels as a form: `fill_steel` (what it shows) and `check_steel` (what was typed, read into a steel that can be).
//!
//! The owner's other forms live in `shop::owner`; this one knows what a steel is, which `shop` does not.

use std::borrow::Cow;

use craft::{Corrosion, Figure, Steel};
use shop::field::{self, FieldErrors};
use shop::owner::Typed;
use shop::units::{decimal, short};

/// The three figures with a range and a source: field, what it is, unit, and between what it lies for any steel a knife is made of
/// (from memory, generous: tool steels with much tungsten are heavier, austenitic ones hold more heat).
pub const FIGURES: [(&str, &str, &str, f64, f64); 3] = [
    ("density", "the density", "kg/m³", 7000.0, 9000.0),
    ("conductivity", "the thermal conductivity", "W/mK", 8.0, 70.0),
    ("heat-capacity", "the heat capacity", "J/kgK", 350.0, 650.0),
];

/// How a steel stands up to water: code and words.
pub const CORROSION: [(&str, &str); 4] = [
    ("rusts", "Rusts within the hour when wet: darkened, oiled"),
    ("slow", "Rusts slowly: oiled"),
    ("stainless", "Stainless in a kitchen"),
    ("unknown", "Not known: treated as if it rusts"),
];

/// The code of a corrosion class.
pub fn corrosion_code(corrosion: Corrosion) -> &'static str {
    match corrosion {
        Corrosion::Rusts => "rusts",
        Corrosion::Slow => "slow",
        Corrosion::Stainless => "stainless",
        Corrosion::Unknown => "unknown",
    }
}

/// What the form shows.
pub fn fill_steel(steel: &Steel) -> Typed {
    let mut typed = Typed::default();
    typed.set("name", &*steel.name);
    let others: Vec<&str> =
        steel.designations.iter().map(|name| &**name).filter(|n| *n != steel.name).collect();
    typed.set("designations", others.join(", "));
    let figures = [&steel.density_kg_m3, &steel.conductivity_w_mk, &steel.heat_capacity_j_kgk];
    for ((key, ..), figure) in FIGURES.into_iter().zip(figures) {
        typed.figure(key, figure.value);
        if figure.range != (figure.value, figure.value) {
            typed.figure(format!("{key}-least"), figure.range.0);
            typed.figure(format!("{key}-most"), figure.range.1);
        }
        typed.set(format!("{key}-source"), &*figure.source);
    }
    let rows: Vec<String> = steel
        .tempering
        .iter()
        .map(|(celsius, hrc)| format!("{} {}", short(*celsius, 1), short(*hrc, 1)))
        .collect();
    typed.set("tempering", rows.join("\n"));
    typed.set("tempering-source", &*steel.tempering_source);
    typed.figure("hardness-least", steel.hardness_hrc.0);
    typed.figure("hardness-most", steel.hardness_hrc.1);
    typed.figure("grindability", steel.grindability);
    typed.set("corrosion", corrosion_code(steel.corrosion));
    typed
}

/// Reads one form; what is wrong is collected beside its field.
struct Reader<'a> {
    typed: &'a Typed,
    errors: FieldErrors,
}

impl Reader<'_> {
    fn line(&mut self, name: &str, what: &str, most: usize, required: bool) -> Cow<'static, str> {
        let read = field::line(&mut self.errors, name, self.typed.get(name), what, most, required);
        Cow::Owned(read.unwrap_or_default())
    }

    fn figure_if(&mut self, name: &str, what: &str, least: f64, most: f64) -> Option<f64> {
        let typed = self.typed.get(name).trim();
        if typed.is_empty() {
            return None;
        }
        let read = decimal(typed).filter(|value| (least..=most).contains(value));
        if read.is_none() {
            let (least, most) = (short(least, 2), short(most, 2));
            self.errors.add(
                name,
                format!("{typed} is not {what} of a knife steel: that lies between {least} and {most}."),
            );
        }
        read
    }

    fn figure(&mut self, name: &str, what: &str, least: f64, most: f64) -> f64 {
        let read = self.figure_if(name, what, least, most);
        if read.is_none() && self.errors.of(name).is_none() {
            self.errors.add(name, format!("Please give {what}."));
        }
        read.unwrap_or(least)
    }

    /// A figure with its range and source.
    fn sourced(&mut self, (key, what, _, least, most): (&str, &str, &str, f64, f64)) -> Figure {
        let value = self.figure(key, what, least, most);
        let (low, high) = (format!("{key}-least"), format!("{key}-most"));
        let from = self.figure_if(&low, what, least, most).unwrap_or(value);
        let to = self.figure_if(&high, what, least, most).unwrap_or(value);
        if self.errors.of(key).is_none() {
            for (name, bad, words) in [(&low, from > value, "above"), (&high, to < value, "below")] {
                if bad && self.errors.of(name).is_none() {
                    let end = short(if words == "above" { from } else { to }, 3);
                    self.errors
                        .add(name, format!("{end} lies {words} the value itself, {}.", short(value, 3)));
                }
            }
        }
        let source = self.line(&format!("{key}-source"), "where the figure was printed", 120, true);
        Figure { value, range: (from, to), source }
    }

    /// Hardness after tempering, a line each: degrees and HRC.
    fn tempering(&mut self) -> Vec<(f64, f64)> {
        let mut rows: Vec<(f64, f64)> = Vec::new();
        for line in self.typed.get("tempering").lines().map(str::trim).filter(|line| !line.is_empty()) {
            let mut parts = line.split([' ', '\t', ';', ':']).filter(|part| !part.is_empty());
            let mut next = || parts.next().and_then(decimal);
            let row = next()
                .zip(next())
                .filter(|(c, hrc)| (20.0..=800.0).contains(c) && (15.0..=70.0).contains(hrc));
            let complaint = match row {
                None => format!(
                    "“{line}” is not a temperature from 20 to 800 °C and a hardness from 15 to 70 HRC."
                ),
                Some((celsius, _)) if rows.last().is_some_and(|(before, _)| celsius <= *before) => {
                    format!(
                        "{} °C does not come after the line before it: the temperature rises.",
                        short(celsius, 1)
                    )
                }
                Some(row) if rows.len() < 40 => {
                    rows.push(row);
                    continue;
                }
                Some(_) => "Forty lines are the most.".to_owned(),
            };
            self.errors.add("tempering", complaint);
            break;
        }
        rows
    }
}

/// Reads what was typed. `others`: the shop's other steels, whose names this one may not take.
pub fn check_steel(typed: &Typed, others: &[Steel]) -> Result<Steel, FieldErrors> {
    let mut read = Reader { typed, errors: FieldErrors::default() };
    let name = read.line("name", "its designation", 40, true);
    let more = read.line("designations", "its other designations", 200, false);
    let mut designations: Vec<Cow<'static, str>> = vec![name.clone()];
    designations
        .extend(more.split(',').map(str::trim).filter(|n| !n.is_empty()).map(|n| Cow::Owned(n.to_owned())));
    for (i, designation) in designations.iter().enumerate() {
        let at = if i == 0 { "name" } else { "designations" };
        let taken =
            others.iter().any(|steel| steel.designations.iter().any(|n| n.eq_ignore_ascii_case(designation)));
        if ["unknown", "ceramic"].iter().any(|word| designation.eq_ignore_ascii_case(word)) {
            read.errors.add(at, format!("“{designation}” is no steel."));
        } else if !designation.is_empty()
            && !designation.chars().all(|c| c.is_ascii_alphanumeric() || " .-+".contains(c))
        {
            read.errors.add(
                at,
                format!(
                    "“{designation}” is no designation: please use letters, figures, points, blanks, + and -."
                ),
            );
        } else if taken {
            read.errors.add(at, format!("Another steel of yours is called “{designation}”."));
        }
    }
    let [density_kg_m3, conductivity_w_mk, heat_capacity_j_kgk] = FIGURES.map(|figure| read.sourced(figure));
    let tempering = read.tempering();
    let tempering_source =
        read.line("tempering-source", "where the tempering row was printed", 120, !tempering.is_empty());
    let least = read.figure("hardness-least", "the usual hardness", 20.0, 70.0);
    let most = read.figure("hardness-most", "the usual hardness", 20.0, 70.0);
    if most < least && read.errors.of("hardness-most").is_none() {
        read.errors.add(
            "hardness-most",
            format!("{} HRC at most is less than {} HRC at least.", short(most, 1), short(least, 1)),
        );
    }
    let grindability = read.figure("grindability", "the grindability against 1.3505 = 1", 0.05, 3.0);
    let corrosion = match typed.get("corrosion") {
        "rusts" => Corrosion::Rusts,
        "slow" => Corrosion::Slow,
        "stainless" => Corrosion::Stainless,
        "unknown" => Corrosion::Unknown,
        _ => {
            read.errors.add("corrosion", "Please choose one.");
            Corrosion::Unknown
        }
    };
    read.errors.or(Some(Steel {
        name,
        designations: Cow::Owned(designations),
        density_kg_m3,
        conductivity_w_mk,
        heat_capacity_j_kgk,
        tempering: Cow::Owned(tempering),
        tempering_source,
        hardness_hrc: (least, most),
        grindability,
        corrosion,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_steel_of_the_table_is_one_that_can_be_and_comes_back_as_it_went_in() {
        for steel in craft::steels() {
            let typed = fill_steel(steel);
            let back = check_steel(&typed, &[]).unwrap_or_else(|no| panic!("{}: {no:?}", steel.name));
            assert_eq!(back, Steel { designations: back.designations.clone(), ..steel.clone() });
            let (mut now, mut then) = (back.designations.to_vec(), steel.designations.to_vec());
            now.sort();
            then.sort();
            assert_eq!(now, then);
            assert!(check_steel(&typed, &[back]).unwrap_err().of("name").unwrap().contains("Another steel"));
        }
    }

    #[test]
    fn impossible_figures_are_refused_by_name() {
        let mut typed = fill_steel(craft::steel("1.2842").unwrap());
        typed.set("name", "own");
        typed.set("designations", "own two, O1x");
        let good = check_steel(&typed, &[]).unwrap();
        assert_eq!(good.designations.len(), 3);
        let refused = |field: &str, text: &str, at: &str, words: &str| {
            let mut typed = typed.clone();
            typed.set(field, text);
            let errors = check_steel(&typed, &[]).unwrap_err();
            let said = errors.of(at).unwrap_or_else(|| panic!("{field} {text}: {errors:?}"));
            assert!(said.contains(words), "{said}");
        };
        refused("density", "785", "density", "785 is not the density");
        refused("density", "", "density", "Please give");
        refused("density-least", "7900", "density-least", "above the value itself, 7850");
        refused("density-source", " ", "density-source", "printed");
        refused("tempering", "200 61\n150 62", "tempering", "150 °C does not come after");
        refused("tempering", "200", "tempering", "“200” is not");
        refused("hardness-most", "50", "hardness-most", "50 HRC at most is less than 58");
        refused("corrosion", "", "corrosion", "choose");
        refused("name", "Unknown", "name", "is no steel");
        refused("name", "a/b", "name", "is no designation");
    }
}
