//! From a series to its behavior.
//!
//! What the words mean, in the order in which they are tried:
//!
//! - *Near zero*: nothing arrives. No value is further from zero than the zero band of the
//!   quantity; where it has none, than one hundredth of its largest plausible value or three
//!   display steps, whichever is more. A temperature without a zero band of its own is never near
//!   zero: its zero is a point on the scale like any other.
//! - *Steady*: every value lies within the tolerance of their median. The tolerance is 3 % of the
//!   level or two display steps, whichever is more.
//! - *Settles*: the last values, a third of all and three at least, lie within the tolerance of
//!   their median; what came before lies elsewhere; and they move at less than 0.35 of the rate at
//!   which the series came there. Swings before that must die down, be a single hump, or be
//!   followed by a long rest.
//! - *Falling*, *rising*: the Mann-Kendall test finds a trend (5 %), the change is more than twice
//!   the tolerance, no swing goes against it, and the last third still moves that way. A short
//!   climb at the start may come before a fall.
//! - *Unsteady*: at least two turns between swings that are each larger than twice the tolerance.
//!
//! What is none of these is undetermined, and more readings are asked for. Values that were
//! probably misheard are left out first ([`super::cleaning`]).
//!
//! Two values are *equal* when they lie within the tolerance of one another. All of this is common
//! practice, no source; the figures were chosen on generated series, and the confusion tables in
//! `benches/README.md` say how well they do on others.

use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};

use super::behavior::{Behavior, Pattern};
use super::cleaning::{self, Odd};
use super::examine::Examination;
use super::series::{Figures, Series};
use super::statistics::location::median;
use super::statistics::theil_sen;
use crate::procedure::{BehaviorKind, QuantityDefinition};
use crate::quantity::Amount;

/// The fewest readings any behavior is told from.
pub const FEWEST: usize = 5;

/// The tolerance in parts of the level.
const TOLERANCE: f64 = 0.03;

/// Finer than any display shows.
const MOST_DECIMALS: u32 = 12;

/// Below this every whole number is exact in an `f64`: 2 to the power of 53.
const EXACT_STEPS: f64 = 9_007_199_254_740_992.0;

/// Buffers that are kept from one series to the next.
#[derive(Debug, Default)]
pub struct Scratch {
    /// Every counted figure of the series.
    all: Figures,
    /// Those that are being examined: the first of them, or all.
    pub(super) figures: Figures,
    pub(super) odd: Vec<Odd>,
    pub(super) kept: Kept,
    pub(super) pairs: Vec<f64>,
    pub(super) turns: Vec<usize>,
}

/// The figures that were not set aside.
#[derive(Debug, Default)]
pub(super) struct Kept {
    /// Index of each one's reading in the series.
    pub(super) index: Vec<usize>,
    /// Seconds.
    pub(super) times: Vec<f64>,
    pub(super) values: Vec<f64>,
    pub(super) half_widths: Vec<f64>,
}

impl Scratch {
    /// Fills [`Kept`] with the figures that were not set aside.
    pub(super) fn keep_all_but_odd(&mut self) {
        let (figures, kept) = (&self.figures, &mut self.kept);
        kept.index.clear();
        kept.times.clear();
        kept.values.clear();
        kept.half_widths.clear();
        for i in 0..figures.len() {
            if !self.odd.iter().any(|odd| odd.figure == i) {
                kept.index.push(figures.index[i]);
                kept.times.push(figures.time[i]);
                kept.values.push(figures.value[i]);
                kept.half_widths.push(figures.half_width[i]);
            }
        }
    }
}

/// What a series does, with its evidence.
///
/// # Guarantees
///
/// Withdrawn readings and the order in which readings were given change nothing. A further reading
/// equal to the level of a steady or settled series never changes its behavior, level or peak.
pub fn behavior(scratch: &mut Scratch, series: &Series, quantity: &QuantityDefinition) -> Behavior {
    if series.is_once() {
        return once(series);
    }
    series.figures(&mut scratch.all);
    let have = scratch.all.len();
    if have < FEWEST {
        return Behavior::unknown(Pattern::TooFew { have, need: FEWEST }, have);
    }
    let scale = Scale::of(quantity, &scratch.all);
    let zero = quantity.counts_as_zero().and_then(|band| band.to_f64());
    for count in (have - repeats(&scratch.all)).max(FEWEST)..have {
        if let Some(mut found) = confirmed(scratch, series, scale, zero, count) {
            found.slope_per_min = slope_per_min(scratch, scale);
            return found;
        }
    }
    let mut found = of_first(scratch, series, scale, zero, have);
    found.slope_per_min = slope_per_min(scratch, scale);
    found
}

/// The slope through the readings that were kept.
fn slope_per_min(scratch: &mut Scratch, scale: Scale) -> Option<Decimal> {
    let Scratch { kept, pairs, .. } = scratch;
    let slope = theil_sen::slope(&kept.times, &kept.values, pairs)?;
    scale.round_rate(slope * 60.0)
}

/// How many readings at the end are the same exact value.
fn repeats(figures: &Figures) -> usize {
    let values = figures.value.iter().zip(&figures.half_width).rev();
    let last = values.clone().next();
    values
        .take_while(|reading| Some(*reading) == last && *reading.1 == 0.0)
        .count()
}

