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

    /// A line cannot be read.
    UnreadableLine = "unreadable-line", Error, "a line of a block cannot be read";
}
