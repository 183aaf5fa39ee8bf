//! What an inspection sheet comes to: worked out by the same functions on the server and, while one types, in the browser.

use assess::{Knowledge, draw};
use leptos::prelude::*;
use serde::{Deserialize, Serialize};
use shop::asking::Told;
use shop::bench::Model;
use shop::field::{FieldError, FieldErrors};
use shop::inspection::{self, Inspection, RawInspection};
use shop::lang::Lang;
use shop::prefill;
use shop::read::Verdict;
use shop::route::minutes_words;
use shop::units::short;

use crate::parts::{Amount, Column, DataTable, Fold, Notice, Refusal, Tone};

/// What working a sheet out takes. It goes into the page for the browser, and holds nothing about people.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Aid {
    /// What the shop knows; of the models only the piece's own.
    pub knows: Knowledge,
    /// Setups teeth are cut on.
    pub setups: Vec<String>,
    /// What the customer was told.
    pub told: Told,
    /// Rush.
    pub rush: bool,
    /// The currency's code.
    pub currency: String,
}

/// What a sheet comes to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// What we say.
    pub verdict: Verdict,
    /// What was said at the booking.
    pub booked: Verdict,
    /// Why the customer has to be asked; `None`: agreed by itself.
    pub why_ask: Option<String>,
    /// Height at the middle, millimetres.
    pub height_mm: f64,
    /// Drawings: what it shows, and the SVG element.
    pub drawings: Vec<(String, String)>,
    /// The currency's code.
    pub currency: String,
    /// Names of the steps' setups, in the order of the route.
    pub setups: Vec<String>,
}

impl Aid {
    fn model(&self) -> Option<&Model> {
        self.knows.models.first()
    }

    /// Works a sheet out; the complaints name their fields.
    pub fn answer(&self, raw: &RawInspection) -> Result<Answer, FieldErrors> {
        let mut raw = raw.clone();
        prefill::complete(&mut raw, self.model());
        let sheet = inspection::check(&raw, &self.setups)?;
        let verdict = assess::inspected(&self.knows, &sheet, self.model(), self.rush, false)
            .map_err(|u| FieldErrors(vec![FieldError { field: u.field, message: u.message }]))?;
        Ok(self.about(&sheet, verdict))
    }

    /// The answer for a checked sheet and its verdict.
    pub fn about(&self, sheet: &Inspection, verdict: Verdict) -> Answer {
        let height = sheet.heights_mm.1;
        let setups =
            verdict.route.iter().map(|s| self.knows.bench.setup_name(&s.station, &s.setup)).collect();
        Answer {
            why_ask: self.told.why_ask(sheet, &verdict, &self.currency),
            booked: self.told.estimate.clone(),
            height_mm: height,
            drawings: drawings(&self.knows, sheet, Lang::En),
            currency: self.currency.clone(),
            verdict,
            setups,
        }
    }
}

/// The drawings that can be made of a sheet, each with its caption: in the units of a language, their words in English.
pub fn drawings(knows: &Knowledge, sheet: &Inspection, lang: Lang) -> Vec<(String, String)> {
    let teeth = draw::serration(knows, sheet, lang).and_then(Result::ok);
    let teeth = teeth.map(|svg| ("The teeth, now and after".to_owned(), svg));
    let section =
        draw::section(knows, sheet, lang).ok().map(|svg| ("The section, now and after".to_owned(), svg));
    let side =
        draw::blade_side(knows, sheet, lang).ok().map(|svg| ("The blade from the side".to_owned(), svg));
    [section, teeth, side].into_iter().flatten().collect()
}

/// Two sigma of a caliper with guarded jaws, millimetres.
const CALIPER_MM: f64 = 0.1;

/// A span of lengths in no finer digits than it is wide: hundredths under a tenth of a millimetre, else tenths; rounded outward.
pub fn span_words((low, high): (f64, f64)) -> String {
    let (step, places) = if high - low < 0.1 { (0.01, 2) } else { (0.1, 1) };
    let low = ((low / step + 1e-6).floor() * step).max(0.0);
    let high = (high / step - 1e-6).ceil() * step;
    let (low, high) = (short(low, places), short(high, places));
    if low == high { format!("{high} mm") } else { format!("{low} to {high} mm") }
}

/// `about 3 to 5 years at this habit`.
pub fn years_words((low, high): (u32, u32)) -> String {
    match (low, high) {
        (_, 0) => "less than a year".to_owned(),
        (0 | 1, 1) => "up to 1 year at this habit".to_owned(),
        (0, high) => format!("up to {high} years at this habit"),
        (low, high) => format!("about {low} to {high} years at this habit"),
    }
}

/// `about 5 to 8 more`, or that nothing limits.
pub fn services_words(left: Option<(u32, u32)>, limited_by: &str) -> String {
    match left {
        None => "nothing in sight that limits".to_owned(),
        Some((_, 0)) => format!("none more: {limited_by}"),
        Some((low, high)) if low == high => format!("about {low} more, then {limited_by}"),
        Some((low, high)) => format!("about {low} to {high} more, then {limited_by}"),
    }
}

