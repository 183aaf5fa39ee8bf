//! How to pack a blade for the post, in plain words. Shown before booking, in the notice and on the slip.

/// What to do, in order. Common practice; padding so that points and edges cannot cut through is also what postal rules
/// for sharp goods ask (USPS Publication 52, sections 443.1 and 443.2).
pub const RULES: [&str; 6] = [
    "Clean and dry the blade. Wet steel rusts on the way, and food brings company.",
    "Fold stiff card over the edge, longer than the blade at both ends, and tape it shut on itself. Tape nothing to the steel.",
    "Cap the point: a cork, or card folded twice and taped over the end of the sleeve.",
    "Wrap each knife by itself, so that blades cannot meet.",
    "Fill a strong box until nothing moves when you shake it. No envelopes and no padded bags: points come through.",
    "Put the slip on top, inside. Write nothing on the outside that says what is in it.",
];

/// What we do not take, and why.
pub const REFUSED: [(&str, &str); 4] = [
    ("Cracked blades", "a crack can run under the wheel, and the blade with it"),
    ("Ceramic blades", "they need other wheels and other dust protection than we have"),
    (
        "Blades with too little steel left",
        "ground once more, the edge would be soft or the blade too narrow to be safe; we say so before you send it, or at the \
         latest when we have measured it",
    ),
    (
        "Blades of copper-beryllium",
        "their dust is poisonous; non-magnetic blades wait until we know what they are",
    ),
];
