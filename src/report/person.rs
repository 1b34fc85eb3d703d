//! The view for people: a block for each thing said, grouped by plan, the plan's line first and
//! the standard's line below it.

use std::collections::HashMap;
use std::fmt;
use std::io::{self, Write};

use miette::{
    GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents,
    NarratableReportHandler, SourceCode, SourceSpan, SpanContents, ThemeStyles,
};

use super::excerpt::{Cut, Excerpt, Wanted};
use super::explain::severity_word;
use super::fold::{fold, heading};
use super::log::Lines;
use super::margins::margins;
use super::{Style, phrase};
use crate::diagnostic::Verdict;
use crate::diagnostic::{Code, Diagnostic, Finding, Lacking, PlanReport, Report, Severity};
use crate::source::{FileId, Store, visible};

/// Writes the whole report.
pub(super) fn write(
    report: &Report,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut page = Page::new(store, style);
    page.beside_a_list = are_lists(report);
    // What is taken out stands below, with the standards: there is nothing to do about it.
    let troubles = report.diagnostics.iter();
    let troubles = troubles.filter(|said| said.code != Code::TakenOut);
    let troubles: Vec<&Diagnostic> = troubles.collect();
    if !troubles.is_empty() {
        page.heading("standards and files", out)?;
        page.blocks(&troubles, out)?;
    }
    for plan in &report.plans {
        page.plan(report, plan, out)?;
    }
    page.end(report, out)
}

/// Whether of every plan a long list of what is not stated is what there is to say.
fn are_lists(report: &Report) -> bool {
    let long = |plan: &PlanReport| plan.lacking.as_ref().is_some_and(super::lacking::is_long);
    !report.plans.is_empty() && report.plans.iter().all(long)
}

/// What the blocks are written with.
struct Page<'r> {
    store: &'r Store,
    style: &'r Style,
    width: usize,
    drawn: GraphicalReportHandler,
    narrated: NarratableReportHandler,
    lines: Lines<'r>,
    /// How many were shown in full.
    shown: usize,
    /// How many got a line only.
    short: usize,
    /// Whether a long list of what is not stated stands above.
    beside_a_list: bool,
}

/// How many findings are shown in full, unless it is asked for.
const MOST_IN_FULL: usize = 100;

impl<'r> Page<'r> {
    fn new(store: &'r Store, style: &'r Style) -> Self {
        let width = style.width.clamp(40, 1000);
        let mut theme = if style.unicode {
            GraphicalTheme::unicode_nocolor()
        } else {
            GraphicalTheme::none()
        };
        if style.colour {
            // One colour, for the severity; the rest keeps the terminal's own.
            let ansi = ThemeStyles::ansi();
            theme.styles.highlights = vec![ansi.advice];
            theme.styles.error = ansi.error;
            theme.styles.warning = ansi.warning;
            theme.styles.advice = ansi.advice;
            theme.styles.linum = ansi.linum;
        }
        Self {
            store,
            style,
            width,
            drawn: GraphicalReportHandler::new_themed(theme)
                .with_links(false)
                .with_width(width)
                .with_context_lines(1)
                .without_cause_chain()
                .without_syntax_highlighting(),
            narrated: NarratableReportHandler::new()
                .with_context_lines(1)
                .without_cause_chain(),
            lines: Lines::new(store, style.colour),
            shown: 0,
            short: 0,
            beside_a_list: false,
        }
    }

    /// A heading, bold when there is colour, and an empty line.
    fn heading(&self, words: &str, out: &mut dyn Write) -> io::Result<()> {
        heading(words, self.width, self.style.colour, out)
    }

