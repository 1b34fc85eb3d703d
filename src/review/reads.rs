//! What conditions and formulas read.

use std::collections::BTreeSet;

use super::cast::Setting;
pub(crate) use crate::types::Read;
use crate::types::{Condition, Expression, Path, Root, Standard};

/// Goes over everything a condition reads.
pub(crate) fn condition<'s>(of: &'s Condition, found: &mut dyn FnMut(Read<'s>)) {
    of.reads(found);
}

/// Goes over everything an expression reads.
pub(crate) fn expression<'s>(of: &'s Expression, found: &mut dyn FnMut(Read<'s>)) {
    of.reads(found);
}

/// All settings a path passes, the last one included.
pub(crate) fn settings(path: &Path) -> impl Iterator<Item = Setting> + '_ {
    path.settings()
}

/// The setting a path ends at.
pub(crate) fn last(path: &Path) -> Option<Setting> {
    path.setting()
}

/// Whether a path goes by the order of the sequence.
pub(crate) fn by_order(path: &Path) -> bool {
    path.goes_by_order()
}

/// The plain settings that a worked-out one rests on in the end; `None` where a figure of the
/// physics table, a neighbour in the sequence or a function over a kind stands in between.
pub(crate) fn inputs(standard: &Standard, of: Setting) -> Option<BTreeSet<Setting>> {
    let mut found = BTreeSet::new();
    let mut left = vec![of];
    let mut seen = BTreeSet::new();
    while let Some(setting) = left.pop() {
        if !seen.insert(setting) {
            continue;
        }
        let field = standard.field(setting.0, setting.1);
        let Some(formula) = &field.formula else {
            found.insert(setting);
            continue;
        };
        let mut plain = true;
        expression(formula, &mut |read| match read {
            Read::Value(path) if !by_order(path) && !matches!(path.root, Root::Member(_)) => {
                left.extend(last(path));
            }
            _ => plain = false,
        });
        if !plain {
            return None;
        }
    }
    Some(found)
}
