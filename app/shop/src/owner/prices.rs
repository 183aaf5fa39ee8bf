//! The price list and the tax in it.

use super::{Reader, Typed};
use crate::field::FieldErrors;
use crate::money::Money;
use crate::price::{LengthStep, PriceList};

/// The lists by length: their fields' beginning and their names.
pub const LISTS: [(&str, &str); 3] = [
    ("plain", "Plain edge, both sides"),
    ("serrated", "Our own serrated blades"),
    ("thin", "Thinning behind the edge"),
];

/// Rows a list by length and the list of parcels have in the form.
pub const ROWS: usize = 6;

/// A last step up to here or beyond takes every longer blade.
const EVERY_LENGTH_MM: f64 = 9999.0;

/// What the form shows.
pub fn fill_prices(prices: &PriceList) -> Typed {
    let mut typed = Typed::default();
    typed.figure("tax", f64::from(prices.tax_permille) / 10.0);
    for ((list, _), steps) in LISTS.iter().zip([&prices.plain, &prices.own_serrated, &prices.thin]) {
        for (row, step) in steps.iter().enumerate() {
            if step.up_to_mm < EVERY_LENGTH_MM {
                typed.figure(format!("{list}-{row}-mm"), step.up_to_mm);
            }
            typed.money(format!("{list}-{row}-price"), step.price);
        }
    }
    for (row, (cover, price)) in prices.parcels.iter().enumerate() {
        typed.money(format!("parcel-{row}-cover"), *cover);
        typed.money(format!("parcel-{row}-price"), *price);
    }
    for (field, amount) in amounts(prices) {
        typed.money(field, amount);
    }
    typed.figure("chip-free-mm", prices.chip_free_mm);
    typed.set("rush-percent", prices.rush.0.to_string());
    typed
}

