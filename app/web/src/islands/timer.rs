//! How long a step has run. The start is in the store, so a reload counts on.

use leptos::prelude::*;

/// Minutes and seconds since a step was begun, against what was planned.
#[island]
pub fn Timer(
    /// Seconds it had run when the page was made, by the shop's clock.
    seconds: i64,
    /// Planned minutes.
    planned: u32,
) -> impl IntoView {
    let since = RwSignal::new(seconds.max(0));
    tick(since);
    let over = move || since.get() > i64::from(planned) * 60;
    view! {
        <span class="timer" class:over=over>
            <span class="figures">{move || shown(since.get())}</span>
            {format!(" of {planned} min")}
            {move || over().then_some(", longer than planned")}
        </span>
    }
}

fn shown(seconds: i64) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

#[cfg(feature = "hydrate")]
fn tick(since: RwSignal<i64>) {
    Effect::new(move |_| {
        let begun = js_sys::Date::now() - since.get_untracked() as f64 * 1000.0;
        let every = set_interval_with_handle(
            move || since.set(((js_sys::Date::now() - begun) / 1000.0) as i64),
            std::time::Duration::from_secs(1),
        );
        on_cleanup(move || {
            if let Ok(every) = every {
                every.clear();
            }
        });
    });
}

#[cfg(not(feature = "hydrate"))]
fn tick(_: RwSignal<i64>) {}
