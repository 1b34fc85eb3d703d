//! One text with its table of lines.

/// A line and column, both counted from 1; the column in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
}

/// A text with the name it was read under.
#[derive(Debug, Clone)]
pub struct Text {
    name: String,
    text: String,
    starts: Vec<u32>,
}

impl Text {
    /// A text under a name (a path with forward slashes, or a spec's name).
    #[must_use]
    pub fn new(name: String, text: String) -> Self {
        let mut starts = vec![0];
        for (offset, byte) in text.bytes().enumerate() {
            if byte == b'\n' {
                starts.push(u32::try_from(offset + 1).unwrap_or(u32::MAX));
            }
        }
        Self { name, text, starts }
    }

    /// The name it was read under.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// How many lines there are; an empty text has one.
    #[must_use]
    pub fn line_count(&self) -> usize {
        self.starts.len()
    }

    /// The number of the line, from 0, that holds the byte.
    #[must_use]
    pub fn line_of(&self, offset: usize) -> usize {
        let offset = u32::try_from(offset).unwrap_or(u32::MAX);
        self.starts
            .partition_point(|&start| start <= offset)
            .saturating_sub(1)
    }

    /// The bytes of a line, counted from 0, without its line end; empty past the last line.
    #[must_use]
    pub fn line_range(&self, line: usize) -> std::ops::Range<usize> {
        let size = self.text.len();
        let Some(&start) = self.starts.get(line) else {
            return size..size;
        };
        let start = start as usize;
        let end = self
            .starts
            .get(line + 1)
            .map_or(size, |&next| next as usize);
        let body = self.text.get(start..end).unwrap_or("");
        start..start + body.trim_end_matches(['\n', '\r']).len()
    }

    /// Line and column of a byte; a byte inside a character counts as that character.
    #[must_use]
    pub fn place(&self, offset: usize) -> Place {
        let line = self.line_of(offset);
        let start = self.starts.get(line).map_or(0, |&start| start as usize);
        let mut end = offset.min(self.text.len());
        while !self.text.is_char_boundary(end) {
            end -= 1;
        }
        let column = self.text.get(start..end).unwrap_or("").chars().count();
        let clip = |count: usize| u32::try_from(count + 1).unwrap_or(u32::MAX);
        Place {
            line: clip(line),
            column: clip(column),
        }
    }
}
