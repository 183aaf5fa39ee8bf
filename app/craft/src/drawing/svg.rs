//! Just enough SVG: a page with a scale, paths, lines and words.

use core::fmt::Write;

use super::Units;

/// A drawing under way. Positions are in the drawing's own units; `mm` turns lengths into them.
pub(crate) struct Svg {
    out: String,
    width: f64,
    height: f64,
}

/// How a shape is drawn: its class for the page's stylesheet, and what it looks like without one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pen {
    pub(crate) class: &'static str,
    pub(crate) fill: f64,
    pub(crate) stroke: f64,
    pub(crate) dash: Option<&'static str>,
}

impl Pen {
    /// A filled area of this opacity.
    pub(crate) const fn fill(class: &'static str, opacity: f64) -> Self {
        Self { class, fill: opacity, stroke: 0.0, dash: None }
    }

    /// A line of this width.
    pub(crate) const fn line(class: &'static str, width: f64) -> Self {
        Self { class, fill: 0.0, stroke: width, dash: None }
    }

    pub(crate) const fn dashed(mut self, dash: &'static str) -> Self {
        self.dash = Some(dash);
        self
    }
}

/// Where a word is anchored.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Svg {
    pub(crate) fn new(class: &str, width: f64, height: f64, title: &str, description: &str) -> Self {
        let mut out = String::with_capacity(4096);
        // Writing to a String cannot fail.
        let _ = write!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"dw {class}\" role=\"img\" viewBox=\"0 0 {} {}\" \
             width=\"{}\" height=\"{}\" font-family=\"inherit\" font-size=\"12\" fill=\"none\" stroke=\"none\">\
             <title>{}</title><desc>{}</desc>",
            Number(width),
            Number(height),
            Number(width),
            Number(height),
            Escaped(title),
            Escaped(description)
        );
        Self { out, width, height }
    }

    pub(crate) fn width(&self) -> f64 {
        self.width
    }

    pub(crate) fn height(&self) -> f64 {
        self.height
    }

    pub(crate) fn path(&mut self, points: &[(f64, f64)], closed: bool, pen: Pen) {
        if points.len() < 2 {
            return;
        }
        self.out.push_str("<path d=\"");
        for (i, (x, y)) in points.iter().enumerate() {
            let _ = write!(self.out, "{}{} {}", if i == 0 { "M" } else { "L" }, Number(*x), Number(*y));
        }
        self.out.push_str(if closed { "Z\"" } else { "\"" });
        self.pen(pen);
        self.out.push_str("/>");
    }

    /// What lies in one outline and not in the other.
    pub(crate) fn difference(&mut self, one: &[(f64, f64)], other: &[(f64, f64)], pen: Pen) {
        self.out.push_str("<path fill-rule=\"evenodd\" d=\"");
        for points in [one, other] {
            for (i, (x, y)) in points.iter().enumerate() {
                let _ = write!(self.out, "{}{} {}", if i == 0 { "M" } else { "L" }, Number(*x), Number(*y));
            }
            self.out.push('Z');
        }
        self.out.push('"');
        self.pen(pen);
        self.out.push_str("/>");
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), pen: Pen) {
        self.path(&[from, to], false, pen);
    }

    fn pen(&mut self, pen: Pen) {
        let _ = write!(self.out, " class=\"{}\"", pen.class);
        if pen.fill > 0.0 {
            let _ = write!(self.out, " fill=\"currentColor\" fill-opacity=\"{}\"", Number(pen.fill));
        }
        if pen.stroke > 0.0 {
            let _ = write!(
                self.out,
                " stroke=\"currentColor\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
                Number(pen.stroke)
            );
        }
        if let Some(dash) = pen.dash {
            let _ = write!(self.out, " stroke-dasharray=\"{dash}\"");
        }
    }

    pub(crate) fn text(&mut self, (x, y): (f64, f64), anchor: Anchor, words: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let _ = write!(
            self.out,
            "<text x=\"{}\" y=\"{}\" class=\"dw-label\" fill=\"currentColor\" text-anchor=\"{anchor}\">{}</text>",
            Number(x),
            Number(y),
            Escaped(words)
        );
    }

    /// A bar of a round length at the lower left, about a fifth of the drawing wide.
    pub(crate) fn scale_bar(&mut self, per_mm: f64, units: Units) {
        let per_unit = per_mm * units.mm_each();
        let length = round_length(0.2 * self.width / per_unit);
        let (x, y) = (12.0, self.height - 10.0);
        let end = x + length * per_unit;
        let pen = Pen::line("dw-scale", 1.5);
        self.path(&[(x, y - 4.0), (x, y), (end, y), (end, y - 4.0)], false, pen);
        self.text((end + 6.0, y), Anchor::Start, &format!("{} {}", Number(length), units.sign()));
    }

    /// A dimension: a line with end ticks and its words beside it.
    pub(crate) fn height_mark(&mut self, x: f64, from: f64, to: f64, words: &str) {
        let pen = Pen::line("dw-dimension", 0.8);
        self.line((x, from), (x, to), pen);
        for y in [from, to] {
            self.line((x - 4.0, y), (x + 4.0, y), pen);
        }
        self.text((x + 8.0, 0.5 * (from + to) + 4.0), Anchor::Start, words);
    }

    pub(crate) fn finish(mut self) -> String {
        self.out.push_str("</svg>");
        self.out
    }
}

/// The greatest 1, 2 or 5 times a power of ten that is not above `wanted`.
pub(crate) fn round_length(wanted: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(wanted)));
    let factor = match wanted / power {
        f if f >= 5.0 => 5.0,
        f if f >= 2.0 => 2.0,
        _ => 1.0,
    };
    factor * power
}

/// A coordinate: two decimals at most, no trailing zeros.
pub(crate) struct Number(pub(crate) f64);

impl core::fmt::Display for Number {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let rounded = libm::round(self.0 * 1000.0) / 1000.0;
        // Adding zero turns -0 into 0.
        write!(f, "{}", rounded + 0.0)
    }
}

struct Escaped<'a>(&'a str);

impl core::fmt::Display for Escaped<'_> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        for c in self.0.chars() {
            match c {
                '&' => f.write_str("&amp;")?,
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                '"' => f.write_str("&quot;")?,
                _ => f.write_char(c)?,
            }
        }
        Ok(())
    }
}

/// An angle for people: tenths, which is finer than any gauge, and none where it is whole.
pub(crate) fn degrees(angle: f64) -> String {
    format!("{}°", libm::round(angle * 10.0) / 10.0)
}
