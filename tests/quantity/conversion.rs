//! Conversions: published values, the resolution rule, there and back, and no panic.

use std::cmp::Ordering;

use proptest::prelude::*;
use readback::quantity::{ConversionError, Decimal, Dimension, Quantity, Unit};

use crate::{any_decimal, any_unit, decimal, shown_decimal, two_units};

fn quantity(text: &str) -> Quantity {
    text.parse().expect("a quantity")
}

fn unit(text: &str) -> Unit {
    text.parse().expect("a unit")
}

/// Input, result, source.
const CHECKS: [(&str, &str, &str); 25] = [
    (
        "1.000000 inHg",
        "3.386389 kPa",
        "NIST SP 811, conventional inch of mercury",
    ),
    (
        "3.5000 inH2O",
        "871.81 Pa",
        "NIST SP 811, conventional inch of water",
    ),
    (
        "11.000 inH2O",
        "2740.0 Pa",
        "NIST SP 811, conventional inch of water",
    ),
    (
        "1.000000 inH2O",
        "249.0889 Pa",
        "NIST SP 811, conventional inch of water",
    ),
    (
        "1.000 psi",
        "27.68 inH2O",
        "NIST SP 811, pound-force and inch",
    ),
    (
        "1.000000 psi",
        "6.894757 kPa",
        "NIST SP 811, pound-force and inch",
    ),
    (
        "20.00 mbar",
        "8.029 inH2O",
        "NIST SP 811, conventional inch of water",
    ),
    (
        "-40.0 degF",
        "-40.00 degC",
        "the one point where both scales agree",
    ),
    (
        "105.0 degF",
        "40.56 degC",
        "NIST SP 811, temperature scales",
    ),
    (
        "212.0 degF",
        "100.00 degC",
        "NIST SP 811, temperature scales",
    ),
    ("100.00 degC", "373.15 K", "NIST SP 811, temperature scales"),
    ("0.0 K", "-273.2 degC", "NIST SP 811, temperature scales"),
    (
        "10.0 delta_degF",
        "5.56 delta_K",
        "NIST SP 811, a difference has no zero point",
    ),
    (
        "5.00 delta_K",
        "5.00 delta_degC",
        "NIST SP 811, a difference has no zero point",
    ),
    ("1.000 gpm", "3.785 L/min", "NIST SP 811, US gallon"),
    ("10.00 m3/h", "166.7 L/min", "SI, exact"),
    ("1.0 min", "60 s", "SI, exact"),
    ("4.7 kohm", "4700 ohm", "SI prefix, exact"),
    ("4700 ohm", "4.700 kohm", "SI prefix, exact"),
    ("36.2 uF", "0.0000362 F", "SI prefix, exact"),
    ("40.000 ft", "12.1920 m", "NIST SP 811, international foot"),
    (
        "1.0000 hp",
        "745.70 W",
        "NIST SP 811, horsepower of 550 ft lbf/s",
    ),
    ("87.5 %", "0.875 ratio", "percent by definition"),
    (
        "2.000 bar",
        "29.01 psi",
        "NIST SP 811, pound-force and inch",
    ),
    ("250 Pa", "0.00250 bar", "SI, exact"),
];

#[test]
fn published_values_come_out_with_the_justified_resolution() {
    for (from, expected, source) in CHECKS {
        let to = quantity(expected).unit;
        let found = quantity(from).convert(to).expect(from);
        assert_eq!(found.to_string(), expected, "{from}: {source}");
    }
}

#[test]
fn a_prefix_only_moves_the_point() {
    let base = |text| quantity(text).value_base().expect(text).to_string();
    assert_eq!(base("4.7 kohm"), "4700");
    assert_eq!(base("4.70 mA"), "0.00470");
    assert_eq!(base("2 Mohm"), "2000000");
    assert_eq!(base("470 pF"), "0.000000000470");
}

