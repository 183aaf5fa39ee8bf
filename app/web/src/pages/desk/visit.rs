//! A visit at the desk: what is to be received, how each piece stands, and what can be done about it.

use leptos::prelude::*;
use serde::{Deserialize, Serialize};
use shop::booking::RawKnife;
use shop::edge::EdgeKind;
use shop::field::FieldErrors;
use shop::ids::PhotoId;
use shop::piece::{PieceState, WaitsOn};
use shop::read::{Piece, Visit};

use super::Complaints;
use super::harm::{HarmForm, HarmTyped, Mishaps};
use super::letters::{DeskTalk, LettersCard};
use crate::parts::{
    Actions, Button, ButtonKind, ButtonLink, Card, Caution, Choice, Crumbs, ErrorSummary, Facts, Field, Fold,
    Input, Notice, Opt, Picture, Select, StateBadge, TextArea, Tick, Tone,
};

/// What was found of one booked piece, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawFound {
    /// The piece.
    pub id: String,
    /// `here`, `missing` or `later`.
    pub came: String,
    /// The tag it wears.
    pub tag: String,
    /// It should wear a tag and does not.
    pub lost: bool,
}

/// The receiving form as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawParcel {
    /// Makes a double click receive once.
    pub key: String,
    /// Version of the visit.
    pub version: String,
    /// The booked pieces.
    pub pieces: Vec<RawFound>,
    /// Knives that were not booked. Named as in the booking, so that the same check puts its messages beside the fields.
    pub knives: Vec<RawKnife>,
    /// What the hands saw.
    pub note: String,
    /// Which button was pressed: `receive`, `all` or `more`.
    pub r#do: String,
}

/// A visit as the desk sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitView {
    /// The visit.
    pub visit: Visit,
    /// The currency's code.
    pub currency: String,
    /// When or how it is expected, in words.
    pub arrives: String,
    /// The promised day, in words.
    pub promised: String,
    /// Paid so far, in words.
    pub paid: String,
    /// What is still open, for the payment form: `38.00`.
    pub open: String,
    /// Names of our models with their ids, for unbooked knives.
    pub models: Vec<(String, String)>,
    /// The receiving form.
    pub parcel: RawParcel,
    /// A fresh key for the payment form.
    pub payment_key: String,
    /// Ways to pay: code and words.
    pub ways: Vec<(String, String)>,
    /// Numbers of the bills, oldest first, and whether each still stands.
    pub bills: Vec<(u64, bool)>,
    /// What is wrong with what was sent.
    pub errors: FieldErrors,
    /// Questions and answers.
    pub talk: DeskTalk,
    /// What was just done.
    pub done: Option<String>,
    /// What was typed about harm to a piece, when it was refused.
    pub harm: Option<HarmTyped>,
}

impl VisitView {
    /// The address of the visit.
    pub fn href(&self) -> String {
        format!("/desk/visit/{}", self.visit.reference.plain())
    }

    fn to_receive(&self) -> Vec<&Piece> {
        let waits = |s| matches!(s, PieceState::Expected | PieceState::Missing | PieceState::Lapsed);
        self.visit.pieces.iter().filter(|p| waits(p.state)).collect()
    }
}