/// What the sheet comes to, in the order customers ask.
#[component]
pub fn AnswerPanel(
    /// The answer.
    answer: Answer,
) -> impl IntoView {
    let Answer { verdict, booked, why_ask, height_mm, drawings, currency, setups } = answer;
    let stopped = verdict.refusal.clone().map(|(_, why)| {
        view! {
            <Refusal title="Stop: not to be ground">
                <p>{why}</p>
                <p>"Save the sheet, then turn it down with a reason, or look again."</p>
            </Refusal>
        }
    });
    let asked = match (&verdict.refusal, why_ask) {
        (Some(_), _) => ().into_any(),
        (None, Some(why)) => view! {
            <Notice tone=Tone::Warn title="The customer will be asked"><p>{why}</p></Notice>
        }
        .into_any(),
        (None, None) => view! {
            <Notice tone=Tone::Good title="Agreed by itself"><p>"It lies within what was booked."</p></Notice>
        }
        .into_any(),
    };
    let (least, most) = verdict.recession_mm;
    let metal = format!("{} of {} mm height", span_words((least, most)), short(height_mm, 1));
    let left =
        format!("{} left", span_words((height_mm - most - CALIPER_MM, height_mm - least + CALIPER_MM)));
    let (least, most) = booked.recession_mm;
    let metal_booked = format!("booked: {} to {} mm", short(least, 2), short(most, 2));
    let life = services_words(verdict.services_after, &verdict.limited_by);
    let life = match verdict.years_after {
        Some(years) => format!("{life}; {}", years_words(years)),
        None => life,
    };
    let before = verdict.services_before.map(|_| {
        format!("before this one: {}", services_words(verdict.services_before, &verdict.limited_by))
    });
    let minutes = format!("{} at the bench", minutes_words(verdict.minutes));
    let rows: Vec<Vec<AnyView>> = verdict
        .quote
        .lines
        .iter()
        .map(|line| {
            let price = view! { <Amount money=line.price currency=currency.clone() /> };
            vec![line.what.clone().into_any(), price.into_any()]
        })
        .chain(std::iter::once(vec![
            "Total, tax included".into_any(),
            view! { <Amount money=verdict.quote.total currency=currency.clone() /> }.into_any(),
        ]))
        .collect();
    let cautions: Vec<_> = verdict.cautions.iter().map(|c| view! { <li>{c.clone()}</li> }).collect();
    let cautions = (!cautions.is_empty()).then(|| {
        view! { <Notice tone=Tone::Warn title="Look out"><ul>{cautions}</ul></Notice> }
    });
    let advice = (!verdict.advice.is_empty()).then(|| view! { <p>{verdict.advice.clone()}</p> });
    let route: Vec<_> = verdict
        .route
        .iter()
        .zip(setups)
        .map(|(step, setup)| {
            let words = format!("{}: {setup}, {}", step.kind, minutes_words(step.span()));
            let targets = step.targets.join(", ");
            view! { <li>{words}<br /><span class="quiet">{targets}</span></li> }
        })
        .collect();
    let drawings: Vec<_> = drawings
        .into_iter()
        .map(|(title, svg)| {
            view! {
                <figure class="drawing">
                    <figcaption>{title}</figcaption>
                    <div inner_html=svg></div>
                </figure>
            }
        })
        .collect();
    let booked_price = format!("booked: {}", booked.price.show(&currency));
    view! {
        <div class="comes-to stack">
            {stopped}
            {asked}
            <dl class="facts">
                <div>
                    <dt>"Metal it takes"</dt>
                    <dd>{metal}", "{left}<br /><span class="quiet">{metal_booked}</span></dd>
                </div>
                <div>
                    <dt>"Afterwards"</dt>
                    <dd>{life}<br /><span class="quiet">{before}</span></dd>
                </div>
                <div>
                    <dt>"Price"</dt>
                    <dd>
                        <Amount money=verdict.quote.total currency=currency />
                        <br />
                        <span class="quiet">{booked_price}</span>
                    </dd>
                </div>
                <div>
                    <dt>"Time"</dt>
                    <dd>{minutes}</dd>
                </div>
            </dl>
            {advice}
            {cautions}
            {drawings}
            <Fold summary="What it costs, line by line">
                <DataTable
                    caption="Lines of the quote"
                    caption_hidden=true
                    columns=vec![Column::words("What"), Column::figures("Price", "")]
                    rows=rows
                    total=true
                />
            </Fold>
            <Fold summary="The proposed way over the bench">
                <ol>{route}</ol>
            </Fold>
        </div>
    }
    .into_any()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_has_no_finer_digits_than_it_is_wide() {
        assert_eq!(span_words((0.05, 0.07)), "0.05 to 0.07 mm");
        assert_eq!(span_words((0.77, 0.89)), "0.7 to 0.9 mm");
        assert_eq!(span_words((45.01, 45.33)), "45 to 45.4 mm");
        assert_eq!(span_words((0.2, 0.2)), "0.2 mm");
        assert_eq!(years_words((2, 5)), "about 2 to 5 years at this habit");
        assert_eq!(years_words((0, 1)), "up to 1 year at this habit");
    }
}
