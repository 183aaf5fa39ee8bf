//! A numbered bill, to be printed.

use leptos::prelude::*;
use shop::money::Money;
use shop::price::Line;
use shop::profile::Profile;
use shop::read::Contact;

use crate::parts::{Amount, ButtonLink, Column, DataTable, Notice, Tone};

/// A bill.
#[derive(Debug, Clone, PartialEq)]
pub struct BillView {
    /// Its number.
    pub number: u64,
    /// When it was issued, for people.
    pub issued: String,
    /// The visit's reference.
    pub reference: String,
    /// To whom.
    pub contact: Contact,
    /// Its lines.
    pub lines: Vec<Line>,
    /// Their sum.
    pub total: Money,
    /// The tax in it.
    pub tax: Money,
    /// The rate, tenths of a per cent.
    pub tax_permille: u32,
    /// Paid so far and how, in words; on the bill that stands.
    pub paid: Option<String>,
    /// The number of the bill this one cancels.
    pub cancels: Option<u64>,
    /// The number of the bill that cancels this one.
    pub cancelled_by: Option<u64>,
}

/// A bill, to be printed.
#[component]
pub fn BillPage(
    /// The bill.
    bill: BillView,
    /// Who issues it.
    profile: Profile,
) -> impl IntoView {
    let currency = profile.currency.clone();
    let amount = |money: Money| view! { <Amount money=money currency=currency.clone() /> }.into_any();
    let mut rows: Vec<Vec<AnyView>> =
        bill.lines.iter().map(|line| vec![line.what.clone().into_any(), amount(line.price)]).collect();
    rows.push(vec!["Total, tax included".into_any(), amount(bill.total)]);
    let rate = format!("{}.{} %", bill.tax_permille / 10, bill.tax_permille % 10).replace(".0 %", " %");
    let tax = format!(
        "It contains {} of tax at {rate}; without tax {}.",
        bill.tax.show(&currency),
        Money(bill.total.0 - bill.tax.0).show(&currency)
    );
    let title = match bill.cancels {
        Some(other) => format!("Bill {} (cancels bill {other})", bill.number),
        None => format!("Bill {}", bill.number),
    };
    let cancelled = bill.cancelled_by.map(|other| {
        view! { <Notice tone=Tone::Bad><p>{format!("This bill was cancelled by bill {other}.")}</p></Notice> }
    });
    let address = bill.contact.address.clone().map(|a| {
        view! { <br />{a.street}<br />{format!("{} {}", a.postcode, a.town)}<br />{a.country} }
    });
    let paid = bill.paid.map(|words| view! { <p><strong>{words}</strong></p> });
    let visit = format!("/desk/visit/{}", bill.reference.replace('-', ""));
    view! {
        <article class="sheet-a4 bill stack">
            <p>
                <strong>{profile.name}</strong>
                <br />
                {profile.street}
                <br />
                {profile.town}
                <br />
                {profile.country}
            </p>
            <p>{bill.contact.name}{address}</p>
            <h1>{title}</h1>
            <p>{format!("Issued {}. Visit {}.", bill.issued, bill.reference)}</p>
            {cancelled}
            <DataTable
                caption="What it is for"
                caption_hidden=true
                columns=vec![Column::words("What"), Column::figures("Price", "")]
                rows=rows
                total=true
            />
            <p>{tax}</p>
            {paid}
            <p class="quiet">{format!("Questions: {}", profile.email)}</p>
        </article>
        <p class="actions no-print">
            <ButtonLink href=visit>"Back to the visit"</ButtonLink>
        </p>
    }
}
