//! The mark of the program.

/// A blade with two teeth, and the bright line they were ground to: a W. Drawn on 32 by 32.
pub(super) const MARK: &str = r#"<path fill="currentColor" d="M3 4h26v6L22.500 20.500 16 10 9.500 20.500 3 10Z"/><path class="af" d="M3 13.500 9.500 24 16 13.500 22.500 24 29 13.500v4.300L22.500 28.300 16 17.800 9.500 28.300 3 17.800Z"/>"#;
