//! Some weeks of work in the demo shop, lived through by the same use cases as real work, under a clock that is moved.
//!
//! So everything that hangs together in a real shop hangs together here: ledger, tags, prices, bills, notices. Names are
//! invented; the dice are seeded.

use ::shop::bench::{Bench, Drawing, Model};
use ::shop::booking::{Address, Arrival, BookedKnife, Booking, Person as Booker, Trouble};
use ::shop::edge::EdgeKind;
use ::shop::ids::VisitId;
use ::shop::inspection::{RawChip, RawInspection};
use ::shop::money::Money;
use ::shop::piece::PieceState;
use ::shop::profile::Profile;
use ::shop::read::{Operation, OperationState, Piece, Visit};
use ::shop::route::OperationKind;
use ::shop::safety;
use ::shop::tag::Tag;
use ::shop::units::short;
use ::shop::work::{LOOKED_AT, RawCheck, RawDone};
use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use crate::clock::Clock;
use crate::context::Ctx;
use crate::local;
use crate::planning::worker;
use crate::store::requests::{self, RequestKey};
use crate::store::staff::Person;
use crate::store::{knives, operations, outbox, settings, visits, wheels};
use crate::use_cases::book_visit::{Asked, book_visit};
use crate::use_cases::check_piece::check_piece;
use crate::use_cases::confirm_setup::confirm_setup;
use crate::use_cases::confirm_visit::confirm_visit;
use crate::use_cases::finish_operation::finish_operation;
use crate::use_cases::hand_back::{HandBack, Way, hand_back};
use crate::use_cases::inspect_piece::{Sheet, inspect_piece};
use crate::use_cases::issue_bill;
use crate::use_cases::offer;
use crate::use_cases::receive_visit::{Came, Parcel, receive_visit};
use crate::use_cases::record_payment::Payment;
use crate::use_cases::start_operation::start_operation;
use crate::use_cases::tag_piece::Wears;

/// How many weeks are lived through.
const WEEKS: u64 = 6;

/// How far a visit of the story gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Until {
    /// Booked and confirmed.
    Expected,
    /// Received and tagged.
    InHand,
    /// Measured and agreed: in line.
    InLine,
    /// All done, waiting to be fetched.
    Ready,
    /// Handed back and paid.
    Home,
}

/// One knife of the story: whose it is, what it is, what happened to it.
struct Story {
    /// Place in [`PEOPLE`].
    owner: usize,
    /// Mark of one of our models, or `None` for another make.
    mark: Option<&'static str>,
    /// Depth of the chip it comes with, millimetres; 0: only dull.
    chip_mm: f64,
    /// Working days before today on which it is booked.
    days_ago: u64,
    until: Until,
}

const PEOPLE: [(&str, &str); 10] = [
    ("Ines Calado", "ines@example.org"),
    ("Wim Aerts", "wim@example.org"),
    ("Kitchen of the Blue Door", "kitchen@example.com"),
    ("Ruth Adeyemi", "ruth@example.org"),
    ("Jonas Lindqvist", "jonas@example.org"),
    ("Marta Szabó", "marta@example.org"),
    ("Old Mill Bakery", "mill@example.com"),
    ("Pilar Ochoa", "pilar@example.org"),
    ("Tomás Reis", "tomas@example.org"),
    ("Yuki Mori", "yuki@example.org"),
];

const STORIES: &[&[Story]] = &[
    &[
        story(2, Some("DN-27"), 0.0, 28, Until::Home),
        story(2, Some("SW-24"), 0.0, 28, Until::Home),
        story(2, Some("GN-20"), 0.9, 28, Until::Home),
    ],
    &[story(0, Some("DN-21"), 0.0, 26, Until::Home)],
    &[story(1, None, 0.5, 24, Until::Home), story(1, Some("TN-12"), 0.0, 24, Until::Home)],
    &[story(6, Some("SW-24"), 0.0, 22, Until::Home), story(6, Some("DN-27"), 0.0, 22, Until::Home)],
    &[story(3, Some("GN-20"), 1.2, 19, Until::Home)],
    &[story(4, Some("HR-27"), 0.0, 17, Until::Home), story(4, Some("DN-21"), 0.0, 17, Until::Home)],
    &[story(5, Some("DN-21"), 0.0, 14, Until::Home), story(5, None, 0.0, 14, Until::Home)],
    &[story(7, Some("SW-24"), 0.0, 12, Until::Home)],
    // The kitchen's long slicer comes back after a busy month.
    &[story(2, Some("DN-27"), 0.4, 9, Until::Home)],
    &[story(8, Some("TN-12"), 0.0, 8, Until::Ready), story(8, Some("GN-20"), 0.6, 8, Until::Ready)],
    &[
        story(9, Some("DN-21"), 0.0, 5, Until::InLine),
        story(9, Some("DN-27"), 0.0, 5, Until::InLine),
        story(9, None, 0.7, 5, Until::InLine),
    ],
    &[story(6, Some("SW-24"), 0.0, 4, Until::InLine), story(6, Some("SW-24"), 0.0, 4, Until::InLine)],
    &[story(0, Some("GN-20"), 0.5, 4, Until::InLine)],
    &[story(3, Some("DN-21"), 0.0, 3, Until::InHand), story(3, Some("HR-27"), 0.3, 3, Until::InHand)],
    &[story(7, Some("DN-27"), 0.0, 1, Until::Expected)],
    &[story(1, Some("GN-20"), 0.0, 1, Until::Expected), story(1, None, 0.4, 1, Until::Expected)],
];

