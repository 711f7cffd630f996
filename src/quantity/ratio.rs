//! Exact fractions for unit factors: every step is checked, nothing rounds before the end.

use std::cmp::Ordering;

use rust_decimal::Decimal;

/// The most decimals a [`Decimal`] can hold.
pub(super) const MAX_DECIMALS: u32 = 28;

/// A fraction in lowest terms; the denominator is always positive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ratio {
    numerator: i128,
    denominator: i128,
}

impl Ratio {
    /// `None` when the denominator is zero or a part does not fit.
    pub(super) fn new(numerator: i128, denominator: i128) -> Option<Ratio> {
        if denominator == 0 || numerator == i128::MIN || denominator == i128::MIN {
            return None;
        }
        let divisor = greatest_common_divisor(numerator.abs(), denominator.abs());
        Some(Ratio {
            numerator: numerator / divisor * denominator.signum(),
            denominator: denominator.abs() / divisor,
        })
    }

    pub(super) fn from_decimal(value: Decimal) -> Option<Ratio> {
        Ratio::new(value.mantissa(), power_of_ten(value.scale())?)
    }

    /// Ten to the given power, negative powers included.
    pub(super) fn ten_to(exponent: i32) -> Option<Ratio> {
        let power = power_of_ten(exponent.unsigned_abs())?;
        match exponent < 0 {
            true => Ratio::new(1, power),
            false => Ratio::new(power, 1),
        }
    }

    pub(super) fn times(self, other: Ratio) -> Option<Ratio> {
        // Reducing crosswise first keeps the products as small as they can be.
        let left = Ratio::new(self.numerator, other.denominator)?;
        let right = Ratio::new(other.numerator, self.denominator)?;
        Some(Ratio {
            numerator: left.numerator.checked_mul(right.numerator)?,
            denominator: left.denominator.checked_mul(right.denominator)?,
        })
    }

    /// `None` when dividing by zero.
    pub(super) fn over(self, other: Ratio) -> Option<Ratio> {
        self.times(Ratio::new(other.denominator, other.numerator)?)
    }

    pub(super) fn plus(self, other: Ratio) -> Option<Ratio> {
        let divisor = greatest_common_divisor(self.denominator, other.denominator);
        let (mine, theirs) = (other.denominator / divisor, self.denominator / divisor);
        let left = self.numerator.checked_mul(mine)?;
        let right = other.numerator.checked_mul(theirs)?;
        Ratio::new(
            left.checked_add(right)?,
            self.denominator.checked_mul(mine)?,
        )
    }

    pub(super) fn minus(self, other: Ratio) -> Option<Ratio> {
        let numerator = other.numerator.checked_neg()?;
        self.plus(Ratio { numerator, ..other })
    }

    /// The decimal with this many decimals that is nearest; a tie goes to the even digit.
    pub(super) fn round(self, decimals: u32) -> Option<Decimal> {
        let size = self.numerator.checked_abs()?;
        let mut digits = size / self.denominator;
        let mut rest = size % self.denominator;
        for _ in 0..decimals {
            let next = rest.checked_mul(10)?;
            digits = digits
                .checked_mul(10)?
                .checked_add(next / self.denominator)?;
            rest = next % self.denominator;
        }
        let to_half = self.denominator - rest;
        if rest > to_half || (rest == to_half && digits % 2 == 1) {
            digits += 1;
        }
        Decimal::try_from_i128_with_scale(digits * self.numerator.signum(), decimals).ok()
    }

    pub(super) fn sign(self) -> Ordering {
        self.numerator.cmp(&0)
    }

    /// Both parts are cut to 53 bits, so the result is right to about 1 part in 10^15.
    pub(super) fn to_f64(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }

    /// The fewest decimals whose last place is not coarser than this (positive) fraction; negative
    /// where tens, hundreds and so on are fine enough.
    pub(super) fn decimals(self) -> Option<i32> {
        let fine = |exponent: i32| {
            let last_place = Ratio::ten_to(-exponent)?;
            let left = last_place.numerator.checked_mul(self.denominator)?;
            Some(left <= self.numerator.checked_mul(last_place.denominator)?)
        };
        let mut decimals = 0;
        while fine(decimals - 1)? {
            decimals -= 1;
        }
        while !fine(decimals)? {
            decimals += 1;
        }
        Some(decimals)
    }
}

fn power_of_ten(exponent: u32) -> Option<i128> {
    10i128.checked_pow(exponent)
}

/// Of two numbers that are not negative and not both zero.
fn greatest_common_divisor(mut a: i128, mut b: i128) -> i128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_half_to_even() {
        let rounded = |n, d, places| Ratio::new(n, d).unwrap().round(places).unwrap().to_string();
        assert_eq!(rounded(5, 2, 0), "2");
        assert_eq!(rounded(7, 2, 0), "4");
        assert_eq!(rounded(-7, 2, 0), "-4");
        assert_eq!(rounded(1, 3, 4), "0.3333");
        assert_eq!(rounded(2, 3, 4), "0.6667");
    }

    #[test]
    fn says_how_many_decimals_a_step_needs() {
        let decimals = |n, d| Ratio::new(n, d).unwrap().decimals().unwrap();
        assert_eq!(decimals(1, 10), 1);
        assert_eq!(decimals(5, 90), 2);
        assert_eq!(decimals(1, 1), 0);
        assert_eq!(decimals(249, 1), -2);
        assert_eq!(decimals(99, 1), -1);
    }
}
