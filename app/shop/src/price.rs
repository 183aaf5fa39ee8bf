//! The price list and what a piece of work costs by it: lines of whole minor units, tax included.

use crate::money::{Money, MoneyRange};
use serde::{Deserialize, Serialize};

/// A price for blades up to a length.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LengthStep {
    /// Up to this edge length, millimetres, inclusive; the last step takes every longer blade.
    pub up_to_mm: f64,
    /// The price.
    pub price: Money,
}

/// What the shop asks for its work. All prices include tax.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PriceList {
    /// Tax contained in the prices, in tenths of a per cent (190 = 19.0 %).
    pub tax_permille: u32,
    /// Plain edge, both sides, by length.
    pub plain: Vec<LengthStep>,
    /// Added for a single bevel.
    pub single_extra: Money,
    /// Flattening the back.
    pub back_flattening: Money,
    /// Our own serrated blades, by length.
    pub own_serrated: Vec<LengthStep>,
    /// Another maker's teeth, on a wheel of ours that fits.
    pub foreign_fitting: Money,
    /// Another maker's teeth, one by one: to begin, and per tooth.
    pub foreign_tooth: (Money, Money),
    /// Another maker's teeth turned into a plain edge.
    pub foreign_to_plain: Money,
    /// Depth of chips that costs nothing extra, millimetres.
    pub chip_free_mm: f64,
    /// Per half millimetre begun beyond that.
    pub chip_per_half_mm: Money,
    /// Redrawing a tip, per 3 mm begun.
    pub tip_per_3_mm: Money,
    /// Levelling a recurve or heel.
    pub heel: Money,
    /// Relieving the bolster.
    pub bolster: Money,
    /// Thinning, by length.
    pub thin: Vec<LengthStep>,
    /// Straightening.
    pub straighten: Money,
    /// Removing rust, per side.
    pub derust_side: Money,
    /// Re-darkening.
    pub redarken: Money,
    /// Tightening a handle.
    pub handle_tighten: Money,
    /// Oiling a handle.
    pub handle_oil: Money,
    /// Rush: per cent of the work, and the least it costs.
    pub rush: (i64, Money),
    /// Withdrawn by the customer after measuring.
    pub withdrawn: Money,
    /// Return parcel with cover up to a value: `(cover, price)`, rising.
    pub parcels: Vec<(Money, Money)>,
}

fn by_length(steps: &[LengthStep], length_mm: f64) -> Money {
    steps.iter().find(|s| length_mm <= s.up_to_mm).or(steps.last()).map_or(Money(0), |s| s.price)
}

/// How the edge is brought back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EdgeWork {
    /// No work on the edge.
    None,
    /// Plain edge, both sides.
    Double,
    /// Plain edge, one side.
    Single,
    /// Our own teeth on the wheel that cut them.
    OwnSerrated,
    /// Another maker's teeth on a wheel of ours.
    ForeignFitting,
    /// Another maker's teeth one by one.
    ForeignTooth,
    /// Teeth ground away to a plain edge.
    ForeignToPlain,
}

/// What is done to one piece, as far as it costs money.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Work {
    /// The edge.
    pub edge: EdgeWork,
    /// Edge length, millimetres.
    pub length_mm: f64,
    /// Number of teeth, for work tooth by tooth.
    pub n_teeth: u32,
    /// Deepest chip that is taken out, millimetres.
    pub chip_mm: f64,
    /// Length of tip redrawn, millimetres.
    pub tip_mm: f64,
    /// Flatten the back.
    pub back: bool,
    /// Level a recurve or heel.
    pub heel: bool,
    /// Relieve the bolster.
    pub bolster: bool,
    /// Thin behind the edge.
    pub thin: bool,
    /// Straighten.
    pub straighten: bool,
    /// Sides to free of rust, 0 to 2.
    pub derust_sides: u8,
    /// Re-darken.
    pub redarken: bool,
    /// Tighten the handle.
    pub handle_tighten: bool,
    /// Oil the handle.
    pub handle_oil: bool,
    /// Done within two working days.
    pub rush: bool,
    /// Our own rework: nothing is charged.
    pub free: bool,
}

