//! The drawing of the plan: one lane a station, runs as bands, changeovers as what they cost, closed hours left out.

use std::fmt::Write as _;

use leptos::prelude::*;

use super::{Bar, Lane, PlanDays, Stretch};

/// Height of a lane, and of the names above it.
const LANE: f64 = 64.0;
const HEAD: f64 = 44.0;
/// Room below the lanes, for the word at the line of now.
const FOOT: f64 = 20.0;
/// Width of the column of station names.
const NAMES: f64 = 8.0;
/// Gap between two days.
const GAP: f64 = 14.0;

/// Where minutes lie on the drawing.
struct Scale {
    /// Stretch, where it begins.
    parts: Vec<(Stretch, f64)>,
    /// Units of the drawing in a minute.
    per_minute: f64,
    width: f64,
}

impl Scale {
    fn new(stretches: &[Stretch]) -> Self {
        let minutes: i64 = stretches.iter().map(|s| s.to - s.from).sum();
        // A day has room for the words on its bars (a tag needs 13 minutes); a week is an overview.
        let per_minute = if stretches.len() > 1 { 0.55 } else { (1080.0 / minutes.max(1) as f64).max(4.4) };
        let mut x = NAMES;
        let parts = stretches
            .iter()
            .map(|s| {
                let at = x;
                x += (s.to - s.from) as f64 * per_minute + GAP;
                (s.clone(), at)
            })
            .collect();
        Self { parts, per_minute, width: x }
    }

    /// The pieces of `[from, to]` that are drawn, each with its beginning and width.
    fn spans(&self, from: i64, to: i64) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.parts.iter().filter_map(move |(s, x)| {
            let (a, b) = (from.max(s.from), to.min(s.to));
            (a < b).then(|| (x + (a - s.from) as f64 * self.per_minute, (b - a) as f64 * self.per_minute))
        })
    }

    fn at(&self, minute: i64) -> Option<f64> {
        let (s, x) = self.parts.iter().find(|(s, _)| (s.from..=s.to).contains(&minute))?;
        Some(x + (minute - s.from) as f64 * self.per_minute)
    }
}

/// A run: operations that follow one another in one setup at one station.
struct Run<'a> {
    bars: &'a [Bar],
}

fn runs(lane: &Lane) -> impl Iterator<Item = Run<'_>> {
    lane.bars.chunk_by(|a, b| a.setup == b.setup).map(|bars| Run { bars })
}

