//! The booking form: as typed ([`RawBooking`]), and as checked ([`Booking`]).
//!
//! The same check runs in the browser and on the server. Nothing typed is lost: a form that is refused is shown again as
//! it came, with a message beside each field in question.

use crate::bench::Model;
use crate::edge::EdgeKind;
use crate::field::{self, FieldErrors};
use crate::ids::ModelId;
use crate::money::Money;
use crate::tag::Tag;
use crate::units;
use serde::{Deserialize, Serialize};

/// Most knives in one booking.
pub const MOST_KNIVES: usize = 20;

/// One knife as typed. Check boxes are `"true"` or absent.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawKnife {
    /// Its number in this form, kept when others are taken out; its photos hang on it.
    pub place: String,
    /// Model id, or `other`.
    pub model: String,
    /// Tag of an earlier visit, if known.
    pub tag: String,
    /// Make and name, for other makes.
    pub make: String,
    /// Kind of edge, for other makes.
    pub edge: String,
    /// Edge length.
    pub length: String,
    /// Steel designation, or empty for "don't know".
    pub steel: String,
    /// Darkened carbon steel that rusts.
    pub carbon: bool,
    /// Dull.
    pub dull: bool,
    /// Chips.
    pub chips: bool,
    /// Deepest chip.
    pub chip_depth: String,
    /// Tip missing.
    pub tip: bool,
    /// How much of it.
    pub tip_length: String,
    /// Teeth worn or missing.
    pub teeth: bool,
    /// Bent or twisted.
    pub bent: bool,
    /// Rust.
    pub rust: bool,
    /// Handle loose or dry.
    pub handle: bool,
    /// A crack in the blade.
    pub crack: bool,
    /// Ceramic blade.
    pub ceramic: bool,
    /// For serrated blades of other makes: `keep` the teeth or make it `plain`.
    pub teeth_wish: String,
    /// Anything else.
    pub note: String,
}

/// The whole form as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawBooking {
    /// Makes a double click book once; made by the server with the empty form.
    pub key: String,
    /// The knives.
    pub knives: Vec<RawKnife>,
    /// `post` or `counter`.
    pub arrival: String,
    /// The chosen slot, local time `2026-11-27T10:00`, for the counter.
    pub slot: String,
    /// How it goes back: `post` or `counter`.
    pub back: String,
    /// Name.
    pub name: String,
    /// Mail address.
    pub email: String,
    /// Telephone, optional.
    pub phone: String,
    /// Street and number.
    pub street: String,
    /// Postal code.
    pub postcode: String,
    /// Town.
    pub town: String,
    /// Country.
    pub country: String,
    /// Value declared for the parcel.
    pub declared: String,
    /// Rush.
    pub rush: bool,
    /// What happens to a blade we refuse: `back` or `recycle`.
    pub refused: String,
    /// Asks expressly that work begins before the time for withdrawal is over.
    pub begin_early: bool,
    /// Packing rules read.
    pub packing: bool,
}

/// What is wrong with a knife, as far as its owner knows.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Trouble {
    /// Dull.
    pub dull: bool,
    /// Depth of the deepest chip, millimetres; `Some(None)` when there are chips of unknown depth.
    pub chips: Option<Option<f64>>,
    /// Length of missing tip, millimetres; `Some(None)` when unknown.
    pub tip: Option<Option<f64>>,
    /// Teeth worn or missing.
    pub teeth: bool,
    /// Bent or twisted.
    pub bent: bool,
    /// Rust.
    pub rust: bool,
    /// Handle loose or dry.
    pub handle: bool,
    /// Crack.
    pub crack: bool,
    /// Ceramic.
    pub ceramic: bool,
}

/// One booked knife.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BookedKnife {
    /// Our model, if it is one.
    pub model: Option<ModelId>,
    /// Tag of an earlier visit.
    pub tag: Option<Tag>,
    /// What it is called: the model's name, or make and name as typed.
    pub name: String,
    /// Kind of edge.
    pub edge: EdgeKind,
    /// Edge length, millimetres.
    pub length_mm: f64,
    /// Steel as typed or as drawn; `None`: not known.
    pub steel: Option<String>,
    /// Carbon steel that was darkened.
    pub darkened: bool,
    /// What is wrong.
    pub trouble: Trouble,
    /// For another maker's teeth: turn them into a plain edge.
    pub to_plain: bool,
    /// Anything else.
    pub note: String,
}

/// How the knives come to us.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Arrival {
    /// By post.
    Post,
    /// Over the counter at a slot, local time.
    Counter {
        /// `2026-11-27T10:00`
        slot: chrono::NaiveDateTime,
    },
}

/// A postal address.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Address {
    /// Street and number.
    pub street: String,
    /// Postal code.
    pub postcode: String,
    /// Town.
    pub town: String,
    /// Country.
    pub country: String,
}

