//! QR codes (ISO/IEC 18004) as drawings.

use qrcode::render::svg;
use qrcode::{EcLevel, QrCode};

/// A QR code of `text` as an SVG element, dark on white with its quiet zone, to be placed inside a page. Capital letters
/// and digits make the smallest code. Errors only when the text is longer than any code can hold.
pub fn svg(text: &str) -> anyhow::Result<String> {
    // Level Q stands a quarter of the code being smeared: labels meet oil and wet hands.
    let code = QrCode::with_error_correction_level(text, EcLevel::Q)?;
    let drawing = code.render::<svg::Color<'_>>().min_dimensions(160, 160).quiet_zone(true).build();
    // Inside a page there is no XML declaration.
    let element = drawing.find("<svg").map_or(drawing.as_str(), |at| &drawing[at..]);
    Ok(element.replacen("<svg", "<svg role=\"img\" aria-label=\"QR code\"", 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reference_makes_a_small_code_without_anything_a_page_would_block() {
        let drawing = svg("4HT92RWB").unwrap();
        assert!(drawing.starts_with("<svg ") && drawing.ends_with("</svg>"), "{drawing}");
        assert!(!drawing.contains("style=") && !drawing.contains("<?xml"), "{drawing}");
    }
}
