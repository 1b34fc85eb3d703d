//! What can be written against a standard.

use super::{ReadStandard, Texts, read_standard};
use crate::diagnostic::Diagnostic;
use crate::names::SHIPPED;
use crate::source::Store;

/// The standard that uses every spec that ships: its vocabulary is what a room can build on.
///
/// # Errors
/// Never with the specs as they ship; what is wrong with them otherwise.
pub fn all_shipped() -> Result<ReadStandard, Box<(Store, Vec<Diagnostic>)>> {
    let mut text = "standard \"every spec that ships\" edition \"1\"\n".to_owned();
    for (name, _) in SHIPPED {
        text.push_str(&format!("use {name}\n"));
    }
    read_standard("words.std", &Texts::new().with("words.std", &text))
}
