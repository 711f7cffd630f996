//! What a reading may show, cut into cells inside which every condition is either true or false.

use crate::procedure::{Branch, BranchWhen};
use crate::quantity::{Bound, Range};

/// A part of what a reading may show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cell {
    Values(Range),
    OverRange,
    Short,
}

/// Cuts a range at the ends of the others: pieces in rising order, each inside or outside of every
/// one of the others.
pub(super) fn partition(whole: &[Range], cuts: &[Range]) -> Vec<Range> {
    let mut pieces = whole.to_vec();
    for cut in cuts {
        pieces = pieces
            .iter()
            .flat_map(|piece| {
                let mut parts = piece.subtract(cut);
                parts.extend(piece.intersect(cut));
                parts
            })
            .collect();
    }
    // Of two that begin at the same value, the one that holds this value is lower.
    pieces.sort_by_key(|piece| (piece.low().value(), matches!(piece.low(), Bound::Open(_))));
    pieces
}

/// The values for which a condition holds, and whether it holds for over range and for short. The
/// meaning of the words is that of the diagnosis room.
pub(super) struct Holds {
    pub values: Vec<Range>,
    pub over_range: bool,
    pub short: bool,
}

pub(super) fn holds(when: BranchWhen, limits: Option<Range>) -> Holds {
    let (below, above): (Vec<Range>, Vec<Range>) = match limits {
        None => (Vec::new(), Vec::new()),
        Some(limits) => limits
            .complement()
            .into_iter()
            .partition(|part| part.low() == Bound::Unbounded),
    };
    let (values, over_range, short) = match when {
        BranchWhen::Inside => (vec![limits.unwrap_or(Range::ALL)], false, false),
        BranchWhen::BelowLimits => (below, false, false),
        BranchWhen::AboveLimits => (above, true, false),
        BranchWhen::OutsideLimits => ([below, above].concat(), true, true),
        BranchWhen::OverRange => (Vec::new(), true, false),
        BranchWhen::Short => (Vec::new(), false, true),
        BranchWhen::NoReading => (Vec::new(), false, false),
        BranchWhen::Within(range) => (vec![range], false, false),
    };
    Holds {
        values,
        over_range,
        short,
    }
}

impl Holds {
    /// Whether the condition holds in the whole cell; the cell must not be cut by it.
    pub fn in_cell(&self, cell: Cell) -> bool {
        match cell {
            Cell::Values(range) => self.values.iter().any(|values| values.overlaps(&range)),
            Cell::OverRange => self.over_range,
            Cell::Short => self.short,
        }
    }
}

/// The branch that a reading in the cell takes.
pub(super) fn branch_taken(
    branches: &[Branch],
    cell: Cell,
    limits: Option<Range>,
) -> Option<&Branch> {
    branches
        .iter()
        .find(|branch| holds(branch.when, limits).in_cell(cell))
}

/// All the ranges at which branches or conditions change.
pub(super) fn cuts(
    whens: impl IntoIterator<Item = BranchWhen>,
    limits: Option<Range>,
) -> Vec<Range> {
    whens
        .into_iter()
        .flat_map(|when| holds(when, limits).values)
        .collect()
}
