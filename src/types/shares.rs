//! Shares that are parts of one whole, as fibres of a fabric: that they add up, and what the rest may be.

use super::model::{
    FieldId, InstanceId, Origin, Parts, Quantity, Run, Standard, Stated, Target, Value,
};
use crate::diagnostic::{Code, Diagnostic};
use crate::interval::Bounds;
use crate::source::Span;
use crate::units::{Exact, Unit, show_exact};

/// What the shares that are stated come to.
struct Sum {
    low: Exact,
    high: Exact,
    nominal: Exact,
    stated: Vec<Span>,
    free: Vec<FieldId>,
    /// Whether one of them could not be read; that was reported where it stands.
    unread: bool,
}

impl Sum {
    fn of<'s>(whole: &Parts, stated: impl Fn(FieldId) -> Option<&'s Stated>) -> Self {
        let mut sum = Self {
            low: Exact::ZERO,
            high: Exact::ZERO,
            nominal: Exact::ZERO,
            stated: Vec::new(),
            free: Vec::new(),
            unread: false,
        };
        for &field in &whole.fields {
            match stated(field) {
                Some(found) => match &found.value {
                    Value::Quantity(quantity) => {
                        sum.low = sum.low.add(&quantity.low);
                        sum.high = sum.high.add(&quantity.high);
                        sum.nominal = sum.nominal.add(&quantity.nominal);
                        sum.stated.push(found.span);
                    }
                    _ => sum.unread = true,
                },
                None => sum.free.push(field),
            }
        }
        sum
    }

    /// Whether there is nothing to add up.
    fn says_nothing(&self) -> bool {
        self.stated.is_empty() || self.unread
    }

    fn makes(&self, total: &Exact) -> bool {
        self.low <= *total && *total <= self.high
    }

    fn problem(&self, whole: &Parts, of: &str, at: Span) -> Diagnostic {
        let percent = Unit::percent();
        let mut problem = Diagnostic::new(
            Code::PartsDoNotAddUp,
            at,
            format!(
                "the shares of {of} add up to {}, not {}",
                show_exact(&self.nominal, &percent),
                show_exact(&whole.total, &percent)
            ),
            "does not add up",
        );
        for span in self.stated.iter().take(4) {
            problem = problem.related(*span, "one of the shares");
        }
        problem.help(if self.nominal < whole.total {
            "state the share that is missing"
        } else {
            "check the shares"
        })
    }
}

/// Says which records state shares that do not make the whole. A record that only takes its shares over is not
/// named again.
pub(super) fn check_shares(standard: &Standard, problems: &mut Vec<Diagnostic>) {
    for (id, record) in standard.numbered_records() {
        let kind = standard.kind(record.kind);
        for whole in &kind.parts {
            let own = |field: &FieldId| {
                let value = record.values.get(field.index());
                value.is_some_and(Option::is_some)
            };
            if !whole.fields.iter().any(own) {
                continue;
            }
            let sum = Sum::of(whole, |field| {
                let mut above = standard.ancestry(id);
                above.find_map(|of| standard.record(of).values.get(field.index())?.as_ref())
            });
            if !sum.says_nothing() && !sum.makes(&whole.total) {
                let of = format!("`{}`", record.name);
                let at = sum.stated.first().copied().unwrap_or(whole.span);
                let at = record.header.unwrap_or(at);
                problems.push(sum.problem(whole, &of, at));
            }
        }
    }
}

/// Fills in the shares of the things of a run that are not stated, and says where the stated ones make no whole.
pub(super) fn share_the_rest(
    standard: &Standard,
    run: &mut Run,
    in_doubt: &[InstanceId],
    problems: &mut Vec<Diagnostic>,
) {
    for index in 0..run.instances.len() {
        let id = InstanceId::at(index);
        let kind = standard.kind(run.instance(id).kind);
        for whole in &kind.parts {
            let sum = Sum::of(whole, |field| {
                run.stated(standard, Target::Thing(id), field)
            });
            if sum.says_nothing() {
                continue;
            }
            if sum.makes(&whole.total) {
                let rest = whole.total.sub(&sum.low);
                for field in sum.free {
                    run.instances[index].values[field.index()] = up_to(&rest, whole.span);
                }
            } else if !in_doubt.contains(&id) {
                let at = run.instance(id).header.unwrap_or(run.span);
                problems.push(sum.problem(whole, &format!("this `{}`", kind.name), at));
            }
        }
    }
}

/// A share that is not stated: zero where the others make the whole, else as much as they may leave.
fn up_to(rest: &Exact, span: Span) -> Option<Stated> {
    let bounds = Bounds::new(0.0, rest.outward().1);
    Some(Stated {
        value: Value::Quantity(Box::new(Quantity {
            nominal: rest.div(&Exact::from_int(2))?,
            low: Exact::ZERO,
            high: rest.clone(),
            bounds,
            unit: Unit::percent(),
            tolerance: None,
            resolution: Exact::ZERO,
            scatter: None,
        })),
        span,
        origin: Origin::Standard,
        per: None,
        loosened: None,
        taken: None,
    })
}