    /// One plan: heading, blocks, table of checks if wanted, verdict.
    fn plan(&mut self, report: &Report, plan: &PlanReport, out: &mut dyn Write) -> io::Result<()> {
        let mut heading = format!("{}: ", visible(self.store.get(plan.file).name()));
        if !plan.name.is_empty() {
            heading.push_str(&visible(&plan.name));
            heading.push_str(", ");
        }
        match plan.standard.and_then(|index| report.standards.get(index)) {
            Some(standard) => {
                let file = visible(self.store.get(standard.file).name());
                let name = phrase::standard(standard);
                heading.push_str(&format!("against {file} ({name})"));
            }
            None => heading.push_str("no standard was read for it"),
        }
        self.heading(&heading, out)?;
        // What is stated, and not in the way that is asked for, is no gap to fill.
        let gap = |found: &Finding| found.value.as_deref() == Some("not stated");
        let waits = |said: &&Diagnostic| {
            said.code == Code::NotStated && said.finding.as_deref().is_some_and(gap)
        };
        match &plan.lacking {
            // What is missing is told once, thing by thing, not check by check.
            Some(lacking) => {
                let others = plan.diagnostics.iter().filter(|said| !waits(said));
                self.lacking(lacking, plan.file, out)?;
                // A long list is what there is to do first.
                let before = self.beside_a_list;
                self.beside_a_list = super::lacking::is_long(lacking);
                self.blocks(&others.collect::<Vec<_>>(), out)?;
                self.beside_a_list = before;
            }
            None => self.blocks(&plan.diagnostics.iter().collect::<Vec<_>>(), out)?,
        }
        if let Some(whole) = &plan.whole {
            self.tail("the whole run", &phrase::whole(whole), out)?;
            writeln!(out)?;
        }
        if let Some(all) = &plan.margins {
            let text = margins(all, self.store, self.width);
            out.write_all(text.as_bytes())?;
            writeln!(out)?;
        }
        if self.style.show.passed && !plan.checks.is_empty() {
            self.checks(plan, out)?;
        }
        let name = phrase::plan(plan, self.store);
        match Verdict::of_plan(plan, report.allow_risk) {
            Verdict::NotChecked => {
                writeln!(out, "{name}: not checked. No rule ran on this plan.\n")
            }
            verdict => {
                let allowed = if report.allow_risk {
                    " (at risk is allowed)"
                } else {
                    ""
                };
                let counts = phrase::counts(&plan.counts);
                let excused = phrase::by_deviation(&plan.diagnostics);
                let line = format!("{name}: {}{allowed}. {counts}{excused}", verdict.word());
                writeln!(out, "{}", fold(&line, self.width, "", "  "))
            }
        }
    }

    /// What the plan does not state, a block for each thing.
    fn lacking(&self, lacking: &Lacking, plan: FileId, out: &mut dyn Write) -> io::Result<()> {
        let lines = super::lacking::lines(lacking, plan, self.store, self.width);
        let severity = if lacking.shall {
            Severity::Error
        } else {
            Severity::Warning
        };
        let words = super::lacking::headline(lacking);
        let head = format!(
            "{}[{}]: {words}",
            severity_word(severity),
            Code::NotStated.slug()
        );
        self.draw(
            &Shown {
                headline: head,
                severity,
                excerpt: None,
            },
            out,
        )?;
        for line in lines {
            writeln!(out, "{line}")?;
        }
        writeln!(out)
    }

