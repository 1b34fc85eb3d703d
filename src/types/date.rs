//! Calendar dates, as deviations end on them, limits are reviewed on them and checks are made for them.

use std::fmt;

use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::tree::Word;

/// A day of the Gregorian calendar, written as in ISO 8601: `2026-12-31`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

impl Date {
    /// Reads `2026-12-31`; `None` for what is no such day, as `2026-02-30`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let bytes = text.as_bytes();
        let [_, _, _, _, b'-', _, _, b'-', _, _] = bytes else {
            return None;
        };
        let number = |range: std::ops::Range<usize>| -> Option<u16> {
            let digits = text.get(range)?;
            let plain = digits.bytes().all(|byte| byte.is_ascii_digit());
            plain.then(|| digits.parse().ok()).flatten()
        };
        let (year, month, day) = (number(0..4)?, number(5..7)?, number(8..10)?);
        let (month, day) = (u8::try_from(month).ok()?, u8::try_from(day).ok()?);
        let known = (1..=12).contains(&month) && (1..=length(year, month)).contains(&day);
        known.then_some(Self { year, month, day })
    }

    /// Reads the date behind a keyword; one that the calendar does not have is said and left out.
    pub(super) fn read(
        word: Word<'_>,
        keyword: &str,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Self> {
        let date = Self::parse(word.text);
        if date.is_none() {
            problems.push(
                Diagnostic::new(
                    Code::NotADate,
                    word.span,
                    format!("there is no day `{}`", word.text),
                    "not a day",
                )
                .help(format!(
                    "write year, month and day, as in `{keyword} 2026-12-31`"
                )),
            );
        }
        date
    }

    /// How many days `later` lies behind this day; negative when it lies before.
    #[must_use]
    pub fn days_to(self, later: Self) -> i64 {
        later.number() - self.number()
    }

    /// Days since the first of March of the year 0, so that a leap day ends its year.
    fn number(self) -> i64 {
        let (month, year) = (i64::from(self.month), i64::from(self.year));
        let (year, month) = if month < 3 {
            (year - 1, month + 9)
        } else {
            (year, month - 3)
        };
        // Months from March: 31, 30, 31, 30, 31 days, and over again.
        let before = (153 * month + 2) / 5;
        let leaps = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
        365 * year + leaps + before + i64::from(self.day) - 1
    }
}

fn length(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

impl fmt::Display for Date {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}
