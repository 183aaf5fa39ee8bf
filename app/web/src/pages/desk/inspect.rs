//! The inspection sheet: one screen, in the order the hand measures.

use leptos::prelude::*;
use serde::{Deserialize, Serialize};
use shop::edge::EdgeKind;
use shop::field::FieldErrors;
use shop::inspection::{DEFECTS, FILES_HRC, RawChip, RawInspection};
use shop::lang::Lang;
use shop::piece::PieceState;
use shop::read::{Piece, Verdict};
use shop::route::{OperationKind, minutes_words};
use shop::units;

use super::Complaints;
use super::sheet::{Aid, Answer};
use crate::islands::inspection::InspectionAnswer;
use crate::parts::{
    Actions, Button, ButtonKind, Card, Choice, Crumbs, ErrorSummary, Field, Fold, Input, Notice, Opt, Select,
    StateBadge, TextArea, Tick, Tone,
};

/// A step of the proposed route as the form has it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawStep {
    /// The operation's word.
    pub kind: String,
    /// Left out.
    pub leave_out: bool,
    /// Its place, from 1, if it was changed.
    pub place: String,
}

/// What stands on the page beside the figures. Read from the same form.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawRoute {
    /// Ask the customer in any case.
    pub ask: bool,
    /// The proposed steps.
    pub steps: Vec<RawStep>,
    /// An operation to add.
    pub add: String,
    /// Its minutes.
    pub add_minutes: String,
    /// Why the route is changed.
    pub route_reason: String,
    /// Which button was pressed: `preview`, `more` or `save`.
    pub r#do: String,
}

/// The form to turn a piece down, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawTurnDown {
    /// Version of the piece.
    pub version: String,
    /// Our word for the reason.
    pub code: String,
    /// What the customer reads.
    pub reason: String,
}

/// Reasons to turn a piece down: code and words.
pub const REASONS: [(&str, &str); 9] = [
    ("crack", "crack in the blade"),
    ("delamination", "layers come apart"),
    ("not_steel", "not steel, or not known"),
    ("too_little_steel", "too little steel left"),
    ("soft", "the hard part is used up"),
    ("burn", "burnt too deep"),
    ("no_wheel", "no wheel fits"),
    ("unsafe", "cannot be held safely"),
    ("other", "another reason"),
];

/// A sheet as the page shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetView {
    /// The piece.
    pub piece: Piece,
    /// The visit's reference.
    pub reference: String,
    /// Address of the visit.
    pub visit_href: String,
    /// The figures as typed.
    pub raw: RawInspection,
    /// The rest of the form.
    pub route: RawRoute,
    /// The form to turn it down.
    pub turn_down: RawTurnDown,
    /// What is wrong with what was sent.
    pub errors: FieldErrors,
    /// Somebody else changed the piece: what, in words.
    pub conflict: Option<String>,
    /// What the figures come to, when they are complete.
    pub answer: Option<Answer>,
    /// For the browser, as JSON.
    pub aid: Aid,
    /// Figures of the last visit: what, then, for comparison.
    pub last: Option<(String, Vec<(String, String)>)>,
    /// Setups teeth are cut on: id and words.
    pub setups: Vec<(String, String)>,
    /// Steel designations offered.
    pub steels: Vec<String>,
    /// False when the piece may not be measured any more; then the sheet is only shown.
    pub open: bool,
}

/// What the customer said, in words.
pub fn trouble_words(piece: &Piece) -> Vec<String> {
    let t = &piece.booked.trouble;
    let depth = |what: &str, mm: Option<Option<f64>>| {
        mm.map(|mm| match mm {
            Some(mm) => format!("{what}, about {} mm", units::short(mm, 1)),
            None => format!("{what}, size not known"),
        })
    };
    let mut said: Vec<String> = [
        (t.dull, "dull"),
        (t.teeth, "teeth worn or missing"),
        (t.bent, "bent"),
        (t.rust, "rust"),
        (t.handle, "handle loose or dry"),
        (t.crack, "crack"),
        (t.ceramic, "ceramic"),
        (piece.booked.to_plain, "make it plain"),
    ]
    .into_iter()
    .filter(|(is, _)| *is)
    .map(|(_, words)| words.to_owned())
    .collect();
    said.extend(depth("chips", t.chips));
    said.extend(depth("tip missing", t.tip));
    said
}

