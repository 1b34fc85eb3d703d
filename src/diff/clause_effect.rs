//! What became of a clause: for every choice of records, whether a run passes now that did not, or
//! the other way round.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};

use crate::diagnostic::{Answer, Direction, Verb};
use crate::diff::canonical;
use crate::diff::conditions::dependencies::{Closures, Name, name, passed};
use crate::diff::conditions::lower_condition::{Figures, Situation, is_plain};
use crate::diff::conditions::overrides::Overrides;
use crate::diff::conditions::paths::paths;
use crate::diff::conditions::record_choices::Slot;
use crate::diff::conditions::record_monotonicity::UnkeptFigure;
use crate::diff::conditions::variables::{Formula, Vars};
use crate::diff::edition::Editions;
use crate::diff::pairing::clauses::{Clause, Part};
use crate::diff::passing::Passing;
use crate::diff::sharpness::is_sharp;
use crate::diff::witness::decide_direction::{DirectionSearch, MOST_DEEP};
use crate::diff::witness::witness_query::{Budget, Choice, Reads, Way, Witness, WitnessQuery};
use crate::types::{Condition, ConditionNode, Path, Root, Standard};
use crate::units::Exact;

/// The most choices of records among which such are looked for that keep a clause anyhow.
const MOST_BESIDE: usize = 1_500;

/// Which part of what is left for reading other rules one question may take.
const OF_ONE_QUESTION: u64 = 8;

/// What became of a clause for one choice of records.
#[derive(Debug, Clone)]
pub(in crate::diff) struct ChoiceEffect {
    /// The records.
    pub(in crate::diff) choice: Choice,
    /// What it does there.
    pub(in crate::diff) direction: Direction,
}

/// What became of a clause.
#[derive(Debug, Clone)]
pub(in crate::diff) struct ClauseEffect {
    /// For the choices that differ.
    pub(in crate::diff) fates: Vec<ChoiceEffect>,
    /// Over all choices.
    pub(in crate::diff) direction: Direction,
    /// Runs that show it.
    pub(in crate::diff) shown: Vec<(Way, Witness)>,
    /// What is left where it is not decided.
    pub(in crate::diff) left: BTreeSet<String>,
    /// How many choices were looked at.
    pub(in crate::diff) looked: usize,
    /// The kinds that records were chosen of.
    pub(in crate::diff) kinds: BTreeMap<String, String>,
    /// What is open because a tolerance may be shown on one side alone, whichever records are chosen.
    pub(in crate::diff) blunt: Direction,
}

/// All conditions of requirements and what surrounds them.
pub(in crate::diff) fn conditions<'s>(standard: &'s Standard, part: &Part) -> Vec<&'s Condition> {
    let rule = &standard.rules[part.rule];
    let wanted = part
        .requirements
        .iter()
        .filter_map(|number| rule.requirements.get(*number))
        .map(|requirement| &requirement.condition);
    let mut found: Vec<&Condition> = rule.when.iter().chain(&rule.permissions).collect();
    found.extend(wanted);
    if let Some(table) = &rule.table {
        for axis in [Some(&table.rows), table.columns.as_ref()]
            .into_iter()
            .flatten()
        {
            found.extend(axis.entries.iter().map(|entry| &entry.condition));
        }
    }
    found
}

/// Everything that both sides of a clause read.
pub(in crate::diff) fn reads(worlds: &Editions<'_>, clause: &Clause) -> Vec<Reads> {
    let mut found = Vec::new();
    for (world, part, new) in [
        (&worlds.new, &clause.new, true),
        (&worlds.old, &clause.old, false),
    ] {
        let Some(part) = part else { continue };
        for condition in conditions(world.view, part) {
            let mut here: Vec<&Path> = Vec::new();
            paths(condition, &mut here);
            for path in here {
                found.push(Reads {
                    new,
                    path: path.clone(),
                    key: key(world.view, path),
                });
            }
        }
    }
    found
}

fn key(standard: &Standard, path: &Path) -> String {
    let mut text = crate::diff::canonical::path(standard, path);
    if let Root::Member(_) = path.root {
        text = format!("any {text}");
    }
    text
}

