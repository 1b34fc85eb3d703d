//! `words`.

use std::io::{self, Write};

use super::args::WordsArguments;
use super::check::usage;
use super::{exit, standard, terminal};
use crate::check::vocabulary;
use crate::names::{SHIPPED, did_you_mean, shipped};
use crate::report::{self, Style};
use crate::session::all_shipped;
use crate::source::visible;

/// Runs `words`.
pub(super) fn command(arguments: &WordsArguments, out: &mut dyn Write) -> io::Result<u8> {
    if let Some(spec) = &arguments.spec {
        return match shipped(spec) {
            Some(text) => {
                out.write_all(text.as_bytes())?;
                Ok(exit::CLEAN)
            }
            None => {
                let names = SHIPPED.iter().map(|(name, _)| *name);
                let near = did_you_mean(spec, names.clone());
                let near = near.map_or_else(String::new, |near| format!("{near}; "));
                let names: Vec<&str> = names.collect();
                usage(&format!(
                    "no spec that ships is called `{}`; {near}there are {}",
                    visible(spec),
                    names.join(", ")
                ))
            }
        };
    }
    let read = match &arguments.standard {
        Some(path) => match standard::named(path, arguments.root.as_deref())? {
            Ok(read) => read,
            Err(code) => return Ok(code),
        },
        None => match all_shipped() {
            Ok(read) => read,
            Err(trouble) => {
                report::lines(&trouble.1, &trouble.0, false, &mut io::stderr())?;
                return Ok(exit::INTERNAL);
            }
        },
    };
    let title = match &arguments.standard {
        Some(_) => format!("words of {}", read.prepared.standard.name),
        None => "words of the specs that ship; `--standard FILE` for those of a room".to_owned(),
    };
    let name = arguments.name.as_deref();
    match vocabulary(&read.store, &read.prepared.standard, &title, name) {
        Ok(page) => {
            let style = Style {
                colour: terminal::colour(arguments.colour),
                width: terminal::width(),
                ..Style::default()
            };
            report::vocabulary(&page, &style, out)?;
            Ok(exit::CLEAN)
        }
        Err(none) => usage(&visible(&none.help)),
    }
}
