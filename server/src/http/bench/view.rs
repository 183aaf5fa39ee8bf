//! From what stands at the bench to what its pages show.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use shop::bench::{Bond, Setup, Station, Wheel};
use shop::ids::StaffId;
use shop::read::OperationState;
use shop::route::OperationKind;
use shop::safety;
use shop::units::short;
use web::pages::bench::{Ends, FloorView, Held, Keys, RunPiece, SetupView, StationCard, StationView, Typed};

use super::super::plan::capital;
use crate::local;
use crate::planning::why;
use crate::store::requests::RequestKey;
use crate::store::staff::Person;
use crate::use_cases::show_run::{AtStation, Floor, Work};
use crate::use_cases::split_run;

pub(super) fn floor_of(floor: &Floor, person: &Person, now: DateTime<Utc>) -> FloorView {
    let zone = local::zone(&floor.profile);
    let me = StaffId(person.id);
    let mut mine: Option<(bool, DateTime<Utc>, String, String)> = None;
    let mut stations: Vec<(bool, StationCard)> = Vec::new();
    for s in &floor.bench.stations {
        let href = format!("/bench/{}", s.id);
        let run = floor.next_run(s);
        let begun = floor
            .work
            .get(&s.id)
            .into_iter()
            .flatten()
            .filter(|w| w.operation.state == OperationState::Started);
        let mut busy = Vec::new();
        for work in begun {
            let name =
                work.operation.by.and_then(|id| floor.names.get(&id)).map_or("Somebody", String::as_str);
            busy.push(format!("{name}: {}", label(work)));
            if work.operation.by == Some(me) {
                let at = work.operation.started_at.unwrap_or(now);
                mine = Some((true, at, href.clone(), format!("{}, {} is begun", s.name, label(work))));
            }
        }
        let open: Vec<&Work> =
            run.iter().flat_map(|r| &r.work).filter(|w| w.operation.state == OperationState::Open).collect();
        // An inspection is begun and ended with its sheet, not here.
        let begins = |w: &&&Work| w.not_yet.is_none() && w.operation.step.kind != OperationKind::Inspect;
        let ready = if busy.len() < s.basin.max(1) as usize { open.iter().filter(begins).count() } else { 0 };
        let first = open.iter().find(begins).and_then(|w| w.planned);
        if let (Some(run), Some((at, _)), true) = (&run, first, busy.is_empty())
            && mine.as_ref().is_none_or(|m| !m.0 && at < m.1)
        {
            let setup = setup_name(&run.setup);
            let words = if setup.is_empty() { s.name.clone() } else { format!("{}, {setup}", s.name) };
            mine = Some((false, at, href.clone(), words));
        }
        let next = run.as_ref().filter(|_| !open.is_empty()).map(|r| {
            let when = open[0].planned.map(|p| why::shown(zone, p.0)).unwrap_or_default();
            (setup_name(&r.setup), open.len(), when)
        });
        let idle = busy.is_empty() && next.is_none();
        stations.push((
            idle,
            StationCard { href, name: s.name.clone(), kind: s.kind, busy, next, ready, closed: s.closed },
        ));
    }
    stations.sort_by_key(|s| s.0);
    FloorView {
        stations: stations.into_iter().map(|s| s.1).collect(),
        mine: mine.map(|m| (m.2, m.3)),
        bare: false,
    }
}

fn setup_name(setup: &Setup) -> String {
    setup.name.clone()
}

fn label(work: &Work) -> String {
    work.piece
        .tag
        .map_or_else(|| format!("{}/{}", work.visit.reference, work.piece.number), |t| t.to_string())
}

