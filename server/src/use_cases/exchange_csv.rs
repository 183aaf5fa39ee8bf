//! The owner takes prices, models or wheels out as CSV (RFC 4180), or brings them in: first as a trial that lists every line it
//! would refuse, then all of it or nothing.
//!
//! A column is a field of the form on the page of the same thing, so a line is checked by what checks the form.

use shop::bench::{Model, Wheel};
use shop::field::FieldErrors;
use shop::ids::{ModelId, WheelId};
use shop::owner::{
    Typed, changes, check_model, check_prices, check_wheel, fill_model, fill_prices, fill_wheel,
};
use shop::price::PriceList;

use super::set_up::{NotSaved, write_down};
use super::{save_model, save_wheel};
use crate::context::Ctx;
use crate::store::changes::Subject;
use crate::store::staff::Person;
use crate::store::wheels::{self, KnownWheel};
use crate::store::{self, WriteTx, knives, settings};

/// What can be taken out and brought in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {
    /// The price list: a field and its value on each line.
    Prices,
    /// Models, one a line, known by their mark.
    Models,
    /// Wheels and stones in use, one a line, known by their mark.
    Wheels,
}

impl Table {
    /// All of them, with the word of the form and what people read.
    pub const ALL: [(&'static str, &'static str, Self); 3] = [
        ("prices", "Prices", Self::Prices),
        ("models", "Models", Self::Models),
        ("wheels", "Wheels and stones", Self::Wheels),
    ];

    /// By the word of the form.
    pub fn parse(code: &str) -> Option<Self> {
        Self::ALL.iter().find(|(known, ..)| *known == code).map(|(.., table)| *table)
    }
}

const PRICE_COLUMNS: &[&str] = &["field", "value"];
const MODEL_COLUMNS: &[&str] = &[
    "mark",
    "name",
    "current",
    "edge",
    "length-mm",
    "height-mm",
    "least-height-mm",
    "spine-mm",
    "behind-edge-mm",
    "angle-deg",
    "steel",
    "edge-hrc",
    "spine-hrc",
    "least-hrc",
    "line-mm",
    "transition-mm",
    "darkened",
    "handle",
    "setup",
    "teeth",
    "pitch-mm",
    "teeth-angle-deg",
    "ridge-radius-mm",
    "depth-mm",
];
const WHEEL_COLUMNS: &[&str] = &[
    "mark",
    "name",
    "place",
    "bond",
    "grit",
    "diameter-mm",
    "least-diameter-mm",
    "width-mm",
    "marked-rpm",
    "spindle-rpm",
    "teeth",
    "pitch-mm",
    "teeth-angle-deg",
    "ridge-radius-mm",
    "depth-mm",
];

/// Everything in a table, as CSV with a line of names on top.
pub async fn export(ctx: &Ctx, table: Table) -> store::Result<String> {
    let db = ctx.store.read();
    let (columns, rows): (_, Vec<Typed>) = match table {
        Table::Prices => {
            let typed = settings::get::<PriceList>(db).await?.map(|found| fill_prices(&found.value));
            let row = |(field, value): (String, String)| {
                Typed([("field".to_owned(), field), ("value".to_owned(), value)].into())
            };
            (PRICE_COLUMNS, typed.unwrap_or_default().0.into_iter().map(row).collect())
        }
        Table::Models => (MODEL_COLUMNS, knives::models(db).await?.iter().map(fill_model).collect()),
        Table::Wheels => {
            (WHEEL_COLUMNS, wheels::in_use(db).await?.iter().map(|known| fill_wheel(&known.wheel)).collect())
        }
    };
    let mut csv = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing into memory does not fail, and all lines have as many fields as the first.
    let _ = csv.write_record(columns);
    for row in rows {
        let _ = csv.write_record(columns.iter().map(|column| row.get(column)));
    }
    Ok(String::from_utf8(csv.into_inner().unwrap_or_default()).unwrap_or_default())
}

/// What becomes of one line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// It adds something.
    Added,
    /// It changes these fields.
    Changed(Vec<String>),
    /// It says what is known already.
    Same,
    /// It is refused, and why: the field and what is wrong with it.
    Refused(Vec<String>),
}

/// One line of what was brought in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its number in the file, from 1; the names on top are line 1.
    pub number: u64,
    /// The mark or field it is about.
    pub about: String,
    /// What becomes of it.
    pub outcome: Outcome,
}