/// A visit at the desk.
#[component]
pub fn VisitPage(
    /// The visit.
    view: VisitView,
) -> impl IntoView {
    let visit = &view.visit;
    let reference = visit.reference.to_string();
    let href = view.href();
    let done = view.done.clone().map(|words| view! { <Notice tone=Tone::Good><p>{words}</p></Notice> });
    let cancelled = visit.cancelled_at.map(|_| {
        view! { <Notice tone=Tone::Warn><p>"This visit was called off by the customer."</p></Notice> }
    });
    let confirm_href = format!("{href}/confirm");
    let confirm = (visit.confirmed_at.is_none() && visit.cancelled_at.is_none()).then(|| {
        view! {
            <Notice tone=Tone::Warn title="Not confirmed yet">
                <p>"The customer has not used the link in the mail. Receiving confirms it; so does a call:"</p>
                <form method="post" action=confirm_href>
                    <Button>"Confirm it for the customer"</Button>
                </form>
            </Notice>
        }
    });
    let contact = visit.contact.clone();
    let reach = [contact.email.clone(), contact.phone.clone()];
    let reach = reach.into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ");
    let back = match (&visit.parcel, visit.back_by_post) {
        (Some((carrier, number)), _) => format!("sent with {carrier}, {number}"),
        (None, true) => "by post".to_owned(),
        (None, false) => "fetched at the counter".to_owned(),
    };
    let facts = vec![
        ("Customer".to_owned(), view! { {contact.name}<br /><span class="quiet">{reach}</span> }.into_any()),
        ("Comes".to_owned(), view.arrives.clone().into_any()),
        ("Promised".to_owned(), view.promised.clone().into_any()),
        ("Goes back".to_owned(), back.into_any()),
        ("Work".to_owned(), visit.price().show(&view.currency).into_any()),
        ("Paid".to_owned(), view.paid.clone().into_any()),
    ];
    let receive = (!view.to_receive().is_empty() && visit.cancelled_at.is_none())
        .then(|| view! { <ReceiveForm view=view.clone() /> });
    let pieces: Vec<_> = visit
        .pieces
        .iter()
        .map(|piece| view! { <PieceCard piece=piece.clone() view=view.clone() /> })
        .collect();
    let any_tag = visit.pieces.iter().any(|p| p.tag.is_some());
    let may_go = visit
        .pieces
        .iter()
        .any(|p| matches!(p.state, PieceState::Ready | PieceState::TurnedDown | PieceState::Withdrawn));
    let tags = any_tag.then(|| {
        view! { <ButtonLink href=format!("{href}/tags")>"Print the tags"</ButtonLink> }
    });
    let hand_back = (may_go && visit.received_at.is_some()).then(|| {
        view! {
            <ButtonLink href=format!("{href}/hand-back") kind=ButtonKind::Primary>"Hand back"</ButtonLink>
        }
    });
    view! {
        <Crumbs trail=vec![("/desk".to_owned(), "Desk".to_owned())] here=reference.clone() />
        <h1>"Visit "<span class="reference">{reference}</span></h1>
        {done}
        <ErrorSummary errors=view.errors.clone() />
        {cancelled}
        {confirm}
        <Facts items=facts />
        <p class="actions">{hand_back} {tags}</p>
        {receive}
        <section class="stack" aria-labelledby="pieces">
            <h2 id="pieces">"Pieces"</h2>
            {pieces}
        </section>
        <LettersCard talk=view.talk.clone() action=format!("{href}/write") error=view.errors.of("body").map(str::to_owned) />
        <Money view=view.clone() />
    }
}

/// The cautions of receiving (common practice).
#[component]
pub fn ReceiveCautions() -> impl IntoView {
    view! {
        <Fold summary="Before you open it: the cautions">
            <div class="stack">
                <Caution picture=Picture::Cut source="Common practice; your own local rules come first.">
                    "A blade may have pierced the parcel. Look at every side first, open away from you, never reach in blind."
                </Caution>
                <Caution picture=Picture::GlovesOn source="Common practice; your own local rules come first.">
                    "Wear cut-resistant gloves for unpacking, washing and carrying. They come off before any wheel, belt or buff turns."
                </Caution>
                <Caution picture=Picture::Chemical source="Common practice; your own local rules come first.">
                    "Broken tips and splinters go into the sharps bin. Expect food residue: wash and disinfect before anything else."
                </Caution>
            </div>
        </Fold>
    }
}

