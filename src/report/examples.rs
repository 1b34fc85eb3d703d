//! The examples as text: what failed and what happened instead, what was seen, what is pinned.

use std::io::{self, Write};

use super::Style;
use super::fold::fold;
use super::phrase;
use crate::diagnostic::{ExampleResult, ExamplesReport, Hole, Pins, RuleSeen};
use crate::source::{Span, Store, visible};

/// How many holes are listed before the rest is counted only, so that the report fits a screen.
const MOST_HOLES: usize = 20;

/// Writes the report for people: whether all is as expected, what is not, and what no example would notice.
/// What passes, all holes and what was seen of each rule are there where [`super::Show::passed`] is asked for.
///
/// # Errors
/// Whatever `out` fails with.
pub fn examples(
    report: &ExamplesReport,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    let mut page = Page {
        store,
        width: style.width.clamp(40, 1000),
        colour: style.colour,
        all: style.show.passed,
        out: &mut out,
    };
    page.write(report)?;
    out.flush()
}

/// Writes one line for each example, failed expectation and hole.
///
/// # Errors
/// Whatever `out` fails with.
pub fn examples_log(report: &ExamplesReport, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    for result in &report.examples {
        let word = if result.failed.is_empty() {
            "passes"
        } else {
            "fails"
        };
        let name = visible(&result.name);
        writeln!(out, "{}: {word}: {name}", place(store, result.span))?;
        for missed in &result.failed {
            let (expected, instead) = (visible(&missed.expected), visible(&missed.instead));
            let at = place(store, missed.span);
            writeln!(out, "{at}: failed: expected {expected}; {instead}")?;
        }
    }
    for hole in &report.pins.holes {
        let at = place(store, hole.span);
        let words = visible(&hole.words).into_owned();
        writeln!(
            out,
            "{at}: not pinned: {}: {words}{}",
            visible(&hole.owner),
            closed(&report.pins, hole)
        )?;
    }
    writeln!(
        out,
        "strikeoff: {}; {}",
        totals(report),
        pinned(&report.pins)
    )?;
    out.flush()
}

/// `room.std:12:3`.
pub(super) fn place(store: &Store, span: Span) -> String {
    let name = visible(store.get(span.file).name()).into_owned();
    let place = store.place(span);
    format!("{name}:{}:{}", place.line, place.column)
}

fn many(count: usize, noun: &str) -> String {
    match count {
        1 => format!("1 {noun}"),
        _ => format!("{count} {noun}s"),
    }
}

/// `12 examples: 11 pass, 1 fails`.
pub(super) fn totals(report: &ExamplesReport) -> String {
    let failed = report.failed();
    let passed = report.examples.len() - failed;
    format!(
        "{}: {passed} {}, {failed} {}",
        many(report.examples.len(), "example"),
        if passed == 1 { "passes" } else { "pass" },
        if failed == 1 { "fails" } else { "fail" },
    )
}

/// `of 30 small changes to the standard, 28 are noticed and 2 are not`.
pub(super) fn pinned(pins: &Pins) -> String {
    match (pins.tried, pins.holes.len()) {
        (0, _) => "the standard has no limit of its own to pin".to_owned(),
        (tried, 0) => format!("all {tried} small changes to the standard are noticed"),
        (tried, open) => format!(
            "of {tried} small changes to the standard, {} {} noticed and {open} {} not",
            pins.noticed,
            if pins.noticed == 1 { "is" } else { "are" },
            if open == 1 { "is" } else { "are" },
        ),
    }
}

fn closed(pins: &Pins, hole: &Hole) -> String {
    match hole.closed_by.and_then(|at| pins.closings.get(at)) {
        Some(closing) => format!(" (`{}` would show it)", closing.name),
        None => " (no plan was found that shows it)".to_owned(),
    }
}

struct Page<'r, 'o> {
    store: &'r Store,
    width: usize,
    colour: bool,
    all: bool,
    out: &'o mut dyn Write,
}

impl Page<'_, '_> {
    fn write(&mut self, report: &ExamplesReport) -> io::Result<()> {
        let standard = phrase::standard(&report.standard);
        self.heading(&format!("examples of {standard}"))?;
        self.line("  ", &totals(report))?;
        self.line("  ", &pinned(&report.pins))?;
        let shown = |result: &&ExampleResult| self.all || !result.failed.is_empty();
        for result in report.examples.iter().filter(shown).collect::<Vec<_>>() {
            self.result(result)?;
        }
        writeln!(self.out)?;
        if self.all {
            self.seen(report)?;
        }
        self.pins(&report.pins)
    }