/// How a length was understood.
pub fn echo(typed: &str) -> String {
    units::echo(typed, Lang::En)
}

/// The sheet.
#[component]
pub fn InspectPage(
    /// The sheet.
    view: SheetView,
) -> impl IntoView {
    let piece = &view.piece;
    let tag = piece.tag.map(|t| t.to_string()).unwrap_or_default();
    let title = format!("{tag} {}", piece.name);
    let said = trouble_words(piece).join(", ");
    let note = (!piece.booked.note.is_empty()).then(|| view! { <p>"“"{piece.booked.note.clone()}"”"</p> });
    let booked = format!("{}, {} mm", piece.booked.edge, units::short(piece.booked.length_mm, 0));
    let conflict = view.conflict.clone().map(|words| {
        view! {
            <Notice tone=Tone::Bad title="Somebody else was here in the meantime">
                <p>{words}</p>
                <p>"Nothing of yours is lost: it stands in the sheet below. Saving now puts yours in place of theirs."</p>
            </Notice>
        }
    });
    let waiting = piece.waiting.clone().map(|w| view! { <Notice tone=Tone::Warn><p>{w.what}</p></Notice> });
    let closed = (!view.open).then(|| {
        let words = format!("This piece is {}; its sheet can be looked at and not changed.", piece.state);
        view! { <Notice><p>{words}</p></Notice> }
    });
    let last = view.last.clone().map(|(when, figures)| {
        let rows: Vec<_> = figures
            .into_iter()
            .map(|(what, was)| view! { <div><dt>{what}</dt><dd>{was}</dd></div> })
            .collect();
        view! { <Fold summary=format!("Last time, {when}")><dl class="facts">{rows}</dl></Fold> }
    });
    let may_turn_down = matches!(
        piece.state,
        PieceState::InHand
            | PieceState::Measured
            | PieceState::Agreed
            | PieceState::InLine
            | PieceState::AtBench
    );
    let turn_down = may_turn_down.then(|| view! { <TurnDownForm view=view.clone() /> });
    let aid = serde_json::to_string(&view.aid).unwrap_or_default().replace('<', "\\u003c");
    let first = view.answer.clone();
    view! {
        <Crumbs
            trail=vec![("/desk".to_owned(), "Desk".to_owned()), (view.visit_href.clone(), view.reference.clone())]
            here=title
        />
        <h1>"Measure "{piece.name.clone()}</h1>
        <p class="row">
            <span class="reference">{tag}</span>
            <StateBadge state=piece.state />
        </p>
        {conflict}
        {waiting}
        {closed}
        <ErrorSummary errors=view.errors.clone() />
        <Card title="What was booked">
            <p>{booked}</p>
            <p>{said}</p>
            {note}
            {last}
        </Card>
        <div class="split sheet-split">
            <SheetForm view=view />
            <aside class="stack" aria-label="What it comes to">
                <h2>"What it comes to"</h2>
                <InspectionAnswer first=first />
            </aside>
        </div>
        {turn_down}
        <script type="application/json" id="sheet-aid" inner_html=aid></script>
    }
}

/// A length on the sheet.
#[component]
fn Mm(
    name: &'static str,
    label: &'static str,
    typed: String,
    errors: Complaints,
    #[prop(optional)] hint: &'static str,
    #[prop(optional)] optional: bool,
    #[prop(optional)] focus: bool,
) -> impl IntoView {
    let said = errors.of(name);
    view! {
        <Field
            name=name
            label=label
            kind=Input::Length
            unit="mm"
            echo=Some(echo(&typed))
            value=typed
            error=said
            hint=hint
            optional=optional
            autofocus=focus
        />
    }
}