impl Default for Work {
    fn default() -> Self {
        Self {
            edge: EdgeWork::None,
            length_mm: 0.0,
            n_teeth: 0,
            chip_mm: 0.0,
            tip_mm: 0.0,
            back: false,
            heel: false,
            bolster: false,
            thin: false,
            straighten: false,
            derust_sides: 0,
            redarken: false,
            handle_tighten: false,
            handle_oil: false,
            rush: false,
            free: false,
        }
    }
}

/// One line of a quote or bill.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    /// What for.
    pub what: String,
    /// How much, tax included.
    pub price: Money,
}

/// What one piece costs.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Quote {
    /// The lines, in the order of work.
    pub lines: Vec<Line>,
    /// Their sum.
    pub total: Money,
}

impl PriceList {
    /// The lines for `work`.
    pub fn quote(&self, work: &Work) -> Quote {
        let mut lines = Vec::new();
        let mut add = |what: String, price: Money| {
            if price != Money(0) {
                lines.push(Line { what, price });
            }
        };
        let l = work.length_mm;
        if work.handle_tighten {
            add("Handle tightened".into(), self.handle_tighten);
        }
        if work.straighten {
            add("Straightened".into(), self.straighten);
        }
        if work.derust_sides > 0 {
            let n = i64::from(work.derust_sides.min(2));
            add(
                format!("Rust removed, {}", if n == 1 { "one side" } else { "both sides" }),
                self.derust_side.times(n),
            );
        }
        let halves = begun(work.chip_mm - self.chip_free_mm, 0.5);
        add(format!("Chips ground out beyond {} mm", self.chip_free_mm), self.chip_per_half_mm.times(halves));
        let thirds = begun(work.tip_mm, 3.0);
        add(format!("Tip redrawn over {:.0} mm", work.tip_mm.ceil()), self.tip_per_3_mm.times(thirds));
        if work.heel {
            add("Heel or recurve levelled".into(), self.heel);
        }
        if work.bolster {
            add("Bolster relieved".into(), self.bolster);
        }
        if work.thin {
            add("Thinned behind the edge".into(), by_length(&self.thin, l));
        }
        match work.edge {
            EdgeWork::None => {}
            EdgeWork::Double => add("Plain edge, both sides".into(), by_length(&self.plain, l)),
            EdgeWork::Single => {
                add("Plain edge, one side".into(), by_length(&self.plain, l) + self.single_extra);
            }
            EdgeWork::OwnSerrated => {
                add("Teeth recut on the wheel that cut them".into(), by_length(&self.own_serrated, l));
            }
            EdgeWork::ForeignFitting => add("Teeth recut on a wheel of ours".into(), self.foreign_fitting),
            EdgeWork::ForeignTooth => {
                let (begin, each) = self.foreign_tooth;
                add(
                    format!("{} teeth cut one by one", work.n_teeth),
                    begin + each.times(i64::from(work.n_teeth)),
                );
            }
            EdgeWork::ForeignToPlain => {
                add("Teeth ground away to a plain edge".into(), self.foreign_to_plain);
            }
        }
        if work.back {
            add("Back flattened".into(), self.back_flattening);
        }
        if work.redarken {
            add("Re-darkened".into(), self.redarken);
        }
        if work.handle_oil {
            add("Handle oiled".into(), self.handle_oil);
        }
        let sum: Money = lines.iter().map(|l| l.price).sum();
        if work.rush && sum != Money(0) {
            let (percent, least) = self.rush;
            lines.push(Line { what: format!("Rush, +{percent} %"), price: sum.percent(percent).max(least) });
        }
        if work.free {
            let whole: Money = lines.iter().map(|l| l.price).sum();
            lines.push(Line { what: "Our rework, without charge".into(), price: Money(-whole.0) });
        }
        let total = lines.iter().map(|l| l.price).sum();
        Quote { lines, total }
    }

    /// The price between the least and the most work that may be needed.
    pub fn range(&self, least: &Work, most: &Work) -> MoneyRange {
        let (a, b) = (self.quote(least).total, self.quote(most).total);
        MoneyRange { low: a.min(b), high: a.max(b) }
    }

    /// The tax contained in `gross`, rounded half up.
    pub fn tax_in(&self, gross: Money) -> Money {
        let rate = i64::from(self.tax_permille);
        Money((gross.0 * rate * 2 + 1000 + rate).div_euclid(2 * (1000 + rate)))
    }

