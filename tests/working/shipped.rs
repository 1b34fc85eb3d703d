//! Every figure for every shipped cloth, with every shipped tunnel and flash unit: what a model is valid for includes its
//! ends, so that no cloth that ships lies outside.

use strikeoff::eval::{Aim, Binding, EvalContext, EvalError, FigureCache, Range, range};
use strikeoff::types::{InstanceId, Target};

use super::small::run;
use crate::demo_room;
use crate::room::Room;

const STANDARD: &str = r#"standard "All that ships" edition "1"

use trade
use inks
use fabrics
use meshes
use tunnels

ink white is low-bleed-white {
  density          1.3 g/cm³
  solids           95 %
}

screen plain {
  mesh-cloth       mesh-43-80
}
"#;

/// One ply and two by turns; what nobody says of them takes too long to look at for every cloth.
fn plan(garment: &str, dryer: &str, flash: &str) -> String {
    let lies = match garment.len() % 2 {
        0 => "  plies            1\n",
        _ => {
            "  plies            2\n  ply-contact      0.005 m²·K/W\n  vapour-path      20 W/(m²·K)\n"
        }
    };
    format!(
        r#"run "{garment}" against "room.std"

order {{
  pieces           200 pieces
}}

garment is {garment} {{
  dry-heat         180 °C
  dry-heat-time    30 s
  dye-activation   120 kJ/mol
{lies}}}

screen base is plain {{
  ink              white
  stencil-share    20 % ± 5 points
  stroke-gain      45 % ± 10 points
  eom              22 µm ± 2 µm
}}

press is pallets-of-aluminium {{
  pallets          10
  index            1.4 s
  stroke           1.6 s
  load             5 s
  set-up           12 min
  availability     85 %
  room-air         22 °C ± 2 K
}}

flash-unit is {flash} {{
  drying           5 W/(m²·K)
}}

sequence {{
  print            base, 1 stroke
  flash            1 s
  cool             3 stations
  print            base, 1 stroke
}}

dryer is {dryer} {{
  chamber          3 m
  edge             0.2 m
  panel-factor     20 %
  belt             3 m/min ± 3 %
  set-point        320 °F ± 4 °F
  air-offset       0 K
}}
"#
    )
}

/// What a figure of the first thing of a kind comes to, by its formula.
fn worst(
    garment: &str,
    dryer: &str,
    flash: &str,
    (kind, field): (&str, &str),
) -> Result<Range, EvalError> {
    let room = demo_room::Room::of(STANDARD);
    let (mut store, prepared) = room.prepare("room.std");
    let run = demo_room::run_of(&mut store, &prepared, &plan(garment, dryer, flash));
    let standard = &prepared.standard;
    let kind = standard.kind_names[kind];
    let field = standard.kind(kind).field_names[field];
    let formula = standard.field(kind, field).formula.clone().unwrap();
    let mut things = run.instances.iter();
    let own = things.position(|thing| thing.kind == kind).unwrap();
    let binding = Binding {
        own: Some(Target::Thing(InstanceId(u32::try_from(own).unwrap()))),
        ..Binding::default()
    };
    let cache = FigureCache::default();
    let context = EvalContext::new(standard, &run).remembering(&cache);
    range(&context, binding, Aim::value(&formula))
}

/// The names of the shipped records of a kind.
fn records<'t>(spec: &'t str, kind: &str) -> Vec<&'t str> {
    let lines = spec.lines().filter_map(|line| line.strip_prefix(kind));
    lines
        .filter_map(|rest| rest.strip_prefix(' ')?.split_whitespace().next())
        .collect()
}

#[test]
fn every_figure_of_every_shipped_cloth_has_a_value() {
    let garments = records(include_str!("../../specs/fabrics.std"), "garment");
    let tunnels = include_str!("../../specs/tunnels.std");
    let (dryers, flashes) = (records(tunnels, "dryer"), records(tunnels, "flash-unit"));
    assert!(garments.len() >= 16 && dryers.len() >= 3 && flashes.len() >= 2);
    let mut figures = 0;
    let mut bare = std::collections::BTreeSet::new();
    for (at, garment) in garments.iter().enumerate() {
        for (number, dryer) in dryers.iter().enumerate() {
            let flash = flashes[(at + number) % flashes.len()];
            let fields = [
                ("film", "peak"),
                ("film", "hold"),
                ("film", "exit"),
                ("film", "surface-peak"),
                ("film", "fabric-water-left"),
                ("film", "thin-peak"),
                ("flash", "film"),
                ("flash", "gel-time"),
                ("press", "pallet-last"),
            ];
            for (kind, field) in fields {
                match worst(garment, dryer, flash, (kind, field)) {
                    Ok(_) => {}
                    Err(EvalError::Missing(gap)) if gap.path.starts_with("garment.") => {
                        bare.insert(*garment);
                        continue;
                    }
                    // What never happens is an answer, and that it gets too hot is one.
                    Err(EvalError::CannotWorkOut(why))
                        if why.contains("never") || why.contains("would pass 350 °C") => {}
                    Err(why) => panic!("{garment}, {dryer}, {flash}: {kind}.{field}: {why:?}"),
                }
                figures += 1;
            }
        }
    }
    // Of these no heat data ship.
    let known = [
        "acrylic-knit",
        "coated-nylon",
        "nylon-taffeta",
        "polypropylene-bag",
    ];
    assert_eq!(bare.iter().copied().collect::<Vec<_>>(), known);
    assert!(figures > 300, "{figures}");
}

#[test]
fn what_lies_outside_a_model_is_told_with_what_it_is_valid_for() {
    let text = plan("cotton-jersey", "tunnel-of-moving-air", "panel-of-quartz").replace(
        "  dry-heat         180",
        "  regain           0.05 %\n  dry-heat         180",
    );
    let standard = STANDARD.replace(
        "use tunnels\n",
        "use tunnels\n\ngarment dry is cotton-jersey {\n  regain 0.05 %\n}\n",
    );
    let mut room = Room::default();
    room.texts.insert("room.std".to_owned(), Ok(standard));
    let text = text
        .replace("garment is cotton-jersey", "garment is dry")
        .replace("  regain           0.05 %\n", "");
    room.texts.insert("a.plan".to_owned(), Ok(text));
    let working = match run(&room, "a.plan", &["film.peak"], false).found {
        Ok((working, _)) => working,
        Err(none) => panic!("{none:?}"),
    };
    let peak = working
        .figures
        .iter()
        .find(|figure| figure.setting == "film.peak");
    let why = peak.unwrap().result.clone().unwrap().unwrap_err();
    assert_eq!(
        why,
        "`regain` is 0.05 %; the model of `film-peak` is valid from 0.1 to 20 %"
    );
}
