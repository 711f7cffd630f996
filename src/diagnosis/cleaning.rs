//! Values that do not fit their neighbors: which of them were probably misheard.
//!
//! A value is set aside only where it stands alone, lies further from its neighbors than the
//! tolerance, and a usual mishearing leads from what the neighbors would have there to what was
//! given. A swinging value has many that stand alone: then nothing is set aside.

use super::mishearing::said_between;
use super::series::{Figures, Series};
use crate::quantity::Amount;

/// A figure set aside: its place among the figures, and what was probably said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Odd {
    pub figure: usize,
    pub said: rust_decimal::Decimal,
}

/// At most this many of `count` values are set aside: one of five, two of eight, three of sixteen.
pub fn allowance(count: usize) -> usize {
    count / 8 + 1
}

/// Finds the figures to set aside. `odd` is overwritten, in the order of time, and is left empty
/// where more than the [`allowance`] do not fit.
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
    if odd.len() > allowance(count) {
        odd.clear();
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
) -> Option<rust_decimal::Decimal> {
    let Amount::Exact(heard) = series.samples()[figures.index[i]].amount else {
        return None;
    };
    let fits = |(low, high): (f64, f64)| {
        let value = figures.value[i];
        value >= low - 2.0 * tolerance && value <= high + 2.0 * tolerance
    };
    let near = Neighbors { figures, odd, i };
    [near.next_to(1), near.next_to(2)]
        .into_iter()
        .flatten()
        .map(|around| match fits(around) {
            true => None,
            false => said_between(heard, decimals, around.0 - tolerance, around.1 + tolerance),
        })
        .reduce(|near, far| near.or(far))
        .flatten()
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
            (Some(left), false) if after == 1 => self.beyond(left, before.clone().nth(1)?),
            (None, true) => self.beyond(next, next + 1),
            _ => None,
        }
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
