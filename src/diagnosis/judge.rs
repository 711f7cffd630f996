//! From a series and a findings table to the verdict.
//!
//! A finding fits when everything it states holds: its behavior, the level, the first peak where
//! the series has one, and its conditions on other readings. Two that fit rank equal; the order of
//! writing decides nothing.

use indexmap::IndexMap;
use rust_decimal::Decimal;

use super::behavior::{Behavior, Pattern};
use super::classify::{self, Scratch};
use super::condition::Judged;
use super::fit::{Fit, fit};
use super::series::Series;
use super::verdict::{Ask, Finding, Judgement, Nearest, Verdict};
use crate::procedure::{FindingId, FindingRow, QuantityDefinition, StepId, VariantId};
use crate::quantity::Amount;

/// A findings table with what it is judged for.
#[derive(Debug, Clone, Copy)]
pub struct Table<'a> {
    pub quantity: &'a QuantityDefinition,
    pub findings: &'a [FindingRow],
    pub variant: &'a VariantId,
    /// The confirmed readings of other steps, with their limits for the variant.
    pub others: &'a IndexMap<StepId, Judged>,
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
            return Verdict::Undetermined(match behavior.doubt {
                Some(doubt) => Ask::Confirm(doubt),
                None => Ask::MoreReadings { more },
            });
        }
        Pattern::Once { .. } | Pattern::Known(_) => {}
    }
    let mut fitting: Vec<&FindingRow> = Vec::new();
    let mut missing: Option<StepId> = None;
    let mut nearest: Option<Nearest> = None;
    let mut low_peak: Option<(&FindingId, Decimal)> = None;
    for row in table
        .findings
        .iter()
        .filter(|row| applies(row, table.variant))
    {
        match fit(row, behavior, table) {
            Fit::Fits => fitting.push(row),
            Fit::Missing(step) => missing = Some(missing.map_or(step.clone(), |m| m.min(step))),
            Fit::Off(margin) => nearest = Some(nearer(nearest, row, margin)),
            Fit::PeakBelow { read, by } => {
                nearest = Some(nearer(nearest, row, by));
                let this = (&row.id, read);
                low_peak = Some(low_peak.map_or(this, |low| low.min(this)));
            }
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
        [] => Verdict::Undetermined(match low_peak {
            Some((id, read)) => Ask::FirstPeak {
                id: id.clone(),
                read,
            },
            None => Ask::NoFinding { nearest },
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
