//! What can be wrong with a text, as values; `message.rs` puts it into words.

use crate::source::Span;

/// Something in the text that could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The place to look at.
    pub span: Span,
    /// What is wrong there.
    pub node: ProblemNode,
    /// Whether it only follows from another problem of the text, and goes with it.
    pub follows: bool,
}

impl Problem {
    /// A problem of its own.
    #[must_use]
    pub fn new(span: Span, node: ProblemNode) -> Self {
        Self {
            span,
            node,
            follows: false,
        }
    }
}

/// What a broken piece stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Inside {
    /// No block.
    File,
    /// A kind, a step or an `add to`.
    Kind,
    /// A record.
    Record,
    /// A rule.
    Rule,
    /// A caution.
    Caution,
    /// A sequence.
    Sequence,
    /// A table.
    Table,
    /// An example.
    Example,
    /// A deviation.
    Deviation,
    /// A reading.
    Reading,
}

/// What stands where reading stopped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// Nothing more on the line.
    EndOfLine,
    /// This.
    Text(String),
}

/// What would probably help; each was tried and reads, or names what was meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Hint {
    /// A misspelt keyword: what was written, what was meant.
    Keyword(String, &'static str),
    /// Two words that are one name.
    Joined(String),
    /// How a line with this first word looks.
    Form(&'static str),
    /// A condition without its verb.
    Verb(String),
}

/// The ways in which a piece of text fails.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ProblemNode {
    /// Something else was expected.
    Unexpected {
        /// Where the piece stands.
        inside: Inside,
        /// What is there.
        found: Found,
        /// What would have gone on, in words.
        expected: Vec<&'static str>,
        /// What would probably help.
        hint: Option<Hint>,
    },
    /// A spelling of another language or of a word processor.
    SpelledOtherwise {
        /// What was written.
        written: String,
        /// What to write.
        instead: String,
        /// The whole line with every such slip put right, when it reads then.
        line: Option<String>,
    },
    /// A number that is not written as numbers are here.
    NumberMalformed {
        /// What was written.
        written: String,
        /// What to write, where that can be told.
        instead: Option<String>,
    },
    /// A text without its closing quote.
    TextNotClosed,
    /// A backslash before something else than a quote or a backslash.
    EscapeUnknown(String),
    /// A character that may stand nowhere.
    CharacterNotAllowed(char),
    /// Brackets or operators beyond the bound.
    NestedTooDeep,
    /// A block without its closing brace.
    BlockNotClosed {
        /// The line that starts the next statement; none at the end of the text.
        next: Option<Span>,
    },
    /// A block inside a block.
    BlockInBlock,
    /// A closing brace where no block is open.
    BraceStray,
    /// Text behind a closing brace, or both braces on one line.
    BraceNotAlone,
    /// A keyword where a name should stand.
    KeywordAsName(String),
    /// A clause of a rule in something that is no rule.
    ClauseMisplaced {
        /// Its first word.
        word: String,
        /// Where it stands.
        inside: Inside,
    },
}
