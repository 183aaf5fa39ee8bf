//! What a sheet comes to, kept up with what is typed.
//!
//! The sheet is a plain form that works without any of this. The island listens to it and works out the same answer with
//! the same functions as the server; the server's answer when the sheet is saved is the one that counts.

use leptos::prelude::*;

use crate::pages::desk::sheet::{Answer, AnswerPanel};

/// The answer beside the sheet.
#[island]
pub fn InspectionAnswer(
    /// The answer as the server gave it.
    first: Option<Answer>,
) -> impl IntoView {
    let answer = RwSignal::new(first);
    let missing = RwSignal::new(None::<String>);
    #[cfg(feature = "hydrate")]
    browser::keep_up(answer, missing);
    view! {
        <div class="live" aria-live="polite">
            {move || missing.get().map(|words| view! { <p class="quiet">{words}</p> })}
            {move || match answer.get() {
                Some(answer) => view! { <AnswerPanel answer=answer /> }.into_any(),
                None => view! {
                    <p class="quiet">
                        "Height at the middle, thickness behind the edge and the angle are the least it takes; then the metal,
                        the price and the drawings stand here."
                    </p>
                }
                .into_any(),
            }}
        </div>
    }
}

#[cfg(feature = "hydrate")]
mod browser {
    use leptos::prelude::*;
    use shop::inspection::RawInspection;
    use wasm_bindgen::JsCast as _;
    use wasm_bindgen::prelude::Closure;
    use web_sys::{Event, FormData, HtmlFormElement, HtmlInputElement, UrlSearchParams};

    use crate::pages::desk::inspect::echo;
    use crate::pages::desk::sheet::{Aid, Answer};
    use crate::parts::id_of;

    fn aid() -> Option<Aid> {
        serde_json::from_str(&document().get_element_by_id("sheet-aid")?.text_content()?).ok()
    }

    fn typed(form: &HtmlFormElement) -> Option<RawInspection> {
        let data = FormData::new_with_form(form).ok()?;
        let params = UrlSearchParams::new_with_str_sequence_sequence(&data).ok()?;
        serde_qs::Config::new(5, false).deserialize_str(&String::from(params.to_string())).ok()
    }

    fn work_out(
        form: &HtmlFormElement,
        aid: &Aid,
        answer: RwSignal<Option<Answer>>,
        missing: RwSignal<Option<String>>,
    ) {
        let Some(raw) = typed(form) else { return };
        match aid.answer(&raw) {
            Ok(worked_out) => {
                missing.set(None);
                answer.set(Some(worked_out));
            }
            // An answer to older figures would be worse than none; what is missing is said instead.
            Err(errors) => {
                answer.set(None);
                missing.set(errors.0.first().map(|e| e.message.clone()));
            }
        }
    }

    /// Says beside a length how it was understood.
    fn echo_one(event: &Event) {
        let Some(input) = event.target().and_then(|t| t.dyn_into::<HtmlInputElement>().ok()) else { return };
        if let Some(output) = document().get_element_by_id(&format!("{}-echo", id_of(&input.name()))) {
            output.set_text_content(Some(&echo(&input.value())));
        }
    }

    pub(super) fn keep_up(answer: RwSignal<Option<Answer>>, missing: RwSignal<Option<String>>) {
        let Some(form) = document().get_element_by_id("sheet") else { return };
        let Ok(form) = form.dyn_into::<HtmlFormElement>() else { return };
        let Some(aid) = aid() else { return };
        let (own, own_aid) = (form.clone(), aid.clone());
        let listener = Closure::<dyn Fn(Event)>::new(move |event: Event| {
            echo_one(&event);
            work_out(&own, &own_aid, answer, missing);
        });
        // The form lives as long as the page.
        let _ = form.add_event_listener_with_callback("input", listener.as_ref().unchecked_ref());
        listener.forget();
        // Once for what was typed before we woke; a fresh sheet without a height is not complained about. Not before the
        // effects run: until then the page is being taken over as the server drew it, and must not differ from it.
        Effect::new(move |_| {
            if typed(&form).is_some_and(|raw| !raw.height.is_empty()) {
                work_out(&form, &aid, answer, missing);
            }
        });
    }
}
