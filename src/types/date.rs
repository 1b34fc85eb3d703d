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

    /// The day that many days behind 1970-01-01; `None` beyond the year 9999.
    #[must_use]
    pub fn since_1970(days: u64) -> Option<Self> {
        const EPOCH: i64 = 719_468;
        let day = i64::try_from(days).ok()?.checked_add(EPOCH)?;
        // The last first of March that does not lie behind the day; a year has 365.2425 days.
        let start = |year: i64| {
            365 * year + year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400)
        };
        let guess = day.checked_mul(400)? / 146_097;
        let year = (guess - 1..=guess + 1).rfind(|year| start(*year) <= day)?;
        let rest = day - start(year);
        let month = (5 * rest + 2) / 153;
        let in_month = rest - (153 * month + 2) / 5 + 1;
        let (year, month) = if month < 10 {
            (year, month + 3)
        } else {
            (year + 1, month - 9)
        };
        let date = Self {
            year: u16::try_from(year).ok()?,
            month: u8::try_from(month).ok()?,
            day: u8::try_from(in_month).ok()?,
        };
        (date.year <= 9999).then_some(date)
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

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::Date;

    #[test]
    fn days_since_1970_are_those_of_the_calendar() {
        // Unix time 1,000,000,000 fell on 2001-09-09, 2,000,000,000 falls on 2033-05-18 (both well known).
        for (days, text) in [
            (0, "1970-01-01"),
            (59, "1970-03-01"),
            (1_000_000_000 / 86_400, "2001-09-09"),
            (2_000_000_000 / 86_400, "2033-05-18"),
        ] {
            assert_eq!(Date::since_1970(days), Date::parse(text), "{text}");
        }
        let first = Date::since_1970(0).unwrap();
        let mut before = None;
        for days in (0..60_000).chain((60_000..2_932_897).step_by(97)) {
            let date = Date::since_1970(days).unwrap();
            assert_eq!(first.days_to(date), i64::try_from(days).unwrap());
            assert!(Some(date) > before && Date::parse(&date.to_string()) == Some(date));
            before = Some(date);
        }
        assert_eq!(Date::since_1970(2_932_896), Date::parse("9999-12-31"));
        assert_eq!(Date::since_1970(2_932_897), None);
        assert_eq!(Date::since_1970(u64::MAX), None);
    }
}
