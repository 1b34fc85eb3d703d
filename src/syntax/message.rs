//! Problems in words.

use super::{Found, Hint, Inside, Problem, ProblemNode};
use crate::diagnostic::{Code, Diagnostic};
use crate::source::{Span, visible};

/// How many of the things that would have gone on are named.
const MOST_NAMED: usize = 6;

/// A problem as something to say.
#[must_use]
pub fn diagnostic(problem: &Problem) -> Diagnostic {
    let span = problem.span;
    let new = |code, headline: &str, here: &str| Diagnostic::new(code, span, headline, here);
    match &problem.node {
        ProblemNode::Unexpected {
            inside,
            found,
            expected,
            hint,
        } => unexpected(span, *inside, found, expected, hint.as_ref()),
        ProblemNode::SpelledOtherwise {
            written,
            instead,
            line,
        } => spelled_otherwise(span, written, instead, line.as_deref()),
        ProblemNode::NumberMalformed { written, instead } => {
            number_malformed(span, written, instead.as_deref())
        }
        ProblemNode::TextNotClosed => new(
            Code::TextNotClosed,
            "this text has no closing quote",
            "starts here and does not end on this line",
        )
        .help("close it with `\"` on the same line"),
        ProblemNode::EscapeUnknown(written) => Diagnostic::new(
            Code::EscapeUnknown,
            span,
            format!("{} is no escape in a text", quoted(written)),
            "only a quote or another backslash may follow",
        )
        .help("write `\\\\` for a backslash"),
        ProblemNode::CharacterNotAllowed(character) => character_not_allowed(span, *character),
        ProblemNode::NestedTooDeep => new(
            Code::NestedTooDeep,
            "this goes deeper than any reader could follow",
            "more than 64 brackets deep, or more than 256 operators",
        )
        .help("split it into several lines, or name a part of it as a setting with a formula"),
        ProblemNode::BlockNotClosed { next } => {
            let block = new(
                Code::BlockNotClosed,
                "this block is never closed",
                "opens here",
            );
            match next {
                Some(next) => block
                    .related(*next, "the next statement starts here")
                    .help("put `}` alone on a line before the next statement"),
                None => block.help("put `}` alone on a line behind its last one"),
            }
        }
        ProblemNode::BlockInBlock => new(
            Code::BlockInBlock,
            "a block cannot stand inside a block",
            "opens a second block",
        )
        .help("close the first block with `}` alone on a line before this one starts"),
        ProblemNode::BraceStray => new(
            Code::BraceStray,
            "this `}` closes nothing",
            "no block is open here",
        )
        .help("delete it, or look for the line that should have opened the block"),
        ProblemNode::BraceNotAlone => new(
            Code::BraceNotAlone,
            "a brace shares its line with something else",
            "more than a brace stands here",
        )
        .help("end the line behind `{`, and put `}` alone on its line"),
        ProblemNode::KeywordAsName(word) => Diagnostic::new(
            Code::WordReserved,
            span,
            format!(
                "{} starts a statement and is no name of a kind",
                quoted(word)
            ),
            "choose another word",
        )
        .help("give the kind another name"),
        ProblemNode::ClauseMisplaced { word, inside } => clause_misplaced(span, word, *inside),
    }
}

