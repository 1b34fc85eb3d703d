//! `new plan`.

use std::io::{self, Write};

use super::args::NewPlanArguments;
use super::check::usage;
use super::{exit, standard};
use crate::check::blank_plan;
use crate::source::visible;

/// Runs `new plan`.
pub(super) fn command(arguments: &NewPlanArguments, out: &mut dyn Write) -> io::Result<u8> {
    let mut choices = Vec::new();
    let mut words = arguments.choices.iter();
    while let Some(word) = words.next() {
        let Some(kind) = word.strip_prefix("--") else {
            return usage(&format!(
                "`{}` stands alone; write a kind and a record of it, as in `--garment cotton-tee`",
                visible(word)
            ));
        };
        let (kind, record) = match kind.split_once('=') {
            Some((kind, record)) => (kind, Some(record.to_owned())),
            None => (kind, words.next().cloned()),
        };
        let Some(record) = record else {
            return usage(&format!("`{}` names no record", visible(word)));
        };
        if kind == "against" {
            return usage("write `--against` before the kinds");
        }
        choices.push((kind.to_owned(), record));
    }
    let mut read = match standard::named(&arguments.against, None)? {
        Ok(read) => read,
        Err(code) => return Ok(code),
    };
    let path = arguments.against.to_string_lossy().replace('\\', "/");
    match blank_plan(&mut read.store, &read.prepared, &path, &choices) {
        Ok(text) => {
            out.write_all(text.as_bytes())?;
            Ok(exit::CLEAN)
        }
        Err(words) => usage(&visible(&words)),
    }
}
