//! Thermistors that fall with temperature, by a named curve.
//!
//! Two sensors of the same 10 kohm at 25 degC differ by 14 % at 50 degC, so the curve must be
//! named: it is printed on the sensor's data sheet, not on the sensor.

use super::computation::{Choice, Computation, Input, no_remark, plain};
use super::given::Given;
use super::pt100::bisect;
use super::refusal::Refusal;
use crate::quantity::Base;

const ZERO_CELSIUS: f64 = 273.15;
const LOWEST: f64 = -40.0;
const HIGHEST: f64 = 125.0;
const SOURCE: &str = "beta: R = R25 exp(B (1/T - 1/298.15 K)); Steinhart and Hart 1968";

const CURVE: Choice = Choice {
    name: "curve",
    options: &["10k_beta_3950", "10k_beta_3435", "10k_steinhart_hart"],
};

const RESISTANCE: Input =
    Input::new("resistance", "across the sensor", plain(Base::Ohm)).positive();

const TEMPERATURE: Input = Input::new(
    "temperature",
    "the temperature of the sensor",
    plain(Base::DegreeCelsius),
)
.between(LOWEST, HIGHEST);

const AT_25: Input = Input::new("at_25", "the rated resistance at 25 degC", plain(Base::Ohm))
    .positive()
    .nominal();

const BETA: Input = Input::new("beta", "the sensor's beta", plain(Base::Kelvin))
    .between(1000.0, 10000.0)
    .nominal();

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "ntc_temperature",
        what: "temperature of a thermistor of a named curve",
        inputs: &[RESISTANCE],
        choices: &[CURVE],
        result: plain(Base::DegreeCelsius),
        decimals: 2,
        source: SOURCE,
        formula: |given| temperature(given, curve(given)),
        remark: no_remark,
    },
    Computation {
        name: "ntc_resistance",
        what: "resistance that a thermistor of a named curve should have",
        inputs: &[TEMPERATURE],
        choices: &[CURVE],
        result: plain(Base::Ohm),
        decimals: 1,
        source: SOURCE,
        formula: |given| Ok(curve(given).resistance(given.get("temperature"))),
        remark: no_remark,
    },
    Computation {
        name: "ntc_temperature_by_beta",
        what: "temperature of a thermistor from its rated resistance and beta",
        inputs: &[RESISTANCE, AT_25, BETA],
        choices: &[],
        result: plain(Base::DegreeCelsius),
        decimals: 2,
        source: SOURCE,
        formula: |given| temperature(given, rated(given)),
        remark: no_remark,
    },
    Computation {
        name: "ntc_resistance_by_beta",
        what: "resistance of a thermistor from its rated resistance and beta",
        inputs: &[TEMPERATURE, AT_25, BETA],
        choices: &[],
        result: plain(Base::Ohm),
        decimals: 1,
        source: SOURCE,
        formula: |given| Ok(rated(given).resistance(given.get("temperature"))),
        remark: no_remark,
    },
];

#[derive(Clone, Copy)]
enum Curve {
    Beta {
        at_25: f64,
        beta: f64,
    },
    /// 1/T = a + b ln R + c (ln R)^3.
    SteinhartHart {
        a: f64,
        b: f64,
        c: f64,
    },
}

fn curve(given: &Given) -> Curve {
    let beta = |beta| Curve::Beta {
        at_25: 10_000.0,
        beta,
    };
    match given.choice("curve") {
        "10k_beta_3950" => beta(3950.0),
        "10k_beta_3435" => beta(3435.0),
        // The coefficients are from memory, as widely printed for this kind of sensor.
        _ => Curve::SteinhartHart {
            a: 1.129148e-3,
            b: 2.34125e-4,
            c: 8.76741e-8,
        },
    }
}

fn rated(given: &Given) -> Curve {
    Curve::Beta {
        at_25: given.get("at_25"),
        beta: given.get("beta"),
    }
}

impl Curve {
    /// In degrees Celsius.
    fn temperature(self, resistance: f64) -> f64 {
        let kelvins = match self {
            Curve::Beta { at_25, beta } => {
                1.0 / (libm::log(resistance / at_25) / beta + 1.0 / (25.0 + ZERO_CELSIUS))
            }
            Curve::SteinhartHart { a, b, c } => {
                let log = libm::log(resistance);
                1.0 / (a + b * log + c * log * log * log)
            }
        };
        kelvins - ZERO_CELSIUS
    }

    fn resistance(self, temperature: f64) -> f64 {
        let kelvins = temperature + ZERO_CELSIUS;
        match self {
            Curve::Beta { at_25, beta } => {
                at_25 * libm::exp(beta * (1.0 / kelvins - 1.0 / (25.0 + ZERO_CELSIUS)))
            }
            Curve::SteinhartHart { .. } => {
                // Temperature falls as the logarithm of the resistance rises, from 1 ohm to e^20.
                let colder = |log| -self.temperature(libm::exp(log));
                libm::exp(bisect(colder, -temperature, 0.0, 20.0))
            }
        }
    }
}

fn temperature(given: &Given, curve: Curve) -> Result<f64, Refusal> {
    let temperature = curve.temperature(given.get("resistance"));
    match (LOWEST..=HIGHEST).contains(&temperature) {
        true => Ok(temperature),
        false => Err(given.out_of_range(
            "resistance",
            format!(
                "{:.0} to {:.0} ohm ({LOWEST} to {HIGHEST} degC)",
                curve.resistance(HIGHEST),
                curve.resistance(LOWEST)
            ),
            "check the curve, and the sensor for an open or a short",
        )),
    }
}
