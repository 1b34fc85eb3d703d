//! What got looser, or may have, as SARIF 2.1.0 for code hosts.

use std::fmt::Write as _;
use std::io::{self, Write};

use serde_json::json;

use super::diff_words::{kinds, verdict};
use super::json_text;
use super::sarif::{physical, text};
use super::sarif_model::{
    BaseIds, Described, Driver, Invocation, Location, Log, Rule, Run, SCHEMA, SarifResult, Tool,
};
use crate::diagnostic::{Answer, Change, Comparison, Stands};
use crate::source::{Store, visible};

/// The rules of a comparison: what its results are.
const RULES: [(&str, &str); 3] = [
    ("diff/loosened", "something passes now that did not"),
    (
        "diff/not-excluded",
        "whether something passes now that did not is not decided",
    ),
    ("diff/likely-slip", "a number stayed and its unit changed"),
];

/// Writes the changes that loosen something, or may, and likely slips.
///
/// # Errors
/// Whatever `out` fails with.
pub fn diff_sarif(comparison: &Comparison, store: &Store, out: &mut dyn Write) -> io::Result<()> {
    let rules = RULES.iter().map(|(id, summary)| Rule {
        id: (*id).to_owned(),
        short_description: text(summary),
        full_description: None,
        help: Some(text(
            "strikeoff diff shows the runs that pass now, checked against both standards",
        )),
    });
    let results = comparison.changes.iter().filter_map(|change| {
        let rule = match (&change.alarm, change.direction.looser) {
            (Some(_), _) => 2,
            (None, Answer::Yes) => 0,
            (None, Answer::NotDecided) => 1,
            (None, Answer::No) => return None,
        };
        Some(result(comparison, store, change, rule))
    });
    let log = Log {
        schema: SCHEMA,
        version: "2.1.0",
        runs: vec![Run {
            tool: Tool {
                driver: Driver {
                    name: "strikeoff",
                    semantic_version: env!("CARGO_PKG_VERSION"),
                    rules: rules.collect(),
                },
            },
            column_kind: "unicodeCodePoints",
            original_uri_base_ids: BaseIds {
                root: Described {
                    description: text("the folder that the comparison was run in"),
                },
            },
            invocations: vec![Invocation {
                execution_successful: true,
                tool_execution_notifications: Vec::new(),
            }],
            results: results.collect(),
            properties: json!({
                "verdict": verdict(comparison),
                "oldDigest": visible(&comparison.old.digest),
                "newDigest": visible(&comparison.new.digest),
                "oldRevision": comparison.old.revision.as_deref().map(visible),
                "newRevision": comparison.new.revision.as_deref().map(visible),
                "editionStayed": comparison.edition_stayed(),
            }),
        }],
    };
    json_text::write(&log, out)
}

fn result(comparison: &Comparison, store: &Store, change: &Change, rule: usize) -> SarifResult {
    let (id, _) = RULES[rule];
    let mut message = format!(
        "{}: {}, {}",
        visible(&change.subject),
        kinds(change),
        change.direction.words()
    );
    if let Some(alarm) = &change.alarm {
        let _ = write!(message, "; {}", visible(alarm));
    }
    for (word, stands) in [("was", &change.old), ("is", &change.new)] {
        if let Some(stands) = stands {
            let _ = write!(message, "; {word}: {}", visible(&stands.words));
        }
    }
    if !change.reaches.is_empty() {
        let _ = write!(message, "; reaches {}", visible(&change.reaches.join(", ")));
    }
    let location = |id: Option<usize>, stands: &Stands, words: Option<&str>| Location {
        id,
        physical_location: physical(store, stands.span),
        message: words.map(text),
    };
    // What is gone has its place in the old standard only.
    let first = change.new.as_ref().or(change.old.as_ref());
    let related = change.old.as_ref().filter(|_| change.new.is_some());
    let rules: Vec<String> = change
        .effects
        .iter()
        .filter_map(|share| comparison.effects.get(share.effect))
        .map(|effect| visible(&effect.rule).into_owned())
        .collect();
    SarifResult {
        rule_id: id.to_owned(),
        rule_index: rule,
        kind: "fail",
        // A loosened limit may be meant; it is for a person to say so.
        level: if rule == 2 { "error" } else { "warning" },
        message: text(message),
        locations: first
            .map(|of| location(None, of, None))
            .into_iter()
            .collect(),
        related_locations: related
            .map(|of| location(Some(1), of, Some("as it was")))
            .into_iter()
            .collect(),
        partial_fingerprints: None,
        fixes: Vec::new(),
        suppressions: Vec::new(),
        properties: json!({
            "tightened": change.direction.tighter.slug(),
            "loosened": change.direction.looser.slug(),
            "rules": rules,
        }),
    }
}
