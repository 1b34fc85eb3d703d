//! The page as Markdown: CommonMark with tables.

use super::{Block, Document, Inline};
use crate::source::visible;

/// Writes the page.
pub(super) fn write(page: &Document) -> String {
    let mut out = String::new();
    for block in &page.blocks {
        match block {
            Block::Heading { level, text, .. } => {
                out.push_str(&"#".repeat(*level));
                out.push(' ');
                inlines(text, false, &mut out);
                out.push_str("\n\n");
            }
            Block::Paragraph(text) => {
                inlines(text, false, &mut out);
                out.push_str("\n\n");
            }
            Block::List(items) => {
                for item in items {
                    out.push_str("- ");
                    inlines(item, false, &mut out);
                    out.push('\n');
                }
                out.push('\n');
            }
            Block::Table { columns, rows } => table(columns, rows, &mut out),
            Block::Facts(facts) => {
                for fact in facts {
                    out.push_str("- ");
                    strong(fact.name, &mut out);
                    out.push_str(": ");
                    inlines(&fact.text, false, &mut out);
                    out.push('\n');
                    for row in &fact.rows {
                        out.push_str("  - ");
                        escape(&row.join("  "), &mut out);
                        out.push('\n');
                    }
                }
                out.push('\n');
            }
            Block::Verbatim(lines) => fenced(lines, &mut out),
            Block::Gap | Block::Together => {}
        }
    }
    while out.ends_with("\n\n") {
        out.pop();
    }
    out
}

/// A block of code whose fence is longer than any inside.
fn fenced(lines: &[String], out: &mut String) {
    let ticks = lines
        .iter()
        .flat_map(|line| line.split(|letter| letter != '`'));
    let fence = "`".repeat(ticks.map(str::len).max().unwrap_or(0).max(2) + 1);
    out.push_str(&format!("{fence}\n"));
    for line in lines {
        out.push_str(&format!("{}\n", visible(line)));
    }
    out.push_str(&format!("{fence}\n\n"));
}

fn table(columns: &[String], rows: &[Vec<Vec<Inline>>], out: &mut String) {
    out.push('|');
    for column in columns {
        out.push(' ');
        escape(column, out);
        out.push_str(" |");
    }
    out.push_str("\n|");
    for _ in columns {
        out.push_str(" --- |");
    }
    out.push('\n');
    for row in rows {
        out.push('|');
        for cell in row {
            out.push(' ');
            inlines(cell, true, out);
            out.push_str(" |");
        }
        out.push('\n');
    }
    out.push('\n');
}

fn inlines(pieces: &[Inline], in_table: bool, out: &mut String) {
    let mut line = String::new();
    for piece in pieces {
        match piece {
            Inline::Text(words) => escape(words, &mut line),
            Inline::Strong(words) => strong(words, &mut line),
            // Anchors differ from one reader of Markdown to the next, so a name is a name here.
            Inline::Code(words) | Inline::Link { name: words, .. } => {
                code(words, in_table, &mut line);
            }
        }
    }
    // Four spaces at the head of a line would make it a block of code.
    out.push_str(line.trim());
}

/// Stars mark what neither starts nor ends with a space; on the page a space stands on both sides.
fn strong(words: &str, out: &mut String) {
    let words = words.trim();
    if !words.is_empty() {
        out.push_str("**");
        escape(words, out);
        out.push_str("**");
    }
}

/// A stretch of code. Its fence is longer than any row of backticks inside.
fn code(words: &str, in_table: bool, out: &mut String) {
    let words = visible(words).replace(['\t', '\n', '\r'], " ");
    let words = words.trim();
    if words.is_empty() {
        return;
    }
    let longest = words
        .split(|character| character != '`')
        .map(str::len)
        .max()
        .unwrap_or(0);
    let fence = "`".repeat(longest + 1);
    let space = if words.starts_with('`') || words.ends_with('`') {
        " "
    } else {
        ""
    };
    // A bar would end the cell, even in code.
    let words = if in_table {
        words.replace('|', "\\|")
    } else {
        words.to_owned()
    };
    out.push_str(&format!("{fence}{space}{words}{space}{fence}"));
}

/// Text with every sign that Markdown could read as markup behind a backslash.
fn escape(words: &str, out: &mut String) {
    let words = visible(words);
    let characters: Vec<char> = words.chars().collect();
    for (index, &character) in characters.iter().enumerate() {
        let before = index.checked_sub(1).and_then(|at| characters.get(at));
        let after = characters.get(index + 1);
        // Signs that only start something at the head of a line, where our own words never stand.
        let head = index == 0 && matches!(character, '-' | '+' | '=' | '.' | ')' | ':');
        let number = matches!(character, '.' | ')')
            && after.is_none_or(|after| after.is_whitespace())
            && characters
                .iter()
                .take(index)
                .all(|digit| digit.is_ascii_digit());
        // Addresses become links by themselves: `https://`, `www.`, `a@b`.
        let address = match character {
            ':' => after.is_some_and(|after| !after.is_whitespace()),
            '.' => before.is_some_and(|before| matches!(before, 'w' | 'W')),
            _ => false,
        };
        match character {
            '\t' | '\n' | '\r' => {
                out.push(' ');
                continue;
            }
            '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '<' | '>' | '#' | '!' | '|' | '~'
            | '&' | '$' | '@' | '^' => out.push('\\'),
            _ if head || number || address => out.push('\\'),
            _ => {}
        }
        out.push(character);
    }
}

/// Text that is no markup.
pub(in crate::report) fn escaped(words: &str) -> String {
    let mut text = String::new();
    escape(words, &mut text);
    text
}

/// A stretch of code outside tables.
pub(in crate::report) fn coded(words: &str) -> String {
    let mut text = String::new();
    code(words, false, &mut text);
    text
}
