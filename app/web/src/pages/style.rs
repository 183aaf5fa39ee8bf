//! The design language on one page: every token and every part. For development only.

use leptos::prelude::*;
use shop::bench::StationKind;
use shop::edge::EdgeKind;
use shop::field::FieldErrors;
use shop::money::{Money, MoneyRange};
use shop::piece::PieceState;

use crate::parts::{
    Actions, Amount, AmountRange, Bench, Button, ButtonKind, ButtonLink, Card, Caution, Choice, Column,
    Crumbs, DataTable, Empty, ErrorSummary, Facts, Field, Figure, Fold, Group, Input, Notice, Opt, Photos,
    Pictogram, Picture, PieceSteps, Progress, Range, Refusal, Select, StateBadge, Tab, Tabs, TextArea, Tick,
    Tone, Wordmark,
};

/// Everything pages are made of, drawn once.
#[component]
pub fn StylePage() -> impl IntoView {
    view! {
        <h1>"How Whetledger looks"</h1>
        <p>
            "Wet stone, steel, one warm spark. The spark is for the one thing to press and for where work is now; nothing \
             else is bright. Sheets have a ground corner like a tag, boxes a heavier line to write on, headings stand on a \
             blade. A state is a word and a drawing, never a colour alone."
        </p>
        <Colours />
        <Type />
        <Buttons />
        <Form />
        <Says />
        <Figures />
        <States />
        <Tables />
        <Drawings />
        <Pictures />
        <Printed />
        <BenchSample />
    }
    .into_any()
}

#[component]
fn Colours() -> impl IntoView {
    const NAMES: [&str; 16] = [
        "ground",
        "sheet",
        "raised",
        "ink",
        "ink-2",
        "line",
        "rim",
        "link",
        "stone",
        "spark",
        "spark-line",
        "good",
        "warn",
        "bad",
        "plain",
        "steel",
    ];
    let swatches: Vec<_> = NAMES
        .into_iter()
        .map(|name| {
            view! {
                <li>
                    <svg viewBox="0 0 64 32" width="128" height="64" class=format!("swatch {name}") aria-hidden="true">
                        <path d="M0 0h52l12 12v20H0Z" />
                    </svg>
                    <code>{name}</code>
                </li>
            }
        })
        .collect();
    view! {
        <section id="colours">
            <h2>"Colours"</h2>
            <p>"Light and dark follow the reader's device, and so does high contrast. Every pair is measured by style/contrast.mjs."</p>
            <ul class="swatches">{swatches}</ul>
        </section>
    }
    .into_any()
}

#[component]
fn Type() -> impl IntoView {
    view! {
        <section id="type">
            <h2>"Words and figures"</h2>
            <p>
                "Text is set in the reader's own face. Headings and figures are set in one condensed face, cut like the letters on \
                 a pressed plate. " <a href="#type">"A link looks like this"</a> "."
            </p>
            <h3>"A heading of the third kind"</h3>
            <p class="quiet">"Less important words are quieter, but still 4.5 to 1."</p>
            <p class="figures">"Figures stand under one another:"<br />"1 234 567 890"<br />"0 111 111 111"</p>
        </section>
    }
    .into_any()
}

#[component]
fn Buttons() -> impl IntoView {
    view! {
        <section id="buttons">
            <h2>"Buttons"</h2>
            <div class="row">
                <Button kind=ButtonKind::Primary>"Book these knives"</Button>
                <Button picture=Picture::Print>"Print the slip"</Button>
                <ButtonLink href="#buttons">"A link that looks like one"</ButtonLink>
                <Button kind=ButtonKind::Quiet picture=Picture::Undo>"Undo"</Button>
                <Button kind=ButtonKind::Danger>"Turn this knife down"</Button>
                <Button disabled=true>"Not now"</Button>
            </div>
        </section>
    }
    .into_any()
}

