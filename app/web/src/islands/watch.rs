//! A small note that something shown has changed: the page never jumps by itself.

use leptos::prelude::*;

/// Listens to the shop's changes and offers to show the new state. Without JavaScript it is nothing.
///
/// `what` is the kind of change to listen for; several are parted by spaces. `seen` is the id that is shown already:
/// a change with that id is old news.
#[island]
pub fn Watch(
    /// Kinds of change: `plan bench`.
    #[prop(into)]
    what: String,
    /// What the note says.
    #[prop(into)]
    words: String,
    /// The id of what is shown; may be empty.
    #[prop(into)]
    seen: String,
) -> impl IntoView {
    let changed = RwSignal::new(false);
    listen(what, seen, changed);
    view! {
        <div class="watch" role="status">
            {move || changed.get().then(|| view! {
                <p class="notice plain"><span class="inside">{words.clone()} " " <a href="">"Show it"</a></span></p>
            })}
        </div>
    }
}

#[cfg(feature = "hydrate")]
fn listen(what: String, seen: String, changed: RwSignal<bool>) {
    use wasm_bindgen::JsCast as _;
    use wasm_bindgen::closure::Closure;
    Effect::new(move |_| {
        let Ok(source) = web_sys::EventSource::new("/live") else { return };
        let (what, seen) = (what.clone(), seen.clone());
        let heard = Closure::<dyn FnMut(web_sys::MessageEvent)>::new(move |event: web_sys::MessageEvent| {
            let text = event.data().as_string().unwrap_or_default();
            let told: serde_json::Value = serde_json::from_str(&text).unwrap_or_default();
            // A hello names the plan that stands: it may have come while this page was on its way.
            let (kind, id) = match told["plan"].as_str() {
                Some(plan) => ("plan", Some(plan)),
                None => (told["what"].as_str().unwrap_or_default(), told["id"].as_str()),
            };
            let known = !seen.is_empty() && id == Some(seen.as_str());
            if (kind == "everything" || what.split(' ').any(|w| w == kind)) && !known {
                changed.set(true);
            }
        });
        for event in ["hello", "change"] {
            let _ = source.add_event_listener_with_callback(event, heard.as_ref().unchecked_ref());
        }
        let kept = StoredValue::new_local((source, heard));
        on_cleanup(move || kept.with_value(|(source, _)| source.close()));
    });
}

#[cfg(not(feature = "hydrate"))]
fn listen(_: String, _: String, _: RwSignal<bool>) {}
