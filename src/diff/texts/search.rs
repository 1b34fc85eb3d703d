//! The search for a text that passes one edition and not the other.
//!
//! Texts are written in the words of either edition, read and checked by both as a whole, and changed one step at a
//! time: what is spoken of where the editions differ is stated in all values that either of them knows, left out, put
//! on, and halved between two values at which they do not agree; what makes a text fail the edition that should pass
//! it is mended, and what comes to something new is kept to go on from. Nothing is drawn by chance: the same two
//! standards are searched in the same way each time. That no text was found proves nothing.

use std::collections::{BTreeMap, BTreeSet};

use super::focus::Focus;
use super::neighbours::Draw;
use super::plan_text::PlanText;
use super::vocabulary::Vocabulary;
use crate::check::{Prepared, Tally, tally};
use crate::constraint::read_run;
use crate::diagnostic::{PlanOutcome, Verb};
use crate::diff::conditions::dependencies::Closures;
use crate::diff::pairing::clauses::{Clause, Part};
use crate::types::{Date, PlaceInRun, Run, Standard};

/// How much work of the evaluator counts for one unit of the budget.
const WORK_OF_ONE: u64 = 4_000;

/// How many rules that are asked count for one unit.
const RULES_OF_ONE: u64 = 24;

/// The most samples that are kept to go on from.
const MOST_SAMPLES: usize = 160;

/// How many samples are kept that come to the same: they may state other values.
const MOST_ALIKE: usize = 3;

/// How many steps to texts that were looked at before cost one unit.
const KNOWN_OF_ONE: u64 = 5;

/// How often what has all that is in focus is mended on one side.
const MOST_MENDS: usize = 120;

/// How many questions' worth of work may go into plans to go on from.
const GROUND: u64 = 2;

/// How often a stretch between two values is halved.
const HALVINGS: u32 = 26;

/// What counts as shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::diff) enum Wanted {
    /// The plan passes one edition as a whole, and not the other.
    Whole,
    /// The same, by this clause.
    Clause(usize),
    /// The clause warns on one side and not on the other.
    Warning(usize),
}

/// A text that shows it.
#[derive(Debug, Clone)]
pub(in crate::diff) struct Flip {
    pub(in crate::diff) plan: PlanText,
    pub(in crate::diff) old: PlanOutcome,
    pub(in crate::diff) new: PlanOutcome,
}

/// What a question found, by way: fares worse now, fares better.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct Answers {
    /// Texts that show it.
    pub(in crate::diff) flips: [Option<Flip>; 2],
    /// Texts by which the clause in question shows it, whatever else they fail by.
    pub(in crate::diff) by_clause: [Option<PlanText>; 2],
}

/// What a text came to on both sides; `None` where it cannot be read.
#[derive(Debug, Clone)]
pub(super) struct Trial {
    pub(super) runs: [Option<Run>; 2],
    pub(super) tallies: [Option<Tally>; 2],
    /// What each clause comes to on each side: 0 kept, 1 a warning, 2 it fails.
    pub(super) ranks: Vec<[u8; 2]>,
}

impl Trial {
    /// By how much a side fails; much more where it cannot read it.
    pub(super) fn faults(&self, side: usize) -> usize {
        self.tallies[side].as_ref().map_or(10_000, Tally::faults)
    }
}

/// A text that was tried.
#[derive(Debug, Clone)]
pub(super) struct Sample {
    pub(super) plan: PlanText,
    pub(super) trial: Trial,
}

/// Looks for texts, within one counted budget.
pub(in crate::diff) struct TextSearch<'s> {
    pub(super) prepared: [&'s Prepared; 2],
    pub(super) words: [Vocabulary; 2],
    closures: [Closures; 2],
    on: Option<Date>,
    /// By side, rule and requirement: the clause.
    clauses: [BTreeMap<(usize, usize), usize>; 2],
    count: usize,
    /// Plans to go on from.
    ground: Vec<PlanText>,
    has_ground: bool,
    /// What one question may take.
    each: u64,
    /// Units that are left of all.
    pub(super) left: u64,
    /// And of what is asked now.
    pub(super) own: u64,
}

/// What one question works with.
pub(super) struct Question<'q> {
    pub(super) focus: &'q Focus,
    pub(super) wanted: Wanted,
    pub(super) samples: Vec<Sample>,
    /// How many samples came to the same.
    seen: BTreeMap<Vec<u8>, usize>,
    tried: BTreeSet<String>,
    pub(super) found: [Option<Sample>; 2],
    pub(super) ways: [bool; 2],
    /// Up to which sample those that differ were mended, by side.
    pub(super) climbed: [usize; 2],
}

