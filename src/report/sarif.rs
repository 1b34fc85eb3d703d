//! SARIF 2.1.0, for code hosts and viewers.
//!
//! A rule's id is `rule/NAME`; trouble with a text has the code as its id. Outcomes become result
//! kinds: breaks `fail`; holds `pass` and does not apply `notApplicable` when all checks are shown.
//! At risk and not stated are the standard's `open`, but §3.27.10 then allows no level but `none`
//! and code hosts show failures only; so they are `fail` with their level, unless `Style::open`.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::io::{self, Write};

use serde_json::json;

use super::identity::Identities;
use super::sarif_model::{
    ArtifactChange, ArtifactLocation, BaseIds, Described, Driver, Fingerprints, Fix, Invocation,
    Location, Log, Notification, PhysicalLocation, Region, Replacement, Rule, Run, SCHEMA,
    SarifResult, Suppression, Text, Tool,
};
use super::trace::Trace;
use super::{Style, json_text, phrase};
use crate::diagnostic::Verdict;
use crate::diagnostic::{
    Code, Diagnostic, Excuse, Label, Outcome, PlanReport, Report, RuleInfo, Severity, Verb,
};
use crate::source::{FileId, Span, Store, visible};

/// Writes the whole report.
pub(super) fn write(
    report: &Report,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut run = Builder {
        store,
        open: style.open,
        rules: Rules::new(report),
        identities: Identities::default(),
        results: Vec::new(),
    };
    for said in &report.diagnostics {
        run.said(said, None, None);
    }
    for plan in &report.plans {
        let trace = Trace::new(plan);
        for said in &plan.diagnostics {
            run.said(said, Some(plan), trace.clause(said));
        }
        if style.show.passed {
            run.passed(plan, &trace);
        }
    }
    let notifications: Vec<_> = report
        .plans
        .iter()
        .filter(|plan| Verdict::of_plan(plan, report.allow_risk) == Verdict::NotChecked)
        .map(|plan| Notification {
            level: "error",
            message: text("not checked: no rule ran on this plan"),
            locations: vec![file_location(store, plan.file)],
        })
        .collect();
    let log = Log {
        schema: SCHEMA,
        version: "2.1.0",
        runs: vec![Run {
            tool: Tool {
                driver: Driver {
                    name: "strikeoff",
                    semantic_version: env!("CARGO_PKG_VERSION"),
                    rules: run.rules.list,
                },
            },
            // Columns count code points, not UTF-16 units.
            column_kind: "unicodeCodePoints",
            original_uri_base_ids: BaseIds {
                root: Described {
                    description: text("the folder that the check was run in"),
                },
            },
            invocations: vec![Invocation {
                execution_successful: notifications.is_empty(),
                tool_execution_notifications: notifications,
            }],
            results: run.results,
            properties: properties(report),
        }],
    };
    json_text::write(&log, out)
}

/// Totals, date and digests.
fn properties(report: &Report) -> serde_json::Value {
    let counts = report.counts();
    let totals: serde_json::Map<_, _> = Outcome::ALL
        .iter()
        .map(|&outcome| (outcome.slug().to_owned(), counts.of(outcome).into()))
        .collect();
    let standards: Vec<_> = report
        .standards
        .iter()
        .map(|standard| {
            json!({ "standard": phrase::standard(standard), "digest": visible(&standard.digest) })
        })
        .collect();
    json!({
        "verdict": Verdict::of_report(report).slug(),
        "totals": totals,
        "date": visible(&report.date),
        "standards": standards,
        "closing": phrase::CLOSING,
    })
}

/// The rules of the run: the codes used, then the rules of the standards, each name once.
struct Rules {
    list: Vec<Rule>,
    index: HashMap<String, usize>,
}

impl Rules {
    fn new(report: &Report) -> Self {
        let mut rules = Self {
            list: Vec::new(),
            index: HashMap::new(),
        };
        let mut codes: Vec<Code> = report.all_diagnostics().map(|said| said.code).collect();
        codes.sort_unstable();
        codes.dedup();
        for code in codes {
            let explanation = code.explanation();
            rules.add(Rule {
                id: code.slug().to_owned(),
                short_description: text(explanation.summary),
                full_description: None,
                help: Some(text(
                    explanation
                        .text
                        .split_whitespace()
                        .collect::<Vec<_>>()
                        .join(" "),
                )),
            });
        }
        for rule in report
            .standards
            .iter()
            .flat_map(|standard| &standard.rule_list)
        {
            rules.add(Self::described(rule));
        }
        rules
    }

