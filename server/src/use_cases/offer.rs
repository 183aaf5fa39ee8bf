//! What the booking form offers: the shop's rules, what it knows of knives, and its free slots.

use assess::Knowledge;
use chrono::NaiveDateTime;
use shop::booking::{self, Booking, RawBooking, RawKnife};
use shop::field::FieldErrors;
use shop::profile::Profile;
use shop::read::Verdict;

use super::{knowledge, slots};
use crate::context::Ctx;
use crate::local;
use crate::store::{Result, StoreError, visits};

/// What the booking form offers.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The shop's rules.
    pub profile: Profile,
    /// What it knows of knives, and its prices.
    pub knows: Knowledge,
    /// Free counter slots, local time.
    pub slots: Vec<NaiveDateTime>,
}

/// The shop's rules; `None` while nobody has set the shop up.
pub async fn profile(ctx: &Ctx) -> Result<Option<Profile>> {
    match knowledge::profile(ctx).await {
        Ok(profile) => Ok(Some(profile)),
        Err(StoreError::NotSetUp { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}

/// Reads all of it. `None` while nobody has set the shop up.
pub async fn load(ctx: &Ctx) -> Result<Option<Offer>> {
    let db = ctx.store.read();
    let Some(profile) = profile(ctx).await? else { return Ok(None) };
    let knows = knowledge::load(ctx).await?;
    let now = ctx.now();
    let taken = visits::slots_taken(db, local::shown(local::zone(&profile), now)).await?;
    let slots = slots::free(&profile, &taken, now);
    Ok(Some(Offer { profile, knows, slots }))
}

impl Offer {
    /// Checks the whole form.
    pub fn check(&self, raw: &RawBooking) -> std::result::Result<Booking, FieldErrors> {
        let offer = booking::Offer {
            models: &self.knows.models,
            slots: &self.slots,
            most_declared: self.profile.most_declared,
        };
        booking::check(raw, &offer)
    }

    /// What we say of one knife as typed; `None` while it is not described well enough.
    pub fn verdict(&self, raw: &RawKnife, rush: bool) -> Option<Verdict> {
        let knife = booking::check_knife(raw, 0, &self.knows.models, &mut FieldErrors::default())?;
        Some(assess::booked(&self.knows, &knife, rush))
    }
}
