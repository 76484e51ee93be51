//! Days and times of day as a book writes them.

use super::words::Allowed;
use std::fmt::{Display, Formatter};
use std::str::FromStr;

/// A day of the calendar, from 1900 to 2199. Written `2025-01-31`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day(i64);

impl Day {
    const WORDS: &str = "a day such as 2025-01-31";

    /// Days from another day to this one; below zero if this one is earlier.
    #[must_use]
    pub fn since(self, other: Self) -> i64 {
        self.0 - other.0
    }

    /// Year, month and day of the month.
    ///
    /// Source of both conversions: Hinnant, chrono-Compatible Low-Level Date Algorithms, 2013. A year
    /// begins in March there, so that the leap day is its last.
    fn civil(self) -> (i64, i64, i64) {
        let days = self.0 + 719_468;
        let era = days.div_euclid(146_097);
        let of_era = days.rem_euclid(146_097);
        let year = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
        let of_year = of_era - (365 * year + year / 4 - year / 100);
        let month = (5 * of_year + 2) / 153;
        let day = of_year - (153 * month + 2) / 5 + 1;
        let month = if month < 10 { month + 3 } else { month - 9 };
        (year + era * 400 + i64::from(month <= 2), month, day)
    }

    fn from_civil(year: i64, month: i64, day: i64) -> Self {
        let shifted = if month <= 2 { year - 1 } else { year };
        let era = shifted.div_euclid(400);
        let of_era = shifted.rem_euclid(400);
        let of_year = (153 * (if month > 2 { month - 3 } else { month + 9 }) + 2) / 5 + day - 1;
        Self(era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468)
    }
}

impl FromStr for Day {
    type Err = Allowed;

    fn from_str(text: &str) -> Result<Self, Allowed> {
        let read = || {
            let mut parts = text.split('-');
            let mut part = |digits: usize| digits_only(parts.next()?, digits);
            let (year, month, day) = (part(4)?, part(2)?, part(2)?);
            let known = parts.next().is_none() && (1900..=2199).contains(&year);
            let found = Self::from_civil(year, month, day);
            // The 30th of February comes back as another day.
            (known && found.civil() == (year, month, day)).then_some(found)
        };
        read().ok_or_else(|| Allowed::new(Self::WORDS))
    }
}

impl Display for Day {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> std::fmt::Result {
        let (year, month, day) = self.civil();
        write!(formatter, "{year:04}-{month:02}-{day:02}")
    }
}

/// A time of day to the minute. Written `07:40`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Clock(u16);

impl Clock {
    const WORDS: &str = "a time of day such as 07:40";

    /// Minutes since midnight.
    #[must_use]
    pub fn minutes(self) -> u16 {
        self.0
    }

    /// As much later, rounded to the minute; the last minute of the day at most.
    #[must_use]
    pub fn later_by(self, seconds: f64) -> Self {
        let minutes = f64::from(self.0) + (seconds / 60.0).round();
        Self(minutes.clamp(0.0, 1_439.0) as u16)
    }
}

impl FromStr for Clock {
    type Err = Allowed;

    fn from_str(text: &str) -> Result<Self, Allowed> {
        let read = || {
            let (hours, minutes) = text.split_once(':')?;
            let (hours, minutes) = (digits_only(hours, 2)?, digits_only(minutes, 2)?);
            let known = hours < 24 && minutes < 60;
            u16::try_from(60 * hours + minutes).ok().filter(|_| known).map(Self)
        };
        read().ok_or_else(|| Allowed::new(Self::WORDS))
    }
}

impl Display for Clock {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "{:02}:{:02}", self.0 / 60, self.0 % 60)
    }
}

/// A number of exactly so many digits.
fn digits_only(text: &str, digits: usize) -> Option<i64> {
    let good = text.len() == digits && text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|_| good)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn days_that_are_known() {
        let day = |text: &str| text.parse::<Day>().unwrap();
        assert_eq!(day("1970-01-01"), Day(0));
        // Hinnant 2013 prints the civil date 2000-03-01 as day 11017.
        assert_eq!(day("2000-03-01"), Day(11_017));
        assert_eq!(day("2024-03-01").since(day("2024-02-28")), 2);
        assert_eq!(day("2100-03-01").since(day("2100-02-28")), 1);
    }

    #[test]
    fn days_and_times_that_are_none() {
        for text in ["", "2025-1-31", "2025-02-29", "2025-13-01", "31.1.2025", "2025-01-31-"] {
            assert!(text.parse::<Day>().is_err(), "{text}");
        }
        for text in ["", "7:40", "24:00", "07:60", "07:40:00", "+7:40"] {
            assert!(text.parse::<Clock>().is_err(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn every_day_is_read_as_written(number in -25_567i64..84_006) {
            let day = Day(number);
            prop_assert_eq!(day.to_string().parse::<Day>().unwrap(), day);
            prop_assert!(Day(number - 1).to_string() < day.to_string());
        }

        #[test]
        fn every_time_is_read_as_written(minutes in 0u16..1_440) {
            prop_assert_eq!(Clock(minutes).to_string().parse::<Clock>().unwrap(), Clock(minutes));
        }
    }
}