fn unexpected(
    span: Span,
    inside: Inside,
    found: &Found,
    expected: &[&'static str],
    hint: Option<&Hint>,
) -> Diagnostic {
    let code = if inside == Inside::File {
        Code::UnreadableStatement
    } else {
        Code::UnreadableLine
    };
    let list = listed(expected);
    if let Some(Hint::Keyword(written, meant)) = hint {
        let what = match inside {
            Inside::File => "statement",
            Inside::Example => "clause of an example",
            Inside::Deviation => "clause of a deviation",
            Inside::Reading => "clause of a reading",
            _ => "clause of a rule",
        };
        let headline = format!("{} starts no {what}", quoted(written));
        return Diagnostic::new(code, span, headline, format!("did you mean `{meant}`?"))
            .help(format!("write `{meant}`"));
    }
    let (headline, here) = match found {
        Found::EndOfLine if expected.contains(&"`{`") => (
            "`{` is missing at the end of this line".to_owned(),
            "the block should open here".to_owned(),
        ),
        Found::EndOfLine if list.is_empty() => (
            "this line is not complete".to_owned(),
            "ends here".to_owned(),
        ),
        Found::EndOfLine => (
            "this line is not complete".to_owned(),
            format!("expected {list}"),
        ),
        Found::Text(text) if list.is_empty() => (
            format!("{} cannot be read here", quoted(text)),
            "here".to_owned(),
        ),
        Found::Text(text) => (
            format!("{} cannot stand here", quoted(text)),
            format!("expected {list}"),
        ),
    };
    let brace = matches!(found, Found::Text(text) if text == "{");
    let lone_brace = inside == Inside::File && brace && expected.contains(&"a statement");
    let help = match hint {
        _ if lone_brace => "put `{` at the end of the line above".to_owned(),
        Some(Hint::Joined(joined)) => {
            format!("join the words of a name with hyphens: {}", quoted(joined))
        }
        Some(Hint::Verb(line)) => format!(
            "a requirement starts with `shall`, `should` or `may`: {}",
            quoted(line)
        ),
        Some(Hint::Form(form)) if !expected.contains(&"`{`") => {
            format!("it is written like this: `{form}`")
        }
        _ => shape(inside, expected).to_owned(),
    };
    Diagnostic::new(code, span, headline, here).help(help)
}

/// How such lines look.
fn shape(inside: Inside, expected: &[&'static str]) -> &'static str {
    match inside {
        Inside::File if expected.contains(&"`{`") => {
            "open the block with `{` at the end of the line, and close it with `}` alone on a line"
        }
        Inside::File => {
            "a statement starts with a word, as in `rule slow-heat {`, `use inks` or `screen base {`"
        }
        Inside::Kind => "a setting is a name and a type, as in `belt speed from 0 to 20 m/min`",
        Inside::Record => "a clause is a setting and its value, as in `mesh 80 to 200 /in`",
        Inside::Rule => {
            "a clause of a rule is, for example, `shall dryer.dwell at least 65 s` or `because \"…\"`"
        }
        Inside::Caution => "a caution takes `for each`, `when`, `say \"…\"` and `per \"…\"`",
        Inside::Sequence => {
            "a step is its kind and its settings between commas, as in `print base, 2 strokes`"
        }
        Inside::Table => {
            "a table has clauses of a rule, and rows as in `soft-white | 280 to 320 °F | 280 to 305 °F |`"
        }
        Inside::Example => "an example takes `run \"…\"`, `expect RULE breaks` and `because \"…\"`",
        Inside::Deviation => {
            "a deviation takes `run \"…\"`, `when`, `up to 58 s`, `because \"…\"`, `approved \"…\"`, `until 2026-12-31` and `pieces 300`"
        }
        Inside::Reading => {
            "a reading takes `value 285 °F ± 6 °F`, `at dryer.belt 3 m/min`, `on 2026-11-20`, `with probe-4` and `pieces 5`"
        }
    }
}

fn spelled_otherwise(span: Span, written: &str, instead: &str, line: Option<&str>) -> Diagnostic {
    let (headline, here) = if instead.is_empty() {
        (
            format!("{} has no place here", quoted(written)),
            "leave it out".to_owned(),
        )
    } else if instead == written {
        (
            format!("{} needs a space on both sides", quoted(written)),
            "touches what stands beside it".to_owned(),
        )
    } else {
        (
            format!("{} is not how this is written", quoted(written)),
            format!("write {}", quoted(instead)),
        )
    };
    let help = match line {
        Some(line) => format!("write {}", quoted(line)),
        None if instead.is_empty() => "leave it out".to_owned(),
        None if instead == written => "put a space before it and one behind".to_owned(),
        None => format!("write {} instead", quoted(instead)),
    };
    Diagnostic::new(Code::SpelledOtherwise, span, headline, here).help(help)
}

fn number_malformed(span: Span, written: &str, instead: Option<&str>) -> Diagnostic {
    let headline = format!("{} is not how a number is written", quoted(written));
    let number = Diagnostic::new(
        Code::NumberMalformed,
        span,
        headline,
        "digits, and a decimal point",
    );
    let spaced = written.trim_start_matches(|c: char| c.is_ascii_digit());
    match (instead, written.split_once(',')) {
        (None, _) if written.contains(':') || spaced.contains([' ', '\t']) => number
            .help("write one number and one unit, as in `65 s` for a minute and five seconds"),
        (None, _) if written.contains(['/', '⁄']) => {
            number.help("write one decimal number, as in `0.125` for an eighth")
        }
        (Some(instead), Some(_)) => number.help(format!(
            "write {}; if these are two numbers, put a space behind the comma",
            quoted(instead)
        )),
        (Some(instead), None) if instead.ends_with(" in") && !written.contains(' ') => number
            .help(format!("write {}, or the unit that is meant", quoted(instead))),
        (Some(instead), None) => number.help(format!("write {}", quoted(instead))),
        (None, Some((whole, rest))) if !rest.contains([',', '.']) => number.help(format!(
            "write `{whole}{rest}` if the comma groups thousands, `{whole}.{rest}` if it is a decimal comma"
        )),
        (None, _) => number.help("write digits with at most one decimal point"),
    }
}

fn character_not_allowed(span: Span, character: char) -> Diagnostic {
    let point = format!("U+{:04X}", u32::from(character));
    let what = match character {
        '\r' => "a carriage return without a line feed".to_owned(),
        '\u{a0}' | '\u{2007}' | '\u{202f}' => format!("a space that does not break ({point})"),
        _ if character.is_control() => format!("a control character ({point})"),
        _ if character.is_whitespace() => format!("a special space ({point})"),
        _ => format!("a character that cannot be seen ({point})"),
    };
    let help = if character.is_whitespace() && !character.is_control() {
        "put a plain space in its place"
    } else {
        "delete it, or write the line again"
    };
    Diagnostic::new(
        Code::CharacterNotAllowed,
        span,
        format!("{what} stands in this line"),
        "here",
    )
    .help(help)
}

fn clause_misplaced(span: Span, word: &str, inside: Inside) -> Diagnostic {
    let place = match inside {
        Inside::File => "outside a rule",
        Inside::Kind => "in a kind",
        Inside::Sequence => "in a sequence",
        _ => "in a record",
    };
    let headline = format!(
        "{} is a clause of a rule and cannot stand {place}",
        quoted(word)
    );
    let help = if inside == Inside::File {
        "put it into the block of a rule: `rule NAME {`"
    } else {
        "if this block is a rule, its first line should start with `rule`"
    };
    Diagnostic::new(Code::ClauseMisplaced, span, headline, "belongs to a rule").help(help)
}

/// Text of the user in backticks, made safe and not too long.
fn quoted(text: &str) -> String {
    const LONGEST: usize = 120;
    let shown = visible(text);
    match shown.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("`{}…`", shown.get(..end).unwrap_or("")),
        None => format!("`{shown}`"),
    }
}

/// `a, b or c`
fn listed(words: &[&'static str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        many if many.len() > MOST_NAMED => {
            let named = many.get(..MOST_NAMED).unwrap_or(many);
            format!("{} …", named.join(", "))
        }
        [others @ .., last] => format!("{} or {last}", others.join(", ")),
    }
}
