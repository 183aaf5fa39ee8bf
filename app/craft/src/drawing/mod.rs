//! Drawings as standalone inline SVG, to scale, from the same numbers as the estimate.
//!
//! Every drawing carries a title, a description and a scale bar. Colours are `currentColor` and opacities set as
//! presentation attributes, so that a page may restyle the `dw-` classes, a printer gets dark on white, and a strict content
//! security policy has nothing to refuse: there is no `style` attribute and no style element.

mod blade_side;
mod life_fan;
mod section;
mod serration;
mod svg;

/// In which unit a drawing says its lengths and lays its scale bar.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Units {
    /// Millimetres.
    #[default]
    Millimetres,
    /// Inches of 25.4 mm (exact, international inch of 1959), with one decimal more than millimetres would have.
    Inches,
}

impl Units {
    /// One of them in millimetres.
    fn mm_each(self) -> f64 {
        match self {
            Self::Millimetres => 1.0,
            Self::Inches => 25.4,
        }
    }

    /// As it stands behind a figure.
    fn sign(self) -> &'static str {
        match self {
            Self::Millimetres => "mm",
            Self::Inches => "in",
        }
    }

    /// A length for people: hundredths of a millimetre under 10 mm, tenths above.
    fn length(self, mm: f64) -> String {
        self.with_places(mm, if mm.abs() < 9.995 { 2 } else { 1 })
    }

    /// A blade's height for people: tenths of a millimetre, as a caliper reads it.
    fn height(self, mm: f64) -> String {
        self.with_places(mm, 1)
    }

    fn with_places(self, mm: f64, places: usize) -> String {
        let places = places + usize::from(self == Self::Inches);
        format!("{:.places$} {}", mm / self.mm_each(), self.sign())
    }
}

pub use blade_side::blade_side;
pub use life_fan::life_fan;
pub use section::section;
pub use serration::serration;

#[cfg(test)]
mod tests {
    use super::Units;
    use crate::Request;

    const PLAIN: &str = r#"{"steel": "1.3505",
        "blade": {"edge_length_mm": 210, "height_mm": 46, "original_height_mm": 48, "least_height_mm": 31,
                  "spine_mm": 2.4, "behind_edge_mm": 0.35,
                  "hardness": {"edge_hrc": 64, "spine_hrc": 32, "line_mm": 18, "transition_mm": 4, "least_hrc": 58}},
        "edge": {"kind": "double", "half_angle_deg": 15},
        "wear": {"land_mm": 0.06, "tip_missing_mm": 3, "chips": [{"depth_mm": 0.8, "width_mm": 1.5, "at_mm": 60}]},
        "target": {"allowance_mm": 0.02, "behind_edge_mm": 0.3},
        "typical_recession_mm": {"median": 0.15, "spread": 0.5}}"#;

    const TOOTHED: &str = r#"{"steel": "1.4116",
        "blade": {"edge_length_mm": 250, "height_mm": 32, "spine_mm": 2.0, "behind_edge_mm": 0.4},
        "edge": {"kind": "serrated", "form": "arc", "pitch_mm": 5, "ridge_radius_mm": 6.5, "angle_deg": 20},
        "wear": {"tip_flat_mm": 0.5},
        "target": {"allowance_mm": 0.05,
                   "wheel": {"form": "arc", "pitch_mm": 5.05, "angle_deg": 20, "ridge_radius_mm": 6.5},
                   "mode": "indexed", "ridges": 5},
        "typical_recession_mm": {"median": 0.25, "spread": 0.5}}"#;

    fn drawings() -> Vec<String> {
        let mut all = Vec::new();
        for text in [PLAIN, TOOTHED] {
            let request: Request = serde_json::from_str(text).unwrap();
            all.push(super::section(&request, Units::Millimetres).unwrap());
            all.push(super::blade_side(&request, Units::Millimetres).unwrap());
            all.push(super::life_fan(&request, &[47.9, 47.6, 47.1], Units::Millimetres).unwrap());
        }
        all.push(super::serration(&serde_json::from_str(TOOTHED).unwrap(), Units::Millimetres).unwrap());
        all
    }

    #[test]
    fn every_drawing_says_what_it_is_and_carries_no_style() {
        for svg in drawings() {
            assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>"), "{svg}");
            assert!(
                svg.contains("<title>") && svg.contains("<desc>") && svg.contains("role=\"img\""),
                "{svg}"
            );
            assert!(!svg.contains("style"), "{svg}");
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            assert!(!svg.contains(" id="), "ids would clash when a page shows two drawings: {svg}");
        }
    }

    #[test]
    fn every_element_is_closed() {
        for svg in drawings() {
            let mut open = Vec::new();
            for part in svg.split('<').skip(1) {
                let tag = part.split('>').next().unwrap();
                if let Some(name) = tag.strip_prefix('/') {
                    assert_eq!(open.pop(), Some(name), "{svg}");
                } else if !tag.ends_with('/') {
                    open.push(tag.split(' ').next().unwrap());
                }
            }
            assert!(open.is_empty(), "{open:?}");
        }
    }

    #[test]
    fn in_inches_no_millimetre_is_left() {
        for text in [PLAIN, TOOTHED] {
            let request: Request = serde_json::from_str(text).unwrap();
            let mut all = vec![
                super::section(&request, Units::Inches).unwrap(),
                super::blade_side(&request, Units::Inches).unwrap(),
                super::life_fan(&request, &[47.9], Units::Inches).unwrap(),
            ];
            all.extend(super::serration(&request, Units::Inches).ok());
            for svg in all {
                assert!(!svg.contains("mm") && svg.contains(" in<"), "{svg}");
            }
        }
        let fan = super::life_fan(&serde_json::from_str(PLAIN).unwrap(), &[], Units::Inches).unwrap();
        assert!(fan.contains("Height 1.81 in today") && fan.contains(">height, in<"), "{fan}");
    }

    #[test]
    fn a_plain_edge_has_no_teeth_to_draw() {
        let request: Request = serde_json::from_str(PLAIN).unwrap();
        assert_eq!(super::serration(&request, Units::Millimetres).unwrap_err().at, "edge.kind");
    }
}
