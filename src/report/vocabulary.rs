//! A vocabulary, for people.

use std::io::{self, Write};

use super::Style;
use super::document::{Block, Document, Inline, code, text};
use crate::diagnostic::{Vocabulary, WordEntry};

/// Writes a vocabulary as text.
///
/// # Errors
/// Whatever `out` fails with.
pub fn vocabulary(page: &Vocabulary, style: &Style, out: &mut dyn Write) -> io::Result<()> {
    out.write_all(document(page).to_text(style).as_bytes())
}

fn document(page: &Vocabulary) -> Document {
    let mut document = Document::new(&page.title, "");
    document.heading(1, &page.title);
    for chapter in &page.chapters {
        document.heading(2, &chapter.heading);
        if !chapter.entries.is_empty() {
            let entries = chapter.entries.iter().map(line);
            document.blocks.push(Block::List(entries.collect()));
        }
        if !chapter.lines.is_empty() {
            document.verbatim(&chapter.lines);
        }
    }
    if !page.next.is_empty() {
        document.heading(2, "next");
        document.list(page.next.iter().cloned());
    }
    document
}

fn line(entry: &WordEntry) -> Vec<Inline> {
    vec![code(&entry.name), text(format!(": {}", entry.words))]
}
