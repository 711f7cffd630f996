//! Results keep the decimals that their inputs justify, and remarks come where they belong.

use crate::{run, value};

#[test]
fn a_coarser_reading_gives_a_coarser_result() {
    let rows = [
        (
            "pt100_temperature",
            "resistance=107.79 ohm",
            "",
            "19.99 degC",
        ),
        ("pt100_temperature", "resistance=107.8 ohm", "", "20.0 degC"),
        ("pt100_temperature", "resistance=108 ohm", "", "21 degC"),
        ("pt100_temperature", "resistance=0.108 kohm", "", "21 degC"),
        (
            "run_capacitor",
            "current=4.5 A, voltage=330 V, frequency=60 Hz",
            "",
            "36.2 uF",
        ),
        (
            "run_capacitor",
            "current=4 A, voltage=330 V, frequency=60 Hz",
            "",
            "32 uF",
        ),
        (
            "voltage_unbalance",
            "first=460 V, second=467 V, third=450 V",
            "",
            "2.0 %",
        ),
        (
            "winding_resistance_at",
            "resistance=5.70 ohm, temperature=23 degC, reference=20 degC",
            "metal=copper",
            "5.63 ohm",
        ),
        (
            "superheat",
            "pressure=118 psi, suction_line=52 degF",
            "refrigerant=R-410A, pressure_is=gauge",
            "6.8 delta_K",
        ),
        (
            "loop_value",
            "at_4_ma=0 bar, at_20_ma=10 bar, current=13.6 mA",
            "",
            "6.00 bar",
        ),
        (
            "temperature_difference",
            "first=65.2 degC, second=64.85 degC",
            "",
            "0.4 delta_degC",
        ),
    ];
    for (name, inputs, choices, expected) in rows {
        assert_eq!(value(name, inputs, choices), expected, "{name} {inputs}");
    }
}

#[test]
fn nominal_figures_do_not_coarsen() {
    let at = |frequency: &str| {
        let inputs = format!("current=4.50 A, voltage=330.0 V, frequency={frequency} Hz");
        value("run_capacitor", &inputs, "")
    };
    assert_eq!(at("60"), at("60.00"));
}

#[test]
fn the_result_does_not_depend_on_the_unit_of_a_reading() {
    let psi = value(
        "superheat",
        "pressure=118.00 psi, suction_line=52.0 degF",
        "refrigerant=R-410A, pressure_is=gauge",
    );
    let kilopascals = value(
        "superheat",
        "pressure=813.58 kPa, suction_line=11.11 degC",
        "refrigerant=R-410A, pressure_is=gauge",
    );
    assert_eq!(&psi[..3], &kilopascals[..3], "{psi} and {kilopascals}");
}

#[test]
fn a_gauge_reads_from_its_own_atmosphere() {
    let choices = |kind: &str| format!("refrigerant=R-134a, pressure_is={kind}, side=dew");
    let gauge = value(
        "saturation_temperature",
        "pressure=200.0 kPa, atmosphere=90 kPa",
        &choices("gauge"),
    );
    let absolute = value(
        "saturation_temperature",
        "pressure=290.0 kPa",
        &choices("absolute"),
    );
    assert_eq!(gauge, absolute);
}

#[test]
fn remarks_come_on_their_side_of_the_limit() {
    let remark = |name, inputs: &str| run(name, inputs, "").expect(inputs).remark;
    let index = |ten: &str| {
        let inputs = format!("one_minute=100.0 Mohm, ten_minutes={ten} Mohm");
        remark("polarization_index", &inputs)
    };
    assert_eq!(
        index("99.0"),
        Some("below 1: dangerous (a maker's table, not IEEE 43)")
    );
    assert_eq!(index("149.0"), Some("below the minimum of every class"));
    assert_eq!(index("150.0"), Some("enough for class 105 only"));
    assert_eq!(index("200.0"), None);
    assert_eq!(index("800.0"), None);
    assert_eq!(
        index("801.0"),
        Some("above 8: the insulation may be brittle")
    );
    let absorption = |ratio: &str| {
        let inputs = format!("thirty_seconds=100.0 Mohm, one_minute={ratio} Mohm");
        remark("dielectric_absorption", &inputs)
    };
    for (ratio, word) in [
        ("109.0", "poor"),
        ("110.0", "questionable"),
        ("125.0", "fair"),
        ("140.0", "good"),
        ("160.0", "good"),
        ("161.0", "excellent"),
    ] {
        assert_eq!(absorption(ratio), Some(word), "{ratio}");
    }
    let capacitor = |found: &str| {
        remark(
            "capacitor_deviation",
            &format!("measured={found} uF, rated=70 uF"),
        )
    };
    assert_eq!(capacitor("74.2"), None);
    assert_eq!(
        capacitor("74.5"),
        Some("outside the marked 6 %, inside the field limit of 10 %")
    );
    assert_eq!(
        capacitor("62.9"),
        Some("outside 10 %: replace the capacitor")
    );
}
