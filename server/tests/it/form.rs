//! Reads a form off a page as a browser would send it back: every field, ticked boxes only, the chosen option.

use std::collections::BTreeMap;

use crate::test_shop::{Answer, TestShop};

/// The fields of one form and where it goes.
#[derive(Debug, Clone)]
pub(crate) struct Form {
    action: String,
    fields: BTreeMap<String, String>,
}

impl Form {
    /// The form of a page that goes to `action`.
    #[track_caller]
    pub(crate) fn of(page: &Answer, action: &str) -> Self {
        let forms = page.body.split("<form").skip(1);
        let form = forms
            .map(|rest| rest.split_once("</form>").map_or(rest, |(form, _)| form))
            .find(|form| {
                form.split_once('>').is_some_and(|(head, _)| head.contains(&format!("action=\"{action}\"")))
            })
            .unwrap_or_else(|| panic!("no form to {action} in:\n{}", page.body));
        let mut fields = BTreeMap::new();
        for input in form.split("<input").skip(1) {
            let tag = input.split_once('>').unwrap().0;
            let kind = attribute(tag, "type").unwrap_or_default();
            let is_off = matches!(kind.as_str(), "checkbox" | "radio") && !has(tag, "checked");
            if let (Some(name), false) = (attribute(tag, "name"), is_off) {
                fields.insert(name, attribute(tag, "value").unwrap_or_default());
            }
        }
        for area in form.split("<textarea").skip(1) {
            let (tag, rest) = area.split_once('>').unwrap();
            let text = rest.split_once("</textarea>").unwrap().0;
            // A browser drops one line end at the beginning.
            let text = text.strip_prefix('\n').unwrap_or(text);
            fields.insert(attribute(tag, "name").unwrap(), plain(&text.replace("<!>", "")));
        }
        for select in form.split("<select").skip(1) {
            let (tag, rest) = select.split_once('>').unwrap();
            let options: Vec<&str> =
                rest.split_once("</select>").unwrap().0.split("<option").skip(1).collect();
            let heads = || options.iter().map(|option| option.split_once('>').unwrap().0);
            let chosen = heads().find(|head| has(head, "selected")).or_else(|| heads().next());
            let value = chosen.and_then(|head| attribute(head, "value")).unwrap_or_default();
            fields.insert(attribute(tag, "name").unwrap(), value);
        }
        Self { action: action.to_owned(), fields }
    }

    /// Types something over a field that is there.
    #[track_caller]
    pub(crate) fn set(mut self, name: &str, text: &str) -> Self {
        assert!(self.fields.contains_key(name), "{name} is not among {:?}", self.fields.keys());
        self.fields.insert(name.to_owned(), text.to_owned());
        self
    }

    /// Ticks a box, or presses a button of that name.
    pub(crate) fn tick(mut self, name: &str, value: &str) -> Self {
        self.fields.insert(name.to_owned(), value.to_owned());
        self
    }

    /// Takes a tick away.
    pub(crate) fn untick(mut self, name: &str) -> Self {
        self.fields.remove(name);
        self
    }

    /// What stands in a field.
    pub(crate) fn get(&self, name: &str) -> &str {
        self.fields.get(name).map_or("", String::as_str)
    }

    /// Sends it.
    pub(crate) async fn send(&self, shop: &TestShop) -> Answer {
        let fields: Vec<_> = self.fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        shop.post(&self.action, &fields).await
    }
}

fn attribute(tag: &str, name: &str) -> Option<String> {
    let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
    Some(plain(rest.split_once('"')?.0))
}

fn has(tag: &str, name: &str) -> bool {
    tag.split_whitespace().any(|part| part.trim_end_matches('/').split('=').next() == Some(name))
}

fn plain(html: &str) -> String {
    let entities =
        [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#x27;", "'"), ("&#39;", "'"), ("&amp;", "&")];
    entities.iter().fold(html.to_owned(), |text, (entity, letter)| text.replace(entity, letter))
}

/// What stands between two pieces of a text.
#[track_caller]
pub(crate) fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    let from = text.find(before).unwrap_or_else(|| panic!("{before:?} is not in:\n{text}")) + before.len();
    &text[from..from + text[from..].find(after).unwrap()]
}
