//! Wrong and missing inputs: what is said, word for word.

use readback::measure::check;
use readback::quantity::Unit;

use crate::run;

fn refusal(name: &str, inputs: &str, choices: &str) -> String {
    match run(name, inputs, choices) {
        Ok(outcome) => panic!("{name} {inputs} {choices}: gave {}", outcome.value),
        Err(refusal) => refusal.to_string(),
    }
}

#[test]
fn what_is_missing_or_unknown_is_named() {
    let rows = [
        (
            "pt100_temperature",
            "",
            "",
            "`pt100_temperature` needs `resistance` (across the sensor) in `ohm`: measure it first",
        ),
        (
            "pt100_temperature",
            "resistance=100 ohm, wire=1 ohm",
            "",
            "`pt100_temperature` has no input `wire`, expected `resistance` or `lead`",
        ),
        (
            "pt100_temperature",
            "resistance=100 ohm, resistance=101 ohm",
            "",
            "`pt100_temperature` was given `resistance` twice: give it once",
        ),
        (
            "pt100_temperature",
            "resistance=100 V",
            "",
            "`resistance` of `pt100_temperature` is in `V`, expected `ohm` or a unit that converts to it",
        ),
        (
            "pt100_temperature",
            "resistance=100 ohm",
            "class=A",
            "`pt100_temperature` has no choice `class`, expected nothing",
        ),
        (
            "pt100_tolerance",
            "temperature=100 degC",
            "",
            "`pt100_tolerance` needs the choice `class`: one of `AA`, `A`, `B` or `C`",
        ),
        (
            "pt100_tolerance",
            "temperature=100 degC",
            "class=D",
            "choice `class` of `pt100_tolerance` is `D`, expected one of `AA`, `A`, `B` or `C`",
        ),
        (
            "pt100_tolerance",
            "temperature=100 delta_K",
            "class=A",
            "`temperature` of `pt100_tolerance` is in `delta_K`, expected `degC` or a unit that converts to it",
        ),
        (
            "pump_flow_at_speed",
            "flow=5 V, speed=1750 rpm, new_speed=1450 rpm",
            "",
            "`flow` of `pump_flow_at_speed` is in `V`, expected a unit of flow or a unit that converts to it",
        ),
        (
            "loop_value",
            "at_4_ma=0 bar, at_20_ma=10 V, current=12 mA",
            "",
            "`at_20_ma` of `loop_value` is in `V`, expected `bar` like the others or a unit that converts to it",
        ),
    ];
    for (name, inputs, choices, expected) in rows {
        assert_eq!(refusal(name, inputs, choices), expected);
    }
    let unknown = refusal("pt1000_temperature", "", "");
    assert!(unknown.starts_with("found computation `pt1000_temperature`, expected one of `pt100"));
}

#[test]
fn what_lies_where_the_formula_does_not_hold_is_refused() {
    let rows = [
        (
            "pt100_temperature",
            "resistance=391 ohm",
            "",
            "`resistance` of `pt100_temperature` is `391 ohm`, expected 18.520 to 390.481 ohm without \
          the leads (-200 to 850 degC): check the sensor and its leads for an open or a short",
        ),
        (
            "thermocouple_temperature",
            "voltage=60 mV, cold_junction=25 degC",
            "type=K",
            "`voltage` of `thermocouple_temperature` is `60 mV`, expected -7.458 to 53.886 mV at this \
          cold junction: check the type, the polarity and the wires for an open",
        ),
        (
            "winding_balance",
            "first=5 ohm, second=0 ohm, third=5 ohm",
            "",
            "`second` of `winding_balance` is `0 ohm`, expected more than 0 in `ohm`: measure it again \
          or use another computation",
        ),
        (
            "motor_derating",
            "unbalance=5.1 %",
            "",
            "`unbalance` of `motor_derating` is `5.1 %`, expected at most 5 %: do not run the motor; \
          find the cause of the unbalance",
        ),
        (
            "loop_value",
            "at_4_ma=0 bar, at_20_ma=10 bar, current=3.5 mA",
            "",
            "`current` of `loop_value` is `3.5 mA`, expected above 3.6 mA and below 21 mA: the \
          transmitter says that it failed, or the loop is open or shorted: check both",
        ),
        (
            "loop_value",
            "at_4_ma=5 bar, at_20_ma=5 bar, current=12 mA",
            "",
            "`loop_value` means nothing here: both ends of the span are the same; give the values at \
          4 mA and at 20 mA",
        ),
        (
            "polarization_index",
            "one_minute=6 Gohm, ten_minutes=9 Gohm",
            "",
            "`polarization_index` means nothing here: above 5000 Mohm after one minute the index says \
          nothing; judge the insulation by its resistance",
        ),
        (
            "insulation_at_40",
            "resistance=40 Mohm, temperature=5 degC",
            "insulation=thermosetting",
            "`temperature` of `insulation_at_40` is `5 degC`, expected 10 to 85 degC for thermosetting \
          insulation: measure again with the winding in this range",
        ),
        (
            "superheat",
            "pressure=5000 kPa, suction_line=10 degC",
            "refrigerant=R-410A, pressure_is=gauge",
            "`pressure` of `superheat` is `5000 kPa`, expected 7 to 4083 kPa: check the gauge and the \
          refrigerant; outside this there is no table",
        ),
        (
            "superheat",
            "pressure=500 kPa, suction_line=10 degC",
            "refrigerant=R-744, pressure_is=gauge",
            "choice `refrigerant` of `superheat` is `R-744`, expected one of `R-134a`, `R-410A`, \
          `R-404A`, `R-290` or `R-407C`",
        ),
    ];
    for (name, inputs, choices, expected) in rows {
        assert_eq!(refusal(name, inputs, choices), expected);
    }
}

#[test]
fn a_request_is_checked_before_anything_is_measured() {
    let unit = |text: &str| text.parse::<Unit>().expect("a unit");
    let pressure_and_line = [("pressure", unit("psi")), ("suction_line", unit("degF"))];
    let choices = [("refrigerant", "R-290"), ("pressure_is", "gauge")];
    assert_eq!(
        check("superheat", &pressure_and_line, &choices),
        Ok(unit("delta_K"))
    );
    let loop_inputs = [
        ("at_4_ma", unit("kPa")),
        ("at_20_ma", unit("bar")),
        ("current", unit("mA")),
    ];
    assert_eq!(check("loop_value", &loop_inputs, &[]), Ok(unit("kPa")));
    let missing = check("superheat", &pressure_and_line[..1], &choices).expect_err("no line");
    let expected = "`superheat` needs `suction_line` (of the suction line at the evaporator) in \
                    `degC`: measure it first";
    assert_eq!(missing.to_string(), expected);
}

/// NAMUR NE 43, from memory: both failure limits belong to the failure.
#[test]
fn loop_failures_begin_at_their_limits() {
    let at = |current: &str| {
        let inputs = format!("at_4_ma=0 bar, at_20_ma=10 bar, current={current} mA");
        run("loop_value", &inputs, "").is_ok()
    };
    for (current, carries) in [
        ("3.60", false),
        ("3.61", true),
        ("20.99", true),
        ("21.00", false),
        ("0", false),
    ] {
        assert_eq!(at(current), carries, "{current} mA");
    }
}