/// Another figure on the sheet.
#[component]
fn Number(
    name: &'static str,
    label: &'static str,
    unit: &'static str,
    typed: String,
    errors: Complaints,
    #[prop(optional)] hint: &'static str,
    #[prop(optional)] optional: bool,
) -> impl IntoView {
    let said = errors.of(name);
    view! {
        <Field name=name label=label kind=Input::Figure unit=unit value=typed error=said hint=hint optional=optional />
    }
}

/// The files of a set, and none of them.
fn files(none: &'static str) -> Vec<Opt> {
    let of = |hrc: u8| Opt::new(hrc.to_string(), format!("{hrc} HRC"));
    std::iter::once(Opt::new("", none)).chain(FILES_HRC.map(of)).collect()
}

#[component]
fn SheetForm(view: SheetView) -> impl IntoView {
    let SheetView { raw, piece, open, .. } = view.clone();
    let errors = Complaints::new(view.errors.clone());
    let action = format!("/desk/piece/{}/inspect", piece.id);
    let e = move || errors;
    let edges = EdgeKind::ALL.map(|kind| Opt::new(kind.code(), kind.words()).drawn(kind)).to_vec();
    let serrated = raw.edge.parse::<EdgeKind>().is_ok_and(EdgeKind::is_serrated);
    let new_angle = !raw.target_angle.is_empty() || !raw.target_behind_edge.is_empty();
    let hardness_open = ["edge_hrc", "skates", "bites"].into_iter().any(|field| errors.of(field).is_some())
        || !(raw.skates.is_empty() && raw.bites.is_empty());
    let teeth = raw.clone();
    let version = raw.version.clone();
    let defects: Vec<_> = DEFECTS
        .iter()
        .map(|d| {
            let checked = raw.defects.iter().any(|code| code == d.code);
            view! { <Tick name="defects[]" value=d.code label=d.words hint=d.effect checked=checked /> }
        })
        .collect();
    let found = raw.defects.len();
    let chips = raw.chips.clone();
    let buttons = open.then(|| {
        view! {
            <Tick
                name="ask"
                label="Ask the customer in any case"
                checked=view.route.ask
                hint="Otherwise the price is agreed by itself when it lies within the booked range."
            />
            <Actions>
                // The first button is the one that Enter presses: it only works out and saves nothing.
                <Button name="do" value="preview">"Work it out"</Button>
                <Button kind=ButtonKind::Primary name="do" value="save">"Save the sheet"</Button>
            </Actions>
        }
    });
    let route = view.answer.clone().filter(|_| open).map(|answer| {
        view! { <RouteEditor verdict=answer.verdict setups=answer.setups route=view.route.clone() errors=e() /> }
    });
    let wheels = view.setups.clone();
    let steels = view.steels.clone();
    let ours = piece.booked.model.is_some();
    let no_height = open && raw.height.is_empty();
    let RawInspection {
        edge,
        steel,
        length,
        height_heel,
        height,
        height_tip,
        spine,
        behind_edge,
        original_height,
        least_height,
        angle,
        land,
        tip,
        cut_test,
        target_angle,
        target_behind_edge,
        allowance,
        edge_hrc,
        skates,
        bites,
        spine_hrc,
        least_hrc,
        line,
        transition,
        note,
        redarken,
        ..
    } = raw.clone();
    view! {
        <form id="sheet" method="post" action=action class="stack" novalidate>
            <input type="hidden" name="version" value=version />
            <Card title="1. Cracks, handle, straightness">
                <p class="hint">"Clean it first; look with the loupe. A stop here saves the rest."</p>
                <Fold summary=format!("Defects ({found} ticked)") open=(found > 0) || errors.of("defects").is_some()>
                    <div class="defects">{defects}</div>
                </Fold>
            </Card>
            <Card title="2. What it is">
                <Choice name="edge" legend="Edge" options=edges chosen=edge error=errors.of("edge") />
                <div class="fields">
                    <Field name="steel" label="Steel" value=steel optional=true maxlength=40 error=errors.of("steel") suggestions=steels />
                    <Tick name="redarken" label="Darken it again afterwards" checked=redarken />
                </div>
            </Card>
            <Card title="3. Heights and thicknesses">
                <div class="fields">
                    <Mm name="length" label="Edge length" typed=length errors=e() />
                    <Mm name="height_heel" label="Height, heel +20" typed=height_heel errors=e() optional=true hint="Caliper, guarded jaws" />
                    <Mm name="height" label="Height, middle" typed=height errors=e() focus=no_height hint="Caliper, ±0.1 mm" />
                    <Mm name="height_tip" label="Height, tip −40" typed=height_tip errors=e() optional=true />
                    <Mm name="spine" label="Spine" typed=spine errors=e() hint="Micrometer" />
                    <Mm name="behind_edge" label="Behind the edge" typed=behind_edge errors=e() hint=if ours { "Micrometer, ±0.02 mm; empty: worked out from the drawing" } else { "Micrometer, ±0.02 mm" } />
                    <Mm name="original_height" label="Height when new" typed=original_height errors=e() optional=true />
                    <Mm name="least_height" label="Worn out at" typed=least_height errors=e() optional=true />
                </div>
            </Card>
            <Card title="4. The edge">
                <div class="fields">
                    <Number name="angle" label="Angle" unit="°" typed=angle errors=e() hint="Each side; single and serrated: from the back" />
                    <Mm name="land" label="Land worn on the edge" typed=land errors=e() optional=true hint="Microscope; empty: dull, not visible" />
                    <Mm name="tip" label="Missing tip" typed=tip errors=e() optional=true />
                    <Number
                        name="cut_test"
                        label="Cut test before"
                        unit=if serrated { "strokes" } else { "N" }
                        typed=cut_test
                        errors=e()
                        optional=true
                    />
                </div>
                <Chips chips=chips errors=e() />
                <Fold
                    summary="New angle, thinning, allowance"
                    open=new_angle
                >
                    <div class="fields">
                        <Number name="target_angle" label="New angle" unit="°" typed=target_angle errors=e() optional=true hint="Empty: as it is" />
                        <Mm name="target_behind_edge" label="Thin to, behind the edge" typed=target_behind_edge errors=e() optional=true />
                        <Mm name="allowance" label="Allowance for a clean edge" typed=allowance errors=e() optional=true hint="Empty: 0.02 mm" />
                    </div>
                </Fold>
            </Card>
            <Teeth raw=teeth errors=e() serrated=serrated wheels=wheels />
            <Card title="6. Hardness">
                <Fold summary="By record or file band: calculated, not measured" open=hardness_open>
                    <div class="fields">
                        <Select name="skates" label="Hardest file that skates" options=files("none skates") chosen=skates error=errors.of("skates") optional=true />
                        <Select
                            name="bites"
                            label="Softest file that bites"
                            options=files("none bites")
                            chosen=bites
                            error=errors.of("bites")
                            hint="Lightly, on clean steel near the heel; the hardness lies between the two."
                            optional=true
                        />
                        <Number name="edge_hrc" label="Hardness at the edge" unit="HRC" typed=edge_hrc errors=e() optional=true hint="From the record; empty: the file band" />
                        <Number name="spine_hrc" label="Hardness at the back" unit="HRC" typed=spine_hrc errors=e() optional=true />
                        <Number name="least_hrc" label="Least hardness of an edge" unit="HRC" typed=least_hrc errors=e() optional=true />
                        <Mm name="line" label="Hardness line above today's edge" typed=line errors=e() optional=true hint="Empty: from the drawing" />
                        <Mm name="transition" label="It falls over" typed=transition errors=e() optional=true />
                    </div>
                </Fold>
            </Card>
            <Card title="7. What you found">
                <TextArea
                    name="note"
                    label="For colleagues and the customer"
                    optional=true
                    value=note
                    error=errors.of("note")
                    maxlength=2000
                />
                {buttons}
            </Card>
            {route}
        </form>
    }
}

