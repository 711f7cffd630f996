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
    /// One reading of a read step: it has a level, and no behavior over time.
    Once {
        over_range: bool,
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
    /// Milliseconds since the watch began.
    pub at_ms: u64,
}

/// One value that does not fit the rest and was left out: probably misheard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SetAside {
    /// Index in [`super::Series::samples`].
    pub reading: usize,
    /// What was given.
    pub value: Decimal,
    /// What was probably said, or would fit.
    pub expected: Decimal,
}

/// A behavior and its evidence. All values are in the unit of the series, at its resolution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Behavior {
    pub pattern: Pattern,
    /// How many readings with a number were counted.
    pub readings: usize,
    /// The first and last reading that decided, as indices in [`super::Series::samples`].
    pub deciding: (usize, usize),
    /// Steady, unsteady, near zero: the median. Settles: the median of the settled part. Falling,
    /// rising: the last reading. `None` where the behavior is not known.
    pub level: Option<Decimal>,
    /// How far the deciding readings lie from the level at most.
    pub spread: Option<Decimal>,
    /// The first peak of a series that settles after one; where a falling series starts from.
    pub peak: Option<Peak>,
    /// Theil-Sen slope, per minute.
    pub slope_per_min: Option<Decimal>,
    /// Unsteady: between what and what it hunts.
    pub between: Option<(Decimal, Decimal)>,
    /// Unsteady: how many times it turned, swings within the tolerance not counted.
    pub turns: usize,
    /// When it came to its level, milliseconds since the watch began.
    pub settled_at_ms: Option<u64>,
    /// The values left out, in the order of time.
    pub set_aside: Vec<SetAside>,
    /// Where the behavior is undetermined: the one value that stands in the way, though nothing
    /// explains it.
    pub doubt: Option<SetAside>,
    /// The behavior it would have if its values differed a little, and by how much they would have
    /// to.
    pub alternative: Option<(BehaviorKind, Decimal)>,
}

impl Behavior {
    /// Nothing known yet of a series of so many readings.
    pub(super) fn unknown(pattern: Pattern, readings: usize) -> Behavior {
        Behavior {
            pattern,
            readings,
            deciding: (0, 0),
            level: None,
            spread: None,
            peak: None,
            slope_per_min: None,
            between: None,
            turns: 0,
            settled_at_ms: None,
            set_aside: Vec::new(),
            doubt: None,
            alternative: None,
        }
    }

    /// The behavior, where it is known.
    pub fn kind(&self) -> Option<BehaviorKind> {
        match self.pattern {
            Pattern::Known(kind) => Some(kind),
            Pattern::TooFew { .. } | Pattern::Once { .. } | Pattern::Undetermined { .. } => None,
        }
    }
}
