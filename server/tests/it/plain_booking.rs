//! The plainest booking there is, without its key: one knife of another make, by post. The bench of `examples/load` sends it too.

/// The form's fields.
pub(crate) const FIELDS: &[(&str, &str)] = &[
    ("knives[0][place]", "1"),
    ("knives[0][model]", "other"),
    ("knives[0][make]", "Coastline Cutlery"),
    ("knives[0][edge]", "double"),
    ("knives[0][length]", "210"),
    ("knives[0][dull]", "true"),
    ("arrival", "post"),
    ("packing", "true"),
    ("back", "post"),
    ("name", "Ines Example"),
    ("email", "ines@example.org"),
    ("street", "Quay 4"),
    ("postcode", "1000"),
    ("town", "Porto Novo"),
    ("country", "Nowhere"),
    ("declared", "180"),
    ("refused", "back"),
    ("do", "book"),
];
