//! A value as it would be written into a plan, read as one: what is offered or proposed is what its text says.

use crate::diagnostic::{Diagnostic, Severity};
use crate::eval::{ExactInterval, Leaf};
use crate::names::plan_scope;
use crate::source::FileId;
use crate::syntax;
use crate::types::{PlaceInRun, Quantity, Run, Standard, Value, build_run};

/// A plan that states nothing but this value of a setting.
#[must_use]
pub fn plan_stating(standard: &Standard, run: &Run, leaf: Leaf, value: &str) -> String {
    let instance = run.target(standard, leaf.target);
    let kind = standard.kind(instance.kind);
    let field = &standard.field(instance.kind, leaf.field).name;
    let body = match kind.place {
        PlaceInRun::Step => format!("sequence {{\n  {} {field} {value}\n}}\n", kind.name),
        PlaceInRun::Many => format!(
            "{} {} {{\n  {field} {value}\n}}\n",
            kind.name, instance.name
        ),
        _ => format!("{} {{\n  {field} {value}\n}}\n", kind.name),
    };
    format!("run \"a value\" against \"a standard\"\n{body}")
}

/// The value that such a plan states; `None` where it states none for this setting.
///
/// # Errors
/// What is wrong with its text.
pub fn stated_in(
    standard: &Standard,
    run: &Run,
    leaf: Leaf,
    file: FileId,
    text: &str,
) -> Result<Option<Quantity>, Vec<Diagnostic>> {
    let parsed = syntax::parse(file, text);
    let mut problems: Vec<Diagnostic> = parsed.diagnostics().collect();
    let (scope, misplaced) = plan_scope(&parsed.tree);
    problems.extend(misplaced);
    let built = build_run(file, standard, &scope, &mut problems);
    problems.retain(|said| said.severity == Severity::Error);
    if !problems.is_empty() {
        return Err(problems);
    }
    let kind = run.target(standard, leaf.target).kind;
    let of_kind = built.instances.iter().filter(|one| one.kind == kind);
    let mut values = of_kind.filter_map(|one| one.values.get(leaf.field.0 as usize)?.as_ref());
    Ok(values.find_map(|stated| match &stated.value {
        Value::Quantity(quantity) => Some(quantity.as_ref().clone()),
        _ => None,
    }))
}

/// Whether a value, written like this, is read as all that was looked at.
pub(super) fn reads_as(
    standard: &Standard,
    run: &Run,
    leaf: Leaf,
    written: &str,
    meant: &ExactInterval,
) -> bool {
    let text = plan_stating(standard, run, leaf, written);
    let read = stated_in(standard, run, leaf, run.file, &text);
    matches!(read, Ok(Some(read)) if read.low == meant.low && read.high == meant.high)
}
