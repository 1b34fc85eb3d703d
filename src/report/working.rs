//! The working as text: a block for each figure.

use std::io::{self, Write};

use super::Style;
use super::fold::{beside, fold, heading};
use crate::diagnostic::{Basis, Call, Figure, Input, Interval, Working};
use crate::source::{Span, Store, visible};

/// Column in which what is said of a figure begins.
const COLUMN: usize = 15;

/// Writes the working as text.
///
/// # Errors
/// Whatever `out` fails with.
pub fn working(
    working: &Working,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    let mut page = Page {
        store,
        listed: Vec::new(),
        width: style.width.clamp(40, 1000),
        colour: style.colour,
    };
    page.write(working, &mut out)?;
    out.flush()
}

struct Page<'r> {
    store: &'r Store,
    /// Calls whose inputs were listed, with the figure they stand at.
    listed: Vec<(&'r str, &'r Call)>,
    width: usize,
    colour: bool,
}

impl<'r> Page<'r> {
    fn write(&mut self, working: &'r Working, out: &mut dyn Write) -> io::Result<()> {
        let edition = working.edition.as_deref().map_or_else(
            || "no edition stated".to_owned(),
            |edition| format!("edition {}", visible(edition)),
        );
        let heading = format!(
            "{}: {}, against {} ({}, {edition})",
            visible(self.store.get(working.file).name()),
            visible(&working.name),
            visible(self.store.get(working.standard).name()),
            visible(&working.standard_name),
        );
        self.heading(&heading, out)?;
        for figure in &working.figures {
            self.figure(figure, out)?;
        }
        if working.figures.is_empty() {
            writeln!(out, "no figure of this run can be worked out\n")?;
        }
        if !working.idle.is_empty() {
            writeln!(out, "not worked out, as a value is missing\n")?;
            for idle in &working.idle {
                let line = format!("{}: {}", idle.setting, idle.missing);
                out.write_all(fold(&visible(&line), self.width, "  ", "    ").as_bytes())?;
            }
            writeln!(out)?;
        }
        self.legend(working, out)
    }

    fn heading(&self, words: &str, out: &mut dyn Write) -> io::Result<()> {
        heading(words, self.width, self.colour, out)
    }

    /// A line of a block: its name in the margin, the text beside it.
    fn line(&self, name: &str, text: &str, out: &mut dyn Write) -> io::Result<()> {
        beside(name, text, self.width, COLUMN, out)
    }

    fn figure(&mut self, figure: &'r Figure, out: &mut dyn Write) -> io::Result<()> {
        let title = match &figure.sentence {
            Some(sentence) => format!("{}: {sentence}", figure.setting),
            None => figure.setting.clone(),
        };
        let title = fold(&visible(&title), self.width, "", "  ");
        if self.colour {
            writeln!(out, "\u{1b}[1m{}\u{1b}[0m", title.trim_end())?;
        } else {
            out.write_all(title.as_bytes())?;
        }
        if let Some(stated) = &figure.stated {
            let counts = if figure.formula.is_some() {
                "; this value counts"
            } else {
                ""
            };
            let source = stated
                .source
                .as_ref()
                .map_or_else(String::new, |source| format!(", per {source}"));
            let text = format!(
                "{} at {}{source}{counts}",
                stated.value.words,
                self.place(stated.span)
            );
            self.line("stated", &text, out)?;
        }
        if let Some(formula) = &figure.formula {
            self.line("formula", &formula.short, out)?;
            self.line("numbers", &formula.numbers, out)?;
            for call in &formula.calls {
                self.call(&figure.setting, call, out)?;
            }
        }
        match &figure.result {
            Some(Ok(result)) => self.line("comes to", &came_to(result), out)?,
            Some(Err(reason)) => {
                self.line("comes to", &format!("nothing: {reason}"), out)?;
            }
            None => {}
        }
        match figure.stated.as_ref().and_then(|stated| stated.agrees) {
            Some(true) => self.line("compared", "stated and worked-out value agree", out)?,
            Some(false) => self.line(
                "compared",
                "stated and worked-out value disagree: measure again, one of the two is wrong",
                out,
            )?,
            None => {}
        }
        self.widened_by(figure, out)?;
        if let Some(source) = &figure.source {
            self.line("rests on", source, out)?;
        }
        writeln!(out)
    }

