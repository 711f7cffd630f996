//! How a series behaves, with the plain figures that say so.

use rust_decimal::Decimal;

use crate::procedure::BehaviorKind;

/// What a series does, or why that cannot be said yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Fewer readings than any behavior can be told from.
    TooFew {
        have: usize,
        need: usize,
    },
    Known(BehaviorKind),
    /// Enough readings, no clear behavior: this many more are needed before it is worth judging
    /// again.
    Undetermined {
        more: usize,
    },
}

/// The highest value of a series before it comes down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Peak {
    pub value: Decimal,
    pub at_ms: u64,
}

/// One value that does not fit the rest and was left out: probably misheard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SetAside {
    /// Index in [`super::Series::samples`].
    pub reading: usize,
    /// What was given.
    pub value: Decimal,
    /// What the rest of the series would have there.
    pub expected: Decimal,
}

/// A behavior and its evidence. All values are in the unit of the series, at its resolution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Behavior {
    pub pattern: Pattern,
    /// How many readings with a number were counted.
    pub readings: usize,
    /// Steady, unsteady, near zero: the median. Settles: the median of the settled part. Falling,
    /// rising: where the trend stands at the last reading.
    pub level: Option<Decimal>,
    /// The first peak of a series that settles after one; where a falling series starts from.
    pub peak: Option<Peak>,
    /// Theil-Sen slope, per minute.
    pub slope_per_min: Option<Decimal>,
    /// Unsteady: between what and what it hunts.
    pub between: Option<(Decimal, Decimal)>,
    /// When it came to its level, milliseconds since the watch began.
    pub settled_at_ms: Option<u64>,
    pub set_aside: Option<SetAside>,
    /// The behavior it would be if it were a little different, and how much: in the unit.
    pub alternative: Option<(BehaviorKind, Decimal)>,
}

impl Behavior {
    /// The behavior, where it is known.
    pub fn kind(&self) -> Option<BehaviorKind> {
        match self.pattern {
            Pattern::Known(kind) => Some(kind),
            Pattern::TooFew { .. } | Pattern::Undetermined { .. } => None,
        }
    }
}