    /// Every check with its reason.
    fn checks(&self, plan: &PlanReport, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "  every check:")?;
        let rest = " ".repeat(20);
        for check in &plan.checks {
            let first = format!("    {:14}  ", check.outcome.word());
            let mut line = format!("{} {}", visible(&check.rule), check.clause);
            if let Some(subject) = &check.subject {
                line.push_str(", ");
                line.push_str(&visible(subject));
            }
            line.push_str(": ");
            line.push_str(&visible(&check.why));
            out.write_all(fold(&line, self.width, &first, &rest).as_bytes())?;
        }
        writeln!(out)
    }

    /// Everything said under one heading.
    fn blocks(&mut self, all: &[&Diagnostic], out: &mut dyn Write) -> io::Result<()> {
        let before = self.short;
        // Checks that wait for one value are told of together: the value is what there is to do.
        let mut waiting: HashMap<(&str, Severity), usize> = HashMap::new();
        for said in all.iter().filter(|said| said.code == Code::NotStated) {
            *waiting.entry((&said.headline, said.severity)).or_default() += 1;
        }
        for said in all {
            let count = match said.code {
                Code::NotStated => waiting.remove(&(said.headline.as_str(), said.severity)),
                _ => Some(1),
            };
            // The others of its count were told of with the first.
            if let Some(count) = count {
                self.block(said, count - 1, out)?;
            }
        }
        if self.short > before {
            writeln!(out)?;
        }
        Ok(())
    }

    /// One thing said: in full, or on one line when there were many. `more` checks wait for the same value.
    fn block(&mut self, said: &Diagnostic, more: usize, out: &mut dyn Write) -> io::Result<()> {
        let full = match self.style.full {
            None if self.beside_a_list => 0,
            asked => asked.unwrap_or(MOST_IN_FULL),
        };
        if self.shown >= full {
            self.short += 1;
            return self.lines.write(said, out);
        }
        self.shown += 1;
        // The renderer knows one text a report: each further file is a report of its own.
        let mut files: Vec<FileId> = Vec::new();
        for label in said.labels() {
            if !files.contains(&label.span.file) {
                files.push(label.span.file);
            }
        }
        let own = said.primary().map(|label| label.span.file);
        self.draw(
            &Shown {
                headline: self.headline(said),
                severity: said.severity,
                excerpt: own.map(|file| self.excerpt(said, file)),
            },
            out,
        )?;
        for file in files.into_iter().skip(1) {
            let words = if said.finding.is_some() {
                "the standard says:"
            } else {
                "see also:"
            };
            if self.style.plain {
                writeln!(out)?;
            }
            self.draw(
                &Shown {
                    headline: words.to_owned(),
                    severity: Severity::Note,
                    excerpt: Some(self.excerpt(said, file)),
                },
                out,
            )?;
        }
        for note in &said.notes {
            self.tail("note", note, out)?;
        }
        if more > 0 {
            let checks = if more == 1 {
                "check waits"
            } else {
                "checks wait"
            };
            self.tail("note", &format!("{more} more {checks} for this value"), out)?;
        }
        if let Some(help) = &said.help {
            self.tail("help", help, out)?;
        }
        for repair in &said.repairs {
            self.tail(&phrase::repair(repair), &repair.words, out)?;
        }
        writeln!(out)
    }

    /// `error[breaks]: …` and the facts of a finding, a line each.
    fn headline(&self, said: &Diagnostic) -> String {
        let headline = visible(&said.headline);
        let mut text = format!(
            "{}[{}]: {headline}",
            severity_word(said.severity),
            said.code.slug()
        );
        if said.labels().is_empty()
            && let Some(file) = said.file
        {
            text.push_str(&format!("\nin {}", visible(self.store.get(file).name())));
        }
        let Some(finding) = &said.finding else {
            return text;
        };
        let here = said.primary().map_or("", |label| label.words.as_str());
        let facts: Vec<_> = phrase::facts(finding)
            .into_iter()
            // What the headline or the mark says already is not said twice.
            .filter(|(_, fact)| !said_in(&headline, fact) && !said_in(here, fact))
            .collect();
        let longest = facts.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
        for (name, fact) in facts {
            text.push_str(&if self.style.plain {
                format!("\n{name}: {fact}")
            } else {
                format!("\n{name:longest$}  {fact}")
            });
        }
        text
    }

    fn excerpt(&self, said: &Diagnostic, file: FileId) -> Excerpt {
        let wanted: Vec<Wanted<'_>> = said
            .labels()
            .iter()
            .filter(|label| label.span.file == file)
            .map(|label| Wanted {
                range: label.span.range(),
                words: &label.words,
            })
            .collect();
        let cut = Cut {
            context: 1,
            width: if self.style.plain {
                400
            } else {
                self.width.saturating_sub(10)
            },
            ellipsis: if self.style.unicode { "…" } else { "..." },
        };
        Excerpt::new(self.store.get(file), &wanted, &cut)
    }

    /// Lets the renderer draw, and drops blanks at line ends.
    fn draw(&self, shown: &Shown, out: &mut dyn Write) -> io::Result<()> {
        let mut text = String::new();
        let drawn = if self.style.plain {
            self.narrated.render_report(&mut text, shown)
        } else {
            self.drawn.render_report(&mut text, shown)
        };
        drawn.map_err(io::Error::other)?;
        for line in text.lines() {
            writeln!(out, "{}", line.trim_end())?;
        }
        Ok(())
    }

    /// A line below the drawing: `  help: …`.
    fn tail(&self, name: &str, words: &str, out: &mut dyn Write) -> io::Result<()> {
        let first = format!("  {name}: ");
        let rest = " ".repeat(first.len());
        let text = fold(&visible(words), self.width, &first, &rest);
        out.write_all(text.as_bytes())
    }

    /// Cautions, the closing sentence and the totals.
    fn end(&self, report: &Report, out: &mut dyn Write) -> io::Result<()> {
        let cautions = phrase::cautions(report);
        let any = !cautions.is_empty();
        let by_name = any && self.style.full.is_none() && are_lists(report);
        if by_name {
            let names: Vec<String> = cautions
                .iter()
                .map(|fitting| visible(&fitting.caution.name).into_owned())
                .collect();
            let first = "cautions, written out by `--full 100`: ";
            out.write_all(fold(&names.join(", "), self.width, first, "  ").as_bytes())?;
        } else if any {
            self.heading("cautions", out)?;
        }
        for fitting in cautions.iter().filter(|_| !by_name) {
            let mut words = visible(&fitting.caution.words).into_owned();
            if let Some(source) = &fitting.caution.source {
                words.push_str(&format!(" (source: {})", visible(source)));
            }
            if fitting.plans < report.plans.len() {
                words.push_str(&format!(
                    " [{} of {} plans]",
                    fitting.plans,
                    report.plans.len()
                ));
            }
            let first = format!("  {}: ", visible(&fitting.caution.name));
            out.write_all(fold(&words, self.width, &first, "    ").as_bytes())?;
        }
        if any {
            writeln!(out)?;
        }
        out.write_all(fold(phrase::CLOSING, self.width, "", "").as_bytes())?;
        writeln!(out)?;
        if self.short > 0 {
            let all = self.shown + self.short;
            let line = match self.shown {
                0 => format!("`--full {all}` shows every finding in full."),
                _ => format!(
                    "{} of {all} findings have one line only; `--full {all}` shows every one in full.",
                    self.short
                ),
            };
            out.write_all(fold(&line, self.width, "", "").as_bytes())?;
        }
        let excused = phrase::by_deviation(report.all_diagnostics());
        let counts = phrase::counts(&report.counts());
        writeln!(out, "total: {counts}{excused}")?;
        writeln!(out, "{}", phrase::plans(report))?;
        for standard in &report.standards {
            let digest = phrase::digest(standard);
            writeln!(
                out,
                "standard: {}, digest {digest}",
                phrase::standard(standard)
            )?;
        }
        for said in &report.diagnostics {
            if said.code == Code::TakenOut {
                let at = said.primary().map_or_else(String::new, |label| {
                    let line = self.store.place(label.span).line;
                    let file = self.store.get(label.span.file).name();
                    format!(" ({}:{line})", visible(file))
                });
                let line = format!("without: {}{at}", visible(&said.headline));
                out.write_all(fold(&line, self.width, "", "  ").as_bytes())?;
            }
        }
        writeln!(out, "date: {}", visible(&report.date))
    }
}

