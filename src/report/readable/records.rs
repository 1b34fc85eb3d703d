//! The records of a standard: a heading and a table each, or a line each where they state little.

use super::page::{Writer, others};
use crate::diagnostic::{
    Ground, Group, Outline, RecordOutline, Rests, RuleOutline, ValueOutline, Wording,
};
use crate::report::document::{Block, Inline, code, text};

/// Most settings that records shown in one table, a line each, may have.
const SHORT: usize = 5;

/// The settings of a group whose records fit on a line each; `None` for one whose records do not.
pub(super) fn short(group: &Group) -> Option<Vec<&str>> {
    let mut settings: Vec<&str> = Vec::new();
    for value in group.records.iter().flat_map(|record| &record.values) {
        if !settings.contains(&value.setting.as_str()) {
            settings.push(&value.setting);
        }
    }
    (!group.decides && settings.len() <= SHORT).then_some(settings)
}

impl Writer<'_> {
    pub(super) fn group(&mut self, title: &str, group: &Group, outline: &Outline) {
        self.heading(2, format!("by-{}", group.kind), title);
        for record in &group.records {
            self.record(group, record, outline);
        }
    }

    fn record(&mut self, group: &Group, record: &RecordOutline, outline: &Outline) {
        self.blocks.push(Block::Together);
        let mut head = vec![code(&*record.name)];
        if let Some(title) = &record.title {
            head.push(text(format!(" {title}")));
        }
        self.blocks.push(Block::Heading {
            level: 3,
            anchor: anchor(&group.kind, &record.name),
            text: head,
        });
        let mut line = Vec::new();
        if let Some(parent) = &record.parent {
            line.push(text("is "));
            line.push(self.link(&group.kind, parent));
        }
        if let Some(span) = record.span {
            let words = if line.is_empty() {
                "stated at "
            } else {
                "; stated at "
            };
            line.push(text(words));
            line.push(code(self.place(span)));
        }
        if !line.is_empty() {
            self.paragraph(line);
        }
        let rules: Vec<&RuleOutline> = record
            .rules
            .iter()
            .filter_map(|number| outline.rules.get(*number))
            .collect();
        if !rules.is_empty() {
            let mut line = vec![text("Brings in ")];
            for (index, rule) in rules.iter().enumerate() {
                if index > 0 {
                    line.push(text(", "));
                }
                line.push(Inline::Link {
                    anchor: format!("rule-{}", rule.name),
                    name: rule.name.clone(),
                });
            }
            self.paragraph(line);
        }
        let (own, inherited): (Vec<_>, Vec<_>) =
            record.values.iter().partition(|value| value.from.is_none());
        if !own.is_empty() {
            self.blocks.push(Block::Table {
                columns: ["setting", "as written", "in other units", "rests on"]
                    .map(str::to_owned)
                    .to_vec(),
                rows: own.into_iter().map(of_value).collect(),
            });
        }
        // What comes from another record stands there with its source; here it is only repeated.
        let mut parents: Vec<&str> = Vec::new();
        for from in inherited.iter().filter_map(|value| value.from.as_deref()) {
            if !parents.contains(&from) {
                parents.push(from);
            }
        }
        for parent in parents {
            let mut line = vec![text("as "), self.link(&group.kind, parent), text(": ")];
            let same = |value: &&&ValueOutline| value.from.as_deref() == Some(parent);
            for (index, value) in inherited.iter().filter(same).enumerate() {
                if index > 0 {
                    line.push(text(", "));
                }
                line.push(code(&*value.setting));
                line.push(text(format!(" {}", in_words(&value.value))));
            }
            self.paragraph(line);
        }
    }

    /// Records of few settings, a line each.
    pub(super) fn in_one_table(&mut self, title: &str, group: &Group, settings: &[&str]) {
        self.heading(2, format!("by-{}", group.kind), title);
        let mut columns = vec![group.kind.clone()];
        columns.extend(settings.iter().map(|setting| (*setting).to_owned()));
        columns.push("rests on".to_owned());
        let rows = group.records.iter().map(|record| {
            let mut name = vec![code(&*record.name)];
            if let Some(title) = &record.title {
                name.push(text(format!(" {title}")));
            }
            let mut row = vec![name];
            let mut grounds: Vec<String> = Vec::new();
            for setting in settings {
                let value = record.values.iter().find(|value| value.setting == *setting);
                row.push(vec![text(
                    value.map_or_else(String::new, |value| in_words(&value.value)),
                )]);
                let ground = value
                    .map(|value| rests_words(&value.rests))
                    .unwrap_or_default();
                if !ground.is_empty() && !grounds.contains(&ground) {
                    grounds.push(ground);
                }
            }
            row.push(vec![text(grounds.join("; "))]);
            row
        });
        let rows = rows.collect();
        self.blocks.push(Block::Table { columns, rows });
    }
}

/// Where a record stands on the page; no name holds a dot, so this is unique.
pub(super) fn anchor(kind: &str, record: &str) -> String {
    format!("{kind}.{record}")
}

/// A value as written, the other system's behind it.
fn in_words(wording: &Wording) -> String {
    let others: Vec<&str> = others(wording)
        .into_iter()
        .map(|(_, words)| words)
        .collect();
    if others.is_empty() {
        wording.written.clone()
    } else {
        format!("{} ({})", wording.written, others.join("; "))
    }
}

/// What a value rests on; empty where nothing is stated, as a fact needs no source.
fn rests_words(rests: &Rests) -> String {
    let words = match &rests.on {
        Ground::Source(name) => name.as_str(),
        Ground::Practice => "common practice",
        Ground::Nothing => return String::new(),
    };
    match &rests.reviewed {
        Some(day) => format!("{words}; reviewed {day}"),
        None => words.to_owned(),
    }
}

fn of_value(value: &ValueOutline) -> Vec<Vec<Inline>> {
    let mut other = Vec::new();
    for (_, words) in others(&value.value) {
        if !other.is_empty() {
            other.push(text("; "));
        }
        other.push(text(words));
    }
    let mut rests = rests_words(&value.rests);
    if let Some(reason) = &value.loosened {
        if !rests.is_empty() {
            rests.push_str("; ");
        }
        rests.push_str(&format!("loosened because {reason}"));
    }
    vec![
        vec![code(&*value.setting)],
        vec![Inline::Strong(value.value.written.clone())],
        other,
        vec![text(rests)],
    ]
}