#[component]
fn Chips(chips: Vec<RawChip>, errors: Complaints) -> impl IntoView {
    // An empty row beyond what was typed; “one more” below brings others.
    let n = chips.len() + 1;
    let n_chips = chips.len();
    let rows: Vec<_> = (0..n)
        .map(|i| {
            let chip = chips.get(i).cloned().unwrap_or_default();
            let at = move |name: &str| format!("chips[{i}][{name}]");
            let choices =
                vec![Opt::new("all", "take all"), Opt::new("part", "take part"), Opt::new("leave", "leave it")];
            let chosen = if chip.choice.is_empty() { "all".to_owned() } else { chip.choice };
            let mm = move |name: &str, label: &str, typed: String| {
                let at = |name: &str| format!("chips[{i}][{name}]");
                let said = errors.of(&at(name));
                view! {
                    <Field name=at(name) label=label kind=Input::Length unit="mm" echo=Some(echo(&typed)) value=typed error=said />
                }
            };
            view! {
                <fieldset class="chip">
                    <legend>{format!("Chip {}", i + 1)}</legend>
                    <div class="fields">
                        {mm("depth", "Depth", chip.depth)}
                        {mm("width", "Width", chip.width)}
                        {mm("at", "From the heel", chip.at)}
                        <Select name=at("choice") label="What to do" options=choices chosen=chosen />
                        {mm("part", "If part: depth to take", chip.part)}
                    </div>
                </fieldset>
            }
        })
        .collect();
    view! {
        <Fold summary=format!("Chips ({n_chips})") open={n_chips > 0}>
            <div class="stack">
                <p class="hint">"Depth is enough; width and place sharpen the drawing. Leaving a chip saves its height."</p>
                {rows}
                <Button name="do" value="more">"One more chip"</Button>
            </div>
        </Fold>
    }
}