const fn story(owner: usize, mark: Option<&'static str>, chip_mm: f64, days_ago: u64, until: Until) -> Story {
    Story { owner, mark, chip_mm, days_ago, until }
}

/// A knife as it is at this point of the story.
struct Known {
    owner: usize,
    mark: Option<&'static str>,
    tag: Tag,
    height_mm: f64,
    busy: bool,
}

/// The story's hand: the context under its own clock, and whose hands work.
struct Telling<'a> {
    ctx: Ctx,
    profile: Profile,
    people: [&'a Person; 2],
    dice: StdRng,
    known: Vec<Known>,
    n_keys: u32,
}

/// Lives through the last weeks. The shop's base must be there already.
pub(super) async fn live(ctx: &Ctx, owner: &Person, colleague: &Person) -> anyhow::Result<()> {
    let now = ctx.now();
    let profile = settings::get::<Profile>(ctx.store.read()).await?.map(|found| found.value);
    let Some(profile) = profile else { return Ok(()) };
    let standing = Clock::standing_at(now - TimeDelta::weeks(WEEKS as i64));
    let mut telling = Telling {
        ctx: ctx.under(standing),
        profile,
        people: [owner, colleague],
        dice: StdRng::seed_from_u64(11),
        known: Vec::new(),
        n_keys: 0,
    };
    let today = local::date(local::zone(&telling.profile), now);
    for visit in STORIES {
        telling.visit(visit, today, now).await?;
    }
    // Notices of the past were sent in the past.
    let tx = ctx.store.begin_write().await?;
    for kept in outbox::list(&tx, outbox::Which::Waiting, None, 10_000).await? {
        outbox::mark_sent(&tx, kept.id, kept.queued_at.min(now)).await?;
    }
    tx.commit().await?;
    Ok(())
}

