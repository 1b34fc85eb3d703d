//! What is offered to repair a plan, and how far its settings may drift: every offer applied, every range sampled.

mod by_hand;
mod margins;
mod offered;
mod only_set;
mod ranges;
mod readings;

use std::sync::OnceLock;

use crate::room::Room;
use strikeoff::check::{Options, check_plan};
use strikeoff::cli::Run;
use strikeoff::diagnostic::{Check, Outcome, PlanReport};
use strikeoff::source::Store;
use strikeoff::types::Date;

const FOLDERS: [&str; 4] = [
    "demo-data",
    "demo-data/plans",
    "demo-data/fitted",
    "demo-data/fitted/plans",
];

/// Both demo rooms, checked.
pub(crate) fn demo() -> &'static (Room, Run) {
    static DEMO: OnceLock<(Room, Run)> = OnceLock::new();
    DEMO.get_or_init(|| {
        let room = Room::of_folders(&FOLDERS);
        let run = room.check(room.ending(".plan"), Options::default());
        (room, run)
    })
}

/// The path of a plan.
pub(crate) fn path(run: &Run, plan: &PlanReport) -> String {
    run.store.get(plan.file).name().to_owned()
}

/// Plans checked again with another text, against the standards made ready once.
pub(crate) struct Again<'r> {
    run: &'r Run,
    store: Store,
}

impl<'r> Again<'r> {
    pub(crate) fn new(run: &'r Run) -> Self {
        Self {
            run,
            store: run.store.clone(),
        }
    }

    /// A plan with another text; outcomes with their reasons, no repairs.
    pub(crate) fn check(&mut self, plan: &PlanReport, text: String) -> PlanReport {
        let options = Options {
            repairs: false,
            on: Date::parse(&self.run.report.date),
            ..Options::default()
        };
        let index = plan.standard.unwrap();
        let file = self.store.add(path(self.run, plan), text);
        check_plan(&self.store, &self.run.prepared[index], index, file, options)
    }
}

/// A standard and a plan in a room of their own, checked.
pub(crate) fn alone(standard: &str, plan: &str, options: Options) -> (Room, Run) {
    let mut room = Room::default();
    room.texts.insert("room.std".into(), Ok(standard.into()));
    room.texts.insert("a.plan".into(), Ok(plan.into()));
    let run = room.check(vec!["a.plan".into()], options);
    (room, run)
}

pub(crate) fn rank(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Holds | Outcome::DoesNotApply => 0,
        Outcome::AtRisk => 1,
        Outcome::NotStated => 2,
        Outcome::Breaks => 3,
    }
}

/// The same requirement on the same thing.
pub(crate) fn same(one: &Check, other: &Check) -> bool {
    (&one.rule, one.clause, &one.subject) == (&other.rule, other.clause, &other.subject)
}

/// Numbers without a pattern, the same in every run.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    /// From 0 to 1.
    pub(crate) fn share(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        #[allow(clippy::cast_precision_loss)]
        let share = (self.0 >> 33) as f64 / f64::from(u32::MAX >> 1);
        share.min(1.0)
    }

    /// From one whole number to another.
    pub(crate) fn whole(&mut self, low: i64, high: i64) -> i64 {
        #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
        let offset = (self.share() * (high - low + 1) as f64) as i64;
        low + offset.min(high - low)
    }
}
