//! One series tried against each behavior in turn. What the words mean: [`super::classify`].

use super::behavior::{Behavior, Pattern, Peak};
use super::classify::{FEWEST, Kept, Scale, Scratch, middle};
use super::cleaning;
use super::statistics::{mann_kendall, movement, theil_sen};
use crate::procedure::BehaviorKind;

/// How fast the settled part may move, in parts of the rate at which the series came to it.
const AT_REST: f64 = 0.35;

/// How fast the last third must still move for a trend, in parts of its slope.
const STILL_MOVING: f64 = 0.2;

/// A trend is believed at this probability of no trend.
const SURE: f64 = 0.05;

/// The same for four readings, of which the strictest order has a probability of 0.083.
const SURE_OF_FOUR: f64 = 0.09;

/// A later swing counts as dying down below this part of the one before.
const DIES: f64 = 0.95;

/// Pairs that rise minus pairs that fall, in parts of all pairs: above this a series goes one way
/// and is not called unsteady.
const ONE_WAY: f64 = 0.6;

/// So many more readings are asked for where the behavior is not clear.
const MORE: usize = 3;

/// One series under examination.
pub(super) struct Examination<'a> {
    pub(super) scratch: &'a mut Scratch,
    pub(super) scale: Scale,
    /// Up to this far from zero a value counts as nothing.
    pub(super) zero: Option<f64>,
}

