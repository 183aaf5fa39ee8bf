//! Exporting what is kept about a customer, and erasing them.

use leptos::prelude::*;

use super::{Ask, Sheet, card};
use crate::parts::{Button, ButtonKind, ButtonLink, Crumbs, Facts, Input, Notice, Tone};

/// The person behind a reference.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Found {
    /// Their id.
    pub id: String,
    /// The reference that was typed.
    pub reference: String,
    /// Word and fact.
    pub facts: Vec<(String, String)>,
    /// Erased already, or why not yet.
    pub not_now: Option<String>,
}

/// Find a customer by a reference; export or erase them.
#[component]
pub fn CustomersPage(
    /// The form, with what was typed.
    sheet: Sheet,
    /// The person, when one was found.
    found: Option<Found>,
) -> impl IntoView {
    let found = found.map(|found| {
        let items = found.facts.into_iter().map(|(word, fact)| (word, fact.into_any())).collect();
        let confirm_label = format!("To confirm, type {}", found.reference);
        let erase = if let Some(why) = found.not_now {
            view! { <Notice tone=Tone::Warn title="Cannot be erased now"><p>{why}</p></Notice> }.into_any()
        } else {
            view! {
                <p>
                    "Name, addresses, notes, pictures, the texts of notices and private links go for good, in backups after the
                     oldest of them is gone. The ledger of each knife stays, with nobody's name on it, and so do numbered bills,
                     which carry none."
                </p>
                <form method="post" action="/shop/customers/erase" novalidate>
                    <input type="hidden" name="reference" value=found.reference.clone() />
                    {sheet.field(Ask::of("confirm", &confirm_label).kind(Input::Tag))}
                    <Button kind=ButtonKind::Danger>"Erase this person"</Button>
                </form>
            }
            .into_any()
        };
        view! {
            {card("Who this is", view! {<Facts items=items />})}
            {card("Export", view! {
                <p>"Everything that is kept about them: one archive (tar) with a readable file (JSON) and their pictures."</p>
                <ButtonLink href=format!("/shop/customers/{}/export", found.id)>"Download the archive"</ButtonLink>
            })}
            {card("Erase", view! {{erase}})}
        }
    });
    view! {
        <Crumbs trail=vec![("/shop".to_owned(), "Shop".to_owned())] here="A customer's own data" />
        <h1>"A customer's own data"</h1>
        {sheet.head()}
        <form method="get" action="/shop/customers" class="row level">
            {sheet.field(Ask::of("reference", "Reference of one of their visits").kind(Input::Tag))}
            <Button kind=ButtonKind::Primary>"Find"</Button>
        </form>
        {found}
    }
}
