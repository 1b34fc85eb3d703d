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
