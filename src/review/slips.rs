//! Slips in texts and comments: one quantity in two units that disagree, and statements that are
//! known to be wrong (`specs/slips.std`).

use super::finding;
use super::quantities::{Written, pairs};
use crate::check::prepare;
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding};
use crate::names::{ReadProblem, Shelf};
use crate::source::{FileId, Span, Store, visible};
use crate::types::{Grounds, Standard, Value};
use crate::units::show_exact;

/// The kind whose records are statements known to be wrong, and its settings.
const KIND: &str = "published-slip";
const WORDS: &str = "words";
const CORRECT: &str = "correct";

/// A statement known to be wrong.
struct Slip {
    /// Any of these, each as parts that follow each other.
    words: Vec<Vec<String>>,
    correct: String,
    source: Option<String>,
}

/// Nothing but what ships.
struct Shipped;

impl Shelf for Shipped {
    fn read(&self, _path: &str) -> Result<String, ReadProblem> {
        Err(ReadProblem::Missing)
    }

    fn neighbours(&self, _path: &str) -> Vec<String> {
        Vec::new()
    }
}

/// The slips of a standard.
fn slips_of(standard: &Standard, found: &mut Vec<Slip>) {
    let Some(kind) = standard.kind_names.get(KIND) else {
        return;
    };
    let names = &standard.kind(*kind).field_names;
    let (Some(words), Some(correct)) = (names.get(WORDS), names.get(CORRECT)) else {
        return;
    };
    for record in standard.records.iter().filter(|of| of.kind == *kind) {
        let text = |field: &crate::types::FieldId| {
            let stated = record.values.get(field.0 as usize)?.as_ref()?;
            match &stated.value {
                Value::Text(text) => Some((text.clone(), stated.per.clone())),
                _ => None,
            }
        };
        let (Some((words, _)), Some((correct, per))) = (text(words), text(correct)) else {
            continue;
        };
        let parts = |way: &str| -> Vec<String> {
            way.split('…').map(|part| plain(part.trim())).collect()
        };
        found.push(Slip {
            words: words.split(" | ").map(parts).collect(),
            correct,
            source: match per.map(|source| source.grounds) {
                Some(Grounds::Named(name) | Grounds::Law(name)) => Some(name),
                _ => None,
            },
        });
    }
}

/// All slips known: those that ship, and those of the standard.
fn known(standard: &Standard) -> Vec<Slip> {
    let mut found = Vec::new();
    if !standard.kind_names.contains_key(KIND) {
        let mut store = Store::new();
        let root = store.add("slips", "standard \"slips\" edition \"1\"\n\nuse slips\n");
        slips_of(&prepare(&mut store, &Shipped, root).standard, &mut found);
    }
    slips_of(standard, &mut found);
    found
}

/// A text as it is compared: lower case, one spelling of signs, single blanks.
fn plain(text: &str) -> String {
    let text = text.to_lowercase();
    let text = text
        .replace('²', "2")
        .replace("^2", "2")
        .replace('–', "-")
        .replace("deg", "°")
        .replace("° ", "°")
        .replace("°c", " °c")
        .replace("°f", " °f")
        .replace('%', " %");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether the parts follow each other in a text.
fn follows(text: &str, parts: &[String]) -> bool {
    let mut rest = text;
    for part in parts {
        // A number or word counts only as a whole.
        let found = rest.match_indices(part.as_str()).find(|(at, _)| {
            let joins = |letter: Option<char>| letter.is_some_and(char::is_alphanumeric);
            let starts = part.chars().next().is_some_and(char::is_alphanumeric);
            let ends = part.chars().next_back().is_some_and(char::is_alphanumeric);
            let after = rest.get(at + part.len()..).unwrap_or("");
            let before = rest.get(..*at).unwrap_or("").chars().next_back();
            let inside_another = (starts && joins(before)) || (ends && joins(after.chars().next()));
            !inside_another
        });
        let Some((at, _)) = found else { return false };
        rest = rest.get(at + part.len()..).unwrap_or("");
    }
    true
}

/// The texts and comments of a file: place and words.
fn prose(file: FileId, text: &str) -> Vec<(Span, &str)> {
    let mut found = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let (mut open, mut escaped) = (None, false);
        for (index, letter) in line.char_indices() {
            let stretch = match (letter, open) {
                ('"', None) => {
                    open = Some(index + 1);
                    None
                }
                ('"', Some(from)) if !escaped => {
                    open = None;
                    Some((from, index))
                }
                ('#', None) => Some((index + 1, line.trim_end().len())),
                _ => None,
            };
            escaped = letter == '\\' && !escaped;
            let Some((from, to)) = stretch else { continue };
            if let Some(words) = line.get(from..to) {
                found.push((Span::new(file, start + from, start + to), words));
            }
            if letter == '#' {
                break;
            }
        }
        start += line.len();
    }
    found
}

