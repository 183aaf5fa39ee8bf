//! Bills and payments.

use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect};
use leptos::prelude::*;
use serde::Deserialize;
use shop::field::FieldErrors;
use web::pages::desk::bill::{BillPage, BillView};

use super::super::caller::{Caller, Staff};
use super::super::form::Posted;
use super::super::problem::Problem;
use super::super::{Answer, page};
use super::receive::again;
use crate::context::Ctx;
use crate::store::requests::RequestKey;
use crate::store::{bills, visits};
use crate::use_cases::{issue_bill, knowledge, record_payment};
use crate::{local, when};

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller, Path(number): Path<String>) -> Answer {
    let number = number.parse().map_err(|_| Problem::NotFound)?;
    let db = ctx.store.read();
    let bill = bills::by_number(db, number).await?.ok_or(Problem::NotFound)?;
    let visit = visits::get(db, bill.visit).await?.ok_or(Problem::NotFound)?;
    let all = bills::of_visit(db, visit.id).await?;
    let profile = knowledge::profile(&ctx).await?;
    let prices = knowledge::load(&ctx).await?.prices;
    let stands = issue_bill::standing(&all).is_some_and(|b| b.id == bill.id);
    let paid = visit.paid.as_ref().filter(|_| stands).map(|(paid, how)| {
        let open = record_payment::open(&visit, bill.total);
        format!("Paid: {} ({how}). Open: {}.", paid.show(&profile.currency), open.show(&profile.currency))
    });
    let zone = local::zone(&profile);
    let view = BillView {
        number: bill.number,
        issued: when::day(local::date(zone, bill.issued_at)),
        reference: visit.reference.to_string(),
        contact: visit.contact.clone(),
        total: bill.total,
        tax: bill.tax,
        tax_permille: prices.tax_permille,
        paid,
        cancels: bill.cancels.and_then(|id| all.iter().find(|b| b.id == id)).map(|b| b.number),
        cancelled_by: all.iter().find(|b| b.cancels == Some(bill.id)).map(|b| b.number),
        lines: bill.lines,
    };
    let title = format!("Bill {number}");
    Ok(page::render(&caller, &title, move || view! { <BillPage bill=view profile=profile /> }).await)
}

pub(super) async fn issue(State(ctx): State<Ctx>, caller: Caller, Path(reference): Path<String>) -> Answer {
    let visit = super::find_visit(&ctx, &reference).await?;
    match issue_bill::issue_bill(&ctx, visit.id).await {
        Ok(bill) => Ok(Redirect::to(&format!("/desk/bill/{}", bill.number)).into_response()),
        Err(refused) => {
            let errors = super::complaints(refused)?;
            again(&ctx, &caller, &reference, None, errors).await
        }
    }
}

pub(super) async fn cancel(State(ctx): State<Ctx>, caller: Caller, Path(reference): Path<String>) -> Answer {
    let visit = super::find_visit(&ctx, &reference).await?;
    match issue_bill::cancel_bill(&ctx, visit.id).await {
        Ok(Some(bill)) => Ok(Redirect::to(&format!("/desk/bill/{}", bill.number)).into_response()),
        Ok(None) => Ok(super::to_visit(&visit, "")),
        Err(refused) => {
            let errors = super::complaints(refused)?;
            again(&ctx, &caller, &reference, None, errors).await
        }
    }
}

/// A payment as typed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct RawPayment {
    key: String,
    amount: String,
    how: String,
}

pub(super) async fn pay(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(reference): Path<String>,
    Posted(raw): Posted<RawPayment>,
) -> Answer {
    let visit = super::find_visit(&ctx, &reference).await?;
    let mut errors = FieldErrors::default();
    let payment = record_payment::typed(&raw.amount, &raw.how, &mut errors);
    if payment.is_none() && errors.is_empty() {
        errors.add("amount", "Please give the amount.");
    }
    let key = RequestKey::parse("payment", &raw.key)
        .ok_or_else(|| Problem::BadRequest("The form carries no key.".to_owned()))?;
    let Some(payment) = payment.filter(|_| errors.is_empty()) else {
        return again(&ctx, &caller, &reference, None, errors).await;
    };
    match record_payment::record_payment(&ctx, &by, &key, visit.id, &payment).await {
        Ok(()) => Ok(super::to_visit(&visit, "paid")),
        Err(refused) => {
            let errors = super::complaints(refused)?;
            again(&ctx, &caller, &reference, None, errors).await
        }
    }
}
