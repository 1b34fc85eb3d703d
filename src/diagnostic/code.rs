//! The one table of codes. `explain`, SARIF rules and the completeness test read it.

use super::Severity;

/// What `explain` prints.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation {
    /// One line.
    pub summary: &'static str,
    /// The long text: what it means, why it matters, what to do.
    pub text: &'static str,
}

macro_rules! codes {
    ($( $(#[doc = $text:literal])+ $variant:ident = $slug:literal, $severity:ident, $summary:literal; )+) => {
        /// A stable name for each thing that can be said.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Code { $( $(#[doc = $text])+ $variant, )+ }

        impl Code {
            /// All codes, in the order of the table.
            pub const ALL: &'static [Self] = &[ $( Self::$variant, )+ ];

            /// The stable name in kebab case.
            #[must_use]
            pub fn slug(self) -> &'static str {
                match self { $( Self::$variant => $slug, )+ }
            }

            /// The usual severity.
            #[must_use]
            pub fn severity(self) -> Severity {
                match self { $( Self::$variant => Severity::$severity, )+ }
            }

            /// What `explain` prints.
            #[must_use]
            pub fn explanation(self) -> Explanation {
                match self {
                    $( Self::$variant => Explanation {
                        summary: $summary,
                        text: concat!($( $text, "\n", )+),
                    }, )+
                }
            }

            /// The code with this name.
            #[must_use]
            pub fn from_slug(slug: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|code| code.slug() == slug)
            }
        }
    };
}

codes! {
    /// A requirement of the standard breaks at every point inside the plan's tolerances.
    /// The finding shows the plan's line, the standard's line, the value, the limit and the margin.
    /// Change the setting it names, or record a permitted deviation.
    Breaks = "breaks", Error, "a requirement breaks";
    /// A requirement holds for some values inside the plan's tolerances and breaks for others.
    /// The finding says which tolerance decides, and how tight it would have to be.
    /// Tighten that tolerance, or move the setting away from the limit.
    AtRisk = "at-risk", Error, "a requirement cannot be shown to hold at this tolerance";
    /// A requirement needs a value that neither the plan nor the standard states.
    /// A missing value never passes. State it in the block that the finding names.
    NotStated = "not-stated", Error, "a value that a requirement needs is not stated";

    // syntax

    /// A line of a block does not read as one of the clauses that may stand there.
    /// The message points at the first place that does not fit, and says what would have gone on.
    /// Nothing in the line is used; the lines around it are.
    /// Wrong: `mesh 80 200 /in`. Right: `mesh 80 to 200 /in`.
    UnreadableLine = "unreadable-line", Error, "a line of a block cannot be read";
    /// A statement does not read, and with it its block is left out.
    /// A statement starts with a word at the start of a line: `standard`, `run`, `use`, `unit`, `kind`,
    /// `step`, `add to`, `rule`, `caution`, `sequence`, or the name of a kind.
    /// If it has a block, `{` stands at the end of its line and `}` alone on the last.
    /// Wrong: `rule slow-heat` with its clauses below. Right: `rule slow-heat {`.
    UnreadableStatement = "unreadable-statement", Error, "a statement cannot be read";
    /// Something is spelled as in a programming language, by a word processor, or in everyday words,
    /// and there is one other way to write it here.
    /// The message says which, and shows the whole line put right when it reads then.
    /// Wrong: `mesh: 80-200 /in`. Right: `mesh 80 to 200 /in`.
    /// Wrong: `shall dryer.dwell >= 65 s`. Right: `shall dryer.dwell at least 65 s`.
    SpelledOtherwise = "spelled-otherwise", Error, "there is another spelling for this";
    /// A number is written in a way that could be misread.
    /// Digits, then a point and more digits if need be; no comma, no groups, a digit before the point.
    /// Wrong: `2,4 m`, `1,200 pieces`, `.5 mm`, `+3 mm`. Right: `2.4 m`, `1200 pieces`, `0.5 mm`, `3 mm`.
    /// A comma that separates two numbers is followed by a space: `step 0.1 m/min, 1 ft/min`.
    NumberMalformed = "number-malformed", Error, "a number is not written as numbers are here";
    /// A text starts with a double quote and the line ends before the closing one.
    /// A text stands on one line. A quote inside it is written `\"`.
    /// Wrong: `colour "deep red`. Right: `colour "deep red"`.
    TextNotClosed = "text-not-closed", Error, "a text has no closing quote";
    /// In a text, a backslash stands before a quote or another backslash and before nothing else.
    /// Wrong: `"C:\inks"`. Right: `"C:\\inks"`, or `"C:/inks"`.
    EscapeUnknown = "escape-unknown", Error, "a backslash stands before something it does not escape";
    /// A control character, or one that cannot be seen, stands in the line.
    /// Such characters come from other programs by copying. They could make a line look like another one,
    /// so they are refused. Delete it, or write the line again.
    CharacterNotAllowed = "character-not-allowed", Error, "a character that may stand nowhere";
    /// Brackets nest more than 64 deep, or one condition has more than 256 operators.
    /// No reader could follow it. Give parts of it names, as settings with a formula, or write several
    /// `shall` lines instead of one with many `and`.
    NestedTooDeep = "nested-too-deep", Error, "a condition or formula is too deep";
    /// A block opens with `{` and the next statement, or the end of the text, comes before its `}`.
    /// The lines up to there were read as lines of the block.
    /// Put `}` alone on a line behind the last line that belongs to it.
    BlockNotClosed = "block-not-closed", Error, "a block has no closing brace";
    /// A line inside a block opens another block. Blocks do not nest.
    /// Close the first block before the second starts, or leave the inner one out.
    BlockInBlock = "block-in-block", Error, "a block stands inside a block";
    /// A closing brace stands where no block is open.
    /// Either it is one too many, or the line that should open the block could not be read.
    BraceStray = "brace-stray", Error, "a closing brace closes nothing";
    /// `{` stands at the end of the line of its statement and `}` alone on its own; only a comment may follow.
    /// Wrong: `order { pieces 1200 }`. Right: three lines, `order {`, `pieces 1200` and `}`.
    /// A block with nothing in it may be left out: `garment is half-poly-tee`.
    BraceNotAlone = "brace-not-alone", Error, "a brace shares its line with something else";
    /// A word that has a meaning of its own stands where a name should, or starts a statement of a later edition.
    /// `table`, `strike-off` and `deviation` are kept free for statements to come.
    /// Words that start a statement (`rule`, `step`, `kind` and so on) are no names of kinds.
    /// Wrong: `kind step {`. Right: `kind pass {`.
    WordReserved = "word-reserved", Error, "a word with a meaning of its own";
    /// `shall`, `should`, `may`, `when`, `for each`, `because`, `adjust` and `per` on a line of their own belong to rules.
    /// They stand in the block of a `rule` (some also in a `caution`), not in a record, a kind or on their own.
    /// Often the first word of the block is misspelt: `rulle slow-heat {` opens a record of a kind `rulle`.
    ClauseMisplaced = "clause-misplaced", Error, "a clause of a rule stands outside a rule";
}