/// The settings that a clause rests on in the end, on one side.
pub(in crate::diff) fn rests_on(
    standard: &Standard,
    closures: &Closures,
    part: &Part,
) -> BTreeSet<Name> {
    let mut found = BTreeSet::new();
    for condition in conditions(standard, part) {
        let mut here: Vec<&Path> = Vec::new();
        paths(condition, &mut here);
        for setting in here.into_iter().flat_map(passed) {
            let own = name(standard, setting);
            found.extend(closures.of(&own).cloned());
            found.insert(own);
        }
    }
    found
}

/// Whether a clause asks which record something is.
pub(in crate::diff) fn asks_for_records(standard: &Standard, part: &Part) -> bool {
    conditions(standard, part).into_iter().any(asks)
}

/// Whether a condition asks which record something is.
pub(in crate::diff) fn asks(condition: &Condition) -> bool {
    condition.any(&mut |part| match &part.node {
        ConditionNode::Is { values, .. } => values
            .iter()
            .any(|value| matches!(value, crate::types::Value::Reference(_))),
        ConditionNode::Same { .. } => true,
        _ => false,
    })
}

/// Works out what became of clauses.
pub(in crate::diff) struct ClauseEffects<'e, 'a> {
    pub(in crate::diff) worlds: &'e Editions<'a>,
    pub(in crate::diff) work: &'e Budget,
    /// How many rules may still be read beside clauses.
    pub(in crate::diff) others: &'e Cell<u64>,
    /// Whether a record is the shop's own rather than one that ships.
    pub(in crate::diff) own: &'e dyn Fn(&str, &str) -> bool,
}

/// What is asked in one choice of records.
pub(in crate::diff) struct Here<'h> {
    pub(in crate::diff) choice: &'h Choice,
    pub(in crate::diff) situations: [Situation; 2],
    /// What the plan states instead of these records.
    pub(in crate::diff) overrides: &'h Overrides,
    /// Records with which both standards keep the clause for any other thing of `for each`.
    pub(in crate::diff) beside: Option<&'h Choice>,
    /// A figure that keeps nothing where it is worked out.
    pub(in crate::diff) unkept: Option<UnkeptFigure>,
    /// The one figure of the clause that is worked out differently, where its formula can be read in its place.
    pub(in crate::diff) inlined: Option<Name>,
    /// Whether what a plan states leaves nothing else open, so that cutting boxes can prove something.
    pub(in crate::diff) closed: [bool; 2],
}

impl ClauseEffect {
    fn add(&mut self, choice: &Choice, direction: Direction) {
        if direction == Direction::NONE {
            return;
        }
        self.direction = self.direction.or(direction);
        match self.fates.iter_mut().find(|fate| fate.choice == *choice) {
            Some(fate) => fate.direction = fate.direction.or(direction),
            None => self.fates.push(ChoiceEffect {
                choice: choice.clone(),
                direction,
            }),
        }
    }
}

