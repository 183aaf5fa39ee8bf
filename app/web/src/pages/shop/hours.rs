//! Hours of counter and bench, and holidays.

use leptos::prelude::*;
use shop::owner::DAYS;

use super::{Ask, Sheet, ShopHead, card};
use crate::parts::{Actions, Button, ButtonKind};

/// The fields of one week of hours.
pub(super) fn week(sheet: &Sheet, prefix: &str) -> AnyView {
    let days: Vec<_> = DAYS
        .iter()
        .map(|(day, name)| sheet.field(Ask::of(&format!("{prefix}-{day}"), name).optional()))
        .collect();
    let closed = sheet.text(
        &format!("{prefix}-closed"),
        "Holidays and days off",
        "One a line: 2026-12-25, or 2026-12-24 to 2026-12-31.",
        5,
    );
    view! {
        <p class="quiet">"Write hours as 8:00-12:00, 13:00-17:00. A day without hours is off."</p>
        <div class="columns">{days}</div>
        {closed}
    }
    .into_any()
}

/// The form of the hours.
#[component]
pub fn HoursPage(
    /// The form.
    sheet: Sheet,
) -> impl IntoView {
    view! {
        <ShopHead under="/shop/hours" />
        {sheet.head()}
        <form method="post" action="/shop/hours" novalidate>
            {sheet.version()}
            {card("The counter is open", view! {{week(&sheet, "counter")}})}
            {card("The bench works", view! {
                <p class="quiet">"For everybody without hours of their own; those stand with the person."</p>
                {week(&sheet, "bench")}
            })}
            <Actions>
                <Button kind=ButtonKind::Primary>"Save the hours"</Button>
            </Actions>
        </form>
        {sheet.foot()}
    }
}
