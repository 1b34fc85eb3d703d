//! The document as text for a terminal.

use super::{Block, Document, Fact, Inline};
use crate::report::Style;
use crate::report::fold::fold;
use crate::source::visible;

/// Column in which a fact begins beside its name.
const COLUMN: usize = 15;

/// Writes the document. A first heading, a list, a table and facts have an empty line below them.
pub(super) fn write(document: &Document, style: &Style) -> String {
    let width = style.width.clamp(40, 1000);
    let mut out = String::new();
    for block in &document.blocks {
        match block {
            Block::Heading { level, text, .. } => {
                let (first, rest) = if *level < 3 {
                    ("", "  ")
                } else {
                    ("  ", "    ")
                };
                let words = fold(&plain(text), width, first, rest);
                if style.colour {
                    out.push_str(&format!("\u{1b}[1m{}\u{1b}[0m\n", words.trim_end()));
                } else {
                    out.push_str(&words);
                }
                if *level == 1 {
                    out.push('\n');
                }
            }
            Block::Paragraph(text) => out.push_str(&fold(&plain(text), width, "", "  ")),
            Block::List(items) => {
                for item in items {
                    out.push_str(&fold(&plain(item), width, "  ", "      "));
                }
                out.push('\n');
            }
            Block::Table { columns, rows } => {
                let cells = |row: &Vec<Vec<Inline>>| row.iter().map(|cell| plain(cell)).collect();
                let mut lines: Vec<Vec<String>> = rows.iter().map(cells).collect();
                if columns.iter().any(|column| !column.is_empty()) {
                    let names = columns.iter().map(|name| visible(name).into_owned());
                    lines.insert(0, names.collect());
                }
                aligned(&lines, 2, width, &mut out);
                out.push('\n');
            }
            Block::Facts(facts) => {
                for fact in facts {
                    one(fact, width, &mut out);
                }
                out.push('\n');
            }
            Block::Verbatim(lines) => {
                for line in lines {
                    out.push_str(&format!("    │ {}\n", visible(line)));
                }
                out.push('\n');
            }
            Block::Gap => out.push('\n'),
            Block::Together => {}
        }
    }
    out
}

fn one(fact: &Fact, width: usize, out: &mut String) {
    let first = format!("  {:<width$}", fact.name, width = COLUMN - 2);
    out.push_str(&fold(
        &plain(&fact.text),
        width,
        &first,
        &" ".repeat(COLUMN),
    ));
    aligned(&fact.rows, COLUMN, width, out);
}

/// Rows below each other, their cells aligned; a cell that is very long does not move the others.
fn aligned(rows: &[Vec<String>], indent: usize, width: usize, out: &mut String) {
    const WIDEST: usize = 32;
    let cells = rows.iter().map(Vec::len).max().unwrap_or(0);
    let size = |cell: &String| visible(cell).chars().count();
    let widest = |column: usize| {
        let sizes = rows.iter().filter_map(|row| row.get(column)).map(size);
        sizes.max().unwrap_or(0).min(WIDEST)
    };
    let widths: Vec<usize> = (0..cells).map(widest).collect();
    for row in rows {
        let filled = row.iter().rposition(|cell| !cell.is_empty()).unwrap_or(0);
        let mut first = " ".repeat(indent);
        let (before, last) = row.split_at(filled.min(row.len()));
        for (cell, width) in before.iter().zip(&widths) {
            first.push_str(&format!("{:<width$}  ", visible(cell)));
        }
        // The last cell is folded below itself.
        let rest = " ".repeat(
            indent
                + widths
                    .iter()
                    .take(filled)
                    .map(|width| width + 2)
                    .sum::<usize>(),
        );
        let last = last.first().map(|cell| visible(cell)).unwrap_or_default();
        out.push_str(&fold(&last, width, &first, &rest));
    }
}

/// The words of a line, with nothing in them that moves a cursor.
fn plain(pieces: &[Inline]) -> String {
    let words = pieces.iter().map(|piece| match piece {
        Inline::Text(words) | Inline::Strong(words) => visible(words).into_owned(),
        Inline::Code(words) | Inline::Link { name: words, .. } => format!("`{}`", visible(words)),
    });
    words.collect()
}
