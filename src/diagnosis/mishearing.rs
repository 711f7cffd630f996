//! Whether a number could be another one misheard.
//!
//! Four ways in which spoken numbers go wrong, common practice, no source: teens and tens taken for
//! one another (fifteen, fifty), a digit lost, the point lost, five and nine taken for one another.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// Longest whole part that is considered, in digits.
const DIGITS: u32 = 6;

/// Larger numbers are not spoken, and their digits would not fit.
const MOST_STEPS: i64 = 1_000_000_000_000;

/// A number in display steps: 21.5 on a display with one decimal is 215 steps.
#[derive(Clone, Copy)]
struct Steps {
    whole: i64,
    part: i64,
    /// Steps in one whole unit: 10 for one decimal.
    per_whole: i64,
}

/// The number that was said if `heard` is a mishearing of one between `low` and `high`, both
/// included: the one nearest to the middle. `None` if no usual mishearing leads there.
///
/// `decimals` is how many decimals the display shows.
pub fn said_between(heard: Decimal, decimals: u32, low: f64, high: f64) -> Option<Decimal> {
    let per_whole = 10_i64.checked_pow(decimals)?;
    let steps = heard
        .checked_mul(Decimal::from(per_whole))?
        .round()
        .to_i64()?;
    if steps.abs() > MOST_STEPS {
        return None;
    }
    let heard = Steps {
        whole: steps / per_whole,
        part: steps % per_whole,
        per_whole,
    };
    let scale = per_whole as f64;
    let (low, high) = (low * scale, high * scale);
    let middle = (low + high) / 2.0;
    let mut best: Option<i64> = None;
    let mut consider = |candidate: i64| {
        let value = candidate as f64;
        let nearer = best.is_none_or(|b| (value - middle).abs() < (b as f64 - middle).abs());
        if (low..=high).contains(&value) && candidate != steps && nearer {
            best = Some(candidate);
        }
    };
    digit_restored(heard, &mut consider);
    point_restored(heard, decimals, &mut consider);
    teen_or_ten(heard, &mut consider);
    five_or_nine(steps, &mut consider);
    best.map(|steps| Decimal::new(steps, decimals))
}

/// One digit put back into the whole part, at every place.
fn digit_restored(heard: Steps, consider: &mut impl FnMut(i64)) {
    for place in 0..DIGITS {
        let power = 10_i64.pow(place);
        // "105" without its first digit is said as five: one zero may have vanished with it.
        if heard.whole < power / 100 {
            break;
        }
        let (above, below) = (heard.whole / power, heard.whole % power);
        for digit in 0..10 {
            let whole = (above * 10 + digit) * power + below;
            consider(whole * heard.per_whole + heard.part);
        }
    }
}

/// "twenty one point five" heard as 215: only a whole number can have lost its point.
fn point_restored(heard: Steps, decimals: u32, consider: &mut impl FnMut(i64)) {
    if heard.part != 0 {
        return;
    }
    for lost in 1..=decimals {
        let power = 10_i64.pow(lost);
        let steps = heard.whole * heard.per_whole;
        if steps % power == 0 {
            consider(steps / power);
        }
    }
}

/// 15 for 50 and 50 for 15, in the last two digits of the whole part.
fn teen_or_ten(heard: Steps, consider: &mut impl FnMut(i64)) {
    let (head, pair) = (heard.whole / 100 * 100, heard.whole % 100);
    let other = match (pair / 10, pair % 10) {
        (1, unit @ 3..=9) => unit * 10,
        (ten @ 3..=9, 0) => 10 + ten,
        _ => return,
    };
    consider((head + other) * heard.per_whole + heard.part);
}

/// One five for a nine, or one nine for a five.
fn five_or_nine(steps: i64, consider: &mut impl FnMut(i64)) {
    for place in 0..DIGITS {
        let power = 10_i64.pow(place);
        match steps / power % 10 {
            5 => consider(steps + 4 * power),
            9 => consider(steps - 4 * power),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Display decimals, what was said, what was heard.
    const PAIRS: [(u32, &str, &str); 9] = [
        (0, "250", "215"),
        (0, "215", "250"),
        (0, "245", "24"),
        (0, "105", "5"),
        (0, "245", "249"),
        (1, "21.5", "215"),
        (1, "21.5", "1.5"),
        (1, "50.3", "15.3"),
        (1, "29.5", "25.5"),
    ];

    #[test]
    fn usual_mishearings_are_traced_back() {
        for (decimals, said, heard) in PAIRS {
            let said: Decimal = said.parse().unwrap();
            let near = said.to_f64().unwrap();
            let found = said_between(heard.parse().unwrap(), decimals, near, near);
            assert_eq!(found, Some(said), "`{heard}` for `{said}`");
        }
    }

    #[test]
    fn other_numbers_are_not() {
        for (said, heard) in [
            (245.0, "650"),
            (100.0, "50"),
            (240.0, "250"),
            (300.0, "3000"),
        ] {
            let found = said_between(heard.parse().unwrap(), 0, said, said);
            assert_eq!(found, None, "`{heard}` for `{said}`");
        }
    }
}
