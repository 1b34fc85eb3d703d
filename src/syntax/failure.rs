//! Why a broken piece could not be read.
//!
//! A successful parse forgets where it had to give up, so each broken piece is read again with a strict
//! entry rule: where that stops, and what would have gone on, make the problem. Costs nothing on good text.

use super::grammar::{self, Rule, Stop};
use super::tree::Broken;
use super::{Found, Inside, Problem, ProblemNode, mask};
use crate::source::Span;

/// Words that start a statement.
const STATEMENTS: &[&str] = &[
    "standard", "run", "use", "unit", "kind", "step", "add", "rule", "caution", "sequence",
];

/// Words kept free for a later edition.
const RESERVED: &[&str] = &["table", "strike-off", "deviation"];

/// Words that start a clause of a rule.
const RULE_CLAUSES: &[&str] = &[
    "shall", "should", "may", "when", "for", "because", "per", "adjust", "caution", "say",
];

/// Adds the problem of a broken piece.
pub(super) fn explain(inside: Inside, broken: &Broken<'_>, problems: &mut Vec<Problem>) {
    let piece = Piece { inside, broken };
    let (start, size, node) = piece.reason();
    let file = broken.span.file;
    let from = broken.span.start as usize + start;
    problems.push(Problem {
        span: Span::new(file, from, from + size),
        node,
    });
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
        if let Some((at, character)) = line.char_indices().find(|(_, c)| is_control(*c)) {
            let node = ProblemNode::CharacterNotAllowed(character);
            return (at, character.len_utf8(), node);
        }
        if mask::deepest(line) > mask::DEEPEST {
            return (indent, body.len(), ProblemNode::NestedTooDeep);
        }
        if body.starts_with('}') {
            return (indent, 1, ProblemNode::BraceStray);
        }
        if RESERVED.contains(&first) && body.len() > first.len() {
            let node = ProblemNode::WordReserved(first.to_owned());
            return (indent, first.len(), node);
        }
        if let Some(node) = self.misplaced(body, first) {
            return (indent, first.len(), node);
        }
        if let Some(reason) = self.braces(line) {
            return reason;
        }
        match grammar::read(self.strict(), line) {
            Err(stop) => self.stopped(line, indent, &stop),
            // The piece is broken for a reason that the line alone does not show.
            Ok(_) => (indent, body.len(), self.unexpected(line, line.len(), &[])),
        }
    }

    fn strict(&self) -> Rule {
        match self.inside {
            Inside::File => Rule::strict_statement,
            Inside::Kind => Rule::strict_kind_line,
            Inside::Record => Rule::strict_record_line,
            Inside::Rule | Inside::Caution => Rule::strict_rule_line,
            Inside::Sequence => Rule::strict_sequence_line,
        }
    }

    /// A clause of a rule where there is no rule.
    fn misplaced(&self, body: &str, first: &str) -> Option<ProblemNode> {
        let of_a_rule = match first {
            "shall" | "should" | "may" | "when" | "because" | "adjust" | "per" => true,
            "for" => body[first.len()..].trim_start().starts_with("each"),
            "say" | "caution" => self.inside != Inside::File,
            _ => false,
        };
        let outside = matches!(self.inside, Inside::File | Inside::Kind | Inside::Record);
        (of_a_rule && outside).then(|| ProblemNode::ClauseMisplaced {
            word: first.to_owned(),
            inside: self.inside,
        })
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
                let node = ProblemNode::EscapeUnknown(rest[escape.clone()].to_owned());
                return (at + escape.start, escape.len(), node);
            }
            if !without_texts(rest).is_empty() && without_texts(rest).starts_with('"') {
                return (at, rest.trim_end().len(), ProblemNode::TextNotClosed);
            }
        }
        let found = token(rest);
        if STATEMENTS.contains(&found)
            && stop
                .expected
                .iter()
                .any(|rule| matches!(rule, Rule::kind_name))
        {
            let node = ProblemNode::KeywordAsName(found.to_owned());
            return (at, found.len(), node);
        }
        let mut node = self.unexpected(line, at, &stop.expected);
        if at == indent
            && let ProblemNode::Unexpected { meant, .. } = &mut node
        {
            *meant = self.meant(first_word(rest));
        }
        if found.is_empty() {
            let end = line.trim_end().len();
            return (end, 0, node);
        }
        (at, found.len(), node)
    }

    /// The keyword nearest to a word that starts nothing.
    fn meant(&self, word: &str) -> Option<&'static str> {
        let keywords = match self.inside {
            Inside::Rule | Inside::Caution => RULE_CLAUSES,
            Inside::File => STATEMENTS,
            _ => return None,
        };
        keywords
            .iter()
            .map(|keyword| (strsim::osa_distance(keyword, word), *keyword))
            .filter(|(distance, keyword)| *distance <= 2 && *distance * 2 < keyword.len())
            .min()
            .map(|(_, keyword)| keyword)
    }

    fn unexpected(&self, line: &str, at: usize, rules: &[Rule]) -> ProblemNode {
        let rest = line.get(at..).unwrap_or("");
        let mut expected: Vec<&'static str> = Vec::new();
        for rule in rules {
            if let Some(words) = words(*rule)
                && !expected.contains(&words)
            {
                expected.push(words);
            }
        }
        ProblemNode::Unexpected {
            inside: self.inside,
            found: match token(rest) {
                "" => Found::EndOfLine,
                text => Found::Text(text.to_owned()),
            },
            expected,
            meant: None,
        }
    }
}

/// What a reader would call the thing that a rule reads; `None` where it would only confuse.
fn words(rule: Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::trailing => "the end of the line",
        Rule::open_brace => "`{`",
        Rule::text => "a text in double quotes",
        _ => return None,
    })
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

fn is_control(character: char) -> bool {
    character.is_control() && character != '\t'
}

/// The line with texts and the comment blanked out; an unclosed quote stays.
fn without_texts(line: &str) -> String {
    let mut bare = String::with_capacity(line.len());
    let mut rest = line;
    while let Some(character) = rest.chars().next() {
        if character == '#' {
            break;
        }
        let size = match (character, text_size(rest)) {
            ('"', Some(size)) => {
                bare.extend(std::iter::repeat_n(' ', size));
                size
            }
            _ => {
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
