//! The readable standard: one page for people, as Markdown or as HTML that stands by itself.
//!
//! The page is put together once, of blocks and pieces of text; the two forms only dress it. What comes
//! from files is a piece of text to both of them, so that it can never become markup.

mod page;
mod records;

use std::io::{self, Write};

use crate::diagnostic::Outline;
use crate::source::Store;

/// The forms of the readable standard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PageForm {
    /// CommonMark with tables.
    Markdown,
    /// One HTML file that loads nothing.
    Html,
}

/// Writes the readable standard.
///
/// # Errors
/// Whatever `out` fails with.
pub fn readable(
    outline: &Outline,
    store: &Store,
    form: PageForm,
    out: &mut dyn Write,
) -> io::Result<()> {
    let page = page::page(outline, store);
    let text = match form {
        PageForm::Markdown => page.to_markdown(),
        PageForm::Html => page.to_html(),
    };
    out.write_all(text.as_bytes())
}
