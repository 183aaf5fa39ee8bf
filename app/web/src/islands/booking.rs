//! What answers at once while a booking is typed.
//!
//! The form is plain HTML and works without any of this. These parts listen to it: they work the same figures out with the
//! same functions as the server, and keep a draft on the device.

#![expect(missing_docs, reason = "the island macro makes a struct without documentation")]

use leptos::prelude::*;

use crate::pages::book::{Answer, AnswerCard, Speech, Sum};
use crate::parts::AmountRange;

/// How the page speaks: the server asks the catalogue, the browser finds it in what the server wrote for the islands.
fn speech() -> Speech {
    #[cfg(not(feature = "hydrate"))]
    {
        Speech::of_page()
    }
    #[cfg(feature = "hydrate")]
    {
        browser::speech()
    }
}

/// Our answers about one knife, kept up with what is typed.
#[island]
pub fn KnifeAnswer(
    /// Place in the form, from 0.
    i: usize,
    /// The answers as the server gave them.
    first: Option<Answer>,
) -> impl IntoView {
    let answer = RwSignal::new(first);
    let speech = StoredValue::new(speech());
    #[cfg(feature = "hydrate")]
    browser::keep_up(move |form, aid, changed| {
        let own = format!("knives[{i}]");
        if changed.is_none_or(|name| name.starts_with(&own) || name == "rush") {
            answer.set(browser::answer(form, aid, i));
        }
    });
    #[cfg(not(feature = "hydrate"))]
    let _ = i;
    view! {
        <div class="answer" aria-live="polite">
            {move || match answer.get() {
                Some(answer) => view! { <AnswerCard answer=answer speech=speech.get_value() /> }.into_any(),
                None => view! {
                    <p class="quiet">
                        {speech.with_value(|s| {
                            s.say("Choose the knife and say what is wrong with it; our answers will stand here.")
                        })}
                    </p>
                }.into_any(),
            }}
        </div>
    }
}

/// What it all comes to, kept up with what is typed.
#[island]
pub fn BookingSum(
    /// The sum as the server worked it out.
    first: Sum,
) -> impl IntoView {
    let sum = RwSignal::new(first);
    let speech = StoredValue::new(speech());
    let cost = speech.with_value(|s| s.say("What will it cost?"));
    #[cfg(feature = "hydrate")]
    browser::keep_up(move |form, aid, _| {
        if let Some(raw) = browser::typed(form) {
            sum.set(Sum::of(&aid.knows, &aid.currency, &raw));
        }
    });
    view! {
        <dl class="answers sum" aria-live="polite">
            <div>
                <dt>{cost}</dt>
                <dd>
                    {move || {
                        let Sum { work, n_known, n_all, parcel, currency } = sum.get();
                        let lang = speech.with_value(|s| s.lang);
                        let of = if n_known == n_all {
                            String::new()
                        } else {
                            speech.with_value(|s| {
                                s.say(&format!(" for {n_known} of {n_all} knives; the others are not described yet"))
                            })
                        };
                        let parcel = parcel.map(|(cover, price)| {
                            let words = speech.with_value(|s| {
                                let [price, cover] = [price, cover].map(|m| s.lang.money(m, &currency));
                                s.say(&format!("and {price} for the parcel back, covered up to {cover}"))
                            });
                            view! { <p>{words}</p> }
                        });
                        let work = (n_known > 0)
                            .then(|| view! { <p><AmountRange range=work currency=currency.clone() lang=lang />{of}</p> });
                        view! { {work} {parcel} }
                    }}
                </dd>
            </div>
        </dl>
    }
}

/// Keeps what was typed on this device until it is booked, and offers it when one comes back.
#[island]
pub fn BookingDraft() -> impl IntoView {
    let found = RwSignal::new(false);
    let speech = speech();
    let [began, go_on, throw_away] =
        ["You began a booking on this device.", "Go on with it", "Throw it away"]
            .map(|text| speech.say(text));
    #[cfg(feature = "hydrate")]
    browser::keep_draft(found);
    view! {
        <div class="draft" class:none=move || !found.get()>
            <p>{began}</p>
            <div class="actions">
                <button class="button" type="button" on:click=move |_| {
                    #[cfg(feature = "hydrate")]
                    browser::go_on();
                }>{go_on}</button>
                <button class="button quiet" type="button" on:click=move |_| {
                    #[cfg(feature = "hydrate")]
                    browser::throw_away();
                    found.set(false);
                }>{throw_away}</button>
            </div>
        </div>
    }
}

/// The draft is booked: it goes from this device.
#[island]
pub fn BookingDone() -> impl IntoView {
    #[cfg(feature = "hydrate")]
    browser::throw_away();
    view! { <span hidden></span> }
}

#[cfg(feature = "hydrate")]
mod browser {
    use std::cell::OnceCell;
    use std::rc::Rc;

    use leptos::prelude::*;
    use shop::booking::{self, RawBooking};
    use shop::field::FieldErrors;
    use wasm_bindgen::JsCast as _;
    use wasm_bindgen::prelude::Closure;
    use web_sys::{FormData, HtmlFormElement, Storage, UrlSearchParams};

