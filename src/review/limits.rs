//! What the requirements of a group come to together, as findings.

use std::collections::{BTreeMap, BTreeSet};

use super::context::ReviewContext;
use super::study::{Clash, ClauseId, Combinations, Explained, Study};
use super::symbolic_run::{SymbolicRun, unit_of};
use super::{finding, witness, words};
use crate::constraint;
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding, Witness};
use crate::source::Span;
use crate::types::{KindId, RecordId, Standard};

/// Whether some record clashes with everything it can be combined with, or the limits clash whatever the records.
fn leaves_no_way(standard: &Standard, combinations: &Combinations) -> bool {
    let Some(first) = combinations.first() else {
        return false;
    };
    if first.is_empty() {
        return true;
    }
    let count = |kind: KindId| standard.records.iter().filter(|of| of.kind == kind).count();
    let sizes: Vec<usize> = first
        .iter()
        .map(|record| count(standard.record(*record).kind))
        .collect();
    let all: usize = sizes.iter().product();
    (0..first.len()).any(|place| {
        let mut met: BTreeMap<RecordId, usize> = BTreeMap::new();
        for records in combinations {
            if let Some(record) = records.get(place) {
                *met.entry(*record).or_default() += 1;
            }
        }
        let others = all / sizes[place].max(1);
        met.values().any(|count| *count >= others)
    })
}

/// Requirements, or advice and requirements, that clash.
pub(super) fn clashes(
    context: &ReviewContext<'_>,
    run: &mut SymbolicRun,
    study: &Study,
) -> Vec<ReviewFinding> {
    let mut found = Vec::new();
    let same = |one: &&Clash, other: &Clash| one.core == other.core;
    for clash in &study.clashes {
        let ranges = clash.core.iter().any(|id| {
            let requirement = context.requirement(*id);
            !words::ranges(context.standard, &clash.situation, requirement).is_empty()
        });
        let explained = study.explained.iter().find(|one| same(one, clash));
        let all = united(clash, explained);
        let (code, next) = if !ranges || leaves_no_way(context.standard, &all) {
            (
                Code::Contradiction,
                "widen one of them, or give one rule a `when` that keeps them apart",
            )
        } else {
            (
                Code::PairRuledOut,
                "if they are never to be used together, say so in a rule on the records alone; else widen one limit",
            )
        };
        found.push(clash_finding(context, run, clash, code, next));
    }
    for clash in &study.explained {
        let plain = study.clashes.iter().find(|one| same(one, clash));
        // What a combination met in another way is told already.
        let combinations: Combinations = match plain {
            Some(plain) => &clash.combinations - &plain.combinations,
            None => clash.combinations.clone(),
        };
        if combinations.is_empty() {
            continue;
        }
        let mut clash = Clash {
            combinations,
            ..clash.clone()
        };
        let left = &clash.combinations;
        clash.explained.retain(|records, _| left.contains(records));
        // A record that goes with nothing is no pair that does not go together.
        if plain.is_none() && leaves_no_way(context.standard, &clash.combinations) {
            let next = "widen one of the limits, or take out what can never be used";
            found.push(clash_finding(
                context,
                run,
                &clash,
                Code::Contradiction,
                next,
            ));
            continue;
        }
        let next = "nothing to do; a plan hears of it before anything is set";
        let finding = clash_finding(context, run, &clash, Code::Explained, next);
        found.push(explained(context, finding, &clash.explained));
    }
    // Two requirements of one rule get stuck on each other: that is told once.
    let mut told: Vec<&BTreeSet<ClauseId>> = Vec::new();
    for clash in study.stuck.values() {
        if told.contains(&&clash.core) {
            continue;
        }
        told.push(&clash.core);
        let next = "widen one of the limits, or take the rule out";
        found.push(clash_finding(
            context,
            run,
            clash,
            Code::Contradiction,
            next,
        ));
    }
    for clash in study
        .vain
        .iter()
        .filter(|clash| !clash.combinations.is_empty())
    {
        if clash.disputed {
            let next =
                "nothing to do; a run that lies inside the span is at risk, and says by whose word";
            let mut finding = clash_finding(context, run, clash, Code::Explained, next);
            let words =
                "it could be followed at the other end: the sources that the span is from disagree";
            finding.said = finding.said.note(words);
            found.push(finding);
            continue;
        }
        let next = "change the `should`, or narrow down when it applies";
        found.push(clash_finding(context, run, clash, Code::VainAdvice, next));
    }
    found
}

/// Combinations of a clash with those of it that are explained.
fn united(clash: &Clash, explained: Option<&Clash>) -> Combinations {
    match explained {
        Some(explained) => &clash.combinations | &explained.combinations,
        None => clash.combinations.clone(),
    }
}