/// Tries every line, and with `really` takes all of them over, unless one is refused: then nothing is taken over.
///
/// Says what became, or would become, of each line, and whether it was taken over.
pub async fn import(
    ctx: &Ctx,
    by: &Person,
    table: Table,
    text: &str,
    really: bool,
) -> Result<(Vec<Line>, bool), NotSaved> {
    let columns = match table {
        Table::Prices => PRICE_COLUMNS,
        Table::Models => MODEL_COLUMNS,
        Table::Wheels => WHEEL_COLUMNS,
    };
    let rows = read(text, columns).map_err(|why| NotSaved::field("text", why))?;
    let tx = ctx.store.begin_write().await?;
    let lines = match table {
        Table::Prices => prices(ctx, &tx, by, rows).await?,
        Table::Models => models(ctx, &tx, by, rows).await?,
        Table::Wheels => all_wheels(ctx, &tx, by, rows).await?,
    };
    let good = !lines.iter().any(|line| matches!(line.outcome, Outcome::Refused(_)));
    if really && good {
        tx.commit().await?;
        ctx.planner.ring();
    }
    Ok((lines, really && good))
}

/// The lines of a text as forms. Fields are parted by commas, semicolons or tabs, whichever the line of names uses.
fn read(text: &str, columns: &[&str]) -> Result<Vec<(u64, Typed)>, String> {
    // One kind of line end, so that the reader's line numbers are those of an editor.
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
    let names = text.lines().next().unwrap_or_default();
    let delimiter = [b'\t', b';', b','].into_iter().find(|d| names.bytes().any(|b| b == *d)).unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().delimiter(delimiter).trim(csv::Trim::All).from_reader(text.as_bytes());
    let broken = |error: csv::Error| format!("This cannot be read as CSV: {error}.");
    let names: Vec<String> = reader.headers().map_err(broken)?.iter().map(str::to_owned).collect();
    if let Some(unknown) = names.iter().find(|name| !columns.contains(&name.as_str())) {
        return Err(format!("There is no column {unknown}. The columns are: {}.", columns.join(", ")));
    }
    if let Some(missing) = columns.iter().take(2).find(|column| !names.iter().any(|name| name == *column)) {
        return Err(format!("The first line must name the columns; {missing} is missing."));
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(broken)?;
        let number = record.position().map_or(0, csv::Position::line);
        rows.push((number, Typed(names.iter().cloned().zip(record.iter().map(str::to_owned)).collect())));
    }
    if rows.is_empty() { Err("There is no line below the names.".to_owned()) } else { Ok(rows) }
}

fn refused(errors: FieldErrors) -> Outcome {
    Outcome::Refused(
        errors.0.into_iter().map(|error| format!("{}: {}", error.field, error.message)).collect(),
    )
}

/// A form that was not saved, as the outcome of its line.
fn outcome(why: NotSaved) -> Result<Outcome, NotSaved> {
    match why {
        NotSaved::Fields(errors) => Ok(refused(errors)),
        other => Err(other),
    }
}

fn told(before: Option<&Typed>, after: &Typed) -> Outcome {
    match before.map(|before| changes(before, after)) {
        None => Outcome::Added,
        Some(lines) if lines.is_empty() => Outcome::Same,
        Some(lines) => Outcome::Changed(lines),
    }
}

async fn prices(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    rows: Vec<(u64, Typed)>,
) -> Result<Vec<Line>, NotSaved> {
    let known = settings::get::<PriceList>(tx).await?;
    let before = known.as_ref().map(|found| fill_prices(&found.value)).unwrap_or_default();
    let typed = Typed(
        rows.iter().map(|(_, row)| (row.get("field").to_owned(), row.get("value").to_owned())).collect(),
    );
    let checked = check_prices(&typed);
    let mut lines: Vec<Line> = rows
        .iter()
        .map(|(number, row)| {
            let field = row.get("field");
            let errors = checked.as_ref().err().and_then(|errors| errors.of(field));
            let outcome = match errors {
                Some(error) => Outcome::Refused(vec![error.to_owned()]),
                None if before.get(field).trim() == row.get("value").trim() => Outcome::Same,
                None => Outcome::Changed(vec![format!("{} → {}", before.get(field), row.get("value"))]),
            };
            Line { number: *number, about: field.to_owned(), outcome }
        })
        .collect();
    match checked {
        Ok(after) => {
            let now = ctx.now();
            settings::put(tx, &after, known.map_or(0, |found| found.version), Some(by.id), now).await?;
            write_down(tx, (Subject::Prices, None), by, (&before, &fill_prices(&after)), now).await?;
        }
        // What is wrong with a field that has no line stands at the end.
        Err(errors) => lines.extend(
            errors.0.into_iter().filter(|error| !typed.0.contains_key(&error.field)).map(|error| Line {
                number: 0,
                about: error.field,
                outcome: Outcome::Refused(vec![error.message]),
            }),
        ),
    }
    Ok(lines)
}

