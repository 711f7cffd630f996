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
use crate::quantity::{Bound, Range};

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
    let figures = scratch.figures();
    let verdict = if let Pattern::TooFew { have, need } = behavior.pattern {
        let without_number = figures.over_range + figures.blank;
        match without_number > have {
            true => Verdict::Undetermined(Ask::Numbers {
                over_range: figures.over_range,
                blank: figures.blank,
            }),
            false => Verdict::Undetermined(Ask::MoreReadings { more: need - have }),
        }
    } else {
        verdict(&behavior, table)
    };
    Judgement {
        unit: series.unit(),
        behavior,
        verdict,
    }
}

fn verdict(behavior: &Behavior, table: &Table) -> Verdict {
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
        [] => Verdict::Undetermined(match behavior.pattern {
            Pattern::Undetermined { more } => Ask::MoreReadings { more },
            Pattern::TooFew { .. } | Pattern::Known(_) => Ask::NoFinding { nearest },
        }),
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
    let Some(by_behavior) = behavior_distance(&row.behaviors, behavior) else {
        return Fit::Never;
    };
    let step = table.quantity.resolution.unwrap_or_default();
    let by_level = match (row.level.get(table.variant), behavior.level) {
        (Some(range), Some(level)) => distance(range, level, step),
        (Some(_), None) => return Fit::Never,
        (None, _) => Decimal::ZERO,
    };
    let by_peak = match (row.first_peak.get(table.variant), behavior.peak) {
        (Some(range), Some(peak)) => distance(range, peak.value, step),
        _ => Decimal::ZERO,
    };
    let mut unread = None;
    for condition in &row.readings {
        match table.others.get(&condition.step) {
            Some(reading) if condition::holds(condition.when, reading) => {}
            Some(_) => return Fit::Never,
            None => unread = unread.or(Some(&condition.step)),
        }
    }
    let off = by_behavior.max(by_level).max(by_peak);
    match unread {
        _ if off > Decimal::ZERO => Fit::Off(off),
        Some(step) => Fit::Missing(step.clone()),
        None => Fit::Fits,
    }
}

/// 0 where the row takes the behavior; the change that would turn it into one the row takes;
/// `None` where there is no such change.
fn behavior_distance(accepted: &[BehaviorKind], behavior: &Behavior) -> Option<Decimal> {
    if accepted.is_empty() {
        return Some(Decimal::ZERO);
    }
    let kind = behavior.kind()?;
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
