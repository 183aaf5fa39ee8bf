//! What the page tells its program arrives as it was sent: nothing in it has a name, so whatever a field left out when it
//! is written would be missed when it is read.

#[path = "../../assess/tests/invented/mod.rs"]
mod invented;

use answers::{Aid, Speech};
use shop::lang::Lang;
use shop::phrasebook::Phrasebook;

#[test]
fn what_is_written_is_read() {
    let mut knows = invented::knowledge();
    let steel = craft::steel("440C").unwrap();
    knows.rates.steels = vec![steel.clone()];
    // Every choice once taken and once left.
    let mut other = knows.models[0].clone();
    other.drawing.line_mm = None;
    other.drawing.teeth = None;
    other.drawing.setup = None;
    knows.models.push(other);
    let book = Phrasebook::new(vec![("{a} teeth <b>".into(), "{a} Zähne".into())]);
    let aid = Aid::of(&knows, "EUR", Speech { lang: Lang::De, book });
    let text = aid.write();
    assert!(text.bytes().all(|b| b.is_ascii_hexdigit()), "safe inside a script element");
    assert_eq!(Aid::read(&text).unwrap(), aid);
    assert_eq!(Aid::read(&text).unwrap().knowledge().models, knows.models);
}

#[test]
fn what_was_cut_short_is_not_read() {
    let text = Aid::of(&invented::knowledge(), "EUR", Speech::default()).write();
    assert!(Aid::read("").is_none());
    assert!(Aid::read("not hexadecimal").is_none());
    assert!(Aid::read(&text[..text.len() / 4 * 2]).is_none());
}
