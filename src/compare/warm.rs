//! A run whose film is worked out by the heat model, with all but one figure of its garment stated, and
//! the air of its tunnel turned from cold to hot.
//!
//! The spans of a record leave a film that is worked out so wide that no rule holds on it. With all of
//! them stated but one that differs, the two standards let go at different air, and a run between shows it.

use std::cell::Cell;

use super::deps::{Name, name, passed};
use super::draft::{Draft, Setting};
use super::ground::{Region, Vars};
use super::pick::near;
use super::search::{Choice, Question, Shown, Start, Way};
use super::template::Template;
use crate::units::{Exact, Unit};

/// Figures in the middle of what print rooms have; a witness states them, so none is taken on trust.
const USUAL: [(&str, &str, &str, &str); 21] = [
    ("dryer", "chamber", "3", "m"),
    ("dryer", "belt", "3", "m/min"),
    ("dryer", "air", "160", "°C"),
    ("dryer", "heat-transfer", "20", "W/(m²·K)"),
    ("dryer", "heat-transfer-below", "10", "W/(m²·K)"),
    ("dryer", "panel-factor", "0", "%"),
    ("dryer", "flux", "0", "W/m²"),
    ("dryer", "vapour", "1", "kPa"),
    ("film", "start", "25", "°C"),
    ("film", "solid", "60", "g/m²"),
    ("film", "water", "0", "g/m²"),
    ("film", "thickness", "60", "µm"),
    ("film", "thin-solid", "60", "g/m²"),
    ("film", "thin-water", "0", "g/m²"),
    ("film", "heat", "1500", "J/(kg·K)"),
    ("film", "conductivity", "0.2", "W/(m·K)"),
    ("garment", "mass", "180", "g/m²"),
    ("garment", "thickness", "0.7", "mm"),
    ("garment", "specific-heat", "1250", "J/(kg·K)"),
    ("garment", "conductivity", "0.06", "W/(m·K)"),
    ("garment", "water", "5", "%"),
];

/// And what the last of them is worked out from.
const ALSO: (&str, &str, &str, &str) = ("garment", "regain", "5", "%");

/// The figures that are let be what the record says, one at a time.
const FREE: [&str; 4] = ["mass", "specific-heat", "water", "thickness"];

/// Air at which it is looked at, in °C: the first, the step, how many.
const AIR: (i64, i64, i64) = (70, 9, 21);

/// How often the stretch between two of these is halved.
const HALVINGS: u32 = 30;

/// What one look counts for.
const LOOK: u64 = 4;

impl Question<'_, '_> {
    /// A run that shows a way, with a film that is worked out.
    pub(super) fn warm(
        &self,
        way: Way,
        choice: &Choice,
        (vars, region): (&Vars, &Region),
        template: &Template,
        own: &Cell<u64>,
    ) -> Option<Shown> {
        if !self.rests_on(&("dryer".to_owned(), "air".to_owned())) {
            return None;
        }
        let differs = |field: &str| {
            let by = |field: &str| {
                let own = ("garment".to_owned(), field.to_owned());
                let records = self.worlds.differences.values.get(&own)?;
                match choice.get("garment") {
                    Some(chosen) => chosen.clone().filter(|name| records.contains(name)),
                    None => records.first().cloned(),
                }
            };
            by(field).or_else(|| by("regain").filter(|_| field == "water"))
        };
        for free in FREE {
            let Some(garment) = differs(free) else {
                continue;
            };
            let mut draft = self.skeleton(template, choice);
            draft.thing("garment", "").record = Some(garment);
            for row in USUAL.into_iter().chain([ALSO]) {
                let by_regain = free == "water" && row.1 == "regain";
                if (row.0 == "garment" && (row.1 == free || by_regain))
                    || !self.rests_on(&(row.0.to_owned(), row.1.to_owned()))
                {
                    continue;
                }
                state(&mut draft, row)?;
            }
            let filling = self.work.question();
            if self
                .fill(&mut draft, choice, (vars, region), Start::Low, &filling)
                .is_none()
            {
                continue;
            }
            if let Some(shown) = self.turned(way, &draft, own) {
                return Some(shown);
            }
        }
        None
    }

    fn rests_on(&self, wanted: &Name) -> bool {
        let known = |world: &super::world::World<'_>| {
            let kind = world.view.kind_names.get(&wanted.0);
            kind.is_some_and(|kind| world.view.kind(*kind).field_names.contains_key(&wanted.1))
        };
        self.worlds().into_iter().all(known)
            && self.reads.iter().any(|read| {
                let world = self.worlds()[usize::from(read.new)];
                passed(&read.path).any(|setting| {
                    let own = name(world.view, setting);
                    own == *wanted || world.closures.of(&own).any(|of| of == wanted)
                })
            })
    }

    /// Turns the air from cold to hot, and halves the stretches on which both let go or take up again.
    fn turned(&self, way: Way, draft: &Draft, own: &Cell<u64>) -> Option<Shown> {
        let unit = Unit::parse("°C").ok()?;
        let at = |degrees: &Exact| {
            let mut tried = draft.clone();
            let thing = tried.thing("dryer", "");
            let (_, air) = thing.settings.iter_mut().find(|(of, _)| of == "air")?;
            *air = Setting::Number(unit.to_base(degrees), Some(unit.clone()));
            Some(tried)
        };
        let look = |degrees: &Exact| -> Option<(bool, bool)> {
            if !self.work.take_many(own, LOOK) {
                return None;
            }
            let runs = self.runs(&at(degrees)?)?;
            let old = self.worlds.old.came(&runs[0], self.old).rank;
            let new = self.worlds.new.came(&runs[1], self.new).rank;
            Some((old == 0, new == 0))
        };
        let wanted = |(old, new): (bool, bool)| match way {
            Way::Tighter => old && !new,
            Way::Looser => new && !old,
        };
        let mut last: Option<(Exact, (bool, bool))> = None;
        for number in 0..AIR.2 {
            let here = Exact::from_int(AIR.0 + AIR.1 * number);
            let came = look(&here)?;
            if wanted(came) {
                return self.shows(way, &at(&here)?);
            }
            if let Some((before, known)) = last
                && known != came
            {
                let (mut low, mut high) = (before, here.clone());
                for _ in 0..HALVINGS {
                    let middle = low.add(&high).div(&Exact::from_int(2))?;
                    let middle = near(&middle, 6);
                    if middle == low || middle == high {
                        break;
                    }
                    let found = look(&middle)?;
                    if wanted(found) {
                        return self.shows(way, &at(&middle)?);
                    }
                    if found == known {
                        low = middle;
                    } else if found == came {
                        high = middle;
                    } else {
                        break;
                    }
                }
            }
            last = Some((here, came));
        }
        None
    }
}

fn state(draft: &mut Draft, (kind, field, number, unit): (&str, &str, &str, &str)) -> Option<()> {
    let unit = match unit {
        "%" => Unit::percent(),
        unit => Unit::parse(unit).ok()?,
    };
    let value = unit.to_base(&Exact::parse_decimal(number).ok()?);
    let thing = draft.thing(kind, "");
    if !thing.settings.iter().any(|(of, _)| of == field) {
        thing
            .settings
            .push((field.to_owned(), Setting::Number(value, Some(unit))));
    }
    Some(())
}
