//! The few lines around some places of a text, made safe to show.
//!
//! A renderer gets these lines alone, with their true line numbers, so a place at the end of a
//! long file costs no more than one at its top. Hidden characters are escaped and long lines cut
//! around the place; the marks move with the text.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::source::{Place, Text, visible};

/// How many places of one file are shown; more would bury the first.
const MOST_MARKS: usize = 8;

/// A place to mark: bytes of the text, and words.
pub(super) struct Wanted<'r> {
    /// The bytes; clipped to the text and to its first line.
    pub(super) range: Range<usize>,
    /// What is to be seen there.
    pub(super) words: &'r str,
}

/// How much is shown.
pub(super) struct Cut {
    /// Lines before and after each place.
    pub(super) context: usize,
    /// Characters of a line.
    pub(super) width: usize,
    /// What stands where a line was cut.
    pub(super) ellipsis: &'static str,
}

/// A place marked in the excerpt.
#[derive(Debug)]
pub(super) struct Mark {
    /// Bytes of the excerpt; never empty, always inside one line.
    pub(super) range: Range<usize>,
    /// What is to be seen there, escaped.
    pub(super) words: String,
    /// Where it stands in the text.
    pub(super) place: Place,
    /// Whether the line before it looks different here: escaped or cut.
    pub(super) moved: bool,
}

/// One line of the excerpt.
#[derive(Debug)]
struct Row {
    /// Where it starts in the excerpt.
    start: usize,
    /// Its number in the text, from 0.
    number: usize,
}

/// Lines of a text with marks.
#[derive(Debug)]
pub(super) struct Excerpt {
    name: String,
    text: String,
    rows: Vec<Row>,
    marks: Vec<Mark>,
}

/// A stretch of whole lines, as a renderer reads it.
pub(super) struct Stretch<'e> {
    /// The lines, each with a line end.
    pub(super) text: &'e str,
    /// Where they start in the excerpt.
    pub(super) start: usize,
    /// The number of the first, from 0.
    pub(super) line: usize,
    /// The column of the first byte, from 0.
    pub(super) column: usize,
    /// How many there are.
    pub(super) count: usize,
}

impl Excerpt {
    /// Cuts out the lines around the places.
    pub(super) fn new(text: &Text, wanted: &[Wanted<'_>], cut: &Cut) -> Self {
        let context = cut.context;
        // Line, bytes and words of each place, clipped to its first line.
        let places: Vec<(usize, Range<usize>, &str)> = wanted
            .iter()
            .take(MOST_MARKS)
            .map(|wanted| {
                let start = floor(text.text(), wanted.range.start);
                let line = text.line_of(start);
                let body = text.line_range(line);
                let start = start.min(body.end);
                let end = floor(text.text(), wanted.range.end).clamp(start, body.end);
                (line, start..end, wanted.words)
            })
            .collect();
        let mut lines = BTreeSet::new();
        for (line, _, _) in &places {
            let last = (line + context).min(text.line_count().saturating_sub(1));
            lines.extend(line.saturating_sub(context)..=last);
        }
        let mut excerpt = Self {
            name: visible(text.name()).into_owned(),
            text: String::new(),
            rows: Vec::with_capacity(lines.len()),
            marks: Vec::with_capacity(places.len()),
        };
        for number in lines {
            let here = places.iter().filter(|(line, _, _)| *line == number);
            excerpt.add_line(text, number, here, cut);
        }
        excerpt
    }

    /// The file's name, escaped.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// The marks, in the order of the lines.
    pub(super) fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Whole lines around a range of the excerpt, or with no context just the range.
    /// `None` when it is outside, or when lines between its ends were left out.
    pub(super) fn stretch(
        &self,
        range: Range<usize>,
        before: usize,
        after: usize,
    ) -> Option<Stretch<'_>> {
        let first = self.row_of(range.start)?;
        let last = self.row_of(range.end.saturating_sub(1).max(range.start))?;
        let first_number = self.rows.get(first)?.number;
        if self.rows.get(last)?.number - first_number != last - first {
            return None;
        }
        if before == 0 && after == 0 {
            let mark = self
                .marks
                .iter()
                .find(|mark| mark.range.start == range.start);
            return Some(Stretch {
                text: self.text.get(range.clone())?,
                start: range.start,
                line: first_number,
                column: mark.map_or(0, |mark| mark.place.column.saturating_sub(1) as usize),
                count: last - first + 1,
            });
        }
        let neighbours = |one: usize, other: usize| match (self.rows.get(one), self.rows.get(other))
        {
            (Some(one), Some(other)) => one.number + 1 == other.number,
            _ => false,
        };
        let mut from = first;
        while from > 0 && first - from < before && neighbours(from - 1, from) {
            from -= 1;
        }
        let mut to = last;
        while to - last < after && neighbours(to, to + 1) {
            to += 1;
        }
        let start = self.rows.get(from)?.start;
        let end = self
            .rows
            .get(to + 1)
            .map_or(self.text.len(), |row| row.start);
        Some(Stretch {
            text: self.text.get(start..end)?,
            start,
            line: self.rows.get(from)?.number,
            column: 0,
            count: to - from + 1,
        })
    }

    fn row_of(&self, offset: usize) -> Option<usize> {
        if offset >= self.text.len() {
            return None;
        }
        self.rows
            .partition_point(|row| row.start <= offset)
            .checked_sub(1)
    }

