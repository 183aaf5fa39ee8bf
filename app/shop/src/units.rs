//! Lengths as hands type them: millimetres or inches, decimal point or comma, fractions.

use crate::lang::Lang;

/// Millimetres in an inch (exact, international inch of 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// A length as it was typed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typed {
    /// The length in millimetres.
    pub mm: f64,
    /// True when it was given in inches (a unit, or a fraction such as `1/16`, which nobody writes for millimetres).
    pub inches: bool,
}

impl Typed {
    /// How the figure was understood, to be shown beside the field: `"1.59 mm"`.
    pub fn echo(&self) -> String {
        if self.inches { format!("{} mm", short(self.mm, 2)) } else { format!("{} mm", short(self.mm, 3)) }
    }
}

/// How a length is understood while it is typed, where that is not plain to see (inches, fractions, commas, units):
/// `209.55 mm`, `209,55 mm`. Whoever measures in inches is told both units. Empty where there is nothing to say.
pub fn echo(typed: &str, lang: Lang) -> String {
    let Some(length) = length(typed) else { return String::new() };
    if lang == Lang::EnUs {
        return format!("{}, {}", length.echo(), lang.length(length.mm, 2));
    }
    let plain = !length.inches && !typed.contains([',', 'm']);
    if plain { String::new() } else { lang.decimal(&length.echo()) }
}

/// `value` with at most `places` decimals and no trailing zeros.
pub fn short(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Reads a length: `"210"`, `"0.4"`, `"1,5"`, `"1.5 mm"`, `"3 cm"`, `"1/16"`, `"2 3/8 in"`, `"8.25\""`.
/// `None` when it is not a plain non-negative length (signs, exponents, two units, division by zero).
pub fn length(typed: &str) -> Option<Typed> {
    let text = typed.trim().to_ascii_lowercase().replace(['”', '″'], "\"");
    let (number, factor, unit_inches) = if let Some(n) = text.strip_suffix("mm") {
        (n, 1.0, Some(false))
    } else if let Some(n) = text.strip_suffix("cm") {
        (n, 10.0, Some(false))
    } else if let Some(n) =
        text.strip_suffix("inch").or_else(|| text.strip_suffix("in")).or_else(|| text.strip_suffix('"'))
    {
        (n, MM_PER_INCH, Some(true))
    } else {
        (text.as_str(), 1.0, None)
    };
    let mut parts = number.split_whitespace();
    let (first, second) = (parts.next()?, parts.next());
    if parts.next().is_some() {
        return None;
    }
    let (value, fraction) = match second {
        Some(second) => (decimal(first)? + ratio(second)?, true),
        None if first.contains('/') => (ratio(first)?, true),
        None => (decimal(first)?, false),
    };
    let inches = unit_inches.unwrap_or(fraction);
    let factor = if inches { MM_PER_INCH } else { factor };
    let mm = value * factor;
    (mm.is_finite()).then_some(Typed { mm, inches })
}

/// Reads a plain decimal of up to 12 characters as typed: `"0.4"`, `"1,5"`, `" 210 "`. `None` for anything else: signs, exponents,
/// words. Its digits are a whole number far below 2⁵³ and so is the power of ten it is divided
/// by, so one division rounds it rightly (Clinger 1990); the standard reading of a float brings tables of 10 kilobytes along,
/// which the program of the booking page does without.
pub fn decimal(typed: &str) -> Option<f64> {
    let text = typed.trim();
    if text.len() > 12 {
        return None;
    }
    let (whole, part) = text.split_once(['.', ',']).unwrap_or((text, ""));
    let mut digits = None;
    for b in whole.bytes().chain(part.bytes()) {
        let digit = b.is_ascii_digit().then(|| u64::from(b - b'0'))?;
        digits = Some(digits.unwrap_or(0) * 10 + digit);
    }
    Some(digits? as f64 / 10_u64.pow(part.len() as u32) as f64)
}

fn ratio(text: &str) -> Option<f64> {
    let (top, bottom) = text.split_once('/')?;
    let bottom = decimal(bottom)?;
    (bottom > 0.0).then_some(decimal(top)? / bottom)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn lengths_are_understood_as_typed() {
        for (typed, mm) in [
            ("210", 210.0),
            ("0.4", 0.4),
            ("1,5", 1.5),
            (" 1.5mm", 1.5),
            ("3 cm", 30.0),
            ("1/16", 1.5875),
            ("2 3/8 in", 60.325),
            ("8.25\"", 209.55),
            ("8 in", 203.2),
            (".5", 0.5),
            ("5.", 5.0),
            ("1/2 mm", 0.5),
            ("8″", 203.2),
        ] {
            let got = length(typed).unwrap_or_else(|| panic!("{typed} not understood"));
            assert!((got.mm - mm).abs() < 1e-9, "{typed}: {} against {mm}", got.mm);
        }
        for bad in [
            "", "-1", "+1", "1e3", "nan", "inf", "1/0", "1 2", "1 2 3", "x", "1.2.3", "mm", "12 mm in",
            "1//2", ".",
        ] {
            assert_eq!(length(bad), None, "{bad}");
        }
    }

    #[test]
    fn the_echo_shows_no_idle_zeros() {
        assert_eq!(length("1/16").map(|t| t.echo()).as_deref(), Some("1.59 mm"));
        assert_eq!(length("210.0").map(|t| t.echo()).as_deref(), Some("210 mm"));
    }

    #[test]
    fn what_was_understood_is_said_in_the_language_of_the_page() {
        for (typed, english, american, german) in [
            ("8 1/4 in", "209.55 mm", "209.55 mm, 8.25 in", "209,55 mm"),
            ("1/16", "1.59 mm", "1.59 mm, 0.062 in", "1,59 mm"),
            ("0,4", "0.4 mm", "0.4 mm, 0.016 in", "0,4 mm"),
            ("1.5 cm", "15 mm", "15 mm, 0.591 in", "15 mm"),
            ("210", "", "210 mm, 8.268 in", ""),
            ("8 1/", "", "", ""),
        ] {
            let said = [Lang::En, Lang::EnUs, Lang::De].map(|lang| echo(typed, lang));
            assert_eq!(said, [english, american, german], "{typed}");
        }
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(mm in 0.0..9999.0f64) {
            let shown = short(mm, 3);
            let back = length(&shown).map_or(f64::NAN, |t| t.mm);
            prop_assert!((back - mm).abs() <= 0.000_500_1, "{mm} {shown} {back}");
        }

        #[test]
        fn a_decimal_reads_as_the_standard_reads_it(text in "[0-9]{0,6}([.,][0-9]{0,6})?") {
            let read = text.replace(',', ".").parse::<f64>().ok();
            prop_assert_eq!(decimal(&text), read.filter(|_| text.len() <= 12));
        }

        #[test]
        fn nothing_typed_makes_it_panic(text in ".{0,30}") {
            if let Some(t) = length(&text) {
                prop_assert!(t.mm >= 0.0 && t.mm.is_finite());
            }
        }
    }
}
