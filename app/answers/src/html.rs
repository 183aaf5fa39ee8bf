//! The answers as HTML. Everything that is not ours is escaped; the drawing comes from `craft`.

use shop::money::{Money, MoneyRange};

use crate::{Answer, Speech, Sum};

/// Our answers about one knife.
pub fn answer_html(answer: &Answer, speech: &Speech) -> String {
    let say = |text: &str| escaped(&speech.say(text));
    if let Some(why) = &answer.refusal {
        return format!(
            "<div class=\"refusal\"><div class=\"inside\"><p class=\"title\">{}</p><p>{}</p></div></div>",
            say("We cannot do this one"),
            escaped(why)
        );
    }
    let mut out = String::with_capacity(4096);
    let mut add = |parts: &[&str]| out.extend(parts.iter().copied());
    add(&[
        "<div class=\"answers\"><dl><div class=\"ask-cuts\"><dt>",
        &say("Will it cut as before?"),
        "</dt><dd>",
    ]);
    add(&[
        &escaped(&answer.cuts),
        "</dd></div><div class=\"ask-price\"><dt>",
        &say("What will it cost?"),
        "</dt><dd><p>",
    ]);
    add(&[&range(answer.price, &answer.currency, speech), "</p><details class=\"fold\"><summary>"]);
    add(&[
        &say("The lines, if it needs all of it"),
        "</summary><div class=\"inside\"><table class=\"lines\"><tbody>",
    ]);
    for line in &answer.lines {
        add(&["<tr><td>", &escaped(&line.what), "</td><td class=\"num\">"]);
        add(&[&amount(line.price, &answer.currency, speech), "</td></tr>"]);
    }
    add(&[
        "</tbody></table></div></details></dd></div><div class=\"ask-looks\"><dt>",
        &say("Will it look the same?"),
        "</dt><dd>",
    ]);
    for words in &answer.looks {
        add(&["<p>", &escaped(words), "</p>"]);
    }
    add(&[
        "</dd></div><div class=\"ask-life\"><dt>",
        &say("How many more times?"),
        "</dt><dd><p>",
        &escaped(&answer.life),
        "</p>",
    ]);
    if !answer.advice.is_empty() {
        add(&["<p>", &escaped(&answer.advice), "</p>"]);
    }
    add(&["</dd></div></dl>"]);
    if !answer.drawing.is_empty() {
        add(&["<div class=\"drawing\">", &answer.drawing, "</div>"]);
    }
    if !answer.cautions.is_empty() {
        add(&["<ul class=\"quiet\">"]);
        for words in &answer.cautions {
            add(&["<li>", &escaped(words), "</li>"]);
        }
        add(&["</ul>"]);
    }
    add(&["</div>"]);
    out
}

/// What stands there while a knife is not described yet.
pub fn nothing_html(speech: &Speech) -> String {
    let words = "Choose the knife and say what is wrong with it; our answers will stand here.";
    format!("<p class=\"quiet\">{}</p>", escaped(&speech.say(words)))
}

/// What it all comes to.
pub fn sum_html(sum: &Sum, speech: &Speech) -> String {
    let mut out = format!("<div><dt>{}</dt><dd>", escaped(&speech.say("What will it cost?")));
    if sum.n_known == 0 {
        out.push_str(&nothing_html(speech));
    } else {
        let of = if sum.n_known == sum.n_all {
            String::new()
        } else {
            let (n, all) = (sum.n_known, sum.n_all);
            speech.say(&format!(" for {n} of {all} knives; the others are not described yet"))
        };
        out.push_str(&format!("<p>{}{}</p>", range(sum.work, &sum.currency, speech), escaped(&of)));
    }
    if let Some((cover, price)) = sum.parcel.filter(|_| sum.n_known > 0) {
        let [price, cover] = [price, cover].map(|m| speech.lang.money(m, &sum.currency));
        let words = speech.say(&format!("and {price} for the parcel back, covered up to {cover}"));
        out.push_str(&format!("<p>{}</p>", escaped(&words)));
    }
    out.push_str("</dd></div>");
    out
}

fn amount(money: Money, currency: &str, speech: &Speech) -> String {
    shown(&speech.lang.money(money, currency).replace('-', "\u{2212}"), currency)
}

fn range(range: MoneyRange, currency: &str, speech: &Speech) -> String {
    shown(&speech.lang.money_range(range, currency), currency)
}

/// The number, and its unit kept beside it.
fn shown(text: &str, currency: &str) -> String {
    let number = text.trim_end_matches(currency).trim_end();
    format!(
        "<span class=\"money\"><span class=\"number\">{}</span><span class=\"unit\">\u{a0}{}</span></span>",
        escaped(number),
        escaped(currency)
    )
}

fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            other => safe.push(other),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;
    use shop::price::Line;

    #[test]
    fn nothing_typed_becomes_markup() {
        let answer = Answer {
            cuts: "<b>".into(),
            price: MoneyRange::default(),
            lines: vec![Line { what: "a & b".into(), price: Money(-100) }],
            currency: "EUR".into(),
            looks: vec!["\"x\"".into()],
            life: String::new(),
            drawing: "<svg></svg>".into(),
            cautions: vec!["<i>".into()],
            advice: String::new(),
            refusal: None,
        };
        let html = answer_html(&answer, &Speech::default());
        assert!(
            html.contains("&lt;b&gt;") && html.contains("a &amp; b") && html.contains("&lt;i&gt;"),
            "{html}"
        );
        assert!(html.contains("<svg></svg>") && html.contains("\u{2212}1.00"), "{html}");
        let no = Answer { refusal: Some("<u>".into()), ..answer };
        assert!(answer_html(&no, &Speech::default()).contains("&lt;u&gt;"));
    }

    #[test]
    fn nothing_is_summed_up_while_no_knife_is_described() {
        let parcel = Some((Money(20_000), Money(750)));
        let none = Sum { n_all: 1, parcel, currency: "EUR".into(), ..Sum::default() };
        let html = sum_html(&none, &Speech::default());
        assert!(html.contains("our answers will stand here") && !html.contains("7.50"), "{html}");
        let html = sum_html(&Sum { n_known: 1, ..none }, &Speech::default());
        assert!(html.contains("and 7.50 EUR for the parcel back"), "{html}");
    }
}
