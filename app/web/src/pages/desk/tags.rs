//! Tags to print: one label per piece on a 62 mm roll, or all on an A4 sheet.

use leptos::prelude::*;

use crate::parts::{ButtonLink, Crumbs, Notice, Tone};

/// One label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The tag as people read it.
    pub tag: String,
    /// Its QR code as an SVG element.
    pub qr: String,
    /// What the knife is called.
    pub name: String,
    /// The visit, and the number of the piece in it.
    pub of: String,
    /// By when, short.
    pub due: String,
}

/// The tags of a visit.
#[component]
pub fn TagsPage(
    /// The visit's reference.
    reference: String,
    /// One label per tagged piece.
    labels: Vec<Label>,
    /// Pieces that wear no tag yet, by name.
    without: Vec<String>,
    /// On an A4 sheet rather than on the roll.
    sheet: bool,
) -> impl IntoView {
    let visit = format!("/desk/visit/{}", reference.replace('-', ""));
    let other = if sheet { format!("{visit}/tags") } else { format!("{visit}/tags?on=sheet") };
    let other_words = if sheet { "Show them for the 62 mm roll" } else { "Show them for an A4 sheet" };
    let without = (!without.is_empty()).then(|| {
        view! {
            <Notice tone=Tone::Warn title="Without a tag">
                <p>{format!("{}: say first which knife it is.", without.join(", "))}</p>
            </Notice>
        }
    });
    let paper = if sheet { "sheet-a4 labels columns" } else { "labels" };
    let labels: Vec<_> = labels
        .into_iter()
        .map(|label| {
            let aria = format!("Tag {}", label.tag);
            view! {
                <section class="label-62" aria-label=aria>
                    <div class="qr" inner_html=label.qr></div>
                    <div>
                        <p>{label.name}</p>
                        <p>{label.of}</p>
                        <p>{label.due}</p>
                    </div>
                    <p class="code">{label.tag}</p>
                </section>
            }
        })
        .collect();
    view! {
        <div class="no-print stack">
            <Crumbs
                trail=vec![("/desk".to_owned(), "Desk".to_owned()), (visit.clone(), reference.clone())]
                here="Tags"
            />
            <h1>"Tags of "{reference}</h1>
            {without}
            <p>
                "Print this page with the browser: the roll takes one label per page, 62 mm wide. Tie the tag to the handle,
                never around the blade; print on stock that stands water and oil."
            </p>
            <p class="actions">
                <ButtonLink href=other>{other_words}</ButtonLink>
                <ButtonLink href=visit>"Back to the visit"</ButtonLink>
            </p>
        </div>
        <div class=paper>{labels}</div>
    }
}
