//! Paths: which setting `screen.ink.mesh` is.

use super::kinds::unknown_field;
use super::model::{KindId, PlaceInRun, Standard, Type};
use super::terms::{Hop, Path, Root};
use crate::diagnostic::{Code, Diagnostic};
use crate::names::{did_you_mean, in_a_spec};
use crate::syntax::tree;

/// What names mean where an expression stands.
#[derive(Debug, Clone, Default)]
pub(super) struct Context {
    /// The kind whose formula this is.
    pub(super) own: Option<KindId>,
    /// The kind of `for each`.
    pub(super) each: Option<KindId>,
    /// The kind of the innermost function over a kind.
    pub(super) member: Option<KindId>,
}

/// What a path leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum End {
    /// A setting of this type.
    Value(Type),
    /// A thing of a kind.
    Thing(KindId),
    /// A step of whatever kind.
    AnyStep,
    /// The place of a step.
    Place,
}

/// Resolves a path; what is wrong with it is reported.
pub(super) fn resolve(
    standard: &Standard,
    context: &Context,
    path: &tree::Path<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<(Path, End)> {
    let first = path.words.first()?;
    let own_field = context
        .own
        .filter(|own| standard.kind(*own).field_names.contains_key(first.text));
    let (root, mut end, used) = if let Some(own) = own_field {
        (Root::Own, End::Thing(own), 0)
    } else if let Some(&kind) = standard.kind_names.get(first.text) {
        (
            root(standard, context, kind, first, problems)?,
            End::Thing(kind),
            1,
        )
    } else {
        problems.push(unknown_first(standard, context, first));
        return None;
    };
    let mut hops = Vec::new();
    for word in &path.words[used..] {
        let (hop, next) = match &end {
            End::Thing(kind) => hop(standard, *kind, word, problems)?,
            End::AnyStep => match step_hop(standard, word.text) {
                Some(found) => found,
                None => {
                    problems.push(
                        Diagnostic::new(
                            Code::UnknownPath,
                            word.span,
                            format!(
                                "any kind of step may stand there, so `{}` is not known",
                                word.text
                            ),
                            "not known of every step",
                        )
                        .help("name the kind: `next-print`, `previous-flash` …"),
                    );
                    return None;
                }
            },
            End::Value(Type::Reference(kind)) => hop(standard, *kind, word, problems)?,
            End::Value(_) | End::Place => {
                problems.push(
                    Diagnostic::new(
                        Code::UnknownPath,
                        word.span,
                        format!(
                            "what stands before `.{}` is a value; it has no settings",
                            word.text
                        ),
                        "leads nowhere",
                    )
                    .help("end the path before the dot"),
                );
                return None;
            }
        };
        hops.push(hop);
        end = next;
    }
    let text: Vec<&str> = path.words.iter().map(|word| word.text).collect();
    let path = Path {
        root,
        hops,
        text: text.join("."),
        span: path.span,
    };
    Some((path, end))
}

fn root(
    standard: &Standard,
    context: &Context,
    kind: KindId,
    word: &tree::Word<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<Root> {
    if context.member == Some(kind) {
        return Some(Root::Member(kind));
    }
    if context.each == Some(kind) {
        return Some(Root::Each(kind));
    }
    if context.own == Some(kind) {
        return Some(Root::Own);
    }
    let name = &standard.kind(kind).name;
    match standard.kind(kind).place {
        PlaceInRun::One => Some(Root::Single(kind)),
        PlaceInRun::Many | PlaceInRun::Step => {
            problems.push(
                Diagnostic::new(
                    Code::ManyMeant,
                    word.span,
                    format!("a run may have several of `{name}`: which one is meant?"),
                    "one of many",
                )
                .help(format!(
                    "write `for each {name}` in the rule, or a function over all of them, as in `most({name}.…)`"
                )),
            );
            None
        }
        PlaceInRun::Record => {
            problems.push(
                Diagnostic::new(
                    Code::UnknownPath,
                    word.span,
                    format!("a run has no `{name}` of its own; other things refer to one"),
                    "not a thing of the run",
                )
                .help(format!(
                    "start from the thing that has it, as in `screen.{name}`"
                )),
            );
            None
        }
    }
}

fn unknown_first(standard: &Standard, context: &Context, word: &tree::Word<'_>) -> Diagnostic {
    let mut diagnostic = Diagnostic::new(
        Code::UnknownPath,
        word.span,
        format!("`{}` is not known here", word.text),
        "not known",
    );
    let kinds = standard.kind_names.keys().map(String::as_str);
    let own = context
        .own
        .into_iter()
        .flat_map(|own| standard.kind(own).field_names.keys().map(String::as_str));
    let mut settings: Vec<String> = standard
        .kinds
        .iter()
        .filter(|kind| kind.place != PlaceInRun::Record && kind.field_names.contains_key(word.text))
        .map(|kind| format!("`{}.{}`", kind.name, word.text))
        .collect();
    settings.sort_unstable();
    if let Some(help) = in_a_spec(&["kind", "step"], word.text) {
        diagnostic = diagnostic.help(help);
    } else if let [_, ..] = settings.as_slice() {
        diagnostic = diagnostic.help(format!("did you mean {}?", settings.join(" or ")));
    } else if standard.kind_names.is_empty() {
        diagnostic =
            diagnostic.help("no kind is declared here; the usual ones come with `use trade`");
    } else if let Some(help) = did_you_mean(word.text, kinds.chain(own)) {
        diagnostic = diagnostic.help(help);
    } else {
        diagnostic = diagnostic.help("a path starts with a kind, as in `dryer.dwell`");
    }
    diagnostic
}

fn hop(
    standard: &Standard,
    kind: KindId,
    word: &tree::Word<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<(Hop, End)> {
    if let Some(&field) = standard.kind(kind).field_names.get(word.text) {
        let end = End::Value(standard.field(kind, field).ty.clone());
        return Some((Hop::Field(kind, field), end));
    }
    if standard.kind(kind).place == PlaceInRun::Step
        && let Some(found) = step_hop(standard, word.text)
    {
        return Some(found);
    }
    problems.push(unknown_field(*word, standard, kind));
    None
}

/// `next`, `previous-print`, `place`.
fn step_hop(standard: &Standard, word: &str) -> Option<(Hop, End)> {
    let step = |name: &str| {
        let id = standard.kind_names.get(name).copied()?;
        (standard.kind(id).place == PlaceInRun::Step).then_some(id)
    };
    match word {
        "place" => Some((Hop::Place, End::Place)),
        "next" => Some((Hop::Next(None), End::AnyStep)),
        "previous" => Some((Hop::Previous(None), End::AnyStep)),
        _ => {
            if let Some(kind) = word.strip_prefix("next-").and_then(step) {
                return Some((Hop::Next(Some(kind)), End::Thing(kind)));
            }
            let kind = word.strip_prefix("previous-").and_then(step)?;
            Some((Hop::Previous(Some(kind)), End::Thing(kind)))
        }
    }
}
