//! The words of the notices, as their owner wants them.

use leptos::prelude::*;
use shop::lang::Lang;

use super::{Sheet, ShopHead, card};
use crate::parts::{Actions, Button, ButtonKind, Card, Notice, Tab, Tabs, TextArea, Tone};

/// One text that may be worded anew.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WordingLine {
    /// Its name: the field's name.
    pub name: String,
    /// What the program says.
    pub own: String,
    /// The places it may have: `{reference} {shop}`.
    pub places: String,
    /// One line only.
    pub short: bool,
}

/// What the page shows.
#[derive(Debug, Clone, PartialEq)]
pub struct WordingView {
    /// The form.
    pub sheet: Sheet,
    /// The language whose texts these are.
    pub lang: Lang,
    /// Which notice: its word.
    pub kind: String,
    /// All notices: word, and what people call them.
    pub kinds: Vec<(String, String)>,
    /// The texts of this notice.
    pub lines: Vec<WordingLine>,
    /// The notice with these texts and real data: subject, text. `None`: it was not asked for.
    pub preview: Option<(String, String)>,
    /// There is no visit yet whose data could be shown.
    pub no_data: bool,
}

/// The form for the texts of one notice in one language.
#[component]
pub fn WordingPage(
    /// What it shows.
    view: WordingView,
) -> impl IntoView {
    let WordingView { sheet, lang, kind, kinds, lines, preview, no_data } = view;
    let address = |lang: Lang, kind: &str| format!("/shop/wording?lang={}&kind={kind}", lang.code());
    let languages = [Lang::En, Lang::De]
        .map(|l| Tab { href: address(l, &kind), words: l.own_name().to_owned(), shown: l == lang })
        .into();
    let kinds: Vec<_> = kinds
        .into_iter()
        .map(|(word, name)| {
            let current = (word == kind).then_some("page");
            view! { <li><a href=address(lang, &word) aria-current=current>{name}</a></li> }
        })
        .collect();
    let fields: Vec<_> = lines
        .into_iter()
        .map(|line| {
            let hint = format!("Without a wording of your own: “{}”. Places: {}.", line.own, line.places);
            let value = sheet.typed.get(&line.name).to_owned();
            let error = sheet.errors.of(&line.name).map(str::to_owned);
            // "mail-booked-ready-post" is said in the notice "booked": what is left names the place in it.
            let place = line.name.trim_start_matches("mail-");
            let place = place.strip_prefix(&*kind).map_or(place, |rest| rest.trim_start_matches('-'));
            let mut label = place.replace('-', " ");
            if let Some(first) = label.get_mut(..1) {
                first.make_ascii_uppercase();
            }
            let rows = if line.short { 1 } else { 3 };
            view! { <TextArea name=line.name label=label hint=hint value=value error=error rows=rows optional=true maxlength=1200 /> }
        })
        .collect();
    let preview = preview.map(|(subject, text)| {
        view! {
            <Card title="With real data" first=true>
                <p><strong>{subject}</strong></p>
                <pre class="letter">{text}</pre>
                <p class="quiet">"Nothing is saved yet."</p>
            </Card>
        }
    });
    let no_data = no_data.then(|| {
        view! { <Notice tone=Tone::Plain><p>"There is no visit yet whose data could be shown."</p></Notice> }
    });
    let under = kind.clone();
    view! {
        <ShopHead under="/shop/wording" />
        <p class="quiet">
            "What stays empty is said as the program says it. In braces stand places that are filled when the notice is written; nothing a \
             customer types is ever read for places."
        </p>
        <Tabs label="Language" tabs=languages />
        {sheet.head()}
        {no_data}
        {preview}
        <div class="split">
            <form method="post" action="/shop/wording" class="stack" novalidate>
                {sheet.version()}
                <input type="hidden" name="lang" value=lang.code() />
                <input type="hidden" name="kind" value=kind />
                {card("The texts of this notice", view! { {fields} })}
                <Actions>
                    <Button name="do" value="show">"See it with real data"</Button>
                    <Button kind=ButtonKind::Primary name="do" value="save">"Save"</Button>
                </Actions>
            </form>
            <nav aria-label="Notices"><h2>"Notices"</h2><ul class="plain" data-shown=under>{kinds}</ul></nav>
        </div>
        {sheet.foot()}
    }
}
