//! How many decimals of a result mean anything.

use super::computation::Computation;
use super::given::Given;
use crate::quantity::Decimal;

/// Keeps a step of 0.1 that a float shows as 0.09999 from asking for another decimal.
const FLOAT_SLACK: f64 = 1.0 + 1e-6;

/// The fewest decimals whose last place is not coarser than the largest change that one step of
/// any measured input makes, and at most what the formula is good for.
pub(super) fn justified(computation: &Computation, given: &Given, number: f64) -> u32 {
    let at = |moved: &Given| (computation.formula)(moved).ok().filter(|n| n.is_finite());
    let change = |[lower, higher]: &[Given; 2]| match (at(lower), at(higher)) {
        (Some(low), Some(high)) => (high - low).abs(),
        (Some(beside), None) | (None, Some(beside)) => 2.0 * (beside - number).abs(),
        (None, None) => 0.0,
    };
    let change = given.half_steps().iter().map(change).fold(0.0, f64::max);
    let mut decimals = 0;
    while decimals < computation.decimals && change * FLOAT_SLACK < last_place(decimals) {
        decimals += 1;
    }
    decimals
}

/// Lifts a decimal tie that a float shows a hair too small: 138.5055 is held as 138.50549999....
const TIE_SLACK: f64 = 1.0 + 1e-13;

/// The nearest decimal with these places, a tie away from zero; `None` for what is no number or
/// too large.
pub(super) fn to_decimal(number: f64, decimals: u32) -> Option<Decimal> {
    if !number.is_finite() {
        return None;
    }
    let text = format!("{:.*}", decimals as usize, number * TIE_SLACK);
    let value = Decimal::from_str_exact(&text).ok()?;
    // "-0.0" is no reading.
    Some(if value.is_zero() { value.abs() } else { value })
}

fn last_place(decimals: u32) -> f64 {
    libm::pow(10.0, -f64::from(decimals))
}

#[cfg(test)]
mod tests {
    use super::to_decimal;

    #[test]
    fn floats_become_decimals_with_their_places() {
        let text = |number, decimals| to_decimal(number, decimals).map(|d| d.to_string());
        assert_eq!(text(36.18, 1).as_deref(), Some("36.2"));
        assert_eq!(text(-0.04, 1).as_deref(), Some("0.0"));
        assert_eq!(text(138.5055, 3).as_deref(), Some("138.506"));
        assert_eq!(text(5.0, 2).as_deref(), Some("5.00"));
        assert_eq!(text(f64::NAN, 2), None);
        assert_eq!(text(f64::INFINITY, 2), None);
        assert_eq!(text(1e40, 2), None);
    }
}
