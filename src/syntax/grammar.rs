//! The grammar, as compiled by pest, and the ways in.

// The enum of rules is generated; its visibility is not ours to choose.
#![allow(unreachable_pub)]

use pest::Parser as _;
use pest::error::{Error, ErrorVariant, InputLocation};
use pest::iterators::Pairs;

#[derive(pest_derive::Parser)]
#[grammar = "../grammar/strikeoff.pest"]
struct StrikeoffParser;

/// The first item of a text. `None` only when the thread's stack is too small for it.
pub(super) fn first_item(text: &str) -> Option<Pairs<'_, Rule>> {
    StrikeoffParser::parse(Rule::item, text).ok()
}

/// Where a strict reading stopped, and what would have gone on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Stop {
    /// Byte offset in the slice.
    pub(super) at: usize,
    /// What was tried there.
    pub(super) expected: Vec<Rule>,
}

/// Reads a slice with an entry rule; `Err` says where it stopped.
pub(super) fn read(entry: Rule, slice: &str) -> Result<Pairs<'_, Rule>, Stop> {
    StrikeoffParser::parse(entry, slice).map_err(stop)
}

/// The likely slips of a line, in order: which, and where.
pub(super) fn slips(line: &str) -> Vec<(Rule, std::ops::Range<usize>)> {
    let pairs = StrikeoffParser::parse(Rule::slips, line);
    pairs
        .into_iter()
        .flatten()
        .filter(|pair| !matches!(pair.as_rule(), Rule::text | Rule::comment | Rule::EOI))
        .map(|pair| (pair.as_rule(), pair.as_span().start()..pair.as_span().end()))
        .collect()
}

// Only the offset is used: line and column would be counted from the start of the slice.
fn stop(error: Error<Rule>) -> Stop {
    let at = match error.location {
        InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
    };
    let expected = match error.variant {
        ErrorVariant::ParsingError { positives, .. } => positives,
        ErrorVariant::CustomError { .. } => Vec::new(),
    };
    Stop { at, expected }
}
