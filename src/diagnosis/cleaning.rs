//! Values that do not fit their neighbors: which of them were probably misheard.
//!
//! A value is set aside only where it stands alone, lies further from its neighbors than the
//! tolerance, and a usual mishearing leads from what the neighbors would have there to what was
//! given. A swinging value has many that stand alone: then nothing is set aside.

use rust_decimal::Decimal;

use super::mishearing::said_between;
use super::series::{Figures, Series};
use super::statistics::location::median;
use crate::quantity::Amount;

/// The usual step is taken from this many steps at most.
const LONGEST_LOOKED_AT: usize = 64;

/// A figure set aside: its place among the figures, and what was probably said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Odd {
    pub figure: usize,
    pub said: Decimal,
}

/// At most this many of `count` values are set aside: one of five, two of ten, four of twenty.
pub fn allowance(count: usize) -> usize {
    count / 6 + 1
}

/// Finds the figures to set aside, first going by direct neighbors, then by the middle of five, so
/// that two wrong values in a row are found too. `odd` is overwritten, in the order of time, and is
/// left empty where more than the [`allowance`] do not fit.
pub fn odd_ones(
    series: &Series,
    figures: &Figures,
    tolerance: f64,
    decimals: u32,
    odd: &mut Vec<Odd>,
) {
    odd.clear();
    let count = figures.len();
    for i in 0..count {
        if let Some(said) = misheard(series, figures, i, odd, tolerance, decimals) {
            odd.push(Odd { figure: i, said });
        }
    }
    let usual_step = usual_step(figures, odd);
    for i in 0..count {
        let place = odd.partition_point(|odd| odd.figure < i);
        if odd.get(place).is_some_and(|odd| odd.figure == i) {
            continue;
        }
        let around = Neighbors { figures, odd, i };
        let reach = tolerance + 2.0 * usual_step;
        let middle = around.middle_of_five();
        if (figures.value[i] - middle).abs() <= reach {
            continue;
        }
        if let Some(said) = exact(series, figures, i)
            .and_then(|heard| said_between(heard, decimals, middle - reach, middle + reach))
        {
            odd.insert(place, Odd { figure: i, said });
        }
    }
    if odd.len() > allowance(count) {
        odd.clear();
    }
}

/// The median size of the steps between kept figures.
fn usual_step(figures: &Figures, odd: &[Odd]) -> f64 {
    let mut steps = [0.0; LONGEST_LOOKED_AT];
    let mut count = 0;
    let mut last = None;
    for (i, &value) in figures.value.iter().enumerate() {
        if odd.iter().any(|odd| odd.figure == i) {
            continue;
        }
        if let Some(last) = last.filter(|_| count < LONGEST_LOOKED_AT) {
            let step: f64 = value - last;
            steps[count] = step.abs();
            count += 1;
        }
        last = Some(value);
    }
    median(&mut steps[..count]).unwrap_or(0.0)
}

/// The number as it was given; `None` for a range or "about", which are never set aside.
fn exact(series: &Series, figures: &Figures, i: usize) -> Option<Decimal> {
    match series.samples()[figures.index[i]].amount {
        Amount::Exact(value) => Some(value),
        _ => None,
    }
}

/// What was said in place of figure `i`, if it does not fit and a mishearing explains it.
fn misheard(
    series: &Series,
    figures: &Figures,
    i: usize,
    odd: &[Odd],
    tolerance: f64,
    decimals: u32,
) -> Option<Decimal> {
    let heard = exact(series, figures, i)?;
    let value = figures.value[i];
    let fits = |&(low, high): &(f64, f64)| value >= low - tolerance && value <= high + tolerance;
    let near = Neighbors { figures, odd, i };
    let around = [near.next_to(1), near.next_to(2)];
    if around.iter().flatten().any(fits) {
        return None;
    }
    let (low, high) = around
        .into_iter()
        .flatten()
        .min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))?;
    said_between(heard, decimals, low - tolerance, high + tolerance)
}

/// The kept figures around one.
struct Neighbors<'a> {
    figures: &'a Figures,
    odd: &'a [Odd],
    i: usize,
}

impl Neighbors<'_> {
    /// The lowest and highest the value could be, going by the kept figure before it and the
    /// `after`th one after it; at either end, by the line through the nearest two.
    fn next_to(&self, after: usize) -> Option<(f64, f64)> {
        let values = &self.figures.value;
        let before = (0..self.i).rev().filter(|&k| self.kept(k));
        let next = self.i + after;
        let earlier = before.clone().next();
        match (earlier, next < values.len()) {
            (Some(left), true) => Some(ordered(values[left], values[next])),
            (Some(left), false) => self.beyond(left, before.clone().nth(1)?),
            (None, true) => self.beyond(next, next + 1),
            (None, false) => None,
        }
    }

    /// The median of the figure, two kept ones before it and two after.
    fn middle_of_five(&self) -> f64 {
        let values = &self.figures.value;
        let mut five = [0.0; 5];
        let mut count = 0;
        let before = (0..self.i).rev().filter(|&k| self.kept(k)).take(2);
        let after = (self.i + 1..values.len()).filter(|&k| self.kept(k)).take(2);
        for k in before.chain(std::iter::once(self.i)).chain(after) {
            five[count] = values[k];
            count += 1;
        }
        median(&mut five[..count]).unwrap_or(0.0)
    }

    fn kept(&self, k: usize) -> bool {
        !self.odd.iter().any(|odd| odd.figure == k)
    }

    /// Between the value of `near` and what the line through `far` and `near` would have; never
    /// further than twice the step between them.
    fn beyond(&self, near: usize, far: usize) -> Option<(f64, f64)> {
        let (times, values) = (&self.figures.time, &self.figures.value);
        let far_value = *values.get(far)?;
        let (near_time, far_time) = (times[near], times[far]);
        let reach = ((times[self.i] - near_time) / (near_time - far_time)).clamp(0.0, 2.0);
        let reach = if reach.is_nan() { 0.0 } else { reach };
        let there = values[near] + reach * (values[near] - far_value);
        Some(ordered(values[near], there))
    }
}

fn ordered(a: f64, b: f64) -> (f64, f64) {
    (a.min(b), a.max(b))
}
