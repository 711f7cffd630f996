//! The only place that reads a clock.
//!
//! Everything that needs a time takes a [`Now`] from a [`Clock`]: the [`SystemClock`] in a live
//! session, the [`VirtualClock`] in a replay, where an hour passes as fast as it is worked through.
//! Order and timers go by the milliseconds of the session, which never run backward; the wall time
//! stands beside them so that people can find the moment, and may jump when the machine's clock is
//! set.

use std::fmt;
use std::time::{Duration, Instant};

use jiff::fmt::temporal::DateTimeParser;
use jiff::tz::{Offset, TimeZone};
use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A moment as a watch on the wall shows it, with its offset from UTC, to the millisecond.
///
/// Written and read as RFC 3339: `2026-03-04T17:05:09.120+01:00`. Serialized the same way, and
/// what is read back is written again letter for letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WallTime {
    at: Timestamp,
    offset: Offset,
}

impl WallTime {
    /// Cuts to whole milliseconds and, because RFC 3339 has no seconds in an offset, to whole
    /// minutes of offset.
    pub fn new(at: Timestamp, offset: Offset) -> WallTime {
        let millisecond = at.as_millisecond();
        let minutes = offset.seconds().div_euclid(60);
        WallTime {
            at: Timestamp::from_millisecond(millisecond).unwrap_or(at),
            offset: Offset::from_seconds(minutes * 60).unwrap_or(Offset::UTC),
        }
    }

    /// # Errors
    ///
    /// Says what is wrong with a text that is not RFC 3339 with an offset.
    pub fn parse(text: &str) -> Result<WallTime, String> {
        let wrong =
            |why: String| format!("`{text}` is not a time with an offset (RFC 3339): {why}");
        let pieces = DateTimeParser::new()
            .parse_pieces(text)
            .map_err(|e| wrong(e.to_string()))?;
        let offset = pieces
            .to_numeric_offset()
            .ok_or_else(|| wrong("the offset is missing".to_owned()))?;
        let time = pieces
            .time()
            .ok_or_else(|| wrong("the time of day is missing".to_owned()))?;
        let at = offset
            .to_timestamp(pieces.date().to_datetime(time))
            .map_err(|e| wrong(e.to_string()))?;
        Ok(WallTime::new(at, offset))
    }

    /// Milliseconds from `earlier` to this moment; negative when the clock was set back between.
    pub fn since(self, earlier: WallTime) -> i64 {
        self.at.as_millisecond() - earlier.at.as_millisecond()
    }

    /// This moment and `ms` milliseconds, or this moment where the calendar ends.
    pub fn plus(self, ms: u64) -> WallTime {
        let by = SignedDuration::from_millis(i64::try_from(ms).unwrap_or(i64::MAX));
        WallTime {
            at: self.at.checked_add(by).unwrap_or(self.at),
            ..self
        }
    }

    /// The day at the place of the clock.
    pub fn day(self) -> Day {
        Day(self.offset.to_datetime(self.at).date())
    }

    /// The local date and time in letters that any file system takes: `2026-03-04-170509`.
    pub fn for_file_name(self) -> String {
        let local = self.offset.to_datetime(self.at);
        local.strftime("%Y-%m-%d-%H%M%S").to_string()
    }
}

impl fmt::Display for WallTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.3}", self.at.display_with_offset(self.offset))
    }
}

impl Serialize for WallTime {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for WallTime {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<WallTime, D::Error> {
        let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
        WallTime::parse(&text).map_err(serde::de::Error::custom)
    }
}

/// A day of the calendar. Written and read as RFC 3339 has it: `2026-03-04`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day(jiff::civil::Date);

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl std::str::FromStr for Day {
    type Err = String;

    fn from_str(text: &str) -> Result<Day, String> {
        let day = jiff::civil::Date::strptime("%Y-%m-%d", text);
        day.map(Day)
            .map_err(|_| format!("found `{text}`, expected a day such as `2026-03-04`"))
    }
}

/// One reading of a clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Now {
    pub wall: WallTime,
    /// Milliseconds since the session began. Never runs backward, whatever the wall clock does.
    pub ms: u64,
}

impl Now {
    /// The moment `wall` of a session that is taken up again and whose last recorded moment is
    /// `self`: the time between, as far as the wall clock shows any, has passed for timers too.
    pub fn taken_up_at(self, wall: WallTime) -> Now {
        let away = u64::try_from(wall.since(self.wall)).unwrap_or(0);
        Now {
            wall,
            ms: self.ms.saturating_add(away),
        }
    }
}

/// Something that tells the time of a session.
pub trait Clock {
    fn now(&self) -> Now;
}

