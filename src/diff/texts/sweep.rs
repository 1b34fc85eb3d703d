//! From a text that a side passes, what is in focus stated in all values that either edition speaks of, halved between
//! two that do not come to the same, left out, given tolerances, and as either edition works it out.

use super::neighbours::Draw;
use super::plan_text::PlanText;
use super::search::{Question, Sample, TextSearch, Wanted};

/// How many values of a setting are tried with a tolerance.
const MOST_WIDE: usize = 8;

/// How many records in focus are stated with all figures.
const MOST_RECORDS: usize = 3;

/// By how much a text may fail that is mended because it differs.
const MOST_FAULTS: usize = 12;

impl TextSearch<'_> {
    /// Mends what differs and was not mended yet, for the side that is to pass it.
    pub(super) fn rise(&mut self, question: &mut Question<'_>, draw: &mut Draw) {
        if matches!(question.wanted, Wanted::Warning(_)) {
            return;
        }
        for side in [0, 1] {
            while question.climbed[side] < question.samples.len() {
                let at = question.climbed[side];
                question.climbed[side] += 1;
                if !question.ways[side] || question.found[side].is_some() || self.own == 0 {
                    continue;
                }
                let sample = &question.samples[at];
                let far = sample.trial.faults(side) > MOST_FAULTS;
                if !far && question.differs(&sample.trial, side) {
                    let from = sample.clone();
                    self.climb(question, from, side, draw);
                }
            }
        }
    }

    /// States all that is in focus, and what either edition works out from it: what contradicts one and not the other.
    pub(super) fn with_figures(&mut self, question: &mut Question<'_>, draw: &mut Draw) {
        for side in [0, 1] {
            let Some(base) = question.best(side) else {
                continue;
            };
            let mut bases = vec![base.plan.clone()];
            for record in question.focus.records.iter().take(MOST_RECORDS) {
                bases.extend(self.with_record(&base.plan, record, side));
            }
            for run in self.words[side].runs.iter().take(MOST_RECORDS) {
                let mut named = base.plan.clone();
                named.run.clone_from(run);
                bases.push(named);
            }
            for plan in bases {
                for own in [false, true] {
                    if !question.is_open() || self.own == 0 {
                        return;
                    }
                    self.figures_from(question, &plan, (side, own), draw);
                }
            }
        }
    }

    /// The same for one plan to begin with.
    fn figures_from(
        &mut self,
        question: &mut Question<'_>,
        plan: &PlanText,
        (side, own): (usize, bool),
        draw: &mut Draw,
    ) {
        let settings = &question.focus.settings;
        let plan = self.with_all_stated(plan, settings, (side, own));
        if question.was_tried(&plan) {
            return;
        }
        let Some(trial) = self.trial(&plan) else {
            return;
        };
        let full = Sample { plan, trial };
        self.keep(question, full.clone());
        let Some(full) = self.climb(question, full, side, draw) else {
            return;
        };
        for of in settings {
            for by in [0, 1] {
                if !question.is_open() || self.own == 0 {
                    return;
                }
                let Some((kind, setting)) = self.words[side].setting(of) else {
                    continue;
                };
                let (kind, setting) = (kind.clone(), setting.clone());
                let mut values = self.worked_out(&full.plan, of, by);
                // And something else than is worked out.
                values.extend(super::climb::usual(&setting, own).filter(|_| setting.worked_out));
                for value in values {
                    let mut plan = full.plan.clone();
                    if super::neighbours::put(&mut plan, &kind, &of.1, &value) {
                        self.look(question, plan);
                    }
                }
            }
        }
    }

    /// States each setting in focus with all values in order, and halves what lies between two that differ.
    pub(super) fn sweep(&mut self, question: &mut Question<'_>) {
        for side in [0, 1] {
            let Some(base) = question.best(side) else {
                continue;
            };
            let focus: Vec<_> = question.focus.settings.iter().cloned().collect();
            for of in focus {
                if !question.is_open() || self.own == 0 {
                    return;
                }
                let Some((kind, setting)) = self.words[side].setting(&of) else {
                    continue;
                };
                let (kind, setting) = (kind.clone(), setting.clone());
                let mut last: Option<(Sample, usize)> = None;
                for (at, value) in setting.values.iter().enumerate() {
                    let mut plan = base.plan.clone();
                    if !super::neighbours::set(&mut plan, &kind, &setting.name, &value.text()) {
                        continue;
                    }
                    let Some(trial) = self.trial(&plan) else {
                        return;
                    };
                    let sample = Sample { plan, trial };
                    self.keep(question, sample.clone());
                    if let Some((before, place)) = &last
                        && before.trial.ranks != sample.trial.ranks
                        && let (
                            super::vocabulary::Word::Number(low, unit),
                            super::vocabulary::Word::Number(high, _),
                        ) = (&setting.values[*place], value)
                    {
                        let ends = (low.clone(), high.clone(), unit.clone());
                        let both = (before.trial.ranks.clone(), sample.trial.ranks.clone());
                        self.halve(question, &base, (&kind, &setting.name), ends, both);
                    }
                    last = Some((sample, at));
                    if !question.is_open() {
                        return;
                    }
                }
                if setting.worked_out {
                    for by in [0, 1] {
                        for value in self.worked_out(&base.plan, &of, by) {
                            let mut plan = base.plan.clone();
                            if super::neighbours::put(&mut plan, &kind, &setting.name, &value) {
                                self.look(question, plan);
                            }
                        }
                    }
                }
                for plan in super::neighbours::without(&base.plan, &kind.name, &setting.name) {
                    self.look(question, plan);
                }
                for wide in wider(&setting) {
                    if !question.is_open() || self.own == 0 {
                        return;
                    }
                    let mut plan = base.plan.clone();
                    if super::neighbours::put(&mut plan, &kind, &setting.name, &wide) {
                        self.look(question, plan);
                    }
                }
            }
        }
    }
}

/// Values of a setting with tolerances, from all over.
fn wider(setting: &super::vocabulary::SettingWords) -> Vec<String> {
    let numbers = setting.values.iter().filter_map(|value| match value {
        super::vocabulary::Word::Number(_, unit) => Some((value.text(), unit.is_point())),
        super::vocabulary::Word::Text(_) => None,
    });
    let numbers: Vec<(String, bool)> = numbers.collect();
    let stride = numbers.len().div_ceil(MOST_WIDE).max(1);
    let some = numbers.into_iter().step_by(stride);
    some.map(|(text, point)| match point {
        true => format!("{text} ± 12 K"),
        false => format!("{text} ± 15 %"),
    })
    .collect()
}