/// The behavior of the first `count` readings, if they came to rest at exactly the value that all
/// later ones repeat: those confirm it.
fn confirmed(
    scratch: &mut Scratch,
    series: &Series,
    scale: Scale,
    zero: Option<f64>,
    count: usize,
) -> Option<Behavior> {
    let repeated = *scratch.all.value.last()?;
    let near = median(&mut [
        scratch.all.value[count - 3],
        scratch.all.value[count - 2],
        scratch.all.value[count - 1],
    ])?;
    if (repeated - near).abs() > 2.0 * scale.tolerance(near) {
        return None;
    }
    let mut found = of_first(scratch, series, scale, zero, count);
    let at_rest = matches!(
        found.kind(),
        Some(BehaviorKind::Steady | BehaviorKind::Settles)
    );
    let level = found.level.and_then(|level| level.to_f64());
    if !at_rest || level != Some(repeated) {
        return None;
    }
    found.readings = scratch.all.len();
    found.deciding.1 = *scratch.all.index.last()?;
    Some(found)
}

/// The behavior of the first `count` readings.
fn of_first(
    scratch: &mut Scratch,
    series: &Series,
    scale: Scale,
    zero: Option<f64>,
    count: usize,
) -> Behavior {
    scratch.figures.copy_first(&scratch.all, count);
    let mut found = Behavior::unknown(Pattern::Undetermined { more: 0 }, count);
    set_aside(scratch, series, scale, &mut found);
    let mut examination = Examination {
        scratch,
        scale,
        zero,
    };
    examination.run(&mut found);
    if let Pattern::Undetermined { .. } = found.pattern {
        if found.set_aside.is_empty() {
            found.doubt = doubtful(scratch, scale);
        } else if let Some(unsteady) = examination.unsteady_with_all(found.readings) {
            return unsteady;
        }
    }
    found
}

/// The level of a single reading.
fn once(series: &Series) -> Behavior {
    let amount = series.counted().last().map(|(_, sample)| sample.amount);
    let over_range = amount == Some(Amount::OverRange);
    let mut found = Behavior::unknown(Pattern::Once { over_range }, 1);
    match amount {
        Some(Amount::Exact(value) | Amount::About(value)) => found.level = Some(value),
        Some(Amount::Between(low, high)) => {
            found.level = Some(low / Decimal::TWO + high / Decimal::TWO);
            found.between = Some((low, high));
        }
        Some(Amount::OverRange | Amount::Short | Amount::None) => {}
        None => found.pattern = Pattern::TooFew { have: 0, need: 1 },
    }
    found
}

/// The display's step, and how values are rounded to it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    pub(super) step: f64,
    pub(super) decimals: u32,
}

impl Scale {
    /// As the quantity says; where it does not, the finest value that was given.
    fn of(quantity: &QuantityDefinition, figures: &Figures) -> Scale {
        match quantity.resolution {
            Some(step) => Scale {
                step: step.to_f64().unwrap_or(0.0),
                decimals: step.normalize().scale().min(MOST_DECIMALS),
            },
            None => {
                let decimals = figures.decimals.min(MOST_DECIMALS);
                Scale {
                    step: 0.1_f64.powi(decimals as i32),
                    decimals,
                }
            }
        }
    }

    /// How far from a level a value may lie and still count as equal to it.
    pub(super) fn tolerance(self, level: f64) -> f64 {
        (2.0 * self.step).max(TOLERANCE * level.abs())
    }

    /// At the resolution; `None` for what is no decimal.
    pub(super) fn round(self, value: f64) -> Option<Decimal> {
        rounded(value, self.decimals)
    }

    /// One decimal finer than the resolution.
    pub(super) fn round_rate(self, value: f64) -> Option<Decimal> {
        rounded(value, self.decimals + 1)
    }
}

/// By way of whole steps where they are exact in an `f64`: far quicker than a conversion that looks
/// for the shortest decimal.
fn rounded(value: f64, decimals: u32) -> Option<Decimal> {
    let steps = (value * 10_f64.powi(decimals as i32)).round_ties_even();
    match steps.abs() < EXACT_STEPS {
        true => Some(Decimal::new(steps as i64, decimals)),
        false => Decimal::from_f64(value).map(|value| value.round_dp(decimals)),
    }
}

/// Splits the figures into those that count and those left out.
fn set_aside(scratch: &mut Scratch, series: &Series, scale: Scale, found: &mut Behavior) {
    let figures = &scratch.figures;
    let level = middle(&figures.value, &mut scratch.pairs);
    let cleaning = cleaning::Cleaning {
        series,
        figures,
        tolerance: scale.tolerance(level),
        decimals: scale.decimals,
    };
    let steady = |value: &f64| (value - level).abs() <= cleaning.tolerance;
    match figures.value.iter().all(steady) {
        true => scratch.odd.clear(),
        false => cleaning.odd_ones(&mut scratch.odd),
    }
    let odd = scratch.odd.iter();
    found.set_aside = odd.map(|odd| cleaning.describe(odd)).collect();
    scratch.keep_all_but_odd();
}

/// The value furthest from the middle, where it stands far out: the one to ask about.
fn doubtful(scratch: &mut Scratch, scale: Scale) -> Option<super::SetAside> {
    let values = &scratch.kept.values;
    let level = middle(values, &mut scratch.pairs);
    let away = |i: &usize| (values[*i] - level).abs();
    let farthest = (0..values.len()).max_by(|a, b| away(a).total_cmp(&away(b)))?;
    let others = (0..values.len()).filter(|&i| i != farthest);
    let next = others.map(|i| away(&i)).fold(0.0, f64::max);
    if next > scale.tolerance(level) {
        return None;
    }
    Some(super::SetAside {
        reading: scratch.kept.index[farthest],
        value: scale.round(values[farthest])?,
        expected: scale.round(level)?,
    })
}

/// The median, leaving `values` as they are.
pub(super) fn middle(values: &[f64], scratch: &mut Vec<f64>) -> f64 {
    scratch.clear();
    scratch.extend_from_slice(values);
    median(scratch).unwrap_or(0.0)
}