    fn described(rule: &RuleInfo) -> Rule {
        Rule {
            id: rule_id(&rule.name),
            short_description: text(rule.title.as_ref().unwrap_or(&rule.name)),
            full_description: rule.because.as_deref().map(text),
            help: rule
                .source
                .as_ref()
                .map(|source| text(format!("source: {source}"))),
        }
    }

    /// The number of a rule; a name met first is added.
    fn add(&mut self, rule: Rule) -> usize {
        if let Some(&index) = self.index.get(&rule.id) {
            return index;
        }
        let index = self.list.len();
        self.index.insert(rule.id.clone(), index);
        self.list.push(rule);
        index
    }

    /// The number of a standard's rule, also of one that no standard lists.
    fn named(&mut self, name: &str) -> (String, usize) {
        let id = rule_id(name);
        let index = self.add(Rule {
            id: id.clone(),
            short_description: text(name),
            full_description: None,
            help: None,
        });
        (id, index)
    }
}

fn rule_id(name: &str) -> String {
    format!("rule/{}", visible(name))
}

struct Builder<'r> {
    store: &'r Store,
    open: bool,
    rules: Rules,
    identities: Identities,
    results: Vec<SarifResult>,
}

impl Builder<'_> {
    /// A finding, or trouble with a text.
    fn said(&mut self, said: &Diagnostic, plan: Option<&PlanReport>, clause: Option<u32>) {
        let identity = self.identities.next(said, plan, clause, self.store);
        let excuse = said
            .finding
            .as_ref()
            .and_then(|finding| Some((finding.verb, finding.deviation.as_ref()?)));
        let level = match (said.severity, excuse) {
            // What a deviation lets pass has the level it would have without, and is suppressed.
            (_, Some((Verb::Shall, _))) | (Severity::Error, None) => "error",
            (_, Some((Verb::Should, _))) | (Severity::Warning, None) => "warning",
            (Severity::Note, None) => "note",
        };
        let mut message = visible(&said.headline).into_owned();
        let mut properties = json!({ "code": said.code.slug() });
        let mut kind = "fail";
        let (rule_id, rule_index) = if let Some(finding) = &said.finding {
            let outcome = excuse.map_or(finding.outcome, |(_, excuse)| excuse.without);
            let open = matches!(outcome, Outcome::AtRisk | Outcome::NotStated);
            if open && self.open {
                kind = "open";
            }
            for (name, fact) in phrase::facts(finding) {
                let _ = write!(message, "; {name}: {fact}");
            }
            properties = json!({
                "code": said.code.slug(),
                "outcome": finding.outcome.slug(),
                "verb": finding.verb.word(),
                "clause": clause,
                "subject": finding.subject.as_deref().map(visible),
                "quantity": finding.quantity.as_deref().map(visible),
                "culprit": finding.culprit.as_deref().map(visible),
            });
            if let Some((_, excuse)) = excuse {
                properties["withoutDeviation"] = excuse.without.slug().into();
            }
            self.rules.named(&finding.rule)
        } else {
            let id = said.code.slug().to_owned();
            let index = self.rules.index.get(&id).copied().unwrap_or(0);
            (id, index)
        };
        for note in said.notes.iter().chain(&said.help) {
            let _ = write!(message, ". {}", visible(note));
        }
        let mut labels = said.labels().iter();
        let locations = match (labels.next(), said.file) {
            (Some(primary), _) => vec![place(self.store, None, primary)],
            (None, Some(file)) => vec![file_location(self.store, file)],
            (None, None) => Vec::new(),
        };
        let related = labels
            .enumerate()
            .map(|(index, label)| place(self.store, Some(index + 1), label))
            .collect();
        let fixes = said
            .repairs
            .iter()
            .filter(|repair| !repair.edits.is_empty())
            .map(|repair| self.fix(repair))
            .collect();
        self.results.push(SarifResult {
            rule_id,
            rule_index,
            kind,
            level: if kind == "fail" { level } else { "none" },
            message: Text { text: message },
            locations,
            related_locations: related,
            partial_fingerprints: Some(Fingerprints { identity }),
            fixes,
            suppressions: excuse
                .map(|(_, excuse)| self.suppression(excuse))
                .into_iter()
                .collect(),
            properties,
        });
    }

    /// The checks of a plan that hold or do not apply.
    fn passed(&mut self, plan: &PlanReport, trace: &Trace<'_>) {
        // What a deviation lets pass is a suppressed result already.
        let told: Vec<usize> = plan
            .diagnostics
            .iter()
            .filter_map(|said| trace.index(said))
            .collect();
        for (index, check) in plan.checks.iter().enumerate() {
            if told.contains(&index) {
                continue;
            }
            let kind = match check.outcome {
                Outcome::Holds => "pass",
                Outcome::DoesNotApply => "notApplicable",
                Outcome::Breaks | Outcome::AtRisk | Outcome::NotStated => continue,
            };
            let (rule_id, rule_index) = self.rules.named(&check.rule);
            let line = Location {
                id: Some(1),
                physical_location: physical(self.store, check.span),
                message: Some(text("the requirement")),
            };
            self.results.push(SarifResult {
                rule_id,
                rule_index,
                kind,
                level: "none",
                message: text(&check.why),
                locations: vec![file_location(self.store, plan.file)],
                related_locations: vec![line],
                partial_fingerprints: None,
                fixes: Vec::new(),
                suppressions: Vec::new(),
                properties: json!({
                    "outcome": check.outcome.slug(),
                    "verb": check.verb.word(),
                    "clause": check.clause,
                    "subject": check.subject.as_deref().map(visible),
                }),
            });
        }
    }

    fn suppression(&self, excuse: &Excuse) -> Suppression {
        Suppression {
            // It is recorded in the standard, not in the text that the result is about.
            kind: "external",
            status: "accepted",
            justification: visible(&format!(
                "{}; approved by {}; permitted {}",
                excuse.because,
                excuse.approved,
                phrase::permitted(excuse)
            ))
            .into_owned(),
            location: Location {
                id: None,
                physical_location: physical(self.store, excuse.span),
                message: Some(text("the deviation")),
            },
        }
    }

    fn fix(&self, repair: &crate::diagnostic::Repair) -> Fix {
        let mut changes: Vec<ArtifactChange> = Vec::new();
        for edit in &repair.edits {
            let location = artifact(self.store, edit.span.file);
            let replacement = Replacement {
                deleted_region: region(self.store, edit.span),
                // What is put into a file is the text itself, not its escaped form.
                inserted_content: Text {
                    text: edit.text.clone(),
                },
            };
            match changes
                .iter_mut()
                .find(|change| change.artifact_location == location)
            {
                Some(change) => change.replacements.push(replacement),
                None => changes.push(ArtifactChange {
                    artifact_location: location,
                    replacements: vec![replacement],
                }),
            }
        }
        Fix {
            description: text(&repair.words),
            artifact_changes: changes,
        }
    }
}

