//! Rules of other files that a standard does without.

use super::example::unknown_rule;
use super::model::{Rule, RuleForm, Standard};
use crate::diagnostic::{Code, Diagnostic};
use crate::source::Span;
use crate::syntax::tree::{self, Word};

/// A rule that comes with a file a standard uses, and that it does without.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenOut {
    /// The rule's name.
    pub rule: String,
    /// Where that stands.
    pub stands: Span,
    /// The rule in its place, if there is one.
    pub instead: Option<String>,
    /// Why.
    pub because: String,
    /// Where it is said.
    pub span: Span,
}

impl TakenOut {
    /// "`slow-heat` is taken out, and `our-heat` stands in its place: reason"
    #[must_use]
    pub fn words(&self) -> String {
        let Self { rule, because, .. } = self;
        match &self.instead {
            Some(instead) => {
                format!("`{rule}` is taken out, and `{instead}` stands in its place: {because}")
            }
            None => format!("`{rule}` is taken out: {because}"),
        }
    }
}

/// Takes out the rules that the standard says to do without. All rules must have been built, and nothing that points at one.
///
/// A caution stays, and so does what a law says: neither is the shop's to do without.
pub(super) fn take_out(
    standard: &mut Standard,
    asked: &[(tree::TakenOut<'_>, Option<Word<'_>>)],
    problems: &mut Vec<Diagnostic>,
) {
    for (of, instead) in asked {
        let rules = &standard.rules;
        let named = |rule: &&Rule| rule.name == of.rule.text && rule.form == RuleForm::Rule;
        let caution = |rule: &&Rule| rule.name == of.rule.text && rule.form != RuleForm::Rule;
        if let Some(rule) = rules.iter().find(named).or(rules.iter().find(caution)) {
            if let Some(problem) = stays(rule, of) {
                problems.push(problem);
                continue;
            }
        } else {
            problems.push(unknown_rule(standard, of.rule));
            continue;
        }
        let known = standard.taken_out.iter();
        if let Some(first) = known.clone().find(|known| known.rule == of.rule.text) {
            // One rule may be split into several.
            if instead.is_none() || first.instead.is_none() {
                problems.push(
                    Diagnostic::new(
                        Code::ClauseTwice,
                        of.rule.span,
                        format!("`{}` is taken out twice", of.rule.text),
                        "again here",
                    )
                    .related(first.span, "it is taken out here already")
                    .help("keep one of them"),
                );
                continue;
            }
        }
        if of.because.value().trim().is_empty() {
            problems.push(
                Diagnostic::new(
                    Code::ClauseMissing,
                    of.because.span,
                    format!("nothing says why `{}` is taken out", of.rule.text),
                    "no words",
                )
                .help("write the reason; every report shows it"),
            );
            continue;
        }
        let stands = rules.iter().find(named).map(|rule| rule.span);
        standard.taken_out.push(TakenOut {
            rule: of.rule.text.to_owned(),
            stands: stands.unwrap_or(of.rule.span),
            instead: instead.map(|word| word.text.to_owned()),
            because: of.because.value(),
            span: of.keyword.join(of.rule.span),
        });
    }
    for of in &standard.taken_out {
        problems.push(
            Diagnostic::new(Code::TakenOut, of.span, of.words(), "taken out here")
                .related(of.stands, "this rule is asked of no run"),
        );
    }
    let gone = &standard.taken_out;
    let is_gone =
        |rule: &Rule| rule.form == RuleForm::Rule && gone.iter().any(|of| of.rule == rule.name);
    standard.rules.retain(|rule| !is_gone(rule));
}

/// What keeps a rule in the standard.
fn stays(rule: &Rule, of: &tree::TakenOut<'_>) -> Option<Diagnostic> {
    let name = of.rule.text;
    let (words, here, help) = if rule.form != RuleForm::Rule {
        (
            format!("`{name}` is a caution, and a caution stays"),
            "this is a caution",
            "take the line out; where the caution does not fit, say in its `when` for which runs it is meant",
        )
    } else if rule.is_of_law() {
        (
            format!("`{name}` says what a law says, and that stays"),
            "it is of a law",
            "take the line out; a rule of one's own beside it may be stricter",
        )
    } else if rule.span.file == of.rule.span.file {
        (
            format!("`{name}` stands in this file, so it needs no taking out"),
            "it stands here",
            "change the rule, or delete it",
        )
    } else {
        return None;
    };
    let said = Diagnostic::new(Code::NotTakenOut, of.rule.span, words, "stays");
    Some(said.related(rule.span, here).help(help))
}

/// What to do about the name of a rule that is taken out.
pub(super) fn is_taken_out(standard: &Standard, name: &str) -> Option<String> {
    let of = standard.taken_out.iter().find(|of| of.rule == name)?;
    Some(match &of.instead {
        Some(instead) => {
            format!(
                "`{name}` is taken out of this standard; `{instead}` stands in its place, so name that"
            )
        }
        None => format!("`{name}` is taken out of this standard with `without`"),
    })
}
