//! A day of the calendar.

use std::fmt;

/// A day of the Gregorian calendar, written as in ISO 8601: `2026-03-01`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Day {
    year: u16,
    month: u8,
    day: u8,
}

impl Day {
    /// Reads `2026-03-01`; `None` when the text is not written so, or the calendar has no such day.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split('-');
        let mut number = |digits: usize| {
            let part = parts.next()?;
            let plain = part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit());
            plain.then(|| part.parse::<u16>().ok()).flatten()
        };
        let (year, month, day) = (number(4)?, number(2)?, number(2)?);
        if parts.next().is_some() || day == 0 || day > days(year, month)? {
            return None;
        }
        Some(Self {
            year,
            month: u8::try_from(month).ok()?,
            day: u8::try_from(day).ok()?,
        })
    }
}

/// Days of a month; `None` when the year has no such month.
fn days(year: u16, month: u16) -> Option<u16> {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    Some(match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => return None,
    })
}

impl fmt::Display for Day {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

    use super::Day;

    #[test]
    fn reads_what_it_writes() {
        for text in ["2026-03-01", "2024-02-29", "2000-02-29", "1999-12-31"] {
            assert_eq!(Day::parse(text).unwrap().to_string(), text);
        }
        assert!(Day::parse("2025-12-31") < Day::parse("2026-01-01"));
    }

    #[test]
    fn refuses_what_the_calendar_does_not_have() {
        // 1900 was no leap year, 2000 was (Gregorian reform).
        for text in [
            "2026-02-29",
            "1900-02-29",
            "2026-13-01",
            "2026-00-10",
            "2026-04-31",
            "2026-4-1",
            "2026-03-00",
            "01-03-2026",
            "2026-03",
            "2026-03-01-",
            "2026-03-+1",
            "",
        ] {
            assert_eq!(Day::parse(text), None, "{text}");
        }
    }
}
