//! A review for programs: version 1 of our own JSON form.

use std::io::{self, Write};
use std::sync::OnceLock;

use schemars::JsonSchema;
use serde::Serialize;

use super::explain::severity_word;
use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use super::schema;
use crate::diagnostic::{Outcome, Review, Role};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn review_schema() -> &'static str {
    static SCHEMA: OnceLock<String> = OnceLock::new();
    schema::text::<V1Review<'_>>(&SCHEMA)
}

/// Writes a review as JSON: everything, notes included.
///
/// # Errors
/// Whatever `out` fails with.
pub fn review_json(review: &Review, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Review::new(review, store), out)
}

/// What a review of one standard found. Within version 1 fields are only added: this schema is exact for the
/// release it ships with, and a reader should pass over fields that it does not know.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Strikeoff review, version 1", extend("$id" = "urn:strikeoff:review:v1"))]
struct V1Review<'r> {
    /// Always `strikeoff-review`.
    #[schemars(extend("const" = "strikeoff-review"))]
    format: &'static str,
    /// Always 1.
    #[schemars(extend("const" = 1))]
    version: u32,
    /// What wrote it.
    tool: V1Tool,
    /// The standard.
    standard: V1Standard<'r>,
    /// How many requirements were looked at.
    requirements: usize,
    /// How many combinations of records they were looked at in.
    combinations: usize,
    /// What was found, worst first.
    findings: Vec<V1Finding<'r>>,
}

/// One thing.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "finding", deny_unknown_fields)]
struct V1Finding<'r> {
    /// The code; see `strikeoff explain`.
    code: &'static str,
    /// How much it matters.
    #[schemars(extend("enum" = ["error", "warning", "note"]))]
    severity: &'static str,
    /// What it stands on: a proof over all that the settings allow, neither proof nor disproof, or the text as it
    /// reads.
    #[schemars(extend("enum" = ["proved", "not decided", "read"]))]
    ground: &'static str,
    /// What is wrong.
    headline: &'r str,
    /// Where, the primary place first.
    places: Vec<V1Mark<'r>>,
    /// All it is about: combinations of records, settings.
    members: &'r [String],
    /// More to know.
    notes: &'r [String],
    /// The smallest thing to do next.
    next: Option<&'r str>,
    /// A run that shows it, checked; null where there is none.
    witness: Option<V1Witness<'r>>,
}

/// A place.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "mark", deny_unknown_fields)]
struct V1Mark<'r> {
    /// Why it is shown.
    #[schemars(extend("enum" = ["primary", "related"]))]
    role: &'static str,
    /// What is to be seen there.
    words: &'r str,
    /// A stretch of a text.
    place: V1Place<'r>,
}

/// A run.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "witness", deny_unknown_fields)]
struct V1Witness<'r> {
    /// What it shows.
    shows: &'r str,
    /// The text of the plan.
    plan: &'r str,
    /// How many requirements hold.
    holds: u64,
    /// How many break.
    breaks: u64,
    /// How many are at risk.
    at_risk: u64,
    /// How many lack a value.
    not_stated: u64,
    /// How many do not apply.
    does_not_apply: u64,
}

impl<'r> V1Review<'r> {
    fn new(review: &'r Review, store: &'r Store) -> Self {
        let findings = review.findings.iter().map(|finding| {
            let said = &finding.said;
            let places = said.labels().iter().map(|label| V1Mark {
                role: match label.role {
                    Role::Primary => "primary",
                    Role::Related => "related",
                },
                words: &label.words,
                place: V1Place::new(label.span, store),
            });
            V1Finding {
                code: said.code.slug(),
                severity: severity_word(said.severity),
                ground: finding.ground.word(),
                headline: &said.headline,
                places: places.collect(),
                members: &finding.members,
                notes: &said.notes,
                next: said.help.as_deref(),
                witness: finding.witness.as_ref().map(|witness| V1Witness {
                    shows: &witness.words,
                    plan: &witness.plan,
                    holds: witness.counts.of(Outcome::Holds),
                    breaks: witness.counts.of(Outcome::Breaks),
                    at_risk: witness.counts.of(Outcome::AtRisk),
                    not_stated: witness.counts.of(Outcome::NotStated),
                    does_not_apply: witness.counts.of(Outcome::DoesNotApply),
                }),
            }
        });
        Self {
            format: "strikeoff-review",
            version: 1,
            tool: V1Tool::this(),
            standard: V1Standard {
                file: store.get(review.file).name(),
                name: &review.name,
                edition: review.edition.as_deref(),
                digest: &review.digest,
            },
            requirements: review.requirements,
            combinations: review.combinations,
            findings: findings.collect(),
        }
    }
}