#[component]
fn ReceiveForm(view: VisitView) -> impl IntoView {
    let action = format!("{}/receive", view.href());
    let errors = Complaints::new(view.errors.clone());
    let rows: Vec<_> = view
        .to_receive()
        .into_iter()
        .enumerate()
        .map(|(i, piece)| {
            let typed = view.parcel.pieces.iter().find(|f| f.id == piece.id.to_string()).cloned();
            let typed = typed.unwrap_or_else(|| RawFound {
                tag: piece.booked.tag.map(|t| t.to_string()).unwrap_or_default(),
                ..RawFound::default()
            });
            let at = |name: &str| format!("pieces[{i}][{name}]");
            let missing_before = piece.state == PieceState::Missing;
            let mut options = vec![Opt::new("here", "It is here")];
            if !missing_before {
                options.push(Opt::new("missing", "Not in the parcel"));
            }
            options.push(Opt::new("later", "Leave it open"));
            let legend = format!("{}. {}, {}", piece.number, piece.name, piece.booked.edge);
            view! {
                <div class="piece-in">
                    <input type="hidden" name=at("id") value=piece.id.to_string() />
                    <Choice name=at("came") legend=legend options=options chosen=typed.came error=errors.of(&at("came")) />
                    <div class="fields">
                        <Field
                            name=at("tag")
                            label="Tag it wears"
                            kind=Input::Tag
                            optional=true
                            value=typed.tag
                            maxlength=12
                            hint="Only if it was here before."
                            error=errors.of(&at("tag"))
                        />
                        <Tick
                            name=at("lost")
                            label="It was here before and its tag is gone"
                            checked=typed.lost
                            hint="It is held until you know which knife it is."
                        />
                    </div>
                </div>
            }
        })
        .collect();
    let unbooked: Vec<_> = view
        .parcel
        .knives
        .iter()
        .enumerate()
        .map(|(i, knife)| view! { <Unbooked i=i knife=knife.clone() view=view.clone() /> })
        .collect();
    view! {
        <Card title="Receive" first=true>
            <ReceiveCautions />
            <form method="post" action=action class="stack" novalidate>
                <input type="hidden" name="key" value=view.parcel.key.clone() />
                <input type="hidden" name="version" value=view.parcel.version.clone() />
                {rows}
                {unbooked}
                <TextArea
                    name="note"
                    label="What you saw: parcel, damage, anything odd"
                    optional=true
                    value=view.parcel.note.clone()
                    error=errors.of("note")
                    maxlength=1000
                />
                <Actions>
                    <Button kind=ButtonKind::Primary name="do" value="receive">"Receive"</Button>
                    <Button name="do" value="all">"All are here"</Button>
                    <Button name="do" value="more">"One more knife that was not booked"</Button>
                </Actions>
            </form>
        </Card>
    }
}

#[component]
fn Unbooked(i: usize, knife: RawKnife, view: VisitView) -> impl IntoView {
    let at = move |name: &str| format!("knives[{i}][{name}]");
    let errors = Complaints::new(view.errors);
    let mut models = vec![Opt::new("", "Choose"), Opt::new("other", "Another make")];
    models.extend(view.models.into_iter().map(|(id, name)| Opt::new(id, name)));
    let mut edges = vec![Opt::new("", "As the model has it")];
    edges.extend(EdgeKind::ALL.map(|kind| Opt::new(kind.code(), kind.words())));
    view! {
        <fieldset class="asked">
            <legend>{format!("Not booked, number {}", i + 1)}</legend>
            <div class="fields">
                <Select name=at("model") label="Model" options=models chosen=knife.model error=errors.of(&at("model")) />
                <Field name=at("make") label="Make and name" optional=true value=knife.make maxlength=80 error=errors.of(&at("make")) />
                <Select name=at("edge") label="Edge" options=edges chosen=knife.edge error=errors.of(&at("edge")) />
                <Field name=at("length") label="Length of the edge" kind=Input::Length unit="mm" value=knife.length error=errors.of(&at("length")) />
                <Field name=at("tag") label="Tag it wears" kind=Input::Tag optional=true value=knife.tag maxlength=12 error=errors.of(&at("tag")) />
            </div>
            <div class="row">
                <Tick name=at("dull") label="Dull" checked=knife.dull error=errors.of(&at("dull")) />
                <Tick name=at("chips") label="Chips" checked=knife.chips />
                <Tick name=at("tip") label="Tip missing" checked=knife.tip />
                <Tick name=at("bent") label="Bent" checked=knife.bent />
                <Tick name=at("rust") label="Rust" checked=knife.rust />
                <Tick name=at("handle") label="Handle" checked=knife.handle />
                <Tick name=at("crack") label="Crack" checked=knife.crack />
            </div>
        </fieldset>
    }
}

