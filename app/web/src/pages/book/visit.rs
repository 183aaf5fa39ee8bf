//! The rest of the booking form: how the knives come and go, whose they are, what was read and wished.

use chrono::NaiveDateTime;
use leptos::prelude::*;
use shop::booking::RawBooking;
use shop::field::FieldErrors;
use shop::packing;
use shop::profile::Profile;

use crate::parts::{Card, Choice, Field, Input, Opt, Picture, Tick, id_of};

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
    let counter_note =
        if slots.is_empty() { "no time is free in the next two weeks" } else { "at a time you choose" };
    let arrival = vec![
        Opt::new("post", "By post").drawn(Picture::Parcel).note("you pack, we tell you how"),
        Opt::new("counter", "At our counter").drawn(Picture::Counter).note(counter_note),
    ];
    let back = vec![
        Opt::new("post", "By post").drawn(Picture::Parcel).note("to the address below"),
        Opt::new("counter", "You fetch them").drawn(Picture::Counter).note("we write when they are ready"),
    ];
    let refused = vec![
        Opt::new("back", "Send it back as it is"),
        Opt::new("recycle", "Recycle the steel").note("it does not come back"),
    ];
    let rules: Vec<_> = packing::RULES.into_iter().map(|rule| view! { <li>{rule}</li> }).collect();
    let counter_where = format!("{}, {}", profile.street, profile.town);
    view! {
        <Card title="How do they come to us?">
            <Choice name="arrival" legend="Arrival" options=arrival chosen=raw.arrival.clone() error=said("arrival") />
            <div class="by-counter">
                <SlotSelect slots=slots chosen=raw.slot.clone() error=said("slot") />
                <p class="quiet">{counter_where} ". Please carry each blade wrapped in card or a towel."</p>
            </div>
            <div class="by-post">
                <h3>"Packing a blade for the post"</h3>
                <p>{profile.carrier_rule.clone()} " " <span class="quiet">"Asked of the carrier on " {carrier_checked} "."</span></p>
                <ol>{rules}</ol>
                <Tick name="packing" label="I have read how to pack a blade" checked=raw.packing error=said("packing") />
            </div>
        </Card>
        <Card title="How do they go back?">
            <Choice name="back" legend="Way back" options=back chosen=raw.back.clone() error=said("back") />
            <Field
                name="declared"
                label="What are they worth together?"
                value=raw.declared.clone()
                kind=Input::Figure
                unit=profile.currency.clone()
                hint="The parcel back is covered up to this."
                error=said("declared")
                optional=true
                maxlength=16
            />
            <Choice
                name="refused"
                legend="If we cannot do one of them after all"
                options=refused
                chosen=raw.refused.clone()
                error=said("refused")
            />
        </Card>
        <Card title="Who are you?">
            <Field name="name" label="Name" value=raw.name.clone() error=said("name") maxlength=80 autocomplete="name" required=true />
            <div class="fields">
                <Field
                    name="email"
                    label="Mail address"
                    value=raw.email.clone()
                    kind=Input::Email
                    hint="Everything we have to say goes there; nothing else does."
                    error=said("email")
                    maxlength=254
                    required=true
                />
                <Field name="phone" label="Telephone" value=raw.phone.clone() kind=Input::Phone error=said("phone") optional=true maxlength=40 />
            </div>
            <div class="address">
                <Field name="street" label="Street and number" value=raw.street.clone() error=said("street") maxlength=120 autocomplete="street-address" />
                <div class="fields">
                    <Field name="postcode" label="Postal code" value=raw.postcode.clone() error=said("postcode") maxlength=16 autocomplete="postal-code" />
                    <Field name="town" label="Town" value=raw.town.clone() error=said("town") maxlength=80 autocomplete="address-level2" />
                </div>
                <Field name="country" label="Country" value=raw.country.clone() error=said("country") maxlength=60 autocomplete="country-name" />
            </div>
        </Card>
        <Card title="When shall we begin?">
            <Tick name="rush" label="Rush: within two working days of arrival, for a surcharge" checked=raw.rush picture=Picture::Rush />
            <p class="quiet">{profile.withdrawal_text.clone()}</p>
            <Tick
                name="begin_early"
                label="Please begin before the time for withdrawal is over. I know that my right to withdraw ends once the work is fully done."
                checked=raw.begin_early
                error=said("begin_early")
            />
        </Card>
    }
    .into_any()
}

/// The free times, day by day.
#[component]
fn SlotSelect(slots: Vec<NaiveDateTime>, chosen: String, error: Option<String>) -> impl IntoView {
    let mut days: Vec<(String, Vec<NaiveDateTime>)> = Vec::new();
    for slot in slots {
        let day = slot.format("%A, %-d %B").to_string();
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
                    view! { <option value=value selected=selected>{slot.format("%a %-d %b, %H:%M").to_string()}</option> }
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
            <label for=id.clone()>"Time at the counter"</label>
            <div class="box pick">
                <select id=id name="slot" aria-invalid=bad.then_some("true") aria-describedby=bad.then_some("slot-error")>
                    <option value="">"choose a time"</option>
                    {groups}
                </select>
            </div>
            {error}
        </div>
    }
    .into_any()
}