impl<'s> TextSearch<'s> {
    pub(in crate::diff) fn new(
        prepared: [&'s Prepared; 2],
        on: Option<Date>,
        clauses: &[Clause],
        [each, all]: [u64; 2],
    ) -> Self {
        let standards = prepared.map(|side| &side.standard);
        let words = Vocabulary::both(standards);
        let of = |part: fn(&Clause) -> &Option<Part>, side: usize| {
            let mut found = BTreeMap::new();
            for (number, clause) in clauses.iter().enumerate() {
                let Some(part) = part(clause) else { continue };
                let rule = &prepared[side].standard.rules[part.rule];
                let all = 0..rule.requirements.len();
                let requirements: Vec<usize> = match rule.table {
                    Some(_) => all.collect(),
                    None => part.requirements.clone(),
                };
                for requirement in requirements {
                    found.insert((part.rule, requirement), number);
                }
            }
            found
        };
        Self {
            words,
            closures: standards.map(Closures::new),
            on,
            clauses: [of(|clause| &clause.old, 0), of(|clause| &clause.new, 1)],
            count: clauses.len(),
            prepared,
            ground: Vec::new(),
            has_ground: false,
            each,
            left: all,
            own: 0,
        }
    }

    /// Both editions as written.
    pub(in crate::diff) fn standards(&self) -> [&'s Standard; 2] {
        self.prepared.map(|side| &side.standard)
    }

    /// What their settings are worked out from.
    pub(in crate::diff) fn closures(&self) -> &[Closures; 2] {
        &self.closures
    }

    /// Makes it for another day; the one it was made for.
    pub(in crate::diff) fn on(&mut self, day: Option<Date>) -> Option<Date> {
        std::mem::replace(&mut self.on, day)
    }

    fn take(&mut self, units: u64) -> bool {
        if self.own == 0 || self.left == 0 {
            return false;
        }
        self.own = self.own.saturating_sub(units);
        self.left = self.left.saturating_sub(units);
        true
    }

    /// Reads and checks a text on both sides.
    pub(super) fn trial(&mut self, plan: &PlanText) -> Option<Trial> {
        let text = plan.text("standard");
        let runs = self.prepared.map(|side| read_run(&side.standard, &text));
        let mut units = 1;
        let mut tallies = [None, None];
        let mut ranks = vec![[0_u8; 2]; self.count];
        for side in [0, 1] {
            let Some(run) = &runs[side] else { continue };
            let found = tally(self.prepared[side], run, self.on);
            for line in &found.lines {
                let Some(clause) = self.clauses[side].get(&(line.rule, line.requirement)) else {
                    continue;
                };
                let rank = match (line.is_kept(), line.verb) {
                    (true, _) => 0,
                    (false, Verb::Should) => 1,
                    (false, Verb::Shall) => 2,
                };
                let known = &mut ranks[*clause][side];
                *known = (*known).max(rank);
            }
            units += found.work / WORK_OF_ONE + found.lines.len() as u64 / RULES_OF_ONE;
            tallies[side] = Some(found);
        }
        self.take(units).then_some(Trial {
            runs,
            tallies,
            ranks,
        })
    }

    /// Looks for texts that fare worse now, and better, where asked; `ways` says which.
    pub(in crate::diff) fn ask(
        &mut self,
        focus: &Focus,
        wanted: Wanted,
        seeds: &[PlanText],
        ways: [bool; 2],
    ) -> Answers {
        self.prepare_ground();
        self.own = self.each.min(self.left);
        let mut question = Question::new(focus, wanted, ways);
        let ways_wanted = ways;
        let mut draw = Draw::new();
        // What was found by the clause alone first, with what else it lacks: its values are the plainest.
        for seed in seeds {
            if let Some(plan) = self.look(&mut question, seed.clone()) {
                for side in [0, 1] {
                    self.fill(&mut question, plan.clone(), side, &mut draw);
                }
            }
        }
        for seed in self.ground.clone() {
            self.look(&mut question, seed);
        }
        for seed in self.seeds(focus) {
            let plan = self.look(&mut question, seed);
            for side in [0, 1] {
                if let Some(plan) = &plan {
                    self.fill(&mut question, plan.clone(), side, &mut draw);
                }
            }
        }
        self.rise(&mut question, &mut draw);
        self.settle(&mut question, &mut draw);
        self.rise(&mut question, &mut draw);
        self.with_figures(&mut question, &mut draw);
        self.sweep(&mut question);
        self.rise(&mut question, &mut draw);
        let mut steps = 0_u64;
        while question.is_open() && self.own > 0 && self.left > 0 {
            // A step to a text that was looked at before costs something too: in a small room all are known soon.
            steps += 1;
            let known = u64::from(steps.is_multiple_of(KNOWN_OF_ONE));
            self.own = self.own.saturating_sub(known);
            self.left = self.left.saturating_sub(known);
            if !self.step(&mut question, &mut draw) {
                break;
            }
            self.rise(&mut question, &mut draw);
        }
        let ways = [true, false];
        let found = std::mem::take(&mut question.found);
        let mut answers = Answers::default();
        for (at, sample) in found.into_iter().enumerate() {
            let Some(sample) = sample else { continue };
            let small = self.smallest(&question, sample, ways[at]);
            answers.flips[at] = self.flip(&small.plan, ways[at], wanted);
        }
        if let Wanted::Clause(_) = wanted {
            for at in [0, 1] {
                let differ = |sample: &&Sample| question.differs(&sample.trial, at);
                let all = question.samples.iter().filter(differ);
                let best = all.min_by_key(|sample| sample.trial.faults(at));
                answers.by_clause[at] = best
                    .filter(|_| ways_wanted[at])
                    .map(|sample| sample.plan.clone());
            }
        }
        answers
    }

    /// Plans that state something of every kind and pass one side or both, as far as some are found: what questions go
    /// on from. Looked for once.
    fn prepare_ground(&mut self) {
        if std::mem::replace(&mut self.has_ground, true) {
            return;
        }
        self.own = self.each.saturating_mul(GROUND).min(self.left);
        let mut focus = Focus::default();
        for kind in self.words.iter().flat_map(|words| &words.kinds) {
            if matches!(kind.place, PlaceInRun::One | PlaceInRun::Many) {
                focus.kinds.insert(kind.name.clone());
            }
        }
        let mut question = Question::new(&focus, Wanted::Whole, [true, true]);
        let mut draw = Draw::new();
        let seed = self.all_of(&focus);
        for side in [0, 1] {
            self.fill(&mut question, seed.clone(), side, &mut draw);
        }
        self.settle(&mut question, &mut draw);
        for side in [0, 1] {
            if let Some(best) = question.best(side) {
                self.climb(&mut question, best, side, &mut draw);
            }
            let best = question
                .best(side)
                .filter(|best| best.trial.faults(side) == 0);
            if let Some(best) = best
                && !self.ground.contains(&best.plan)
            {
                self.ground.push(best.plan);
            }
        }
    }

    /// What a plan comes to by a check as people make it, if that shows the way.
    fn flip(&self, plan: &PlanText, tighter: bool, wanted: Wanted) -> Option<Flip> {
        let text = plan.text("standard");
        let [old, new] = self
            .prepared
            .map(|side| super::outcome(side, &text, self.on));
        if let Wanted::Warning(_) = wanted {
            let plan = plan.clone();
            return Some(Flip { plan, old, new });
        }
        let (passes, fails) = if tighter { (old, new) } else { (new, old) };
        (passes == PlanOutcome::Passes && fails != PlanOutcome::Passes).then_some(Flip {
            plan: plan.clone(),
            old,
            new,
        })
    }

    /// Tries a text; what comes to something new is kept. The text again, if it could be tried.
    pub(super) fn look(&mut self, question: &mut Question<'_>, plan: PlanText) -> Option<PlanText> {
        if !question.tried.insert(plan.text("")) {
            return Some(plan);
        }
        let trial = self.trial(&plan)?;
        let sample = Sample { plan, trial };
        let plan = sample.plan.clone();
        self.keep(question, sample);
        Some(plan)
    }

    pub(super) fn keep(&self, question: &mut Question<'_>, sample: Sample) {
        for (at, side) in [(0, 0), (1, 1)] {
            if question.ways[at]
                && question.found[at].is_none()
                && question.shows(&sample.trial, side)
            {
                question.found[at] = Some(sample.clone());
            }
        }
        let mut mark: Vec<u8> = Vec::new();
        for side in [0, 1] {
            mark.push(u8::from(sample.trial.tallies[side].is_some()));
            if let Some(tally) = &sample.trial.tallies[side] {
                mark.push(u8::try_from(tally.contradictions.min(3)).unwrap_or(3));
                for line in tally.failing() {
                    mark.extend(line.rule.to_le_bytes());
                    mark.extend(line.requirement.to_le_bytes());
                    mark.push(line.outcome as u8);
                }
            }
        }
        mark.extend(sample.trial.ranks.iter().flatten());
        let alike = question.seen.entry(mark).or_default();
        if question.samples.len() < MOST_SAMPLES && *alike < MOST_ALIKE {
            *alike += 1;
            question.samples.push(sample);
        }
    }

    /// States what is missing on one side, as often as that helps.
    fn fill(
        &mut self,
        question: &mut Question<'_>,
        mut plan: PlanText,
        side: usize,
        draw: &mut Draw,
    ) {
        for _ in 0..24 {
            let Some(trial) = self.trial(&plan) else {
                return;
            };
            let before = plan.size();
            let (Some(run), Some(tally)) = (&trial.runs[side], &trial.tallies[side]) else {
                return;
            };
            for line in tally.failing() {
                if let Some(gap) = &line.gap {
                    self.state(&mut plan, (side, run), gap, draw);
                }
            }
            let sample = Sample {
                plan: plan.clone(),
                trial,
            };
            if plan.size() == before {
                self.keep(question, sample);
                return;
            }
        }
    }

    /// Mends what has all that is in focus, until a side passes it: the ground from which settings are turned.
    fn settle(&mut self, question: &mut Question<'_>, draw: &mut Draw) {
        for side in [0, 1] {
            for _ in 0..MOST_MENDS {
                if !question.is_open() || self.own == 0 {
                    return;
                }
                let Some(base) = question.best(side) else {
                    break;
                };
                if base.trial.faults(side) == 0 {
                    break;
                }
                let from = if draw.often(70) {
                    base
                } else {
                    match question.pick(side, draw) {
                        Some(at) => question.samples[at].clone(),
                        None => base,
                    }
                };
                let mut plan = from.plan;
                for _ in 0..1 + draw.below(2) {
                    self.mend(&mut plan, &from.trial, side, draw);
                }
                if self.look(question, plan).is_none() {
                    return;
                }
            }
        }
    }

    /// Halves a stretch of a setting at whose ends the clauses do not come to the same.
    pub(super) fn halve(
        &mut self,
        question: &mut Question<'_>,
        base: &Sample,
        (kind, setting): (&super::vocabulary::KindWords, &str),
        (mut low, mut high, unit): (crate::units::Exact, crate::units::Exact, crate::units::Unit),
        (at_low, at_high): (Vec<[u8; 2]>, Vec<[u8; 2]>),
    ) {
        for _ in 0..HALVINGS {
            let Some(middle) = low.add(&high).div(&crate::units::Exact::from_int(2)) else {
                return;
            };
            let middle = crate::diff::witness::round_value::near(&unit.from_base(&middle), 7);
            let middle = unit.to_base(&middle);
            if middle <= low || middle >= high {
                return;
            }
            let mut plan = base.plan.clone();
            let text = crate::constraint::written_value(&middle, &unit);
            super::neighbours::put(&mut plan, kind, setting, &text);
            let Some(trial) = self.trial(&plan) else {
                return;
            };
            let ranks = trial.ranks.clone();
            self.keep(question, Sample { plan, trial });
            if !question.is_open() {
                return;
            }
            if ranks == at_low {
                low = middle;
            } else if ranks == at_high {
                high = middle;
            } else {
                return;
            }
        }
    }

    /// Changes one sample by one step; `false` where there is none to go on from.
    fn step(&mut self, question: &mut Question<'_>, draw: &mut Draw) -> bool {
        let ways: Vec<usize> = [0, 1]
            .into_iter()
            .filter(|at| question.ways[*at] && question.found[*at].is_none())
            .collect();
        let Some(side) = draw.one(&ways).copied() else {
            return false;
        };
        let Some(at) = question.pick(side, draw) else {
            return false;
        };
        let base = &question.samples[at];
        let mut plan = base.plan.clone();
        let fails = base.trial.faults(side) > 0;
        let differs = question.differs(&base.trial, side);
        let steps = 1 + usize::from(draw.often(30)) + usize::from(draw.often(10));
        for _ in 0..steps {
            let mend = fails && draw.often(if differs { 90 } else { 45 });
            if mend {
                self.mend(&mut plan, &base.trial, side, draw);
            } else {
                self.change(&mut plan, question.focus, side, draw);
            }
        }
        self.look(question, plan).is_some()
    }

    /// Whether a text comes to anything else on one side than on the other.
    pub(in crate::diff) fn tells_apart(&self, texts: [&str; 2]) -> bool {
        let came = [0, 1].map(|side: usize| {
            let prepared = self.prepared[side];
            let run = read_run(&prepared.standard, texts[side])?;
            let found = tally(prepared, &run, self.on);
            let mut fails: Vec<(Verb, crate::diagnostic::Outcome)> = found
                .lines
                .iter()
                .filter(|line| !line.is_kept())
                .map(|line| (line.verb, line.outcome))
                .collect();
            fails.sort_by_key(|(verb, outcome)| (verb.word(), outcome.slug()));
            Some((fails, found.contradictions > 0))
        });
        came[0] != came[1]
    }

    /// The sample with as little stated as still shows it.
    fn smallest(&mut self, question: &Question<'_>, sample: Sample, tighter: bool) -> Sample {
        // What was found may be made smaller even where nothing is left to look for more.
        self.own = self.own.max(60).min(self.left.max(60));
        self.left = self.left.max(self.own);
        let side = usize::from(!tighter);
        let mut best = sample;
        let mut again = true;
        while again {
            again = false;
            for plan in super::neighbours::fewer(&best.plan) {
                if plan.size() >= best.plan.size() {
                    continue;
                }
                let Some(trial) = self.trial(&plan) else {
                    return best;
                };
                let same = question.shows(&trial, side)
                    && trial.tallies[1 - side].is_some() == best.trial.tallies[1 - side].is_some();
                if same {
                    best = Sample { plan, trial };
                    again = true;
                    break;
                }
            }
        }
        best
    }
}

impl<'q> Question<'q> {
    fn new(focus: &'q Focus, wanted: Wanted, ways: [bool; 2]) -> Self {
        Self {
            focus,
            wanted,
            samples: Vec::new(),
            seen: BTreeMap::new(),
            tried: BTreeSet::new(),
            found: [None, None],
            ways,
            climbed: [0; 2],
        }
    }
}

impl Question<'_> {
    /// Whether a text was tried before; it counts as tried from now on.
    pub(super) fn was_tried(&mut self, plan: &PlanText) -> bool {
        !self.tried.insert(plan.text(""))
    }