impl ClauseEffects<'_, '_> {
    pub(in crate::diff) fn side(&self, new: bool) -> &crate::diff::edition::Edition<'_> {
        if new {
            &self.worlds.new
        } else {
            &self.worlds.old
        }
    }

    /// What became of a clause.
    pub(in crate::diff) fn of(&self, clause: &Clause) -> ClauseEffect {
        let reads = reads(self.worlds, clause);
        let mut slots = self.slots(clause, &reads);
        let choices = self.choices(clause, &mut slots);
        let [old_each, new_each] = self.each_of(clause);
        let comparable = self.comparable(clause, [old_each.clone(), new_each.clone()]);
        let own_over = self.over(clause);
        let figures = self.figures(&reads);
        let mut over = own_over.clone();
        if figures {
            for read in &reads {
                let world = self.side(read.new);
                for setting in passed(&read.path) {
                    over.extend(world.closures.over(&name(world.view, setting)));
                }
            }
            over.sort_unstable();
            over.dedup();
        }
        let question = WitnessQuery {
            worlds: self.worlds,
            old: clause.old.as_ref(),
            new: clause.new.as_ref(),
            reads: &reads,
            each: new_each.or(old_each),
            over: &over,
            work: self.work,
        };
        let templates = question.templates();
        let mut hunt = DirectionSearch {
            question: &question,
            templates,
            last: 0,
            deep: [MOST_DEEP; 2],
            shown: BTreeMap::new(),
            left: BTreeSet::new(),
            alike: BTreeMap::new(),
        };
        let wide = [
            self.is_wide(&reads, &own_over, false),
            self.is_wide(&reads, &over, true),
        ];
        let mut became = ClauseEffect {
            fates: Vec::new(),
            direction: Direction::NONE,
            shown: Vec::new(),
            left: BTreeSet::new(),
            looked: choices.len(),
            kinds: slots
                .iter()
                .map(|(key, (kind, _))| (key.clone(), kind.clone()))
                .collect(),
            blunt: Direction::NONE,
        };
        let (old_part, new_part) = (clause.old.as_ref(), clause.new.as_ref());
        let closed = [!wide[0], !wide[1]];
        let both_ways = [Way::Tighter, Way::Looser];
        let asks = [(false, old_part), (true, new_part)]
            .into_iter()
            .any(|(new, part)| {
                part.is_some_and(|part| asks_for_records(self.side(new).view, part))
            });
        let unkept = |choice: &Choice| question.unkept(choice).filter(|_| figures);
        let beside = self.beside(clause, &choices, &slots, question.each.as_deref());
        let beside_for = |choice: &Choice| {
            let fits = |of: &&Choice| {
                choice.iter().all(|(key, record)| {
                    let own = question
                        .each
                        .as_ref()
                        .is_some_and(|each| key.starts_with(each));
                    own || of.get(key) == Some(record)
                })
            };
            beside.iter().copied().find(fits)
        };
        let inlined = self.inlined(&reads);
        let mut mixed = Vec::new();
        for choice in &choices {
            let situations = [
                self.situation(false, choice, &slots),
                self.situation(true, choice, &slots),
            ];
            let mixtures = self.mixtures(&reads, &situations, asks);
            let here = Here {
                choice,
                situations,
                overrides: &mixtures.plain,
                beside: beside_for(choice),
                unkept: unkept(choice),
                inlined: inlined.clone(),
                closed,
            };
            let direction =
                self.with_overrides(clause, &here, (figures, comparable, &both_ways), &mut hunt);
            became.add(choice, direction);
            if mixtures.open || !mixtures.mixed.is_empty() {
                mixed.push((choice, here.situations, mixtures));
            }
        }
        // Plans that state something else than the records they use: only what is not shown yet is asked.
        for (choice, situations, mixtures) in mixed {
            for overrides in &mixtures.mixed {
                let ways: Vec<Way> = both_ways
                    .into_iter()
                    .filter(|way| {
                        let known = match way {
                            Way::Tighter => became.direction.tighter,
                            Way::Looser => became.direction.looser,
                        };
                        known != Answer::Yes
                    })
                    .collect();
                let here = Here {
                    choice,
                    situations: situations.clone(),
                    overrides,
                    beside: beside_for(choice),
                    unkept: unkept(choice),
                    inlined: inlined.clone(),
                    closed,
                };
                let direction =
                    self.with_overrides(clause, &here, (figures, comparable, &ways), &mut hunt);
                became.add(choice, direction);
            }
            if mixtures.open {
                hunt.left.insert("more values of one record differ than could be mixed with what a plan may state instead".to_owned());
                became.add(
                    choice,
                    Direction {
                        tighter: Answer::NotDecided,
                        looser: Answer::NotDecided,
                    },
                );
            }
        }
        // Shown at every point is shown of texts only where the other side's check is as sharp.
        let same_goal = self.same_goal(clause);
        let values_differ = self.values_differ(clause);
        let sharp = |new: bool| {
            let of = |new: bool| {
                let side = self.side(new);
                let part = if new { &clause.new } else { &clause.old };
                part.as_ref().map(|part| (side.view, &side.closures, part))
            };
            let passes = of(!new).filter(|_| !values_differ);
            clause.same || same_goal || of(new).is_none_or(|here| is_sharp(here, passes))
        };
        let blunt = Direction {
            tighter: if sharp(true) {
                Answer::No
            } else {
                Answer::NotDecided
            },
            looser: if sharp(false) {
                Answer::No
            } else {
                Answer::NotDecided
            },
        };
        became.blunt = blunt;
        let opened = became.direction.or(blunt);
        if opened != became.direction {
            became.direction = opened;
            hunt.left.insert(
                "at single values it is the same; whether a tolerance is shown to hold as before is not excluded".to_owned(),
            );
        }
        became.left = hunt.left;
        for (way, shown) in hunt.shown {
            let own = self.work.question();
            became.shown.push((way, question.minimal(way, shown, &own)));
        }
        became
    }

    /// Whether anything that differs bears on what either side of a clause reads.
    fn values_differ(&self, clause: &Clause) -> bool {
        let differences = &self.worlds.differences;
        [(false, &clause.old), (true, &clause.new)]
            .into_iter()
            .any(|(new, part)| {
                let side = self.side(new);
                let Some(part) = part else { return false };
                let mut rests = rests_on(side.view, &side.closures, part).into_iter();
                let asks = asks_for_records(side.view, part) && !differences.ancestry.is_empty();
                asks || rests.any(|of| {
                    differences.formulas.contains(&of) || differences.values.contains_key(&of)
                })
            })
    }

    /// Whether both sides ask the same of each thing, of whatever things they ask it: a check of a tolerance comes to the
    /// same then.
    fn same_goal(&self, clause: &Clause) -> bool {
        if self.values_differ(clause) {
            return false;
        }
        let goal = |new: bool, part: &Option<Part>| {
            let side = self.side(new);
            let part = part.as_ref()?;
            let rule = &side.view.rules[part.rule];
            if rule.table.is_some() {
                return None;
            }
            let mut texts: Vec<String> = part
                .requirements
                .iter()
                .filter_map(|number| rule.requirements.get(*number))
                .map(|of| canonical::condition(side.view, &of.condition))
                .collect();
            texts.sort_unstable();
            texts.push(canonical::all(side.view, &rule.when));
            let mut may: Vec<String> = rule
                .permissions
                .iter()
                .map(|of| canonical::condition(side.view, of))
                .collect();
            may.sort_unstable();
            texts.extend(may);
            Some(texts)
        };
        let old = goal(false, &clause.old);
        old.is_some() && old == goal(true, &clause.new)
    }

    /// The choices of records with which both standards keep a clause on steps, whatever a plan states.
    fn beside<'c>(
        &self,
        clause: &Clause,
        choices: &'c [Choice],
        slots: &[(String, Slot)],
        each: Option<&str>,
    ) -> Vec<&'c Choice> {
        let own = |key: &String| each.is_some_and(|each| key.starts_with(each));
        if choices.len() > MOST_BESIDE || !slots.iter().any(|(key, _)| own(key)) {
            return Vec::new();
        }
        let overrides = Overrides::default();
        let is_kept = |choice: &&Choice| {
            let here = Here {
                choice,
                situations: [false, true].map(|new| self.situation(new, choice, slots)),
                overrides: &overrides,
                beside: None,
                unkept: None,
                inlined: None,
                closed: [false; 2],
            };
            let mut vars = Vars::default();
            [(false, &clause.old), (true, &clause.new)]
                .into_iter()
                .all(|(new, part)| {
                    let part = part.as_ref();
                    let kept = self.kept(new, part, &here, Figures::Stated, &mut vars);
                    kept.is_true() || vars.is_never(&[&kept.negated()])
                })
        };
        choices.iter().filter(is_kept).collect()
    }

    /// The one figure that is read and worked out differently, where both formulas are plain arithmetic on
    /// what is not itself worked out differently.
    fn inlined(&self, reads: &[Reads]) -> Option<Name> {
        let differences = &self.worlds.differences;
        let differs =
            |of: &Name| differences.formulas.contains(of) || differences.values.contains_key(of);
        let mut found = BTreeSet::new();
        for read in reads {
            let world = self.side(read.new);
            for setting in passed(&read.path) {
                let own = name(world.view, setting);
                let of = world.view.field(setting.0, setting.1);
                let worked_out = of.formula.is_some() || differences.formulas.contains(&own);
                let inner = world.closures.of(&own).any(differs);
                if worked_out && (inner || differences.formulas.contains(&own)) {
                    found.insert(own);
                }
            }
        }
        let own = found.pop_first().filter(|_| found.is_empty())?;
        let plain = |new: bool| {
            let world = self.side(new);
            let kind = *world.view.kind_names.get(&own.0)?;
            let field = *world.view.kind(kind).field_names.get(&own.1)?;
            let Some(formula) = &world.view.field(kind, field).formula else {
                return Some(true);
            };
            let mut settled = is_plain(formula);
            formula.reads(&mut |read| {
                for setting in read.path().into_iter().flat_map(passed) {
                    let read = name(world.view, setting);
                    let figure = world.view.field(setting.0, setting.1).formula.is_some();
                    let inner = differs(&read) || world.closures.of(&read).any(differs);
                    settled &= !(figure && inner);
                }
            });
            Some(settled)
        };
        (plain(false) == Some(true) && plain(true) == Some(true)).then_some(own)
    }

    /// Whether something that is read is worked out from what differs.
    fn figures(&self, reads: &[Reads]) -> bool {
        let differences = &self.worlds.differences;
        reads.iter().any(|read| {
            let world = self.side(read.new);
            passed(&read.path).any(|setting| {
                let own = name(world.view, setting);
                let differs = |of: &Name| {
                    differences.formulas.contains(of) || differences.values.contains_key(of)
                };
                let formula = differences.formulas.contains(&own);
                formula || world.closures.of(&own).any(differs)
            })
        })
    }

    /// Whether what both sides come to for one thing decides each way: the clause is asked of the same things, or it
    /// speaks of none of them and is asked of one side for each, so that it comes to the same there, or to nothing.
    fn comparable(&self, clause: &Clause, [old, new]: [Option<String>; 2]) -> [bool; 2] {
        if clause.old.is_none() || clause.new.is_none() || old == new {
            return [true; 2];
        }
        let apart = |new: bool, part: &Option<Part>| {
            let view = self.side(new).view;
            let Some(part) = part else { return true };
            let mut found = Vec::new();
            for condition in conditions(view, part) {
                paths(condition, &mut found);
            }
            found.iter().all(|path| !matches!(path.root, Root::Each(_)))
        };
        match (old, new) {
            // Where there is no such thing, the new one asks for nothing.
            (None, Some(_)) => [apart(true, &clause.new), false],
            (Some(_), None) => [false, apart(false, &clause.old)],
            _ => [false; 2],
        }
    }

    fn over(&self, clause: &Clause) -> Vec<String> {
        let mut found = BTreeSet::new();
        for (new, part) in [(false, &clause.old), (true, &clause.new)] {
            let Some(part) = part else { continue };
            let view = self.side(new).view;
            for condition in conditions(view, part) {
                let mut kinds = Vec::new();
                crate::diff::conditions::paths::over(condition, &mut kinds);
                found.extend(kinds.into_iter().map(|kind| view.kind(kind).name.clone()));
            }
        }
        found.into_iter().collect()
    }

    /// Whether more bears on a clause than the settings a plan states for it, or than what those are
    /// worked out from in one step.
    fn is_wide(&self, reads: &[Reads], over: &[String], worked_out: bool) -> bool {
        !over.is_empty()
            || reads.iter().any(|read| {
                let world = self.side(read.new);
                let deep = |setting| {
                    let own = name(world.view, setting);
                    let mut inputs = world.closures.of(&own);
                    world.closures.is_wide(&own)
                        || inputs.any(|of| world.closures.is_worked_out(of))
                };
                // A share that is left out is nothing, which no plan states where that is not possible.
                let hidden = |setting| {
                    let own = name(world.view, setting);
                    let mut all = world.closures.of(&own).chain([&own]);
                    all.any(|of| is_never_stated_as_nothing(world.view, of))
                };
                read.path.goes_by_order()
                    || passed(&read.path).any(hidden)
                    || worked_out && passed(&read.path).any(deep)
            })
    }

    /// What it does for one choice and what the plan states instead of it: with figures as stated, and as worked out.
    fn with_overrides(
        &self,
        clause: &Clause,
        here: &Here<'_>,
        (figures, comparable, ways): (bool, [bool; 2], &[Way]),
        hunt: &mut DirectionSearch<'_, '_, '_>,
    ) -> Direction {
        let stated = (Figures::Stated, comparable, ways);
        let direction = self.at(clause, here, stated, hunt);
        if !figures {
            return direction;
        }
        let may = |way: &Way| hunt.question.figures_may(*way, here.choice);
        let ways: Vec<Way> = ways.iter().copied().filter(may).collect();
        let worked_out = (Figures::WorkedOut, comparable, ways.as_slice());
        direction.or(self.at(clause, here, worked_out, hunt))
    }

    fn at(
        &self,
        clause: &Clause,
        here: &Here<'_>,
        (figures, comparable, ways): (Figures, [bool; 2], &[Way]),
        hunt: &mut DirectionSearch<'_, '_, '_>,
    ) -> Direction {
        let mut vars = Vars::default();
        let (old, new) = (clause.old.as_ref(), clause.new.as_ref());
        // Twice, so that what is possible is known of both sides when the sets are met.
        let _ = self.kept(false, old, here, figures, &mut vars);
        let _ = self.kept(true, new, here, figures, &mut vars);
        let before = self.kept(false, old, here, figures, &mut vars);
        let after = self.kept(true, new, here, figures, &mut vars);
        let verb = |part: Option<&Part>| part.map(|part| part.verb);
        if comparable == [true; 2] && before == after && (verb(old) == verb(new)) {
            return Direction::NONE;
        }
        // Choices of records that come to the same limits come to the same answer.
        let keys: Vec<&str> = vars.list.iter().map(|var| var.key.as_str()).collect();
        let alike = format!("{figures:?} {ways:?} {keys:?} {before:?} {after:?}");
        if let Some(known) = hunt.alike.get(&alike) {
            return *known;
        }
        let beside = Formula::all([before.clone(), after.clone()]);
        let beside = vars.regions(&beside, 1).list.pop();
        vars.beside = beside.unwrap_or_default();
        let mut way = |way: Way| {
            if !ways.contains(&way) {
                return Answer::No;
            }
            let node = differ(clause, way, [&before, &after]);
            hunt.ask(way, here, (&vars, &node), comparable[way as usize], figures)
        };
        let direction = Direction {
            tighter: way(Way::Tighter),
            looser: way(Way::Looser),
        };
        if figures == Figures::Stated {
            hunt.alike.insert(alike, direction);
        }
        direction
    }

    /// Whether no plan that passes the one side is kept from passing the other by a clause, as the other rules that it
    /// keeps leave none. Outcomes of plans that fail both may differ all the same.
    pub(in crate::diff) fn is_excluded_by_others(&self, clause: &Clause, way: Way) -> bool {
        let reads = reads(self.worlds, clause);
        let mut slots = self.slots(clause, &reads);
        let choices = self.choices(clause, &mut slots);
        // Where it is not asked of the same things, all by which the one side fails counts, kept by the other or not.
        let comparable = self.comparable(clause, self.each_of(clause))[way as usize];
        let inlined = self.inlined(&reads);
        let parts = [(false, clause.old.as_ref()), (true, clause.new.as_ref())];
        let asks = parts.iter().any(|(new, part)| {
            part.is_some_and(|part| asks_for_records(self.side(*new).view, part))
        });
        let modes: &[Figures] = match self.figures(&reads) {
            true => &[Figures::Stated, Figures::WorkedOut],
            false => &[Figures::Stated],
        };
        choices.iter().all(|choice| {
            let situations = [false, true].map(|new| self.situation(new, choice, &slots));
            let mixtures = self.mixtures(&reads, &situations, asks);
            let mut all = std::iter::once(&mixtures.plain).chain(&mixtures.mixed);
            !mixtures.open
                && all.all(|overrides| {
                    let here = Here {
                        choice,
                        situations: situations.clone(),
                        overrides,
                        beside: None,
                        unkept: None,
                        inlined: inlined.clone(),
                        closed: [false; 2],
                    };
                    modes.iter().all(|figures| {
                        let mut vars = Vars::default();
                        let mut kept = || {
                            parts
                                .map(|(new, part)| self.kept(new, part, &here, *figures, &mut vars))
                        };
                        // Twice, so that what is possible is known of both sides.
                        let _ = kept();
                        let [before, after] = kept();
                        let node = match (comparable, way) {
                            (true, _) => differ(clause, way, [&before, &after]),
                            (false, Way::Tighter) => after.negated(),
                            (false, Way::Looser) => before.negated(),
                        };
                        vars.is_never(&[&node])
                            || self.others_exclude(clause, &here, (way, *figures), (&vars, &node))
                    })
                })
        })
    }

    /// What each side of a clause is asked of.
    fn each_of(&self, clause: &Clause) -> [Option<String>; 2] {
        [(false, &clause.old), (true, &clause.new)].map(|(new, part)| {
            let view = self.side(new).view;
            let kind = view.rules[part.as_ref()?.rule].each?;
            Some(view.kind(kind).name.clone())
        })
    }

    /// The same for one choice of records and what a plan states instead of them.
    fn others_exclude(
        &self,
        clause: &Clause,
        here: &Here<'_>,
        (way, figures): (Way, Figures),
        (vars, node): (&Vars, &Formula),
    ) -> bool {
        let new = way == Way::Looser;
        let (world, other) = (self.side(new), self.side(!new));
        let fails = if new { &clause.old } else { &clause.new };
        let each = fails.as_ref().and_then(|part| {
            let kind = other.view.rules[part.rule].each?;
            world
                .view
                .kind_names
                .get(&other.view.kind(kind).name)
                .copied()
        });
        let own = Cell::new(self.others.get() / OF_ONE_QUESTION);
        let before = own.get();
        let passing = Passing {
            world,
            differences: &self.worlds.differences,
            new,
            each,
            situation: &here.situations[usize::from(new)],
            overrides: here.overrides,
            figures,
            inlined: here.inlined.as_ref(),
            budget: &own,
        };
        let excluded = passing.is_excluded(node, vars);
        self.others.set(self.others.get() - (before - own.get()));
        excluded
    }
}