pub(super) fn view_of(found: &AtStation, person: &Person, now: DateTime<Utc>) -> StationView {
    let floor = &found.floor;
    let zone = local::zone(&floor.profile);
    let s = &found.station;
    let me = StaffId(person.id);
    let kinds: Vec<OperationKind> = match &found.run {
        Some(run) => run.work.iter().map(|w| w.operation.step.kind).collect(),
        None => Vec::new(),
    };
    let mut cautions: Vec<safety::Caution> = Vec::new();
    for kind in kinds {
        for caution in safety::cautions(kind, s.kind) {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
    }
    let when = |at: DateTime<Utc>| why::shown(zone, at);
    StationView {
        id: s.id.clone(),
        name: s.name.clone(),
        kind: s.kind,
        room: s.basin.max(1),
        setup: found.run.as_ref().map(|run| setup_of(found, &run.setup, zone)),
        cautions,
        pieces: found.run.iter().flat_map(|r| &r.work).map(|w| piece_of(w, floor, zone, now)).collect(),
        later: found
            .later
            .iter()
            .map(|(setup, n, at)| (setup.clone(), *n, at.map(when).unwrap_or_default()))
            .collect(),
        held: found
            .held
            .iter()
            .map(|w| Held {
                piece: w.piece.id.to_string(),
                label: label(w),
                name: w.piece.name.clone(),
                what: w.piece.waiting.as_ref().map(|x| capital(&x.what)).unwrap_or_default(),
                key: RequestKey::fresh(),
            })
            .collect(),
        until: split_run::UNTIL
            .iter()
            .map(|(code, words)| ((*code).to_owned(), (*words).to_owned()))
            .collect(),
        colleagues: floor
            .names
            .iter()
            .filter(|(id, _)| **id != me)
            .map(|(id, name)| (id.to_string(), name.clone()))
            .collect(),
        said: None,
        problem: None,
        typed: Typed::default(),
    }
}

fn setup_of(found: &AtStation, setup: &Setup, zone: Tz) -> SetupView {
    let (refusal, checks) = match &found.checks {
        Ok(checks) => (None, checks.clone()),
        Err(why) => (Some(why.clone()), Vec::new()),
    };
    let checked = found.checked.as_ref().map(|c| {
        let name = found.floor.names.get(&c.by).map_or("a colleague", String::as_str);
        format!("Mounted and checked at {} by {name}.", local::shown(zone, c.at).format("%-H:%M"))
    });
    SetupView {
        id: setup.id.clone(),
        name: if setup.name.is_empty() { found.station.name.clone() } else { setup.name.clone() },
        facts: found.wheel.as_ref().map(|w| wheel_facts(w, &found.station, setup)).unwrap_or_default(),
        refusal,
        checks,
        wears: found.wheel.as_ref().is_some_and(|w| w.diameter_mm > 0.0),
        dresses: found.wheel.as_ref().is_some_and(|w| w.bond != Bond::Plated && setup.dress.is_some()),
        checked,
        key: RequestKey::fresh(),
        wheel_key: RequestKey::fresh(),
    }
}

fn wheel_facts(wheel: &Wheel, station: &Station, setup: &Setup) -> Vec<(String, String)> {
    let mut facts = vec![("Mark".to_owned(), format!("{} · {}", wheel.mark, wheel.name))];
    facts.push(("Grain and bond".into(), format!("{}, {}", wheel.grit, wheel.bond.words())));
    if wheel.diameter_mm > 0.0 {
        facts.push((
            "Diameter".into(),
            format!("{} mm (done at {} mm)", short(wheel.diameter_mm, 1), short(wheel.least_diameter_mm, 0)),
        ));
    }
    if let (Some(marked), Some(spindle)) = (wheel.marked_max_rpm, wheel.spindle_rpm) {
        facts.push(("Marked speed".into(), format!("at most {marked:.0} per minute")));
        facts.push(("Spindle".into(), format!("{spindle:.0} per minute")));
    }
    if let Some(speed) = wheel.surface_speed_m_s() {
        facts.push(("At the rim".into(), format!("{} m/s", short(speed, 1))));
    }
    if let Some(teeth) = wheel.teeth {
        facts.push((
            "Teeth".into(),
            format!("pitch {} mm, {}°", short(teeth.pitch_mm, 2), short(teeth.angle_deg, 1)),
        ));
    }
    if let Some(dress) = setup.dress.filter(|_| wheel.bond != Bond::Plated) {
        let left = dress.every.saturating_sub(wheel.pieces_since_dressing);
        let words = if left == 0 {
            format!("due now ({} min)", dress.minutes)
        } else {
            format!("after {left} more {}", if left == 1 { "piece" } else { "pieces" })
        };
        facts.push(("Dressing".into(), words));
    }
    if let Some(mounted) = &station.mounted
        && *mounted != setup.id
    {
        let name = station.setups.iter().find(|s| s.id == *mounted).map_or(mounted.clone(), setup_name);
        facts.push(("Now mounted".into(), name));
    }
    facts
}

fn piece_of(w: &Work, floor: &Floor, zone: Tz, now: DateTime<Utc>) -> RunPiece {
    let op = &w.operation;
    let begun = (op.state == OperationState::Started).then(|| {
        let at = op.started_at.unwrap_or(now);
        let name =
            op.by.and_then(|id| floor.names.get(&id)).cloned().unwrap_or_else(|| "somebody".to_owned());
        (name, local::shown(zone, at).format("%-H:%M").to_string(), (now - at).num_seconds())
    });
    let late = w.finish.map(|f| (f - w.piece.due_at).num_minutes()).filter(|m| *m > 0);
    let inspected = w.piece.inspection.as_ref().map(|i| i.note.trim().to_owned()).filter(|n| !n.is_empty());
    let mut again: Vec<OperationKind> = w
        .done
        .iter()
        .copied()
        .filter(|k| !matches!(k, OperationKind::Inspect | OperationKind::Prove))
        .collect();
    again.sort_unstable();
    again.dedup();
    RunPiece {
        operation: op.id.to_string(),
        piece: w.piece.id.to_string(),
        label: label(w),
        name: w.piece.name.clone(),
        work: capital(op.step.kind.words()),
        targets: op.step.targets.clone(),
        reason: op.step.reason.clone(),
        note: inspected.unwrap_or_default(),
        minutes: op.step.minutes,
        when: w.planned.map(|p| why::shown(zone, p.0)).unwrap_or_default(),
        not_yet: w.not_yet.clone(),
        rush: w.piece.rush || w.visit.rush,
        late: late.map(why::length),
        begun,
        ends: match op.step.kind {
            OperationKind::Prove => Ends::Check,
            OperationKind::Inspect => Ends::Sheet,
            _ => Ends::Done,
        },
        again: again.into_iter().map(|k| (k.code().to_owned(), capital(k.words()))).collect(),
        href: format!("/desk/piece/{}/inspect", w.piece.id),
        cut_test_text: floor.profile.cut_test_text.clone(),
        cut_before: w
            .piece
            .inspection
            .as_ref()
            .map(|sheet| sheet.cut_test.map(|n| short(n, 2)).unwrap_or_default())
            .unwrap_or_default(),
        keys: Keys {
            start: RequestKey::fresh(),
            done: RequestKey::fresh(),
            stop: RequestKey::fresh(),
            more: RequestKey::fresh(),
            over: RequestKey::fresh(),
            photo: RequestKey::fresh(),
            split: RequestKey::fresh(),
        },
    }
}
