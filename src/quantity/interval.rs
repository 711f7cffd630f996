//! The algebra of ranges: what two share, what one leaves of another, and the holes of a table.
//!
//! Exact at open and closed ends: `5..8` without `5..6` is `(6..8]`.

use std::cmp::Ordering;

use rust_decimal::Decimal;

use super::range::{Bound, Range};

impl Range {
    /// The values that lie in both; `None` when there are none.
    pub fn intersect(&self, other: &Range) -> Option<Range> {
        let low = match compare_low(self.low(), other.low()) {
            Ordering::Less => other.low(),
            _ => self.low(),
        };
        let high = match compare_high(self.high(), other.high()) {
            Ordering::Greater => other.high(),
            _ => self.high(),
        };
        Range::new(low, high).ok()
    }

    /// Whether any value lies in both.
    pub fn overlaps(&self, other: &Range) -> bool {
        self.intersect(other).is_some()
    }

    /// Whether every value of the other lies in this one.
    pub fn covers(&self, other: &Range) -> bool {
        compare_low(self.low(), other.low()) != Ordering::Greater
            && compare_high(self.high(), other.high()) != Ordering::Less
    }

    /// Every value outside, lower piece first.
    pub fn complement(&self) -> Vec<Range> {
        let below = Range::new(Bound::Unbounded, turned(self.low()));
        let above = Range::new(turned(self.high()), Bound::Unbounded);
        let below = below.ok().filter(|_| self.low() != Bound::Unbounded);
        let above = above.ok().filter(|_| self.high() != Bound::Unbounded);
        below.into_iter().chain(above).collect()
    }

    /// What is left of this range without the other: none, one or two pieces, lower first.
    pub fn subtract(&self, other: &Range) -> Vec<Range> {
        let outside = other.complement();
        let left = outside.iter().filter_map(|piece| self.intersect(piece));
        left.collect()
    }

    /// What none of the others covers, in rising order.
    pub fn gaps(&self, others: &[Range]) -> Vec<Range> {
        let uncovered = |pieces: Vec<Range>, other: &Range| {
            let left = pieces.iter().flat_map(|piece| piece.subtract(other));
            left.collect()
        };
        others.iter().fold(vec![*self], uncovered)
    }

    /// A value inside to show as an example: the multiple of `resolution` nearest the middle, or
    /// with more decimals where no such multiple lies inside. Without an end on one side it is the
    /// first step inside the other; without any end it is 0. `None` when it does not fit a decimal.
    pub fn example(&self, resolution: Decimal) -> Option<Decimal> {
        let mut step = match resolution > Decimal::ZERO {
            true => resolution,
            false => Decimal::ONE,
        };
        while step.scale() < Decimal::MAX_SCALE {
            if let Some(found) = self.example_at(step) {
                return Some(found);
            }
            step = step.checked_div(Decimal::TEN)?.normalize();
        }
        self.middle().filter(|middle| self.contains(*middle))
    }

    /// Half way between the ends; `None` without both ends or when it does not fit a decimal.
    pub fn middle(&self) -> Option<Decimal> {
        let (low, high) = (self.low().value()?, self.high().value()?);
        low.checked_add(high.checked_sub(low)?.checked_div(Decimal::TWO)?)
    }

    /// How far the value is from the nearest end: positive inside, negative outside. `None` for a
    /// range without ends.
    pub fn margin(&self, value: Decimal) -> Option<Decimal> {
        let below = |low: Decimal| value.checked_sub(low);
        let above = |high: Decimal| high.checked_sub(value);
        let low = self.low().value().and_then(below);
        let high = self.high().value().and_then(above);
        match (low, high) {
            (Some(low), Some(high)) => Some(low.min(high)),
            (low, high) => low.or(high),
        }
    }

    /// How far outside the value is: 0 inside and on an end, [`Decimal::MAX`] where the difference
    /// would not fit.
    pub fn distance(&self, value: Decimal) -> Decimal {
        let short = |end: Option<Decimal>, below: bool| match end {
            Some(end) if (value < end) == below => value.max(end).checked_sub(value.min(end)),
            _ => Some(Decimal::ZERO),
        };
        let low = short(self.low().value(), true).unwrap_or(Decimal::MAX);
        low.max(short(self.high().value(), false).unwrap_or(Decimal::MAX))
    }

    fn example_at(&self, step: Decimal) -> Option<Decimal> {
        let anchor = match (self.low().value(), self.high().value()) {
            (Some(_), Some(_)) => self.middle()?,
            (Some(low), None) => low.checked_add(step)?,
            (None, Some(high)) => high.checked_sub(step)?,
            (None, None) => Decimal::ZERO,
        };
        let steps = anchor.checked_div(step)?;
        let near = [steps.round(), steps.floor(), steps.ceil()];
        let multiples = near.into_iter().filter_map(|count| count.checked_mul(step));
        let mut inside = multiples.filter(|multiple| self.contains(*multiple));
        inside.next()
    }
}

/// The end of the piece next to it: what was inside is outside.
fn turned(end: Bound) -> Bound {
    match end {
        Bound::Closed(value) => Bound::Open(value),
        Bound::Open(value) => Bound::Closed(value),
        Bound::Unbounded => Bound::Unbounded,
    }
}

/// Which low end lets in more: less is wider.
fn compare_low(a: Bound, b: Bound) -> Ordering {
    let key = |end: Bound| (end.value(), matches!(end, Bound::Open(_)));
    // `None` sorts first, as the end that is infinitely far down must.
    key(a).cmp(&key(b))
}

/// Which high end lets in more: greater is wider.
fn compare_high(a: Bound, b: Bound) -> Ordering {
    match (a.value(), b.value()) {
        (None, None) => Ordering::Equal,
        (None, Some(_)) => Ordering::Greater,
        (Some(_), None) => Ordering::Less,
        (Some(x), Some(y)) => {
            let closed = |end: Bound| matches!(end, Bound::Closed(_));
            x.cmp(&y).then(closed(a).cmp(&closed(b)))
        }
    }
}
