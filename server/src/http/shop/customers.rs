//! What is kept about a customer: given to them, or taken out of the books.

use axum::extract::{Path, RawQuery, State};
use axum::http::{StatusCode, header};
use axum::response::IntoResponse as _;
use leptos::prelude::*;
use shop::ids::CustomerId;
use shop::owner::Typed;
use shop::tag::Reference;
use web::pages::shop::{CustomersPage, Found, Sheet};

use super::{Query, done, id, problem, refused, rendered, said};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::{Answer, Problem};
use crate::store::{knives, persons, visits};
use crate::use_cases::{erase_customer, export_customer};

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let mut sheet = Sheet { said: said(&query.said), ..Sheet::default() };
    sheet.typed.set("reference", &query.reference);
    if query.reference.trim().is_empty() {
        return rendered(
            &caller,
            StatusCode::OK,
            "A customer's own data",
            move || view! { <CustomersPage sheet=sheet found=None /> },
        )
        .await;
    }
    found_page(&ctx, &caller, StatusCode::OK, sheet).await
}

/// The page around the person behind the reference in the sheet.
async fn found_page(ctx: &Ctx, caller: &Caller, status: StatusCode, mut sheet: Sheet) -> Answer {
    let found = match sheet.typed.get("reference").trim().parse::<Reference>() {
        Ok(reference) => find(ctx, reference).await?,
        Err(_) => None,
    };
    let status = if found.is_none() {
        sheet.errors.add("reference", "There is no visit with this reference.");
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        status
    };
    rendered(
        caller,
        status,
        "A customer's own data",
        move || view! { <CustomersPage sheet=sheet found=found /> },
    )
    .await
}

async fn find(ctx: &Ctx, reference: Reference) -> Result<Option<Found>, Problem> {
    let db = ctx.store.read();
    let Some(visit) = visits::by_reference(db, reference).await? else { return Ok(None) };
    let all = visits::of_customer(db, visit.customer).await?;
    let contact = visit.contact;
    let mut facts = vec![
        ("Name".to_owned(), contact.name),
        ("Mail".to_owned(), contact.email),
        ("Telephone".to_owned(), contact.phone),
        (
            "Visits".to_owned(),
            all.iter().map(|visit| visit.reference.to_string()).collect::<Vec<_>>().join(", "),
        ),
        ("Knives".to_owned(), knives::of_owner(db, visit.customer).await?.len().to_string()),
        ("Notes".to_owned(), persons::texts(db, visit.customer).await?.len().to_string()),
        ("Pictures".to_owned(), persons::photos(db, visit.customer).await?.len().to_string()),
    ];
    facts.retain(|(_, fact)| !fact.is_empty());
    let erased = persons::erased_at(db, visit.customer).await?;
    let not_now = match erased {
        Some(_) => Some("This person is erased already. What is left names nobody.".to_owned()),
        None => erase_customer::may_be_erased(ctx, visit.customer).await?.err(),
    };
    Ok(Some(Found { id: visit.customer.to_string(), reference: reference.to_string(), facts, not_now }))
}

pub(super) async fn export(State(ctx): State<Ctx>, Staff(person): Staff, Path(text): Path<String>) -> Answer {
    let archive =
        export_customer::export_customer(&ctx, &person, CustomerId(id(&text)?)).await.map_err(problem)?;
    let headers = [
        (header::CONTENT_TYPE, "application/x-tar"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"your-data.tar\""),
        (header::CACHE_CONTROL, "no-store"),
    ];
    Ok((headers, archive).into_response())
}

pub(super) async fn erase(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let reference: Reference = typed.get("reference").parse().map_err(|_| Problem::NotFound)?;
    match erase_customer::erase_customer(&ctx, &person, reference, typed.get("confirm")).await {
        Ok(_) => Ok(done("/shop/customers", "erased")),
        Err(why) => {
            let (sheet, status) = refused(why, typed, 0, (&Typed::default(), 0))?;
            found_page(&ctx, &caller, status, sheet).await
        }
    }
}