#[component]
fn Form() -> impl IntoView {
    let mut errors = FieldErrors::default();
    errors.add("knives[0][length]", "Please give the length of the edge, such as 210 mm.");
    errors.add("knives[0][tip]", "Please tick the tip, or empty its length.");
    let edges = EdgeKind::ALL.map(|kind| Opt::new(kind.code(), kind.words()).drawn(kind)).to_vec();
    let ways = vec![
        Opt::new("post", "By post").note("we send a packing slip").drawn(Picture::Parcel),
        Opt::new("counter", "At the counter").note("choose a time").drawn(Picture::Counter),
    ];
    let steels = vec![
        Opt::new("", "I don't know"),
        Opt::new("c75", "C75 spring steel"),
        Opt::new("x50", "X50CrMoV15").note("stainless"),
    ];
    let plain = vec![Opt::new("back", "Send it back"), Opt::new("recycle", "Recycle it")];
    view! {
        <section id="form">
            <h2>"A form"</h2>
            <ErrorSummary errors=errors.clone() />
            <form method="post" action="#form" novalidate>
                <Choice
                    name="knives[0][edge]"
                    legend="Which edge has it?"
                    hint="Look along the edge, or at the blade from its tip."
                    options=edges
                    chosen="arc"
                />
                <div class="fields">
                    <Field
                        name="knives[0][length]"
                        label="Length of the edge"
                        kind=Input::Length
                        unit="mm"
                        value="21o"
                        hint="From heel to tip."
                        error=errors.of("knives[0][length]")
                    />
                    <Field name="knives[0][height]" label="Height" kind=Input::Length unit="mm" value="1 7/8 in" echo="47.63 mm" />
                    <Field name="knives[0][teeth]" label="Teeth counted" kind=Input::Whole value="24" />
                </div>
                <Select name="knives[0][steel]" label="Steel" options=steels hint="It is often stamped near the handle." optional=true />
                <Group legend="What is wrong with it?" name="knives[0][trouble]">
                    <Tick name="knives[0][dull]" label="Dull" picture=Picture::Dull checked=true />
                    <Tick name="knives[0][chips]" label="Chips" picture=Picture::Chips />
                    <Tick name="knives[0][tip]" label="Tip missing" picture=Picture::TipMissing error=errors.of("knives[0][tip]") />
                    <Tick name="knives[0][worn]" label="Teeth worn or missing" picture=Picture::TeethWorn />
                    <Tick name="knives[0][bent]" label="Bent" picture=Picture::Bent />
                    <Tick name="knives[0][rust]" label="Rust" picture=Picture::Rust />
                    <Tick name="knives[0][handle]" label="Handle" hint="loose, swollen or dry" picture=Picture::Handle />
                    <Tick name="knives[0][crack]" label="A crack" picture=Picture::Crack />
                </Group>
                <Choice name="arrival" legend="How does it come to us?" options=ways />
                <Choice name="refused" legend="If we cannot do it" options=plain chosen="back" />
                <Field name="tag" label="Tag of an earlier visit" kind=Input::Tag value="7KM2-Q" optional=true />
                <Field name="email" label="Mail address" kind=Input::Email hint="For the price, the day it is ready, and nothing else." />
                <Photos name="photos" label="Photos" hint="Up to 4, of both sides." several=true />
                <TextArea name="note" label="Anything else" optional=true value="The tip went in a walnut." />
                <Tick name="packing" label="I have read how to pack a blade" hint="Edge in card, taped, point blunted, box marked." />
                <Actions>
                    <Button kind=ButtonKind::Primary>"Book"</Button>
                    <Button name="do" value="more">"One more knife"</Button>
                </Actions>
            </form>
        </section>
    }
    .into_any()
}

