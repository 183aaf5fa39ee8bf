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
    let phrases =
        vec![("{a} teeth & \"gaps\"".into(), "{a} Zähne".into()), ("the edge".into(), "die Schneide".into())];
    let german = Speech { lang: Lang::De, book: Phrasebook::new(phrases) };
    let american = Speech { lang: Lang::EnUs, book: Phrasebook::inches() };
    for speech in [german, american, Speech::default()] {
        let aid = Aid::of(&knows, "EUR", speech);
        let text = aid.write();
        assert_eq!(Aid::read(&text).unwrap(), aid);
        assert_eq!(Aid::read(&text).unwrap().knowledge().models, knows.models);
    }
}

#[test]
fn nothing_in_it_ends_the_element_it_stands_in() {
    let mut knows = invented::knowledge();
    knows.models[0].name = "</script>".into();
    let book = Phrasebook::new(vec![("</script>".into(), "x".into()), ("x".into(), "<!--".into())]);
    let text = Aid::of(&knows, "</script>", Speech { lang: Lang::De, book }).write();
    assert!(!text.contains('<'), "{text}");
}

#[test]
fn what_was_cut_short_is_not_read() {
    let text = Aid::of(&invented::knowledge(), "EUR", Speech::default()).write();
    assert!(Aid::read("").is_none());
    assert!(Aid::read("not hexadecimal").is_none());
    assert!(Aid::read(&format!("{}\n", &text[..text.len() / 4 * 2])).is_none());
}
