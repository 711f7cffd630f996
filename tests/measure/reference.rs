//! Against reference libraries: points made by `scripts/reference/*.py`, between the rows and
//! digits of the program's own tables.

use std::fs;
use std::path::Path;

use readback::quantity::Decimal;

use crate::run;

/// The fields of every row below the two head lines.
fn rows(name: &str) -> Vec<Vec<String>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(name);
    let text = fs::read_to_string(&path).expect("made by a script and committed");
    assert!(
        text.starts_with("# made by scripts/reference/"),
        "{name}: no origin named"
    );
    let rows = text.lines().skip(2);
    let rows: Vec<Vec<String>> = rows
        .map(|r| r.split(',').map(String::from).collect())
        .collect();
    assert!(rows.len() > 20, "{name}: only {} rows", rows.len());
    rows
}

/// The value is within the allowance of the reference.
fn close(name: &str, inputs: &str, choices: &str, expected: &str, allowance: &str) {
    let number = |text: &str| text.parse::<Decimal>().expect("a decimal");
    let found = match run(name, inputs, choices) {
        Ok(outcome) => outcome.value.value,
        Err(refusal) => panic!("{name} {inputs} {choices}: {refusal}"),
    };
    let off = (found - number(expected)).abs();
    assert!(
        off <= number(allowance),
        "{name} {inputs} {choices}: found {found}, expected {expected}"
    );
}

#[test]
fn thermocouples_agree_with_the_reference_library() {
    for row in rows("thermocouples.csv") {
        let (kind, celsius, millivolts) = (&row[0], &row[1], &row[2]);
        let kind = format!("type={kind}");
        let inputs = format!("temperature={celsius}.000 degC, cold_junction=0.000 degC");
        close(
            "thermocouple_voltage",
            &inputs,
            &kind,
            millivolts,
            "0.00051",
        );
        let inputs = format!("voltage={millivolts} mV, cold_junction=0.000 degC");
        close("thermocouple_temperature", &inputs, &kind, celsius, "0.01");
    }
}

#[test]
fn pt100_agrees_with_a_root_finder() {
    for row in rows("pt100.csv") {
        let inputs = format!("resistance={}000 ohm", row[0]);
        close("pt100_temperature", &inputs, "", &row[1], "0.0006");
        let inputs = format!("temperature={} degC", row[1]);
        close("pt100_resistance", &inputs, "", &row[0], "0.0006");
    }
}

#[test]
fn thermistors_agree_with_a_root_finder() {
    for row in rows("ntc.csv") {
        let curve = format!("curve={}", row[0]);
        let inputs = format!("temperature={}.00000 degC", row[1]);
        close("ntc_resistance", &inputs, &curve, &row[2], "0.051");
        let inputs = format!("resistance={} ohm", row[2]);
        close("ntc_temperature", &inputs, &curve, &row[1], "0.006");
    }
}

#[test]
fn saturation_agrees_between_the_rows_of_the_table() {
    for row in rows("saturation.csv") {
        let (fluid, celsius) = (&row[0], &row[1]);
        for (side, kilopascals) in [("bubble", &row[2]), ("dew", &row[3])] {
            let choices = format!("refrigerant={fluid}, pressure_is=absolute, side={side}");
            let inputs = format!("pressure={kilopascals} kPa");
            close("saturation_temperature", &inputs, &choices, celsius, "0.02");
        }
    }
}
