//! The requirements of a standard, grouped by the settings they have in common.

use std::collections::{BTreeMap, BTreeSet};

use super::symbolic_run::{Setting, Situation};
use crate::types::{
    FieldId, KindId, Path, PlaceInRun, Read, RecordId, Root, RuleForm, Standard, Type, Verb,
};

/// One requirement.
#[derive(Debug, Clone)]
pub(super) struct Clause {
    /// Index of the rule.
    pub(super) rule: usize,
    /// Index of the requirement in it.
    pub(super) requirement: usize,
    /// Whether it is a `shall`.
    pub(super) shall: bool,
    /// The settings of the run that it reads, in `when` or after it.
    pub(super) settings: BTreeSet<Setting>,
    /// Those of them that the requirement itself reads.
    pub(super) required: BTreeSet<Setting>,
    /// Those that it asks to be stated or not.
    pub(super) asked: BTreeSet<Setting>,
    /// Kinds whose records bear on it.
    pub(super) kinds: BTreeSet<KindId>,
    /// Those of them whose records it reads itself, not by way of what other requirements read.
    pub(super) own_kinds: BTreeSet<KindId>,
    /// Whether the order of the sequence bears on whether it applies.
    pub(super) by_order: bool,
}

/// Requirements that have settings in common.
#[derive(Debug, Clone, Default)]
pub(super) struct Group {
    /// Indexes into the list of clauses.
    pub(super) clauses: Vec<usize>,
    /// Kinds whose records bear on it.
    pub(super) kinds: BTreeSet<KindId>,
    /// Settings that it asks to be stated or not.
    pub(super) asked: BTreeSet<Setting>,
}

/// The clauses and the settings that are free.
#[derive(Debug, Clone, Default)]
pub(super) struct Clauses {
    /// All requirements, in the order of the standard.
    pub(super) list: Vec<Clause>,
    /// The settings of runs that rules read, and those they are worked out from where both are read.
    pub(super) free: BTreeSet<Setting>,
    /// Worked-out settings that are read beside what they are worked out from.
    pub(super) linked: BTreeMap<Setting, BTreeSet<Setting>>,
}

impl Clauses {
    /// Of a standard.
    pub(super) fn of(standard: &Standard) -> Self {
        let bearing = Bearing::of(standard);
        let mut clauses = Self::default();
        for (rule, of) in standard.rules.iter().enumerate() {
            if of.form != RuleForm::Rule {
                continue;
            }
            for (requirement, wanted) in of.requirements.iter().enumerate() {
                let mut clause = Clause {
                    rule,
                    requirement,
                    shall: wanted.verb == Verb::Shall,
                    settings: BTreeSet::new(),
                    required: BTreeSet::new(),
                    asked: BTreeSet::new(),
                    kinds: BTreeSet::new(),
                    own_kinds: BTreeSet::new(),
                    by_order: false,
                };
                for when in &of.when {
                    when.reads(&mut |read| {
                        clause.read(standard, &bearing, read, true);
                    });
                }
                for condition in of.permissions.iter().chain([&wanted.condition]) {
                    condition.reads(&mut |read| {
                        clause.read(standard, &bearing, read, false);
                    });
                }
                clauses.free.extend(&clause.settings);
                clause.own_kinds.clone_from(&clause.kinds);
                clauses.list.push(clause);
            }
        }
        clauses.link(standard);
        for clause in &mut clauses.list {
            for setting in clause.settings.clone() {
                for input in clauses.linked.get(&setting).into_iter().flatten() {
                    clause.kinds.extend(bearing.kind(*input));
                }
            }
        }
        clauses
    }