/// A person who books.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// Name.
    pub name: String,
    /// Mail address.
    pub email: String,
    /// Telephone, may be empty.
    pub phone: String,
    /// Address back; `None` when fetched at the counter.
    pub address: Option<Address>,
}

/// A booking that cannot be wrong any more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Booking {
    /// 1 to 20 knives.
    pub knives: Vec<BookedKnife>,
    /// How they come.
    pub arrival: Arrival,
    /// True when they go back by post.
    pub back_by_post: bool,
    /// Who.
    pub person: Person,
    /// Declared value, for the post.
    pub declared: Money,
    /// Rush.
    pub rush: bool,
    /// A refused blade may be recycled instead of sent back.
    pub recycle_refused: bool,
    /// Work may begin before the time for withdrawal is over.
    pub begin_early: bool,
}

/// What the form is checked against.
#[derive(Debug, Clone, Default)]
pub struct Offer<'a> {
    /// Our models.
    pub models: &'a [Model],
    /// Free counter slots, local time.
    pub slots: &'a [chrono::NaiveDateTime],
    /// Above this declared value we want to be called first.
    pub most_declared: Money,
}

/// Checks one knife; complaints go beside `knives[i][..]`.
pub fn check_knife(
    raw: &RawKnife,
    i: usize,
    models: &[Model],
    errors: &mut FieldErrors,
) -> Option<BookedKnife> {
    let at = |name: &str| format!("knives[{i}][{name}]");
    let before = errors.0.len();
    let model = match raw.model.as_str() {
        "other" => None,
        "" => {
            errors.add(at("model"), "Please choose one of our models, or “another make”.");
            None
        }
        id => {
            let found = id.parse::<ModelId>().ok().and_then(|id| models.iter().find(|m| m.id == id));
            if found.is_none() {
                errors.add(at("model"), "This model is not on our list any more; please choose again.");
            }
            found
        }
    };
    let tag = if raw.tag.trim().is_empty() {
        None
    } else {
        match raw.tag.parse::<Tag>() {
            Ok(tag) => Some(tag),
            Err(e) => {
                errors.add(at("tag"), format!("This tag cannot be right: {e}."));
                None
            }
        }
    };
    let make =
        field::line(errors, &at("make"), &raw.make, "the make and name", 80, false).unwrap_or_default();
    let steel = field::line(errors, &at("steel"), &raw.steel, "the steel", 40, false).unwrap_or_default();
    let note = field::text(errors, &at("note"), &raw.note, "the note", 1000).unwrap_or_default();
    let edge = match model {
        Some(m) => Some(m.drawing.edge),
        None if raw.edge.is_empty() => {
            if raw.model == "other" {
                errors.add(at("edge"), "Please choose the drawing that looks like the edge.");
            }
            None
        }
        None => {
            if let Ok(kind) = raw.edge.parse::<EdgeKind>() {
                Some(kind)
            } else {
                errors.add(at("edge"), "Please choose one of the drawings.");
                None
            }
        }
    };
    let length_mm = match (model, raw.length.trim()) {
        (Some(m), "") => Some(m.drawing.length_mm),
        (None, "") => {
            errors.add(at("length"), "Please give the length of the edge, heel to tip.");
            None
        }
        (_, typed) => measure(errors, &at("length"), typed, "the edge", 20.0, 600.0),
    };
    let chips = raw
        .chips
        .then(|| optional(errors, &at("chip_depth"), &raw.chip_depth, "the deepest chip", 0.05, 20.0));
    let tip =
        raw.tip.then(|| optional(errors, &at("tip_length"), &raw.tip_length, "the missing tip", 0.2, 60.0));
    if let (Some(l), Some(Some(t))) = (length_mm, tip)
        && t * 2.0 > l
    {
        errors.add(
            at("tip_length"),
            "More than half of the blade would be missing; please check both lengths.",
        );
    }
    let trouble = Trouble {
        dull: raw.dull,
        chips,
        tip,
        teeth: raw.teeth,
        bent: raw.bent,
        rust: raw.rust,
        handle: raw.handle,
        crack: raw.crack,
        ceramic: raw.ceramic,
    };
    if trouble == Trouble::default() {
        errors.add(at("dull"), "Please tick what is wrong with it; “dull” will do.");
    }
    if errors.0.len() > before {
        return None;
    }
    Some(BookedKnife {
        model: model.map(|m| m.id),
        tag,
        name: model.map_or_else(
            || {
                if make.is_empty() { "Another make".to_owned() } else { make.clone() }
            },
            |m| m.name.clone(),
        ),
        edge: edge?,
        length_mm: length_mm?,
        steel: model.map(|m| m.drawing.steel.clone()).or((!steel.is_empty()).then_some(steel)),
        darkened: model.map_or(raw.carbon, |m| m.drawing.darkened),
        trouble,
        to_plain: raw.teeth_wish == "plain" && model.is_none() && edge?.is_serrated(),
        note,
    })
}