impl Examination<'_> {
    /// Fills in the pattern and its evidence.
    pub(super) fn run(&mut self, found: &mut Behavior) {
        let kind = self
            .near_zero(found)
            .or_else(|| self.steady(found))
            .or_else(|| self.settles(found))
            .or_else(|| self.trend(found))
            .or_else(|| self.unsteady(found));
        found.pattern = match kind {
            Some(kind) => Pattern::Known(kind),
            None => Pattern::Undetermined { more: MORE },
        };
    }

    /// Unsteady, with the values that were left out taken back in: where leaving them out makes
    /// nothing clear, they may have been swings.
    pub(super) fn unsteady_with_all(&mut self, readings: usize) -> Option<Behavior> {
        self.scratch.odd.clear();
        self.scratch.keep_all_but_odd();
        let mut found = Behavior::unknown(Pattern::Known(BehaviorKind::Unsteady), readings);
        self.unsteady(&mut found).map(|_| found)
    }

    /// Notes which readings decided, at what level, and the behavior that a change by `margin`
    /// would bring.
    fn note(
        &self,
        found: &mut Behavior,
        from: usize,
        level: f64,
        alternative: (BehaviorKind, f64),
    ) {
        let Kept { index, values, .. } = &self.scratch.kept;
        found.deciding = (index[from], index[index.len() - 1]);
        found.level = self.scale.round(level);
        found.spread = self.scale.round(spread(&values[from..], level));
        let margin = alternative.1.max(self.scale.step);
        found.alternative = self.scale.round(margin).map(|by| (alternative.0, by));
    }

    fn near_zero(&mut self, found: &mut Behavior) -> Option<BehaviorKind> {
        let band = self.zero?;
        let Scratch {
            figures,
            odd,
            kept,
            pairs,
            ..
        } = &mut *self.scratch;
        let outside = kept.values.iter().filter(|v| v.abs() > band).count();
        if outside + odd.len() > cleaning::allowance(figures.len()) {
            return None;
        }
        let level = middle(&kept.values, pairs);
        let margin = band - level.abs();
        self.note(found, 0, level, (BehaviorKind::Steady, margin));
        Some(BehaviorKind::NearZero)
    }

    fn steady(&mut self, found: &mut Behavior) -> Option<BehaviorKind> {
        let Scratch { kept, pairs, .. } = &mut *self.scratch;
        let level = middle(&kept.values, pairs);
        let band = self.scale.tolerance(level);
        let spread = spread(&kept.values, level);
        if spread > band {
            return None;
        }
        let to_zero = self.zero.map_or(f64::INFINITY, |zero| level.abs() - zero);
        let highest = kept.values.iter().copied().fold(f64::MIN, f64::max);
        let lowest = kept.values.iter().copied().fold(f64::MAX, f64::min);
        let margin = 2.0 * band - (highest - lowest);
        let alternative = match to_zero < margin {
            true => (BehaviorKind::NearZero, to_zero),
            false => (BehaviorKind::Unsteady, margin),
        };
        self.note(found, 0, level, alternative);
        Some(BehaviorKind::Steady)
    }

    fn settles(&mut self, found: &mut Behavior) -> Option<BehaviorKind> {
        let Scratch {
            kept: Kept { times, values, .. },
            pairs,
            turns,
            ..
        } = &mut *self.scratch;
        let count = values.len();
        let tail = last_third(count);
        let level = middle(&values[count - tail..], pairs);
        let band = self.scale.tolerance(level);
        let from = movement::settled_from(values, level, band).filter(|&from| from > 0)?;
        if count - from < tail {
            return None;
        }
        let farthest = farthest(&values[..from], level);
        let approach = (values[farthest] - level).abs()
            / (times[count - 1] - times[farthest]).max(f64::EPSILON);
        let drift = theil_sen::slope(&times[from..], &values[from..], pairs).unwrap_or(0.0);
        movement::turning_points(values, 2.0 * band, turns);
        let one_hump = turns.len() == 3 && (values[0] - level).abs() > band;
        let long_rest = count - from >= FEWEST.max(2 * count / 5);
        let calms = swings_die(values, turns) || one_hump || long_rest;
        if drift.abs() > AT_REST * approach || !calms {
            return None;
        }
        let highest = farthest_up(&values[..from]);
        if highest > 0 && values[highest] > level + 2.0 * band {
            found.peak = self.peak(highest);
        }
        let Kept { times, values, .. } = &self.scratch.kept;
        found.settled_at_ms = Some(milliseconds(times[from]));
        let other = match values[farthest] > level {
            true => BehaviorKind::Falling,
            false => BehaviorKind::Rising,
        };
        let moved = (values[values.len() - 1] - values[from]).abs();
        self.note(found, from, level, (other, 2.0 * band - moved));
        Some(BehaviorKind::Settles)
    }

    fn peak(&self, at: usize) -> Option<Peak> {
        let Kept { times, values, .. } = &self.scratch.kept;
        let value = self.scale.round(values[at])?;
        let at_ms = milliseconds(times[at]);
        Some(Peak { value, at_ms })
    }

    fn trend(&mut self, found: &mut Behavior) -> Option<BehaviorKind> {
        let start = self.trend_start()?;
        let Scratch { kept, pairs, .. } = &mut *self.scratch;
        let (times, values) = (&kept.times[start..], &kept.values[start..]);
        let count = values.len();
        let band = self.scale.tolerance(middle(&kept.values, pairs));
        let test = mann_kendall::mann_kendall(values, pairs)?;
        let sure = if count == 4 { SURE_OF_FOUR } else { SURE };
        let slope = theil_sen::slope(times, values, pairs)?;
        let change = slope * (times[count - 1] - times[0]);
        if test.p > sure || change.abs() <= 2.0 * band {
            return None;
        }
        let tail = count - last_third(count);
        let tail_slope = theil_sen::slope(&times[tail..], &values[tail..], pairs)?;
        if tail_slope * slope.signum() < STILL_MOVING * slope.abs() {
            return None;
        }
        let (first, last) = (values[0], values[count - 1]);
        let still = (values[tail] - last).abs() - band;
        if slope < 0.0 {
            found.peak = self.peak(start);
        }
        self.note(found, start, last, (BehaviorKind::Settles, still));
        found.spread = self.scale.round((last - first).abs());
        Some(match slope < 0.0 {
            true => BehaviorKind::Falling,
            false => BehaviorKind::Rising,
        })
    }

    /// Where the only swing of the series starts; after a short climb a fall may start.
    fn trend_start(&mut self) -> Option<usize> {
        let Scratch {
            kept: Kept { values, .. },
            pairs,
            turns,
            ..
        } = &mut *self.scratch;
        let band = self.scale.tolerance(middle(values, pairs));
        movement::turning_points(values, 2.0 * band, turns);
        let count = values.len();
        match turns.as_slice() {
            [from, _] if count - from >= FEWEST.min(count) => Some(*from),
            [_, peak, last]
                if *peak <= count / 3
                    && values[*last] < values[*peak]
                    && count - peak >= FEWEST =>
            {
                Some(*peak)
            }
            _ => None,
        }
    }

    fn unsteady(&mut self, found: &mut Behavior) -> Option<BehaviorKind> {
        let Scratch {
            figures,
            kept:
                Kept {
                    values,
                    half_widths,
                    ..
                },
            pairs,
            turns,
            ..
        } = &mut *self.scratch;
        let count = values.len();
        let level = middle(values, pairs);
        let band = self.scale.tolerance(level);
        movement::turning_points(values, 2.0 * band, turns);
        let outside = values.iter().filter(|v| (*v - level).abs() > band).count();
        let mostly_level = count >= 8 && outside <= cleaning::allowance(figures.len());
        let one_way = f64::from(mann_kendall::score(values).abs());
        let mostly_one_way = one_way > ONE_WAY * (count * (count - 1) / 2) as f64;
        if turns.len() < 4 || mostly_level || mostly_one_way {
            return None;
        }
        found.turns = turns.len() - 2;
        let ends = |sign: f64| {
            let halves = half_widths.iter();
            values
                .iter()
                .zip(halves)
                .map(move |(v, half)| v + sign * half)
        };
        let low = ends(-1.0).fold(f64::MAX, f64::min);
        let high = ends(1.0).fold(f64::MIN, f64::max);
        found.between = self.scale.round(low).zip(self.scale.round(high));
        let calmer = (high - low) - 2.0 * band;
        self.note(found, 0, level, (BehaviorKind::Steady, calmer));
        Some(BehaviorKind::Unsteady)
    }
}

/// A third of the readings, three at least.
fn last_third(count: usize) -> usize {
    (count / 3).max(3).min(count)
}

/// How far values lie from a level at most.
fn spread(values: &[f64], level: f64) -> f64 {
    values.iter().map(|v| (v - level).abs()).fold(0.0, f64::max)
}

fn farthest(values: &[f64], level: f64) -> usize {
    let away = |i: &usize| (values[*i] - level).abs();
    (0..values.len())
        .max_by(|a, b| away(a).total_cmp(&away(b)))
        .unwrap_or(0)
}

fn farthest_up(values: &[f64]) -> usize {
    (0..values.len())
        .max_by(|&a, &b| values[a].total_cmp(&values[b]))
        .unwrap_or(0)
}

/// Whether each swing between turning points is smaller than the one before.
fn swings_die(values: &[f64], turns: &[usize]) -> bool {
    turns.windows(3).all(|w| {
        let before = (values[w[1]] - values[w[0]]).abs();
        let after = (values[w[2]] - values[w[1]]).abs();
        after < DIES * before
    })
}

fn milliseconds(seconds: f64) -> u64 {
    (seconds * 1000.0).round() as u64
}