#[test]
fn a_difference_never_becomes_a_temperature() {
    for (from, to) in [("10 delta_K", "degC"), ("10 K", "delta_K"), ("5 ohm", "V")] {
        let found = quantity(from).convert(unit(to));
        let expected = ConversionError::Dimension {
            from: quantity(from).unit,
            to: unit(to),
        };
        assert_eq!(found, Err(expected), "{from} to {to}");
    }
}

#[test]
fn sizes_compare_exactly_across_units() {
    let compare = |a, b| quantity(a).compare(quantity(b));
    assert_eq!(compare("4.7 kohm", "4700 ohm"), Some(Ordering::Equal));
    assert_eq!(compare("212 degF", "100 degC"), Some(Ordering::Equal));
    assert_eq!(compare("-40.1 degF", "-40 degC"), Some(Ordering::Less));
    assert_eq!(compare("1 psi", "27.67 inH2O"), Some(Ordering::Greater));
    assert_eq!(compare("1 psi", "1 V"), None);
}

#[test]
fn too_many_digits_are_refused() {
    let huge = Quantity::new(Decimal::MAX, unit("Gohm"));
    let error = huge.convert(unit("pohm")).expect_err("beyond a decimal");
    let text = "`79228162514264337593543950335` in `Gohm` has too many digits to express in `pohm`";
    assert_eq!(error.to_string(), text);
}

proptest! {
    #[test]
    fn there_and_back_gives_what_was_read(
        value in shown_decimal(), (from, to) in two_units()
    ) {
        let read = Quantity::new(value, from);
        let there = read.convert(to);
        // A decimal ends at 28 digits: a picovolt in gigavolts is cut or refused there.
        prop_assume!(there.as_ref().is_ok_and(|found| found.value.scale() < 28));
        let there = there.expect("just seen");
        let back = there.convert_to(from, value.scale()).expect("and back");
        prop_assert_eq!(back.value.scale(), value.scale());
        // Zero points such as 273.15 put a value with one decimal exactly between two steps.
        let between_steps = from.base.dimension() == Dimension::Temperature && value.scale() < 2;
        let allowed = if between_steps { read.resolution() } else { Decimal::ZERO };
        prop_assert!((back.value - value).abs() <= allowed, "{} and {}", read, back);
    }

    #[test]
    fn order_is_kept(a in shown_decimal(), b in shown_decimal(), (from, to) in two_units()) {
        let exact = Quantity::new(a, from).compare(Quantity::new(b, from));
        prop_assert_eq!(exact, Some(a.cmp(&b)));
        let (left, right) = (Quantity::new(a, from).convert(to), Quantity::new(b, from).convert(to));
        prop_assume!(left.is_ok() && right.is_ok());
        let (left, right) = (left.expect("just seen"), right.expect("just seen"));
        if left.value.scale() == right.value.scale() {
            let rounded = left.value.cmp(&right.value);
            prop_assert!(rounded == a.cmp(&b) || rounded == Ordering::Equal);
        }
    }

    #[test]
    fn no_decimal_makes_it_panic(
        value in any_decimal(), other in any_decimal(), from in any_unit(), to in any_unit(), places in 0u32..40
    ) {
        let quantity = Quantity::new(value, from);
        let _ = quantity.convert(to);
        let _ = quantity.convert_to(to, places);
        let _ = quantity.value_base();
        let _ = quantity.to_f64_in(to);
        let _ = quantity.compare(Quantity::new(other, to));
        let _ = quantity.to_string();
    }

    #[test]
    fn the_float_is_the_decimal(value in shown_decimal(), from in any_unit()) {
        let found = Quantity::new(value, from).to_f64_in(from.base).expect("a shown value");
        let exact: f64 = decimal(&value.to_string()).try_into().expect("a float");
        let expected = exact * 10f64.powi(from.prefix.exponent());
        prop_assert!((found - expected).abs() <= 1e-14 * expected.abs());
    }
}
