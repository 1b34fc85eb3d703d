//! What conditions read, under the names that diff still knows it by.

use crate::types::{Condition, Expression, Path, Read};

/// Goes over everything a condition reads.
pub(crate) fn condition<'s>(of: &'s Condition, found: &mut dyn FnMut(Read<'s>)) {
    of.reads(found);
}

/// Goes over everything an expression reads.
pub(crate) fn expression<'s>(of: &'s Expression, found: &mut dyn FnMut(Read<'s>)) {
    of.reads(found);
}

/// Whether a path goes by the order of the sequence.
pub(crate) fn by_order(path: &Path) -> bool {
    path.goes_by_order()
}