#[component]
fn Teeth(
    raw: RawInspection,
    errors: Complaints,
    serrated: bool,
    wheels: Vec<(String, String)>,
) -> impl IntoView {
    let ways = vec![
        Opt::new("", "Choose"),
        Opt::new("own", "On the wheel that cut them"),
        Opt::new("fitting", "On another wheel of ours"),
        Opt::new("tooth", "Tooth by tooth"),
        Opt::new("plain", "Ground away to a plain edge").note("costs their whole depth"),
    ];
    let mut setups = vec![Opt::new("", "None")];
    setups.extend(wheels.into_iter().map(|(id, words)| Opt::new(id, words)));
    let (way_error, setup_error) = (errors.of("teeth_way"), errors.of("setup"));
    let e = move || errors;
    view! {
        <Card title="5. Teeth">
            <Fold summary="Pitch by counting, depth, ridge, wheel" open=serrated>
                <div class="fields">
                    <Mm name="teeth_over" label="Length over the counted teeth" typed=raw.teeth_over errors=e() hint="Over 20 gullets or more" />
                    <Number name="teeth_count" label="Teeth counted over it" unit="teeth" typed=raw.teeth_count errors=e() />
                    <Mm name="depth" label="Depth (wavy, pointed)" typed=raw.depth errors=e() optional=true hint="Depth rod" />
                    <Mm name="ridge_radius" label="Ridge radius (arc)" typed=raw.ridge_radius errors=e() optional=true hint="Pin laid along the flute" />
                    <Select name="teeth_way" label="How they are brought back" options=ways chosen=raw.teeth_way error=way_error />
                    <Select name="setup" label="Cut on" options=setups chosen=raw.setup error=setup_error hint="The answer beside it says whether it fits." />
                </div>
            </Fold>
        </Card>
    }
}

