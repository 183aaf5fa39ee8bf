//! The owner takes what the shop is set up with out as CSV (RFC 4180), or brings it in: first as a trial that lists every line it
//! would refuse, then all of it or nothing.
//!
//! A column, or the field named on a line, is a field of the form on the page of the same thing, so it is checked by what checks
//! the form. What is not mentioned stays as it is.

use std::collections::BTreeMap;

use assess::fill_steel;
use shop::bench::{Bench, Station};
use shop::field::FieldErrors;
use shop::lang::Lang;
use shop::owner::{DAYS, Typed, changes, fill_model, fill_prices, fill_profile, fill_station, fill_wheel};
use shop::price::PriceList;
use shop::profile::Profile;

use super::set_up::NotSaved;
use super::{
    save_bench, save_crew, save_hours, save_model, save_prices, save_profile, save_steel, save_wheel,
    save_wording,
};
use crate::context::Ctx;
use crate::post::words::{editable, wording_key};
use crate::store::documents::Crew;
use crate::store::staff::{self, Person};
use crate::store::{self, Queries, WriteTx, knives, settings, wheels};

/// What can be taken out and brought in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {
    /// Name, place, rules and texts.
    Profile,
    /// Hours of counter and bench, and the days off.
    Hours,
    /// The price list.
    Prices,
    /// The words of notices, by language.
    Wording,
    /// Models, known by their mark.
    Models,
    /// Wheels and stones in use, known by their mark.
    Wheels,
    /// Steels of the shop's own, known by their name.
    Steels,
    /// Stations with their setups and changeovers, known by their short name.
    Stations,
    /// People who work here, known by the name they sign in with.
    People,
}

/// How the lines of a table are laid out.
enum Layout {
    /// One thing a line; the first column names it, the others are fields of its form.
    Things(Vec<String>),
    /// One field a line: `field` and `value`, after a column that names the thing where there are several.
    Fields(Option<&'static str>),
}

impl Table {
    /// All of them, with the word of the form and what people read.
    pub const ALL: [(&'static str, &'static str, Self); 9] = [
        ("profile", "Profile and rules", Self::Profile),
        ("hours", "Hours", Self::Hours),
        ("prices", "Prices", Self::Prices),
        ("wording", "Wording of notices", Self::Wording),
        ("models", "Models", Self::Models),
        ("wheels", "Wheels and stones", Self::Wheels),
        ("steels", "Steels", Self::Steels),
        ("stations", "Stations", Self::Stations),
        ("people", "People", Self::People),
    ];

    /// By the word of the form.
    pub fn parse(code: &str) -> Option<Self> {
        Self::ALL.iter().find(|(known, ..)| *known == code).map(|(.., table)| *table)
    }

    fn layout(self) -> Layout {
        let things = |columns: &[&str]| Layout::Things(columns.iter().map(|&c| c.to_owned()).collect());
        match self {
            Self::Profile | Self::Hours | Self::Prices => Layout::Fields(None),
            Self::Wording => Layout::Fields(Some("language")),
            Self::Stations => Layout::Fields(Some("station")),
            Self::Models => things(MODEL_COLUMNS),
            Self::Wheels => things(WHEEL_COLUMNS),
            Self::Steels => {
                let mut columns = vec!["name".to_owned(), "designations".to_owned()];
                for (figure, ..) in assess::FIGURES {
                    columns.extend(["", "-least", "-most", "-source"].map(|end| format!("{figure}{end}")));
                }
                columns.extend(STEEL_COLUMNS.iter().map(|&c| c.to_owned()));
                Layout::Things(columns)
            }
            Self::People => {
                let mut columns: Vec<String> = PEOPLE_COLUMNS.iter().map(|&c| c.to_owned()).collect();
                columns.extend(DAYS.iter().map(|(day, _)| format!("own-{day}")));
                columns.push("own-closed".to_owned());
                Layout::Things(columns)
            }
        }
    }

