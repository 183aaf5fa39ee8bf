//! Whether the customer has to be asked before a measured piece is ground.
//!
//! What was booked (or agreed before) covers work up to a price and up to an amount of steel. Beyond either, and whenever
//! teeth would be lost that were to be kept, nothing is ground before the customer has said yes.

use crate::inspection::{Inspection, TeethWay};
use crate::money::Money;
use crate::read::{Piece, Verdict};
use crate::units::short;
use serde::{Deserialize, Serialize};

/// How much more steel than booked needs no asking, millimetres: a caliper at the bench does not tell it apart twice.
const SAME_MM: f64 = 0.1;

/// What the customer knows before the piece is measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Told {
    /// What was said at the booking.
    pub estimate: Verdict,
    /// The price agreed before, if one was.
    pub agreed: Option<Money>,
    /// It was not in the booking: nobody ever told a price.
    pub unbooked: bool,
    /// The customer wants the teeth ground away.
    pub to_plain: bool,
}

impl Told {
    /// What was told about a piece.
    pub fn about(piece: &Piece, unbooked: bool) -> Self {
        Self {
            estimate: piece.estimate.clone(),
            agreed: piece.agreed,
            unbooked,
            to_plain: piece.booked.to_plain,
        }
    }

    /// Why the customer has to be asked, in words; `None` when the work lies within what was told.
    pub fn why_ask(&self, sheet: &Inspection, verdict: &Verdict, currency: &str) -> Option<String> {
        let total = verdict.quote.total;
        if self.agreed.is_some_and(|agreed| total <= agreed) {
            return None;
        }
        if self.unbooked {
            return Some(format!("It was not booked; the work costs {}.", total.show(currency)));
        }
        let booked = &self.estimate;
        if total > booked.price.high {
            let (now, then) = (total.show(currency), booked.price.show(currency));
            return Some(format!("The price is {now}; booked was {then}."));
        }
        if verdict.likely_mm() > booked.recession_mm.1 + SAME_MM {
            let (now, then) = (short(verdict.likely_mm(), 1), short(booked.recession_mm.1, 1));
            return Some(format!("The work takes {now} mm of height; booked was up to {then} mm."));
        }
        let plain_now = sheet.teeth.as_ref().is_some_and(|t| t.way == TeethWay::Plain);
        (plain_now && !self.to_plain)
            .then(|| "The teeth would be ground away; that was not booked.".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inspection::{RawInspection, check};
    use crate::money::MoneyRange;
    use crate::price::Quote;

    fn verdict(total: i64, low: i64, high: i64, recession_mm: f64) -> Verdict {
        Verdict {
            recession_mm: (recession_mm, recession_mm),
            likely_recession_mm: None,
            years_after: None,
            services_before: None,
            services_after: None,
            limited_by: String::new(),
            minutes: (10, 20),
            price: MoneyRange { low: Money(low), high: Money(high) },
            quote: Quote { lines: vec![], total: Money(total) },
            cautions: vec![],
            refusal: None,
            advice: String::new(),
            route: vec![],
        }
    }

    fn sheet() -> Inspection {
        let raw = RawInspection {
            edge: "double".into(),
            length: "210".into(),
            height: "46".into(),
            spine: "2.4".into(),
            behind_edge: "0.35".into(),
            angle: "15".into(),
            ..RawInspection::default()
        };
        check(&raw, &[]).unwrap()
    }

    fn told() -> Told {
        Told { estimate: verdict(2200, 1900, 2600, 0.8), agreed: None, unbooked: false, to_plain: false }
    }

    fn measured(total: i64, recession_mm: f64) -> Verdict {
        verdict(total, total, total, recession_mm)
    }

    #[test]
    fn the_dearest_booked_price_needs_no_asking_and_a_cent_more_does() {
        assert_eq!(told().why_ask(&sheet(), &measured(2600, 0.5), "EUR"), None);
        assert_eq!(told().why_ask(&sheet(), &measured(900, 0.5), "EUR"), None);
        let why = told().why_ask(&sheet(), &measured(2601, 0.5), "EUR").unwrap();
        assert!(why.contains("26.01 EUR") && why.contains("19.00 to 26.00 EUR"), "{why}");
    }

    #[test]
    fn more_steel_than_booked_is_asked_for_even_when_it_costs_no_more() {
        assert_eq!(told().why_ask(&sheet(), &measured(2600, 0.9), "EUR"), None);
        assert!(told().why_ask(&sheet(), &measured(2600, 0.95), "EUR").is_some());
    }

    #[test]
    fn nobody_ever_told_the_price_of_an_unbooked_knife() {
        assert!(Told { unbooked: true, ..told() }.why_ask(&sheet(), &measured(1, 0.1), "EUR").is_some());
        let agreed = Told { unbooked: true, agreed: Some(Money(3000)), ..told() };
        assert_eq!(agreed.why_ask(&sheet(), &measured(3000, 0.1), "EUR"), None);
        assert!(agreed.why_ask(&sheet(), &measured(3001, 0.1), "EUR").is_some());
    }

    #[test]
    fn teeth_that_were_to_stay_are_never_ground_away_unasked() {
        let mut plain = sheet();
        plain.teeth = Some(crate::inspection::MeasuredTeeth {
            pitch_mm: 5.0,
            depth_mm: Some(1.0),
            ridge_radius_mm: None,
            way: TeethWay::Plain,
            setup: None,
        });
        assert!(told().why_ask(&plain, &measured(2000, 0.5), "EUR").is_some());
        assert_eq!(Told { to_plain: true, ..told() }.why_ask(&plain, &measured(2000, 0.5), "EUR"), None);
    }
}