    /// Adds one line: cut around its first place, escaped, with its marks.
    fn add_line<'p>(
        &mut self,
        text: &Text,
        number: usize,
        here: impl Iterator<Item = &'p (usize, Range<usize>, &'p str)> + Clone,
        cut: &Cut,
    ) {
        let body = text.line_range(number);
        let start = self.text.len();
        self.rows.push(Row { start, number });
        let centre = here
            .clone()
            .next()
            .map_or(body.start, |(_, range, _)| range.start);
        let window = window(text.text(), &body, centre, cut.width.max(20));
        if window.start > body.start {
            self.text.push_str(cut.ellipsis);
        }
        let shown_at = self.text.len();
        let slice = |range: Range<usize>| text.text().get(range).unwrap_or("");
        self.text.push_str(&visible(slice(window.clone())));
        if window.end < body.end {
            self.text.push_str(cut.ellipsis);
        }
        for (_, range, words) in here {
            let shift = |offset: usize| {
                let offset = offset.clamp(window.start, window.end);
                shown_at + visible(slice(window.start..offset)).len()
            };
            let mut mark = shift(range.start)..shift(range.end);
            if mark.is_empty() {
                // An empty place is shown as the character it stands before; at the end of a line
                // a blank is added for it to stand on.
                match self
                    .text
                    .get(mark.start..)
                    .and_then(|rest| rest.chars().next())
                {
                    Some(next) => mark.end += next.len_utf8(),
                    None => {
                        self.text.push(' ');
                        mark.end += 1;
                    }
                }
            }
            let moved = mark.start - start != range.start - body.start;
            self.marks.push(Mark {
                range: mark,
                words: visible(words).into_owned(),
                place: text.place(range.start),
                moved,
            });
        }
        self.text.push('\n');
    }
}

/// The largest character boundary that is not behind `offset`.
fn floor(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

/// About `width` characters of a line, a third of them before `centre`.
fn window(text: &str, body: &Range<usize>, centre: usize, width: usize) -> Range<usize> {
    if body.len() <= width {
        return body.clone();
    }
    let before = text.get(body.start..centre).unwrap_or("");
    let start = before
        .char_indices()
        .rev()
        .nth(width / 3)
        .map_or(body.start, |(offset, _)| body.start + offset);
    let rest = text.get(start..body.end).unwrap_or("");
    let end = rest
        .char_indices()
        .nth(width)
        .map_or(body.end, |(offset, _)| start + offset);
    start..end
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

    use super::{Cut, Excerpt, Wanted};
    use crate::source::Text;

    const CUT: Cut = Cut {
        context: 1,
        width: 30,
        ellipsis: "…",
    };

    fn excerpt(text: &str, range: std::ops::Range<usize>) -> Excerpt {
        let text = Text::new("a.plan".into(), text.into());
        Excerpt::new(
            &text,
            &[Wanted {
                range,
                words: "here",
            }],
            &CUT,
        )
    }

    fn marked(excerpt: &Excerpt) -> &str {
        &excerpt.text[excerpt.marks[0].range.clone()]
    }

    #[test]
    fn keeps_true_line_numbers() {
        let text = "one\ntwo\nthree\nfour\nfive\n";
        let excerpt = excerpt(text, 14..18);
        assert_eq!(excerpt.text, "three\nfour\nfive\n");
        assert_eq!(marked(&excerpt), "four");
        let mark = excerpt.marks[0].range.clone();
        let stretch = excerpt.stretch(mark, 1, 1).unwrap();
        assert_eq!(
            (stretch.line, stretch.count, stretch.text),
            (2, 3, "three\nfour\nfive\n")
        );
    }

    #[test]
    fn a_mark_moves_with_escaped_text() {
        let excerpt = excerpt("a\u{1b}b\u{202e} belt", 7..11);
        assert_eq!(excerpt.text, "a\\u{1b}b\\u{202e} belt\n");
        assert_eq!(marked(&excerpt), "belt");
        assert!(excerpt.marks[0].moved);
    }

    #[test]
    fn a_long_line_is_cut_around_the_place() {
        let line = format!("{}belt{}", "é".repeat(25_000), "x".repeat(25_000));
        let excerpt = excerpt(&line, 50_000..50_004);
        assert_eq!(marked(&excerpt), "belt");
        assert!(excerpt.text.chars().count() < 40, "{}", excerpt.text);
        assert_eq!(excerpt.marks[0].place.column, 25_001);
    }

    #[test]
    fn an_empty_place_has_something_to_stand_on() {
        assert_eq!(marked(&excerpt("", 0..0)), " ");
        assert_eq!(marked(&excerpt("ab\ncd", 2..2)), " ");
        assert_eq!(marked(&excerpt("ab\ncd", 3..3)), "c");
        assert_eq!(marked(&excerpt("ab\r\ncd", 3..3)), " ");
    }

    #[test]
    fn places_outside_the_text_are_pulled_in() {
        let excerpt = excerpt("ab µm", 90..95);
        assert_eq!(excerpt.marks[0].place.column, 6);
        // Inside the two bytes of `µ`.
        let text = Text::new("a".into(), "ab µm".into());
        let excerpt = Excerpt::new(
            &text,
            &[Wanted {
                range: 4..5,
                words: "",
            }],
            &CUT,
        );
        assert_eq!(marked(&excerpt), "µ");
    }

    #[test]
    fn lines_left_out_between_two_places_are_not_bridged() {
        let text = Text::new("a".into(), "1\n2\n3\n4\n5\n6\n7\n8\n9\n".into());
        let wanted = [
            Wanted {
                range: 0..1,
                words: "",
            },
            Wanted {
                range: 16..17,
                words: "",
            },
        ];
        let excerpt = Excerpt::new(&text, &wanted, &CUT);
        assert_eq!(excerpt.text, "1\n2\n8\n9\n\n");
        let first = excerpt.marks[0].range.start;
        let last = excerpt.marks[1].range.end;
        assert!(excerpt.stretch(first..last, 1, 1).is_none());
    }
}
