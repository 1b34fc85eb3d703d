//! A block whose `{` was forgotten, or whose first line cannot be read: its lines make no sense without
//! it, so they are broken pieces of which nothing more is said than that.

use crate::source::{FileId, Span};
use crate::syntax::tree::{Broken, Line, Statement, StatementNode};
use crate::syntax::{Found, Inside, Problem, ProblemNode};

/// Finds such blocks by the `}` that closes nothing and the indented lines above it.
pub(super) fn settle<'t>(
    file: FileId,
    text: &'t str,
    items: &mut [Line<'t, Statement<'t>>],
    problems: &mut Vec<Problem>,
) {
    // Good texts have no broken piece at all.
    let mut hushed: Vec<(u32, u32)> = Vec::new();
    let mut missing = Vec::new();
    // What stands above a block found before is no part of the next.
    let mut from = 0;
    for close in 0..items.len() {
        let Some(end) = items.get(close).and_then(stray) else {
            continue;
        };
        let above = items.get(from..close).unwrap_or_default();
        from = close + 1;
        let Some((head, inside)) = head(text, above) else {
            continue;
        };
        let first = close - above.len() + head + 1;
        if let Some(Line::Good(statement, _)) = above.get(head) {
            missing.push(Span::new(
                file,
                statement.span.end as usize,
                statement.span.end as usize,
            ));
        }
        hushed.push((inside, end));
        for item in items.get_mut(first..close).unwrap_or_default() {
            let start = match item {
                Line::Good(statement, _) => statement.span.start as usize,
                Line::Blank(_) | Line::Comment(_) | Line::Broken(_) => continue,
            };
            let line = line_at(text, start);
            let span = Span::new(file, line.start, line.end);
            let text = text.get(line).unwrap_or_default();
            problems.push(unexpected(
                span,
                Found::Text(text.trim().to_owned()),
                Vec::new(),
            ));
            *item = Line::Broken(Broken { text, span });
        }
    }
    for problem in problems.iter_mut() {
        let at = problem.span.start;
        let next = hushed.partition_point(|(from, _)| *from <= at);
        let last = next.checked_sub(1).and_then(|index| hushed.get(index));
        problem.follows |= last.is_some_and(|(_, to)| at < *to);
    }
    let brace = |span| unexpected(span, Found::EndOfLine, vec!["`{`"]);
    problems.extend(missing.into_iter().map(brace));
}

fn unexpected(span: Span, found: Found, expected: Vec<&'static str>) -> Problem {
    let node = ProblemNode::Unexpected {
        inside: Inside::File,
        found,
        expected,
        hint: None,
    };
    Problem::new(span, node)
}

/// The end of a piece that is a closing brace.
fn stray(item: &Line<'_, Statement<'_>>) -> Option<u32> {
    match item {
        Line::Broken(broken) if closes(broken.text) => Some(broken.span.end),
        _ => None,
    }
}

fn closes(line: &str) -> bool {
    line.trim_start_matches([' ', '\t']).starts_with('}')
}

/// The piece that should have opened the block that ends below `above`, and where its inside starts.
fn head(text: &str, above: &[Line<'_, Statement<'_>>]) -> Option<(usize, u32)> {
    let mut inside = None;
    for (index, item) in above.iter().enumerate().rev() {
        let start = match item {
            Line::Blank(_) | Line::Comment(_) => continue,
            Line::Good(statement, _) => statement.span.start,
            Line::Broken(broken) => broken.span.start,
        };
        let line = line_at(text, start as usize);
        if text
            .get(line.clone())
            .is_some_and(|line| line.starts_with([' ', '\t']))
        {
            // A statement of several lines has a block of its own.
            if matches!(item, Line::Good(statement, _) if statement.span.end as usize > line.end) {
                return None;
            }
            inside = Some(line.start as u32);
            continue;
        }
        let opens = match item {
            Line::Good(statement, _) => {
                matches!(&statement.node, StatementNode::Record(record) if record.block.is_none())
            }
            Line::Broken(_) => true,
            Line::Blank(_) | Line::Comment(_) => false,
        };
        return inside.filter(|_| opens).map(|inside| (index, inside));
    }
    None
}

/// The line at an offset, line end not included.
fn line_at(text: &str, at: usize) -> std::ops::Range<usize> {
    let start = text
        .get(..at)
        .and_then(|before| before.rfind('\n'))
        .map_or(0, |end| end + 1);
    let rest = text.get(at..).unwrap_or_default();
    let end = rest.find('\n').map_or(text.len(), |end| at + end);
    let line = text.get(start..end).unwrap_or_default();
    start..start + line.strip_suffix('\r').unwrap_or(line).len()
}
