//! Why a broken piece could not be read.
//!
//! A successful parse forgets where it had to give up, so each broken piece is read again with a strict
//! entry rule: where that stops, and what would have gone on, make the problem. Costs nothing on good text.

use super::expected::{expected, form};
use super::grammar::{self, Rule, Stop};
use super::tree::Broken;
use super::{Found, Hint, Inside, Problem, ProblemNode, mask, phrasing, slip};
use crate::source::Span;

/// Words that start a statement.
const STATEMENTS: &[&str] = &[
    "standard",
    "run",
    "use",
    "unit",
    "kind",
    "step",
    "add",
    "rule",
    "caution",
    "table",
    "example",
    "deviation",
    "reading",
    "without",
    "sequence",
];

/// What a test of a standard was called before; to a printer it is the printed piece that is approved.
const OLD_EXAMPLE: &str = "strike-off";

/// How a setting was said to be turned before sorts were, and how it is now.
const OLD_STEP: &str = "step";
const SET_IN_STEPS: &str = "set in steps of";

/// Words that start a clause of an example.
const EXAMPLE_CLAUSES: &[&str] = &["run", "expect", "because"];

/// Words that start a clause of a deviation.
const DEVIATION_CLAUSES: &[&str] = &[
    "run", "when", "up", "because", "approved", "until", "pieces",
];

/// Words that start a clause of a reading.
const READING_CLAUSES: &[&str] = &["value", "at", "on", "with", "pieces"];

/// Words that start a clause of a rule.
const RULE_CLAUSES: &[&str] = &[
    "shall", "should", "may", "when", "for", "because", "per", "law", "adjust", "caution", "say",
];

/// Words that tie others together and are no part of a name.
const LITTLE_WORDS: &[&str] = &[
    "is", "to", "at", "per", "from", "of", "and", "or", "because",
];

/// Adds the problem of a broken piece.
pub(super) fn explain(inside: Inside, broken: &Broken<'_>, problems: &mut Vec<Problem>) {
    let piece = Piece { inside, broken };
    let (start, size, node) = piece.reason();
    let file = broken.span.file;
    let from = broken.span.start as usize + start;
    problems.push(Problem::new(Span::new(file, from, from + size), node));
}

/// A broken piece and what it stands in.
struct Piece<'b, 't> {
    inside: Inside,
    broken: &'b Broken<'t>,
}

/// Offset and size of the place to show, and the reason.
type Reason = (usize, usize, ProblemNode);