/// The rules that explain all of it, those that explain most first.
fn fewest(explained: &Explained) -> BTreeSet<ClauseId> {
    let mut left: Vec<&BTreeSet<ClauseId>> = explained.values().collect();
    let mut found = BTreeSet::new();
    while !left.is_empty() {
        let mut counts: BTreeMap<ClauseId, usize> = BTreeMap::new();
        for id in left.iter().copied().flatten() {
            *counts.entry(*id).or_default() += 1;
        }
        let most = counts
            .iter()
            .max_by_key(|(id, count)| (**count, std::cmp::Reverse(**id)));
        let Some((id, _)) = most else { break };
        found.insert(*id);
        left.retain(|by| !by.contains(id));
    }
    found
}

/// A finding as one that rules on the records alone explain.
pub(super) fn explained(
    context: &ReviewContext<'_>,
    mut finding: ReviewFinding,
    explained: &Explained,
) -> ReviewFinding {
    let ids = context.own_first(&fewest(explained));
    let names: BTreeSet<&str> = ids.iter().map(|id| context.rule_name(*id)).collect();
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    let say = if names.len() == 1 { "says" } else { "say" };
    let headline = format!(
        "{}; {} {say} so",
        finding.said.headline,
        words::list(&names)
    );
    let explains = |id: &ClauseId| format!("`{}` explains it", context.rule_name(*id));
    let mut places = ids
        .iter()
        .map(|id| (context.requirement(*id).span, explains(id)));
    let (first, here) = places
        .next()
        .unwrap_or_else(|| (Span::new(context.standard.root, 0, 0), String::new()));
    let mut said = Diagnostic::new(Code::Explained, first, headline, here);
    for (place, words) in places {
        said = said.related(place, words);
    }
    for label in finding.said.labels() {
        said = said.related(label.span, label.words.clone());
    }
    for note in finding.said.notes {
        said = said.note(note);
    }
    said = said.help("nothing to do; a plan hears of it before anything is set");
    finding.said = said;
    finding.witness = None;
    finding
}

fn clash_finding(
    context: &ReviewContext<'_>,
    run: &mut SymbolicRun,
    clash: &Clash,
    code: Code,
    next: &str,
) -> ReviewFinding {
    let standard = context.standard;
    let ids = context.own_first(&clash.core);
    let rules: BTreeSet<&str> = ids.iter().map(|id| context.rule_name(*id)).collect();
    let rules: Vec<String> = rules.iter().map(|name| format!("`{name}`")).collect();
    let records: Vec<RecordId> = clash
        .situation
        .records
        .values()
        .filter_map(|of| *of)
        .collect();
    let kinds: BTreeSet<KindId> = ids
        .iter()
        .flat_map(|id| context.clause(*id).kinds.iter().copied())
        .collect();
    let example: Vec<RecordId> = records
        .into_iter()
        .filter(|record| kinds.contains(&standard.record(*record).kind))
        .collect();
    let who = if example.is_empty() {
        "no run".to_owned()
    } else {
        format!(
            "no run with {}",
            words::combination_in_full(standard, &example)
        )
    };
    // Where it holds for all records, none of them is named.
    let who = match clash.whenever {
        Some(id) => format!("no run to which `{}` applies", context.rule_name(id)),
        None => who,
    };
    let more = match clash.combinations.len() {
        0 | 1 => String::new(),
        2 => ", nor with 1 other combination".to_owned(),
        many => format!(", nor with {} other combinations", many - 1),
    };
    // A recommendation is followed; what it clashes with is kept.
    let (advice, kept): (Vec<ClauseId>, Vec<ClauseId>) =
        ids.iter().partition(|id| !context.clause(**id).shall);
    let named = |of: &[ClauseId]| {
        let names: BTreeSet<&str> = of.iter().map(|id| context.rule_name(*id)).collect();
        let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
        words::list(&names)
    };
    let does = match (advice.is_empty(), kept.is_empty()) {
        (true, _) => format!("keep {}", words::list(&rules)),
        (false, true) => format!("follow {}", named(&advice)),
        (false, false) => format!("follow {} and keep {}", named(&advice), named(&kept)),
    };
    let headline = format!("{who} can {does}{more}");
    let leaves: BTreeMap<ClauseId, String> = match &clash.leaves {
        Some((variable, each)) => {
            let setting = run.of(*variable).setting;
            let name = words::setting(standard, setting);
            each.iter()
                .map(|(id, set)| {
                    let unit =
                        words::unit(standard, &clash.situation, context.clause(*id), setting);
                    let set = set.beyond(&run.of(*variable).domain);
                    let set = words::set(standard, setting, &set, &unit);
                    (
                        *id,
                        format!("`{}` leaves `{name}` {set}", context.rule_name(*id)),
                    )
                })
                .collect()
        }
        None => BTreeMap::new(),
    };
    let label = |id: &ClauseId| {
        leaves.get(id).cloned().unwrap_or_else(|| match ids.len() {
            1 => "no value does".to_owned(),
            _ => format!("`{}`", context.rule_name(*id)),
        })
    };
    let mut spans: Vec<(Span, String)> = ids
        .iter()
        .map(|id| (context.requirement(*id).span, label(id)))
        .collect();
    for id in &ids {
        for (_, span) in words::ranges(standard, &clash.situation, context.requirement(*id)) {
            spans.push((span, "the range it reads".to_owned()));
        }
    }
    let mut spans = spans.into_iter();
    let (first, here) = spans
        .next()
        .unwrap_or_else(|| (Span::new(standard.root, 0, 0), String::new()));
    let mut said = Diagnostic::new(code, first, headline, here);
    for (span, words) in spans {
        said = said.related(span, words);
    }
    if ids
        .iter()
        .any(|id| words::reads_a_span(standard, &clash.situation, context.requirement(*id)))
    {
        said = said.note("a value that a record states as a span counts at its worse end");
    }
    let mut finding = finding(said.help(next), Evidence::Proved);
    finding.noun = "combination";
    finding.members = context.members(&clash.combinations);
    finding.witness = shown(context, run, clash);
    finding
}

