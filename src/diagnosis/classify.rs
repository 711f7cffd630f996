//! From the figures of a series to its behavior.
//!
//! What the words mean, in the order in which they are tried:
//!
//! - *Near zero*: nothing arrives. Every value is smaller than the zero band, which is one
//!   hundredth of the largest plausible value or three display steps, whichever is more. A
//!   temperature is never near zero: its zero is a point on the scale like any other.
//! - *Steady*: every value lies within the tolerance of their median. The tolerance is 3 % of the
//!   level or two display steps, whichever is more.
//! - *Settles*: the last values, a third of all and three at least, lie within the tolerance of
//!   their median; what came before lies elsewhere; and they move at less than a third of
//!   the rate at which the series came there. Swings before that must die down.
//! - *Falling*, *rising*: the Mann-Kendall test finds a trend, the change is more than twice the
//!   tolerance, no swing goes against it, and the last third still moves that way.
//! - *Unsteady*: at least two swings, each larger than twice the tolerance.
//!
//! What is none of these is undetermined, and more readings are asked for.

use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};

use super::behavior::{Behavior, Pattern, Peak, SetAside};
use super::cleaning::{self, Odd};
use super::series::{Figures, Series};
use super::statistics::location::median;
use super::statistics::{mann_kendall, movement, theil_sen};
use crate::procedure::{BehaviorKind, QuantityDefinition};
use crate::quantity::{Bound, Dimension};

/// The fewest readings any behavior is told from.
pub const FEWEST: usize = 5;

/// The tolerance in parts of the level.
const TOLERANCE: f64 = 0.03;

/// How fast the settled part may move, in parts of the rate at which the series came to it.
const AT_REST: f64 = 0.35;

/// A share of rising or falling pairs that contradicts "unsteady": pairs one way minus pairs the
/// other way, in parts of all pairs.
const ONE_WAY: f64 = 0.6;

/// How fast the last third must still move for a trend, in parts of its slope.
const STILL_MOVING: f64 = 0.2;

/// Buffers that are kept from one series to the next.
#[derive(Debug, Default)]
pub struct Scratch {
    figures: Figures,
    odd: Vec<Odd>,
    times: Vec<f64>,
    values: Vec<f64>,
    pairs: Vec<f64>,
    turns: Vec<usize>,
}

impl Scratch {
    /// The figures of the series judged last.
    pub fn figures(&self) -> &Figures {
        &self.figures
    }
}

/// Below this every value counts as nothing, in the unit of the quantity; `None` for a temperature,
/// whose zero is a point like any other.
pub fn zero_band(quantity: &QuantityDefinition) -> Option<Decimal> {
    if quantity.unit.base.dimension() == Dimension::Temperature {
        return None;
    }
    let size = |bound: Bound| match bound {
        Bound::Closed(end) | Bound::Open(end) => end.abs(),
        Bound::Unbounded => Decimal::ZERO,
    };
    let largest = size(quantity.plausible.low()).max(size(quantity.plausible.high()));
    let steps = quantity.resolution.unwrap_or_default() * Decimal::from(3);
    Some((largest / Decimal::from(100)).max(steps))
}

/// What a series does.
pub fn behavior(scratch: &mut Scratch, series: &Series, quantity: &QuantityDefinition) -> Behavior {
    series.figures(&mut scratch.figures);
    let display = Display::of(quantity, &scratch.figures);
    Examination {
        scratch,
        series,
        display,
        zero: zero_band(quantity).and_then(|band| band.to_f64()),
    }
    .behavior()
}

/// The display's step and how many decimals it shows.
#[derive(Debug, Clone, Copy)]
struct Display {
    step: f64,
    decimals: u32,
}

impl Display {
    /// As the quantity says; where it does not, the finest value that was given.
    fn of(quantity: &QuantityDefinition, figures: &Figures) -> Display {
        match quantity.resolution {
            Some(step) => Display {
                step: step.to_f64().unwrap_or(0.0),
                decimals: step.normalize().scale(),
            },
            None => Display {
                step: 0.1_f64.powi(figures.decimals as i32),
                decimals: figures.decimals,
            },
        }
    }

    fn tolerance(self, level: f64) -> f64 {
        (2.0 * self.step).max(TOLERANCE * level.abs())
    }

