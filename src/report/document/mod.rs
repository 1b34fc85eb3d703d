//! One model of what a report says, and writers that dress it: text for a terminal, Markdown, HTML.
//!
//! A report puts a document together once. What comes from files is a piece of text to every writer, so that it can
//! never become markup or move a cursor.

mod html;
mod markdown;
mod text;

pub(super) use html::escape as html_escape;
pub(super) use markdown::{coded as markdown_code, escaped as markdown_escape};

/// A document.
pub(super) struct Document {
    /// What it is of.
    pub(super) title: String,
    /// The digest, for the foot of every printed sheet.
    pub(super) digest: String,
    pub(super) blocks: Vec<Block>,
}

/// A piece of the document.
pub(super) enum Block {
    /// A heading; `level` from 1, `anchor` unique in the document and empty where nothing leads there.
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
    /// What is known of one thing.
    Facts(Vec<Fact>),
    /// Lines that are to be copied: none is folded.
    Verbatim(Vec<String>),
    /// An empty line in a text; Markdown and HTML part their blocks by themselves.
    Gap,
    /// What follows up to the next one of these is kept on one sheet if it fits.
    Together,
}

/// A fact: its name, which stands in the margin, and what is so; perhaps with figures below, one to a row.
pub(super) struct Fact {
    pub(super) name: &'static str,
    pub(super) text: Vec<Inline>,
    pub(super) rows: Vec<Vec<String>>,
}

/// A piece of a line.
pub(super) enum Inline {
    /// Plain text.
    Text(String),
    /// Text as it stands in a standard.
    Code(String),
    /// Text that weighs.
    Strong(String),
    /// A name that leads to a heading of this document.
    Link { anchor: String, name: String },
}

impl Document {
    /// Nothing said yet.
    pub(super) fn new(title: &str, digest: &str) -> Self {
        Self {
            title: title.to_owned(),
            digest: digest.to_owned(),
            blocks: Vec::new(),
        }
    }

    /// A heading that nothing leads to.
    pub(super) fn heading(&mut self, level: usize, words: impl Into<String>) {
        self.blocks.push(Block::Heading {
            level,
            anchor: String::new(),
            text: vec![text(words)],
        });
    }

    pub(super) fn paragraph(&mut self, words: impl Into<String>) {
        self.blocks.push(Block::Paragraph(vec![text(words)]));
    }

    pub(super) fn list(&mut self, items: impl IntoIterator<Item = String>) {
        let items = items.into_iter().map(|words| vec![text(words)]);
        self.blocks.push(Block::List(items.collect()));
    }

    pub(super) fn facts(&mut self, facts: Vec<Fact>) {
        self.blocks.push(Block::Facts(facts));
    }

    pub(super) fn gap(&mut self) {
        self.blocks.push(Block::Gap);
    }

    pub(super) fn verbatim(&mut self, lines: &str) {
        let lines = lines.lines().map(str::to_owned);
        self.blocks.push(Block::Verbatim(lines.collect()));
    }

    /// As text of a terminal.
    pub(super) fn to_text(&self, style: &super::Style) -> String {
        text::write(self, style)
    }

    /// As CommonMark with tables.
    pub(super) fn to_markdown(&self) -> String {
        markdown::write(self)
    }

    /// As one HTML page that loads nothing and runs nothing.
    pub(super) fn to_html(&self) -> String {
        html::write(self)
    }
}

/// A fact without figures below it.
pub(super) fn fact(name: &'static str, words: impl Into<String>) -> Fact {
    Fact {
        name,
        text: vec![text(words)],
        rows: Vec::new(),
    }
}

pub(super) fn text(words: impl Into<String>) -> Inline {
    Inline::Text(words.into())
}

pub(super) fn code(words: impl Into<String>) -> Inline {
    Inline::Code(words.into())
}
