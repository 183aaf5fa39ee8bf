//! A new private link, by mail: for a link past its day, or for whoever lost it.
//!
//! Whether an address is known is never said on a page; the answer to everybody is the same.

use shop::ids::VisitId;
use shop::profile::Profile;
use shop::read::Visit;

use super::{my_knives, private_link};
use crate::context::Ctx;
use crate::post::notice::{Notice, is_mailbox};
use crate::post::visit::NewLinks;
use crate::store::{Result, customers, knives, outbox, settings, visits};

/// The most visits one notice links to; the newest ones.
const MOST_LINKS: usize = 10;

/// Sends a new link to the customer of a visit.
pub async fn for_visit(ctx: &Ctx, id: VisitId) -> Result<()> {
    let visit = visits::get(ctx.store.read(), id).await?;
    send(ctx, visit.into_iter().collect()).await
}

/// Sends links to all visits of a mail address, if there are any.
pub async fn for_address(ctx: &Ctx, address: &str) -> Result<()> {
    if !is_mailbox(address) {
        return Ok(());
    }
    let db = ctx.store.read();
    let mut found = Vec::new();
    for customer in customers::all_by_email(db, address).await? {
        found.extend(visits::of_customer(db, customer).await?);
    }
    found.sort_by_key(|visit| std::cmp::Reverse(visit.booked_at));
    found.truncate(MOST_LINKS);
    send(ctx, found).await
}

async fn send(ctx: &Ctx, visits: Vec<Visit>) -> Result<()> {
    let Some(first) = visits.first() else { return Ok(()) };
    let Some(profile) = settings::get::<Profile>(ctx.store.read()).await? else { return Ok(()) };
    let (address, name) = (first.contact.email.clone(), first.contact.name.clone());
    if address.is_empty() {
        return Ok(());
    }
    // Whoever has confirmed, or brought something, has the knives; a booking nobody has confirmed stands by itself.
    let known = visits.iter().find(|v| v.confirmed_at.is_some() || v.received_at.is_some());
    let customer = known.unwrap_or(first).customer;
    let tx = ctx.store.begin_write().await?;
    let mut links = Vec::with_capacity(visits.len());
    for visit in visits {
        let link = private_link::mailed(ctx, &tx, visit.id).await?;
        links.push((visit, link));
    }
    let knives = if knives::of_owner(&tx, customer).await?.is_empty() {
        None
    } else {
        Some(my_knives::once_link(ctx, &tx, customer).await?)
    };
    let notice = Notice::NewLinks(Box::new(NewLinks { links, knives, profile: profile.value }));
    outbox::queue(&tx, ctx.new_id(), notice.letter(&address, &name), ctx.now()).await?;
    tx.commit().await?;
    ctx.post.ring();
    Ok(())
}
