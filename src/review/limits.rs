//! What the requirements of a group come to together, as findings.

use std::collections::{BTreeMap, BTreeSet};

use super::cast::{Cast, Setting, unit_of};
use super::clauses::{Clause, Clauses};
use super::study::{Clash, ClauseId, Combinations, Explained, Study};
use super::{finding, witness, words};
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding, Severity, Witness};
use crate::source::{Span, Store};
use crate::types::{KindId, RecordId, Requirement, Standard};

/// What findings are made from.
pub(super) struct Desk<'d> {
    pub(super) store: &'d Store,
    pub(super) standard: &'d Standard,
    pub(super) clauses: &'d Clauses,
}

impl<'d> Desk<'d> {
    pub(super) fn clause(&self, id: ClauseId) -> &'d Clause {
        &self.clauses.list[id]
    }

    pub(super) fn requirement(&self, id: ClauseId) -> &'d Requirement {
        let clause = self.clause(id);
        &self.standard.rules[clause.rule].requirements[clause.requirement]
    }

    pub(super) fn rule_name(&self, id: ClauseId) -> &'d str {
        &self.standard.rules[self.clause(id).rule].name
    }

    fn place(&self, id: ClauseId) -> (usize, usize) {
        let clause = self.clause(id);
        (clause.rule, clause.requirement)
    }

    /// The clauses of the shop's own files first, then in the order of the standard.
    pub(super) fn own_first(&self, of: &BTreeSet<ClauseId>) -> Vec<ClauseId> {
        let mut list: Vec<ClauseId> = of.iter().copied().collect();
        list.sort_by_key(|id| (words::ships(self.store, self.requirement(*id).span), *id));
        list
    }

    /// How many of these records came with a spec.
    fn shipped(&self, records: &[RecordId]) -> usize {
        let ships = |record: &&RecordId| !own(self.store, self.standard, **record);
        records.iter().filter(ships).count()
    }

    /// The combination to show first: of the shop's own records, in the order declared.
    pub(super) fn first<'c>(
        &self,
        of: impl IntoIterator<Item = &'c Vec<RecordId>>,
    ) -> Option<&'c Vec<RecordId>> {
        of.into_iter().min_by_key(|records| self.shipped(records))
    }

    /// Records of the shop's own first, then in the order declared.
    pub(super) fn own_records_first(&self, of: &BTreeSet<RecordId>) -> Vec<RecordId> {
        let mut list: Vec<RecordId> = of.iter().copied().collect();
        list.sort_by_key(|record| (!own(self.store, self.standard, *record), *record));
        list
    }

    /// The requirements that limit a setting, the shop's own first.
    pub(super) fn limits_on(&self, setting: Setting) -> Vec<ClauseId> {
        let of = |id: &ClauseId| self.clause(*id).required.contains(&setting);
        self.own_first(&(0..self.clauses.list.len()).filter(of).collect())
    }

    /// Combinations in words, the shop's own first.
    pub(super) fn members(&self, of: &BTreeSet<Vec<RecordId>>) -> Vec<String> {
        let mut left: Vec<&Vec<RecordId>> = of.iter().collect();
        left.sort_by_key(|records| self.shipped(records));
        left.into_iter()
            .filter(|records| !records.is_empty())
            .map(|records| words::combination(self.standard, records))
            .collect()
    }
}