#[component]
fn PieceCard(piece: Piece, view: VisitView) -> impl IntoView {
    let id = format!("piece-{}", piece.number);
    let own = format!("/desk/piece/{}", piece.id);
    let tag = match piece.tag {
        Some(tag) => view! {
            <a class="reference" href=format!("/desk/knife/{}", tag.plain())>{tag.to_string()}</a>
        }
        .into_any(),
        None => view! { <span class="quiet">"no tag yet"</span> }.into_any(),
    };
    let waiting = piece.waiting.clone().map(|w| {
        let on = match w.on {
            WaitsOn::Customer => "Waits for the customer",
            WaitsOn::Shop | WaitsOn::Decision => "Waits for us",
            WaitsOn::Parts => "Waits for parts",
        };
        view! { <Notice tone=Tone::Warn title=on><p>{w.what}</p></Notice> }
    });
    let reason = piece.turned_down.clone().map(|why| view! { <p>{why}</p> });
    let measurable = matches!(
        piece.state,
        PieceState::InHand | PieceState::Measured | PieceState::Agreed | PieceState::InLine
    );
    let here = piece.state.is_here() && view.visit.received_at.is_some();
    let held_for_tag = piece.state == PieceState::InHand && piece.tag.is_none();
    let inspect = (here && !held_for_tag).then(|| {
        let words = match (measurable, piece.inspection.is_some()) {
            (true, false) => "Measure",
            (true, true) => "Measure again",
            (false, _) => "Look at the sheet",
        };
        let kind = if piece.state == PieceState::InHand { ButtonKind::Primary } else { ButtonKind::Plain };
        view! { <ButtonLink href=format!("{own}/inspect") kind=kind>{words}</ButtonLink> }
    });
    let price = piece
        .state
        .is_charged()
        .then(|| view! { <span class="figures">{piece.price().show(&view.currency)}</span> });
    let answer = (piece.state == PieceState::Measured
        && piece.verdict.as_ref().is_some_and(|v| v.refusal.is_none()))
    .then(|| view! { <AnswerForm piece=piece.clone() view=view.clone() /> });
    let identify = held_for_tag.then(|| view! { <WhichForm piece=piece.clone() view=view.clone() /> });
    // A price that was asked needs its answer, and a stopped piece a decision; neither simply goes on.
    let decided = piece.state != PieceState::Measured && !piece.awaits_decision();
    let hold = (here && decided && !held_for_tag)
        .then(|| view! { <HoldForm piece=piece.clone() errors=view.errors.clone() /> });
    let harm = (here && !piece.awaits_decision()).then(|| {
        view! { <HarmForm piece=piece.clone() typed=view.harm.clone() errors=view.errors.clone() /> }
    });
    let mishaps = view! { <Mishaps piece=piece.clone() currency=view.currency.clone() typed=view.harm.clone() errors=view.errors.clone() /> };
    let waiting = waiting.filter(|_| !piece.awaits_decision());
    let photos = here.then(|| view! { <Photos piece=piece.clone() /> });
    view! {
        <article class="card piece" id=id>
            <h3>{format!("{}. {}", piece.number, piece.name)}</h3>
            <p class="row">{tag} <StateBadge state=piece.state /> {price}</p>
            {mishaps}
            {waiting}
            {reason}
            {identify}
            <p class="actions">{inspect}</p>
            {answer}
            {photos}
            {hold}
            {harm}
        </article>
    }
}

/// The customer rang: yes or no.
#[component]
fn AnswerForm(piece: Piece, view: VisitView) -> impl IntoView {
    let total = piece.verdict.as_ref().map(|v| v.quote.total).unwrap_or_default();
    let said = format!("told[{}][said]", piece.number);
    let error = Complaints::new(view.errors).of(&said);
    view! {
        <Fold summary="The customer answered by telephone or at the counter" open=error.is_some()>
            <form method="post" action=format!("/desk/piece/{}/answer", piece.id) class="stack" novalidate>
                <input type="hidden" name="total" value=total.0.to_string() />
                <Field name=said label="Who answered, and how" maxlength=200 error=error hint="For example: Ms Example, by telephone." />
                <Actions>
                    <Button name="answer" value="yes">{format!("Yes, at {}", total.show(&view.currency))}</Button>
                    <Button name="answer" value="no" kind=ButtonKind::Danger>"No, leave it as it is"</Button>
                </Actions>
            </form>
        </Fold>
    }
}

/// Nobody knows which knife it is.
#[component]
fn WhichForm(piece: Piece, view: VisitView) -> impl IntoView {
    let number = piece.number;
    let at = move |name: &str| format!("which[{number}][{name}]");
    let error = Complaints::new(view.errors).of(&at("tag"));
    view! {
        <form method="post" action=format!("/desk/piece/{}/tag", piece.id) class="stack" novalidate>
            <input type="hidden" name="version" value=piece.version.to_string() />
            <Field
                name=at("tag")
                label="It is the knife with the tag"
                kind=Input::Tag
                maxlength=12
                hint="Empty: it was never here, give it a new tag."
                error=error
            />
            <Tick name=at("sold_on") label="It changed hands; I have made sure of that" />
            <Field name=at("note") label="How you know" maxlength=200 optional=true />
            <Actions>
                <Button kind=ButtonKind::Primary>"That is it"</Button>
            </Actions>
        </form>
    }
}

