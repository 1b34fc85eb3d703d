//! What is missing: combinations without a limit, kinds without rules, settings that no rule reads.

use std::collections::BTreeSet;

use super::context::ReviewContext;
use super::study::Study;
use super::symbolic_run::Setting;
use super::{finding, tables, words};
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding};
use crate::source::visible;
use crate::types::{FieldId, KindId, PlaceInRun, Read, RecordId, RuleForm, Standard, Type};

/// Combinations of records for which a setting has no limit that it has for others, and what records lack.
pub(super) fn limits(
    context: &ReviewContext<'_>,
    written: &Standard,
    study: &Study,
) -> Vec<ReviewFinding> {
    let standard = context.standard;
    let mut found = Vec::new();
    for (setting, (with, without)) in &study.limited {
        let parent = |record: &RecordId| is_parent(standard, *record);
        let missing: BTreeSet<Vec<RecordId>> = without
            .iter()
            .filter(|records| !with.contains(*records) && !records.iter().any(parent))
            .filter(|records| !tables::leaves_empty(written, *setting, records))
            .cloned()
            .collect();
        if missing.is_empty() || with.is_empty() {
            continue;
        }
        let name = words::setting(standard, *setting);
        let field = standard.field(setting.0, setting.1);
        let headline = match context.first(&missing) {
            Some(records) if missing.len() == 1 => format!(
                "no rule limits `{name}` for {}",
                words::combination_in_full(standard, records)
            ),
            Some(records) => format!(
                "no rule limits `{name}` for {} combinations, {} among them",
                missing.len(),
                words::combination_in_full(standard, records)
            ),
            None => continue,
        };
        let mut said = Diagnostic::new(Code::NoLimit, field.span, headline, "the setting");
        let limits = context.limits_on(*setting);
        for id in limits.iter().take(2) {
            said = said.related(
                context.requirement(*id).span,
                format!("`{}` limits it for others", context.rule_name(*id)),
            );
        }
        let next = "decide whether the room wants a limit there; an empty place may be meant";
        let mut finding = finding(said.help(next), Evidence::Proved);
        finding.noun = "combination";
        finding.members = context.members(&missing);
        found.push(finding);
    }
    for ((setting, id), records) in &study.lacking {
        let records: BTreeSet<RecordId> = records
            .iter()
            .copied()
            .filter(|record| !is_parent(standard, *record))
            .collect();
        let Some(first) = context.own_records_first(&records).first().copied() else {
            continue;
        };
        let kind = &standard.kind(setting.0).name;
        let name = &standard.field(setting.0, setting.1).name;
        let of = standard.record(first);
        let more = match records.len() {
            1 => String::new(),
            many => format!(", and {} more lack it", many - 1),
        };
        let headline = format!(
            "{kind} `{}` states no `{name}`, which `{}` needs{more}",
            visible(&of.name),
            context.rule_name(*id)
        );
        let place = of.header.unwrap_or(context.requirement(*id).span);
        let said = Diagnostic::new(Code::RecordLacks, place, headline, "does not state it")
            .related(context.requirement(*id).span, "needed here")
            .help(format!(
                "state `{name}` in the record, or let the rule ask first whether it is stated"
            ));
        let mut finding = finding(said, Evidence::Proved);
        finding.noun = "record";
        finding.members = context
            .own_records_first(&records)
            .into_iter()
            .map(|record| visible(&standard.record(record).name).into_owned())
            .collect();
        found.push(finding);
    }
    found
}

/// Whether others take their values from a record: a family, not a thing by itself.
fn is_parent(standard: &Standard, record: RecordId) -> bool {
    standard.records.iter().any(|of| of.parent == Some(record))
}

