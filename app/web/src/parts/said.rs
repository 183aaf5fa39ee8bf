//! Words that may come and go while somebody types.

use leptos::prelude::*;

/// Words beside a field that may be absent, and inside an island may change: the message of an error, the echo of a
/// figure as it was understood. Empty words count as absent.
///
/// Made from `&str`, `String`, their options, and from signals and memos of `Option<String>`; so `errors.of("name")` of
/// [`shop::field::FieldErrors`] can be handed over as it is.
#[derive(Debug, Clone, Copy, Default)]
pub struct Said(Option<Signal<Option<String>>>);

impl Said {
    /// The words as they are now.
    pub fn now(self) -> Option<String> {
        self.0.and_then(|words| words.get()).filter(|words| !words.is_empty())
    }

    /// True when there are words now.
    pub fn any(self) -> bool {
        self.0.is_some_and(|words| words.with(|words| words.as_ref().is_some_and(|words| !words.is_empty())))
    }

    /// True when words may come, though there may be none now.
    pub fn may_come(self) -> bool {
        self.0.is_some()
    }
}

impl From<Option<String>> for Said {
    fn from(words: Option<String>) -> Self {
        Self(words.map(|words| Signal::stored(Some(words))))
    }
}

impl From<String> for Said {
    fn from(words: String) -> Self {
        Some(words).into()
    }
}

impl From<&str> for Said {
    fn from(words: &str) -> Self {
        Some(words.to_owned()).into()
    }
}

impl From<Option<&str>> for Said {
    fn from(words: Option<&str>) -> Self {
        words.map(str::to_owned).into()
    }
}

impl From<Signal<Option<String>>> for Said {
    fn from(words: Signal<Option<String>>) -> Self {
        Self(Some(words))
    }
}

impl From<Memo<Option<String>>> for Said {
    fn from(words: Memo<Option<String>>) -> Self {
        Self(Some(words.into()))
    }
}

impl From<RwSignal<Option<String>>> for Said {
    fn from(words: RwSignal<Option<String>>) -> Self {
        Self(Some(words.into()))
    }
}

impl From<ReadSignal<Option<String>>> for Said {
    fn from(words: ReadSignal<Option<String>>) -> Self {
        Self(Some(words.into()))
    }
}
