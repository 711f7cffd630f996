//! What the readings point to, how sure that is, and what is missing where they point to nothing.

use rust_decimal::Decimal;

use super::behavior::{Behavior, SetAside};
use crate::procedure::{FindingId, StepId};
use crate::quantity::Unit;

/// A series judged against a findings table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judgement {
    /// The unit of every value in it.
    pub unit: Unit,
    pub behavior: Behavior,
    pub verdict: Verdict,
}

/// What a table says about a series.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Exactly one finding fits.
    Finding(Finding),
    /// Several findings fit and nothing ranks one above the other; sorted by name, never by their
    /// order in the table.
    Equal(Vec<FindingId>),
    Undetermined(Ask),
}

/// The one finding that fits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    pub id: FindingId,
    /// The finding that is nearest of all others, and how far the readings would have to differ for
    /// it to hold: in the unit of the series. `None` where no other can hold with these readings.
    pub runner_up: Option<Nearest>,
}

/// Another finding and how far off it is, in the unit of the series.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Nearest {
    pub id: FindingId,
    pub margin: Decimal,
}

/// What is missing before there can be a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ask {
    /// At least this many more readings.
    MoreReadings { more: usize },
    /// One value stands in the way and does not fit the rest: was it heard right?
    Confirm(SetAside),
    /// The reading of another step decides.
    Reading { step: StepId },
    /// This finding fits but for its first peak, of which only `read` was read: the top may have
    /// been missed, since a value called out now and then is never above it.
    FirstPeak { id: FindingId, read: Decimal },
    /// Too many readings show no number: another meter range, or look at the connection.
    Numbers { over_range: usize, blank: usize },
    /// The table has no finding for this behavior at this level; the nearest one it has.
    NoFinding { nearest: Option<Nearest> },
}

impl Judgement {
    /// The finding, where there is exactly one.
    pub fn finding(&self) -> Option<&Finding> {
        match &self.verdict {
            Verdict::Finding(finding) => Some(finding),
            Verdict::Equal(_) | Verdict::Undetermined(_) => None,
        }
    }
}
