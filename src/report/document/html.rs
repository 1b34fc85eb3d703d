//! The page as HTML: one file that loads nothing and runs nothing, and can be printed.
//!
//! It is well-formed XML as well, so that a test can read it with a parser that forgives nothing.

use super::{Block, Document, Inline};
use crate::source::visible;

/// Writes the page.
pub(super) fn write(page: &Document) -> String {
    let mut out = String::from(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\" />\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\" />\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\" />\n<title>",
    );
    escape(&page.title, &mut out);
    out.push_str("</title>\n<style>\n");
    out.push_str(include_str!("page.css"));
    // The digest is hex, so it cannot leave the style; nothing else from files stands in it.
    let digest: String = page
        .digest
        .chars()
        .filter(char::is_ascii_hexdigit)
        .take(12)
        .collect();
    out.push_str(&format!(
        "@page {{ @bottom-left {{ content: \"digest {digest}\"; }} }}\n</style>\n</head>\n<body>\n"
    ));
    contents(page, &mut out);
    let mut together = false;
    for block in &page.blocks {
        let ends = match block {
            Block::Together => true,
            Block::Heading { level, .. } => *level < 3,
            _ => false,
        };
        if ends && together {
            out.push_str("</section>\n");
            together = false;
        }
        if matches!(block, Block::Together) {
            out.push_str("<section>\n");
            together = true;
        }
        one(block, &mut out);
    }
    if together {
        out.push_str("</section>\n");
    }
    out.push_str("</body>\n</html>\n");
    out
}

/// Links to the parts of the page.
fn contents(page: &Document, out: &mut String) {
    out.push_str("<nav>\n<ul>\n");
    for block in &page.blocks {
        if let Block::Heading {
            level: 2,
            anchor,
            text,
        } = block
        {
            out.push_str("<li><a href=\"#");
            escape(anchor, out);
            out.push_str("\">");
            inlines(text, out);
            out.push_str("</a></li>\n");
        }
    }
    out.push_str("</ul>\n</nav>\n");
}

fn one(block: &Block, out: &mut String) {
    match block {
        Block::Heading {
            level,
            anchor,
            text,
        } => {
            let level = (*level).clamp(1, 6);
            out.push_str(&format!("<h{level}"));
            if !anchor.is_empty() {
                out.push_str(" id=\"");
                escape(anchor, out);
                out.push('"');
            }
            out.push('>');
            inlines(text, out);
            out.push_str(&format!("</h{level}>\n"));
        }
        Block::Paragraph(text) => {
            out.push_str("<p>");
            inlines(text, out);
            out.push_str("</p>\n");
        }
        Block::List(items) => {
            out.push_str("<ul>\n");
            for item in items {
                out.push_str("<li>");
                inlines(item, out);
                out.push_str("</li>\n");
            }
            out.push_str("</ul>\n");
        }
        Block::Table { columns, rows } => table(columns, rows, out),
        Block::Facts(facts) => {
            out.push_str("<dl>\n");
            for fact in facts {
                out.push_str("<dt>");
                escape(fact.name, out);
                out.push_str("</dt>\n<dd>");
                inlines(&fact.text, out);
                for row in &fact.rows {
                    out.push_str("<br />");
                    escape(&row.join("  "), out);
                }
                out.push_str("</dd>\n");
            }
            out.push_str("</dl>\n");
        }
        Block::Verbatim(lines) => {
            out.push_str("<pre>");
            for line in lines {
                escape(line, out);
                out.push('\n');
            }
            out.push_str("</pre>\n");
        }
        Block::Gap | Block::Together => {}
    }
}

fn table(columns: &[String], rows: &[Vec<Vec<Inline>>], out: &mut String) {
    out.push_str("<table>\n");
    if columns.iter().any(|column| !column.is_empty()) {
        out.push_str("<thead><tr>");
        for column in columns {
            out.push_str("<th scope=\"col\">");
            escape(column, out);
            out.push_str("</th>");
        }
        out.push_str("</tr></thead>\n");
    }
    out.push_str("<tbody>\n");
    for row in rows {
        out.push_str("<tr>");
        for cell in row {
            out.push_str("<td>");
            inlines(cell, out);
            out.push_str("</td>");
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n");
}

fn inlines(pieces: &[Inline], out: &mut String) {
    let around = |element: &str, words: &str, out: &mut String| {
        out.push_str(&format!("<{element}>"));
        escape(words, out);
        out.push_str(&format!("</{element}>"));
    };
    for piece in pieces {
        match piece {
            Inline::Text(words) => escape(words, out),
            Inline::Code(words) => around("code", words, out),
            Inline::Strong(words) => around("strong", words, out),
            Inline::Link { anchor, name } => {
                out.push_str("<a href=\"#");
                escape(anchor, out);
                out.push_str("\">");
                around("code", name, out);
                out.push_str("</a>");
            }
        }
    }
}

/// Text as text: no sign of it can open an element, an attribute or an entity.
pub(in crate::report) fn escape(words: &str, out: &mut String) {
    for character in visible(words).chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Characters that XML does not have are no part of a text.
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            other => out.push(other),
        }
    }
}
