//! Whether a supply lies within its service range.

use super::computation::{Choice, Computation, Input, plain};
use super::given::Given;
use super::refusal::Refusal;
use crate::quantity::Base;

/// Name, lowest and highest volts at the service entrance: ANSI C84.1 range A (table from memory)
/// and IEC 60038 (230 and 400 V, plus or minus 10 %).
const SERVICES: [(&str, f64, f64); 7] = [
    ("ansi_120", 114.0, 126.0),
    ("ansi_208", 197.0, 218.0),
    ("ansi_240", 228.0, 252.0),
    ("ansi_277", 263.0, 291.0),
    ("ansi_480", 456.0, 504.0),
    ("iec_230", 207.0, 253.0),
    ("iec_400", 360.0, 440.0),
];

const VOLTAGE: Input =
    Input::new("voltage", "the supply under load", plain(Base::Volt)).between(0.0, 1000.0);

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "supply_margin",
        what: "volts left to the nearest end of the service range; below 0 outside it",
        inputs: &[VOLTAGE],
        choices: &[Choice {
            name: "service",
            options: &[
                "ansi_120", "ansi_208", "ansi_240", "ansi_277", "ansi_480", "iec_230", "iec_400",
            ],
        }],
        result: plain(Base::Volt),
        decimals: 1,
        source: "ANSI C84.1 range A, IEC 60038",
        formula: margin,
        remark: |margin| (margin < 0.0).then_some("the supply is outside its service range"),
    },
    Computation {
        name: "supply_deviation",
        what: "how far a supply is from its nominal voltage, percent of nominal",
        inputs: &[
            VOLTAGE,
            Input::new("nominal", "the nominal voltage", plain(Base::Volt))
                .positive()
                .nominal(),
        ],
        choices: &[],
        result: plain(Base::Percent),
        decimals: 2,
        source: "ANSI C84.1, IEC 60038",
        formula: |given| {
            let nominal = given.get("nominal");
            Ok(100.0 * (given.get("voltage") - nominal) / nominal)
        },
        remark: super::computation::no_remark,
    },
];

fn margin(given: &Given) -> Result<f64, Refusal> {
    let service = given.choice("service");
    let voltage = given.get("voltage");
    let range = SERVICES.iter().find(|(name, ..)| *name == service);
    Ok(range.map_or(f64::NAN, |(_, low, high)| {
        (voltage - low).min(high - voltage)
    }))
}