/// A text from a file, escaped; never empty, for a message must say something.
pub(super) fn text(words: impl AsRef<str>) -> Text {
    let words = visible(words.as_ref());
    Text {
        text: if words.is_empty() {
            "(no words)".to_owned()
        } else {
            words.into_owned()
        },
    }
}

fn place(store: &Store, id: Option<usize>, label: &Label) -> Location {
    Location {
        id,
        physical_location: physical(store, label.span),
        message: (!label.words.is_empty()).then(|| text(&label.words)),
    }
}

fn file_location(store: &Store, file: FileId) -> Location {
    Location {
        id: None,
        physical_location: PhysicalLocation {
            artifact_location: artifact(store, file),
            region: None,
        },
        message: None,
    }
}

pub(super) fn physical(store: &Store, span: Span) -> PhysicalLocation {
    PhysicalLocation {
        artifact_location: artifact(store, span.file),
        region: Some(region(store, span)),
    }
}

fn region(store: &Store, span: Span) -> Region {
    let text = store.get(span.file);
    let start = text.place(span.start as usize);
    let end = text.place(span.end as usize);
    Region {
        start_line: start.line,
        start_column: start.column,
        end_line: end.line,
        end_column: end.column,
    }
}

/// A file as a URI: relative to the folder of the call, or absolute.
fn artifact(store: &Store, file: FileId) -> ArtifactLocation {
    let name = store.get(file).name();
    let drive = matches!(name.as_bytes(), [letter, b':', b'/', ..] if letter.is_ascii_alphabetic());
    let (start, base) = if drive {
        ("file:///", None)
    } else if name.starts_with('/') {
        ("file://", None)
    } else {
        ("", Some("%SRCROOT%"))
    };
    let mut uri = start.to_owned();
    for (index, byte) in name.bytes().enumerate() {
        // The unreserved characters of RFC 3986, section 2.3, and the slash.
        let plain = byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte);
        if plain || (drive && index == 1) {
            uri.push(char::from(byte));
        } else {
            let _ = write!(uri, "%{byte:02X}");
        }
    }
    ArtifactLocation {
        uri,
        uri_base_id: base,
    }
}
