//! Intervals with open and closed ends.
//!
//! | written | contains |
//! |---|---|
//! | `5..8`, `[5..8]` | 5 to 8, both ends inside |
//! | `(0..5]` | above 0, up to and with 5 |
//! | `[0..5)` | from 0, below 5 |
//! | `>=200`, `200..` | from 200 up |
//! | `>200` | above 200 |
//! | `<=10`, `..10` | up to and with 10 |
//! | `<10` | below 10 |
//! | `5` | 5 alone, written back as `5..5` |
//! | `..` | everything |
//!
//! Blanks around numbers are allowed. Display writes the first form of each row, and what it
//! writes reads back as the same range.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::decimal_text;

/// One end of a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Bound {
    /// The value itself belongs to the range.
    Closed(Decimal),
    /// The value itself does not belong to the range.
    Open(Decimal),
    /// No end on this side.
    Unbounded,
}

/// An interval of decimal values. Never empty. In JSON the text of [`fmt::Display`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Range {
    low: Bound,
    high: Bound,
}

/// Why a text or a pair of ends is not a range.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RangeError {
    #[error("the range `{found}` is empty: the low end must be below the high end")]
    Empty { found: String },
    #[error("found `{found}`, expected a range such as `5..8`, `>=200`, `<10` or `(0..5]`")]
    Syntax { found: String },
}

impl Bound {
    /// The value at the end, inside or not.
    pub fn value(self) -> Option<Decimal> {
        match self {
            Bound::Closed(value) | Bound::Open(value) => Some(value),
            Bound::Unbounded => None,
        }
    }
}

impl Range {
    /// Every value.
    pub const ALL: Range = Range {
        low: Bound::Unbounded,
        high: Bound::Unbounded,
    };

    pub fn low(&self) -> Bound {
        self.low
    }

    pub fn high(&self) -> Bound {
        self.high
    }

    /// A range with both ends inside.
    pub fn closed(low: Decimal, high: Decimal) -> Result<Range, RangeError> {
        Range::new(Bound::Closed(low), Bound::Closed(high))
    }

    /// # Errors
    /// [`RangeError::Empty`] when no value lies between the ends.
    pub fn new(low: Bound, high: Bound) -> Result<Range, RangeError> {
        let range = Range { low, high };
        let empty = match (low, high) {
            (Bound::Closed(a), Bound::Closed(b)) => a > b,
            (Bound::Closed(a) | Bound::Open(a), Bound::Closed(b) | Bound::Open(b)) => a >= b,
            _ => false,
        };
        match empty {
            true => Err(RangeError::Empty {
                found: range.to_string(),
            }),
            false => Ok(range),
        }
    }

    pub fn contains(&self, value: Decimal) -> bool {
        !self.is_above(value) && !self.is_below(value)
    }

    /// Whether the whole range lies above the value.
    pub fn is_above(&self, value: Decimal) -> bool {
        match self.low {
            Bound::Closed(low) => value < low,
            Bound::Open(low) => value <= low,
            Bound::Unbounded => false,
        }
    }

    /// Whether the whole range lies below the value.
    pub fn is_below(&self, value: Decimal) -> bool {
        match self.high {
            Bound::Closed(high) => value > high,
            Bound::Open(high) => value >= high,
            Bound::Unbounded => false,
        }
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use Bound::{Closed, Open, Unbounded};
        match (self.low, self.high) {
            (Unbounded, Unbounded) => f.write_str(".."),
            (Closed(low), Unbounded) => write!(f, ">={low}"),
            (Open(low), Unbounded) => write!(f, ">{low}"),
            (Unbounded, Closed(high)) => write!(f, "<={high}"),
            (Unbounded, Open(high)) => write!(f, "<{high}"),
            (Closed(low), Closed(high)) => write!(f, "{low}..{high}"),
            (Closed(low), Open(high)) => write!(f, "[{low}..{high})"),
            (Open(low), Closed(high)) => write!(f, "({low}..{high}]"),
            (Open(low), Open(high)) => write!(f, "({low}..{high})"),
        }
    }
}

impl FromStr for Range {
    type Err = RangeError;

    /// Reads every form of the table at the head of this module.
    fn from_str(text: &str) -> Result<Range, RangeError> {
        let (low, high) = read_ends(text.trim()).ok_or_else(|| RangeError::Syntax {
            found: text.to_owned(),
        })?;
        Range::new(low, high).map_err(|_| RangeError::Empty {
            found: text.to_owned(),
        })
    }
}

fn read_ends(text: &str) -> Option<(Bound, Bound)> {
    let number = |part: &str| decimal_text::read(part.trim());
    if let Some(rest) = text.strip_prefix(">=") {
        return Some((Bound::Closed(number(rest)?), Bound::Unbounded));
    }
    if let Some(rest) = text.strip_prefix('>') {
        return Some((Bound::Open(number(rest)?), Bound::Unbounded));
    }
    if let Some(rest) = text.strip_prefix("<=") {
        return Some((Bound::Unbounded, Bound::Closed(number(rest)?)));
    }
    if let Some(rest) = text.strip_prefix('<') {
        return Some((Bound::Unbounded, Bound::Open(number(rest)?)));
    }
    match text.split_once("..") {
        Some((low, high)) => Some((read_low(low.trim())?, read_high(high.trim())?)),
        None => number(text).map(|value| (Bound::Closed(value), Bound::Closed(value))),
    }
}

fn read_low(text: &str) -> Option<Bound> {
    if text.is_empty() {
        return Some(Bound::Unbounded);
    }
    match text.strip_prefix('(') {
        Some(rest) => decimal_text::read(rest.trim()).map(Bound::Open),
        None => {
            decimal_text::read(text.strip_prefix('[').unwrap_or(text).trim()).map(Bound::Closed)
        }
    }
}

fn read_high(text: &str) -> Option<Bound> {
    if text.is_empty() {
        return Some(Bound::Unbounded);
    }
    match text.strip_suffix(')') {
        Some(rest) => decimal_text::read(rest.trim()).map(Bound::Open),
        None => {
            decimal_text::read(text.strip_suffix(']').unwrap_or(text).trim()).map(Bound::Closed)
        }
    }
}

impl Serialize for Range {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Range {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Range, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}