async fn models(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    rows: Vec<(u64, Typed)>,
) -> Result<Vec<Line>, NotSaved> {
    let mut lines = Vec::new();
    for (number, typed) in rows {
        let mark = typed.get("mark").to_owned();
        let known: Option<Model> = knives::models(tx).await?.into_iter().find(|model| model.mark == mark);
        let outcome = match one_model(ctx, tx, by, known.as_ref(), &typed).await {
            Ok(outcome) => outcome,
            Err(why) => outcome(why)?,
        };
        lines.push(Line { number, about: mark, outcome });
    }
    Ok(lines)
}

async fn one_model(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    known: Option<&Model>,
    typed: &Typed,
) -> Result<Outcome, NotSaved> {
    let id = known.map_or_else(|| ModelId(ctx.new_id()), |model| model.id);
    let after = check_model(typed, id)?;
    save_model::fits(tx, &after).await?;
    let before = known.map(fill_model);
    let form = fill_model(&after);
    let outcome = told(before.as_ref(), &form);
    match knives::model_version(tx, id).await? {
        None => knives::insert_model(tx, &after).await?,
        Some((_, version)) => knives::save_model(tx, &after, version).await?,
    }
    write_down(tx, (Subject::Model, Some(id.0)), by, (&before.unwrap_or_default(), &form), ctx.now()).await?;
    Ok(outcome)
}

async fn all_wheels(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    rows: Vec<(u64, Typed)>,
) -> Result<Vec<Line>, NotSaved> {
    let mut lines = Vec::new();
    for (number, typed) in rows {
        let mark = typed.get("mark").to_owned();
        let known = wheels::in_use(tx).await?.into_iter().find(|known| known.wheel.mark == mark);
        let outcome = match one_wheel(ctx, tx, by, known, &typed).await {
            Ok(outcome) => outcome,
            Err(why) => outcome(why)?,
        };
        lines.push(Line { number, about: mark, outcome });
    }
    Ok(lines)
}

async fn one_wheel(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    known: Option<KnownWheel>,
    typed: &Typed,
) -> Result<Outcome, NotSaved> {
    let wheel: Option<&Wheel> = known.as_ref().map(|known| &known.wheel);
    let id = wheel.map_or_else(|| WheelId(ctx.new_id()), |wheel| wheel.id);
    let after = check_wheel(typed, id, wheel)?;
    save_wheel::fits(tx, &after).await?;
    let before = wheel.map(fill_wheel);
    let form = fill_wheel(&after);
    let outcome = told(before.as_ref(), &form);
    match &known {
        None => wheels::insert(tx, &after).await?,
        Some(known) => wheels::save(tx, &KnownWheel { wheel: after, version: known.version }, None).await?,
    }
    write_down(tx, (Subject::Wheel, Some(id.0)), by, (&before.unwrap_or_default(), &form), ctx.now()).await?;
    Ok(outcome)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_semicolons_and_tabs_part_fields_and_a_byte_order_mark_is_passed_over() {
        for text in [
            "field,value\nheel,12.50\n",
            "\u{feff}field;value\r\nheel;12.50\r\n",
            "field\tvalue\nheel\t 12.50",
        ] {
            let rows = read(text, PRICE_COLUMNS).unwrap();
            assert_eq!(
                (rows[0].0, rows[0].1.get("field"), rows[0].1.get("value")),
                (2, "heel", "12.50"),
                "{text:?}"
            );
        }
        for bad in ["", "field,value", "field,price\nheel,1", "value\n1", "field,value\nheel,1,2"] {
            assert!(read(bad, PRICE_COLUMNS).is_err(), "{bad:?}");
        }
    }
}
