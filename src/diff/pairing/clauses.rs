//! Which rule and which requirement of the old standard is which of the new one.

use std::collections::{BTreeMap, BTreeSet};

use crate::diff::canonical;
use crate::diff::conditions::paths::paths;
use crate::diff::pairing::rename_matching::pairs;
use crate::types::{Condition, ExpressionNode, Rule, RuleForm, Standard, Verb};

/// A rule on both sides, or on one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::diff) struct RulePair {
    /// Its number in the old standard.
    pub(in crate::diff) old: Option<usize>,
    /// Its number in the new one.
    pub(in crate::diff) new: Option<usize>,
}

/// Requirements of one rule that are compared as one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) struct Part {
    /// The rule.
    pub(in crate::diff) rule: usize,
    /// Its requirements; all of them for a table.
    pub(in crate::diff) requirements: Vec<usize>,
    /// Their verb.
    pub(in crate::diff) verb: Verb,
}

/// Requirements of the old standard and what became of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) struct Clause {
    /// In the old standard.
    pub(in crate::diff) old: Option<Part>,
    /// In the new one.
    pub(in crate::diff) new: Option<Part>,
    /// Whether both say the same, word for word in meaning.
    pub(in crate::diff) same: bool,
    /// Whether they stand in another rule now.
    pub(in crate::diff) moved: bool,
}

/// What a rule is told by.
type MatchKey<'t> = dyn Fn(&Standard, &Rule) -> String + 't;