/// Hold it, or let it go on.
#[component]
fn HoldForm(piece: Piece, errors: FieldErrors) -> impl IntoView {
    let number = piece.number;
    let at = move |name: &str| format!("hold[{number}][{name}]");
    let error = Complaints::new(errors).of(&at("what"));
    let action = format!("/desk/piece/{}/hold", piece.id);
    let version = piece.version.to_string();
    if piece.waiting.is_some() {
        return view! {
            <form method="post" action=action class="line-form">
                <input type="hidden" name="version" value=version />
                <Button name="do" value="go">"It goes on"</Button>
            </form>
        }
        .into_any();
    }
    let on = vec![
        Opt::new("shop", "for us"),
        Opt::new("customer", "for the customer"),
        Opt::new("parts", "for parts"),
    ];
    view! {
        <Fold summary="Hold it" open=error.is_some()>
            <form method="post" action=action class="stack" novalidate>
                <input type="hidden" name="version" value=version />
                <Select name=at("on") label="It waits" options=on chosen="shop" />
                <Field name=at("what") label="What for" maxlength=200 error=error />
                <Button name="do" value="hold">"Hold it"</Button>
            </form>
        </Fold>
    }
    .into_any()
}

/// Its pictures, and one more.
#[component]
fn Photos(piece: Piece) -> impl IntoView {
    let shown: Vec<_> =
        piece.photos.iter().map(|id| view! { <PhotoThumb id=*id name=piece.name.clone() /> }).collect();
    let field = format!("photo-{}", piece.number);
    let n = shown.len();
    view! {
        <Fold summary=format!("Pictures ({n})")>
            <div class="row photos">{shown}</div>
            <form
                method="post"
                action=format!("/desk/piece/{}/photo", piece.id)
                enctype="multipart/form-data"
                class="stack"
            >
                <div class="field">
                    <label for=field.clone()>"Picture as it came"</label>
                    <input id=field name="photo" type="file" accept="image/*" capture="environment" required />
                </div>
                <Button>"Keep the picture"</Button>
            </form>
        </Fold>
    }
}

#[component]
fn PhotoThumb(id: PhotoId, name: String) -> impl IntoView {
    let href = format!("/photo/{id}");
    let src = href.clone();
    view! { <a href=href><img src=src alt=format!("Picture of {name}") width="160" loading="lazy" /></a> }
}

/// Bills and payments.
#[component]
fn Money(view: VisitView) -> impl IntoView {
    let href = view.href();
    let bills: Vec<_> = view
        .bills
        .iter()
        .map(|(number, stands)| {
            let words =
                if *stands { format!("Bill {number}") } else { format!("Bill {number} (no longer stands)") };
            view! { <li><a href=format!("/desk/bill/{number}")>{words}</a></li> }
        })
        .collect();
    let payment_href = format!("{href}/payment");
    let cancel_href = format!("{href}/bill/cancel");
    let bill_href = format!("{href}/bill");
    let stands = view.bills.iter().any(|(_, stands)| *stands);
    let decided = !view.visit.pieces.iter().any(|p| p.state.has_work_ahead());
    let bill = if stands {
        view! {
            <form method="post" action=cancel_href>
                <Button kind=ButtonKind::Danger>"Cancel the bill by another one"</Button>
            </form>
        }
        .into_any()
    } else if decided {
        view! { <form method="post" action=bill_href><Button>"Issue the bill"</Button></form> }.into_any()
    } else {
        view! { <p class="quiet">"The bill can be issued once every piece is done or decided."</p> }
            .into_any()
    };
    let ways: Vec<_> = view.ways.iter().map(|(code, words)| Opt::new(code, words)).collect();
    let errors = Complaints::new(view.errors);
    view! {
        <Card title="Money">
            <ul>{bills}</ul>
            {bill}
            <Fold summary="Record a payment" open=errors.any(&["amount", "how"])>
                <form method="post" action=payment_href class="stack" novalidate>
                    <input type="hidden" name="key" value=view.payment_key />
                    <Field name="amount" label="Paid" kind=Input::Figure unit=view.currency value=view.open error=errors.of("amount") />
                    <Select name="how" label="How" options=ways chosen="cash" error=errors.of("how") />
                    <Button>"Record it"</Button>
                </form>
            </Fold>
        </Card>
    }
}
