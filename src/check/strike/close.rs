//! Texts that would close a hole: a plan at the limit, found by search, and the strike-off for it.
//!
//! A setting that the limit is about is moved in the plan of a strike-off until the standard and the changed one come to
//! different outcomes. Several holes are closed by one plan where that goes. Work is counted, not timed, so that the same
//! standard has the same texts on every machine.

use std::fmt::Write as _;

use crate::diagnostic::{Closing, Nudge, Outcome};
use crate::eval::{Aim, Conditions, Frame, Leaf, Memory, Scene, range};
use crate::source::{FileId, Store};
use crate::types::{Condition, ConditionNode, Expectation, Reading, Rule, Run, Standard, Type};
use crate::units::Exact;

use super::super::affected::Reach;
use super::super::outcome::{frame as frame_of, of_rule, subjects};
use super::expect::{expected_words, name_of};
use super::moves::{
    Edits, edited, number, reads, reference_moves, set_quantity, settings, sharp, touches, unit_of,
    word_moves,
};
use super::mutant::{Change, Mutant};
use super::{Test, read};

/// The most plans that are tried in one part of the search for a hole, and for all holes.
const MOST_TRIED: u32 = 600;
const MOST_TRIED_IN_ALL: u32 = 150_000;

/// The most work in figures in one part, and for all.
const MOST_WORK: u64 = 400_000;
const MOST_WORK_IN_ALL: u64 = 40_000_000;

/// How many expectations one new plan takes.
const MOST_EXPECTED: usize = 60;

/// How many of the new plans are tried before a fresh one is begun.
const MOST_OPEN: usize = 12;

/// How many plans are started from for one hole, and how many first changes of one are tried.
const MOST_STARTS: usize = 24;
const MOST_FIRSTS: usize = 120;

/// Places looked at along a setting, and halvings between two of them.
const GRID: i32 = 16;
const HALVINGS: u32 = 40;

/// How a strike-off names a thing, and what the rule comes to on it.
type Scope = (Option<String>, Vec<Outcome>);

/// Which plan it was.
#[derive(Debug, Clone, Copy)]
enum Of {
    /// A new one.
    Added(usize),
    /// That of a strike-off.
    Test(usize),
}

/// How settings are moved: to the limit, to other words, or along all they may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Values,
    Words,
    Along,
}

/// A plan to start from.
struct Start {
    of: Of,
    file: FileId,
    text: String,
    run: Run,
    /// What must stay as expected.
    keep: Vec<Expectation>,
}

/// A plan in which the change makes a difference.
struct Hit {
    text: String,
    run: Run,
    rule: usize,
    scope: Scope,
}

/// A strike-off to be added.
struct Added {
    test: Test,
    /// Whether its plan is a new one.
    new: bool,
    /// The changes it notices so far, which it is to notice when more is put into its plan.
    closes: Vec<Mutant>,
}

/// The search, and what it found so far.
pub(super) struct Closer<'a> {
    store: &'a Store,
    standard: &'a Standard,
    reach: &'a Reach,
    tests: &'a [Test],
    added: Vec<Added>,
    /// The standard once more, to try the changes on that a plan closes already.
    spare: Standard,
    tried: u32,
    work: u64,
}

/// Up to where one part of the search may go.
struct Purse {
    tried: u32,
    work: u64,
}

impl<'a> Closer<'a> {
    pub(super) fn new(
        store: &'a Store,
        standard: &'a Standard,
        reach: &'a Reach,
        tests: &'a [Test],
    ) -> Self {
        Self {
            store,
            standard,
            reach,
            tests,
            added: Vec::new(),
            spare: standard.clone(),
            tried: 0,
            work: 0,
        }
    }

    /// Finds a text for a hole; the number of the closing. `changed` is the standard, and is again afterwards.
    pub(super) fn close(&mut self, changed: &mut Standard, mutant: &mut Mutant) -> Option<usize> {
        mutant.change.swap(changed);
        let found = self.find(changed, mutant);
        mutant.change.swap(changed);
        if let Some(at) = found {
            self.added[at].closes.push(mutant.clone());
        }
        found
    }