impl Telling<'_> {
    fn key(&mut self, what: &'static str) -> anyhow::Result<(RequestKey, String)> {
        self.n_keys += 1;
        let text = format!("demo-history-{:08}", self.n_keys);
        let key = RequestKey::parse(what, &text)
            .ok_or_else(|| anyhow::anyhow!("the demo's own key does not fit"))?;
        Ok((key, text))
    }

    async fn visit(&mut self, stories: &[Story], today: NaiveDate, now: DateTime<Utc>) -> anyhow::Result<()> {
        let Some(first) = stories.first() else { return Ok(()) };
        let booked_on = working_days_before(&self.profile, today, first.days_ago);
        let zone = local::zone(&self.profile);
        self.ctx.clock.set(local::at_minute(zone, booked_on, 19 * 60 + 12));
        let id = self.book(first.owner, stories).await?;
        confirm_visit(&self.ctx, id).await?;
        if first.until == Until::Expected {
            return Ok(());
        }
        self.forward_to_opening(2);
        self.receive(id, stories).await?;
        if first.until == Until::InHand {
            return Ok(());
        }
        self.measure(id, stories).await?;
        worker::work_once(&self.ctx).await?;
        if first.until == Until::InLine {
            return Ok(());
        }
        self.work(id).await?;
        if first.until == Until::Home {
            self.forward_to_opening(1);
            self.hand_back(id).await?;
        }
        // The story never runs past the present.
        anyhow::ensure!(self.ctx.now() <= now, "the demo's history ran past today");
        Ok(())
    }

    async fn book(&mut self, owner: usize, stories: &[Story]) -> anyhow::Result<VisitId> {
        let offer = offer::load(&self.ctx).await?.ok_or_else(|| anyhow::anyhow!("the shop is not set up"))?;
        let (name, email) = PEOPLE[owner];
        let mut knives = Vec::new();
        for s in stories {
            let model = s.mark.and_then(|mark| offer.knows.models.iter().find(|m| m.mark == mark));
            knives.push(self.booked_knife(s, model));
        }
        let by_post = owner.is_multiple_of(2);
        let address = by_post.then(|| Address {
            street: format!("{} Harbour Row", 3 + owner),
            postcode: format!("41{owner}0"),
            town: "Sandhaven".into(),
            country: "Portugal".into(),
        });
        let booking = Booking {
            knives,
            arrival: Arrival::Post,
            back_by_post: by_post,
            person: Booker { name: name.into(), email: email.into(), phone: String::new(), address },
            declared: Money(if by_post { 18_000 } else { 0 }),
            rush: false,
            recycle_refused: false,
            begin_early: true,
        };
        let (key, form_key) = self.key("book")?;
        let asked = Asked {
            key: key.clone(),
            form_key,
            places: (0..stories.len() as u32).collect(),
            booking,
            language: shop::lang::Lang::En,
        };
        book_visit(&self.ctx, &offer, asked).await?;
        let id = requests::outcome(self.ctx.store.read(), &key).await?;
        id.map(VisitId).ok_or_else(|| anyhow::anyhow!("the demo's booking left no trace"))
    }

    fn booked_knife(&mut self, s: &Story, model: Option<&Model>) -> BookedKnife {
        let tag = self
            .known
            .iter_mut()
            .find(|k| k.owner == s.owner && k.mark == s.mark && s.mark.is_some() && !k.busy);
        let tag = tag.map(|known| {
            known.busy = true;
            known.tag
        });
        BookedKnife {
            model: model.map(|m| m.id),
            tag,
            name: model.map_or_else(|| "Chef's knife, another make".to_owned(), |m| m.name.clone()),
            edge: model.map_or(EdgeKind::Double, |m| m.drawing.edge),
            length_mm: model.map_or(210.0, |m| m.drawing.length_mm),
            steel: model.map(|m| m.drawing.steel.clone()),
            darkened: model.is_some_and(|m| m.drawing.darkened),
            trouble: Trouble {
                dull: true,
                chips: (s.chip_mm > 0.0).then_some(Some(s.chip_mm)),
                ..Trouble::default()
            },
            to_plain: false,
            note: String::new(),
        }
    }

    async fn load(&self, id: VisitId) -> anyhow::Result<Visit> {
        visits::get(self.ctx.store.read(), id)
            .await?
            .ok_or_else(|| anyhow::anyhow!("the demo's visit is gone"))
    }

    async fn receive(&mut self, id: VisitId, stories: &[Story]) -> anyhow::Result<()> {
        let visit = self.load(id).await?;
        let wears = |piece: &Piece| piece.booked.tag.map_or(Wears::Nothing, Wears::Tag);
        let (key, _) = self.key("receive")?;
        let parcel = Parcel {
            key,
            visit: id,
            version: visit.version,
            found: visit.pieces.iter().map(|p| (p.id, Came::Here(wears(p)))).collect(),
            unbooked: Vec::new(),
            note: String::new(),
        };
        receive_visit(&self.ctx, self.people[1], parcel).await?;
        for (piece, s) in self.load(id).await?.pieces.iter().zip(stories) {
            let Some(tag) = piece.tag else { continue };
            if self.known.iter().any(|k| k.tag == tag) {
                continue;
            }
            // A knife that comes for the first time has seen home stones: some tenths are gone already.
            let drawn = match piece.booked.model {
                Some(model) => {
                    knives::model(self.ctx.store.read(), model).await?.map(|m| m.drawing.height_mm)
                }
                None => None,
            };
            let height_mm = drawn.unwrap_or(45.0) - self.dice.random_range(0.2..1.4);
            self.known.push(Known { owner: s.owner, mark: s.mark, tag, height_mm, busy: true });
        }
        Ok(())
    }

    async fn measure(&mut self, id: VisitId, stories: &[Story]) -> anyhow::Result<()> {
        let visit = self.load(id).await?;
        for (piece, s) in visit.pieces.iter().zip(stories) {
            self.ctx.clock.advance(TimeDelta::minutes(11));
            let Some(known) = self.known.iter().find(|k| Some(k.tag) == piece.tag) else { continue };
            let drawing = match piece.booked.model {
                Some(model) => knives::model(self.ctx.store.read(), model).await?.map(|m| m.drawing),
                None => None,
            };
            let raw = sheet(piece, known.height_mm, drawing.as_ref(), s.chip_mm);
            inspect_piece(&self.ctx, self.people[0], piece.id, &Sheet { raw, ..Sheet::default() }).await?;
        }
        Ok(())
    }

    /// Works off everything that is still open on a visit's pieces, one step after another.
    async fn work(&mut self, id: VisitId) -> anyhow::Result<()> {
        for number in 0..self.load(id).await?.pieces.len() {
            let piece = self.load(id).await?.pieces.swap_remove(number);
            if !matches!(piece.state, PieceState::Agreed | PieceState::InLine) {
                continue;
            }
            for operation in operations::of_piece(self.ctx.store.read(), piece.id).await? {
                if operation.state == OperationState::Open {
                    self.step(&piece, &operation).await?;
                }
            }
            let taken = piece.verdict.as_ref().map_or(0.0, shop::read::Verdict::likely_mm);
            if let Some(known) = self.known.iter_mut().find(|k| Some(k.tag) == piece.tag) {
                known.height_mm -= taken;
                known.busy = false;
            }
        }
        Ok(())
    }

    async fn step(&mut self, piece: &Piece, operation: &Operation) -> anyhow::Result<()> {
        let step = &operation.step;
        // Hands are a little quicker or slower than the list.
        let minutes = (f64::from(step.minutes) * self.dice.random_range(0.8..1.3)).round().max(1.0) as i64;
        let by = self.people[usize::from(step.station == "hone" || step.station == "pack")];
        let mounting = self.mounting(&step.station, &step.setup).await?;
        self.forward_to_room(mounting + minutes);
        self.ctx.clock.advance(TimeDelta::minutes(mounting));
        self.mount(by, &step.station, &step.setup).await?;
        let (key, _) = self.key("start")?;
        start_operation(&self.ctx, by, &key, operation.id).await?;
        self.ctx.clock.advance(TimeDelta::minutes(minutes));
        let after = piece
            .inspection
            .as_ref()
            .zip(piece.verdict.as_ref())
            .map(|(i, v)| i.heights_mm.1 - v.likely_mm());
        if step.kind == OperationKind::Prove {
            let serrated = piece.booked.edge.is_serrated();
            let raw = RawCheck {
                good: LOOKED_AT.iter().map(|(code, _)| (*code).to_owned()).collect(),
                method: if serrated { "rope" } else { "force" }.to_owned(),
                number: if serrated { "4".to_owned() } else { short(self.dice.random_range(0.9..1.6), 1) },
                height: after.map(|h| short(h, 1)).unwrap_or_default(),
                verdict: "pass".to_owned(),
                ..RawCheck::default()
            };
            let (key, _) = self.key("check")?;
            check_piece(&self.ctx, by, &key, operation.id, &raw).await?;
        } else {
            let (key, _) = self.key("done")?;
            finish_operation(&self.ctx, by, &key, operation.id, &RawDone::default()).await?;
        }
        self.ctx.clock.advance(TimeDelta::minutes(i64::from(step.lag) + 2));
        Ok(())
    }

    /// Minutes it takes to change to a setup from the one that is mounted, a little more or less than the table says.
    async fn mounting(&mut self, station: &str, setup: &str) -> anyhow::Result<i64> {
        let bench = settings::get_or_default::<Bench>(self.ctx.store.read()).await?.value;
        let Some(station) = bench.station(station) else { return Ok(0) };
        let at = |id: &str| station.setups.iter().position(|known| known.id == id);
        let table = station.mounted.as_deref().and_then(at).zip(at(setup));
        let minutes = table.map_or(0, |(from, to)| station.minutes_between(from, to));
        Ok((f64::from(minutes) * self.dice.random_range(0.8..1.4)).round() as i64)
    }

    /// Goes through the setup's checks, once a day and setup.
    async fn mount(&mut self, by: &Person, station: &str, setup: &str) -> anyhow::Result<()> {
        let db = self.ctx.store.read();
        let Some(bench) = settings::get::<Bench>(db).await? else { return Ok(()) };
        let Some(model) = bench.value.station(station) else { return Ok(()) };
        let Some(wanted) = model.setups.iter().find(|s| s.id == setup) else { return Ok(()) };
        let wheel = wheels::for_setup(db, station, setup).await?.into_iter().next();
        let checks = safety::setup_checks(model, wanted, wheel.as_ref().map(|k| &k.wheel))
            .map_err(anyhow::Error::msg)?;
        let ticks: Vec<String> = checks.into_iter().map(|check| check.code).collect();
        let (key, _) = self.key("setup")?;
        confirm_setup(&self.ctx, by, &key, station, setup, &ticks, "").await?;
        Ok(())
    }

    async fn hand_back(&mut self, id: VisitId) -> anyhow::Result<()> {
        let visit = self.load(id).await?;
        let prices = settings::get(self.ctx.store.read()).await?.map(|found| found.value);
        let total = prices.map_or(Money(0), |prices| issue_bill::total(&visit, &prices));
        let way = if visit.back_by_post {
            Way::Parcel {
                carrier: "Coast Parcels".into(),
                number: format!("CP{:08}", 4_000_000 + self.n_keys),
            }
        } else {
            Way::Counter { taken_by: visit.contact.name.clone() }
        };
        let how = if visit.back_by_post { "transfer" } else { "cash" };
        let (key, _) = self.key("hand-back")?;
        let asked = HandBack {
            key,
            visit: id,
            version: visit.version,
            pieces: visit.pieces.iter().filter(|p| p.state == PieceState::Ready).map(|p| p.id).collect(),
            way,
            payment: (total > Money(0)).then_some(Payment { amount: total, how }),
            part: false,
        };
        hand_back(&self.ctx, self.people[1], asked).await?;
        Ok(())
    }

    /// Moves the clock to the opening of the `n`-th working day from here.
    fn forward_to_opening(&mut self, n: u16) {
        let zone = local::zone(&self.profile);
        if let Some(at) = local::opening_of_day_after(zone, &self.profile.bench, self.ctx.now(), n) {
            self.ctx.clock.set(at + TimeDelta::minutes(10));
        }
    }

    /// Moves the clock to where `minutes` of work fit before the bench closes.
    fn forward_to_room(&mut self, minutes: i64) {
        let zone = local::zone(&self.profile);
        let now = self.ctx.now();
        let room = TimeDelta::minutes(minutes);
        let fits = local::windows(zone, &self.profile.bench, local::date(zone, now), 14)
            .map(|(from, to)| (from.max(now), to))
            .find(|(from, to)| *to - *from >= room);
        if let Some((from, _)) = fits {
            self.ctx.clock.set(from);
        }
    }
}

