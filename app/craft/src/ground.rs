//! What grinding does to a section, for every kind of edge alike.

use crate::profile::Profile;

/// The section before and after, and the metal between them.
#[derive(Debug, Clone)]
pub(crate) struct Ground {
    /// Metal the new bevel takes from the section, mm²; serrated: mean along the edge.
    pub(crate) section_mm2: f64,
    /// What thinning adds to it, mm²; 0 without thinning.
    pub(crate) thinning_mm2: f64,
    pub(crate) behind_edge_mm: f64,
    pub(crate) bevel_face_mm: f64,
    pub(crate) stiffness_pct: f64,
    /// The new bevel runs out at the spine: there is no primary face left.
    pub(crate) past_spine: bool,
    /// Thinning is wanted and no longer fits.
    pub(crate) thinning_fails: bool,
    /// A steeper bevel that ends on the old one.
    pub(crate) ends_on_old_bevel: bool,
    /// One side of the section before and after (serrated: at a tooth tip), from the virtual apex.
    pub(crate) before: Profile,
    pub(crate) after: Profile,
}