    fn find(&mut self, changed: &Standard, mutant: &Mutant) -> Option<usize> {
        for (index, added) in self.added.iter().enumerate() {
            let noticed = |rule: &usize| {
                let expected = |one: &Expectation| one.rule == *rule;
                added.test.expectations.iter().any(expected)
                    && !added.test.misses(changed, self.reach, *rule).is_empty()
            };
            if mutant.rules.iter().any(noticed) {
                return Some(index);
            }
        }
        for &rule in &mutant.rules {
            for base in self.bases() {
                let scope = differs(&self.tests[base].run, self.standard, changed, rule);
                if let Some(scope) = scope {
                    return Some(self.expect_of(base, rule, scope));
                }
            }
        }
        for &rule in &mutant.rules {
            let purse = self.purse();
            let starts = self.starts(mutant, rule, &purse);
            for stage in [Stage::Values, Stage::Words, Stage::Along] {
                let purse = self.purse();
                for start in &starts {
                    // A search along all values is dear: it begins a plan of its own.
                    if stage == Stage::Along && matches!(start.of, Of::Added(_)) {
                        continue;
                    }
                    if let Some(hit) = self.hunt(start, changed, mutant, rule, stage, &purse) {
                        return Some(match start.of {
                            Of::Added(at) => self.extend(at, hit),
                            Of::Test(at) => self.begin(at, hit),
                        });
                    }
                }
            }
        }
        None
    }

    /// What may be spent on the next part of the search.
    fn purse(&self) -> Purse {
        Purse {
            tried: MOST_TRIED_IN_ALL.min(self.tried + MOST_TRIED),
            work: MOST_WORK_IN_ALL.min(self.work + MOST_WORK),
        }
    }

    /// Plans to start from: the new ones first, then those of the strike-offs in which the rule says something.
    fn starts(&mut self, mutant: &Mutant, rule: usize, purse: &Purse) -> Vec<Start> {
        let open = (0..self.added.len()).rev().filter(|at| {
            let added = &self.added[*at];
            added.new && added.test.expectations.len() < MOST_EXPECTED
        });
        let open: Vec<usize> = open.take(MOST_OPEN).collect();
        let mut bases = self.bases();
        let silent = |at: &usize| {
            let came = outcomes(self.standard, &self.tests[*at].run, rule);
            came.iter()
                .all(|(_, outcome)| *outcome == Outcome::DoesNotApply)
        };
        bases.sort_by_cached_key(silent);
        let open = open.into_iter().map(Of::Added);
        let mut starts = Vec::new();
        for of in open.chain(bases.into_iter().map(Of::Test)) {
            let (test, keep) = match of {
                Of::Added(at) => (&self.added[at].test, true),
                Of::Test(at) => (&self.tests[at], false),
            };
            let start = Start {
                of,
                file: test.file,
                text: test.text.clone(),
                run: test.run.clone(),
                keep: if keep {
                    test.expectations.clone()
                } else {
                    Vec::new()
                },
            };
            // Both sorts get their share.
            let new = matches!(of, Of::Added(_));
            let same = |start: &&Start| matches!(start.of, Of::Added(_)) == new;
            if starts.iter().filter(same).count() < MOST_STARTS {
                starts.extend(self.firsts(start, mutant, rule, purse));
            }
        }
        starts
    }

    /// The tests whose plans differ.
    fn bases(&self) -> Vec<usize> {
        let first = |at: &usize| {
            let file = self.tests[*at].file;
            !self.tests[..*at].iter().any(|test| test.file == file)
        };
        (0..self.tests.len()).filter(first).collect()
    }

    /// An expectation more of a plan that is there already.
    fn expect_of(&mut self, base: usize, rule: usize, scope: Scope) -> usize {
        let file = self.tests[base].file;
        let known = |added: &Added| {
            !added.new && added.test.file == file && added.test.expectations.len() < MOST_EXPECTED
        };
        let at = self.added.iter().position(known).unwrap_or_else(|| {
            let test = &self.tests[base];
            self.added.push(Added {
                test: Test {
                    name: String::new(),
                    file,
                    text: test.text.clone(),
                    run: test.run.clone(),
                    memory: Memory::default(),
                    expectations: Vec::new(),
                },
                new: false,
                closes: Vec::new(),
            });
            self.added.len() - 1
        });
        expect(&mut self.added[at].test, rule, scope);
        at
    }

