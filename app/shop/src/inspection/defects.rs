//! Kinds of damage the bench looks for.

/// A kind of damage the bench looks for: its code, what people read, what follows.
pub struct Defect {
    /// Code in forms and store.
    pub code: &'static str,
    /// What people read.
    pub words: &'static str,
    /// What it leads to, one sentence.
    pub effect: &'static str,
    /// True when the piece must not be ground.
    pub stops: bool,
}

/// All kinds of damage, in the order of inspection (common practice).
pub const DEFECTS: &[Defect] = &[
    Defect {
        code: "crack",
        words: "crack in the blade",
        effect: "It may break under the wheel: not ground.",
        stops: true,
    },
    Defect {
        code: "delamination",
        words: "layers come apart",
        effect: "It may break under the wheel: not ground.",
        stops: true,
    },
    Defect {
        code: "not_steel",
        words: "not magnetic, material unknown",
        effect: "Held until the material is known; ceramic and copper-beryllium are not ground.",
        stops: true,
    },
    Defect {
        code: "burn",
        words: "earlier burn (blue or brown by the edge)",
        effect: "The edge may be soft there; grinding past it is not always possible.",
        stops: false,
    },
    Defect {
        code: "bow",
        words: "bowed",
        effect: "Straightened before the edge, soft zone only.",
        stops: false,
    },
    Defect {
        code: "twist",
        words: "twisted",
        effect: "Straightened before the edge, soft zone only.",
        stops: false,
    },
    Defect { code: "rolled", words: "rolled edge", effect: "Comes off with the allowance.", stops: false },
    Defect {
        code: "recurve",
        words: "hollow in the edge line",
        effect: "The edge is levelled; the rest of the blade loses that height too.",
        stops: false,
    },
    Defect {
        code: "heel",
        words: "heel overground or left standing",
        effect: "The heel is levelled.",
        stops: false,
    },
    Defect {
        code: "bolster",
        words: "bolster stands below the edge",
        effect: "The bolster is relieved.",
        stops: false,
    },
    Defect { code: "rust_one", words: "rust on one side", effect: "Rust is removed first.", stops: false },
    Defect { code: "rust_both", words: "rust on both sides", effect: "Rust is removed first.", stops: false },
    Defect {
        code: "pits_edge",
        words: "pits at the edge",
        effect: "Their depth shows only when ground; the piece is held if they remain.",
        stops: false,
    },
    Defect {
        code: "pits_back",
        words: "pits on the flat back",
        effect: "They open again at every regrind.",
        stops: false,
    },
    Defect {
        code: "loose_scale",
        words: "loose handle",
        effect: "The handle is made safe before anything turns.",
        stops: false,
    },
    Defect {
        code: "swollen",
        words: "swollen handle",
        effect: "Left to dry before it is tightened.",
        stops: false,
    },
    Defect { code: "dry_handle", words: "dry handle", effect: "Oiled at the end.", stops: false },
    Defect {
        code: "back_bevel",
        words: "bevel on the flat back over 0.3 mm",
        effect: "The back is flattened, or the edge stays blunter than drawn.",
        stops: false,
    },
    Defect {
        code: "transit",
        words: "damaged on the way",
        effect: "Photographed with its packing for the carrier.",
        stops: false,
    },
];