/// Where a clause fares worse by one side than by the other.
fn differ(clause: &Clause, way: Way, [before, after]: [&Formula; 2]) -> Formula {
    let verb = |part: &Option<Part>| part.as_ref().map(|part| part.verb);
    let verbs = [verb(&clause.old), verb(&clause.new)];
    let (kept, breaks, [kept_verb, breaks_verb]) = match way {
        Way::Tighter => (before, after, verbs),
        Way::Looser => (after, before, [verbs[1], verbs[0]]),
    };
    // Where the verb is harder now, all that breaks it counts, kept before or not.
    let harder = kept_verb == Some(Verb::Should) && breaks_verb == Some(Verb::Shall);
    if harder {
        breaks.negated()
    } else {
        Formula::all([kept.clone(), breaks.negated()])
    }
}

/// Whether a setting is a share of a whole that may not be stated to be nothing.
fn is_never_stated_as_nothing(standard: &Standard, of: &Name) -> bool {
    let found = || {
        let kind = standard.kind(*standard.kind_names.get(&of.0)?);
        let field = kind.field_names.get(&of.1)?;
        let possible = kind.fields[field.0 as usize].possible.as_ref()?;
        let mut wholes = kind.parts.iter();
        let share = wholes.any(|whole| whole.fields.contains(field));
        Some(share && possible.low.as_ref()? > &Exact::ZERO)
    };
    found() == Some(true)
}
