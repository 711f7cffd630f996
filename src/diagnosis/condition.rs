//! Conditions on single readings: "winding open", "supply below its limits".
//!
//! What the words mean, in plain terms:
//!
//! - *inside*: the value lies within the limits; a quantity without limits has every value inside.
//! - *below*, *above*: the value lies past that end of the limits. A reading that covers a range
//!   ("hunting between") is below as soon as its low end is, and above as soon as its high end is.
//! - *over range* is above every limit; *short* is outside the limits without being below or above.
//! - *no reading* is nothing but itself: a blank display proves nothing about the value.

use rust_decimal::Decimal;

use crate::procedure::BranchWhen;
use crate::quantity::{Amount, Range};

/// An amount with the limits that hold for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Judged {
    pub amount: Amount,
    /// In the unit of the amount; `None` where the variant has no limits.
    pub limits: Option<Range>,
}

/// Whether a condition holds for a reading, in the terms of the module.
pub fn holds(when: BranchWhen, reading: &Judged) -> bool {
    match when {
        BranchWhen::Inside => inside(reading),
        BranchWhen::BelowLimits => below(reading),
        BranchWhen::AboveLimits => above(reading),
        BranchWhen::OutsideLimits => {
            below(reading) || above(reading) || reading.amount == Amount::Short
        }
        BranchWhen::OverRange => reading.amount == Amount::OverRange,
        BranchWhen::Short => reading.amount == Amount::Short,
        BranchWhen::NoReading => reading.amount == Amount::None,
        BranchWhen::Within(range) => ends(reading.amount)
            .is_some_and(|(low, high)| range.contains(low) && range.contains(high)),
    }
}

/// The lowest and highest value an amount stands for; `None` without a number.
pub fn ends(amount: Amount) -> Option<(Decimal, Decimal)> {
    match amount {
        Amount::Exact(value) | Amount::About(value) => Some((value, value)),
        Amount::Between(low, high) => Some((low, high)),
        Amount::OverRange | Amount::Short | Amount::None => None,
    }
}

fn inside(reading: &Judged) -> bool {
    ends(reading.amount).is_some_and(|(low, high)| {
        reading
            .limits
            .is_none_or(|limits| limits.contains(low) && limits.contains(high))
    })
}

fn below(reading: &Judged) -> bool {
    match (ends(reading.amount), reading.limits) {
        (Some((low, _)), Some(limits)) => limits.is_above(low),
        _ => false,
    }
}

fn above(reading: &Judged) -> bool {
    match (ends(reading.amount), reading.limits) {
        (Some((_, high)), Some(limits)) => limits.is_below(high),
        _ => reading.amount == Amount::OverRange,
    }
}
