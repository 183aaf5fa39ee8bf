//! Sharpening geometry, blade life, heat and grit.
