//! Values that do not fit their neighbors: which of them were probably misheard.
//!
//! A value is set aside where it lies further from its neighbors than the tolerance and a usual
//! mishearing leads from what the neighbors would have there to what was given. In eight readings
//! or more, one value may be set aside without an explanation if it stands alone between neighbors
//! that agree with each other. A value that swings has many that stand alone: then nothing is set
//! aside. Nor is a range ("hunting between") or an "about", which say themselves how good they are.

use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

use super::behavior::SetAside;
use super::mishearing::said_between;
use super::series::{Figures, Series};
use super::statistics::location::median;
use crate::quantity::Amount;

/// The usual step is taken from this many steps at most.
const LONGEST_LOOKED_AT: usize = 64;

/// A value without explanation is set aside only among this many.
const ENOUGH_AROUND: usize = 8;

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

/// A series with what is needed to judge its single values.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cleaning<'a> {
    pub series: &'a Series,
    pub figures: &'a Figures,
    /// How far from each other two values may lie and still be equal.
    pub tolerance: f64,
    /// How many decimals the display shows.
    pub decimals: u32,
}

impl Cleaning<'_> {
    /// Finds the figures to set aside: first going by direct neighbors, then by the middle of five,
    /// so that two wrong values in a row are found too. `odd` is overwritten, in the order of time,
    /// and is left empty where more than the [`allowance`] do not fit.
    pub fn odd_ones(&self, odd: &mut Vec<Odd>) {
        odd.clear();
        let count = self.figures.len();
        for i in 0..count {
            if let Some(said) = self.beside_neighbors(i, odd) {
                odd.push(Odd { figure: i, said });
            }
        }
        let reach = self.tolerance + 2.0 * self.usual_step(odd);
        for i in 0..count {
            let Err(place) = odd.binary_search_by_key(&i, |odd| odd.figure) else {
                continue;
            };
            if let Some(said) = self.beside_middle(i, odd, reach) {
                odd.insert(place, Odd { figure: i, said });
            }
        }
        if odd.len() < allowance(count) && count >= ENOUGH_AROUND {
            self.add_the_lone_one(odd, reach);
        }
        if odd.len() > allowance(count) {
            odd.clear();
        }
    }

    /// As it is told to the technician.
    pub fn describe(&self, odd: &Odd) -> SetAside {
        let reading = self.figures.index[odd.figure];
        SetAside {
            reading,
            value: self.exact(odd.figure).unwrap_or(odd.said),
            expected: odd.said,
        }
    }

    /// The number as it was given; `None` for a range or "about".
    fn exact(&self, i: usize) -> Option<Decimal> {
        match self.series.samples()[self.figures.index[i]].amount {
            Amount::Exact(value) => Some(value),
            _ => None,
        }
    }

    /// What was said in place of figure `i` if it fits none of its neighbors and a mishearing of
    /// what they would have there explains it.
    fn beside_neighbors(&self, i: usize, odd: &[Odd]) -> Option<Decimal> {
        let heard = self.exact(i)?;
        let value = self.figures.value[i];
        let tolerance = self.tolerance;
        let near = self.neighbors(i, odd);
        let around = [near.next_to(1), near.next_to(2)];
        let fits =
            |&(low, high): &(f64, f64)| value >= low - tolerance && value <= high + tolerance;
        if around.iter().flatten().any(fits) {
            return None;
        }
        let (low, high) = around
            .into_iter()
            .flatten()
            .min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))?;
        said_between(heard, self.decimals, low - tolerance, high + tolerance)
    }

    /// The same, going by the median of five.
    fn beside_middle(&self, i: usize, odd: &[Odd], reach: f64) -> Option<Decimal> {
        let near = self.neighbors(i, odd);
        let middle = near.middle_of_five();
        let off = (self.figures.value[i] - middle).abs();
        if off <= reach || near.passes_through(self.tolerance) {
            return None;
        }
        let heard = self.exact(i)?;
        said_between(heard, self.decimals, middle - reach, middle + reach)
    }

    /// Adds the value that stands alone between neighbors that agree, if there is exactly one.
    fn add_the_lone_one(&self, odd: &mut Vec<Odd>, reach: f64) {
        let values = &self.figures.value;
        let mut lone = None;
        for (i, &value) in values.iter().enumerate().take(values.len() - 1).skip(1) {
            let Err(place) = odd.binary_search_by_key(&i, |odd| odd.figure) else {
                continue;
            };
            let (low, high) = self.neighbors(i, odd).two_each_side();
            let off = (low - value).max(value - high);
            let agree = high - low <= 2.0 * reach - self.tolerance;
            if off <= 2.0 * reach || !agree || self.exact(i).is_none() {
                continue;
            }
            if lone.is_some() {
                return;
            }
            lone = Some((place, i, (low + high) / 2.0));
        }
        if let Some((place, figure, middle)) = lone
            && let Some(said) = Decimal::from_f64(middle)
        {
            let said = said.round_dp(self.decimals);
            odd.insert(place, Odd { figure, said });
        }
    }

    /// The median size of the steps between kept figures.
    fn usual_step(&self, odd: &[Odd]) -> f64 {
        let mut steps = [0.0; LONGEST_LOOKED_AT];
        let mut count = 0;
        let mut last: Option<f64> = None;
        for (i, &value) in self.figures.value.iter().enumerate() {
            if odd.iter().any(|odd| odd.figure == i) {
                continue;
            }
            if let Some(last) = last.filter(|_| count < LONGEST_LOOKED_AT) {
                steps[count] = (value - last).abs();
                count += 1;
            }
            last = Some(value);
        }
        median(&mut steps[..count]).unwrap_or(0.0)
    }

    fn neighbors<'b>(&'b self, i: usize, odd: &'b [Odd]) -> Neighbors<'b> {
        let figures = self.figures;
        Neighbors { figures, odd, i }
    }
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
        let mut before = self.before();
        let earlier = before.next();
        let next = self.i + after;
        match (earlier, next < values.len()) {
            (Some(left), true) => Some(ordered(values[left], values[next])),
            (Some(left), false) => self.beyond(left, before.next()?),
            (None, true) => self.beyond(next, next + 1),
            (None, false) => None,
        }
    }

    /// The median of the figure, two kept ones before it and two after.
    fn middle_of_five(&self) -> f64 {
        let values = &self.figures.value;
        let mut five = [0.0; 5];
        let mut count = 0;
        let after = (self.i + 1..values.len()).filter(|&k| self.kept(k));
        let around = self.before().take(2).chain(after.take(2));
        for k in around.chain(std::iter::once(self.i)) {
            five[count] = values[k];
            count += 1;
        }
        median(&mut five[..count]).unwrap_or(0.0)
    }

    /// Whether the value lies on the way from the one before to the one after, away from both.
    fn passes_through(&self, tolerance: f64) -> bool {
        let value = self.figures.value[self.i];
        self.next_to(1).is_some_and(|(low, high)| {
            self.i > 0 && value > low + tolerance && value < high - tolerance
        })
    }

    /// The lowest and highest of two kept figures before and two after.
    fn two_each_side(&self) -> (f64, f64) {
        let values = &self.figures.value;
        let after = (self.i + 1..values.len()).filter(|&k| self.kept(k));
        let around = self.before().take(2).chain(after.take(2));
        let start = (f64::INFINITY, f64::NEG_INFINITY);
        around.fold(start, |(low, high), k| {
            (low.min(values[k]), high.max(values[k]))
        })
    }

    /// The kept figures before this one, the nearest first.
    fn before(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.i).rev().filter(|&k| self.kept(k))
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
