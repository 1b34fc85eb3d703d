//! The text of a plan, clause by clause, in the words of one edition.

use std::fmt::Write as _;

/// The name of the run where none is wanted.
const RUN: &str = "witness";

/// A setting and what is stated for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) struct Clause {
    /// The setting.
    pub(in crate::diff) name: String,
    /// Its value.
    pub(in crate::diff) value: String,
    /// Whether the name is left out, as a step may do: the value goes by its place then.
    pub(in crate::diff) placed: bool,
}

/// A block or a step, with what it states.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) struct Block {
    /// The word of its kind, or of the step.
    pub(in crate::diff) kind: String,
    /// Its name, where a run has many.
    pub(in crate::diff) name: String,
    /// The record it is.
    pub(in crate::diff) record: Option<String>,
    /// What it states.
    pub(in crate::diff) clauses: Vec<Clause>,
}

impl Block {
    pub(in crate::diff) fn new(kind: &str, name: &str) -> Self {
        Self {
            kind: kind.to_owned(),
            name: name.to_owned(),
            record: None,
            clauses: Vec::new(),
        }
    }

    /// What is stated for a setting.
    pub(in crate::diff) fn get(&self, setting: &str) -> Option<&str> {
        let clause = self.clauses.iter().find(|clause| clause.name == setting);
        clause.map(|clause| clause.value.as_str())
    }

    /// States a setting, in the place of what was stated for it.
    pub(in crate::diff) fn state(&mut self, setting: &str, value: &str) {
        let there = self.clauses.iter_mut().find(|of| of.name == setting);
        if let Some(clause) = there {
            value.clone_into(&mut clause.value);
            return;
        }
        self.clauses.push(Clause {
            name: setting.to_owned(),
            value: value.to_owned(),
            placed: false,
        });
    }
}

/// A plan as text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) struct PlanText {
    /// The name of the run.
    pub(in crate::diff) run: String,
    /// Its blocks.
    pub(in crate::diff) blocks: Vec<Block>,
    /// Its steps, in order.
    pub(in crate::diff) steps: Vec<Block>,
}

impl Default for PlanText {
    fn default() -> Self {
        Self {
            run: RUN.to_owned(),
            blocks: Vec::new(),
            steps: Vec::new(),
        }
    }
}

impl PlanText {
    /// How much it says.
    pub(in crate::diff) fn size(&self) -> usize {
        let all = self.blocks.iter().chain(&self.steps);
        let clauses: usize = all.map(|block| block.clauses.len() + 1).sum();
        clauses + self.blocks.iter().filter(|of| of.record.is_some()).count()
    }

    /// The text, against a standard of this name.
    pub(in crate::diff) fn text(&self, against: &str) -> String {
        let mut text = format!("run {:?} against \"{against}\"\n", self.run);
        for block in &self.blocks {
            let _ = write!(text, "\n{}", block.kind);
            if !block.name.is_empty() {
                let _ = write!(text, " {}", block.name);
            }
            if let Some(record) = &block.record {
                let _ = write!(text, " is {record}");
            }
            if block.clauses.is_empty() {
                text.push('\n');
                continue;
            }
            let widest = block.clauses.iter().map(|clause| clause.name.len()).max();
            let widest = widest.unwrap_or(0);
            text.push_str(" {\n");
            for clause in &block.clauses {
                let _ = writeln!(text, "  {:widest$}  {}", clause.name, clause.value);
            }
            text.push_str("}\n");
        }
        if !self.steps.is_empty() {
            text.push_str("\nsequence {\n");
            for step in &self.steps {
                let stated: Vec<String> = step
                    .clauses
                    .iter()
                    .map(|clause| match clause.placed {
                        true => clause.value.clone(),
                        false => format!("{} {}", clause.name, clause.value),
                    })
                    .collect();
                let line = format!("  {} {}", step.kind, stated.join(", "));
                let _ = writeln!(text, "{}", line.trim_end());
            }
            text.push_str("}\n");
        }
        text
    }
}
