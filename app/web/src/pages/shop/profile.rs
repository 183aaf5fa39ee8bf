//! The shop's name, place, rules and texts.

use leptos::prelude::*;

use super::{Ask, Sheet, ShopHead, card};
use crate::parts::{Actions, Button, ButtonKind, Input, Opt};

/// The form of the shop's own data and rules.
#[component]
pub fn ProfilePage(
    /// The form.
    sheet: Sheet,
) -> impl IntoView {
    let f = |ask: Ask<'_>| sheet.field(ask);
    let days = |name, label, hint| f(Ask::of(name, label).kind(Input::Whole).unit("days").hint(hint));
    let rules = vec![
        Opt::new("whole_visit", "once the last piece of a visit is ready"),
        Opt::new("per_piece", "for each piece by itself"),
    ];
    view! {
        <ShopHead under="/shop/profile" />
        {sheet.head()}
        <form method="post" action="/shop/profile" novalidate>
            {sheet.version()}
            {card("Name and place", view! {
                {f(Ask::of("name", "Name of the shop"))}
                {f(Ask::of("street", "Street and number"))}
                {f(Ask::of("town", "Postal code and town"))}
                {f(Ask::of("country", "Country"))}
                {f(Ask::of("email", "Mail address").kind(Input::Email).hint("Answers to notices and reports about security go here."))}
                {f(Ask::of("phone", "Telephone").kind(Input::Phone).optional())}
                {f(Ask::of("time-zone", "Time zone").hint("Its IANA name, such as Europe/Lisbon."))}
                {f(Ask::of("currency", "Currency").hint("Three letters, such as EUR (ISO 4217)."))}
            })}
            {card("Rules", view! {
                {f(Ask::of("slot-minutes", "Length of a counter slot").kind(Input::Whole).unit("min"))}
                {f(Ask::of("slot-places", "Visits that fit in one slot").kind(Input::Whole))}
                {days("promise-days", "Promised after", "Working days, when the plan allows no better.")}
                {days("post-days", "A parcel takes", "Working days to reach you.")}
                {sheet.select("ready-rule", "The notice that it is ready leaves", "", rules)}
                {f(Ask::of("told", "People are told between").hint("Such as 8:00-20:00. That something is ready, and reminders, wait until then."))}
                {sheet.tick("told-on-days-off", "Tell them on days off too", "Days on which neither counter nor bench is open.")}
                {sheet.tick("paid-first", "Hand over only what is paid", "")}
                {days("remind-after-days", "Remind of a ready piece after", "")}
                {days("lapse-after-days", "A booking that never arrives lapses after", "Its place in the plan is freed then.")}
                {f(Ask::of("most-declared", "Ask for a call above a value of").kind(Input::Figure).unit(sheet.typed.get("currency")))}
            })}
            {card("Texts", view! {
                {sheet.text("carrier-rule", "Your carrier's rule on blades", "Shown where a parcel is packed.", 5)}
                {f(Ask::of("carrier-checked", "Last checked with the carrier").kind(Input::Date))}
                {sheet.text("risk-text", "Who bears the risk on the way", "", 4)}
                {sheet.text("withdrawal-text", "Withdrawing, and beginning early", "Your own words; this is no legal advice.", 5)}
                {sheet.text("cut-test-text", "How the force of a cut is measured", "Shown at the check: medium, place, how often. Figures of other methods do not compare.", 3)}
            })}
            <Actions>
                <Button kind=ButtonKind::Primary>"Save the profile"</Button>
            </Actions>
        </form>
        {sheet.foot()}
    }
}