    fn round(self, value: f64) -> Option<Decimal> {
        Decimal::from_f64(value).map(|value| value.round_dp(self.decimals))
    }
}

/// One series under examination.
struct Examination<'a> {
    scratch: &'a mut Scratch,
    series: &'a Series,
    display: Display,
    zero: Option<f64>,
}

impl Examination<'_> {
    fn behavior(mut self) -> Behavior {
        let have = self.scratch.figures.len();
        let mut found = blank(have);
        if have < FEWEST {
            return found;
        }
        self.set_aside(&mut found);
        self.fill_slope(&mut found);
        let known = self.near_zero(&mut found)
            || self.steady(&mut found)
            || self.settles(&mut found)
            || self.trend(&mut found)
            || self.unsteady(&mut found);
        if !known {
            found.pattern = Pattern::Undetermined { more: 3 };
        }
        found
    }

    /// Splits the figures into those that count and those set aside.
    fn set_aside(&mut self, found: &mut Behavior) {
        let level = self.middle_of_figures();
        let scratch = &mut *self.scratch;
        cleaning::odd_ones(
            self.series,
            &scratch.figures,
            self.display.tolerance(level),
            self.display.decimals,
            &mut scratch.odd,
        );
        scratch.times.clear();
        scratch.values.clear();
        for i in 0..scratch.figures.len() {
            if !scratch.odd.iter().any(|odd| odd.figure == i) {
                scratch.times.push(scratch.figures.time[i]);
                scratch.values.push(scratch.figures.value[i]);
            }
        }
        if let Some(odd) = scratch.odd.first() {
            found.set_aside = self
                .display
                .round(scratch.figures.value[odd.figure])
                .map(|value| SetAside {
                    reading: scratch.figures.index[odd.figure],
                    value,
                    expected: odd.said,
                });
        }
    }

    fn middle_of_figures(&mut self) -> f64 {
        let scratch = &mut *self.scratch;
        middle(&scratch.figures.value, &mut scratch.pairs)
    }

    fn fill_slope(&mut self, found: &mut Behavior) {
        let Scratch {
            times,
            values,
            pairs,
            ..
        } = &mut *self.scratch;
        found.slope_per_min = theil_sen::slope(times, values, pairs)
            .and_then(|slope| Decimal::from_f64(slope * 60.0))
            .map(|slope| slope.round_dp(self.display.decimals + 1));
    }

    fn near_zero(&mut self, found: &mut Behavior) -> bool {
        let Some(band) = self.zero else { return false };
        let values = &self.scratch.values;
        let outside = values.iter().filter(|value| value.abs() >= band).count();
        if outside + self.scratch.odd.len() > cleaning::allowance(self.scratch.figures.len()) {
            return false;
        }
        found.level = self.display.round(self.middle_of_figures());
        found.pattern = Pattern::Known(BehaviorKind::NearZero);
        true
    }

    fn steady(&mut self, found: &mut Behavior) -> bool {
        let Scratch { values, pairs, .. } = &mut *self.scratch;
        let level = middle(values, pairs);
        let band = self.display.tolerance(level);
        if values.iter().any(|value| (value - level).abs() > band) {
            return false;
        }
        found.level = self.display.round(level);
        found.pattern = Pattern::Known(BehaviorKind::Steady);
        true
    }

    fn settles(&mut self, found: &mut Behavior) -> bool {
        let Scratch {
            times,
            values,
            pairs,
            turns,
            ..
        } = &mut *self.scratch;
        let count = values.len();
        let tail = (count / 3).max(3);
        let level = middle(&values[count - tail..], pairs);
        let band = self.display.tolerance(level);
        let Some(from) = movement::settled_from(values, level, band) else {
            return false;
        };
        if count - from < tail || from == 0 {
            return false;
        }
        let away = |i: &usize| (values[*i] - level).abs();
        let farthest = (0..from)
            .max_by(|a, b| away(a).total_cmp(&away(b)))
            .unwrap_or(0);
        let approach = away(&farthest) / (times[count - 1] - times[farthest]);
        let drift = theil_sen::slope(&times[from..], &values[from..], pairs).unwrap_or(0.0);
        if drift.abs() > AT_REST * approach {
            return false;
        }
        movement::turning_points(values, 2.0 * band, turns);
        let swings_die = turns.windows(3).all(|w| {
            let (before, after) = (
                (values[w[1]] - values[w[0]]).abs(),
                (values[w[2]] - values[w[1]]).abs(),
            );
            after < 0.95 * before
        });
        let one_hump = turns.len() == 3 && (values[0] - level).abs() > band;
        let long_rest = count - from >= 5.max(2 * count / 5);
        if !(swings_die || one_hump || long_rest) {
            return false;
        }
        let highest = (0..from)
            .max_by(|&a, &b| values[a].total_cmp(&values[b]))
            .unwrap_or(0);
        if highest > 0 && values[highest] > level + 2.0 * band {
            found.peak = self.display.round(values[highest]).map(|value| Peak {
                value,
                at_ms: milliseconds(times[highest]),
            });
        }
        found.level = self.display.round(level);
        found.settled_at_ms = Some(milliseconds(times[from]));
        found.pattern = Pattern::Known(BehaviorKind::Settles);
        true
    }

    fn trend(&mut self, found: &mut Behavior) -> bool {
        let Scratch {
            times,
            values,
            pairs,
            turns,
            ..
        } = &mut *self.scratch;
        let count = values.len();
        let band = self.display.tolerance(middle(values, pairs));
        movement::turning_points(values, 2.0 * band, turns);
        let start = match turns.as_slice() {
            [from, _] => *from,
            [_, peak, last] if *peak <= count / 3 && values[*last] < values[*peak] => *peak,
            _ => return false,
        };
        let kept = count;
        let (times, values) = (&times[start..], &values[start..]);
        let count = values.len();
        if count < FEWEST.min(kept) {
            return false;
        }
        let Some(test) = mann_kendall::mann_kendall(values, pairs) else {
            return false;
        };
        let sure = if count == 4 { 0.09 } else { 0.05 };
        let Some(line) = theil_sen::line(times, values, pairs) else {
            return false;
        };
        let span = times[count - 1] - times[0];
        if test.p > sure || (line.slope * span).abs() <= 2.0 * band {
            return false;
        }
        let tail = count - (count / 3).max(3);
        let tail_slope = theil_sen::slope(&times[tail..], &values[tail..], pairs).unwrap_or(0.0);
        if tail_slope * line.slope.signum() < STILL_MOVING * line.slope.abs() {
            return false;
        }
        let falling = line.slope < 0.0;
        if falling {
            found.peak = self.display.round(values[0]).map(|value| Peak {
                value,
                at_ms: milliseconds(times[0]),
            });
        }
        found.level = self.display.round(values[count - 1]);
        found.pattern = Pattern::Known(match falling {
            true => BehaviorKind::Falling,
            false => BehaviorKind::Rising,
        });
        true
    }

    fn unsteady(&mut self, found: &mut Behavior) -> bool {
        let Scratch {
            values,
            pairs,
            turns,
            ..
        } = &mut *self.scratch;
        let level = middle(values, pairs);
        let band = self.display.tolerance(level);
        movement::turning_points(values, 2.0 * band, turns);
        let outside = values.iter().filter(|v| (*v - level).abs() > band).count();
        let mostly_level = values.len() >= 8 && outside <= cleaning::allowance(values.len());
        let pairs = values.len() * (values.len() - 1) / 2;
        let mostly_one_way = f64::from(mann_kendall::score(values).abs()) > ONE_WAY * pairs as f64;
        if turns.len() < 4 || mostly_level || mostly_one_way {
            return false;
        }
        let low = values.iter().copied().fold(f64::MAX, f64::min);
        let high = values.iter().copied().fold(f64::MIN, f64::max);
        found.between = self.display.round(low).zip(self.display.round(high));
        found.level = self.display.round(level);
        found.pattern = Pattern::Known(BehaviorKind::Unsteady);
        true
    }
}

fn blank(have: usize) -> Behavior {
    Behavior {
        pattern: Pattern::TooFew { have, need: FEWEST },
        readings: have,
        level: None,
        peak: None,
        slope_per_min: None,
        between: None,
        settled_at_ms: None,
        set_aside: None,
        alternative: None,
    }
}

fn middle(values: &[f64], scratch: &mut Vec<f64>) -> f64 {
    scratch.clear();
    scratch.extend_from_slice(values);
    median(scratch).unwrap_or(0.0)
}

fn milliseconds(seconds: f64) -> u64 {
    (seconds * 1000.0).round() as u64
}
