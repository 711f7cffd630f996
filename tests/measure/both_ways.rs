//! Formulas that go both ways come back to where they started.

use proptest::prelude::*;
use readback::measure::compute;
use readback::quantity::{Base, Decimal, Prefix, Quantity, Unit};

/// Hundredths of a degree Celsius.
fn celsius(hundredths: i64) -> Quantity {
    Quantity::new(Decimal::new(hundredths, 2), Base::DegreeCelsius)
}

/// Through the first computation and back through the second, which may change the temperature by
/// as much as the last place of what stands between them is worth.
fn there_and_back(
    there: (&str, &str),
    back: (&str, &str),
    temperature: Quantity,
    beside: &[(&str, Quantity)],
    choices: &[(&str, &str)],
) -> Decimal {
    let with = |name, value| [&[(name, value)], beside].concat();
    let between = compute(there.0, &with(there.1, temperature), choices).expect("inside");
    let returned = compute(back.0, &with(back.1, between.value), choices).expect("still inside");
    (returned.value.value - temperature.value).abs()
}

fn hundredths(text: &str) -> Decimal {
    text.parse().expect("a decimal")
}

proptest! {
    #[test]
    fn pt100(at in -19_990i64..84_990) {
        let there = ("pt100_resistance", "temperature");
        let off = there_and_back(there, ("pt100_temperature", "resistance"), celsius(at), &[], &[]);
        prop_assert!(off <= hundredths("0.01"), "{} at {}", off, at);
    }

    /// From -200 degC up, where a microvolt is at most a tenth of a kelvin.
    #[test]
    fn thermocouples(
        at in -19_000i64..39_900,
        cold in 0i64..5_000,
        kind in prop::sample::select(vec!["K", "J", "T"]),
    ) {
        let off = there_and_back(
            ("thermocouple_voltage", "temperature"),
            ("thermocouple_temperature", "voltage"),
            celsius(at),
            &[("cold_junction", celsius(cold))],
            &[("type", kind)],
        );
        prop_assert!(off <= hundredths("0.1"), "{} at {} type {}", off, at, kind);
    }

    #[test]
    fn thermistors(
        at in -3_990i64..12_490,
        curve in prop::sample::select(vec!["10k_beta_3950", "10k_beta_3435", "10k_steinhart_hart"]),
    ) {
        let there = ("ntc_resistance", "temperature");
        let back = ("ntc_temperature", "resistance");
        let off = there_and_back(there, back, celsius(at), &[], &[("curve", curve)]);
        prop_assert!(off <= hundredths("0.02"), "{} at {} curve {}", off, at, curve);
    }

    #[test]
    fn saturation(
        at in -4_990i64..6_390,
        refrigerant in prop::sample::select(vec!["R-134a", "R-410A", "R-404A", "R-290", "R-407C"]),
        side in prop::sample::select(vec!["dew", "bubble"]),
    ) {
        let off = there_and_back(
            ("saturation_pressure", "temperature"),
            ("saturation_temperature", "pressure"),
            celsius(at),
            &[],
            &[("refrigerant", refrigerant), ("pressure_is", "gauge"), ("side", side)],
        );
        prop_assert!(off <= hundredths("0.02"), "{} at {}", off, at);
    }

    /// A vapor is never below its dew point and above its bubble point at once, and a blend's dew
    /// point is the warmer one.
    #[test]
    fn dew_is_never_colder_than_bubble(
        pressure in 200i64..2_500,
        refrigerant in prop::sample::select(vec!["R-134a", "R-410A", "R-404A", "R-290", "R-407C"]),
    ) {
        let kilopascal = Unit { prefix: Prefix::Kilo, base: Base::Pascal };
        let inputs = [("pressure", Quantity::new(Decimal::new(pressure * 100, 2), kilopascal))];
        let at = |side| {
            let choices = [("refrigerant", refrigerant), ("pressure_is", "absolute"), ("side", side)];
            compute("saturation_temperature", &inputs, &choices)
        };
        if let (Ok(dew), Ok(bubble)) = (at("dew"), at("bubble")) {
            prop_assert!(dew.value.value >= bubble.value.value);
        }
    }
}