    pub(super) fn is_open(&self) -> bool {
        (0..2).any(|at| self.ways[at] && self.found[at].is_none())
    }

    /// Whether a text shows what is wanted for one side, whatever else fails there: the other side cannot read it,
    /// finds it to contradict itself, or does not keep a clause that this one keeps.
    pub(super) fn differs(&self, trial: &Trial, side: usize) -> bool {
        let other = 1 - side;
        let Some(mine) = &trial.tallies[side] else {
            return false;
        };
        let clause = |ranks: &[u8; 2]| ranks[side] < 2 && ranks[other] == 2;
        match self.wanted {
            Wanted::Clause(number) => {
                trial.tallies[other].is_some() && trial.ranks.get(number).is_some_and(clause)
            }
            Wanted::Warning(number) => {
                let warns = |ranks: &[u8; 2]| ranks[side] < ranks[other];
                trial.tallies[other].is_some() && trial.ranks.get(number).is_some_and(warns)
            }
            Wanted::Whole => match &trial.tallies[other] {
                None => true,
                Some(theirs) => {
                    theirs.contradictions > mine.contradictions || trial.ranks.iter().any(clause)
                }
            },
        }
    }

    /// Whether a text shows it, as a whole where that is wanted.
    fn shows(&self, trial: &Trial, side: usize) -> bool {
        let whole = match self.wanted {
            Wanted::Warning(_) => true,
            Wanted::Whole | Wanted::Clause(_) => {
                trial.faults(side) == 0 && trial.faults(1 - side) > 0
            }
        };
        whole && self.differs(trial, side)
    }

