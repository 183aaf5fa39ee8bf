//! The people who work here.

use leptos::prelude::*;

use super::hours::week;
use super::{Ask, Sheet, ShopHead, card};
use crate::parts::{Actions, Badge, Button, ButtonKind, Column, DataTable, Group, Notice, Tone};

/// Somebody in the list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PersonLine {
    /// Their page.
    pub href: String,
    /// What the shop calls them.
    pub name: String,
    /// What they type to sign in.
    pub sign_in_name: String,
    /// What they may do.
    pub roles: String,
    /// At the bench: skills and hours.
    pub bench: String,
    /// Signing in takes them a code as well.
    pub second_step: bool,
    /// They no longer work here.
    pub left: bool,
}

/// A one-time password, shown this once.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OneTime {
    /// Whose.
    pub full_name: String,
    /// What they type to sign in.
    pub sign_in_name: String,
    /// The password.
    pub password: String,
}

/// The one-time password, on a sheet that is easy to copy from.
fn shown_once(one_time: Option<OneTime>, hours: u32) -> AnyView {
    let Some(one) = one_time else { return ().into_any() };
    view! {
        <Notice tone=Tone::Good title=format!("{} can sign in now", one.full_name)>
            <p>"Name: " <code>{one.sign_in_name}</code></p>
            <p>"One-time password: " <code>{one.password}</code></p>
            <p>
                "Write it down: it is shown this once and kept nowhere. It has to be changed at the first sign-in, within "
                {hours} " hours."
            </p>
        </Notice>
    }
    .into_any()
}

fn roles(sheet: &Sheet) -> AnyView {
    let ticks = vec![
        sheet.tick("desk", "Desk: receive, inspect, answer, hand back", ""),
        sheet.tick("bench", "Bench: work the runs, check, refinish", ""),
        sheet.tick("owner", "Owner: everything, and these pages", ""),
    ];
    view! { <Group legend="What they may do" name="roles" error=sheet.errors.of("roles")>{ticks}</Group> }
        .into_any()
}

/// Everybody, and the form for one more.
#[component]
pub fn CrewPage(
    /// Everybody.
    people: Vec<PersonLine>,
    /// The form for one more.
    sheet: Sheet,
    /// The form of who needs a second step.
    second_step: Sheet,
    /// A password to show once.
    one_time: Option<OneTime>,
    /// How many hours it opens anything.
    one_time_hours: u32,
) -> impl IntoView {
    let columns = vec![
        Column::words("Name"),
        Column::words("Signs in as"),
        Column::words("May"),
        Column::words("At the bench"),
        Column::words("Second step"),
        Column::words("Stands"),
    ];
    let rows = people
        .into_iter()
        .map(|p| {
            let stands = if p.left {
                view! { <Badge words="no longer works here" /> }.into_any()
            } else {
                view! { <Badge words="works here" tone=Tone::Good /> }.into_any()
            };
            vec![
                view! { <a href=p.href>{p.name}</a> }.into_any(),
                p.sign_in_name.into_any(),
                p.roles.into_any(),
                p.bench.into_any(),
                (if p.second_step { "set up" } else { "none" }).into_any(),
                stands,
            ]
        })
        .collect();
    view! {
        <ShopHead under="/shop/crew" />
        {shown_once(one_time, one_time_hours)}
        {sheet.head()}
        <DataTable caption="People" caption_hidden=true columns=columns rows=rows />
        <form method="post" action="/shop/crew" novalidate>
            {card("Somebody starts to work here", view! {
                <div class="columns">
                    {sheet.field(Ask::of("full-name", "Name").hint("What the shop calls them."))}
                    {sheet.field(Ask::of("sign-in-name", "Signs in as").hint("2 to 40 of a-z, 0-9, dot and dash."))}
                </div>
                {roles(&sheet)}
                <Actions><Button kind=ButtonKind::Primary>"Add them"</Button></Actions>
            })}
        </form>
        <form method="post" action="/shop/crew/second-step" novalidate>
            {second_step.version()}
            {card("A second step when they sign in", view! {
                <p class="quiet">
                    "A code from an app on the telephone besides the password. Whoever it is asked of and has none sets it up before \
                     anything else opens; that holds for you too."
                </p>
                <Group legend="Ask it of" name="second-step">
                    {second_step.tick("second-step-owner", "Owners", "")}
                    {second_step.tick("second-step-desk", "Everybody at the desk", "Owners too: they may do what the desk does.")}
                    {second_step.tick("second-step-bench", "Everybody at the bench", "Owners too.")}
                </Group>
                <Actions><Button>"Save"</Button></Actions>
            })}
        </form>
        <form method="post" action="/shop/crew/sessions">
            {card("Sign everybody out", view! {
                <p class="quiet">
                    "For when a tablet is lost or a password may be known: every browser but this one has to sign in again. What a \
                     tablet has not sent yet waits there until somebody signs in on it."
                </p>
                <Actions><Button>"Sign everybody out"</Button></Actions>
            })}
        </form>
        {sheet.foot()}
    }
}

/// What the page of one person shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PersonView {
    /// The form.
    pub sheet: Sheet,
    /// Their id.
    pub id: String,
    /// What the shop calls them.
    pub name: String,
    /// What they type to sign in.
    pub sign_in_name: String,
    /// They no longer work here.
    pub left: bool,
    /// Skills the stations ask for.
    pub skills: Vec<String>,
    /// A password to show once.
    pub one_time: Option<OneTime>,
    /// How many hours it opens anything.
    pub one_time_hours: u32,
}

/// One person.
#[component]
pub fn PersonPage(
    /// What is shown.
    of: PersonView,
) -> impl IntoView {
    let sheet = of.sheet;
    let asked = if of.skills.is_empty() {
        "No station asks for one.".to_owned()
    } else {
        format!("Words with commas between them. The stations ask for: {}.", of.skills.join(", "))
    };
    let (value, words, note) = if of.left {
        ("no", "Works here again", "They sign in as before; put them back at the bench above.")
    } else {
        (
            "yes",
            "No longer works here",
            "Their sessions end at once and the plan stops counting on them. What they did stays in the ledger.",
        )
    };
    view! {
        <ShopHead under="/shop/crew" title=of.name />
        <p class="quiet">"Signs in as " {of.sign_in_name}</p>
        {shown_once(of.one_time, of.one_time_hours)}
        {sheet.head()}
        <form method="post" action=format!("/shop/crew/{}", of.id) novalidate>
            {sheet.version()}
            {card("", view! {{roles(&sheet)}})}
            {card("At the bench", view! {
                {sheet.tick("at-bench", "Works at the bench: the plan counts on them", "")}
                {sheet.field(Ask::of("skills", "Skills").hint(&asked).optional())}
                {sheet.tick("own-hours", "Has hours of their own", "Otherwise the bench's hours hold.")}
                {week(&sheet, "own")}
            })}
            <Actions><Button kind=ButtonKind::Primary>"Save"</Button></Actions>
        </form>
        {card("Forgot the password", view! {
            <p class="quiet">"A new one-time password is shown once; all their sessions end."</p>
            <form method="post" action=format!("/shop/crew/{}/password", of.id)>
                <Button>"New one-time password"</Button>
            </form>
        })}
        {card("Leaving", view! {
            <p class="quiet">{note}</p>
            <form method="post" action=format!("/shop/crew/{}/left", of.id)>
                <Button name="left" value=value>{words}</Button>
            </form>
        })}
        {sheet.foot()}
    }
}