    fn begin(&mut self, base: usize, hit: Hit) -> usize {
        let mut test = Test {
            name: String::new(),
            file: self.tests[base].file,
            text: hit.text,
            run: hit.run,
            memory: Memory::default(),
            expectations: Vec::new(),
        };
        expect(&mut test, hit.rule, hit.scope);
        self.added.push(Added {
            test,
            new: true,
            closes: Vec::new(),
        });
        self.added.len() - 1
    }

    fn extend(&mut self, at: usize, hit: Hit) -> usize {
        let test = &mut self.added[at].test;
        test.text = hit.text;
        test.run = hit.run;
        test.memory = Memory::default();
        expect(test, hit.rule, hit.scope);
        at
    }

    /// The plan itself, or the nearest ones in which the rule, or the record, is met at all.
    fn firsts(&mut self, start: Start, mutant: &Mutant, rule: usize, purse: &Purse) -> Vec<Start> {
        let standard = self.standard;
        let scene = Scene::new(standard, &start.run);
        let mut edits: Vec<Edits> = Vec::new();
        let mut met = true;
        if let Change::Value(record, field, _) = &mutant.change {
            met = !reads(&scene, *record, *field).is_empty();
            edits.extend(reference_moves(&scene, &start.text, *record));
        } else {
            let built = &standard.rules[rule];
            let applies = outcomes(standard, &start.run, rule)
                .iter()
                .any(|(_, outcome)| *outcome != Outcome::DoesNotApply);
            if !applies {
                for each in subjects(&scene, built) {
                    for when in &built.when {
                        let moves = word_moves(&scene, &start.text, frame_of(each), when);
                        edits.extend(moves);
                    }
                }
            }
        }
        let mut found = Vec::new();
        for edits in edits.into_iter().take(MOST_FIRSTS) {
            let Some((text, run)) = self.made(&start, &edits, purse) else {
                continue;
            };
            let met = outcomes(standard, &run, rule)
                .iter()
                .any(|(_, outcome)| *outcome != Outcome::DoesNotApply);
            if met {
                found.push(Start {
                    text,
                    run,
                    keep: start.keep.clone(),
                    ..start
                });
            }
            if found.len() > 1 {
                break;
            }
        }
        if met {
            found.insert(0, start);
        }
        found
    }

    /// Moves settings of one plan until the change makes a difference.
    fn hunt(
        &mut self,
        start: &Start,
        changed: &Standard,
        mutant: &Mutant,
        rule: usize,
        stage: Stage,
        purse: &Purse,
    ) -> Option<Hit> {
        let standard = self.standard;
        let scene = Scene::new(standard, &start.run);
        let built = &standard.rules[rule];
        let conditions = conditions(built, mutant);
        let mut along: Vec<Leaf> = Vec::new();
        if stage == Stage::Values
            && let Some(hit) = self.attempt(start, &Vec::new(), changed, rule, purse)
        {
            return Some(hit);
        }
        for each in subjects(&scene, built) {
            let frame = frame_of(each);
            for condition in &conditions {
                if let Change::Value(record, field, _) = &mutant.change
                    && !touches(&scene, frame, condition, *record, *field)
                {
                    continue;
                }
                if stage == Stage::Words {
                    for edits in word_moves(&scene, &start.text, frame, condition) {
                        let hit = self.attempt(start, &edits, changed, rule, purse);
                        if hit.is_some() {
                            return hit;
                        }
                    }
                    continue;
                }
                for (leaf, direct) in settings(&scene, frame, condition) {
                    if stage == Stage::Along {
                        if !along.contains(&leaf) {
                            along.push(leaf);
                        }
                        continue;
                    }
                    if !direct {
                        continue;
                    }
                    for value in values(&scene, frame, condition, mutant) {
                        let Some(edits) = value_edits(&scene, &start.text, leaf, &value) else {
                            continue;
                        };
                        let hit = self.attempt(start, &edits, changed, rule, purse);
                        if hit.is_some() {
                            return hit;
                        }
                    }
                }
            }
        }
        for leaf in along.into_iter().take(8) {
            let hit = self.along(start, &scene, leaf, changed, rule, purse);
            if hit.is_some() {
                return hit;
            }
        }
        None
    }

