//! What we say of a knife before we have seen it: the answers to what customers ask, in the order they ask it.

use assess::Knowledge;
use shop::booking::BookedKnife;
use shop::edge::EdgeKind;
use shop::lang::Lang;
use shop::money::MoneyRange;
use shop::price::Line;
use shop::read::Verdict;
use shop::units::short;

use crate::Speech;

/// Our answers about one knife.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Will it cut as before?
    pub cuts: String,
    /// What will it cost?
    pub price: MoneyRange,
    /// The most likely work, line by line.
    pub lines: Vec<Line>,
    /// The currency's code.
    pub currency: String,
    /// Will it look the same?
    pub looks: Vec<String>,
    /// How many more times?
    pub life: String,
    /// The section before and after, to scale (SVG); empty when it cannot be drawn.
    pub drawing: String,
    /// What to know.
    pub cautions: Vec<String>,
    /// The maker's advice; may be empty.
    pub advice: String,
    /// Why we say no.
    pub refusal: Option<String>,
}

impl Answer {
    /// The same answers in the language of a page.
    #[must_use]
    pub fn said(self, speech: &Speech) -> Self {
        let say = |text: String| speech.say(&text);
        Self {
            cuts: say(self.cuts),
            lines: self.lines.into_iter().map(|line| Line { what: say(line.what), ..line }).collect(),
            looks: self.looks.into_iter().map(say).collect(),
            life: say(self.life),
            drawing: speech.book.say_drawing(&self.drawing),
            cautions: self.cautions.into_iter().map(say).collect(),
            advice: say(self.advice),
            refusal: self.refusal.map(say),
            ..self
        }
    }
}

impl Answer {
    /// Works out the answers: the drawing in the units of a language, all words in English until they are [`said`](Self::said). Runs on the server and, while typing, in the browser.
    pub fn about(knows: &Knowledge, currency: &str, knife: &BookedKnife, rush: bool, lang: Lang) -> Self {
        let verdict = assess::booked(knows, knife, rush);
        Self::of(knows, currency, knife, &verdict, lang)
    }

    /// The answers that follow from a verdict.
    pub fn of(knows: &Knowledge, currency: &str, knife: &BookedKnife, verdict: &Verdict, lang: Lang) -> Self {
        let drawing = if verdict.refusal.is_some() {
            String::new()
        } else {
            assess::draw::section_booked(knows, knife, lang).unwrap_or_default()
        };
        Self {
            cuts: cuts(knife),
            price: verdict.price,
            lines: verdict.quote.lines.clone(),
            currency: currency.to_owned(),
            looks: looks(knows, knife, verdict),
            life: life(verdict),
            drawing,
            cautions: verdict.cautions.clone(),
            // How to save steel is a question for now only where there is damage one may choose to live with.
            advice: if knife.trouble.chips.is_some() { verdict.advice.clone() } else { String::new() },
            refusal: verdict.refusal.as_ref().map(|(_, why)| why.clone()),
        }
    }
}

fn cuts(knife: &BookedKnife) -> String {
    match (knife.edge, knife.model.is_some()) {
        (EdgeKind::Double | EdgeKind::Single, true) => {
            "Yes: a fresh edge at the angle it was drawn with, proven by a cutting test."
        }
        (EdgeKind::Double | EdgeKind::Single, false) => {
            "Yes: a fresh edge at the angle it has now, proven by a cutting test."
        }
        (_, true) => {
            "Yes: same pitch and shape, cut on the wheel that made them; the end teeth may differ. Proven by a cutting test."
        }
        (_, false) if knife.to_plain => {
            "As a plain edge, yes. It slices cleanly but no longer saws through a hard crust."
        }
        (_, false) => {
            "Nearly: the teeth are cut anew one by one, or on a wheel of ours that fits. Pitch and shape stay close to what \
             they were; the end teeth may differ."
        }
    }
    .to_owned()
}

fn looks(knows: &Knowledge, knife: &BookedKnife, verdict: &Verdict) -> Vec<String> {
    let taken = Lang::En.span(verdict.recession_mm);
    let height = knife.model.and_then(|id| knows.model(id)).map(|m| m.drawing.height_mm);
    let of_height = height.map_or_else(
        || format!("the work takes {taken} of its height"),
        |h| format!("the work takes {taken} of {} mm height", short(h, 1)),
    );
    let said = |words: &str| verdict.cautions.iter().any(|caution| caution.contains(words));
    let row = if knife.edge.is_serrated() && !knife.to_plain {
        ", and the whole row of teeth sits that much higher"
    } else {
        ""
    };
    let mut looks = vec![format!("Nearly: {of_height}{row}.")];
    if !said("bright band") {
        looks.push("Grinding leaves a bright band above the edge.".into());
    }
    if knife.to_plain && !said("ghost") {
        looks.push("Faint marks of the old hollows may stay above the new edge.".into());
    }
    if knife.darkened && !said("shade") {
        looks.push("We darken the ground steel again; the shade seldom matches the old one.".into());
    }
    looks
}

fn life(verdict: &Verdict) -> String {
    let times = |(low, high): (u32, u32)| {
        if low == high { format!("about {high}") } else { format!("about {low} to {high}") }
    };
    let Some(after) = verdict.services_after else {
        return "Nothing of what we know of it sets an end.".to_owned();
    };
    let before = verdict.services_before.map(times);
    let ends = if verdict.limited_by.is_empty() {
        String::new()
    } else {
        format!(" What ends it is {}.", verdict.limited_by)
    };
    if after.1 == 0 {
        return format!("This would be the last time.{ends}");
    }
    match before {
        Some(before) => {
            format!("Now {before} times, after this one {} more, at your habit.{ends}", times(after))
        }
        None => format!("After this one {} more at your habit.{ends}", times(after)),
    }
}