    /// The return parcel that covers `declared`; the dearest one where none covers it all. `None` with an empty list.
    pub fn parcel(&self, declared: Money) -> Option<(Money, Money)> {
        self.parcels.iter().copied().find(|(cover, _)| declared <= *cover).or(self.parcels.last().copied())
    }
}

/// How many steps are begun in `mm`; the rounding of binary fractions (a nanometre) begins none.
fn begun(mm: f64, step: f64) -> i64 {
    if mm <= 1e-6 { 0 } else { ((mm - 1e-6) / step).ceil() as i64 }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// An invented list, deliberately unlike the demo shop's.
    pub(crate) fn list() -> PriceList {
        let step = |up_to_mm, cents| LengthStep { up_to_mm, price: Money(cents) };
        PriceList {
            tax_permille: 190,
            plain: vec![step(150.0, 1000), step(240.0, 2000), step(f64::MAX, 3000)],
            single_extra: Money(500),
            back_flattening: Money(700),
            own_serrated: vec![step(200.0, 2100), step(f64::MAX, 3100)],
            foreign_fitting: Money(4000),
            foreign_tooth: (Money(3000), Money(50)),
            foreign_to_plain: Money(3300),
            chip_free_mm: 0.3,
            chip_per_half_mm: Money(400),
            tip_per_3_mm: Money(900),
            heel: Money(1100),
            bolster: Money(1300),
            thin: vec![step(180.0, 1900), step(f64::MAX, 2900)],
            straighten: Money(1200),
            derust_side: Money(600),
            redarken: Money(800),
            handle_tighten: Money(1000),
            handle_oil: Money(350),
            rush: (40, Money(800)),
            withdrawn: Money(500),
            parcels: vec![(Money(20_000), Money(750)), (Money(60_000), Money(1400))],
        }
    }

    #[test]
    fn a_length_on_the_border_takes_the_cheaper_step() {
        let work = |length_mm| Work { edge: EdgeWork::Double, length_mm, ..Work::default() };
        assert_eq!(list().quote(&work(150.0)).total, Money(1000));
        assert_eq!(list().quote(&work(150.1)).total, Money(2000));
        assert_eq!(list().quote(&work(900.0)).total, Money(3000));
    }

    #[test]
    fn chips_cost_per_half_millimetre_begun_beyond_the_free_depth() {
        let chips = |chip_mm| list().quote(&Work { chip_mm, ..Work::default() }).total;
        assert_eq!(chips(0.3), Money(0));
        assert_eq!(chips(0.31), Money(400));
        assert_eq!(chips(0.4), Money(400));
        assert_eq!(chips(0.8), Money(400));
        assert_eq!(chips(0.9), Money(800));
    }

    #[test]
    fn rush_is_a_share_of_the_work_but_never_less_than_its_least() {
        let rush =
            |edge, length_mm| list().quote(&Work { edge, length_mm, rush: true, ..Work::default() }).total;
        assert_eq!(rush(EdgeWork::Double, 100.0), Money(1800));
        assert_eq!(rush(EdgeWork::ForeignFitting, 100.0), Money(5600));
    }

    #[test]
    fn our_own_rework_costs_nothing_and_shows_what_it_would_have_cost() {
        let quote =
            list().quote(&Work { edge: EdgeWork::Single, length_mm: 210.0, free: true, ..Work::default() });
        assert_eq!(quote.total, Money(0));
        assert_eq!(quote.lines[0].price, Money(2500));
    }

    #[test]
    fn tax_is_taken_out_of_the_gross_price() {
        // 119.00 gross at 19 % holds 19.00 (arithmetic).
        assert_eq!(list().tax_in(Money(11_900)), Money(1900));
        assert_eq!(list().tax_in(Money(1)), Money(0));
        assert_eq!(list().tax_in(Money(0)), Money(0));
    }

    #[test]
    fn teeth_are_counted_and_the_parcel_covers_the_value() {
        let quote = list().quote(&Work { edge: EdgeWork::ForeignTooth, n_teeth: 40, ..Work::default() });
        assert_eq!(quote.total, Money(5000));
        assert_eq!(list().parcel(Money(20_000)), Some((Money(20_000), Money(750))));
        assert_eq!(list().parcel(Money(20_001)), Some((Money(60_000), Money(1400))));
        assert_eq!(list().parcel(Money(99_999)), Some((Money(60_000), Money(1400))));
    }
}