    /// Finds worked-out settings that are read beside what they are worked out from.
    fn link(&mut self, standard: &Standard) {
        let read = self.free.clone();
        for setting in &read {
            if standard.field(setting.0, setting.1).formula.is_none() {
                continue;
            }
            let Some(inputs) = inputs(standard, *setting) else {
                continue;
            };
            let of_run = |setting: &Setting| standard.kind(setting.0).place != PlaceInRun::Record;
            if inputs.iter().any(|input| read.contains(input)) {
                let inputs: BTreeSet<Setting> = inputs.into_iter().filter(of_run).collect();
                self.free.extend(&inputs);
                self.linked.insert(*setting, inputs);
            }
        }
    }

    /// Some requirements in groups: those with a setting in common, directly or by way of a formula.
    pub(super) fn groups(&self, ids: impl IntoIterator<Item = usize>) -> Vec<Group> {
        let mut of: BTreeMap<Setting, usize> = BTreeMap::new();
        let mut groups: Vec<Option<(Group, BTreeSet<Setting>)>> = Vec::new();
        for index in ids {
            let clause = &self.list[index];
            let mut settings = clause.settings.clone();
            for setting in &clause.settings {
                settings.extend(self.linked.get(setting).into_iter().flatten());
            }
            let mut joined = Group {
                clauses: vec![index],
                kinds: clause.kinds.clone(),
                asked: clause.asked.clone(),
            };
            let others: BTreeSet<usize> = settings
                .iter()
                .filter_map(|setting| of.get(setting).copied())
                .collect();
            for other in others {
                if let Some((group, known)) = groups[other].take() {
                    joined.clauses.extend(group.clauses);
                    joined.kinds.extend(group.kinds);
                    joined.asked.extend(group.asked);
                    settings.extend(known);
                }
            }
            for setting in &settings {
                of.insert(*setting, groups.len());
            }
            joined.clauses.sort_unstable();
            groups.push(Some((joined, settings)));
        }
        groups
            .into_iter()
            .flatten()
            .map(|(group, _)| group)
            .collect()
    }
}

impl Clause {
    fn read(&mut self, standard: &Standard, bearing: &Bearing, read: Read<'_>, when: bool) {
        let Some(path) = read.path() else { return };
        self.by_order |= when && (path.goes_by_order() || matches!(read, Read::Step(_)));
        self.kinds.extend(bearing.path(path));
        let Some(setting) = path.setting() else {
            return;
        };
        let field = standard.field(setting.0, setting.1);
        let free = matches!(field.ty, Type::Quantity(_) | Type::Choice(_) | Type::YesNo);
        if !free || standard.kind(setting.0).place == PlaceInRun::Record {
            return;
        }
        self.settings.insert(setting);
        if matches!(read, Read::Stated(_)) {
            self.asked.insert(setting);
        } else if !when {
            self.required.insert(setting);
        }
    }
}

/// Which kinds have records that state what is read.
struct Bearing {
    stated: BTreeSet<Setting>,
    named: BTreeSet<KindId>,
    /// The kind of record that a setting names.
    refers: BTreeMap<Setting, KindId>,
}

impl Bearing {
    fn of(standard: &Standard) -> Self {
        let mut bearing = Self {
            stated: BTreeSet::new(),
            named: BTreeSet::new(),
            refers: BTreeMap::new(),
        };
        for (index, kind) in standard.kinds.iter().enumerate() {
            let id = KindId::at(index);
            for (number, field) in kind.fields.iter().enumerate() {
                if let Type::Reference(to) = field.ty
                    && standard.kind(to).place == PlaceInRun::Record
                {
                    let field = FieldId::at(number);
                    bearing.refers.insert((id, field), to);
                }
            }
        }
        for record in &standard.records {
            let kind = standard.kind(record.kind);
            // A thing of which a run has many takes a record for its presets; a plan may state all of them itself.
            if !matches!(kind.place, PlaceInRun::One | PlaceInRun::Record) {
                continue;
            }
            bearing.named.insert(record.kind);
            for (number, stated) in record.values.iter().enumerate() {
                if stated.is_some() {
                    let field = FieldId::at(number);
                    bearing.stated.insert((record.kind, field));
                }
            }
            for whole in &kind.parts {
                let fields = whole.fields.iter().map(|field| (record.kind, *field));
                bearing.stated.extend(fields);
            }
        }
        bearing
    }