    fn columns(self) -> Vec<String> {
        match self.layout() {
            Layout::Things(columns) => columns,
            Layout::Fields(of) => of.into_iter().chain(["field", "value"]).map(str::to_owned).collect(),
        }
    }
}

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
    "new-diameter-mm",
    "pieces",
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

const STEEL_COLUMNS: &[&str] =
    &["tempering", "tempering-source", "hardness-least", "hardness-most", "grindability", "corrosion"];
const PEOPLE_COLUMNS: &[&str] =
    &["sign-in-name", "full-name", "desk", "bench", "owner", "at-bench", "skills", "own-hours"];

/// The two languages notices are written in.
const LANGUAGES: [Lang; 2] = [Lang::En, Lang::De];

/// Every thing of a table as its form, by what names it; the name is empty where there is only one.
async fn forms(db: &impl Queries, table: Table) -> store::Result<Vec<(String, Typed)>> {
    let one = |form: Option<Typed>| form.map(|form| (String::new(), form)).into_iter().collect();
    let profile = async || settings::get::<Profile>(db).await.map(|found| found.map(|found| found.value));
    Ok(match table {
        Table::Profile => one(profile().await?.map(|profile| fill_profile(&profile))),
        Table::Hours => one(profile().await?.map(|profile| save_hours::fill(&profile))),
        Table::Prices => one(settings::get::<PriceList>(db).await?.map(|found| fill_prices(&found.value))),
        Table::Wording => match profile().await? {
            Some(profile) => LANGUAGES.map(|lang| (lang.code().to_owned(), worded(&profile, lang))).into(),
            None => Vec::new(),
        },
        Table::Models => {
            knives::models(db).await?.iter().map(|model| (model.mark.clone(), fill_model(model))).collect()
        }
        Table::Wheels => {
            let wheels = wheels::in_use(db).await?;
            wheels.iter().map(|known| (known.wheel.mark.clone(), fill_wheel(&known.wheel))).collect()
        }
        Table::Steels => {
            let rates = settings::get_or_default::<craft::Rates>(db).await?.value;
            rates.steels.iter().map(|steel| (steel.name.to_string(), fill_steel(steel))).collect()
        }
        Table::Stations => {
            let bench = settings::get_or_default::<Bench>(db).await?.value;
            let form = |station: &Station| {
                let mut form = fill_station(station);
                // It names the station, in a column of its own.
                form.0.remove("id");
                form
            };
            bench.stations.iter().map(|station| (station.id.clone(), form(station))).collect()
        }
        Table::People => {
            let crew = settings::get_or_default::<Crew>(db).await?.value;
            let people = staff::list(db).await?;
            let here = people.iter().filter(|person| person.left_at.is_none());
            here.map(|person| {
                let mut form = save_crew::fill(person, &crew);
                form.set("sign-in-name", &person.sign_in_name);
                form.set("full-name", &person.full_name);
                (person.sign_in_name.clone(), form)
            })
            .collect()
        }
    })
}

/// All texts of all notices as they stand: the owner's words, or the program's.
fn worded(profile: &Profile, lang: Lang) -> Typed {
    let mut form = Typed::default();
    for name in save_wording::KINDS.iter().flat_map(|(kind, _)| save_wording::texts(kind)) {
        let own = profile.wording.get(&wording_key(lang, name)).cloned();
        form.set(name, own.or_else(|| editable(lang, name)).unwrap_or_default());
    }
    form
}

/// Everything in a table, as CSV with a line of names on top.
pub async fn export(ctx: &Ctx, table: Table) -> store::Result<String> {
    let columns = table.columns();
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (name, form) in forms(ctx.store.read(), table).await? {
        match table.layout() {
            Layout::Things(columns) => {
                rows.push(columns.iter().map(|column| form.get(column).to_owned()).collect());
            }
            Layout::Fields(of) => {
                let lines = form.0.into_iter().map(|(field, value)| {
                    of.map(|_| name.clone()).into_iter().chain([field, value]).collect()
                });
                rows.extend(lines);
            }
        }
    }
    Ok(written(&columns, &rows))
}

/// Rows as CSV with a line of names on top.
pub fn written(columns: &[String], rows: &[Vec<String>]) -> String {
    let mut csv = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing into memory does not fail, and all lines have as many fields as the first.
    for row in std::iter::once(columns).chain(rows.iter().map(Vec::as_slice)) {
        let _ = csv.write_record(row);
    }
    String::from_utf8(csv.into_inner().unwrap_or_default()).unwrap_or_default()
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
    /// Its number in the file, from 1; the names on top are line 1. 0: it is missing.
    pub number: u64,
    /// What it is about: the name of the thing, the field.
    pub about: String,
    /// What becomes of it.
    pub outcome: Outcome,
}

/// What a file says about one thing.
#[derive(Debug, Default)]
struct Said {
    /// What names it.
    name: String,
    /// The fields that are mentioned.
    fields: Typed,
    /// On which lines.
    lines: BTreeMap<String, u64>,
    /// On which line it begins.
    first: u64,
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
    let rows = read(text, &table.columns()).map_err(|why| NotSaved::field("text", why))?;
    let tx = ctx.store.begin_write().await?;
    let mut lines = Vec::new();
    for said in gathered(table, rows) {
        let find = |forms: Vec<(String, Typed)>| forms.into_iter().find(|(name, _)| *name == said.name);
        let before = find(forms(&tx, table).await?).map(|(_, form)| form);
        let mut typed = before.clone().unwrap_or_default();
        typed.0.extend(said.fields.0.clone());
        let (mut errors, mut saved) = (FieldErrors::default(), false);
        // With what is wrong put back once, so that a second fault on another line is named as well.
        for _ in 0..2 {
            match put(ctx, &tx, by, table, &said.name, before.is_some(), &typed).await {
                Ok(()) => {
                    saved = true;
                    break;
                }
                Err(NotSaved::Fields(wrong)) => {
                    for error in wrong.0 {
                        let was = before.as_ref().map_or("", |before| before.get(&error.field)).to_owned();
                        typed.set(&error.field, was);
                        if errors.of(&error.field).is_none() {
                            errors.0.push(error);
                        }
                    }
                }
                Err(other) => return Err(other),
            }
        }
        let after = find(forms(&tx, table).await?).map(|(_, form)| form).unwrap_or_default();
        if saved {
            errors.0.extend(dropped(&said, &typed, &after).0);
        }
        let before = before.as_ref();
        match table.layout() {
            Layout::Things(_) => lines.push(thing(said, before, &after, errors)),
            Layout::Fields(_) => lines.extend(fields(&said, before, errors)),
        }
    }
    let good = !lines.iter().any(|line| matches!(line.outcome, Outcome::Refused(_)));
    if really && good {
        tx.commit().await?;
        ctx.planner.ring();
    }
    Ok((lines, really && good))
}

/// The lines of a text as forms. Fields are parted by commas, semicolons or tabs, whichever the line of names uses.
fn read(text: &str, columns: &[String]) -> Result<Vec<(u64, Typed)>, String> {
    // One kind of line end, so that the reader's line numbers are those of an editor.
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
    let names = text.lines().next().unwrap_or_default();
    let delimiter = [b'\t', b';', b','].into_iter().find(|d| names.bytes().any(|b| b == *d)).unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().delimiter(delimiter).trim(csv::Trim::All).from_reader(text.as_bytes());
    let broken = |error: csv::Error| format!("This cannot be read as CSV: {error}.");
    let names: Vec<String> = reader.headers().map_err(broken)?.iter().map(str::to_owned).collect();
    if let Some(unknown) = names.iter().find(|name| !columns.contains(name)) {
        return Err(format!("There is no column {unknown}. The columns are: {}.", columns.join(", ")));
    }
    // What names a thing has to be there; where a line is a field, so do the field and its value.
    let needed = if columns.last().is_some_and(|last| last == "value") { columns.len() } else { 1 };
    if let Some(missing) = columns.iter().take(needed).find(|column| !names.contains(column)) {
        return Err(format!("The first line must name the columns; {missing} is missing."));
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(broken)?;
        let number = record.position().map_or(0, csv::Position::line);
        rows.push((number, Typed(names.iter().cloned().zip(record.iter().map(tick)).collect())));
    }
    if rows.is_empty() { Err("There is no line below the names.".to_owned()) } else { Ok(rows) }
}

/// Spreadsheets write a tick in their own way.
fn tick(cell: &str) -> String {
    match cell {
        _ if cell.eq_ignore_ascii_case("true") => "true".to_owned(),
        _ if cell.eq_ignore_ascii_case("false") => String::new(),
        other => other.to_owned(),
    }
}

/// The lines by the thing they are about, in the order in which the things come.
fn gathered(table: Table, rows: Vec<(u64, Typed)>) -> Vec<Said> {
    let mut all: Vec<Said> = Vec::new();
    for (number, row) in rows {
        match table.layout() {
            Layout::Things(columns) => {
                let name = row.get(&columns[0]).to_owned();
                all.push(Said { name, fields: row, first: number, ..Said::default() });
            }
            Layout::Fields(of) => {
                let name = of.map(|column| row.get(column)).unwrap_or_default();
                let at = all.iter().position(|said| said.name == name).unwrap_or_else(|| {
                    all.push(Said { name: name.to_owned(), first: number, ..Said::default() });
                    all.len() - 1
                });
                all[at].fields.set(row.get("field"), row.get("value"));
                all[at].lines.insert(row.get("field").to_owned(), number);
            }
        }
    }
    all
}

/// What was said and is not there afterwards, though it was not put back, must not be lost in silence.
fn dropped(said: &Said, typed: &Typed, after: &Typed) -> FieldErrors {
    let mut errors = FieldErrors::default();
    for (field, value) in said.fields.0.iter().filter(|(_, value)| !value.trim().is_empty()) {
        match after.get(field) {
            _ if typed.get(field) != value => {}

            "" => errors.add(field, "There is no such field, or nothing here that it belongs to."),
            "true" if value != "true" => errors.add(field, "Please write true, or leave it empty."),
            _ => {}
        }
    }
    errors
}

fn thing(said: Said, before: Option<&Typed>, after: &Typed, errors: FieldErrors) -> Line {
    let outcome = match before.map(|before| changes(before, after)) {
        _ if !errors.is_empty() => {
            let each = errors.0.into_iter().map(|error| format!("{}: {}", error.field, error.message));
            Outcome::Refused(each.collect())
        }
        None => Outcome::Added,
        Some(lines) if lines.is_empty() => Outcome::Same,
        Some(lines) => Outcome::Changed(lines),
    };
    Line { number: said.first, about: said.name, outcome }
}

/// A line for each field that is mentioned, and one for each that is wrong and was not.
fn fields(said: &Said, before: Option<&Typed>, errors: FieldErrors) -> Vec<Line> {
    let nothing = Typed::default();
    let before = before.unwrap_or(&nothing);
    let about = |field: &str| format!("{} {field}", said.name).trim_start().to_owned();
    let told = |(field, number): (&String, &u64)| {
        let (was, is) = (before.get(field).trim(), said.fields.get(field).trim());
        let outcome = match errors.of(field) {
            Some(why) => Outcome::Refused(vec![why.to_owned()]),
            None if was == is => Outcome::Same,
            None => Outcome::Changed(vec![format!("{was} → {is}")]),
        };
        Line { number: *number, about: about(field), outcome }
    };
    let mut lines: Vec<Line> = said.lines.iter().map(told).collect();
    lines.sort_by_key(|line| line.number);
    let missing = errors.0.into_iter().filter(|error| !said.lines.contains_key(&error.field));
    lines.extend(missing.map(|error| Line {
        number: 0,
        about: about(&error.field),
        outcome: Outcome::Refused(vec![error.message]),
    }));
    lines
}

/// Saves the form of one thing, as its page does.
async fn put(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    table: Table,
    name: &str,
    known: bool,
    typed: &Typed,
) -> Result<(), NotSaved> {
    let now = ctx.now();
    let profile_version = async || -> Result<i64, NotSaved> {
        Ok(settings::get::<Profile>(tx).await?.ok_or(NotSaved::Gone)?.version)
    };
    match table {
        Table::Profile => save_profile::put(tx, by, profile_version().await?, typed, now).await,
        Table::Hours => save_hours::put(tx, by, profile_version().await?, typed, now).await,
        Table::Prices => {
            let version = settings::get::<PriceList>(tx).await?.map_or(0, |found| found.version);
            save_prices::put(tx, by, version, typed, now).await
        }
        Table::Wording => {
            let lang = LANGUAGES.into_iter().find(|lang| lang.code() == name);
            let lang =
                lang.ok_or_else(|| NotSaved::field("language", "Notices are written in en and de."))?;
            let mut errors = FieldErrors::default();
            for (kind, _) in save_wording::KINDS {
                let version = profile_version().await?;
                match save_wording::put(tx, by, version, (lang, kind), typed, now).await {
                    Err(NotSaved::Fields(wrong)) => errors.0.extend(wrong.0),
                    other => other?,
                }
            }
            Ok(errors.or(Some(()))?)
        }
        Table::Models => {
            let model = knives::models(tx).await?.into_iter().find(|model| model.mark == name);
            let version = match &model {
                Some(model) => knives::model_version(tx, model.id).await?.map(|(model, n)| (model.id, n)),
                None => None,
            };
            save_model::put(ctx, tx, by, version, typed).await.map(|_| ())
        }
        Table::Wheels => {
            let wheel = wheels::in_use(tx).await?.into_iter().find(|known| known.wheel.mark == name);
            let version = wheel.map(|known| (known.wheel.id, known.version));
            save_wheel::put(ctx, tx, by, version, typed).await.map(|_| ())
        }
        Table::Steels => {
            let version = settings::get_or_default::<craft::Rates>(tx).await?.version;
            save_steel::put(tx, by, version, known.then_some(name), typed, now).await.map(|_| ())
        }
        Table::Stations => {
            let version = settings::get_or_default::<Bench>(tx).await?.version;
            let mut typed = typed.clone();
            typed.set("id", name);
            save_bench::put(tx, by, version, known.then_some(name), &typed, now).await.map(|_| ())
        }
        Table::People => {
            let person = staff::by_name(tx, name).await?.filter(|(person, _)| person.left_at.is_none());
            let (person, _) = person.ok_or_else(|| {
                let words = "Nobody here signs in so. Somebody new is added under “People”, where their first password is shown.";
                NotSaved::field("sign-in-name", words)
            })?;
            if typed.get("full-name") != person.full_name {
                return Err(NotSaved::field("full-name", "A person's name is not changed here."));
            }
            let version = settings::get_or_default::<Crew>(tx).await?.version;
            save_crew::put(tx, by, person.id, version, typed, now).await
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn commas_semicolons_and_tabs_part_fields_and_a_byte_order_mark_is_passed_over() {
        let columns = Table::Prices.columns();
        for text in [
            "field,value\nheel,12.50\n",
            "\u{feff}field;value\r\nheel;12.50\r\n",
            "field\tvalue\nheel\t 12.50",
        ] {
            let rows = read(text, &columns).unwrap();
            assert_eq!(
                (rows[0].0, rows[0].1.get("field"), rows[0].1.get("value")),
                (2, "heel", "12.50"),
                "{text:?}"
            );
        }
        for bad in ["", "field,value", "field,price\nheel,1", "value\n1", "field,value\nheel,1,2"] {
            assert!(read(bad, &columns).is_err(), "{bad:?}");
        }
    }

    proptest! {
        #[test]
        fn whatever_is_pasted_is_read_or_refused(text in "\\PC{0,200}", names in "(field|value|station|[a-z]){1,4}") {
            for (.., table) in Table::ALL {
                let _ = read(&text, &table.columns());
                let _ = read(&format!("{names},value\n{text}"), &table.columns());
            }
        }

        #[test]
        fn what_was_written_is_read_again(cells in prop::collection::vec("[ -~\n]{0,12}", 1..6)) {
            let columns = Table::Prices.columns();
            let field = |at: usize| format!("field-{at}");
            let rows: Vec<Vec<String>> = cells.iter().enumerate().map(|(at, cell)| vec![field(at), cell.clone()]).collect();
            let back = read(&written(&columns, &rows), &columns).unwrap();
            prop_assert_eq!(back.len(), cells.len());
            for (at, (_, row)) in back.iter().enumerate() {
                prop_assert_eq!(row.get("field"), field(at));
                prop_assert_eq!(row.get("value"), tick(cells[at].trim()));
            }
        }
    }

    #[test]
    fn a_tick_is_read_as_spreadsheets_write_it() {
        let rows = read("mark,current,darkened\nA,TRUE,False", &Table::Models.columns()).unwrap();
        assert_eq!((rows[0].1.get("current"), rows[0].1.get("darkened")), ("true", ""));
    }
}