/// The proposed route, and how it is changed.
#[component]
fn RouteEditor(verdict: Verdict, setups: Vec<String>, route: RawRoute, errors: Complaints) -> impl IntoView {
    let open = errors.any(&["route", "route_reason", "add"]) || !route.route_reason.is_empty();
    let left_out: Vec<_> = route
        .steps
        .iter()
        .filter(|s| s.leave_out)
        .filter_map(|s| s.kind.parse::<OperationKind>().ok())
        .filter(|kind| !verdict.route.iter().any(|s| s.kind == *kind))
        .collect();
    let shown = verdict.route.iter().map(|s| s.kind).chain(left_out.iter().copied());
    let rows: Vec<_> = shown
        .enumerate()
        .map(|(i, kind)| {
            let step = verdict.route.iter().position(|s| s.kind == kind);
            let typed = route.steps.iter().find(|s| s.kind == kind.code()).cloned().unwrap_or_default();
            let words = step.map_or_else(String::new, |at| {
                let s = &verdict.route[at];
                format!("{}; {}. {}", setups.get(at).cloned().unwrap_or_default(), minutes_words(s.span()), s.reason)
            });
            let at = |name: &str| format!("steps[{i}][{name}]");
            view! {
                <li class="step">
                    <input type="hidden" name=at("kind") value=kind.code() />
                    <p><strong>{kind.words()}</strong></p>
                    <p class="quiet">{words}</p>
                    <div class="row">
                        <Tick name=at("leave_out") label="Leave out" checked=typed.leave_out />
                        <Field name=at("place") label="Place" kind=Input::Whole value=typed.place optional=true maxlength=2 />
                    </div>
                </li>
            }
        })
        .collect();
    let mut more = vec![Opt::new("", "Nothing")];
    more.extend(
        OperationKind::ALL
            .iter()
            .filter(|k| !verdict.route.iter().any(|s| s.kind == **k))
            .map(|k| Opt::new(k.code(), k.words())),
    );
    view! {
        <Card>
            <Fold summary="Change the way over the bench" open=open>
                <div class="stack">
                    <ol class="route">{rows}</ol>
                    <div class="fields">
                        <Select name="add" label="Add a step" options=more chosen=route.add error=errors.of("add") />
                        <Field name="add_minutes" label="Its minutes" kind=Input::Whole value=route.add_minutes optional=true maxlength=3 />
                    </div>
                    <Field
                        name="route_reason"
                        label="Why"
                        value=route.route_reason
                        maxlength=200
                        error=errors.of("route_reason").or(errors.of("route"))
                        hint="Needed when the way differs from the proposed one."
                    />
                </div>
            </Fold>
        </Card>
    }
}

#[component]
fn TurnDownForm(view: SheetView) -> impl IntoView {
    let raw = view.turn_down;
    let errors = Complaints::new(view.errors);
    let open =
        errors.of("reason").is_some() || view.piece.verdict.as_ref().is_some_and(|v| v.refusal.is_some());
    let reasons: Vec<_> = REASONS.iter().map(|(code, words)| Opt::new(*code, *words)).collect();
    view! {
        <Card>
            <Fold summary="Turn it down" open=open>
                <form method="post" action=format!("/desk/piece/{}/turn-down", view.piece.id) class="stack" novalidate>
                    <input type="hidden" name="version" value=raw.version />
                    <Select name="code" label="Reason" options=reasons chosen=raw.code />
                    <TextArea
                        name="reason"
                        label="What the customer reads"
                        value=raw.reason
                        error=errors.of("reason")
                        maxlength=1000
                        hint="What we found, why we do not grind it, what is possible instead."
                    />
                    <Button kind=ButtonKind::Danger>"Turn it down and tell the customer"</Button>
                </form>
            </Fold>
        </Card>
    }
}
