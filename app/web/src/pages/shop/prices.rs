//! What the work costs.

use leptos::prelude::*;
use shop::owner::{LISTS, ROWS};

use super::{Ask, Sheet, ShopHead, card};
use crate::parts::{Actions, Button, ButtonKind, Input};

/// The form of the price list.
#[component]
pub fn PricesPage(
    /// The form.
    sheet: Sheet,
    /// The shop's currency.
    currency: String,
) -> impl IntoView {
    let money = |name: &str, label: &str| sheet.field(Ask::of(name, label).unit(&currency));
    let rows_of = |list: &str, first: (&str, &str, &str), second: &str| -> Vec<AnyView> {
        (0..ROWS)
            .map(|row| {
                let place = row + 1;
                view! {
                    <div class="row price-row" role="group" aria-label=format!("Row {place}")>
                        {sheet.field(Ask::of(&format!("{list}-{row}-{}", first.0), first.1).unit(first.2))}
                        {sheet.field(Ask::of(&format!("{list}-{row}-price"), second).unit(&currency))}
                    </div>
                }
                .into_any()
            })
            .collect()
    };
    let lists: Vec<_> = LISTS
        .iter()
        .map(|(list, name)| {
            view! {
                {card(name, view! {
                    <p class="quiet">"From short to long. A price without a length is for every longer blade."</p>
                    {rows_of(list, ("mm", "Up to", "mm"), "Price")}
                })}
            }
        })
        .collect();
    view! {
        <ShopHead under="/shop/prices" />
        <p class="quiet">"All prices include tax. What was agreed stays agreed; new estimates use the new list."</p>
        {sheet.head()}
        <form method="post" action="/shop/prices" novalidate>
            {sheet.version()}
            {card("Tax", view! {{sheet.field(Ask::of("tax", "Tax contained in all prices").unit("%"))}})}
            {lists}
            {card("More on the edge", view! {
                <div class="columns">
                    {money("single-extra", "Added for a single bevel")}
                    {money("back-flattening", "Flattening the back")}
                    {money("foreign-fitting", "Other makers' teeth on a wheel of ours")}
                    {money("foreign-tooth-begin", "Other makers' teeth one by one: to begin")}
                    {money("foreign-tooth-each", "and per tooth")}
                    {money("foreign-to-plain", "Other makers' teeth to a plain edge")}
                    {sheet.field(Ask::of("chip-free-mm", "Chips free down to").kind(Input::Length).unit("mm"))}
                    {money("chip-per-half-mm", "per half millimetre beyond")}
                    {money("tip-per-3-mm", "Tip redrawn, per 3 mm")}
                </div>
            })}
            {card("Blade and handle", view! {
                <div class="columns">
                    {money("heel", "Levelling a heel or recurve")}
                    {money("bolster", "Relieving the bolster")}
                    {money("straighten", "Straightening")}
                    {money("derust-side", "Removing rust, per side")}
                    {money("redarken", "Re-darkening")}
                    {money("handle-tighten", "Tightening a handle")}
                    {money("handle-oil", "Oiling a handle")}
                </div>
            })}
            {card("Rush, and taken back unground", view! {
                <div class="columns">
                    {sheet.field(Ask::of("rush-percent", "Rush, on top of the work").kind(Input::Whole).unit("%"))}
                    {money("rush-least", "Rush, at least")}
                    {money("withdrawn", "Withdrawn after measuring")}
                </div>
            })}
            {card("Return parcels", view! {
                <p class="quiet">"From low to high: what a parcel covers, and its postage."</p>
                {rows_of("parcel", ("cover", "Covers up to", &currency), "Postage")}
            })}
            <Actions>
                <Button kind=ButtonKind::Primary>"Save the prices"</Button>
            </Actions>
        </form>
        {sheet.foot()}
    }
}