/// The drawing. Every bar leads to the page of its piece's place; late ones wear a thick frame and a mark.
#[component]
pub(super) fn Drawing(
    /// What is shown.
    days: PlanDays,
) -> impl IntoView {
    let scale = Scale::new(&days.stretches);
    let height = HEAD + LANE * days.lanes.len() as f64 + FOOT;
    let mut inside = String::new();
    for (stretch, x) in &scale.parts {
        let _ = write!(inside, r#"<text x="{x:.1}" y="15">{}</text>"#, escape(&stretch.name));
        for (minute, shown) in &stretch.hours {
            if let Some(hour_x) = scale.at(*minute) {
                let _ = write!(
                    inside,
                    r#"<line class="axis" x1="{hour_x:.1}" y1="{:.0}" x2="{hour_x:.1}" y2="{height:.0}" stroke-opacity="0.25"/>"#,
                    HEAD - 8.0
                );
                if scale.per_minute > 1.0 {
                    let _ = write!(
                        inside,
                        r#"<text class="quiet" x="{:.1}" y="{:.0}">{shown}</text>"#,
                        hour_x + 3.0,
                        HEAD - 10.0
                    );
                }
            }
        }
    }
    for (k, lane) in days.lanes.iter().enumerate() {
        draw_lane(&mut inside, &scale, lane, HEAD + LANE * k as f64);
    }
    if let Some(x) = days.now.and_then(|now| scale.at(now)) {
        let _ = write!(
            inside,
            r#"<line class="spark" x1="{x:.1}" y1="{:.0}" x2="{x:.1}" y2="{height:.0}"/><text x="{:.1}" y="{:.0}">now</text>"#,
            HEAD - 8.0,
            x + 5.0,
            height - 4.0
        );
    }
    let view_box = format!("0 0 {:.0} {height:.0}", scale.width);
    view! {
        <div class="drawing-scroll plan-scroll" tabindex="0" role="region" aria-label="The plan, drawn. The same stands in the table below.">
            <svg
                class="drawing plan-drawing"
                viewBox=view_box
                width=format!("{:.0}", scale.width)
                height=format!("{height:.0}")
                role="group"
                aria-label="Stations with their runs"
                inner_html=inside
            ></svg>
        </div>
    }
}

fn draw_lane(svg: &mut String, scale: &Scale, lane: &Lane, y: f64) {
    let words =
        if lane.note.is_empty() { lane.name.clone() } else { format!("{} · {}", lane.name, lane.note) };
    let _ = write!(
        svg,
        r#"<line class="axis" x1="0" y1="{y:.0}" x2="{:.0}" y2="{y:.0}" stroke-opacity="0.4"/><a href="{}"><text class="quiet" x="{NAMES}" y="{:.0}">{}</text></a>"#,
        scale.width,
        escape(&lane.href),
        y + 17.0,
        escape(&words)
    );
    for (from, to) in scale.parts.iter().flat_map(|(s, _)| s.closed.iter().copied()) {
        for (x, w) in scale.spans(from, to) {
            let _ = write!(
                svg,
                r#"<rect class="closed" x="{x:.1}" y="{:.0}" width="{w:.1}" height="{BAR:.0}"><title>Closed</title></rect>"#,
                y + 25.0
            );
        }
    }
    for run in runs(lane) {
        draw_run(svg, scale, &run, y + 25.0);
    }
}

/// One of each thing that is drawn, 34 by 20, for the key.
pub(super) const KEY_RUN: &str = r#"<rect class="run" x="1" y="2" width="32" height="16"/>"#;
pub(super) const KEY_ESTIMATED: &str =
    r#"<rect class="run" x="1" y="2" width="32" height="16" stroke-dasharray="5 3"/>"#;
pub(super) const KEY_CHANGE: &str = r#"<rect class="change" x="1" y="5" width="32" height="10"/>"#;
pub(super) const KEY_LATE: &str = r#"<rect class="run late" x="1" y="2" width="32" height="16"/><path class="mark-on-bar" transform="translate(17 10)" d="M-1.100-5h2.200l-.4 6.200h-1.400ZM-1 2.800h2v2h-2Z"/>"#;
pub(super) const KEY_BEGUN: &str = r#"<rect class="run here" x="1" y="2" width="32" height="16"/><path class="mark-on-bar" transform="translate(17 10)" d="M-2.500-4 3.500 0-2.500 4Z"/>"#;
pub(super) const KEY_PINNED: &str = r#"<rect class="run" x="1" y="2" width="32" height="16"/><circle class="mark-on-bar" cx="17" cy="10" r="2.600"/>"#;
pub(super) const KEY_CLOSED: &str = r#"<rect class="closed" x="1" y="2" width="32" height="16"/>"#;

/// Height of a bar.
const BAR: f64 = 32.0;

fn draw_run(svg: &mut String, scale: &Scale, run: &Run<'_>, y: f64) {
    // What goes in together shares the height: one changeover, one stack.
    for (load, place) in run
        .bars
        .chunk_by(|a, b| (a.start, a.end) == (b.start, b.end))
        .flat_map(|load| load.iter().enumerate().map(move |(k, _)| (load, k)))
    {
        let bar = &load[place];
        let h = BAR / load.len() as f64;
        let top = y + h * place as f64;
        for (x, w) in scale.spans(bar.changeover_start, bar.start).filter(|_| place == 0) {
            let _ = write!(
                svg,
                r#"<rect class="change" x="{x:.1}" y="{:.1}" width="{w:.1}" height="20"><title>Changeover to {}: {} min</title></rect>"#,
                y + 6.0,
                escape(&bar.setup),
                bar.start - bar.changeover_start
            );
        }
        for (x, w) in scale.spans(bar.start, bar.end) {
            let class = if bar.late.is_some() {
                "run late"
            } else if bar.begun {
                "run here"
            } else {
                "run"
            };
            // The tag itself stands on the bar where it fits, in the list below always.
            let mut title = format!("{}: {}, {}", bar.name, bar.work, bar.when);
            if let Some(late) = &bar.late {
                let _ = write!(title, ", late by {late}");
            }
            if bar.begun {
                title.push_str(", begun");
            } else if bar.pinned {
                title.push_str(", pinned");
            }
            let _ = write!(
                svg,
                r#"<a href="{}" aria-label="{} {}"><rect class="{class}" x="{x:.1}" y="{top:.1}" width="{w:.1}" height="{h:.1}"{}/>"#,
                escape(&bar.href),
                escape(&bar.label),
                escape(&title),
                if bar.estimated { r#" stroke-dasharray="5 3""# } else { "" }
            );
            if h > 12.0 {
                draw_words(svg, bar, x, top + h / 2.0, w);
            }
            // Last, so that what is written and what is said run in the same order: somebody who speaks to the browser says
            // what they see.
            let _ = write!(svg, " <title>{}</title></a>", escape(&title));
        }
    }
}

/// The label, and marks that need no colour: `!` late, a dot pinned, a triangle begun. The marks are shapes, not letters:
/// the bar's name says in words what they mean.
fn draw_words(svg: &mut String, bar: &Bar, x: f64, middle: f64, w: f64) {
    /// Room for one mark, in the drawing's units.
    const MARK: f64 = 8.0;
    /// And for one letter of the label.
    const LETTER: f64 = 6.6;
    let mut marks: Vec<&str> = Vec::new();
    if bar.late.is_some() {
        marks.push(r#"<path d="M-1.100-5h2.200l-.4 6.200h-1.400ZM-1 2.800h2v2h-2Z"/>"#);
    }
    if bar.begun {
        marks.push(r#"<path d="M-2.500-4 3.500 0-2.500 4Z"/>"#);
    } else if bar.pinned {
        marks.push(r#"<circle r="2.600"/>"#);
    }
    let marks_w = MARK * marks.len() as f64;
    if marks_w + 4.0 > w {
        return;
    }
    let mut at = x + 4.0;
    for mark in marks {
        let _ = write!(
            svg,
            r#"<g class="mark-on-bar" transform="translate({:.1} {middle:.1})" aria-hidden="true">{mark}</g>"#,
            at + MARK / 2.0
        );
        at += MARK;
    }
    if bar.label.chars().count() as f64 * LETTER + marks_w + 6.0 <= w {
        let _ = write!(
            svg,
            r#"<text class="on-bar" x="{at:.1}" y="{:.1}">{}</text>"#,
            middle + 4.5,
            escape(&bar.label)
        );
    }
}

/// What stands in SVG as text.
fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(from: i64, to: i64) -> Stretch {
        Stretch { name: "Mon".into(), from, to, hours: vec![], closed: vec![] }
    }

    #[test]
    fn work_over_a_night_is_drawn_on_both_days_and_nowhere_between() {
        let scale = Scale::new(&[day(480, 1020), day(1920, 2460)]);
        let spans: Vec<_> = scale.spans(1000, 1940).collect();
        assert_eq!(spans.len(), 2);
        // Twenty minutes on each side of the night.
        assert!((spans[0].1 - 20.0 * scale.per_minute).abs() < 1e-9);
        assert!((spans[1].1 - 20.0 * scale.per_minute).abs() < 1e-9);
        assert_eq!(scale.at(1500), None);
    }

    #[test]
    fn pieces_in_one_setup_make_one_run() {
        let bar = |setup: &str| Bar { setup: setup.into(), ..Bar::default() };
        let lane = Lane { bars: vec![bar("a"), bar("a"), bar("b"), bar("a")], ..Lane::default() };
        let lengths: Vec<_> = runs(&lane).map(|r| r.bars.len()).collect();
        assert_eq!(lengths, [2, 1, 1]);
    }

    #[test]
    fn what_people_typed_cannot_draw() {
        assert_eq!(escape(r#"<b a="1">&"#), "&lt;b a=&quot;1&quot;&gt;&amp;");
    }
}
