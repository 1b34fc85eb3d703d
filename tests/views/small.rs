//! A small standard of its own kinds, so that nothing here hangs on what ships, and its views.

use strikeoff::check::{deviation_chapter, limits, outline};
use strikeoff::cli::{ReadStandard, read_standard};
use strikeoff::diagnostic::{Limits, Outline};
use strikeoff::names::Shelf;
use strikeoff::report::{self, PageForm, Style};

use crate::room::Room;

pub(super) const STANDARD: &str = r#"standard "Trial bench" edition "3"

use "pastes.std"

kind paste "what is printed" {
  base      choice of oil, water                            "what carries the pigment" given
  cure      range of temperature from 15 °C to 220 °C       "film temperature that cures it" given
  weight    range of tension from 1 N/cm to 80 N/cm         "tension it is printed at" given
  ceiling   temperature from 15 °C to 220 °C                "film temperature above which it burns" given
  price     density from 0.5 g/cm³ to 3 g/cm³               "what it weighs" given
}

kind ground, one to a run "what it is printed on" {
  soft      share from 0 % to 100 %                         "soft fibre" set
  hard      share from 0 % to 100 %                         "hard fibre" set
  parts soft, hard make 100 %
}

kind frame, many to a run "a frame with its paste" {
  paste     paste                                           "the paste printed through it" given
  pull      tension from 1 N/cm to 80 N/cm                  "tension of the mesh" set
}

kind oven, one to a run "the tunnel" {
  dwell     time from 1 s to 7200 s                         "time under heat" set
  film      temperature from 5 °C to 225 °C                 "film as probed" set
}

ground wool-felt "all hard" {
  hard      100 %
}

ground half-felt "half and half" {
  hard      50 %
  soft      50 %
}

ground cloth "all soft" {
  soft      100 %
}

oven short-oven "the short one" {
  dwell     70 s
}

rule heat-it "the film gets hot" {
  for each  frame
  shall     oven.film within frame.paste.cure
  shall     oven.film at most frame.paste.ceiling   per practice reviewed 2026-02-01
  because   "cold paste washes out"
  per       "paste maker's sheet" reviewed 2026-03-01
}

rule slow-on-hard "hard ground is heated slowly" {
  when      ground.hard above 0 %
  shall     oven.dwell at least 60 s
  should    oven.dwell at least 90 s   per "trial of the bench"
  may       oven.film at most 250 °F
  per       practice
}

rule water-is-tight "water wants a tight frame" {
  for each  frame
  when      frame.paste.base is water
  when      ground.soft at least 40 %
  shall     frame.pull within 15 to 25 N/cm
}

caution hot "hot things burn" {
  when      oven.film above 150 °C
  say       "mind the oven"
  per       "house rule"
}
"#;

pub(super) const PASTES: &str = r#"# pastes.std
paste oil-paste "the usual one" {
  base      oil
  cure      280 to 320 °F   per "paste maker's sheet" reviewed 2025-11-30
  ceiling   340 °F
  price     1.2 g/cm³ ± 0.1 g/cm³
}

paste fine-oil is oil-paste {
  cure      300 to 320 °F
  weight    10 to 40 N/cm
}

paste water-paste {
  base      water
  cure      at least 150 °C   per practice
  ceiling   180 °C            per "trial of the bench"
}
"#;

/// The room of the small standard.
pub(super) fn room() -> Room {
    let mut room = Room::default();
    for (path, text) in [("bench.std", STANDARD), ("pastes.std", PASTES)] {
        room.texts.insert(path.to_owned(), Ok(text.to_owned()));
    }
    room
}

pub(super) fn read(shelf: &dyn Shelf, path: &str) -> ReadStandard {
    read_standard(path, shelf).unwrap_or_else(|trouble| {
        let said: Vec<&String> = trouble.1.iter().map(|said| &said.headline).collect();
        panic!("{said:#?}")
    })
}

pub(super) fn limits_of(read: &ReadStandard) -> Limits {
    limits(&read.store, &read.prepared.standard)
}

pub(super) fn outline_of(read: &ReadStandard) -> Outline {
    let mut outline = outline(&read.store, &read.prepared.standard);
    let deviations = deviation_chapter(&read.store, &read.prepared, "2026-11-25");
    outline.chapters.extend(deviations);
    outline
}

pub(super) fn page(read: &ReadStandard, form: PageForm) -> String {
    dressed(&outline_of(read), read, form)
}

pub(super) fn dressed(outline: &Outline, read: &ReadStandard, form: PageForm) -> String {
    let mut out = Vec::new();
    report::readable(outline, &read.store, form, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

pub(super) fn sources_text(read: &ReadStandard) -> String {
    let mut out = Vec::new();
    report::sources(&limits_of(read), &read.store, &Style::default(), &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

pub(super) fn sources_json(read: &ReadStandard) -> String {
    let mut out = Vec::new();
    report::sources_json(&limits_of(read), &read.store, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}
