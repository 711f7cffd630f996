//! How far a series is from what one finding states.

use rust_decimal::Decimal;

use super::behavior::{Behavior, Pattern};
use super::condition;
use super::judge::Table;
use crate::procedure::{BehaviorKind, FindingRow, QuantityDefinition, StepId};
use crate::quantity::{Bound, Range};

/// How one finding stands to the readings.
pub(super) enum Fit {
    Fits,
    /// It would fit if the readings differed by this much.
    Off(Decimal),
    /// All but the first peak fits, of which only this was read: less than it asks for, by so much.
    PeakBelow {
        read: Decimal,
        by: Decimal,
    },
    /// Everything known fits; this other step was not read.
    Missing(StepId),
    /// No change of the series makes it fit.
    Never,
}

/// How a finding of the table stands to a behavior and the other readings.
pub(super) fn fit(row: &FindingRow, behavior: &Behavior, table: &Table) -> Fit {
    let Some(off) = distance_of(row, behavior, table) else {
        return Fit::Never;
    };
    let mut unread = None;
    for condition in &row.readings {
        match table.others.get(&condition.step) {
            Some(reading) if condition::holds(condition.when, reading) => {}
            Some(_) => return Fit::Never,
            None => unread = unread.or(Some(&condition.step)),
        }
    }
    let peak = peak_off(row, behavior, table);
    match (unread, peak) {
        (_, Peak::Off(by)) => Fit::Off(off.max(by)),
        _ if off > Decimal::ZERO => Fit::Off(off),
        (Some(step), _) => Fit::Missing(step.clone()),
        (None, Peak::Below { read, by }) => Fit::PeakBelow { read, by },
        (None, Peak::Fits) => Fit::Fits,
    }
}

/// How far behavior and level are from what the row states: 0 where they fit, `None` where no
/// change of values would make them fit.
fn distance_of(row: &FindingRow, behavior: &Behavior, table: &Table) -> Option<Decimal> {
    let by_behavior = behavior_distance(&row.behaviors, behavior, table.quantity)?;
    let by_level = match (row.level.get(table.variant), behavior.level) {
        (Some(range), Some(level)) => distance(range, level, step_of(table)),
        (Some(range), None) => above_everything(behavior, range)?,
        (None, _) => Decimal::ZERO,
    };
    Some(by_behavior.max(by_level))
}

/// How a first peak stands to what the row asks for.
enum Peak {
    /// Inside, or there is none to judge.
    Fits,
    /// Below the range: what was called out now and then may have missed the top.
    Below {
        read: Decimal,
        by: Decimal,
    },
    Off(Decimal),
}

fn peak_off(row: &FindingRow, behavior: &Behavior, table: &Table) -> Peak {
    let (Some(range), Some(peak)) = (row.first_peak.get(table.variant), behavior.peak) else {
        return Peak::Fits;
    };
    let (read, by) = (peak.value, distance(range, peak.value, step_of(table)));
    match by {
        by if by.is_zero() => Peak::Fits,
        by if range.is_above(read) => Peak::Below { read, by },
        by => Peak::Off(by),
    }
}

fn step_of(table: &Table) -> Decimal {
    table.quantity.resolution.unwrap_or_default()
}

/// A reading over range lies inside a level that has no upper end, and nowhere else.
fn above_everything(behavior: &Behavior, range: &Range) -> Option<Decimal> {
    let over_range = behavior.pattern == Pattern::Once { over_range: true };
    (over_range && range.high() == Bound::Unbounded).then_some(Decimal::ZERO)
}

/// 0 where the row takes the behavior; the change that would turn it into one the row takes;
/// `None` where there is no such change. A single reading is taken as steady, or near zero.
fn behavior_distance(
    accepted: &[BehaviorKind],
    behavior: &Behavior,
    quantity: &QuantityDefinition,
) -> Option<Decimal> {
    if accepted.is_empty() {
        return Some(Decimal::ZERO);
    }
    let kind = match behavior.pattern {
        Pattern::Known(kind) => kind,
        Pattern::Once { .. } => {
            let zero = quantity.counts_as_zero().zip(behavior.level);
            let small = zero.is_some_and(|(band, level)| level.abs() <= band);
            let steady = [BehaviorKind::Steady, BehaviorKind::Settles];
            let fits = accepted.iter().any(|kind| steady.contains(kind))
                || small && accepted.contains(&BehaviorKind::NearZero);
            return fits.then_some(Decimal::ZERO);
        }
        Pattern::TooFew { .. } | Pattern::Undetermined { .. } => return None,
    };
    if accepted.contains(&kind) {
        return Some(Decimal::ZERO);
    }
    let (other, by) = behavior.alternative?;
    accepted.contains(&other).then_some(by)
}

/// How far a value lies outside a range: 0 inside, at least one `step` on an end that is open.
fn distance(range: &Range, value: Decimal, step: Decimal) -> Decimal {
    if range.contains(value) {
        return Decimal::ZERO;
    }
    let away = |end: Decimal| end.checked_sub(value).map_or(Decimal::MAX, |by| by.abs());
    let to = |bound: Bound| match bound {
        Bound::Closed(end) => away(end),
        Bound::Open(end) => away(end).saturating_add(step),
        Bound::Unbounded => Decimal::MAX,
    };
    let smallest = Decimal::new(1, 28);
    to(range.low()).min(to(range.high())).max(smallest)
}
