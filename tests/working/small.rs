//! A small room of its own kinds, so that nothing here hangs on what ships.

use strikeoff::check::{NoWorking, Wanted};
use strikeoff::cli::{WorkingRun, working};
use strikeoff::diagnostic::{Figure, Picture, Working};
use strikeoff::report::{self, Style};

use crate::room::Room;

const BODY: &str = "23 °C, mass, 100 µm, 1600 J/(kg·K), 0.2 W/(m·K), 0 g/m², 180 g/m², 0.55 mm, 1300 J/(kg·K), 0.05 W/(m·K), moisture, regain, oven.dwell, oven.air, oven.air, oven.transfer, oven.transfer / 2, oven.air, 0 %, 0 W/m², 2 kPa, 0 %, 0 %, 1, 0.005 m²·K/W, 0 W/(m²·K), 22 °C";

const STANDARD: &str = r#"standard "Trial bench" edition "1"

kind order, one to a run "what was ordered" {
  pieces    pieces from 1 pieces to 1000000 pieces          "garments to be printed" given
}

kind frame, many to a run "a frame with its mesh" {
  mesh      thread-count from 4 /cm to 200 /cm              "threads on a length" set
  thread    length from 15 µm to 600 µm                     "diameter of the thread" set
  strokes   count of strokes from 1 to 9                    "strokes" set
  published length from 1 µm to 3 mm                        "opening as the weaver states it" set
  opening   length from 1 µm to 3 mm = otherwise(published, 1 / mesh - thread)   "clear width between two threads"
  pitch     length from 1 µm to 3 mm = 1 / mesh             "from thread to thread"   per "definition"
  area      share = (opening / pitch) ^ 2                   "open area"   per practice
}

kind oven, one to a run "the tunnel" {
  chamber   length from 0.3 m to 15 m                       "heated length" given
  belt      speed from 0.05 m/min to 20 m/min               "speed of the belt" set
  air       temperature from 5 °C to 250 °C                 "air at the print" set
  transfer  heat-transfer from 2 W/(m²·K) to 150 W/(m²·K)   "heat the air gives to the print" set
  dwell     time from 1 s to 7200 s = chamber / belt        "time under heat"   per "definition"
}

kind coat, one to a run "ink on cloth" {
  mass      areal-mass from 5 g/m² to 600 g/m²              "ink" set
  moisture  share from 0 % to 30 %                          "water in the cloth" set
  regain    share from 0.1 % to 20 %                        "water it holds in the room" set
  peak      temperature from 5 °C to 225 °C = film-peak(BODY)   "hottest where ink meets cloth"   per "heat balance"
  hold      time from 0 s to 1800 s = film-time-above(BODY, 150 °C)   "time in the cure range"
}

kind plate, one to a run "what the garment lies on" {
  count     number from 1 to 40                             "plates on the press" set
  flux      heat-flux from 0 W/m² to 60000 W/m²             "heat it takes up" set
  loss      heat-transfer from 0.5 W/(m²·K) to 100 W/(m²·K) "heat it loses" set
  last      temperature from -5 °C to 200 °C = pallet-after(23 °C, 23 °C, flux, 5 s, 90 s, 14.6 kJ/(m²·K), loss, round-up(order.pieces / 1 pieces / count))   "as the last piece comes down"
}

rule cures "the film cures" {
  shall     coat.peak at least 300 °F
  shall     coat.peak at most 340 °F
  because   "it must cure and not burn"
  per       practice
}

rule cool-plate "plates stay cool" {
  shall     plate.last at most 40 °C
  because   "ink gels in the screen over a hot plate"
  per       practice
}

rule total-strokes {
  shall     total(frame.strokes) at most 9
  because   "hands"
  per       practice
}
"#;

pub(crate) const PLAN: &str = r#"run "Trial run" against "bench.std"

order {
  pieces    300
}

frame base {
  mesh      43 /cm
  thread    80 µm ± 3 µm
  strokes   2
}

frame top {
  mesh      61 /cm ± 1 /cm
  thread    64 µm
  published 95 µm ± 2 µm
}

oven {
  chamber   2.44 m ± 2 cm
  belt      2.6 m/min ± 4 %
  air       330 °F ± 6 °F
  transfer  40 W/(m²·K) ± 3 %
}

coat {
  mass      110 g/m² ± 10 %
  moisture  4 to 7 %
  regain    7 %
}

plate {
  count     10
  flux      7 kW/m² ± 3 %
  loss      20 W/(m²·K) ± 10 %
}
"#;

/// The small room with another plan.
pub(crate) fn room(plan: &str) -> Room {
    let mut room = Room::default();
    let standard = STANDARD.replace("BODY", BODY);
    room.texts.insert("bench.std".to_owned(), Ok(standard));
    room.texts.insert("a.plan".to_owned(), Ok(plan.to_owned()));
    room
}

pub(crate) fn run(room: &Room, plan: &str, fields: &[&str], picture: bool) -> WorkingRun {
    let fields: Vec<String> = fields.iter().map(|field| (*field).to_owned()).collect();
    let wanted = Wanted {
        fields: &fields,
        picture,
    };
    working(Some(plan), None, None, wanted, room)
}

/// The working of a plan in the small room.
pub(crate) fn worked(plan: &str, fields: &[&str]) -> (WorkingRun, Working) {
    let run = run(&room(plan), "a.plan", fields, false);
    let found = match &run.found {
        Ok((working, _)) => working.clone(),
        Err(none) => panic!("{none:?}"),
    };
    (run, found)
}

pub(crate) fn pictured(plan: &str, fields: &[&str]) -> Picture {
    match run(&room(plan), "a.plan", fields, true).found {
        Ok((_, Some(picture))) => picture,
        other => panic!("{other:?}"),
    }
}

pub(crate) fn names(run: WorkingRun) -> Vec<String> {
    match run.found {
        Err(NoWorking::Names(names)) => names,
        other => panic!("{other:?}"),
    }
}

pub(crate) fn figure<'w>(working: &'w Working, setting: &str) -> &'w Figure {
    let found = working
        .figures
        .iter()
        .find(|figure| figure.setting == setting);
    found.unwrap_or_else(|| panic!("no {setting}"))
}

pub(crate) fn text(run: &WorkingRun, working: &Working) -> String {
    let style = Style {
        width: 92,
        ..Style::default()
    };
    let mut out = Vec::new();
    report::working(working, &run.store, &style, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

pub(crate) fn json(run: &WorkingRun, working: &Working) -> String {
    let mut out = Vec::new();
    report::working_json(working, &run.store, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}
