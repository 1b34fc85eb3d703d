//! A comparison of two standards for people: the summary first, what got looser before what got tighter.

use std::collections::BTreeSet;
use std::io::{self, Write};

use super::Style;
use super::diff_words::{
    FEW, combinations, counted, counts, edition_stayed, kinds, reached, read_otherwise, sections,
    shown, side, verdict,
};
use super::fold::fold;
use super::plan_moves::plan_moves;
use crate::diagnostic::{Answer, Change, ComparedStandard, Comparison, Effect, Share, Stands};
use crate::source::{Store, visible};

/// Writes a comparison for people; `full` names every record and combination.
///
/// # Errors
/// Whatever `out` fails with.
pub fn diff(
    comparison: &Comparison,
    store: &Store,
    full: bool,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    let page = Page {
        store,
        comparison,
        full,
        style,
        width: style.width.clamp(40, 1000),
    };
    page.write(&mut out)?;
    if let Some(plans) = &comparison.plans {
        writeln!(out)?;
        plan_moves(plans, style, &mut out)?;
    }
    out.flush()
}

struct Page<'r> {
    store: &'r Store,
    comparison: &'r Comparison,
    full: bool,
    style: &'r Style,
    width: usize,
}

impl Page<'_> {
    fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let comparison = self.comparison;
        self.line(
            "",
            "  ",
            &format!("old: {}", self.called(&comparison.old)),
            out,
        )?;
        self.line(
            "",
            "  ",
            &format!("new: {}", self.called(&comparison.new)),
            out,
        )?;
        writeln!(out)?;
        self.bold(&verdict(comparison), out)?;
        if !comparison.changes.is_empty() {
            self.line("", "  ", &counts(comparison), out)?;
        }
        if let Some(words) = edition_stayed(comparison) {
            self.line("", "  ", &visible(&words), out)?;
        }
        let mut told = BTreeSet::new();
        for section in sections(comparison) {
            if section.changes.is_empty() {
                continue;
            }
            writeln!(out)?;
            self.bold(
                &format!("{} ({})", section.title, section.changes.len()),
                out,
            )?;
            for change in section.changes {
                if section.brief {
                    self.brief(change, out)?;
                } else {
                    self.change(change, &mut told, out)?;
                }
            }
        }
        writeln!(out)?;
        let totals = format!(
            "diff: {} compared, {} of records looked at",
            counted(comparison.clauses, "clause"),
            counted(comparison.combinations, "combination")
        );
        self.line("", "  ", &totals, out)
    }

    fn called(&self, standard: &ComparedStandard) -> String {
        let edition = match &standard.edition {
            Some(edition) => format!(", edition {}", visible(edition)),
            None => String::new(),
        };
        format!(
            "{}: {}{edition}, digest {}",
            visible(&side(self.store.get(standard.file).name(), standard)),
            visible(&standard.name),
            standard.digest.get(..12).unwrap_or(&standard.digest)
        )
    }

    fn place(&self, stands: &Stands) -> String {
        let place = self.store.place(stands.span);
        let file = self.store.get(stands.span.file).name();
        format!("{}:{}", visible(file), place.line)
    }

    fn brief(&self, change: &Change, out: &mut dyn Write) -> io::Result<()> {
        let place = change.new.as_ref().or(change.old.as_ref());
        let place = place
            .map(|at| format!(" ({})", self.place(at)))
            .unwrap_or_default();
        let most = if self.full { usize::MAX } else { FEW };
        let told: Vec<&str> = change.notes.iter().take(most).map(String::as_str).collect();
        let notes = match change.notes.len() - told.len() {
            _ if told.is_empty() => String::new(),
            0 => format!(": {}", told.join("; ")),
            rest => format!(": {}; and {rest} more (`--full`)", told.join("; ")),
        };
        let text = format!("{}, {}{place}{notes}", change.subject, kinds(change));
        self.line("  ", "      ", &visible(&text), out)
    }

    fn change(
        &self,
        change: &Change,
        told: &mut BTreeSet<(usize, bool)>,
        out: &mut dyn Write,
    ) -> io::Result<()> {
        let head = format!(
            "{}: {}, {}",
            change.subject,
            kinds(change),
            change.direction.words()
        );
        self.line("  ", "      ", &visible(&head), out)?;
        if let Some(alarm) = &change.alarm {
            self.line("    !! ", "       ", &visible(alarm), out)?;
        }
        for (word, stands) in [("old", &change.old), ("new", &change.new)] {
            if let Some(stands) = stands {
                let text = format!("{}  {}", self.place(stands), stands.words);
                self.line(&format!("    {word}  "), "           ", &text, out)?;
            }
        }
        for note in &change.notes {
            self.line("    ", "      ", &visible(note), out)?;
        }
        if !change.reaches.is_empty() {
            let text = format!(
                "reaches {}: {}",
                change.reaches.len(),
                change.reaches.join(", ")
            );
            self.line("    ", "      ", &text, out)?;
        }
        for shows in &change.shows {
            self.line("    ", "      ", &read_otherwise(shows), out)?;
            self.plan(&shows.plan, out)?;
        }
        if change.left_by_texts() {
            let words = "no plan was found that shows the rest, and none is excluded";
            self.line("      left: ", "        ", words, out)?;
        }
        for share in &change.effects {
            let Some(effect) = self.comparison.effects.get(share.effect) else {
                continue;
            };
            self.effect(change, share, effect, told, out)?;
        }
        Ok(())
    }

    fn effect(
        &self,
        change: &Change,
        share: &Share,
        effect: &Effect,
        told: &mut BTreeSet<(usize, bool)>,
        out: &mut dyn Write,
    ) -> io::Result<()> {
        let own = effect.new == change.new && effect.old == change.old;
        if !own {
            let clause = effect.new.as_ref().or(effect.old.as_ref());
            let clause = clause
                .map(|of| format!(" ({})", of.words))
                .unwrap_or_default();
            let text = format!("{}{clause}: {}", effect.rule, share.direction.words());
            self.line("    → ", "      ", &visible(&text), out)?;
        }
        let mine = reached(change, effect);
        for of in &mine {
            let lines = combinations(of, self.full);
            let sole = mine.len() == 1 && of.direction == share.direction;
            let word = if sole {
                "for".to_owned()
            } else {
                of.direction.words().to_owned()
            };
            if !lines.is_empty() {
                self.line(
                    "      ",
                    "        ",
                    &format!("{word} {}", lines.join("; ")),
                    out,
                )?;
            }
        }
        for shows in &effect.shows {
            let way = if shows.tighter {
                share.direction.tighter
            } else {
                share.direction.looser
            };
            if way != Answer::Yes || !told.insert((share.effect, shows.tighter)) {
                continue;
            }
            self.line("      ", "        ", &shown(shows, effect), out)?;
            self.plan(&shows.plan, out)?;
            if let Some(plan) = &shows.old_plan {
                writeln!(out, "        for the old standard:")?;
                self.plan(plan, out)?;
            }
        }
        if share.direction.is_open() {
            for left in effect.left.iter().take(FEW) {
                self.line("      left: ", "        ", left, out)?;
            }
        }
        Ok(())
    }

    fn plan(&self, plan: &str, out: &mut dyn Write) -> io::Result<()> {
        for line in plan.lines() {
            writeln!(out, "{}", format!("        │ {}", visible(line)).trim_end())?;
        }
        Ok(())
    }

    fn line(&self, first: &str, next: &str, text: &str, out: &mut dyn Write) -> io::Result<()> {
        out.write_all(fold(text, self.width, first, next).as_bytes())
    }

    fn bold(&self, text: &str, out: &mut dyn Write) -> io::Result<()> {
        if self.style.colour {
            writeln!(out, "\u{1b}[1m{}\u{1b}[0m", text.trim_end())
        } else {
            writeln!(out, "{}", text.trim_end())
        }
    }
}