    /// Looks along one setting for where the outcome turns.
    fn along(
        &mut self,
        start: &Start,
        scene: &Scene<'_>,
        leaf: Leaf,
        changed: &Standard,
        rule: usize,
        purse: &Purse,
    ) -> Option<Hit> {
        let unit = unit_of(scene, leaf)?;
        let kind = scene.run.target(scene.standard, leaf.target).kind;
        let field = scene.standard.field(kind, leaf.field);
        let Type::Quantity(measure) = &field.ty else {
            return None;
        };
        let whole = matches!(measure.reading, Reading::Count(_));
        let present = scene.quantity(leaf.target, leaf.field);
        let present = present.map(|found| unit.from_base(&found.nominal).nearest());
        let limits = field.possible.as_ref();
        let end = |end: Option<&Exact>| end.map(|end| unit.from_base(end).nearest());
        let low = end(limits.and_then(|limits| limits.low.as_ref()));
        let high = end(limits.and_then(|limits| limits.high.as_ref()));
        let low = low.or(present.map(|value| value / 10.0))?;
        let high = high.or(present.map(|value| value * 10.0))?;
        let mut places: Vec<f64> = (0..=GRID)
            .map(|at| low + (high - low) * f64::from(at) / f64::from(GRID))
            .chain(present.filter(|value| (low..=high).contains(value)))
            .collect();
        places.sort_by(f64::total_cmp);
        let write = |value: f64, digits: usize| {
            let text = digits_of(value, digits, whole);
            match unit.spelling() {
                "" => text,
                spelling => format!("{text} {spelling}"),
            }
        };
        let mut hit_at = None;
        let mut look = |this: &mut Self, value: f64| -> Option<Vec<(usize, Outcome)>> {
            let edits = written_edits(scene, &start.text, leaf, &write(value, 7))?;
            let (text, run) = this.made(start, &edits, purse)?;
            if this.differing(&text, &run, start, changed, rule).is_some() {
                hit_at.get_or_insert(value);
            }
            Some(outcomes(this.standard, &run, rule))
        };
        let mut before: Option<(f64, Vec<(usize, Outcome)>)> = None;
        'places: for place in places {
            let Some(now) = look(self, place) else {
                continue;
            };
            if let Some((left, found)) = &before
                && *found != now
            {
                let (mut left, mut right) = (*left, place);
                for _ in 0..HALVINGS {
                    let middle = left / 2.0 + right / 2.0;
                    match look(self, middle) {
                        Some(other) if other == *found => left = middle,
                        Some(_) => right = middle,
                        None => break,
                    }
                    if (right - left).abs() <= right.abs() * 1e-7 || self.spent(purse) {
                        break;
                    }
                }
            }
            before = Some((place, now));
            if self.spent(purse) {
                break 'places;
            }
        }
        let value = hit_at?;
        (1..=7).find_map(|digits| {
            let edits = written_edits(scene, &start.text, leaf, &write(value, digits))?;
            self.attempt(start, &edits, changed, rule, purse)
        })
    }

    fn spent(&self, purse: &Purse) -> bool {
        self.tried >= purse.tried || self.work >= purse.work
    }

    /// A plan with edits made, if it reads.
    fn made(&mut self, start: &Start, edits: &Edits, purse: &Purse) -> Option<(String, Run)> {
        if self.spent(purse) {
            return None;
        }
        self.tried += 1;
        let text = edited(&start.text, edits)?;
        let run = read(self.standard, start.file, &text).ok()?;
        Some((text, run))
    }

    /// The plan with edits made, if the change makes a difference there.
    fn attempt(
        &mut self,
        start: &Start,
        edits: &Edits,
        changed: &Standard,
        rule: usize,
        purse: &Purse,
    ) -> Option<Hit> {
        let (text, run) = self.made(start, edits, purse)?;
        let scope = self.differing(&text, &run, start, changed, rule)?;
        Some(Hit {
            text,
            run,
            rule,
            scope,
        })
    }

    /// What an expectation would have to say to notice the change, if all that the plan closes already stays closed.
    fn differing(
        &mut self,
        text: &str,
        run: &Run,
        start: &Start,
        changed: &Standard,
        rule: usize,
    ) -> Option<Scope> {
        let memory = Memory::default();
        let scope = differing(run, self.standard, changed, rule, &memory);
        self.work = self.work.saturating_add(memory.work());
        let scope = scope?;
        let Of::Added(at) = start.of else {
            return Some(scope);
        };
        let test = Test {
            name: String::new(),
            file: run.file,
            text: text.to_owned(),
            run: run.clone(),
            memory,
            expectations: start.keep.clone(),
        };
        let passes = |rule: &usize| test.misses(self.standard, self.reach, *rule).is_empty();
        let mut stays = test.rules().iter().all(passes);
        let mut spent = test.memory.work();
        for mutant in &mut self.added[at].closes {
            if !stays {
                break;
            }
            mutant.change.swap(&mut self.spare);
            let fails = |rule: &usize| !test.misses(&self.spare, self.reach, *rule).is_empty();
            stays = mutant.rules.iter().any(fails);
            spent = spent.saturating_add(test.memory.work());
            mutant.change.swap(&mut self.spare);
        }
        self.work = self.work.saturating_add(spent);
        stays.then_some(scope)
    }

    /// The texts, and the tests they are.
    pub(super) fn written(self) -> (Vec<Closing>, Vec<Test>) {
        let mut closings = Vec::new();
        let mut tests = Vec::new();
        let known = |name: &str| {
            let mut strike_offs = self.standard.strike_offs.iter();
            strike_offs.any(|strike_off| strike_off.name == name)
        };
        let mut number = 0;
        for mut added in self.added {
            let name = loop {
                number += 1;
                let name = format!("limits-{number}");
                if !known(&name) {
                    break name;
                }
            };
            let file = self.store.get(added.test.file).name();
            let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
            let path = match (added.new, folder) {
                (false, _) => file.to_owned(),
                (true, "") => format!("{name}.plan"),
                (true, folder) => format!("{folder}/{name}.plan"),
            };
            let root = self.store.get(self.standard.root).name();
            let top = root.rsplit_once('/').map_or("", |(folder, _)| folder);
            let below = path
                .strip_prefix(top)
                .map_or(path.as_str(), |rest| rest.trim_start_matches('/'));
            let mut block = format!("strike-off {name} {{\n  run        \"{below}\"\n");
            let scene = Scene::new(self.standard, &added.test.run);
            for expected in &added.test.expectations {
                let _ = writeln!(block, "  expect     {}", expected_words(&scene, expected));
            }
            block.push_str("}\n");
            let plan = added.new.then(|| without_head(&added.test.text));
            closings.push(Closing {
                name: name.clone(),
                path: added.new.then_some(path),
                plan,
                block,
            });
            added.test.name = name;
            tests.push(added.test);
        }
        (closings, tests)
    }
}