fn working_days_before(profile: &Profile, today: NaiveDate, n: u64) -> NaiveDate {
    let mut day = today;
    let mut left = n;
    while left > 0 {
        day = day.checked_sub_days(Days::new(1)).unwrap_or(day);
        left -= u64::from(profile.bench.is_open(day));
    }
    day
}

/// The sheet the bench fills in for a piece of this height.
fn sheet(piece: &Piece, height_mm: f64, drawing: Option<&Drawing>, chip_mm: f64) -> RawInspection {
    let chips = (chip_mm > 0.0).then(|| RawChip {
        depth: short(chip_mm, 2),
        width: short(chip_mm * 1.8, 2),
        at: short(piece.booked.length_mm * 0.4, 0),
        choice: "all".into(),
        part: String::new(),
    });
    let mut raw = RawInspection {
        version: piece.version.to_string(),
        edge: piece.booked.edge.code().to_owned(),
        steel: piece.booked.steel.clone().unwrap_or_default(),
        redarken: piece.booked.darkened,
        length: short(piece.booked.length_mm, 1),
        height: short(height_mm, 1),
        spine: "2.3".into(),
        behind_edge: "0.38".into(),
        angle: "16".into(),
        least_height: "30".into(),
        allowance: "0.1".into(),
        land: if piece.booked.edge.is_serrated() { String::new() } else { "0.06".into() },
        chips: chips.into_iter().collect(),
        ..RawInspection::default()
    };
    if let Some(d) = drawing {
        raw.spine = short(d.spine_mm, 2);
        raw.behind_edge = short(d.behind_edge_mm, 2);
        raw.angle = short(d.angle_deg, 1);
        raw.original_height = short(d.height_mm, 1);
        raw.least_height = short(d.least_height_mm, 1);
        raw.edge_hrc = short(d.edge_hrc, 1);
        raw.spine_hrc = short(d.spine_hrc, 1);
        if let Some(line) = d.line_mm {
            raw.line = short((line - (d.height_mm - height_mm)).max(0.0), 1);
            raw.transition = short(d.transition_mm, 1);
            raw.least_hrc = short(d.least_hrc, 1);
        }
        if let Some(teeth) = d.teeth {
            raw.teeth_over = short(teeth.pitch_mm * 20.0, 1);
            raw.teeth_count = "20".into();
            raw.ridge_radius = teeth.ridge_radius_mm.map(|r| short(r, 2)).unwrap_or_default();
            raw.depth = teeth.depth_mm.map(|d| short(d, 2)).unwrap_or_default();
            raw.teeth_way = "own".into();
            raw.setup = d.setup.clone().unwrap_or_default();
            // Worn tips: what the teeth need to come to a point again.
            raw.allowance = "0.25".into();
        }
    }
    raw
}