/// Slips in the texts of a standard.
pub(super) fn slips(store: &Store, standard: &Standard) -> Vec<ReviewFinding> {
    let known = known(standard);
    let mut found = Vec::new();
    for file in &standard.files {
        let text = store.get(*file);
        // The list of slips is full of them.
        if text.name() == "<slips>" {
            continue;
        }
        let mut last: Option<(Span, String)> = None;
        for (span, words) in prose(*file, text.text()) {
            found.extend(
                pairs(words)
                    .into_iter()
                    .filter_map(|pair| disagrees(span, &pair)),
            );
            let mut line = plain(words);
            // A comment may go on in the next line.
            if let Some((before, earlier)) = &last
                && text.line_of(before.start as usize) + 1 == text.line_of(span.start as usize)
            {
                line = format!("{earlier} {line}");
            }
            let met = |slip: &&Slip| {
                let whole = |way: &Vec<String>| follows(&line, way);
                let told = |way: &Vec<String>| {
                    last.as_ref()
                        .is_some_and(|(_, earlier)| follows(earlier, way))
                };
                slip.words.iter().any(|way| whole(way) && !told(way))
            };
            found.extend(known.iter().filter(met).map(|slip| published(span, slip)));
            last = Some((span, plain(words)));
        }
    }
    found
}

fn published(span: Span, slip: &Slip) -> ReviewFinding {
    let mut said = Diagnostic::new(
        Code::PublishedSlip,
        span,
        "this has been printed before, and is wrong",
        "in this text",
    )
    .note(visible(&slip.correct).into_owned());
    if let Some(source) = &slip.source {
        said = said.note(format!("source: {}", visible(source)));
    }
    finding(
        said.help("put the text right, and look at the limit beside it"),
        Evidence::Read,
    )
}

/// Says where one quantity in two units is not the same.
fn disagrees(span: Span, (one, other): &(Written, Written)) -> Option<ReviewFinding> {
    let wrong = one.disagrees(other)?;
    let said = Diagnostic::new(
        Code::PairDisagrees,
        Span::new(
            span.file,
            span.start as usize + one.place.start,
            span.start as usize + other.place.end,
        ),
        format!(
            "{} is {}, not {}",
            show_exact(&wrong.0, &one.unit),
            show_exact(&wrong.0, &other.unit),
            show_exact(&wrong.1, &other.unit)
        ),
        "these two disagree",
    )
    .help("find out which of the two was measured, and put the other right");
    Some(finding(said, Evidence::Read))
}

#[cfg(test)]
mod tests {
    use super::{follows, plain, prose};
    use crate::source::FileId;

    #[test]
    fn parts_follow_each_other_as_whole_words() {
        let parts = |text: &str| {
            text.split('…')
                .map(|part| plain(part.trim()))
                .collect::<Vec<_>>()
        };
        assert!(follows(&plain("Tension 25 N/cm²"), &parts("N/cm2")));
        assert!(!follows(&plain("Tension 25 N/cm"), &parts("N/cm2")));
        assert!(!follows(&plain("N/cm21"), &parts("N/cm2")));
        assert!(follows(
            &plain("class 1: 2.5 degC"),
            &parts("class 1 … 2.5 °C")
        ));
        assert!(!follows(
            &plain("2.5 °C: class 1"),
            &parts("class 1 … 2.5 °C")
        ));
    }

    #[test]
    fn prose_is_texts_and_comments() {
        let text = "rule a \"one # two\" { # three\n  per \"f\\\"our\"\n";
        let found: Vec<&str> = prose(FileId(0), text)
            .into_iter()
            .map(|(_, words)| words)
            .collect();
        assert_eq!(found, ["one # two", " three", "f\\\"our"]);
    }
}
