//! One line for each thing said, for logs and for editors that jump to `file:line:column`.

use std::borrow::Cow;
use std::io::{self, Write};
use std::ops::Range;

use codespan_reporting::diagnostic as spoken;
use codespan_reporting::files::{Error as FilesError, Files};
use codespan_reporting::term::termcolor::Ansi;
use codespan_reporting::term::{self, Config, DisplayStyle, Styles, StylesWriter};

use super::{Style, phrase};
use crate::diagnostic::Verdict;
use crate::diagnostic::{Code, Diagnostic, Report, Severity};
use crate::source::{FileId, Store, visible};

/// Writes the whole report.
pub(super) fn write(
    report: &Report,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let lines = Lines::new(store, style.colour);
    for said in report.all_diagnostics() {
        lines.write(said, out)?;
    }
    for plan in &report.plans {
        let name = visible(store.get(plan.file).name());
        if let Some(whole) = &plan.whole {
            let words = super::phrase::whole(whole);
            writeln!(out, "{name}: the whole run: {}", visible(&words))?;
        }
        for margin in plan.margins.iter().flat_map(|margins| &margins.rows) {
            let place = store.place(margin.place);
            let (line, column) = (place.line, place.column);
            let words = super::margins::line(margin, store);
            writeln!(out, "{name}:{line}:{column}: margin: {words}")?;
        }
        if style.show.passed {
            for check in &plan.checks {
                let place = store.place(check.span);
                write!(
                    out,
                    "{}:{}:{}: {}: {name}: {} {}",
                    visible(store.get(check.span.file).name()),
                    place.line,
                    place.column,
                    check.outcome.word(),
                    visible(&check.rule),
                    check.clause,
                )?;
                if let Some(subject) = &check.subject {
                    write!(out, ", {}", visible(subject))?;
                }
                writeln!(out, ": {}", visible(&check.why))?;
            }
        }
        if Verdict::of_plan(plan, report.allow_risk) == Verdict::NotChecked {
            writeln!(out, "{name}: not checked")?;
        }
    }
    totals(report, out)
}

/// Writes a line for each thing said, and nothing else.
///
/// # Errors
/// Whatever `out` fails with.
pub fn lines(
    said: &[Diagnostic],
    store: &Store,
    colour: bool,
    out: &mut dyn Write,
) -> io::Result<()> {
    let lines = Lines::new(store, colour);
    said.iter().try_for_each(|said| lines.write(said, out))
}

/// The last line: all five counts, plans, standards, date.
fn totals(report: &Report, out: &mut dyn Write) -> io::Result<()> {
    write!(
        out,
        "strikeoff: {}{}; {}",
        phrase::counts(&report.counts()),
        phrase::by_deviation(report.all_diagnostics()),
        phrase::plans(report)
    )?;
    for standard in &report.standards {
        let digest = phrase::digest(standard);
        write!(out, "; {}, digest {digest}", phrase::standard(standard))?;
    }
    writeln!(out, "; date {}", visible(&report.date))
}

/// Writes single lines.
pub(super) struct Lines<'s> {
    files: Names<'s>,
    config: Config,
    styles: Option<Styles>,
}

impl<'s> Lines<'s> {
    /// Lines over these texts.
    pub(super) fn new(store: &'s Store, colour: bool) -> Self {
        Self {
            files: Names(store),
            config: Config {
                display_style: DisplayStyle::Short,
                ..Config::default()
            },
            styles: colour.then(Styles::default),
        }
    }

    /// `plan:24:3: error[breaks]: …`.
    pub(super) fn write(&self, said: &Diagnostic, out: &mut dyn Write) -> io::Result<()> {
        let severity = match said.severity {
            Severity::Error => spoken::Severity::Error,
            Severity::Warning => spoken::Severity::Warning,
            Severity::Note => spoken::Severity::Note,
        };
        let mut line = spoken::Diagnostic::new(severity).with_code(said.code.slug());
        line.message = message(said);
        if let Some(label) = said.primary() {
            let place = spoken::Label::primary(label.span.file, label.span.range());
            line.labels.push(place);
        } else if let Some(file) = said.file {
            // The short style names no file without a place.
            write!(out, "{}: ", visible(self.files.0.get(file).name()))?;
        }
        let written = match &self.styles {
            Some(styles) => {
                let mut writer = StylesWriter::new(Ansi::new(out), styles);
                term::emit_to_write_style(&mut writer, &self.config, &self.files, &line)
            }
            None => term::emit_to_io_write(out, &self.config, &self.files, &line),
        };
        written.map_err(|error| match error {
            FilesError::Io(error) => error,
            other => io::Error::other(other.to_string()),
        })
    }
}

/// The headline and, for a finding, its figures.
fn message(said: &Diagnostic) -> String {
    let mut message = visible(&said.headline).into_owned();
    if let Some(finding) = &said.finding {
        let mut mark = "; ";
        let parts = [
            ("rule", Some(&finding.rule)),
            ("about", finding.subject.as_ref()),
            ("value", finding.value.as_ref()),
            ("limit", finding.limit.as_ref()),
            ("margin", finding.margin.as_ref()),
        ];
        for (name, text) in parts {
            // What the headline says already is not said again.
            if let Some(text) = text
                && !said.headline.contains(text.as_str())
            {
                message.push_str(mark);
                message.push_str(name);
                message.push(' ');
                message.push_str(&visible(text));
                mark = ", ";
            }
        }
    }
    // Why not is all that there is to do something about.
    if said.code == Code::CannotWorkOut
        && let Some(why) = said.notes.first()
    {
        message.push_str("; ");
        message.push_str(&visible(why));
    }
    if let Some(repair) = said.repairs.first() {
        message.push_str(&format!("; {}: ", super::phrase::repair(repair)));
        message.push_str(&visible(&repair.words));
    } else if let Some(help) = said.help.as_ref().filter(|_| said.finding.is_none()) {
        message.push_str("; help: ");
        message.push_str(&visible(help));
    }
    message
}

/// Our store, as the renderer reads it. Columns count characters.
struct Names<'s>(&'s Store);

impl<'a> Files<'a> for Names<'_> {
    type FileId = FileId;
    type Name = Cow<'a, str>;
    type Source = &'a str;

    fn name(&'a self, id: FileId) -> Result<Cow<'a, str>, FilesError> {
        Ok(visible(self.0.get(id).name()))
    }

    fn source(&'a self, id: FileId) -> Result<&'a str, FilesError> {
        Ok(self.0.get(id).text())
    }

    fn line_index(&'a self, id: FileId, byte: usize) -> Result<usize, FilesError> {
        Ok(self.0.get(id).line_of(byte))
    }

    fn column_number(&'a self, id: FileId, _line: usize, byte: usize) -> Result<usize, FilesError> {
        Ok(self.0.get(id).place(byte).column as usize)
    }

    fn line_range(&'a self, id: FileId, line: usize) -> Result<Range<usize>, FilesError> {
        Ok(self.0.get(id).line_range(line))
    }
}
