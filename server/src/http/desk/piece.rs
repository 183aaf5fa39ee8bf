//! Small things done to one piece from the visit's page: its tag, holding it, harm that came to it, the
//! customer's answer, a picture.

use axum::extract::{Multipart, Path, State};
use serde::Deserialize;
use shop::field::FieldErrors;
use shop::money::Money;
use shop::piece::{Harm, WaitsOn};
use shop::read::{Piece, Visit};
use shop::tag::Tag;
use web::pages::desk::harm::HarmTyped;

use super::super::Answer;
use super::super::caller::{Caller, Staff};
use super::super::form::Posted;
use super::super::problem::Problem;
use super::receive::{again, again_with};
use crate::context::Ctx;
use crate::use_cases::answer_quote::Answer as Says;
use crate::use_cases::hands::Refused;
use crate::use_cases::store_photo::{self, Of, StorePhotoError};
use crate::use_cases::tag_piece::{self, Which};
use crate::use_cases::{confirm_by_desk, hold_piece, mishap, turn_down_piece};

/// The page again with the complaints of a use case.
async fn refuse(
    ctx: &Ctx,
    caller: &Caller,
    visit: &Visit,
    piece: &Piece,
    form: &str,
    refused: Refused,
) -> Answer {
    let errors = renamed(piece, form, refused)?;
    again(ctx, caller, &visit.reference.plain(), None, errors).await
}

/// Complaints of a use case, moved to the names the fields have on the visit's page.
fn renamed(piece: &Piece, form: &str, refused: Refused) -> Result<FieldErrors, Problem> {
    let mut errors = FieldErrors::default();
    for error in super::complaints(refused)?.0 {
        let own = match error.field.as_str() {
            "version" | "state" => error.field.clone(),
            "which" => format!("which[{}][tag]", piece.number),
            // The reason to turn a piece down is typed as the words of a form of this page.
            "reason" => format!("{form}[{}][words]", piece.number),
            field => format!("{form}[{}][{field}]", piece.number),
        };
        errors.add(own, error.message);
    }
    Ok(errors)
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct RawWhich {
    tag: String,
    sold_on: bool,
    note: String,
}

/// Which knife a held piece is.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct TagForm {
    version: String,
    which: Vec<RawWhich>,
}