    /// A figure of the physics table: its inputs one by one when there are many, its model and source.
    fn call(&mut self, setting: &'r str, call: &'r Call, out: &mut dyn Write) -> io::Result<()> {
        let mut from = call.source.as_str().to_owned();
        if call.listed {
            // The first of those that share most: there the inputs stand in full.
            let before = self
                .listed
                .iter()
                .rev()
                .max_by_key(|(_, before)| shared(call, before))
                .filter(|(_, before)| shared(call, before) * 2 > call.inputs.len());
            let inputs: Vec<&Input> = match before {
                Some((other, before)) => {
                    let differ: Vec<&Input> = call
                        .inputs
                        .iter()
                        .filter(|input| !before.inputs.contains(input))
                        .collect();
                    let but = if differ.is_empty() { "" } else { ", but" };
                    self.line("inputs", &format!("as for {other}{but}"), out)?;
                    if before.source == call.source {
                        from = format!("as for {other}");
                    }
                    differ
                }
                None => {
                    self.listed.push((setting, call));
                    self.line("inputs", &format!("of {}", call.figure), out)?;
                    call.inputs.iter().collect()
                }
            };
            self.inputs(&inputs, out)?;
        }
        let accuracy = call.accuracy.as_ref().map_or_else(String::new, |accuracy| {
            format!("; worked out to {accuracy}")
        });
        let text = format!("{} = {}{accuracy}", call.figure, call.formula);
        self.line("model", &text, out)?;
        self.line("model from", &from, out)
    }

    fn inputs(&self, inputs: &[&Input], out: &mut dyn Write) -> io::Result<()> {
        let longest = |of: fn(&Input) -> &str| {
            let sizes = inputs.iter().map(|input| of(input).chars().count());
            sizes.max().unwrap_or(0)
        };
        let name = longest(|input| &input.parameter).min(24);
        let numbers = longest(|input| &input.numbers).min(32);
        for input in inputs {
            let first = format!(
                "{}{:<name$}  {:<numbers$}",
                " ".repeat(COLUMN),
                input.parameter,
                visible(&input.numbers)
            );
            let text = if input.written == input.numbers {
                format!("{}\n", first.trim_end())
            } else {
                let rest = " ".repeat(COLUMN + name + 4);
                let written = visible(&input.written);
                fold(&written, self.width, &format!("{first}  "), &rest)
            };
            out.write_all(text.as_bytes())?;
        }
        Ok(())
    }

    fn widened_by(&self, figure: &Figure, out: &mut dyn Write) -> io::Result<()> {
        if figure.widened_by.is_empty() {
            return Ok(());
        }
        let mut parts: Vec<String> = figure
            .widened_by
            .iter()
            .map(|part| format!("{} ({}) {}", part.setting, part.value, percent(part.share)))
            .collect();
        if figure.other_inputs > 0.0 {
            parts.push(format!("all others {}", percent(figure.other_inputs)));
        }
        self.line("widened by", &parts.join(", "), out)
    }

    fn place(&self, span: Span) -> String {
        let text = self.store.get(span.file);
        let line = text.place(span.start as usize).line;
        format!("{}:{line}", text.name())
    }

    fn legend(&self, working: &Working, out: &mut dyn Write) -> io::Result<()> {
        let results = || {
            working
                .figures
                .iter()
                .filter_map(|figure| figure.result.as_ref()?.as_ref().ok())
        };
        let mut lines = Vec::new();
        if results().any(|result| result.basis == Basis::Exact) {
            lines.push("exact: no value inside the stated tolerances falls outside".to_owned());
        }
        if results().any(|result| result.basis == Basis::Sampled) {
            lines.push(
                "sampled, not exact: the worst found at the points that were tried, since some input moves the figure either way; no ground for `holds` by itself"
                    .to_owned(),
            );
        }
        if working
            .figures
            .iter()
            .any(|figure| !figure.widened_by.is_empty())
        {
            lines.push(
                "widened by: what the width loses when one input is set to its nominal value, as a share of all such losses"
                    .to_owned(),
            );
        }
        for line in lines {
            out.write_all(fold(&line, self.width, "", "  ").as_bytes())?;
        }
        Ok(())
    }
}

/// How many inputs two calls share.
fn shared(one: &Call, other: &Call) -> usize {
    let same = one
        .inputs
        .iter()
        .filter(|input| other.inputs.contains(input));
    same.count()
}

fn came_to(result: &Interval) -> String {
    let basis = match result.basis {
        Basis::Exact => "exact",
        Basis::Sampled => "sampled, not exact",
    };
    format!("{} ({basis})", result.words)
}

/// A share in whole per cent; a small one is not nothing.
fn percent(share: f64) -> String {
    let whole = (share * 100.0).round();
    if whole < 1.0 {
        return "under 1 %".to_owned();
    }
    format!("{whole:.0} %")
}