/// A plan without the comments at its top, which were about another one.
fn without_head(text: &str) -> String {
    let mut rest = text.trim_start_matches('\u{feff}');
    while let Some((line, after)) = rest.split_once('\n') {
        if line.trim().is_empty() || line.trim_start().starts_with('#') {
            rest = after;
        } else {
            break;
        }
    }
    rest.to_owned()
}

/// Adds what was found; each outcome once.
fn expect(test: &mut Test, rule: usize, (thing, outcomes): Scope) {
    for outcome in outcomes {
        let known =
            |one: &Expectation| one.rule == rule && one.thing == thing && one.outcome == outcome;
        if test.expectations.iter().any(known) {
            continue;
        }
        test.expectations.push(Expectation {
            span: test.run.span,
            rule,
            outcome,
            thing: thing.clone(),
            at: None,
            value: None,
        });
    }
}

/// The outcomes of a rule: the number of the thing, and what came.
fn outcomes(standard: &Standard, run: &Run, rule: usize) -> Vec<(usize, Outcome)> {
    let memory = Memory::default();
    let scene = Scene::new(standard, run).remembering(&memory);
    let mut results = Vec::new();
    of_rule(&Conditions::new(scene), &scene, rule, &mut results);
    let number =
        |each: Option<crate::types::InstanceId>| each.map_or(usize::MAX, |id| id.0 as usize);
    results
        .iter()
        .map(|result| (number(result.each), result.outcome()))
        .collect()
}

fn differs(run: &Run, standard: &Standard, changed: &Standard, rule: usize) -> Option<Scope> {
    differing(run, standard, changed, rule, &Memory::default())
}