/// The machine's own clocks.
///
/// The milliseconds come from the operating system's monotonic clock. On most systems it stands
/// still while the machine is suspended; the wall time beside it shows the gap.
#[derive(Debug)]
pub struct SystemClock {
    zone: TimeZone,
    started: Instant,
    already: u64,
}

impl SystemClock {
    /// A session that begins now, in the machine's time zone.
    pub fn start() -> SystemClock {
        SystemClock::starting_at(0)
    }

    /// A session that is taken up again: the first reading is `already` milliseconds, from
    /// [`Now::taken_up_at`].
    pub fn starting_at(already: u64) -> SystemClock {
        SystemClock {
            zone: TimeZone::system(),
            started: Instant::now(),
            already,
        }
    }
}

impl Clock for SystemClock {
    fn now(&self) -> Now {
        let at = Timestamp::now();
        let passed = u64::try_from(self.started.elapsed().as_millis()).unwrap_or(u64::MAX);
        Now {
            wall: WallTime::new(at, self.zone.to_offset(at)),
            ms: self.already.saturating_add(passed),
        }
    }
}

/// The moment until which something is waited for.
#[derive(Debug, Clone, Copy)]
pub struct Deadline {
    at: Instant,
}

impl Deadline {
    pub fn after(wait: Duration) -> Deadline {
        Deadline {
            at: Instant::now() + wait,
        }
    }

    /// How long there still is; zero once it has passed.
    pub fn left(self) -> Duration {
        self.at.saturating_duration_since(Instant::now())
    }

    pub fn has_passed(self) -> bool {
        self.left().is_zero()
    }
}

/// A clock that goes only when it is moved.
#[derive(Debug, Clone)]
pub struct VirtualClock {
    began: WallTime,
    ms: u64,
}

impl VirtualClock {
    pub fn starting_at(began: WallTime) -> VirtualClock {
        VirtualClock { began, ms: 0 }
    }

    /// Lets time pass until `ms` milliseconds after the start. A moment already past changes
    /// nothing.
    pub fn advance_to(&mut self, ms: u64) {
        self.ms = self.ms.max(ms);
    }

    /// Lets `ms` milliseconds pass.
    pub fn advance(&mut self, ms: u64) {
        self.ms = self.ms.saturating_add(ms);
    }
}

impl Clock for VirtualClock {
    fn now(&self) -> Now {
        Now {
            wall: self.began.plus(self.ms),
            ms: self.ms,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wall(text: &str) -> WallTime {
        WallTime::parse(text).unwrap()
    }

    #[test]
    fn wall_times_are_written_as_they_were_read() {
        for text in [
            "2026-03-04T17:05:09.120+01:00",
            "2026-03-04T17:05:09.000-09:30",
            "1999-12-31T23:59:59.999+00:00",
        ] {
            assert_eq!(wall(text).to_string(), text);
        }
    }

    #[test]
    fn a_time_without_offset_is_refused() {
        let message = WallTime::parse("2026-03-04T17:05:09").unwrap_err();
        assert!(message.contains("the offset is missing"), "{message}");
        assert!(WallTime::parse("noon").is_err());
        assert!(WallTime::parse("2026-03-04+01:00").is_err());
    }

    /// RFC 3339, section 5.8, examples.
    #[test]
    fn the_examples_of_the_standard_are_the_same_moment() {
        let pacific = wall("1996-12-19T16:39:57-08:00");
        let utc = wall("1996-12-20T00:39:57Z");
        assert_eq!(pacific.since(utc), 0);
    }

    #[test]
    fn the_virtual_clock_goes_only_forward() {
        let mut clock = VirtualClock::starting_at(wall("2026-03-04T23:59:59.500+01:00"));
        clock.advance(700);
        clock.advance_to(100);
        let now = clock.now();
        assert_eq!(now.ms, 700);
        assert_eq!(now.wall.to_string(), "2026-03-05T00:00:00.200+01:00");
    }

    #[test]
    fn a_session_taken_up_again_counts_the_time_away() {
        let last = Now {
            wall: wall("2026-03-04T17:05:09.120+01:00"),
            ms: 5_000,
        };
        let later = last.taken_up_at(wall("2026-03-04T17:06:09.120+01:00"));
        assert_eq!(later.ms, 65_000);
        let set_back = last.taken_up_at(wall("2026-03-04T16:00:00.000+01:00"));
        assert_eq!(set_back.ms, 5_000);
        assert!(SystemClock::starting_at(later.ms).now().ms >= 65_000);
    }

    #[test]
    fn file_names_carry_the_local_time() {
        let at = wall("2026-03-04T17:05:09.120+01:00");
        assert_eq!(at.for_file_name(), "2026-03-04-170509");
    }
}