#[component]
fn Says() -> impl IntoView {
    view! {
        <section id="says" class="stack">
            <h2>"What a page says"</h2>
            <Notice>"The plan was made again at 14:05; nothing moved."</Notice>
            <Notice tone=Tone::Good title="Piece 7KM2-Q is proven">
                <p>"It goes to the oil rack next."</p>
                <Button kind=ButtonKind::Quiet picture=Picture::Undo>"Undo"</Button>
            </Notice>
            <Notice tone=Tone::Warn title="Two promises would move">
                <p>"Look at them before they are sent."</p>
            </Notice>
            <Notice tone=Tone::Bad title="This was not saved">
                <p>"A colleague changed the sheet meanwhile. What you typed is still below."</p>
            </Notice>
            <Refusal title="We do not grind cracked blades">
                <p>"A crack can let go under the wheel. We send the knife back free of charge, or recycle it for you."</p>
            </Refusal>
            <Caution picture=Picture::GlovesOff source="Common practice. Local rules and qualified practice come first.">
                "Gloves off, sleeves and hair tied, before the wheel turns."
            </Caution>
            <Caution picture=Picture::Speed source="29 CFR 1910.215; the wheel maker's marking comes first.">
                "Never run a wheel faster than the speed marked on it."
            </Caution>
            <Progress label="Sending photos" done=3 of=8 />
            <Empty title="No knives are waiting" picture=Picture::Rack>
                <p>"When a parcel is received its knives appear here. " <a href="#says">"Receive a parcel"</a></p>
            </Empty>
            <Fold summary="How the price is made up"><p>"Each operation has its line."</p></Fold>
            <Fold summary="What is kept about you" open=true><p>"Your address, until you ask us to forget it."</p></Fold>
            <Tabs
                label="Which notices"
                tabs=vec![
                    Tab { href: "#says".into(), words: "Waiting (3)".into(), shown: true },
                    Tab { href: "#says".into(), words: "Sent (120)".into(), shown: false },
                ]
            />
            <Crumbs trail=vec![("#says".into(), "Desk".into()), ("#says".into(), "Visit 4Q7T".into())] here="Bread knife" />
        </section>
    }
    .into_any()
}

#[component]
fn Figures() -> impl IntoView {
    view! {
        <section id="figures">
            <h2>"Figures"</h2>
            <div class="columns">
                <Card title="What it costs" first=true>
                    <Range label="Price" low="22.00" high="38.50" unit="EUR" note="including tax, without return postage" />
                </Card>
                <Card title="What it takes">
                    <Figure label="Steel taken" value="0.8" unit="mm" note="of 46 mm height" />
                    <Range label="Services left at your habit" low="5" high="8" />
                </Card>
                <Card title="Facts">
                    <Facts items=vec![
                        ("Edge".into(), "serrated, round hollows".into_any()),
                        ("Length".into(), "210 mm".into_any()),
                        ("Price".into(), view! { <AmountRange range=MoneyRange { low: Money(2200), high: Money(3850) } currency="EUR" /> }.into_any()),
                    ] />
                </Card>
            </div>
        </section>
    }
    .into_any()
}

#[component]
fn States() -> impl IntoView {
    let badges: Vec<_> = PieceState::ALL.iter().map(|state| view! { <StateBadge state=*state /> }).collect();
    view! {
        <section id="states" class="stack">
            <h2>"Where a piece stands"</h2>
            <div class="row">{badges}</div>
            <Card><PieceSteps state=PieceState::InLine /></Card>
            <div class="narrow"><Card><PieceSteps state=PieceState::AtBench /></Card></div>
            <p><PieceSteps state=PieceState::Missing /></p>
        </section>
    }
    .into_any()
}

#[component]
fn Tables() -> impl IntoView {
    let columns = || {
        vec![
            Column::words("Piece"),
            Column::words("Stands"),
            Column::figures("Height", "mm"),
            Column::figures("Taken", "mm"),
            Column::figures("Price", ""),
        ]
    };
    let row = |name: &'static str, state, height: &'static str, taken: &'static str, cents| {
        vec![
            name.into_any(),
            view! { <StateBadge state=state /> }.into_any(),
            height.into_any(),
            taken.into_any(),
            view! { <Amount money=Money(cents) currency="EUR" /> }.into_any(),
        ]
    };
    let rows = vec![
        row("Bread knife 240", PieceState::AtBench, "38.2", "0.31", 2700),
        row("Slicer 300, with a name that is rather long", PieceState::Ready, "41.0", "0.18", 12_400),
        row("Paring knife", PieceState::TurnedDown, "19.4", "\u{2013}", 0),
        row("Together", PieceState::Home, "", "0.49", 15_100),
    ];
    view! {
        <section id="tables">
            <h2>"Tables"</h2>
            <DataTable caption="This visit" columns=columns() rows=rows total=true />
        </section>
    }
    .into_any()
}