/// Whether `fact` stands in `text` as it is, and not as a part of a longer word or number.
fn said_in(text: &str, fact: &str) -> bool {
    let joins = |character: char| character.is_alphanumeric() || matches!(character, '-' | '.');
    !fact.is_empty()
        && text.match_indices(fact).any(|(at, _)| {
            let before = text.get(..at).and_then(|part| part.chars().next_back());
            let after = text
                .get(at + fact.len()..)
                .and_then(|part| part.chars().next());
            !before.is_some_and(joins) && !after.is_some_and(joins)
        })
}

/// One report as the renderer takes it.
#[derive(Debug)]
struct Shown {
    headline: String,
    severity: Severity,
    excerpt: Option<Excerpt>,
}

impl fmt::Display for Shown {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.headline)
    }
}

impl std::error::Error for Shown {}

impl miette::Diagnostic for Shown {
    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
            Severity::Note => miette::Severity::Advice,
        })
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.excerpt
            .as_ref()
            .map(|excerpt| excerpt as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let excerpt = self.excerpt.as_ref()?;
        Some(Box::new(excerpt.marks().iter().map(|mark| {
            let mut words = mark.words.clone();
            if mark.moved {
                // The line shown is not the line of the file: say the true column.
                words.push_str(&format!(" (column {})", mark.place.column));
            }
            let words = (!words.is_empty()).then_some(words);
            LabeledSpan::new(words, mark.range.start, mark.range.len())
        })))
    }
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let range = span.offset()..span.offset().saturating_add(span.len());
        let stretch = self
            .stretch(range, before, after)
            .ok_or(MietteError::OutOfBounds)?;
        Ok(Box::new(MietteSpanContents::new_named(
            self.name().to_owned(),
            stretch.text.as_bytes(),
            (stretch.start, stretch.text.len()).into(),
            stretch.line,
            stretch.column,
            stretch.count,
        )))
    }
}