/// Pairs rules: by name first, then one with that in whose place it stands, then by meaning, then by title.
pub(in crate::diff) fn rules(old: &Standard, new: &Standard) -> Vec<RulePair> {
    let key = |rule: &Rule| (rule.form == RuleForm::Rule, rule.name.clone());
    let index: BTreeMap<(bool, String), usize> = new
        .rules
        .iter()
        .enumerate()
        .map(|(number, rule)| (key(rule), number))
        .collect();
    let mut found: Vec<RulePair> = Vec::new();
    let mut taken = BTreeSet::new();
    for (number, rule) in old.rules.iter().enumerate() {
        let there = index.get(&key(rule)).copied();
        taken.extend(there);
        found.push(RulePair {
            old: Some(number),
            new: there,
        });
    }
    for of in &new.taken_out {
        let is_left = |pair: &&mut RulePair| {
            let rule = pair.old.and_then(|number| old.rules.get(number));
            pair.new.is_none()
                && rule.is_some_and(|rule| rule.form == RuleForm::Rule && rule.name == of.rule)
        };
        let instead = of.instead.clone().and_then(|name| index.get(&(true, name)));
        if let Some(number) = instead
            && !taken.contains(number)
            && let Some(pair) = found.iter_mut().find(is_left)
        {
            pair.new = Some(*number);
            taken.insert(*number);
        }
    }
    let form = |standard: &Standard, rule: &Rule| {
        format!(
            "{} {}",
            rule.form == RuleForm::Rule,
            canonical::rule(standard, rule)
        )
    };
    let title = |_: &Standard, rule: &Rule| match &rule.title {
        Some(title) => format!("{} {title}", rule.form == RuleForm::Rule),
        None => String::new(),
    };
    let tells: [&MatchKey<'_>; 2] = [&form, &title];
    for tell in tells {
        let left_old: Vec<(String, usize)> = found
            .iter()
            .enumerate()
            .filter(|(_, pair)| pair.new.is_none())
            .filter_map(|(at, pair)| Some((tell(old, &old.rules[pair.old?]), at)))
            .filter(|(key, _)| !key.is_empty())
            .collect();
        let left_new: Vec<(String, usize)> = new
            .rules
            .iter()
            .enumerate()
            .filter(|(number, _)| !taken.contains(number))
            .map(|(number, rule)| (tell(new, rule), number))
            .filter(|(key, _)| !key.is_empty())
            .collect();
        for (at, number) in pairs(&left_old, &left_new) {
            found[at].new = Some(number);
            taken.insert(number);
        }
    }
    let added = (0..new.rules.len()).filter(|number| !taken.contains(number));
    found.extend(added.map(|number| RulePair {
        old: None,
        new: Some(number),
    }));
    found
}

/// What a requirement says, whatever the order of its parts.
fn says(standard: &Standard, rule: &Rule, requirement: usize) -> String {
    let condition = &rule.requirements[requirement].condition;
    canonical::all(standard, std::slice::from_ref(condition))
}

/// The settings that a requirement reads.
fn subjects(standard: &Standard, condition: &Condition) -> BTreeSet<String> {
    let mut found = Vec::new();
    paths(condition, &mut found);
    let mut subjects: BTreeSet<String> = found
        .into_iter()
        .map(|path| canonical::path(standard, path))
        .collect();
    // Of all things of a kind together, too: `count of screens at most 9`.
    condition.visit_expressions(&mut |of| {
        if let ExpressionNode::Over { .. } = of.node {
            subjects.insert(canonical::expression(standard, of));
        }
    });
    subjects
}

/// Requirements with settings in common.
#[derive(Default)]
struct Group {
    subjects: BTreeSet<String>,
    old: Vec<usize>,
    new: Vec<usize>,
}

/// The requirements of a pair of rules.
pub(in crate::diff) fn clauses(old: &Standard, new: &Standard, pair: RulePair) -> Vec<Clause> {
    let of = |standard: &Standard, number: Option<usize>| -> Option<(usize, Rule)> {
        let number = number?;
        let rule = standard.rules.get(number)?;
        (rule.form == RuleForm::Rule).then(|| (number, rule.clone()))
    };
    let (mine, theirs) = (of(old, pair.old), of(new, pair.new));
    let whole = |side: &Option<(usize, Rule)>| {
        let (rule, of) = side.as_ref()?;
        let verb = of.requirements.first()?.verb;
        Some(Part {
            rule: *rule,
            requirements: (0..of.requirements.len()).collect(),
            verb,
        })
    };
    let table =
        |side: &Option<(usize, Rule)>| side.as_ref().is_some_and(|(_, rule)| rule.table.is_some());
    if table(&mine) || table(&theirs) {
        let same = match (&mine, &theirs) {
            (Some((_, one)), Some((_, other))) => {
                canonical::rule(old, one) == canonical::rule(new, other)
            }
            _ => false,
        };
        return vec![Clause {
            old: whole(&mine),
            new: whole(&theirs),
            same,
            moved: false,
        }];
    }
    let one = |side: &Option<(usize, Rule)>, requirements: &[usize]| {
        let (rule, of) = side.as_ref()?;
        let verb = of.requirements.get(*requirements.first()?)?.verb;
        Some(Part {
            rule: *rule,
            requirements: requirements.to_vec(),
            verb,
        })
    };
    let (Some((_, before)), Some((_, after))) = (&mine, &theirs) else {
        let side = |of: &Option<(usize, Rule)>| -> Vec<Option<Part>> {
            let count = of.as_ref().map_or(0, |(_, rule)| rule.requirements.len());
            (0..count).map(|number| one(of, &[number])).collect()
        };
        let lone = |old: Option<Part>, new: Option<Part>| Clause {
            old,
            new,
            same: false,
            moved: false,
        };
        return side(&mine)
            .into_iter()
            .map(|part| lone(part, None))
            .chain(side(&theirs).into_iter().map(|part| lone(None, part)))
            .collect();
    };
    let reach = canonical::reach(old, before) == canonical::reach(new, after);
    let mut left_new: Vec<usize> = (0..after.requirements.len()).collect();
    let mut left_old: Vec<usize> = Vec::new();
    let mut equal: Vec<(usize, usize)> = Vec::new();
    for number in 0..before.requirements.len() {
        let says_so = says(old, before, number);
        let same = left_new.iter().position(|other| {
            after.requirements[*other].verb == before.requirements[number].verb
                && says(new, after, *other) == says_so
        });
        match same {
            Some(at) => equal.push((number, left_new.remove(at))),
            None => left_old.push(number),
        }
    }
    let mut found = Vec::new();
    let pair_of = |old: &[usize], new: &[usize], same: bool| Clause {
        old: one(&mine, old),
        new: one(&theirs, new),
        same,
        moved: false,
    };
    if reach {
        found.extend(equal.iter().map(|(a, b)| pair_of(&[*a], &[*b], true)));
    } else {
        // Another `when` is one change for all that the rule requires.
        for verb in [Verb::Shall, Verb::Should] {
            let of_verb = |(a, _): &&(usize, usize)| before.requirements[*a].verb == verb;
            let of_verb: Vec<&(usize, usize)> = equal.iter().filter(of_verb).collect();
            if !of_verb.is_empty() {
                let a: Vec<usize> = of_verb.iter().map(|(a, _)| *a).collect();
                let b: Vec<usize> = of_verb.iter().map(|(_, b)| *b).collect();
                found.push(pair_of(&a, &b, false));
            }
        }
    }
    let mut groups: Vec<Group> = Vec::new();
    for verb in [Verb::Shall, Verb::Should] {
        let mut of_verb: Vec<Group> = Vec::new();
        for (side, rule, standard, left) in
            [(0, before, old, &left_old), (1, after, new, &left_new)]
        {
            for number in left {
                let requirement = &rule.requirements[*number];
                if requirement.verb != verb {
                    continue;
                }
                let mut group = Group {
                    subjects: subjects(standard, &requirement.condition),
                    ..Group::default()
                };
                if side == 0 {
                    group.old.push(*number);
                } else {
                    group.new.push(*number);
                }
                join(&mut of_verb, group);
            }
        }
        groups.extend(of_verb);
    }
    // What only one side has may have another verb on the other.
    let mut at = 0;
    while at < groups.len() {
        let lone_old = groups[at].new.is_empty();
        let partner = (at + 1..groups.len()).find(|other| {
            let other = &groups[*other];
            let fits = if lone_old {
                other.old.is_empty()
            } else {
                groups[at].old.is_empty() && other.new.is_empty()
            };
            fits && !other.subjects.is_disjoint(&groups[at].subjects)
        });
        if let Some(partner) = partner {
            let other = groups.remove(partner);
            groups[at].old.extend(other.old);
            groups[at].new.extend(other.new);
        }
        at += 1;
    }
    found.extend(
        groups
            .iter()
            .map(|group| pair_of(&group.old, &group.new, false)),
    );
    found
}

fn join(groups: &mut Vec<Group>, mut group: Group) {
    groups.retain_mut(|known| {
        let apart = known.subjects.is_disjoint(&group.subjects);
        if !apart {
            group.subjects.append(&mut known.subjects);
            let mut old = std::mem::take(&mut known.old);
            old.append(&mut group.old);
            group.old = old;
            let mut new = std::mem::take(&mut known.new);
            new.append(&mut group.new);
            group.new = new;
        }
        apart
    });
    groups.push(group);
}

/// Finds requirements that stand in another rule now, and says so.
pub(in crate::diff) fn moved(old: &Standard, new: &Standard, clauses: &mut Vec<Clause>) {
    let key = |standard: &Standard, part: &Part| {
        let rule = &standard.rules[part.rule];
        if rule.table.is_some() {
            return None;
        }
        let reach = canonical::reach(standard, rule);
        let wanted: Vec<String> = part
            .requirements
            .iter()
            .map(|number| says(standard, rule, *number))
            .collect();
        Some(format!("{:?} {reach} {}", part.verb, wanted.join(" and ")))
    };
    let mut gone: BTreeMap<String, usize> = BTreeMap::new();
    for (index, clause) in clauses.iter().enumerate() {
        if let (Some(part), None) = (&clause.old, &clause.new)
            && let Some(key) = key(old, part)
        {
            gone.insert(key, index);
        }
    }
    let mut joined = BTreeSet::new();
    for index in 0..clauses.len() {
        let Some(part) = clauses[index].new.clone() else {
            continue;
        };
        if clauses[index].old.is_some() {
            continue;
        }
        let Some(before) = key(new, &part).and_then(|key| gone.remove(&key)) else {
            continue;
        };
        clauses[before].new = Some(part);
        clauses[before].same = true;
        clauses[before].moved = true;
        joined.insert(index);
    }
    let mut at = 0;
    clauses.retain(|_| {
        at += 1;
        !joined.contains(&(at - 1))
    });
}
