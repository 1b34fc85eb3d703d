//! All texts of one call, by number.

use super::{FileId, Place, Span, Text};

/// The texts read so far. Adding never moves or changes an earlier one.
#[derive(Debug, Clone, Default)]
pub struct Store {
    texts: Vec<Text>,
}

impl Store {
    /// An empty store.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a text and gives its number.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<String>) -> FileId {
        let id = FileId(u32::try_from(self.texts.len()).unwrap_or(u32::MAX));
        self.texts.push(Text::new(name.into(), text.into()));
        id
    }

    /// The text with this number.
    ///
    /// A number from another store gives an empty text rather than a panic.
    #[must_use]
    pub fn get(&self, file: FileId) -> &Text {
        static EMPTY: std::sync::OnceLock<Text> = std::sync::OnceLock::new();
        self.texts
            .get(file.0 as usize)
            .unwrap_or_else(|| EMPTY.get_or_init(|| Text::new(String::new(), String::new())))
    }

    /// The text a span covers; empty if it does not fit the file.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.get(span.file).text().get(span.range()).unwrap_or("")
    }

    /// Line and column where a span starts.
    #[must_use]
    pub fn place(&self, span: Span) -> Place {
        self.get(span.file).place(span.start as usize)
    }

    /// All files in the order they were added.
    pub fn files(&self) -> impl Iterator<Item = (FileId, &Text)> {
        self.texts
            .iter()
            .enumerate()
            .map(|(index, text)| (FileId(u32::try_from(index).unwrap_or(u32::MAX)), text))
    }
}