    /// The sample from which one side is nearest to what is wanted: with all that is in focus, if there is one.
    pub(super) fn best(&self, side: usize) -> Option<Sample> {
        let rank = |sample: &&Sample| {
            let there = |kind: &&String| {
                let mut all = sample.plan.blocks.iter().chain(&sample.plan.steps);
                !all.any(|block| block.kind == **kind)
            };
            let absent = self.focus.kinds.iter().filter(there).count();
            let far = usize::from(!self.differs(&sample.trial, side));
            (absent, sample.trial.faults(side), far, sample.plan.size())
        };
        self.samples.iter().min_by_key(rank).cloned()
    }

    /// A sample to go on from: those that differ and fail by little, and those that pass, more often.
    fn pick(&self, side: usize, draw: &mut Draw) -> Option<usize> {
        let count = self.samples.len();
        if count == 0 {
            return None;
        }
        let mut best: Option<(usize, usize)> = None;
        let tries = 1 + draw.below(6);
        for _ in 0..tries {
            let at = draw.below(count);
            let of = &self.samples[at].trial;
            let far = if self.differs(of, side) { 0 } else { 3 };
            let rank = of.faults(side) + far;
            if best.is_none_or(|(known, _)| rank < known) {
                best = Some((rank, at));
            }
        }
        best.map(|(_, at)| at)
    }
}
