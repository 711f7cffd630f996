//! What is written reads back as the same: units, ranges, quantities, readings, and their JSON.

use proptest::prelude::*;
use readback::quantity::{Amount, Base, Prefix, Quantity, Range, Reading, Unit};

use crate::{any_unit, decimal, shown_decimal, small_range};

#[test]
fn every_unit_reads_back() {
    for base in Base::ALL {
        for prefix in Prefix::ALL {
            let unit = Unit { prefix, base };
            let expected = (base.takes_prefix() || prefix == Prefix::None).then_some(unit);
            let found: Option<Unit> = unit.to_string().parse().ok();
            assert_eq!(found, expected, "{unit}");
        }
    }
}

#[test]
fn units_of_the_trade_are_understood() {
    let written = [
        ("Ω", "ohm"),
        ("kΩ", "kohm"),
        ("M\u{2126}", "Mohm"),
        ("kohms", "kohm"),
        ("µF", "uF"),
        ("\u{3bc}F", "uF"),
        ("°C", "degC"),
        ("\u{2109}", "degF"),
        ("Δ°C", "delta_degC"),
        ("mbar", "mbar"),
        ("inWC", "inH2O"),
        ("m³/h", "m3/h"),
        ("l/min", "L/min"),
        ("GPM", "gpm"),
        ("min", "min"),
        (" mA ", "mA"),
    ];
    for (text, symbol) in written {
        let unit: Unit = text.parse().expect(text);
        assert_eq!(unit.to_string(), symbol, "{text}");
    }
    for wrong in ["", "kdegC", "kmin", "furlong", "k", "kk", "mma", "C"] {
        let error = wrong.parse::<Unit>().expect_err(wrong);
        let text = format!("found `{wrong}`, expected a unit such as `ohm`, `mA`, `kPa` or `degC`");
        assert_eq!(error.to_string(), text);
    }
}

#[test]
fn ranges_are_written_in_one_way() {
    let written = [
        ("5..8", "5..8"),
        ("[5 .. 8]", "5..8"),
        ("200..", ">=200"),
        (" >= 200", ">=200"),
        ("> 0.50", ">0.50"),
        ("..10", "<=10"),
        ("<10", "<10"),
        ("(0..5]", "(0..5]"),
        ("[0..5)", "[0..5)"),
        ("(-5..-1)", "(-5..-1)"),
        ("5", "5..5"),
        ("..", ".."),
        ("0.5..1.50", "0.5..1.50"),
    ];
    for (text, expected) in written {
        let range: Range = text.parse().expect(text);
        assert_eq!(range.to_string(), expected, "{text}");
    }
}

#[test]
fn what_is_no_range_is_refused() {
    for text in [
        "", "five", "5...8", "5..8..9", ">=", "5-8", "((5..8)", "1e3..2e3", ">=5..8",
    ] {
        let error = text.parse::<Range>().expect_err(text).to_string();
        let expected =
            format!("found `{text}`, expected a range such as `5..8`, `>=200`, `<10` or `(0..5]`");
        assert_eq!(error, expected);
    }
    for text in ["8..5", "(5..5)", "[5..5)", "(5..5]"] {
        let error = text.parse::<Range>().expect_err(text).to_string();
        let expected =
            format!("the range `{text}` is empty: the low end must be below the high end");
        assert_eq!(error, expected);
    }
}

#[test]
fn readings_have_one_json_form() {
    let ohm = Unit::from(Base::Ohm);
    let (low, high) = (decimal("240"), decimal("220"));
    let forms = [
        (
            Amount::Exact(decimal("5.70")),
            "5.70 ohm",
            r#"{"exact":"5.70"}"#,
        ),
        (
            Amount::About(decimal("5.7")),
            "about 5.7 ohm",
            r#"{"about":"5.7"}"#,
        ),
        (
            Amount::between(low, high),
            "between 220 and 240 ohm",
            r#"{"between":["220","240"]}"#,
        ),
        (Amount::OverRange, "over range (ohm)", r#""over_range""#),
        (Amount::Short, "short (ohm)", r#""short""#),
        (Amount::None, "no reading (ohm)", r#""none""#),
    ];
    for (amount, shown, json) in forms {
        let reading = Reading { amount, unit: ohm };
        assert_eq!(reading.to_string(), shown);
        let expected = format!(r#"{{"amount":{json},"unit":"ohm"}}"#);
        assert_eq!(
            serde_json::to_string(&reading).expect("plain data"),
            expected
        );
        let back: Reading = serde_json::from_str(&expected).expect("its own form");
        assert_eq!(back.to_string(), shown);
    }
}

#[test]
fn a_reading_converts_with_its_kind() {
    let reading = Reading {
        amount: Amount::between(decimal("1.5"), decimal("0.9")),
        unit: "kohm".parse().expect("a unit"),
    };
    let in_ohms = reading.convert(Base::Ohm).expect("the same dimension");
    assert_eq!(in_ohms.to_string(), "between 900 and 1500 ohm");
    let open = Reading {
        amount: Amount::OverRange,
        ..reading
    };
    assert_eq!(
        open.convert(Base::Ohm).expect("no number").to_string(),
        "over range (ohm)"
    );
    assert!(open.convert(Base::Volt).is_err());
    assert_eq!(open.value_in(Base::Ohm), Ok(None));
}

proptest! {
    #[test]
    fn ranges_read_back(range in small_range()) {
        prop_assert_eq!(range.to_string().parse(), Ok(range));
        let json = serde_json::to_string(&range).expect("plain text");
        prop_assert_eq!(serde_json::from_str::<Range>(&json).expect("its own form"), range);
    }

    #[test]
    fn quantities_read_back_with_their_resolution(value in shown_decimal(), unit in any_unit()) {
        let quantity = Quantity::new(value, unit);
        let back: Quantity = quantity.to_string().parse().expect("its own form");
        prop_assert_eq!(back.to_string(), quantity.to_string());
        let json = serde_json::to_string(&quantity).expect("plain data");
        let back: Quantity = serde_json::from_str(&json).expect("its own form");
        prop_assert_eq!(back.to_string(), quantity.to_string());
    }

    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,12}") {
        let _ = text.parse::<Range>();
        let _ = text.parse::<Quantity>();
        let _ = text.parse::<Unit>();
    }
}
