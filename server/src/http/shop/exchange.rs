//! CSV out and in.

use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::IntoResponse as _;
use leptos::prelude::*;
use shop::owner::Typed;
use web::pages::shop::{ExchangePage, ExchangeView, Sheet, TriedLine};

use super::{figures, refused, rendered};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::Posted;
use crate::http::{Answer, Problem};
use crate::use_cases::exchange_csv::{self, Line, Outcome, Table};

/// Goes out only: the ledger is not written by hand.
const FIGURES: &str = "figures";

fn tables() -> Vec<(String, String)> {
    Table::ALL.iter().map(|(code, name, _)| ((*code).to_owned(), (*name).to_owned())).collect()
}

pub(super) async fn show(caller: Caller) -> Answer {
    let of = ExchangeView { tables: tables(), ..ExchangeView::default() };
    rendered(&caller, StatusCode::OK, "CSV", move || view! { <ExchangePage of=of /> }).await
}

pub(super) async fn export(State(ctx): State<Ctx>, Path(table): Path<String>) -> Answer {
    let table = table.strip_suffix(".csv").ok_or(Problem::NotFound)?;
    let text = match Table::parse(table) {
        Some(table) => exchange_csv::export(&ctx, table).await?,
        None if table == FIGURES => figures::csv(&ctx).await?,
        None => return Err(Problem::NotFound),
    };
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8; header=present".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{table}.csv\"")),
        (header::CACHE_CONTROL, "no-store".to_owned()),
    ];
    Ok((headers, text).into_response())
}

pub(super) async fn import(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let table = Table::parse(typed.get("table")).ok_or(Problem::NotFound)?;
    let really = typed.get("do") == "take";
    let (of, status) = match exchange_csv::import(&ctx, &person, table, typed.get("text"), really).await {
        Ok((lines, taken)) => {
            let n_refused = lines.iter().filter(|line| matches!(line.outcome, Outcome::Refused(_))).count();
            let lines = lines.into_iter().map(tried).collect();
            let status = if n_refused > 0 { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
            let sheet = Sheet { typed, ..Sheet::default() };
            (ExchangeView { tables: tables(), sheet, lines, taken, n_refused }, status)
        }
        Err(why) => {
            let (sheet, status) = refused(why, typed, 0, (&Typed::default(), 0))?;
            (ExchangeView { tables: tables(), sheet, ..ExchangeView::default() }, status)
        }
    };
    rendered(&caller, status, "CSV", move || view! { <ExchangePage of=of /> }).await
}

fn tried(line: Line) -> TriedLine {
    let (word, lines, bad) = match line.outcome {
        Outcome::Added => ("adds it", vec![], false),
        Outcome::Changed(lines) => ("changes it", lines, false),
        Outcome::Same => ("as it is", vec![], false),
        Outcome::Refused(lines) => ("refused", lines, true),
    };
    let number = if line.number == 0 { "missing".to_owned() } else { line.number.to_string() };
    TriedLine { number, about: line.about, word: word.to_owned(), lines, bad }
}