#[component]
fn Drawings() -> impl IntoView {
    view! {
        <section id="drawings" class="columns">
            <figure>
                <svg class="drawing" viewBox="0 0 320 200" role="img" aria-label="Section of a blade: what is taken and what stays">
                    <path class="steel" d="M140 10h40l-12 120h-16Z" />
                    <path class="taken" d="M152 130h16l-8 40Z" />
                    <path class="limit" d="M90 100h140" />
                    <path class="measure" d="M210 130h40m-40 40h40m-20-40v40" />
                    <text x="256" y="155">"0.8 mm"</text>
                    <text class="quiet" x="20" y="104">"worn out"</text>
                </svg>
                <figcaption>"Section: steel, taken, limit, measure."</figcaption>
            </figure>
            <figure>
                <svg class="drawing" viewBox="0 0 320 120" role="img" aria-label="Three runs with changeovers, one piece late">
                    <rect class="closed" x="150" y="10" width="30" height="80" />
                    <rect class="run here" x="10" y="20" width="70" height="30" />
                    <rect class="change" x="80" y="20" width="20" height="30" />
                    <rect class="run" x="100" y="20" width="50" height="30" />
                    <rect class="run" x="180" y="20" width="80" height="30" />
                    <rect class="late" x="260" y="20" width="40" height="30" />
                    <path class="spark" d="M45 8v84" />
                    <text x="10" y="108">"8"</text>
                    <text x="150" y="108">"12"</text>
                    <text x="292" y="108">"17"</text>
                </svg>
                <figcaption>"Plan: run here, changeover, run, break, late, now."</figcaption>
            </figure>
        </section>
    }
    .into_any()
}

#[component]
fn Pictures() -> impl IntoView {
    let all: Vec<_> = Picture::ALL
        .iter()
        .map(|of| view! { <li><Pictogram of=*of /><span>{of.words()}</span></li> })
        .collect();
    let stations = [StationKind::Wheel, StationKind::Belt, StationKind::Bath]
        .map(|kind| view! { <Pictogram of=kind /> });
    view! {
        <section id="pictures">
            <h2>"Pictograms"</h2>
            <p>"As large as the words beside them " {stations} ", or as large as the sheet says."</p>
            <ul class="contact">{all}</ul>
            <p><Wordmark /></p>
        </section>
    }
    .into_any()
}

#[component]
fn Printed() -> impl IntoView {
    view! {
        <section id="printed">
            <h2>"On paper"</h2>
            <div class="label-62">
                <svg viewBox="0 0 26 26" aria-hidden="true"><path d="M0 0h26v26H0Z" fill="#fff" /><path d="M1 1h7v7H1Zm17 0h7v7h-7ZM1 18h7v7H1Zm11-9h3v3h-3Zm4 4h4v4h-4Z" fill="#000" /></svg>
                <div>
                    <p>"Bread knife 240"</p>
                    <p>"2 of 5"</p>
                    <p>"due Thu 3 Dec"</p>
                </div>
                <p class="code">"7KM2-Q"</p>
            </div>
        </section>
    }
    .into_any()
}

#[component]
fn BenchSample() -> impl IntoView {
    view! {
        <section id="bench">
            <h2>"At the bench"</h2>
            <p>"A bench page is wrapped in " <code>"Bench"</code> ": dark, 60 px targets, the figure of the hour legible at two metres. See " <a href="/style/bench">"it whole"</a> "."</p>
        </section>
    }
    .into_any()
}

/// A bench page as it stands on the shelf.
#[component]
pub fn StyleBenchPage() -> impl IntoView {
    view! {
        <Bench>
            <h1>"Arc wheel, pitch 5"</h1>
            <div class="row"><StateBadge state=PieceState::AtBench /><span>"Bread knife 240 · 7KM2-Q · 3 of 8"</span></div>
            <div class="columns">
                <Figure label="Angle from the back" value="14.5" unit="°" big=true />
                <Figure label="Take" value="0.31" unit="mm" big=true note="4 to 6 passes" />
            </div>
            <Caution picture=Picture::GlovesOff source="Common practice. Local rules and qualified practice come first.">
                "Gloves off before the wheel turns."
            </Caution>
            <Group legend="Before you start">
                <Tick name="gloves" label="Gloves off, sleeves and hair tied" />
                <Tick name="eyes" label="Glasses, mask and ear protection on" checked=true />
            </Group>
            <Field name="measured" label="Height after" kind=Input::Figure unit="mm" value="37.9" echo="0.30 mm taken" />
            <Actions>
                <Button kind=ButtonKind::Primary big=true>"Done, next"</Button>
                <Button big=true>"Needs more"</Button>
                <Button kind=ButtonKind::Danger big=true>"Stop, problem"</Button>
            </Actions>
        </Bench>
    }
    .into_any()
}
