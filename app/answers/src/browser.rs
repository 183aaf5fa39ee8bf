//! The same answers in the browser: text in, HTML out. The small script beside the page does the rest.

use assess::Knowledge;
use shop::booking;
use shop::field::FieldErrors;
use shop::units;
use wasm_bindgen::prelude::wasm_bindgen;

use crate::form::read;
use crate::{Aid, Answer, Speech, Sum, answer_html, nothing_html, sum_html};

/// Answers while somebody types.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Counter {
    knows: Knowledge,
    currency: String,
    speech: Speech,
}

#[wasm_bindgen]
impl Counter {
    /// Reads what the server wrote for us; nothing when it cannot be read.
    pub fn read(aid: &str) -> Option<Counter> {
        let aid = Aid::read(aid)?;
        Some(Self { knows: aid.knowledge(), currency: aid.currency, speech: aid.speech })
    }

    /// Our answers about knife `i` of the form as it stands, as HTML.
    pub fn answer(&self, query: &str, i: usize) -> String {
        let raw = read(query);
        let knife = raw
            .knives
            .get(i)
            .and_then(|k| booking::check_knife(k, i, &self.knows.models, &mut FieldErrors::default()));
        match knife {
            Some(knife) => {
                let answer = Answer::about(&self.knows, &self.currency, &knife, raw.rush, self.speech.lang)
                    .said(&self.speech);
                answer_html(&answer, &self.speech)
            }
            None => nothing_html(&self.speech),
        }
    }

    /// How a length is understood while it is typed; empty where that is plain to see.
    pub fn echo(&self, typed: &str) -> String {
        units::echo(typed, self.speech.lang)
    }

    /// What it all comes to, as HTML.
    pub fn sum(&self, query: &str) -> String {
        sum_html(&Sum::of(&self.knows, &self.currency, &read(query)), &self.speech)
    }
}
