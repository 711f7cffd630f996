//! Intervals with open and closed ends.

use rust_decimal::Decimal;

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

/// An interval of decimal values. Never empty.
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

impl Range {
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

    pub fn new(low: Bound, high: Bound) -> Result<Range, RangeError> {
        let empty = match (low, high) {
            (Bound::Closed(a), Bound::Closed(b)) => a > b,
            (Bound::Closed(a) | Bound::Open(a), Bound::Closed(b) | Bound::Open(b)) => a >= b,
            _ => false,
        };
        match empty {
            true => Err(RangeError::Empty {
                found: format!("{low:?}..{high:?}"),
            }),
            false => Ok(Range { low, high }),
        }
    }

    pub fn contains(&self, value: Decimal) -> bool {
        let above = match self.low {
            Bound::Closed(low) => value >= low,
            Bound::Open(low) => value > low,
            Bound::Unbounded => true,
        };
        let below = match self.high {
            Bound::Closed(high) => value <= high,
            Bound::Open(high) => value < high,
            Bound::Unbounded => true,
        };
        above && below
    }
}
