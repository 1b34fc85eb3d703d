//! Comparisons as limits on one thing: a setting, a figure, or what lies between two of them.

use crate::diff::canonical;
use crate::diff::conditions::affine::{Affine, known, scaled, sum};
use crate::diff::conditions::formula::{Formula, all, set};
use crate::diff::conditions::lower_condition::Lowering;
use crate::review::Set;
use crate::types::{Compare, Expression, Limits};
use crate::units::{Exact, Unit};

impl Lowering<'_> {
    pub(in crate::diff) fn inside(
        &mut self,
        subject: &Expression,
        limits: &Limits,
    ) -> Option<Formula> {
        let ends = [
            (Compare::AtLeast, &limits.low),
            (Compare::AtMost, &limits.high),
        ];
        let mut parts = Vec::new();
        for (compare, end) in ends {
            let Some(end) = end else { continue };
            let subject = self.line(subject)?;
            let end = Affine {
                var: None,
                plus: end.clone(),
            };
            parts.push(self.compared(compare, subject, end, Some(limits.unit.clone())));
        }
        Some(all(parts))
    }

    pub(in crate::diff) fn compared(
        &mut self,
        compare: Compare,
        left: Affine,
        right: Affine,
        unit: Option<Unit>,
    ) -> Formula {
        let turned = |compare: Compare, factor: &Exact| {
            if factor.signum() < 0 {
                compare.mirrored()
            } else {
                compare
            }
        };
        let (one, other) = match (&left.var, &right.var) {
            (Some(one), Some(other)) if one.0 != other.0 => (one.clone(), other.clone()),
            _ => {
                // One thing at most: what stands before it is brought to one side.
                let Some(line) = sum(left, scaled(right, &Exact::from_int(-1))) else {
                    return Formula::False;
                };
                let limit = line.plus.neg();
                return match line.var.filter(|(_, factor)| !factor.is_zero()) {
                    None => known(set(compare, &limit).holds(&Exact::ZERO)),
                    Some((var, factor)) => {
                        let Some(limit) = limit.div(&factor) else {
                            return Formula::False;
                        };
                        let of = &mut self.vars.list[var];
                        of.unit = of.unit.take().or(unit);
                        Formula::Limit(var, set(turned(compare, &factor), &limit))
                    }
                };
            }
        };
        // Two things: what one is over a multiple of the other, told by their names in order.
        let keys = |var: usize| self.vars.list[var].key.clone();
        let swap = keys(one.0) > keys(other.0);
        let plus = right.plus.sub(&left.plus);
        let (one, other, plus, compare) = if swap {
            (other, one, plus.neg(), compare.mirrored())
        } else {
            (one, other, plus, compare)
        };
        // one.1 * one - other.1 * other  compare  plus
        let compare = turned(compare, &one.1);
        let (Some(ratio), Some(limit)) = (other.1.div(&one.1), plus.div(&one.1)) else {
            return Formula::False;
        };
        let above_zero = |var: usize| {
            let low = self.vars.list[var].domain.ends().0;
            low.is_some_and(|end| end.value.signum() > 0)
        };
        if limit.is_zero() && above_zero(other.0) {
            let key = format!("({} / {})", keys(one.0), keys(other.0));
            let var = self.opaque(key, Set::ALL);
            return Formula::Limit(var, set(compare, &ratio));
        }
        // one  compare  ratio * other, read from the other side.
        if limit.is_zero()
            && above_zero(one.0)
            && ratio.signum() > 0
            && let Some(inverse) = Exact::ONE.div(&ratio)
        {
            let key = format!("({} / {})", keys(other.0), keys(one.0));
            let var = self.opaque(key, Set::ALL);
            return Formula::Limit(var, set(compare.mirrored(), &inverse));
        }
        let key = format!(
            "({} - {} * {})",
            keys(one.0),
            canonical::number(&ratio),
            keys(other.0)
        );
        let var = self.opaque(key, Set::ALL);
        Formula::Limit(var, set(compare, &limit))
    }
}
