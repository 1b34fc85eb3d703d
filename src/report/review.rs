//! A review of a standard for people: worst first, each with its places and what to do next.

use std::io::{self, Write};

use super::Style;
use super::document::Document;
use super::explain::severity_word;
use crate::diagnostic::{Code, Evidence, Review, ReviewFinding, Severity};
use crate::source::{Span, Store};

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
    let mut page = Page {
        store,
        show,
        document: Document::new(&review.name, ""),
        hidden: false,
    };
    page.write(review);
    out.write_all(page.document.to_text(style).as_bytes())
}

struct Page<'r> {
    store: &'r Store,
    show: ReviewShow,
    document: Document,
    /// Whether something was left out.
    hidden: bool,
}

impl Page<'_> {
    fn write(&mut self, review: &Review) {
        let edition = match &review.edition {
            Some(edition) => format!(", edition {edition}"),
            None => String::new(),
        };
        let file = self.store.get(review.file).name();
        let heading = format!("{file}: {}{edition}", review.name);
        self.document.heading(1, heading);
        let mut at = 0;
        while let Some(first) = review.findings.get(at) {
            let code = first.said.code;
            let same = |finding: &&ReviewFinding| {
                finding.said.code == code && finding.said.severity == first.said.severity
            };
            let group: Vec<&ReviewFinding> =
                review.findings[at..].iter().take_while(same).collect();
            at += group.len();
            self.group(&group);
        }
        self.totals(review);
    }

    /// All findings of one code.
    fn group(&mut self, group: &[&ReviewFinding]) {
        let Some(first) = group.first() else {
            return;
        };
        let slug = first.said.code.slug();
        // Notes would drown the rest: one line for all of a sort.
        if first.said.severity == Severity::Note && !self.show.full {
            self.hidden = true;
            // What the standard explains is told with its rules, for a reader who looks for them.
            let told = match first.said.code {
                Code::Explained => group.len() <= 3 * FEW,
                // Where nothing is claimed is said in full, on top: silence must not look like a yes.
                Code::NotDecided => true,
                _ => false,
            };
            if group.len() > FEW && !told {
                let members = group.iter().map(|finding| finding.members.len().max(1));
                let names: usize = members.sum();
                let what = first.said.code.explanation().summary;
                self.document
                    .paragraph(format!("note[{slug}]: {names} × {what}"));
                return;
            }
            for finding in group {
                let place = finding.said.primary().map(|label| self.place(label.span));
                let place = place.map(|place| format!(" ({place})")).unwrap_or_default();
                let headline = &finding.said.headline;
                self.document
                    .paragraph(format!("note[{slug}]: {headline}{place}"));
            }
            return;
        }
        let most = if self.show.full {
            usize::MAX
        } else {
            MOST_OF_ONE
        };
        for finding in group.iter().take(most) {
            self.finding(finding);
        }
        if group.len() > most {
            let rest = group.len() - most;
            let word = severity_word(first.said.severity);
            self.document
                .paragraph(format!("{word}[{slug}]: {rest} more of these"));
            self.document.gap();
            self.hidden = true;
        }
    }

    fn finding(&mut self, finding: &ReviewFinding) {
        let said = &finding.said;
        let (word, slug) = (severity_word(said.severity), said.code.slug());
        self.document
            .heading(2, format!("{word}[{slug}]: {}", said.headline));
        let labels = said.labels().iter().map(|label| {
            let (place, line) = (self.place(label.span), self.line(label.span));
            if label.words.is_empty() {
                format!("{place}  {line}")
            } else {
                format!("{place}  {line}  ({})", label.words)
            }
        });
        let mut lines: Vec<String> = labels.collect();
        let few = if self.show.full { usize::MAX } else { FEW };
        if finding.members.len() > 1 {
            let shown: Vec<&str> = finding
                .members
                .iter()
                .take(few)
                .map(String::as_str)
                .collect();
            let mut text = format!("{}s: {}", finding.noun, shown.join("; "));
            if finding.members.len() > few {
                text.push_str(&format!("; and {} more", finding.members.len() - few));
                self.hidden = true;
            }
            lines.push(text);
        }
        lines.extend(said.notes.iter().map(|note| format!("note: {note}")));
        match (finding.ground, &finding.witness) {
            (Evidence::Read, _) => {}
            (ground, None) => lines.push(ground.word().to_owned()),
            (ground, Some(witness)) => {
                lines.push(format!(
                    "{}; a checked run {}",
                    ground.word(),
                    witness.words
                ));
            }
        }
        lines.extend(said.help.iter().map(|help| format!("next: {help}")));
        self.document.list(lines);
        if let (true, Some(witness)) = (self.show.witnesses, &finding.witness) {
            self.document.verbatim(&witness.plan);
        }
    }

    fn totals(&mut self, review: &Review) {
        let noun = |count: usize, one: &str| match count {
            1 => format!("1 {one}"),
            count => format!("{count} {one}s"),
        };
        let count = |severity, one: &str| noun(review.count(severity), one);
        if review.findings.is_empty() {
            self.document.paragraph("nothing found");
        } else if self.hidden {
            self.document.paragraph(
                "`--full` lists everything; `strikeoff explain CODE` says what a code means.",
            );
        }
        let witnesses = review.findings.iter().any(|of| of.witness.is_some());
        if witnesses && !self.show.witnesses {
            self.document.paragraph(
                "`--witness` prints the runs that show findings, as plans that can be checked.",
            );
        }
        self.document.paragraph(format!(
            "review: {}, {}, {}; {}, {} of records",
            count(Severity::Error, "error"),
            count(Severity::Warning, "warning"),
            count(Severity::Note, "note"),
            noun(review.requirements, "requirement"),
            noun(review.combinations, "combination")
        ));
    }

    fn place(&self, span: Span) -> String {
        let place = self.store.place(span);
        format!("{}:{}", self.store.get(span.file).name(), place.line)
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
        if cut.len() < line.len() {
            format!("{cut}…")
        } else {
            cut
        }
    }
}
