//! From a series and a findings table to the verdict.
//!
//! A finding fits when everything it states holds: its behavior, the level, the first peak where
//! the series has one, and its conditions on other readings. Two that fit rank equal; the order of
//! writing decides nothing.

use indexmap::IndexMap;
use rust_decimal::Decimal;

use super::behavior::{Behavior, Pattern};
use super::classify::{self, Scratch};
use super::condition::{self, Judged};
use super::series::Series;
use super::verdict::{Ask, Finding, Judgement, Nearest, Verdict};
use crate::procedure::{BehaviorKind, FindingRow, QuantityDefinition, StepId, VariantId};
use crate::quantity::{Amount, Bound, Range};

/// A findings table with what it is judged for.
#[derive(Debug, Clone, Copy)]
pub struct Table<'a> {
    pub quantity: &'a QuantityDefinition,
    pub findings: &'a [FindingRow],
    pub variant: &'a VariantId,
    /// The confirmed readings of other steps, with their limits for the variant.
    pub others: &'a IndexMap<StepId, Judged>,
}

/// How one finding stands to the readings.
enum Fit {
    Fits,
    /// It would fit if the readings differed by this much.
    Off(Decimal),
    /// Everything known fits; this other step was not read.
    Missing(StepId),
    /// No change of the series makes it fit.
    Never,
}

/// Judges a series against a table.
///
/// # Guarantees
///
/// The verdict does not depend on the order of the findings, nor on withdrawn readings.
pub fn judge(series: &Series, table: &Table) -> Judgement {
    judge_with(&mut Scratch::default(), series, table)
}

/// As [`judge`], with buffers that are kept from one series to the next.
pub fn judge_with(scratch: &mut Scratch, series: &Series, table: &Table) -> Judgement {
    let behavior = classify::behavior(scratch, series, table.quantity);
    let verdict = match without_number(series) {
        Some(ask) => Verdict::Undetermined(ask),
        None => verdict(&behavior, table),
    };
    Judgement {
        unit: series.unit(),
        behavior,
        verdict,
    }
}

/// Asks about the display where more than one counted reading in four shows no number.
fn without_number(series: &Series) -> Option<Ask> {
    if series.is_once() {
        return None;
    }
    let (mut all, mut over_range, mut blank) = (0, 0, 0);
    for (_, sample) in series.counted() {
        all += 1;
        match sample.amount {
            Amount::Exact(_) | Amount::About(_) | Amount::Between(..) => {}
            Amount::OverRange => over_range += 1,
            Amount::Short | Amount::None => blank += 1,
        }
    }
    (4 * (over_range + blank) > all).then_some(Ask::Numbers { over_range, blank })
}

fn verdict(behavior: &Behavior, table: &Table) -> Verdict {
    match behavior.pattern {
        Pattern::TooFew { have, need } => {
            let more = need - have;
            return Verdict::Undetermined(Ask::MoreReadings { more });
        }
        Pattern::Undetermined { more } => {
            return Verdict::Undetermined(match behavior.odd {
                Some(odd) if behavior.set_aside == 0 => Ask::Confirm(odd),
                _ => Ask::MoreReadings { more },
            });
        }
        Pattern::Once { .. } | Pattern::Known(_) => {}
    }
    let mut fitting: Vec<&FindingRow> = Vec::new();
    let mut missing: Option<StepId> = None;
    let mut nearest: Option<Nearest> = None;
    for row in table
        .findings
        .iter()
        .filter(|row| applies(row, table.variant))
    {
        match fit(row, behavior, table) {
            Fit::Fits => fitting.push(row),
            Fit::Missing(step) => missing = Some(missing.map_or(step.clone(), |m| m.min(step))),
            Fit::Off(margin) => nearest = Some(nearer(nearest, row, margin)),
            Fit::Never => {}
        }
    }
    if let Some(step) = missing {
        return Verdict::Undetermined(Ask::Reading { step });
    }
    match fitting.as_slice() {
        [row] => Verdict::Finding(Finding {
            id: row.id.clone(),
            runner_up: nearest,
        }),
        [] => Verdict::Undetermined(Ask::NoFinding { nearest }),
        several => {
            let mut ids: Vec<_> = several.iter().map(|row| row.id.clone()).collect();
            ids.sort();
            Verdict::Equal(ids)
        }
    }
}

fn applies(row: &FindingRow, variant: &VariantId) -> bool {
    row.only.as_ref().is_none_or(|only| only.contains(variant))
}

/// The nearer of two; of two equally near the one whose name sorts first.
fn nearer(so_far: Option<Nearest>, row: &FindingRow, margin: Decimal) -> Nearest {
    match so_far {
        Some(best) if (best.margin, &best.id) <= (margin, &row.id) => best,
        _ => Nearest {
            id: row.id.clone(),
            margin,
        },
    }
}

fn fit(row: &FindingRow, behavior: &Behavior, table: &Table) -> Fit {
    let Some(off) = distances(row, behavior, table) else {
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
    match unread {
        _ if off > Decimal::ZERO => Fit::Off(off),
        Some(step) => Fit::Missing(step.clone()),
        None => Fit::Fits,
    }
}

/// How far the series is from what the row states of it: 0 where it fits, `None` where no change
/// of values would make it fit.
fn distances(row: &FindingRow, behavior: &Behavior, table: &Table) -> Option<Decimal> {
    let by_behavior = behavior_distance(&row.behaviors, behavior, table.quantity)?;
    let step = table.quantity.resolution.unwrap_or_default();
    let by_level = match (row.level.get(table.variant), behavior.level) {
        (Some(range), Some(level)) => distance(range, level, step),
        (Some(range), None) => above_everything(behavior, range)?,
        (None, _) => Decimal::ZERO,
    };
    let by_peak = match (row.first_peak.get(table.variant), behavior.peak) {
        (Some(range), Some(peak)) => distance(range, peak.value, step),
        _ => Decimal::ZERO,
    };
    Some(by_behavior.max(by_level).max(by_peak))
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
            let zero = classify::zero_band(quantity).zip(behavior.level);
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
    let to = |bound: Bound| match bound {
        Bound::Closed(end) => (end - value).abs(),
        Bound::Open(end) => (end - value).abs() + step,
        Bound::Unbounded => Decimal::MAX,
    };
    let smallest = Decimal::new(1, 28);
    to(range.low()).min(to(range.high())).max(smallest)
}