/// Whether a record is declared in a file of the shop's own.
pub(super) fn own(store: &Store, standard: &Standard, record: RecordId) -> bool {
    let header = standard.record(record).header;
    header.is_some_and(|span| !words::ships(store, span))
}

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
pub(super) fn clashes(desk: &Desk<'_>, cast: &mut Cast, study: &Study) -> Vec<ReviewFinding> {
    let mut found = Vec::new();
    let same = |one: &&Clash, other: &Clash| one.core == other.core;
    for clash in &study.clashes {
        let ranges = clash.core.iter().any(|id| {
            let requirement = desk.requirement(*id);
            !words::ranges(desk.standard, &clash.situation, requirement).is_empty()
        });
        let explained = study.explained.iter().find(|one| same(one, clash));
        let all = united(clash, explained);
        let (code, next) = if !ranges || leaves_no_way(desk.standard, &all) {
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
        found.push(clash_finding(desk, cast, clash, code, next));
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
        if plain.is_none() && leaves_no_way(desk.standard, &clash.combinations) {
            let next = "widen one of the limits, or take out what can never be used";
            found.push(clash_finding(desk, cast, &clash, Code::Contradiction, next));
            continue;
        }
        let next = "nothing to do; a plan hears of it before anything is set";
        let finding = clash_finding(desk, cast, &clash, Code::Explained, next);
        found.push(explained(desk, finding, &clash.explained));
    }
    // Two requirements of one rule get stuck on each other: that is told once.
    let mut told: Vec<&BTreeSet<ClauseId>> = Vec::new();
    for clash in study.stuck.values() {
        if told.contains(&&clash.core) {
            continue;
        }
        told.push(&clash.core);
        let next = "widen one of the limits, or take the rule out";
        found.push(clash_finding(desk, cast, clash, Code::Contradiction, next));
    }
    for clash in study
        .vain
        .iter()
        .filter(|clash| !clash.combinations.is_empty())
    {
        if clash.disputed {
            let next =
                "nothing to do; a run that lies inside the span is at risk, and says by whose word";
            let mut finding = clash_finding(desk, cast, clash, Code::Explained, next);
            let words =
                "it could be followed at the other end: the sources that the span is from disagree";
            finding.said = finding.said.note(words);
            found.push(finding);
            continue;
        }
        let next = "change the `should`, or narrow down when it applies";
        found.push(clash_finding(desk, cast, clash, Code::VainAdvice, next));
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
    desk: &Desk<'_>,
    mut finding: ReviewFinding,
    explained: &Explained,
) -> ReviewFinding {
    let ids = desk.own_first(&fewest(explained));
    let names: BTreeSet<&str> = ids.iter().map(|id| desk.rule_name(*id)).collect();
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    let say = if names.len() == 1 { "says" } else { "say" };
    let headline = format!(
        "{}; {} {say} so",
        finding.said.headline,
        words::list(&names)
    );
    let explains = |id: &ClauseId| format!("`{}` explains it", desk.rule_name(*id));
    let mut places = ids
        .iter()
        .map(|id| (desk.requirement(*id).span, explains(id)));
    let (first, here) = places
        .next()
        .unwrap_or_else(|| (Span::new(desk.standard.root, 0, 0), String::new()));
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
    desk: &Desk<'_>,
    cast: &mut Cast,
    clash: &Clash,
    code: Code,
    next: &str,
) -> ReviewFinding {
    let standard = desk.standard;
    let ids = desk.own_first(&clash.core);
    let rules: BTreeSet<&str> = ids.iter().map(|id| desk.rule_name(*id)).collect();
    let rules: Vec<String> = rules.iter().map(|name| format!("`{name}`")).collect();
    let records: Vec<RecordId> = clash
        .situation
        .records
        .values()
        .filter_map(|of| *of)
        .collect();
    let kinds: BTreeSet<KindId> = ids
        .iter()
        .flat_map(|id| desk.clause(*id).kinds.iter().copied())
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
        Some(id) => format!("no run to which `{}` applies", desk.rule_name(id)),
        None => who,
    };
    let more = match clash.combinations.len() {
        0 | 1 => String::new(),
        2 => ", nor with 1 other combination".to_owned(),
        many => format!(", nor with {} other combinations", many - 1),
    };
    // A recommendation is followed; what it clashes with is kept.
    let (advice, kept): (Vec<ClauseId>, Vec<ClauseId>) =
        ids.iter().partition(|id| !desk.clause(**id).shall);
    let named = |of: &[ClauseId]| {
        let names: BTreeSet<&str> = of.iter().map(|id| desk.rule_name(*id)).collect();
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
        Some((var, each)) => {
            let setting = cast.vars[*var].setting;
            let name = words::setting(standard, setting);
            each.iter()
                .map(|(id, set)| {
                    let unit = words::unit(standard, &clash.situation, desk.clause(*id), setting);
                    let set = set.beyond(&cast.vars[*var].domain);
                    let set = words::set(standard, setting, &set, &unit);
                    (
                        *id,
                        format!("`{}` leaves `{name}` {set}", desk.rule_name(*id)),
                    )
                })
                .collect()
        }
        None => BTreeMap::new(),
    };
    let label = |id: &ClauseId| {
        leaves.get(id).cloned().unwrap_or_else(|| match ids.len() {
            1 => "no value does".to_owned(),
            _ => format!("`{}`", desk.rule_name(*id)),
        })
    };
    let mut spans: Vec<(Span, String)> = ids
        .iter()
        .map(|id| (desk.requirement(*id).span, label(id)))
        .collect();
    for id in &ids {
        for (_, span) in words::ranges(standard, &clash.situation, desk.requirement(*id)) {
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
        .any(|id| words::reads_a_span(standard, &clash.situation, desk.requirement(*id)))
    {
        said = said.note("a value that a record states as a span counts at its worse end");
    }
    let mut finding = finding(said.help(next), Evidence::Proved);
    finding.noun = "combination";
    finding.members = desk.members(&clash.combinations);
    finding.witness = shown(desk, cast, clash);
    finding
}

/// The first run that keeps all but one of them, and that a check says so of.
fn shown(desk: &Desk<'_>, cast: &mut Cast, clash: &Clash) -> Option<Witness> {
    cast.put(desk.standard, &clash.situation);
    clash.without.iter().find_map(|(left_out, point)| {
        let text = witness::plan(desk.store, desk.standard, cast, &clash.situation, point);
        let others = clash.core.iter().filter(|id| *id != left_out);
        let kept: Vec<(usize, usize)> = others.map(|id| desk.place(*id)).collect();
        let words = format!(
            "keeps the others, and breaks `{}`",
            desk.rule_name(*left_out)
        );
        let broken = [desk.place(*left_out)];
        witness::witness(desk.standard, text, &kept, &broken, words)
    })
}

/// Rules that never apply, limits that never bind, requirements that others imply.
pub(super) fn fates(desk: &Desk<'_>, cast: &Cast, study: &Study) -> Vec<ReviewFinding> {
    let standard = desk.standard;
    let mut found = Vec::new();
    let mut told: BTreeSet<usize> = BTreeSet::new();
    for (id, fate) in &study.fates {
        let clause = desk.clause(*id);
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
        let requirement = desk.requirement(*id);
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
                let domain = cast.vars.iter().find(|var| var.setting == *setting);
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
            .any(|other| desk.clause(*other).by_order);
        if fate.may_break_alone || fate.kept_by.is_empty() || by_order {
            continue;
        }
        let others = desk.own_first(&fate.kept_by);
        let names: BTreeSet<&str> = others.iter().map(|other| desk.rule_name(*other)).collect();
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
                desk.requirement(other).span,
                format!("`{}`", desk.rule_name(other)),
            );
        }
        let next = "nothing to do where it came with a spec; of two rules of your own one can go";
        found.push(finding(said.help(next), Evidence::Proved));
    }
    found
}

/// What could not be decided.
pub(super) fn undecided(
    desk: &Desk<'_>,
    clauses: &[ClauseId],
    study: &Study,
) -> Option<ReviewFinding> {
    if study.undecided == 0 && !study.too_many {
        return None;
    }
    let first = desk.own_first(&clauses.iter().copied().collect());
    let first = first.first()?;
    let words = if study.too_many {
        "there are too many combinations of records to look at".to_owned()
    } else {
        format!(
            "{} questions on requirements that hang together could not be decided",
            study.undecided
        )
    };
    let mut finding = finding(
        Diagnostic::new(
            Code::NotDecided,
            desk.requirement(*first).span,
            words,
            "among them this",
        )
        .help("nothing to do; what is not named here was decided"),
        Evidence::NotDecided,
    );
    finding.noun = "rule";
    let names: BTreeSet<&str> = clauses.iter().map(|id| desk.rule_name(*id)).collect();
    finding.members = names.into_iter().map(str::to_owned).collect();
    debug_assert_eq!(finding.said.severity, Severity::Note);
    Some(finding)
}