/// The prices that are one amount each.
fn amounts(prices: &PriceList) -> [(&'static str, Money); 17] {
    [
        ("single-extra", prices.single_extra),
        ("back-flattening", prices.back_flattening),
        ("foreign-fitting", prices.foreign_fitting),
        ("foreign-tooth-begin", prices.foreign_tooth.0),
        ("foreign-tooth-each", prices.foreign_tooth.1),
        ("foreign-to-plain", prices.foreign_to_plain),
        ("chip-per-half-mm", prices.chip_per_half_mm),
        ("tip-per-3-mm", prices.tip_per_3_mm),
        ("heel", prices.heel),
        ("bolster", prices.bolster),
        ("straighten", prices.straighten),
        ("derust-side", prices.derust_side),
        ("redarken", prices.redarken),
        ("handle-tighten", prices.handle_tighten),
        ("handle-oil", prices.handle_oil),
        ("rush-least", prices.rush.1),
        ("withdrawn", prices.withdrawn),
    ]
}

/// What was typed.
pub fn check_prices(typed: &Typed) -> Result<PriceList, FieldErrors> {
    let mut read = Reader::new(typed);
    let tax = read.figure("tax", "the tax in per cent", 0.0, 100.0);
    let [plain, own_serrated, thin] = LISTS.map(|(list, _)| steps(&mut read, list));
    let prices = PriceList {
        tax_permille: (tax * 10.0).round() as u32,
        plain,
        single_extra: read.money("single-extra", "this price"),
        back_flattening: read.money("back-flattening", "this price"),
        own_serrated,
        foreign_fitting: read.money("foreign-fitting", "this price"),
        foreign_tooth: (
            read.money("foreign-tooth-begin", "this price"),
            read.money("foreign-tooth-each", "this price"),
        ),
        foreign_to_plain: read.money("foreign-to-plain", "this price"),
        chip_free_mm: read.length("chip-free-mm", "the depth", 0.0, 20.0),
        chip_per_half_mm: read.money("chip-per-half-mm", "this price"),
        tip_per_3_mm: read.money("tip-per-3-mm", "this price"),
        heel: read.money("heel", "this price"),
        bolster: read.money("bolster", "this price"),
        thin,
        straighten: read.money("straighten", "this price"),
        derust_side: read.money("derust-side", "this price"),
        redarken: read.money("redarken", "this price"),
        handle_tighten: read.money("handle-tighten", "this price"),
        handle_oil: read.money("handle-oil", "this price"),
        rush: (
            i64::from(read.whole("rush-percent", "the surcharge", 0, 500)),
            read.money("rush-least", "the least surcharge"),
        ),
        withdrawn: read.money("withdrawn", "this price"),
        parcels: parcels(&mut read),
    };
    read.or(prices)
}

fn is_blank(read: &Reader<'_>, fields: &[&str]) -> bool {
    fields.iter().all(|field| read.typed.get(field).trim().is_empty())
}

fn steps(read: &mut Reader<'_>, list: &str) -> Vec<LengthStep> {
    let mut steps: Vec<LengthStep> = Vec::new();
    let mut closed = false;
    for row in 0..ROWS {
        let (mm, price) = (format!("{list}-{row}-mm"), format!("{list}-{row}-price"));
        if is_blank(read, &[&mm, &price]) {
            continue;
        }
        if closed {
            read.errors.add(&mm, "The row above takes every longer blade already.");
            continue;
        }
        let up_to_mm = read.length_if(&mm, "the length", 1.0, EVERY_LENGTH_MM);
        closed = up_to_mm.is_none();
        let up_to_mm = up_to_mm.unwrap_or(EVERY_LENGTH_MM);
        if steps.last().is_some_and(|last| last.up_to_mm >= up_to_mm) {
            read.errors.add(&mm, "Lengths must grow from row to row.");
        }
        steps.push(LengthStep { up_to_mm, price: read.money(&price, "the price") });
    }
    if steps.is_empty() {
        read.errors.add(format!("{list}-0-price"), "Please give at least one price.");
    }
    steps
}

fn parcels(read: &mut Reader<'_>) -> Vec<(Money, Money)> {
    let mut parcels: Vec<(Money, Money)> = Vec::new();
    for row in 0..ROWS {
        let (cover, price) = (format!("parcel-{row}-cover"), format!("parcel-{row}-price"));
        if is_blank(read, &[&cover, &price]) {
            continue;
        }
        let worth = read.money(&cover, "the value it covers");
        if parcels.last().is_some_and(|last| last.0 >= worth) {
            read.errors.add(&cover, "Values must grow from row to row.");
        }
        parcels.push((worth, read.money(&price, "the postage")));
    }
    parcels
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::price::tests::list;

    #[test]
    fn a_price_list_goes_through_its_form_unchanged() {
        let mut before = list();
        // "Every longer blade" is kept as one figure.
        for steps in [&mut before.plain, &mut before.own_serrated, &mut before.thin] {
            steps.last_mut().unwrap().up_to_mm = EVERY_LENGTH_MM;
        }
        assert_eq!(check_prices(&fill_prices(&before)), Ok(before));
    }

    #[test]
    fn lengths_must_grow_and_nothing_comes_after_every_length() {
        let mut typed = fill_prices(&list());
        typed.set("plain-1-mm", "150");
        typed.set("serrated-0-mm", "");
        let errors = check_prices(&typed).unwrap_err();
        assert_eq!(errors.of("plain-1-mm"), Some("Lengths must grow from row to row."));
        assert!(errors.of("serrated-1-mm").is_some());
        assert_eq!(errors.0.len(), 2, "{errors:?}");
    }

    #[test]
    fn an_amount_that_cannot_be_read_is_named() {
        let mut typed = fill_prices(&list());
        typed.set("heel", "twelve");
        typed.set("tax", "19,5");
        let errors = check_prices(&typed).unwrap_err();
        assert_eq!(errors.0.len(), 1);
        assert!(errors.of("heel").is_some());
        typed.set("heel", "12,50");
        let prices = check_prices(&typed).unwrap();
        assert_eq!((prices.heel, prices.tax_permille), (Money(1250), 195));
    }
}