fn measure(
    errors: &mut FieldErrors,
    field: &str,
    typed: &str,
    what: &str,
    least: f64,
    most: f64,
) -> Option<f64> {
    match units::length(typed) {
        Some(t) if (least..=most).contains(&t.mm) => Some(t.mm),
        Some(t) => {
            errors.add(
                field,
                format!("For {what} we can take {least} to {most} mm; this reads as {}.", t.echo()),
            );
            None
        }
        None => {
            errors.add(field, format!("Please give {what} as a number, like 210, 1,5 or 1/16."));
            None
        }
    }
}

fn optional(
    errors: &mut FieldErrors,
    field: &str,
    typed: &str,
    what: &str,
    least: f64,
    most: f64,
) -> Option<f64> {
    if typed.trim().is_empty() { None } else { measure(errors, field, typed, what, least, most) }
}

/// How the knives go back, as typed; may still be changed when they are with us.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawWayBack {
    /// `post` or `counter`.
    pub back: String,
    /// Street and number.
    pub street: String,
    /// Postal code.
    pub postcode: String,
    /// Town.
    pub town: String,
    /// Country.
    pub country: String,
}

impl RawWayBack {
    fn of(raw: &RawBooking) -> Self {
        Self {
            back: raw.back.clone(),
            street: raw.street.clone(),
            postcode: raw.postcode.clone(),
            town: raw.town.clone(),
            country: raw.country.clone(),
        }
    }

    fn address(&self, e: &mut FieldErrors) -> Option<Address> {
        Some(Address {
            street: field::line(e, "street", &self.street, "street and number", 120, true)?,
            postcode: field::line(e, "postcode", &self.postcode, "the postal code", 16, true)?,
            town: field::line(e, "town", &self.town, "the town", 80, true)?,
            country: field::line(e, "country", &self.country, "the country", 60, true)?,
        })
    }

    /// The address they go back to by post; `None` when they are fetched.
    pub fn check(&self) -> Result<Option<Address>, FieldErrors> {
        let mut errors = FieldErrors::default();
        let way = match self.back.as_str() {
            "post" => self.address(&mut errors).map(Some),
            "counter" => Some(None),
            _ => {
                errors.add("back", "Please choose how they go back.");
                None
            }
        };
        errors.or(way)
    }
}