    use crate::pages::book::{Aid, Answer, Speech};

    /// Under this name the draft lies in the browser's storage.
    const DRAFT: &str = "whetledger.booking";

    thread_local! {
        static AID: OnceCell<Option<Aid>> = const { OnceCell::new() };
    }

    fn form() -> Option<HtmlFormElement> {
        document().get_element_by_id("booking")?.dyn_into().ok()
    }

    fn with_aid(f: impl FnOnce(&Aid)) {
        AID.with(|aid| {
            let read =
                || serde_json::from_str(&document().get_element_by_id("booking-aid")?.text_content()?).ok();
            if let Some(aid) = aid.get_or_init(read) {
                f(aid);
            }
        });
    }

    /// How the page speaks.
    pub(super) fn speech() -> Speech {
        let mut speech = Speech::default();
        with_aid(|aid| speech = aid.speech.clone());
        speech
    }

    /// Calls `f` once when the page is awake, for what was typed before, and after every change with the name of the changed
    /// field.
    pub(super) fn keep_up(f: impl Fn(&HtmlFormElement, &Aid, Option<&str>) + 'static) {
        let f = Rc::new(f);
        // Not before: what the server wrote has to be found as it was.
        Effect::new(move |_| {
            let Some(form) = form() else { return };
            with_aid(|aid| f(&form, aid, None));
            let (own, f) = (form.clone(), Rc::clone(&f));
            let listener = Closure::<dyn Fn(web_sys::Event)>::new(move |event: web_sys::Event| {
                let field = event.target().and_then(|target| target.dyn_into::<web_sys::Element>().ok());
                let name = field.and_then(|field| field.get_attribute("name"));
                with_aid(|aid| f(&own, aid, name.as_deref()));
            });
            let _ = form.add_event_listener_with_callback("input", listener.as_ref().unchecked_ref());
            // The form lives as long as the page.
            listener.forget();
        });
    }

    fn query(form: &HtmlFormElement) -> Option<String> {
        let data = FormData::new_with_form(form).ok()?;
        let params = UrlSearchParams::new_with_str_sequence_sequence(&data).ok()?;
        Some(String::from(params.to_string()))
    }

    /// The form as it stands.
    pub(super) fn typed(form: &HtmlFormElement) -> Option<RawBooking> {
        serde_qs::Config::new(5, false).deserialize_str(&query(form)?).ok()
    }

    pub(super) fn answer(form: &HtmlFormElement, aid: &Aid, i: usize) -> Option<Answer> {
        let raw = typed(form)?;
        let knife =
            booking::check_knife(raw.knives.get(i)?, i, &aid.knows.models, &mut FieldErrors::default())?;
        Some(Answer::about(&aid.knows, &aid.currency, &knife, raw.rush).said(&aid.speech))
    }

    fn storage() -> Option<Storage> {
        window().local_storage().ok().flatten()
    }

    pub(super) fn keep_draft(found: RwSignal<bool>) {
        Effect::new(move |_| {
            let Some(form) = form() else { return };
            // A fresh page with nothing typed offers the draft; one that came back from the server goes on writing it.
            let bare = |raw: RawBooking| raw.name.is_empty() && raw.knives.iter().all(|k| k.model.is_empty());
            let fresh = typed(&form).is_none_or(bare);
            let old = storage().and_then(|storage| storage.get_item(DRAFT).ok().flatten());
            found.set(fresh && old.is_some());
            let own = form.clone();
            let listener = Closure::<dyn Fn()>::new(move || {
                if let (Some(storage), Some(query)) = (storage(), query(&own)) {
                    let _ = storage.set_item(DRAFT, &query);
                    found.set(false);
                }
            });
            let _ = form.add_event_listener_with_callback("input", listener.as_ref().unchecked_ref());
            listener.forget();
        });
    }

    /// Sends the draft as if it had just been typed; the same form comes back, filled.
    pub(super) fn go_on() {
        let Some(query) = storage().and_then(|s| s.get_item(DRAFT).ok().flatten()) else { return };
        let Ok(params) = UrlSearchParams::new_with_str(&query) else { return };
        let Ok(form) = document().create_element("form") else { return };
        let Ok(form) = form.dyn_into::<HtmlFormElement>() else { return };
        form.set_method("post");
        form.set_action("/book");
        params.delete("do");
        params.append("do", "show");
        for pair in params.entries().into_iter().flatten() {
            let pair: js_sys::Array = pair.unchecked_into();
            let (Some(name), Some(value)) = (pair.get(0).as_string(), pair.get(1).as_string()) else {
                continue;
            };
            let Ok(input) = document().create_element("input") else { continue };
            let _ = input.set_attribute("type", "hidden");
            let _ = input.set_attribute("name", &name);
            let _ = input.set_attribute("value", &value);
            let _ = form.append_child(&input);
        }
        if let Some(body) = document().body() {
            let _ = body.append_child(&form);
            let _ = form.submit();
        }
    }

    pub(super) fn throw_away() {
        if let Some(storage) = storage() {
            let _ = storage.remove_item(DRAFT);
        }
    }
}
