//! The rest of the booking form: how the knives come and go, whose they are, what was read and wished.

use chrono::NaiveDateTime;
use leptos::prelude::*;
use shop::booking::RawBooking;
use shop::field::FieldErrors;
use shop::packing;
use shop::profile::Profile;

use crate::parts::{Card, Choice, Field, Input, Opt, Picture, Tick, id_of};
use crate::say::{book, lang, t, tw};

/// Everything of the form but the knives.
#[component]
pub fn VisitForm(
    /// The form as typed.
    raw: RawBooking,
    /// What is wrong with it.
    errors: FieldErrors,
    /// The shop.
    profile: Profile,
    /// Free counter slots, local time.
    slots: Vec<NaiveDateTime>,
    /// When the carrier's rule was asked for, in words.
    carrier_checked: String,
) -> impl IntoView {
    // Copied into each card below.
    let errors = StoredValue::new(errors);
    let said = move |name: &str| errors.with_value(|errors| errors.of(name).map(str::to_owned));
    let counter_note = if slots.is_empty() { t("way-none-free") } else { t("way-chosen") };
    let arrival = vec![
        Opt::new("post", t("way-post")).drawn(Picture::Parcel).note(t("way-post-note")),
        Opt::new("counter", t("way-counter")).drawn(Picture::Counter).note(counter_note),
    ];
    let back = vec![
        Opt::new("post", t("way-post")).drawn(Picture::Parcel).note(t("way-address-note")),
        Opt::new("counter", t("way-fetch")).drawn(Picture::Counter).note(t("way-fetch-note")),
    ];
    let refused = vec![
        Opt::new("back", t("way-refused-back")),
        Opt::new("recycle", t("way-recycle")).note(t("way-recycle-note")),
    ];
    let phrases = book(&["packing"]);
    let rules: Vec<_> =
        packing::RULES.into_iter().map(|rule| view! { <li>{phrases.say(rule)}</li> }).collect();
    let rule = profile.carrier_rule_in(lang()).to_owned();
    let withdrawal = profile.withdrawal_text_in(lang()).to_owned();
    let counter_where = format!("{}, {}", profile.street, profile.town);
    view! {
        <Card title=t("way-in")>
            <Choice name="arrival" legend=t("way-arrival") options=arrival chosen=raw.arrival.clone() error=said("arrival") />
            <div class="by-counter">
                <SlotSelect slots=slots chosen=raw.slot.clone() error=said("slot") />
                <p class="quiet">{counter_where} ". " {t("way-carry")}</p>
            </div>
            <div class="by-post">
                <h3>{t("way-pack")}</h3>
                <p>{rule} " " <span class="quiet">{tw("way-checked", &[("day", &carrier_checked)])}</span></p>
                <ol>{rules}</ol>
                <Tick name="packing" label=t("way-packing-read") checked=raw.packing error=said("packing") />
            </div>
        </Card>
        <Card title=t("way-out")>
            <Choice name="back" legend=t("way-back") options=back chosen=raw.back.clone() error=said("back") />
            <Field
                name="declared"
                label=t("way-worth")
                value=raw.declared.clone()
                kind=Input::Figure
                unit=profile.currency.clone()
                hint=t("way-worth-hint")
                error=said("declared")
                optional=true
                maxlength=16
            />
            <Choice
                name="refused"
                legend=t("way-if-not")
                options=refused
                chosen=raw.refused.clone()
                error=said("refused")
            />
        </Card>
        <Card title=t("who-title")>
            <Field name="name" label=t("who-name") value=raw.name.clone() error=said("name") maxlength=80 autocomplete="name" required=true />
            <div class="fields">
                <Field
                    name="email"
                    label=t("who-mail")
                    value=raw.email.clone()
                    kind=Input::Email
                    hint=t("who-mail-hint")
                    error=said("email")
                    maxlength=254
                    required=true
                />
                <Field name="phone" label=t("who-phone") value=raw.phone.clone() kind=Input::Phone error=said("phone") optional=true maxlength=40 />
            </div>
            <div class="address">
                <Field name="street" label=t("who-street") value=raw.street.clone() error=said("street") maxlength=120 autocomplete="street-address" />
                <div class="fields">
                    <Field name="postcode" label=t("who-postcode") value=raw.postcode.clone() error=said("postcode") maxlength=16 autocomplete="postal-code" />
                    <Field name="town" label=t("who-town") value=raw.town.clone() error=said("town") maxlength=80 autocomplete="address-level2" />
                </div>
                <Field name="country" label=t("who-country") value=raw.country.clone() error=said("country") maxlength=60 autocomplete="country-name" />
            </div>
        </Card>
        <Card title=t("when-title")>
            <Tick name="rush" label=t("when-rush") checked=raw.rush picture=Picture::Rush />
            <p class="quiet">{withdrawal}</p>
            <Tick
                name="begin_early"
                label=t("when-early")
                checked=raw.begin_early
                error=said("begin_early")
            />
        </Card>
    }
    .into_any()
}

/// The free times, day by day.
#[component]
pub(crate) fn SlotSelect(slots: Vec<NaiveDateTime>, chosen: String, error: Option<String>) -> impl IntoView {
    let mut days: Vec<(String, Vec<NaiveDateTime>)> = Vec::new();
    for slot in slots {
        let day = lang().day_of_year(slot.date());
        match days.last_mut() {
            Some((last, times)) if *last == day => times.push(slot),
            _ => days.push((day, vec![slot])),
        }
    }
    let groups: Vec<_> = days
        .into_iter()
        .map(|(day, times)| {
            let options: Vec<_> = times
                .into_iter()
                .map(|slot| {
                    let value = slot.format("%Y-%m-%dT%H:%M").to_string();
                    let selected = value == chosen;
                    // The day stands in the option too: a closed list shows only that.
                    view! { <option value=value selected=selected>{lang().short(slot)}</option> }
                })
                .collect();
            view! { <optgroup label=day>{options}</optgroup> }
        })
        .collect();
    let id = id_of("slot");
    let bad = error.is_some();
    let error = error.map(|text| view! { <p class="error" id="slot-error">{text}</p> });
    view! {
        <div class="field">
            <label for=id.clone()>{t("slot-time")}</label>
            <div class="box pick">
                <select id=id name="slot" aria-invalid=bad.then_some("true") aria-describedby=bad.then_some("slot-error")>
                    <option value="">{t("slot-choose")}</option>
                    {groups}
                </select>
            </div>
            {error}
        </div>
    }
    .into_any()
}
