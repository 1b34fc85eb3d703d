//! A review of a standard for people: worst first, each with its places and what to do next.

use std::io::{self, Write};

use super::Style;
use super::explain::severity_word;
use super::fold::fold;
use crate::diagnostic::{Code, Evidence, Review, ReviewFinding, Severity};
use crate::source::{Span, Store, visible};

/// How many members of a finding are named unless all are wanted.
const FEW: usize = 4;

/// How many findings of one code are told unless all are wanted.
const MOST_OF_ONE: usize = 6;

/// What is shown of a review.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ReviewShow {
    /// Every finding with every member, rather than counts.
    pub full: bool,
    /// The runs that show findings.
    pub witnesses: bool,
}

/// Writes a review for people.
///
/// # Errors
/// Whatever `out` fails with.
pub fn review(
    review: &Review,
    store: &Store,
    show: ReviewShow,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    let page = Page {
        store,
        show,
        style,
        width: style.width.clamp(40, 1000),
    };
    page.write(review, &mut out)?;
    out.flush()
}

struct Page<'r> {
    store: &'r Store,
    show: ReviewShow,
    style: &'r Style,
    width: usize,
}

impl Page<'_> {
    fn write(&self, review: &Review, out: &mut dyn Write) -> io::Result<()> {
        let edition = match &review.edition {
            Some(edition) => format!(", edition {}", visible(edition)),
            None => String::new(),
        };
        let file = visible(self.store.get(review.file).name());
        let heading = format!("{file}: {}{edition}", visible(&review.name));
        self.bold(&fold(&heading, self.width, "", "  "), out)?;
        writeln!(out)?;
        let mut hidden = false;
        let mut at = 0;
        while let Some(first) = review.findings.get(at) {
            let code = first.said.code;
            let same = |finding: &&ReviewFinding| {
                finding.said.code == code && finding.said.severity == first.said.severity
            };
            let group: Vec<&ReviewFinding> =
                review.findings[at..].iter().take_while(same).collect();
            at += group.len();
            hidden |= self.group(&group, out)?;
        }
        self.totals(review, hidden, out)
    }

    /// All findings of one code; whether something was left out.
    fn group(&self, group: &[&ReviewFinding], out: &mut dyn Write) -> io::Result<bool> {
        let Some(first) = group.first() else {
            return Ok(false);
        };
        let note = first.said.severity == Severity::Note;
        // Notes would drown the rest: one line for all of a sort.
        if note && !self.show.full {
            let slug = first.said.code.slug();
            // What the standard explains is told with its rules, for a reader who looks for them.
            let told = first.said.code == Code::Explained && group.len() <= 3 * FEW;
            if group.len() > FEW && !told {
                let names: usize = group
                    .iter()
                    .map(|finding| finding.members.len().max(1))
                    .sum();
                let what = first.said.code.explanation().summary;
                let line = format!("note[{slug}]: {names} × {what}");
                out.write_all(fold(&line, self.width, "", "  ").as_bytes())?;
                return Ok(true);
            }
            for finding in group {
                let place = finding.said.primary().map(|label| self.place(label.span));
                let place = place.map(|place| format!(" ({place})")).unwrap_or_default();
                let line = format!("note[{slug}]: {}{place}", visible(&finding.said.headline));
                out.write_all(fold(&line, self.width, "", "  ").as_bytes())?;
            }
            return Ok(true);
        }
        let most = if self.show.full {
            usize::MAX
        } else {
            MOST_OF_ONE
        };
        let mut hidden = false;
        for finding in group.iter().take(most) {
            hidden |= self.finding(finding, out)?;
        }
        if group.len() > most {
            let rest = group.len() - most;
            writeln!(
                out,
                "{}[{}]: {rest} more of these\n",
                severity_word(first.said.severity),
                first.said.code.slug()
            )?;
            hidden = true;
        }
        Ok(hidden)
    }

    fn finding(&self, finding: &ReviewFinding, out: &mut dyn Write) -> io::Result<bool> {
        let said = &finding.said;
        let head = format!(
            "{}[{}]: {}",
            severity_word(said.severity),
            said.code.slug(),
            visible(&said.headline)
        );
        self.bold(&fold(&head, self.width, "", "  "), out)?;
        for label in said.labels() {
            let place = self.place(label.span);
            let line = self.line(label.span);
            let text = if label.words.is_empty() {
                format!("{place}  {line}")
            } else {
                format!("{place}  {line}  ({})", visible(&label.words))
            };
            out.write_all(fold(&text, self.width, "  ", "      ").as_bytes())?;
        }
        let mut hidden = false;
        let few = if self.show.full { usize::MAX } else { FEW };
        if finding.members.len() > 1 {
            let shown: Vec<&str> = finding
                .members
                .iter()
                .take(few)
                .map(String::as_str)
                .collect();
            let mut text = format!("{}s: {}", finding.noun, visible(&shown.join("; ")));
            if finding.members.len() > few {
                text.push_str(&format!("; and {} more", finding.members.len() - few));
                hidden = true;
            }
            out.write_all(fold(&text, self.width, "  ", "      ").as_bytes())?;
        }
        for note in &said.notes {
            self.tail("note", note, out)?;
        }
        match (finding.ground, &finding.witness) {
            (Evidence::Read, _) => {}
            (ground, None) => writeln!(out, "  {}", ground.word())?,
            (ground, Some(witness)) => {
                let words = format!("{}; a checked run {}", ground.word(), witness.words);
                out.write_all(fold(&visible(&words), self.width, "  ", "      ").as_bytes())?;
                if self.show.witnesses {
                    for line in witness.plan.lines() {
                        writeln!(out, "    │ {}", visible(line))?;
                    }
                }
            }
        }
        if let Some(help) = &said.help {
            self.tail("next", help, out)?;
        }
        writeln!(out)?;
        Ok(hidden)
    }

    fn totals(&self, review: &Review, hidden: bool, out: &mut dyn Write) -> io::Result<()> {
        let noun = |count: usize, one: &str| match count {
            1 => format!("1 {one}"),
            count => format!("{count} {one}s"),
        };
        let count = |severity, one: &str| noun(review.count(severity), one);
        if review.findings.is_empty() {
            writeln!(out, "nothing found")?;
        } else if hidden {
            let full =
                "`--full` lists everything; `strikeoff explain CODE` says what a code means.";
            out.write_all(fold(full, self.width, "", "").as_bytes())?;
        }
        let witnesses = review.findings.iter().any(|of| of.witness.is_some());
        if witnesses && !self.show.witnesses {
            let line =
                "`--witness` prints the runs that show findings, as plans that can be checked.";
            out.write_all(fold(line, self.width, "", "").as_bytes())?;
        }
        let totals = format!(
            "review: {}, {}, {}; {}, {} of records",
            count(Severity::Error, "error"),
            count(Severity::Warning, "warning"),
            count(Severity::Note, "note"),
            noun(review.requirements, "requirement"),
            noun(review.combinations, "combination")
        );
        out.write_all(fold(&totals, self.width, "", "  ").as_bytes())
    }

    fn place(&self, span: Span) -> String {
        let place = self.store.place(span);
        format!(
            "{}:{}",
            visible(self.store.get(span.file).name()),
            place.line
        )
    }

    /// The line a place stands in, without the space at its ends.
    fn line(&self, span: Span) -> String {
        let text = self.store.get(span.file);
        let line = text.line_range(text.line_of(span.start as usize));
        let line = text.text().get(line).unwrap_or("").trim();
        // The alignment of columns means nothing outside of them.
        let words: Vec<&str> = line.split_whitespace().collect();
        let line = words.join(" ");
        let cut: String = line.chars().take(100).collect();
        let cut = if cut.len() < line.len() {
            format!("{cut}…")
        } else {
            cut
        };
        visible(&cut).into_owned()
    }

    fn tail(&self, name: &str, words: &str, out: &mut dyn Write) -> io::Result<()> {
        let first = format!("  {name}: ");
        let text = fold(&visible(words), self.width, &first, "      ");
        out.write_all(text.as_bytes())
    }

    fn bold(&self, text: &str, out: &mut dyn Write) -> io::Result<()> {
        if self.style.colour {
            writeln!(out, "\u{1b}[1m{}\u{1b}[0m", text.trim_end())
        } else {
            out.write_all(text.as_bytes())
        }
    }
}