/// Checks the whole form.
pub fn check(raw: &RawBooking, offer: &Offer<'_>) -> Result<Booking, FieldErrors> {
    let mut errors = FieldErrors::default();
    let e = &mut errors;
    if raw.knives.is_empty() {
        e.add("knives", "Please describe at least one knife.");
    }
    if raw.knives.len() > MOST_KNIVES {
        e.add(
            "knives",
            format!("One booking takes up to {MOST_KNIVES} knives; please book the others separately."),
        );
    }
    let knives: Vec<_> = raw
        .knives
        .iter()
        .take(MOST_KNIVES)
        .enumerate()
        .filter_map(|(i, k)| check_knife(k, i, offer.models, e))
        .collect();
    let arrival = match raw.arrival.as_str() {
        "post" => Some(Arrival::Post),
        "counter" => {
            let slot = chrono::NaiveDateTime::parse_from_str(&raw.slot, "%Y-%m-%dT%H:%M")
                .ok()
                .filter(|s| offer.slots.contains(s));
            if slot.is_none() {
                let message = if raw.slot.is_empty() {
                    "Please choose a time."
                } else {
                    "This time is taken or past; please choose another."
                };
                e.add("slot", message);
            }
            slot.map(|slot| Arrival::Counter { slot })
        }
        _ => {
            e.add("arrival", "Please choose how the knives come to us.");
            None
        }
    };
    let back_by_post = match raw.back.as_str() {
        "post" => true,
        "counter" => false,
        _ => {
            e.add("back", "Please choose how they go back.");
            false
        }
    };
    let name = field::line(e, "name", &raw.name, "your name", 80, true);
    let email = field::email(e, "email", &raw.email);
    let phone = field::line(e, "phone", &raw.phone, "the telephone number", 40, false);
    let way_back = RawWayBack::of(raw);
    let address = back_by_post.then(|| way_back.address(e)).flatten();
    let declared = if raw.declared.trim().is_empty() {
        Some(Money(0))
    } else {
        let typed = Money::parse(&raw.declared);
        match typed {
            None => e.add("declared", "Please give the value as an amount, like 180 or 180,50."),
            Some(m) if m > offer.most_declared => {
                e.add("declared", "For knives of this value please call us first.");
            }
            Some(_) => {}
        }
        typed
    };
    if !matches!(raw.refused.as_str(), "" | "back" | "recycle") {
        e.add("refused", "Please choose what happens to a blade we cannot do.");
    }
    if raw.arrival == "post" && !raw.packing {
        e.add(
            "packing",
            "Please confirm that you have read how to pack a blade; it protects people on the way.",
        );
    }
    let booking = (|| {
        Some(Booking {
            knives,
            arrival: arrival?,
            back_by_post,
            person: Person { name: name?, email: email?, phone: phone?, address },
            declared: declared?,
            rush: raw.rush,
            recycle_refused: raw.refused == "recycle",
            begin_early: raw.begin_early,
        })
    })();
    errors.or(booking)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn knife() -> RawKnife {
        RawKnife {
            model: "other".into(),
            edge: "double".into(),
            length: "8 in".into(),
            dull: true,
            ..RawKnife::default()
        }
    }

    fn form() -> RawBooking {
        RawBooking {
            knives: vec![knife()],
            arrival: "post".into(),
            back: "post".into(),
            name: "Ines Example".into(),
            email: "ines@example.org".into(),
            street: "Quay 4".into(),
            postcode: "1000".into(),
            town: "Porto Novo".into(),
            country: "Nowhere".into(),
            packing: true,
            ..RawBooking::default()
        }
    }

    fn offer() -> Offer<'static> {
        Offer { models: &[], slots: &[], most_declared: Money(100_000) }
    }

    #[track_caller]
    fn refused(raw: &RawBooking, field: &str) {
        let errors = check(raw, &offer()).expect_err("should be refused");
        assert!(errors.of(field).is_some(), "no message beside {field}: {errors:?}");
    }

    #[test]
    fn a_plain_knife_by_post_is_accepted_and_inches_become_millimetres() {
        let booking = check(&form(), &offer()).unwrap();
        assert!((booking.knives[0].length_mm - 203.2).abs() < 1e-9);
        assert_eq!(booking.knives[0].name, "Another make");
        assert_eq!(booking.arrival, Arrival::Post);
    }

    #[test]
    fn every_missing_thing_is_named_beside_its_field() {
        refused(&RawBooking { knives: vec![], ..form() }, "knives");
        refused(&RawBooking { knives: vec![knife(); 21], ..form() }, "knives");
        refused(&RawBooking { email: "x".into(), ..form() }, "email");
        refused(&RawBooking { street: String::new(), ..form() }, "street");
        refused(&RawBooking { packing: false, ..form() }, "packing");
        refused(&RawBooking { arrival: "counter".into(), slot: "2026-11-27T10:00".into(), ..form() }, "slot");
        refused(&RawBooking { declared: "1e9".into(), ..form() }, "declared");
        refused(&RawBooking { declared: "1000.01".into(), ..form() }, "declared");
        refused(
            &RawBooking { knives: vec![RawKnife { dull: false, ..knife() }], ..form() },
            "knives[0][dull]",
        );
        refused(
            &RawBooking { knives: vec![knife(), RawKnife { length: "5 mm".into(), ..knife() }], ..form() },
            "knives[1][length]",
        );
        refused(
            &RawBooking { knives: vec![RawKnife { edge: String::new(), ..knife() }], ..form() },
            "knives[0][edge]",
        );
        refused(
            &RawBooking { knives: vec![RawKnife { tag: "7KM2Q0".into(), ..knife() }], ..form() },
            "knives[0][tag]",
        );
    }

    #[test]
    fn an_address_is_needed_only_for_the_post() {
        let raw = RawBooking { back: "counter".into(), street: String::new(), ..form() };
        assert_eq!(check(&raw, &offer()).unwrap().person.address, None);
    }

    #[test]
    fn the_way_back_can_be_changed_by_itself() {
        let fetched = RawWayBack { back: "counter".into(), ..RawWayBack::default() };
        assert_eq!(fetched.check(), Ok(None));
        let posted = RawWayBack::of(&form());
        assert_eq!(posted.check().unwrap().unwrap().town, "Porto Novo");
        let nowhere = RawWayBack { town: " ".into(), ..posted };
        assert!(nowhere.check().unwrap_err().of("town").is_some());
        assert!(RawWayBack::default().check().unwrap_err().of("back").is_some());
    }

    #[test]
    fn chips_of_unknown_depth_are_still_chips() {
        let raw = RawBooking { knives: vec![RawKnife { chips: true, ..knife() }], ..form() };
        assert_eq!(check(&raw, &offer()).unwrap().knives[0].trouble.chips, Some(None));
        let deep = RawBooking {
            knives: vec![RawKnife { chips: true, chip_depth: "1/16".into(), ..knife() }],
            ..form()
        };
        assert_eq!(check(&deep, &offer()).unwrap().knives[0].trouble.chips, Some(Some(1.5875)));
    }
}