/// The thing on which a rule comes out otherwise by the changed standard, and what it comes to by the standard as it is.
fn differing(
    run: &Run,
    standard: &Standard,
    changed: &Standard,
    rule: usize,
    memory: &Memory,
) -> Option<Scope> {
    let came = |standard| {
        let scene = Scene::new(standard, run).remembering(memory);
        let mut results = Vec::new();
        of_rule(&Conditions::new(scene), &scene, rule, &mut results);
        results
    };
    let (mine, other) = (came(standard), came(changed));
    let scene = Scene::new(standard, run);
    for result in &mine {
        let set = |results: &[super::super::outcome::RuleResult]| {
            let here = results.iter().filter(|one| one.each == result.each);
            let mut found: Vec<Outcome> = here.map(|one| one.outcome()).collect();
            found.sort_unstable();
            found.dedup();
            found
        };
        let (found, then) = (set(&mine), set(&other));
        if found == then {
            continue;
        }
        return match result.each {
            None => Some((None, found)),
            Some(id) => name_of(&scene, id).map(|name| (Some(name), found)),
        };
    }
    None
}

/// The conditions that a change is about.
fn conditions(rule: &Rule, mutant: &Mutant) -> Vec<Condition> {
    match (&mutant.condition, &mutant.change) {
        (Some(condition), _) => vec![condition.clone()],
        (None, _) => {
            let required = rule.requirements.iter().map(|one| &one.condition);
            rule.when
                .iter()
                .chain(required)
                .chain(&rule.permissions)
                .cloned()
                .collect()
        }
    }
}

/// A value to give a setting, in SI base units.
struct Wanted {
    value: Exact,
    unit: crate::units::Unit,
}

/// The values at which a comparison turns: the limit itself, one step off it, half a step.
fn values(scene: &Scene<'_>, frame: Frame, condition: &Condition, mutant: &Mutant) -> Vec<Wanted> {
    let mut found = Vec::new();
    if let Some(moved) = &mutant.limit {
        let two = Exact::from_int(2);
        let middle = moved.old.add(&moved.new).div(&two);
        let ends = moved.ends.iter().cloned().map(Some);
        let around = [Some(moved.old.clone()), Some(moved.new.clone()), middle];
        for value in around.into_iter().chain(ends) {
            found.extend(value.map(|value| Wanted {
                value,
                unit: moved.unit.clone(),
            }));
        }
        return found;
    }
    let ConditionNode::Compare { left, right, .. } = &condition.node else {
        return found;
    };
    for side in [right, left] {
        let Ok(range) = range(scene, frame, Aim::value(side)) else {
            continue;
        };
        let Some((low, high)) = range.exact else {
            continue;
        };
        let unit = crate::units::Unit::usual(side.dimension);
        let unit = match &side.node {
            crate::types::ExpressionNode::Constant(constant) => constant.unit.clone(),
            _ => unit,
        };
        let one = unit.as_difference().to_base(&Exact::ONE);
        if low != high {
            continue;
        }
        let mut steps = vec![low.clone(), low.add(&one), low.sub(&one)];
        if mutant.nudge == Nudge::Edge {
            steps.truncate(1);
        }
        found.extend(steps.into_iter().map(|value| Wanted {
            value,
            unit: unit.clone(),
        }));
    }
    found
}

fn value_edits(scene: &Scene<'_>, text: &str, leaf: Leaf, wanted: &Wanted) -> Option<Edits> {
    let own = unit_of(scene, leaf)?;
    let counted = own.is_noun() || own.is_bare();
    let unit = if counted { &own } else { &wanted.unit };
    if unit.dimension() != own.dimension() {
        return None;
    }
    // A sharp value that is there already needs no change.
    if let Some(present) = scene.quantity(leaf.target, leaf.field)
        && sharp(present)
        && present.nominal == wanted.value
    {
        return None;
    }
    let written = number(&wanted.value, unit)?;
    set_quantity(scene, text, leaf, &wanted.value, &written)
}

fn written_edits(scene: &Scene<'_>, text: &str, leaf: Leaf, written: &str) -> Option<Edits> {
    let unit = unit_of(scene, leaf)?;
    let digits = written.split(' ').next()?;
    let value = unit.to_base(&Exact::parse_decimal(digits).ok()?);
    set_quantity(scene, text, leaf, &value, written)
}

/// A number with so many significant digits.
fn digits_of(value: f64, digits: usize, whole: bool) -> String {
    if whole || value == 0.0 {
        return format!("{:.0}", value.round() + 0.0);
    }
    #[allow(clippy::cast_possible_truncation)]
    let size = value.abs().log10().floor() as i64;
    let decimals = i64::try_from(digits).unwrap_or(7) - 1 - size;
    let decimals = usize::try_from(decimals.clamp(0, 12)).unwrap_or(0);
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