impl<'t> Piece<'_, 't> {
    /// The first line, which is the one that could not be read.
    fn line(&self) -> &'t str {
        let text = self.broken.text;
        text.split('\n').next().unwrap_or("").trim_end_matches('\r')
    }

    fn reason(&self) -> Reason {
        let line = self.line();
        let indent = line.len() - line.trim_start_matches([' ', '\t']).len();
        let body = line.trim_matches([' ', '\t']);
        let first = first_word(body);
        if let Some((at, character)) = not_allowed(line) {
            let node = ProblemNode::CharacterNotAllowed(character);
            return (at, character.len_utf8(), node);
        }
        if mask::deepest(line) > mask::DEEPEST {
            return (indent, body.len(), ProblemNode::NestedTooDeep);
        }
        if body.starts_with('}') {
            return (indent, 1, ProblemNode::BraceStray);
        }
        if let Some(node) = self.misplaced(body, first) {
            return (indent, first.len(), node);
        }
        if self.inside == Inside::File && first == OLD_EXAMPLE {
            return (indent, first.len(), self.old_example(line, indent));
        }
        if let Some(reason) = self.braces(line) {
            return reason;
        }
        match grammar::read(self.strict(), line) {
            Err(stop) => self.stopped(line, indent, &stop),
            // The piece is broken for a reason that the line alone does not show.
            Ok(_) => {
                let stop = Stop {
                    at: indent,
                    expected: Vec::new(),
                };
                (indent, body.len(), self.unexpected(body, &stop, None))
            }
        }
    }

    fn strict(&self) -> Rule {
        match self.inside {
            Inside::File => Rule::strict_statement,
            Inside::Kind => Rule::strict_kind_line,
            Inside::Record => Rule::strict_record_line,
            Inside::Rule | Inside::Caution => Rule::strict_rule_line,
            Inside::Sequence => Rule::strict_sequence_line,
            Inside::Table => Rule::strict_table_line,
            Inside::Example => Rule::strict_example_line,
            Inside::Deviation => Rule::strict_deviation_line,
            Inside::Reading => Rule::strict_reading_line,
        }
    }

    /// A clause of a rule where there is no rule.
    fn misplaced(&self, body: &str, first: &str) -> Option<ProblemNode> {
        let of_a_rule = match first {
            "shall" | "should" | "may" | "when" | "because" | "adjust" | "per" => true,
            "for" => body[first.len()..].trim_start().starts_with("each"),
            "say" | "caution" => self.inside != Inside::File,
            "law" => body[first.len()..].trim_start().starts_with('"'),
            _ => false,
        };
        let outside = matches!(self.inside, Inside::File | Inside::Kind | Inside::Record);
        let word = if first == "for" { "for each" } else { first };
        (of_a_rule && outside).then(|| ProblemNode::ClauseMisplaced {
            word: word.to_owned(),
            inside: self.inside,
        })
    }

    /// A test of a standard under the word it had before.
    fn old_example(&self, line: &str, indent: usize) -> ProblemNode {
        let rest = line.get(indent + OLD_EXAMPLE.len()..).unwrap_or("");
        let line = format!("example{rest}");
        let reads = grammar::read(self.strict(), &format!("{line}\n}}")).is_ok();
        ProblemNode::SpelledOtherwise {
            written: OLD_EXAMPLE.to_owned(),
            instead: "example".to_owned(),
            line: reads.then(|| line.trim_end().to_owned()),
        }
    }

    /// A dial under the word it had before.
    fn old_step(&self, line: &str, at: usize) -> ProblemNode {
        let (before, behind) = line.split_at(at);
        let rest = behind.get(OLD_STEP.len()..).unwrap_or("");
        let line = format!("{before}{SET_IN_STEPS}{rest}");
        let reads = grammar::read(self.strict(), &line).is_ok();
        ProblemNode::SpelledOtherwise {
            written: OLD_STEP.to_owned(),
            instead: SET_IN_STEPS.to_owned(),
            line: reads.then(|| line.trim().to_owned()),
        }
    }

    /// Braces that stand where they may not.
    fn braces(&self, line: &str) -> Option<Reason> {
        let bare = without_texts(line);
        let open = bare.find('{')?;
        if bare.get(open..).unwrap_or("").contains('}') {
            return Some((open, 1, ProblemNode::BraceNotAlone));
        }
        let nested = self.inside != Inside::File && bare.trim_end().ends_with('{');
        nested.then_some((open, 1, ProblemNode::BlockInBlock))
    }

    fn stopped(&self, line: &str, indent: usize, stop: &Stop) -> Reason {
        let at = stop.at.min(line.len());
        let rest = line.get(at..).unwrap_or("");
        if rest.starts_with('"') {
            if let Some(escape) = bad_escape(rest) {
                let written = rest.get(escape.clone()).unwrap_or("").to_owned();
                return (
                    at + escape.start,
                    escape.len(),
                    ProblemNode::EscapeUnknown(written),
                );
            }
            // Behind a number it stands for inches.
            let inches = line
                .get(..at)
                .is_some_and(|before| before.ends_with(|c: char| c.is_ascii_digit()));
            if text_size(rest).is_none() && !rest.contains(['“', '”']) && !inches {
                return (at, rest.trim_end().len(), ProblemNode::TextNotClosed);
            }
        }
        let found = token(rest);
        if STATEMENTS.contains(&found) && stop.expected.contains(&Rule::kind_name) {
            let node = ProblemNode::KeywordAsName(found.to_owned());
            return (at, found.len(), node);
        }
        if let Some(unsigned) = found.strip_prefix('+')
            && unsigned.starts_with(|c: char| c.is_ascii_digit())
            && stop.expected.contains(&Rule::number)
        {
            let node = ProblemNode::NumberMalformed {
                written: found.to_owned(),
                instead: Some(unsigned.to_owned()),
            };
            return (at, found.len(), node);
        }
        if self.inside == Inside::Kind && found == OLD_STEP {
            return (at, found.len(), self.old_step(line, at));
        }
        let blamed = phrasing::blame(self.inside, line, self.strict())
            .or_else(|| slip::blame(self.inside, line, at, self.strict()));
        if let Some((place, node)) = blamed {
            return (place.start, place.len(), node);
        }
        let first = first_word(line.get(indent..).unwrap_or(""));
        if let Some(meant) = self.keyword_meant(line, indent, at, first) {
            let hint = Some(Hint::Keyword(first.to_owned(), meant));
            return (indent, first.len(), self.unexpected(found, stop, hint));
        }
        let hint = self
            .verb(line)
            .or_else(|| self.joined(line, at))
            .or_else(|| self.parted(line, at))
            .or_else(|| self.form(first));
        let node = self.unexpected(found, stop, hint);
        if found.is_empty() {
            return (line.trim_end().len(), 0, node);
        }
        (at, found.len(), node)
    }

    /// The keyword nearest to the first word, if the line stops at it or reads with the keyword.
    fn keyword_meant(
        &self,
        line: &str,
        indent: usize,
        at: usize,
        first: &str,
    ) -> Option<&'static str> {
        let keywords = match self.inside {
            Inside::Rule | Inside::Caution | Inside::Table => RULE_CLAUSES,
            Inside::Example => EXAMPLE_CLAUSES,
            Inside::Deviation => DEVIATION_CLAUSES,
            Inside::Reading => READING_CLAUSES,
            Inside::File => STATEMENTS,
            Inside::Kind | Inside::Record | Inside::Sequence => return None,
        };
        let meant = keywords
            .iter()
            .map(|keyword| (strsim::osa_distance(keyword, first), *keyword))
            .filter(|(distance, keyword)| {
                (1..=2).contains(distance) && distance * 2 <= keyword.len()
            })
            .min()
            .map(|(_, keyword)| keyword)?;
        let rest = line.get(indent + first.len()..)?;
        let reads = || grammar::read(self.strict(), &format!("{meant}{rest}")).is_ok();
        (at == indent || reads()).then_some(meant)
    }

    /// A condition that only lacks its verb.
    fn verb(&self, line: &str) -> Option<Hint> {
        let body = line.trim();
        let condition = matches!(self.inside, Inside::Rule | Inside::Caution)
            && body.contains(' ')
            && grammar::read(self.strict(), &format!("shall {body}")).is_ok();
        condition.then(|| Hint::Verb(format!("shall {body}")))
    }

    /// Two words that read when they are one.
    fn joined(&self, line: &str, at: usize) -> Option<Hint> {
        let (before, behind) = (line.get(..at)?, line.get(at..)?);
        let last = before.split_ascii_whitespace().last()?;
        let next = behind.split_ascii_whitespace().next()?;
        let name = |word: &str| first_word(word) == word && word.starts_with(char::is_alphabetic);
        if next == "shows" && matches!(self.inside, Inside::Record) {
            return Some(Hint::Form(super::expected::SHOWS));
        }
        let apart = before.ends_with([' ', '\t']) && behind.starts_with(next);
        if !apart || !name(last) || !name(next) || LITTLE_WORDS.contains(&next) {
            return None;
        }
        let line = format!("{}-{behind}", before.trim_end());
        grammar::read(self.strict(), &line).ok()?;
        Some(Hint::Joined(format!("{last}-{next}")))
    }

    /// Two words before a value that read when they are one: `off contact 3 mm`.
    fn parted(&self, line: &str, at: usize) -> Option<Hint> {
        let (before, behind) = (line.get(..at)?, line.get(at..)?);
        let mut words = before.split_ascii_whitespace();
        let (first, second) = (words.next()?, words.next()?);
        let name = |word: &str| first_word(word) == word && word.starts_with(char::is_alphabetic);
        let two = words.next().is_none() && name(first) && name(second);
        let kept = |word: &str| {
            STATEMENTS.contains(&word)
                || LITTLE_WORDS.contains(&word)
                || RULE_CLAUSES.contains(&word)
                || word == "loosens"
        };
        if !two || kept(first) || kept(second) {
            return None;
        }
        let joined = format!("{first}-{second}");
        grammar::read(self.strict(), &format!("{joined} {behind}")).ok()?;
        Some(Hint::Joined(joined))
    }

    /// How lines look that start with this word.
    fn form(&self, first: &str) -> Option<Hint> {
        let keyword = match self.inside {
            Inside::File
            | Inside::Rule
            | Inside::Caution
            | Inside::Table
            | Inside::Example
            | Inside::Deviation
            | Inside::Reading => true,
            Inside::Kind => first == "parts",
            Inside::Record => first == "loosens",
            Inside::Sequence => false,
        };
        let form = match (self.inside, first) {
            (Inside::Example, "run") => Some("run \"cases/fast.plan\""),
            (Inside::Deviation, "run") => Some("run \"2691 swim club tees\""),
            (Inside::Reading, "pieces") => Some("pieces 5"),
            _ => form(first),
        };
        form.filter(|_| keyword).map(Hint::Form)
    }

    fn unexpected(&self, found: &str, stop: &Stop, hint: Option<Hint>) -> ProblemNode {
        ProblemNode::Unexpected {
            inside: self.inside,
            found: match found {
                "" => Found::EndOfLine,
                text => Found::Text(text.to_owned()),
            },
            expected: expected(&stop.expected),
            hint,
        }
    }
}

