//! A comparison as a comment on a merge request: the summary first, the rest folded.
//!
//! What stands in a file is escaped or fenced, so that nothing in it becomes markup.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::io::{self, Write};

use super::diff_words::{
    combinations, counted, counts, edition_stayed, kinds, reached, read_otherwise, sections, shown,
    side, verdict,
};
use super::document::{markdown_code as coded, markdown_escape as escaped};
use super::plan_moves_markdown::{plans_details, plans_line};
use crate::diagnostic::{Answer, Change, ComparedStandard, Comparison, Effect, Share, Stands};
use crate::source::{Store, visible};

/// How many changes stand in the summary.
const MOST_IN_SUMMARY: usize = 12;

/// Writes a comparison as Markdown with folded details.
///
/// # Errors
/// Whatever `out` fails with.
pub fn diff_markdown(
    comparison: &Comparison,
    store: &Store,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut page = Page {
        store,
        comparison,
        text: String::new(),
        told: BTreeSet::new(),
    };
    page.write();
    out.write_all(page.text.as_bytes())
}

struct Page<'r> {
    store: &'r Store,
    comparison: &'r Comparison,
    text: String,
    told: BTreeSet<(usize, bool)>,
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

impl Page<'_> {
    fn write(&mut self) {
        let comparison = self.comparison;
        let _ = writeln!(
            self.text,
            "### {}: {}\n",
            escaped(&comparison.new.name),
            escaped(&verdict(comparison))
        );
        if !comparison.changes.is_empty() {
            let _ = writeln!(self.text, "{}\n", escaped(&capital(&counts(comparison))));
        }
        if let Some(words) = edition_stayed(comparison) {
            let _ = writeln!(self.text, "{}\n", escaped(&capital(&words)));
        }
        self.summary();
        if let Some(plans) = &comparison.plans {
            self.text.push_str(&plans_line(plans));
        }
        for section in sections(comparison) {
            if section.changes.is_empty() {
                continue;
            }
            let _ = writeln!(
                self.text,
                "<details>\n<summary>{} ({})</summary>\n",
                capital(section.title),
                section.changes.len()
            );
            for change in section.changes {
                self.change(change);
            }
            self.text.push_str("</details>\n\n");
        }
        if let Some(plans) = &comparison.plans {
            self.text.push_str(&plans_details(plans));
        }
        let _ = writeln!(
            self.text,
            "Old: {}. New: {}. {} compared; every run shown was checked against both.",
            self.called(&comparison.old),
            self.called(&comparison.new),
            counted(comparison.clauses, "clause")
        );
    }

    /// One line for each change that bears on outcomes, the worst first.
    fn summary(&mut self) {
        let mut lines = Vec::new();
        for section in sections(self.comparison) {
            if section.brief {
                continue;
            }
            for change in section.changes {
                let alarm = match &change.alarm {
                    Some(alarm) => format!(" **Likely a slip:** {}", escaped(alarm)),
                    None => String::new(),
                };
                let change_of = match (&change.old, &change.new, change.notes.first()) {
                    // The head of a block says less than what became of it.
                    (_, _, Some(note)) if !is_line(change) => format!(": {}", escaped(note)),
                    (Some(old), Some(new), _) if old.words != new.words => {
                        format!(": {} → {}", coded(&old.words), coded(&new.words))
                    }
                    _ => String::new(),
                };
                lines.push(format!(
                    "- **{}**: {}{change_of}{alarm}",
                    escaped(change.direction.words()),
                    coded(&change.subject)
                ));
            }
        }
        let rest = lines.len().saturating_sub(MOST_IN_SUMMARY);
        for line in lines.iter().take(MOST_IN_SUMMARY) {
            self.text.push_str(line);
            self.text.push('\n');
        }
        if rest > 0 {
            let _ = writeln!(self.text, "- and {rest} more");
        }
        if !lines.is_empty() {
            self.text.push('\n');
        }
    }

    fn called(&self, standard: &ComparedStandard) -> String {
        let edition = match &standard.edition {
            Some(edition) => format!(", edition {}", escaped(edition)),
            None => String::new(),
        };
        format!(
            "{}{edition}, digest {}",
            coded(&side(self.store.get(standard.file).name(), standard)),
            standard.digest.get(..12).unwrap_or_default()
        )
    }

    fn place(&self, stands: &Stands) -> String {
        let place = self.store.place(stands.span);
        let file = self.store.get(stands.span.file).name();
        coded(&format!("{file}:{}", place.line))
    }

    fn change(&mut self, change: &Change) {
        let _ = writeln!(
            self.text,
            "**{}**: {}, {}\n",
            escaped(&change.subject),
            escaped(&kinds(change)),
            escaped(change.direction.words())
        );
        let mut lines = Vec::new();
        if let Some(alarm) = &change.alarm {
            lines.push(format!("**likely a slip**: {}", escaped(alarm)));
        }
        for (word, stands) in [("old", &change.old), ("new", &change.new)] {
            if let Some(stands) = stands {
                lines.push(format!(
                    "{word}: {} ({})",
                    coded(&stands.words),
                    self.place(stands)
                ));
            }
        }
        lines.extend(change.notes.iter().map(|note| escaped(note)));
        if !change.reaches.is_empty() {
            lines.push(format!(
                "reaches {}: {}",
                change.reaches.len(),
                escaped(&change.reaches.join(", "))
            ));
        }
        for line in lines {
            let _ = writeln!(self.text, "- {line}");
        }
        for shows in &change.shows {
            let words = capital(&read_otherwise(shows));
            let _ = writeln!(self.text, "\n{}:\n", escaped(&words));
            self.fenced(&shows.plan);
        }
        if change.left_by_texts() {
            self.text
                .push_str("- left: no plan was found that shows the rest, and none is excluded\n");
        }
        for share in &change.effects {
            if let Some(effect) = self.comparison.effects.get(share.effect) {
                self.effect(change, *share, effect);
            }
        }
        self.text.push('\n');
    }

    fn effect(&mut self, change: &Change, share: Share, effect: &Effect) {
        let own = effect.new == change.new && effect.old == change.old;
        let clause = effect.new.as_ref().or(effect.old.as_ref());
        if !own {
            let words = clause
                .map(|of| format!(", {}", coded(&of.words)))
                .unwrap_or_default();
            let _ = writeln!(
                self.text,
                "- {}{words}: {}",
                coded(&effect.rule),
                escaped(share.direction.words())
            );
        }
        for of in reached(change, effect) {
            let lines = combinations(&of, true);
            if !lines.is_empty() {
                let _ = writeln!(
                    self.text,
                    "  - {} for {}",
                    escaped(of.direction.words()),
                    escaped(&lines.join("; "))
                );
            }
        }
        if share.direction.is_open() {
            for left in &effect.left {
                let _ = writeln!(self.text, "  - left: {}", escaped(left));
            }
        }
        for shows in &effect.shows {
            let way = if shows.tighter {
                share.direction.tighter
            } else {
                share.direction.looser
            };
            if way != Answer::Yes || !self.told.insert((share.effect, shows.tighter)) {
                continue;
            }
            let _ = writeln!(
                self.text,
                "\n{}:\n",
                escaped(&capital(&shown(shows, effect)))
            );
            self.fenced(&shows.plan);
            if let Some(plan) = &shows.old_plan {
                self.text.push_str("For the old standard:\n\n");
                self.fenced(plan);
            }
        }
    }

    /// A plan as a block of code whose fence is longer than any inside.
    fn fenced(&mut self, plan: &str) {
        let longest = plan
            .split(|letter| letter != '`')
            .map(str::len)
            .max()
            .unwrap_or(0);
        let fence = "`".repeat(longest.max(2) + 1);
        let _ = writeln!(self.text, "{fence}");
        for line in plan.lines() {
            let _ = writeln!(self.text, "{}", visible(line));
        }
        let _ = writeln!(self.text, "{fence}\n");
    }
}

/// Whether what changed is a line of its own, and not the block that it stands in.
fn is_line(change: &Change) -> bool {
    match (&change.old, &change.new) {
        (Some(old), Some(new)) => old.words != new.words && !new.words.ends_with('{'),
        _ => false,
    }
}
