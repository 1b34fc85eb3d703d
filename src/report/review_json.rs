//! A review for programs: version 1 of our own JSON form, described by `review.v1.schema.json`.

use std::io::{self, Write};

use serde::Serialize;

use super::explain::severity_word;
use super::json::V1Place;
use super::json_head::{self, V1Standard, V1Tool};
use crate::diagnostic::{Outcome, Review, Role};
use crate::source::Store;

/// The JSON Schema (draft 2020-12) of this form.
#[must_use]
pub fn review_schema() -> &'static str {
    include_str!("review.v1.schema.json")
}

/// Writes a review as JSON: everything, notes included.
///
/// # Errors
/// Whatever `out` fails with.
pub fn review_json(review: &Review, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    json_head::write(&V1Review::new(review, store), out)
}

#[derive(Serialize)]
struct V1Review<'r> {
    format: &'static str,
    version: u32,
    tool: V1Tool,
    standard: V1Standard<'r>,
    requirements: usize,
    combinations: usize,
    findings: Vec<V1Finding<'r>>,
}

#[derive(Serialize)]
struct V1Finding<'r> {
    code: &'static str,
    severity: &'static str,
    ground: &'static str,
    headline: &'r str,
    places: Vec<V1Mark<'r>>,
    members: &'r [String],
    notes: &'r [String],
    next: Option<&'r str>,
    witness: Option<V1Witness<'r>>,
}

#[derive(Serialize)]
struct V1Mark<'r> {
    role: &'static str,
    words: &'r str,
    place: V1Place<'r>,
}

#[derive(Serialize)]
struct V1Witness<'r> {
    shows: &'r str,
    plan: &'r str,
    holds: u64,
    breaks: u64,
    at_risk: u64,
    not_stated: u64,
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
