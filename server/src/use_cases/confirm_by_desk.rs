//! The desk says what a customer told it: that a booking is meant, or what to do about a price.

use shop::field::{self, FieldErrors};
use shop::ids::{PieceId, VisitId};

use super::answer_quote::{self, Answer, AnswerError};
use super::confirm_visit::{self, ConfirmError};
use super::hands::{self, Refused};
use crate::context::Ctx;
use crate::store::staff::Person;

/// Confirms a booking for its customer, who rang or stands at the counter.
pub async fn confirm_by_desk(ctx: &Ctx, by: &Person, id: VisitId) -> Result<(), Refused> {
    confirm_visit::confirm_as(ctx, id, hands::who(by)).await.map_err(|error| match error {
        ConfirmError::Gone => Refused::Gone,
        ConfirmError::Cancelled => Refused::field("confirm", "This booking was called off."),
        ConfirmError::Store(error) => error.into(),
    })
}

/// Answers a price for the customer. `said` is who answered and how, and has to be given.
pub async fn answer_by_desk(
    ctx: &Ctx,
    by: &Person,
    visit: VisitId,
    piece: PieceId,
    answer: Answer,
    said: &str,
) -> Result<(), Refused> {
    let mut errors = FieldErrors::default();
    let said = field::line(&mut errors, "said", said, "who answered, and how", 200, true);
    let said = errors.or(said).map_err(Refused::Fields)?;
    answer_quote::answer_as(ctx, visit, piece, answer, hands::who(by), &said).await.map_err(|error| {
        match error {
            AnswerError::Gone => Refused::Gone,
            AnswerError::NotAsked => {
                Refused::field("said", "This piece does not wait for an answer any more.")
            }
            AnswerError::OtherPrice => {
                Refused::field("said", "The price has changed; look at it again first.")
            }
            AnswerError::Store(error) => error.into(),
        }
    })
}