    /// What was expected of each rule, and came.
    fn seen(&mut self, report: &ExamplesReport) -> io::Result<()> {
        self.heading("outcomes that were expected and came")?;
        let names = report.rules.iter().map(|rule| rule.name.chars().count());
        let wide = names.max().unwrap_or(0).min(self.width / 2);
        // Without `--shipped` the rules of specs are those of others: what is not expected of them is one line.
        let of_spec = |rule: &RuleSeen| {
            let ships = self.store.get(rule.span.file).name().starts_with('<');
            ships && report.pins.shipped > 0 && rule.outcomes().next().is_none()
        };
        let silent = report.rules.iter().filter(|rule| of_spec(rule)).count();
        for rule in report.rules.iter().filter(|rule| !of_spec(rule)) {
            let seen: Vec<String> = rule
                .outcomes()
                .map(|(outcome, count)| format!("{} {count}", outcome.word()))
                .collect();
            let seen = match seen.is_empty() {
                true => "nothing is expected of it".to_owned(),
                false => seen.join(", "),
            };
            writeln!(self.out, "  {:<wide$}  {seen}", visible(&rule.name))?;
        }
        if silent > 0 {
            let rules = many(silent, "rule");
            writeln!(
                self.out,
                "  nothing is expected of {rules} of specs that ship"
            )?;
        }
        writeln!(self.out)
    }

    fn heading(&mut self, words: &str) -> io::Result<()> {
        let text = fold(words, self.width, "", "  ");
        if self.colour {
            writeln!(self.out, "\u{1b}[1m{}\u{1b}[0m", text.trim_end())
        } else {
            self.out.write_all(text.as_bytes())
        }
    }

    fn line(&mut self, first: &str, text: &str) -> io::Result<()> {
        let rest = " ".repeat(first.chars().count());
        let text = fold(&visible(text), self.width, first, &rest);
        self.out.write_all(text.as_bytes())
    }

    fn result(&mut self, result: &ExampleResult) -> io::Result<()> {
        let word = if result.failed.is_empty() {
            "passes"
        } else {
            "fails"
        };
        let title = result.title.as_ref();
        let title = title.map(|title| format!(", {title}")).unwrap_or_default();
        let plan = self.store.get(result.plan).name().to_owned();
        let expected = many(result.expected, "expectation");
        let text = format!("{}{title}: {plan}, {expected}", result.name);
        self.line(&format!("  {word:<8}"), &text)?;
        for missed in &result.failed {
            let expected = format!("{} ({})", missed.expected, place(self.store, missed.span));
            self.line("            expected  ", &expected)?;
            let rule = place(self.store, missed.rule_span);
            self.line(
                "            instead   ",
                &format!("{} ({rule})", missed.instead),
            )?;
        }
        Ok(())
    }

    fn pins(&mut self, pins: &Pins) -> io::Result<()> {
        if !pins.holes.is_empty() {
            self.heading("what no example notices")?;
        }
        let most = if self.all { usize::MAX } else { MOST_HOLES };
        let mut owner = "";
        for hole in pins.holes.iter().take(most) {
            if hole.owner != owner {
                owner = &hole.owner;
                self.line("  ", owner)?;
            }
            let text = format!(
                "{}: {}{}",
                place(self.store, hole.span),
                hole.words,
                closed(pins, hole)
            );
            self.line("    ", &text)?;
        }
        let more = pins.holes.len().saturating_sub(most);
        if more > 0 {
            self.line("  ", &format!("and {more} more; `--all` lists all"))?;
        }
        if !pins.holes.is_empty() {
            writeln!(self.out)?;
        }
        self.next(pins)?;
        let mut notes = Vec::new();
        if pins.shipped > 0 {
            notes.push(format!(
                "{} in specs that ship {} not looked at; `--shipped` looks at them",
                many(pins.shipped, "limit"),
                if pins.shipped == 1 { "was" } else { "were" },
            ));
        }
        if pins.beyond > 0 {
            notes.push(format!(
                "{} left out: no run that is possible could tell",
                many(pins.beyond, "small change")
            ));
        }
        for (span, what) in &pins.unread {
            let at = place(self.store, *span);
            notes.push(format!(
                "no rule reads {what} ({at}), so no example can pin it"
            ));
        }
        for note in &notes {
            self.line("note: ", note)?;
        }
        if !notes.is_empty() {
            writeln!(self.out)?;
        }
        Ok(())
    }

    /// How the texts that close holes are had.
    fn next(&mut self, pins: &Pins) -> io::Result<()> {
        if pins.closings.is_empty() {
            return Ok(());
        }
        let closed = pins.holes.iter().filter(|hole| hole.closed_by.is_some());
        let new = pins
            .closings
            .iter()
            .filter(|closing| closing.plan.is_some());
        let plans = match new.count() {
            0 => String::new(),
            count => format!(" and {}", many(count, "plan")),
        };
        let text = format!(
            "{}{plans} would notice {} of {}; `--write-plans FOLDER` writes them, `--as json` has their texts",
            many(pins.closings.len(), "example"),
            closed.count(),
            match pins.holes.len() {
                1 => "this change".to_owned(),
                count => format!("these {count} changes"),
            }
        );
        self.line("next: ", &text)?;
        writeln!(self.out)
    }
}
