//! What can be written: the kinds, settings, records, rules, functions and units of a standard, in words.
//!
//! Plain values; `report` turns them into text.

/// A page of a vocabulary.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vocabulary {
    /// What it is of: a standard, or one word of it.
    pub title: String,
    /// What there is, a chapter for each sort of word.
    pub chapters: Vec<WordChapter>,
    /// What to ask next; may be empty.
    pub next: Vec<String>,
}

/// Words of one sort.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WordChapter {
    /// What sort.
    pub heading: String,
    /// The words, in the order they are declared.
    pub entries: Vec<WordEntry>,
    /// Lines of a standard that say it; empty where there are none.
    pub lines: String,
}

/// One word, with what it means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WordEntry {
    /// As it is written.
    pub name: String,
    /// What it is.
    pub words: String,
}
