//! A place in a text: file, start and end in bytes, half open.

/// A number for a file of the [`Store`](super::Store).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

/// A stretch of one file, in bytes, half open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// Offset of the first byte.
    pub start: u32,
    /// Offset behind the last byte.
    pub end: u32,
}

impl Span {
    /// A stretch of `file` from `start` up to `end`.
    #[must_use]
    pub fn new(file: FileId, start: usize, end: usize) -> Self {
        let clip = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
        Self {
            file,
            start: clip(start),
            end: clip(end.max(start)),
        }
    }

    /// The bytes as a range, to cut a text with.
    #[must_use]
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// The smallest stretch that holds both; `self` when the files differ.
    #[must_use]
    pub fn join(self, other: Self) -> Self {
        if self.file != other.file {
            return self;
        }
        Self {
            file: self.file,
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }

    /// The empty stretch just before this one.
    #[must_use]
    pub fn before(self) -> Self {
        Self {
            end: self.start,
            ..self
        }
    }

    /// The empty stretch just behind this one.
    #[must_use]
    pub fn after(self) -> Self {
        Self {
            start: self.end,
            ..self
        }
    }
}
