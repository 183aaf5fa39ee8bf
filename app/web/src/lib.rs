//! Pages, islands and drawings.
