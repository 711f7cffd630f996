//! Values as they are written on a display: `20.6 Ω`, `4.7 kΩ`, `21.5 °C`.

use crate::quantity::{Amount, Bound, Range, Reading, Unit};

/// A number and its unit; a meter's own words instead of a number have no unit.
pub(super) fn reading(reading: &Reading) -> (String, String) {
    let with_unit = |number: String| (number, reading.unit.sign());
    let alone = |words: &str| (words.to_owned(), String::new());
    match reading.amount {
        Amount::Exact(value) => with_unit(value.to_string()),
        Amount::About(value) => with_unit(format!("≈ {value}")),
        Amount::Between(low, high) => with_unit(format!("{low} … {high}")),
        Amount::OverRange => alone("over range"),
        Amount::Short => alone("short"),
        Amount::None => alone("no reading"),
    }
}

/// From where to where, in signs that need no language: `62 … 84 Ω`, `> 84 V`.
pub(super) fn range(range: &Range, of: Unit) -> String {
    let between = match (range.low(), range.high()) {
        (Bound::Unbounded, Bound::Unbounded) => return String::new(),
        (Bound::Unbounded, Bound::Closed(high)) => format!("≤ {high}"),
        (Bound::Unbounded, Bound::Open(high)) => format!("< {high}"),
        (Bound::Closed(low), Bound::Unbounded) => format!("≥ {low}"),
        (Bound::Open(low), Bound::Unbounded) => format!("> {low}"),
        (Bound::Closed(low), Bound::Closed(high)) => format!("{low} … {high}"),
        (Bound::Open(low), Bound::Closed(high)) => format!("> {low} … {high}"),
        (Bound::Closed(low), Bound::Open(high)) => format!("{low} … < {high}"),
        (Bound::Open(low), Bound::Open(high)) => format!("> {low} … < {high}"),
    };
    format!("{between} {}", of.sign()).trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_tell_whether_their_ends_belong_to_them() {
        let ohm: Unit = "kohm".parse().expect("a unit");
        for (written, shown) in [
            ("18..24", "18 … 24 kΩ"),
            ("(150..250]", "> 150 … 250 kΩ"),
            ("[0..62)", "0 … < 62 kΩ"),
            ("<10", "< 10 kΩ"),
            (">=200", "≥ 200 kΩ"),
            ("..", ""),
        ] {
            assert_eq!(range(&written.parse().expect("a range"), ohm), shown);
        }
    }

    #[test]
    fn every_digit_is_kept() {
        let volt: Unit = "V".parse().expect("a unit");
        let cases = [
            (
                Amount::Exact("5.70".parse().expect("a number")),
                "5.70",
                "V",
            ),
            (Amount::OverRange, "over range", ""),
        ];
        for (amount, number, unit) in cases {
            let (found, of) = reading(&Reading { amount, unit: volt });
            assert_eq!((found.as_str(), of.as_str()), (number, unit));
        }
    }
}
