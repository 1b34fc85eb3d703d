//! The readable standard: one page for people, as Markdown or as HTML that stands by itself.
//!
//! The page is put together once, of blocks and pieces of text; the two forms only dress it. What comes
//! from files is a piece of text to both of them, so that it can never become markup.

mod html;
mod markdown;
mod page;
mod records;

pub(super) use markdown::{code as markdown_code, escape as markdown_escape};

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
        PageForm::Markdown => markdown::write(&page),
        PageForm::Html => html::write(&page),
    };
    out.write_all(text.as_bytes())
}

/// A page.
struct Page {
    /// What it is of.
    title: String,
    /// The digest, for the foot of every sheet.
    digest: String,
    blocks: Vec<Block>,
}

/// A piece of the page.
enum Block {
    /// A heading; `level` from 1, `anchor` unique on the page.
    Heading {
        level: usize,
        anchor: String,
        text: Vec<Inline>,
    },
    Paragraph(Vec<Inline>),
    List(Vec<Vec<Inline>>),
    Table {
        columns: Vec<String>,
        rows: Vec<Vec<Vec<Inline>>>,
    },
    /// What follows up to the next one of these is kept on one sheet if it fits.
    Together,
}

/// A piece of a line.
enum Inline {
    /// Plain text.
    Text(String),
    /// Text as it stands in a standard.
    Code(String),
    /// Text that weighs.
    Strong(String),
    /// A name that leads to a heading of this page.
    Link { anchor: String, name: String },
}

fn text(words: impl Into<String>) -> Inline {
    Inline::Text(words.into())
}

fn code(words: impl Into<String>) -> Inline {
    Inline::Code(words.into())
}