pub(super) async fn tag(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(id): Path<String>,
    Posted(raw): Posted<TagForm>,
) -> Answer {
    let (piece, visit) = super::find_piece(&ctx, &id).await?;
    let typed = raw.which.into_iter().next().unwrap_or_default();
    let which = if typed.tag.trim().is_empty() {
        Ok(Which::New)
    } else {
        typed.tag.parse::<Tag>().map(|tag| Which::Known { tag, sold_on: typed.sold_on })
    };
    let done = match which {
        Ok(which) => {
            let version = raw.version.parse().unwrap_or(-1);
            tag_piece::tag_piece(&ctx, &by, piece.id, version, which, &typed.note).await.map(|_| ())
        }
        Err(error) => Err(Refused::field("tag", format!("This tag cannot be right: {error}."))),
    };
    match done {
        Ok(()) => Ok(super::to_visit(&visit, "tagged")),
        Err(refused) => refuse(&ctx, &caller, &visit, &piece, "which", refused).await,
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct RawHold {
    on: String,
    what: String,
}

/// Holding a piece, or letting it go on.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct HoldForm {
    version: String,
    hold: Vec<RawHold>,
    r#do: String,
}

pub(super) async fn hold(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(id): Path<String>,
    Posted(raw): Posted<HoldForm>,
) -> Answer {
    let (piece, visit) = super::find_piece(&ctx, &id).await?;
    let version = raw.version.parse().unwrap_or(-1);
    let (done, said) = if raw.r#do == "go" {
        (hold_piece::release_piece(&ctx, &by, piece.id, version, "").await, "released")
    } else {
        let typed = raw.hold.into_iter().next().unwrap_or_default();
        let on = match typed.on.as_str() {
            "customer" => WaitsOn::Customer,
            "parts" => WaitsOn::Parts,
            _ => WaitsOn::Shop,
        };
        (hold_piece::hold_piece(&ctx, &by, piece.id, version, on, &typed.what).await, "held")
    };
    match done {
        Ok(()) => Ok(super::to_visit(&visit, said)),
        Err(refused) => refuse(&ctx, &caller, &visit, &piece, "hold", refused).await,
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct RawHarm {
    what: String,
    words: String,
    amount: String,
    stays: bool,
}

/// It came to harm here, or that is set right, or it is stopped for it, or it is settled with the customer.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct HarmForm {
    version: String,
    entry: String,
    harm: Vec<RawHarm>,
    stop: Vec<RawHarm>,
    settle: Vec<RawHarm>,
    r#do: String,
}

pub(super) async fn harm(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(id): Path<String>,
    Posted(raw): Posted<HarmForm>,
) -> Answer {
    let (piece, visit) = super::find_piece(&ctx, &id).await?;
    let version = raw.version.parse().unwrap_or(-1);
    let mut forms = raw.harm.into_iter().chain(raw.stop).chain(raw.settle);
    let RawHarm { what, words, amount, stays } = forms.next().unwrap_or_default();
    let (done, said, form) = match raw.r#do.as_str() {
        "right" => {
            let entry = raw.entry.parse().map_err(|_| Problem::NotFound)?;
            (mishap::set_right(&ctx, &by, piece.id, version, entry).await, "righted", "harm")
        }
        "stop" => {
            let done =
                turn_down_piece::turn_down_piece(&ctx, &by, piece.id, version, "damaged", &words).await;
            (done, "turned-down", "stop")
        }
        "settle" => {
            let done = match mishap::agreed(&what, &amount, &words, stays) {
                Ok(agreed) => mishap::settle(&ctx, &by, piece.id, version, agreed).await,
                Err(errors) => Err(Refused::Fields(errors)),
            };
            (done, "settled", "settle")
        }
        _ => {
            let done = match Harm::parse(&what) {
                Some(harm) => mishap::report(&ctx, &by, piece.id, version, harm, &words).await,
                None => Err(Refused::field("what", "Please choose what happened.")),
            };
            (done, "harmed", "harm")
        }
    };
    match done {
        Ok(()) => Ok(super::to_visit(&visit, said)),
        Err(refused) => {
            let errors = renamed(&piece, form, refused)?;
            let typed = HarmTyped { number: piece.number, form: form.to_owned(), what, amount, stays, words };
            again_with(&ctx, &caller, &visit.reference.plain(), None, Some(typed), errors).await
        }
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct RawSaid {
    said: String,
}

/// The customer's answer, given to the desk.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct AnswerForm {
    total: String,
    answer: String,
    told: Vec<RawSaid>,
}

pub(super) async fn answer(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(id): Path<String>,
    Posted(raw): Posted<AnswerForm>,
) -> Answer {
    let (piece, visit) = super::find_piece(&ctx, &id).await?;
    let says = match raw.answer.as_str() {
        "yes" => Says::Agree(Money(raw.total.parse().unwrap_or(-1))),
        "no" => Says::Decline,
        _ => return Err(Problem::BadRequest("The form says neither yes nor no.".to_owned())),
    };
    let said = raw.told.into_iter().next().unwrap_or_default().said;
    match confirm_by_desk::answer_by_desk(&ctx, &by, visit.id, piece.id, says, &said).await {
        Ok(()) => Ok(super::to_visit(&visit, "answered")),
        Err(refused) => refuse(&ctx, &caller, &visit, &piece, "told", refused).await,
    }
}

pub(super) async fn photo(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(id): Path<String>,
    mut form: Multipart,
) -> Answer {
    let (piece, visit) = super::find_piece(&ctx, &id).await?;
    let broken = || Problem::BadRequest("The picture did not arrive whole.".to_owned());
    let mut bytes = Vec::new();
    while let Some(field) = form.next_field().await.map_err(|_| broken())? {
        if field.name() == Some("photo") {
            bytes = field.bytes().await.map_err(|_| Problem::TooLarge)?.to_vec();
        }
    }
    let kept = if bytes.is_empty() {
        Err(Refused::field("photo", "Please choose a picture first."))
    } else {
        match store_photo::store_photo(&ctx, bytes, Of::Piece(piece.id), "arrival").await {
            Ok(_) => Ok(()),
            Err(StorePhotoError::NotTaken(error)) => Err(Refused::field("photo", error.to_string())),
            Err(StorePhotoError::Store(error)) => return Err(error.into()),
            Err(StorePhotoError::Failed(error)) => return Err(error.into()),
        }
    };
    match kept {
        Ok(()) => Ok(super::to_visit(&visit, "photo")),
        Err(refused) => refuse(&ctx, &caller, &visit, &piece, "photo", refused).await,
    }
}
