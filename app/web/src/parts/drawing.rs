//! The mark of the program.

/// A W of two ground wedges standing on a line: the ledger's, or the stone's. Drawn on 32 by 32.
pub(super) const MARK: &str = r#"<path fill="currentColor" d="M1 4h4.6L9 15.500 12.400 4h7.200L23 15.500 26.400 4H31L23 25 16 8.500 9 25Z"/><path class="af" d="M1 27.500h30v2.500H1Z"/>"#;