    fn kind(&self, setting: Setting) -> Option<KindId> {
        self.stated.contains(&setting).then_some(setting.0)
    }

    fn path(&self, path: &Path) -> Vec<KindId> {
        let mut kinds: Vec<KindId> = path
            .settings()
            .filter_map(|setting| self.kind(setting))
            .collect();
        if let Root::Single(kind) = path.root
            && path.hops.is_empty()
            && self.named.contains(&kind)
        {
            kinds.push(kind);
        }
        // Which record it is bears on it as well: `screen.ink is soft-white`.
        let named = path.setting().and_then(|setting| self.refers.get(&setting));
        kinds.extend(named.filter(|kind| self.named.contains(kind)));
        kinds
    }
}

/// All situations of a group: every choice of records, with nothing of what is asked for stated,
/// with each of it stated by itself, and with all of it. `None` when there are too many.
pub(super) fn situations(
    standard: &Standard,
    kinds: &BTreeSet<KindId>,
    asked: &BTreeSet<Setting>,
    own: &dyn Fn(RecordId) -> bool,
    most: usize,
) -> Option<Vec<Situation>> {
    let mut found = vec![Situation {
        absent: asked.clone(),
        ..Situation::default()
    }];
    for kind in kinds {
        let records = (0..standard.records.len())
            .map(RecordId::at)
            .filter(|id| standard.record(*id).kind == *kind);
        let mut options: Vec<Option<RecordId>> = records.map(Some).collect();
        // What is met first is shown: the shop's own records come first.
        options.sort_by_key(|option| !option.is_some_and(own));
        if standard.kind(*kind).place == PlaceInRun::One {
            options.push(None);
        }
        if found.len().saturating_mul(options.len()) > most {
            return None;
        }
        found = found
            .iter()
            .flat_map(|known| {
                options.iter().map(|option| {
                    let mut known = known.clone();
                    known.records.insert(*kind, *option);
                    known
                })
            })
            .collect();
    }
    let stated = |base: &Situation, setting: &Setting| {
        let mut with = base.clone();
        with.absent.remove(setting);
        with
    };
    let with: Vec<Situation> = asked
        .iter()
        .flat_map(|setting| found.iter().map(move |base| stated(base, setting)))
        .collect();
    let every: Vec<Situation> = if asked.len() > 1 {
        let all = |base: &Situation| Situation {
            absent: BTreeSet::new(),
            ..base.clone()
        };
        found.iter().map(all).collect()
    } else {
        Vec::new()
    };
    if found.len() + with.len() + every.len() > most {
        return None;
    }
    found.extend(with);
    found.extend(every);
    Some(found)
}

impl Situation {
    /// Whether every kind that has records is one of them.
    pub(super) fn is_named(&self) -> bool {
        self.records.values().all(Option::is_some)
    }
}

/// The plain settings that a worked-out one rests on in the end; `None` where a figure of the
/// physics table, a neighbour in the sequence or a function over a kind stands in between.
fn inputs(standard: &Standard, of: Setting) -> Option<BTreeSet<Setting>> {
    let mut found = BTreeSet::new();
    let mut left = vec![of];
    let mut seen = BTreeSet::new();
    while let Some(setting) = left.pop() {
        if !seen.insert(setting) {
            continue;
        }
        let field = standard.field(setting.0, setting.1);
        let Some(formula) = &field.formula else {
            found.insert(setting);
            continue;
        };
        let mut plain = true;
        formula.reads(&mut |read| match read {
            Read::Value(path) if !path.goes_by_order() && !matches!(path.root, Root::Member(_)) => {
                left.extend(path.setting());
            }
            _ => plain = false,
        });
        if !plain {
            return None;
        }
    }
    Some(found)
}