/// The first run that keeps all but one of them, and that a check says so of.
fn shown(context: &ReviewContext<'_>, run: &mut SymbolicRun, clash: &Clash) -> Option<Witness> {
    run.put(context.standard, &clash.situation);
    clash.without.iter().find_map(|(left_out, point)| {
        let text = witness::plan(
            context.store,
            context.standard,
            run,
            &clash.situation,
            point,
        );
        let others = clash.core.iter().filter(|id| *id != left_out);
        let judge = witness::Keeps {
            standard: context.standard,
            kept: others.map(|id| context.place(*id)).collect(),
            broken: vec![context.place(*left_out)],
        };
        let (plan, counts) = constraint::Witness::checked(&judge, text)?.into_parts();
        let left_out = context.rule_name(*left_out);
        Some(Witness {
            words: format!("keeps the others, and breaks `{left_out}`"),
            plan,
            counts,
        })
    })
}

/// Rules that never apply, limits that never bind, requirements that others imply.
pub(super) fn fates(
    context: &ReviewContext<'_>,
    run: &SymbolicRun,
    study: &Study,
) -> Vec<ReviewFinding> {
    let standard = context.standard;
    let mut found = Vec::new();
    let mut told: BTreeSet<usize> = BTreeSet::new();
    for (id, fate) in &study.fates {
        let clause = context.clause(*id);
        let rule = &standard.rules[clause.rule];
        if !fate.applies {
            if fate.applies_unknown || !told.insert(clause.rule) {
                continue;
            }
            let dead = !fate.applies_free;
            let (code, next) = if dead {
                (Code::DeadRule, "put the `when` right, or take the rule out")
            } else {
                (
                    Code::RuleUnused,
                    "nothing to do where it came with a spec; else look for the word that is not meant",
                )
            };
            let headline = if dead {
                format!("`{}` can never apply", rule.name)
            } else {
                format!("`{}` applies to no record of this standard", rule.name)
            };
            let mut spans = fate.dead.iter().map(|index| rule.when[*index].span);
            let first = spans.next().unwrap_or(rule.span);
            let here = if fate.dead.len() > 1 {
                "this, and"
            } else if dead {
                "this is never true"
            } else {
                "nothing has this"
            };
            let mut said = Diagnostic::new(code, first, headline, here);
            for span in spans {
                said = said.related(span, "this are never true together");
            }
            found.push(finding(said.help(next), Evidence::Proved));
            continue;
        }
        if fate.applies_unknown && clause.asked.len() > 1 || clause.required.is_empty() {
            continue;
        }
        let requirement = context.requirement(*id);
        if !fate.may_break {
            let mut said = Diagnostic::new(
                Code::NeverBinds,
                requirement.span,
                format!("this limit of `{}` can never bind", rule.name),
                "never breaks",
            );
            for setting in &clause.required {
                let Some(possible) = &standard.field(setting.0, setting.1).possible else {
                    continue;
                };
                let domain = run.settings.iter().find(|of| of.setting == *setting);
                if let Some(var) = domain {
                    let unit = unit_of(standard, *setting);
                    let words = words::set(standard, *setting, &var.domain, &unit);
                    let name = words::setting(standard, *setting);
                    said = said.related(possible.span, format!("`{name}` can be {words}"));
                }
            }
            let next = "tighten it, or take it out; often a unit is not the one that was meant";
            found.push(finding(said.help(next), Evidence::Proved));
            continue;
        }
        let by_order = fate
            .kept_by
            .iter()
            .any(|other| context.clause(*other).by_order);
        if fate.may_break_alone || fate.kept_by.is_empty() || by_order {
            continue;
        }
        let others = context.own_first(&fate.kept_by);
        let names: BTreeSet<&str> = others
            .iter()
            .map(|other| context.rule_name(*other))
            .collect();
        let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
        let mut said = Diagnostic::new(
            Code::Implied,
            requirement.span,
            format!(
                "{} already {} this requirement of `{}`",
                words::list(&names),
                if names.len() == 1 { "implies" } else { "imply" },
                rule.name
            ),
            "kept whenever the other is",
        );
        for other in others {
            said = said.related(
                context.requirement(other).span,
                format!("`{}`", context.rule_name(other)),
            );
        }
        let next = "nothing to do where it came with a spec; of two rules of your own one can go";
        found.push(finding(said.help(next), Evidence::Proved));
    }
    found
}
