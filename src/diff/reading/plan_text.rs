//! The text of a plan, clause by clause, in the words of one edition.

use std::fmt::Write as _;

/// A block or a step, with what it states.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) struct Block {
    /// `dryer is tunnel-a`, `screen one`; the word of a step.
    pub(in crate::diff) header: String,
    /// Settings and values; a setting of a step without a name goes by its place.
    pub(in crate::diff) clauses: Vec<(String, String)>,
}

impl Block {
    pub(in crate::diff) fn new(header: impl Into<String>) -> Self {
        Self {
            header: header.into(),
            clauses: Vec::new(),
        }
    }

    pub(in crate::diff) fn stating(mut self, name: &str, value: impl Into<String>) -> Self {
        self.clauses.push((name.to_owned(), value.into()));
        self
    }
}

/// A plan as text.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(in crate::diff) struct PlanText {
    /// Its blocks.
    pub(in crate::diff) blocks: Vec<Block>,
    /// Its steps, in order.
    pub(in crate::diff) steps: Vec<Block>,
}

impl PlanText {
    /// The text, against a standard of this name.
    pub(in crate::diff) fn text(&self, against: &str) -> String {
        let mut text = format!("run \"witness\" against \"{against}\"\n");
        for block in &self.blocks {
            let _ = write!(text, "\n{}", block.header);
            if block.clauses.is_empty() {
                text.push('\n');
                continue;
            }
            let widest = block.clauses.iter().map(|(name, _)| name.len()).max();
            let widest = widest.unwrap_or(0);
            text.push_str(" {\n");
            for (name, value) in &block.clauses {
                let _ = writeln!(text, "  {name:widest$}  {value}");
            }
            text.push_str("}\n");
        }
        if !self.steps.is_empty() {
            text.push_str("\nsequence {\n");
            for step in &self.steps {
                let stated: Vec<String> = step
                    .clauses
                    .iter()
                    .map(|(name, value)| format!("{name} {value}").trim_start().to_owned())
                    .collect();
                let line = format!("  {} {}", step.header, stated.join(", "));
                let _ = writeln!(text, "{}", line.trim_end());
            }
            text.push_str("}\n");
        }
        text
    }
}
