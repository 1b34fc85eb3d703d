//! The specs that ship in the binary.

/// Name and text of every shipped spec, in alphabetical order.
pub const SHIPPED: &[(&str, &str)] = &[
    ("cautions", include_str!("../../specs/cautions.std")),
    ("childwear", include_str!("../../specs/childwear.std")),
    ("dye-onset", include_str!("../../specs/dye-onset.std")),
    ("fabrics", include_str!("../../specs/fabrics.std")),
    ("heat", include_str!("../../specs/heat.std")),
    ("heat-rules", include_str!("../../specs/heat-rules.std")),
    ("inks", include_str!("../../specs/inks.std")),
    ("meshes", include_str!("../../specs/meshes.std")),
    ("room-air", include_str!("../../specs/room-air.std")),
    ("rules", include_str!("../../specs/rules.std")),
    ("slips", include_str!("../../specs/slips.std")),
    ("trade", include_str!("../../specs/trade.std")),
    ("tunnels", include_str!("../../specs/tunnels.std")),
];

/// The text of a shipped spec.
#[must_use]
pub fn shipped(name: &str) -> Option<&'static str> {
    SHIPPED
        .iter()
        .find(|(known, _)| *known == name)
        .map(|(_, text)| *text)
}

/// Where a shipped spec declares a name behind one of these words, how to bring it in.
#[must_use]
pub fn in_a_spec(words: &[&str], name: &str) -> Option<String> {
    let declares = |line: &str| {
        let mut parts = line.split([' ', ',']);
        let first = parts.next().unwrap_or_default();
        // In a block, lines are indented, so that their first part is empty.
        words.contains(&first) && !name.is_empty() && parts.next() == Some(name)
    };
    let (spec, _) = SHIPPED
        .iter()
        .find(|(_, text)| text.lines().any(declares))?;
    Some(format!(
        "the spec `{spec}` has it: write `use {spec}` in the standard"
    ))
}