/// The word a line starts with.
fn first_word(body: &str) -> &str {
    let size = body
        .find(|character: char| !character.is_alphanumeric() && character != '-')
        .unwrap_or(body.len());
    body.get(..size).unwrap_or("")
}

/// What stands at the start of `rest`, up to the next white space.
fn token(rest: &str) -> &str {
    rest.split([' ', '\t']).next().unwrap_or("")
}

/// A control character anywhere, or, outside texts and comments, one that cannot be seen or told
/// from a plain space.
fn not_allowed(line: &str) -> Option<(usize, char)> {
    let control = |c: char| c.is_control() && c != '\t';
    let unseen = |c: char| match c {
        ' ' | '\t' => false,
        '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{feff}' => true,
        _ => c.is_whitespace(),
    };
    let anywhere = line.char_indices().find(|(_, c)| control(*c));
    anywhere.or_else(|| without_texts(line).char_indices().find(|(_, c)| unseen(*c)))
}

/// The line with texts and the comment blanked out; an unclosed quote stays.
fn without_texts(line: &str) -> String {
    let mut bare = String::with_capacity(line.len());
    let mut rest = line;
    while let Some(character) = rest.chars().next() {
        if character == '#' {
            break;
        }
        let text = if character == '"' {
            text_size(rest)
        } else {
            None
        };
        let size = match text {
            Some(size) => {
                bare.extend(std::iter::repeat_n(' ', size));
                size
            }
            // Behind a quote that is not closed, no other can be.
            None if character == '"' => {
                bare.push_str(rest);
                rest.len()
            }
            None => {
                bare.push(character);
                character.len_utf8()
            }
        };
        rest = rest.get(size..).unwrap_or("");
    }
    bare
}

/// The size of the text that starts here, quotes included; `None` when it is not closed.
fn text_size(rest: &str) -> Option<usize> {
    let mut escaped = false;
    for (at, character) in rest.char_indices().skip(1) {
        match character {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return Some(at + 1),
            _ => {}
        }
    }
    None
}

/// A backslash in the text that starts here before something it does not escape.
fn bad_escape(rest: &str) -> Option<std::ops::Range<usize>> {
    let size = text_size(rest)?;
    let mut characters = rest.get(..size)?.char_indices();
    while let Some((at, character)) = characters.next() {
        if character == '\\'
            && let Some((_, next)) = characters.next()
            && !matches!(next, '"' | '\\')
        {
            return Some(at..at + 1 + next.len_utf8());
        }
    }
    None
}