/// What rules read in the end: by themselves, by way of formulas and of references.
fn read_by(
    standard: &Standard,
    form: fn(&RuleForm) -> bool,
) -> (BTreeSet<Setting>, BTreeSet<KindId>) {
    let mut found: BTreeSet<Setting> = BTreeSet::new();
    let mut kinds: BTreeSet<KindId> = BTreeSet::new();
    let mut left: Vec<Setting> = Vec::new();
    let mut note = |read: Read<'_>, left: &mut Vec<Setting>| {
        if let Some(path) = read.path() {
            left.extend(path.settings());
            if let crate::types::Root::Single(kind)
            | crate::types::Root::Each(kind)
            | crate::types::Root::Member(kind) = path.root
            {
                kinds.insert(kind);
            }
        }
    };
    for rule in standard.rules.iter().filter(|rule| form(&rule.form)) {
        let requirements = rule.requirements.iter().map(|of| &of.condition);
        for condition in rule
            .when
            .iter()
            .chain(&rule.permissions)
            .chain(requirements)
        {
            condition.reads(&mut |read| note(read, &mut left));
        }
    }
    while let Some(setting) = left.pop() {
        if !found.insert(setting) {
            continue;
        }
        let field = standard.field(setting.0, setting.1);
        if let Some(formula) = &field.formula {
            formula.reads(&mut |read| note(read, &mut left));
        }
        if let Some(path) = &field.reference {
            left.extend(path.settings());
        }
        // Shares of one whole are read together: each says what is left for the others.
        for whole in &standard.kind(setting.0).parts {
            if whole.fields.contains(&setting.1) {
                left.extend(whole.fields.iter().map(|field| (setting.0, *field)));
            }
        }
    }
    kinds.extend(found.iter().map(|(kind, _)| *kind));
    (found, kinds)
}

/// Kinds and settings that no rule reads.
pub(super) fn unread(context: &ReviewContext<'_>) -> Vec<ReviewFinding> {
    let standard = context.standard;
    let (by_rules, kinds) = read_by(standard, |form| *form == RuleForm::Rule);
    let (by_all, _) = read_by(standard, |_| true);
    let rules = standard
        .rules
        .iter()
        .filter(|rule| rule.form == RuleForm::Rule);
    let each: BTreeSet<KindId> = rules.filter_map(|rule| rule.each).collect();
    let mut found = Vec::new();
    let mut shipped: Vec<(Setting, String)> = Vec::new();
    for (index, kind) in standard.kinds.iter().enumerate() {
        let id = KindId(u32::try_from(index).unwrap_or(u32::MAX));
        let own = |field: usize| (id, FieldId(u32::try_from(field).unwrap_or(u32::MAX)));
        if !kinds.contains(&id) && !each.contains(&id) {
            // What only other programs of the review read is no part of a run.
            if kind.place == PlaceInRun::Record && words::ships(context.store, kind.span) {
                continue;
            }
            found.push(finding(
                Diagnostic::new(
                    Code::KindWithoutRules,
                    kind.span,
                    format!("no rule speaks of any `{}`", kind.name),
                    "nothing is checked of it",
                )
                .help("write a rule on it, or leave it for the reader"),
                Evidence::Proved,
            ));
            continue;
        }
        for (number, field) in kind.fields.iter().enumerate() {
            let setting = own(number);
            if by_rules.contains(&setting) || by_all.contains(&setting) || field.ty == Type::Text {
                continue;
            }
            let name = words::setting(standard, setting);
            if words::ships(context.store, field.span) {
                shipped.push((setting, name));
                continue;
            }
            found.push(finding(
                Diagnostic::new(
                    Code::SettingUnread,
                    field.span,
                    format!("no rule reads `{name}`"),
                    "only for the reader",
                )
                .help("write a rule that reads it, or leave it for the reader"),
                Evidence::Proved,
            ));
        }
    }
    if let Some(((kind, field), name)) = shipped.first() {
        let more = match shipped.len() {
            1 => String::new(),
            many => format!(" nor {} other settings of the specs", many - 1),
        };
        let mut all = finding(
            Diagnostic::new(
                Code::SettingUnread,
                standard.field(*kind, *field).span,
                format!("no rule reads `{name}`{more}"),
                "only for the reader",
            )
            .help("nothing to do, unless the room wants a limit on one of them"),
            Evidence::Proved,
        );
        all.noun = "setting";
        all.members = shipped.into_iter().map(|(_, name)| name).collect();
        found.push(all);
    }
    found
}
