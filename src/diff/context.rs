//! What all parts of a comparison look at, and how its entries are made.

use crate::diagnostic::{Change, ChangeKind, Direction, Stands};
use crate::diff::conditions::dependencies::Name;
use crate::diff::edition::Editions;
use crate::diff::pairing::rename_matching::Renamed;
use crate::diff::texts::focus::TextChange;
use crate::source::{FileId, Span, Store, visible};
use crate::types::{Date, Standard};

/// The longest text of a clause that is quoted.
const LONGEST: usize = 240;

/// What all parts of a comparison look at.
pub(in crate::diff) struct DiffContext<'d, 'a> {
    pub(in crate::diff) store: &'d Store,
    pub(in crate::diff) worlds: &'d Editions<'a>,
    pub(in crate::diff) renamed: &'d Renamed,
}

/// A change with what it rests on, before its effects are known.
#[derive(Debug, Clone)]
pub(in crate::diff) struct Entry {
    pub(in crate::diff) change: Change,
    /// What a clause has to read for this to bear on it.
    pub(in crate::diff) touches: Touches,
    /// Whether it is a difference even where no outcome changes.
    pub(in crate::diff) differs: bool,
    /// What it bears on beside clauses: how texts are read, what they may state.
    pub(in crate::diff) texts: Vec<TextChange>,
    /// Whether plans may fare worse, and better, by that.
    pub(in crate::diff) ways: [bool; 2],
    /// The records of a kind without which it bears on no plan.
    pub(in crate::diff) records: Option<(String, Vec<String>)>,
    /// Another day on which texts show it.
    pub(in crate::diff) day: Option<Date>,
}

/// What a change bears on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) enum Touches {
    /// No clause.
    Nothing,
    /// Clauses that rest on this setting, for these records if any are named.
    Setting(Name),
    /// Clauses that read any of these, or ask which record of this kind something is.
    Record(String, Vec<Name>),
    /// One clause, by its number.
    Clause(usize),
}

impl Entry {
    pub(in crate::diff) fn new(kinds: &[ChangeKind], subject: impl Into<String>) -> Self {
        Self {
            change: Change {
                kinds: kinds.to_vec(),
                subject: subject.into(),
                old: None,
                new: None,
                alarm: None,
                notes: Vec::new(),
                reaches: Vec::new(),
                direction: Direction::NONE,
                reading: false,
                shows: Vec::new(),
                effects: Vec::new(),
            },
            touches: Touches::Nothing,
            differs: true,
            texts: Vec::new(),
            ways: [false; 2],
            day: None,
            records: None,
        }
    }

    pub(in crate::diff) fn at(mut self, old: Option<Stands>, new: Option<Stands>) -> Self {
        self.change.old = old;
        self.change.new = new;
        self
    }

    pub(in crate::diff) fn note(mut self, note: impl Into<String>) -> Self {
        self.change.notes.push(note.into());
        self
    }

    pub(in crate::diff) fn alarm(mut self, alarm: Option<String>) -> Self {
        self.change.alarm = alarm;
        self
    }

    /// Plans are read in another way, and may fare worse by it, or better.
    pub(in crate::diff) fn reading(mut self, change: TextChange, ways: [bool; 2]) -> Self {
        self.change.reading = ways != [false; 2];
        self.through(vec![change], ways)
    }

    /// It bears on what texts come to otherwise than by clauses: what a plan states contradicts itself in another
    /// way, shares add up otherwise, a deviation lets other runs pass. Plans may fare worse by that, or better; what
    /// only texts can show is open until one does.
    pub(in crate::diff) fn through(mut self, changes: Vec<TextChange>, ways: [bool; 2]) -> Self {
        if changes.is_empty() {
            return self;
        }
        self.texts.extend(changes);
        self.ways[0] |= ways[0];
        self.ways[1] |= ways[1];
        self
    }

    pub(in crate::diff) fn touching(mut self, touches: Touches) -> Self {
        self.touches = touches;
        self
    }

    /// Something that people read differs, and nothing else.
    pub(in crate::diff) fn quiet(mut self) -> Self {
        self.differs = false;
        self
    }

    pub(in crate::diff) fn going(mut self, direction: Direction) -> Self {
        self.change.direction = direction;
        self
    }
}

impl DiffContext<'_, '_> {
    pub(in crate::diff) fn before(&self) -> &Standard {
        self.worlds.old.view
    }

    pub(in crate::diff) fn after(&self) -> &Standard {
        self.worlds.new.view
    }

    /// A place and its words, on one line.
    pub(in crate::diff) fn stands(&self, span: Span) -> Stands {
        self.with_words(span, self.store.slice(span))
    }

    /// A place with other words than stand there.
    pub(in crate::diff) fn with_words(&self, span: Span, words: &str) -> Stands {
        let words: Vec<&str> = words.split_whitespace().collect();
        let words = words.join(" ");
        let cut: String = words.chars().take(LONGEST).collect();
        let words = if cut.len() < words.len() {
            format!("{cut} …")
        } else {
            cut
        };
        Stands {
            span,
            words: visible(&words).into_owned(),
        }
    }

    /// The whole line that a place stands in.
    pub(in crate::diff) fn line(&self, span: Span) -> Stands {
        let text = self.store.get(span.file);
        let range = text.line_range(text.line_of(span.start as usize));
        let line = text.text().get(range).unwrap_or_default().to_owned();
        self.with_words(span, &line)
    }

    /// A file as the standard itself would name it.
    fn file(&self, root: FileId, file: FileId) -> String {
        if root == file {
            return String::new();
        }
        let (root, name) = (self.store.get(root).name(), self.store.get(file).name());
        let folder = root.rsplit_once('/').map_or("", |(folder, _)| folder);
        let name = name.strip_prefix(folder).unwrap_or(name);
        name.trim_start_matches('/').to_owned()
    }

    /// Says so where something stands in another file than before.
    pub(in crate::diff) fn moved(&self, old: Span, new: Span) -> Option<String> {
        let before = self.file(self.worlds.old.standard.root, old.file);
        let after = self.file(self.worlds.new.standard.root, new.file);
        if before == after {
            return None;
        }
        let called = |file: &str, root: FileId| {
            let name = if file.is_empty() {
                self.store
                    .get(root)
                    .name()
                    .rsplit('/')
                    .next()
                    .unwrap_or_default()
                    .to_owned()
            } else {
                file.to_owned()
            };
            visible(&name).into_owned()
        };
        Some(format!(
            "it stood in {}, and stands in {} now",
            called(&before, self.worlds.old.standard.root),
            called(&after, self.worlds.new.standard.root)
        ))
    }

    /// Whether something is the shop's own rather than shipped.
    pub(in crate::diff) fn is_own(&self, span: Span) -> bool {
        !self.store.get(span.file).name().starts_with('<')
    }
}
