//! Insulation of windings: resistance at 40 degC, its minimum, polarization.
//!
//! IEEE 43-2013. The thermosetting correction, the minima of 100 and 5 Mohm and the test voltages
//! are from memory.

use super::computation::{Choice, Computation, Input, Measured, no_remark, plain, prefixed};
use super::given::Given;
use super::refusal::Refusal;
use crate::quantity::{Base, Prefix};

const SOURCE: &str = "IEEE 43-2013";
const MEGOHM: Measured = prefixed(Prefix::Mega, Base::Ohm);

const RATED: Input = Input::new(
    "rated",
    "the rated voltage between lines",
    prefixed(Prefix::Kilo, Base::Volt),
)
.between(0.01, 50.0)
.nominal();

const fn megohms(name: &'static str, what: &'static str) -> Input {
    Input::new(name, what, MEGOHM).positive()
}

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "insulation_at_40",
        what: "insulation resistance after one minute, corrected to 40 degC",
        inputs: &[
            megohms("resistance", "to ground after one minute"),
            Input::new("temperature", "of the winding", plain(Base::DegreeCelsius))
                .between(-10.0, 85.0),
        ],
        choices: &[Choice {
            name: "insulation",
            options: &["halving_per_10_k", "thermosetting"],
        }],
        result: MEGOHM,
        decimals: 3,
        source: SOURCE,
        formula: |given| Ok(given.get("resistance") * correction(given)?),
        remark: no_remark,
    },
    Computation {
        name: "insulation_minimum",
        what: "least insulation resistance at 40 degC after one minute",
        inputs: &[RATED],
        choices: &[Choice {
            name: "winding",
            options: &["before_1970", "form_wound", "random_wound"],
        }],
        result: MEGOHM,
        decimals: 2,
        source: SOURCE,
        formula: minimum,
        remark: no_remark,
    },
    Computation {
        name: "insulation_test_voltage",
        what: "lowest direct voltage to test a winding with",
        inputs: &[RATED],
        choices: &[],
        result: plain(Base::Volt),
        decimals: 0,
        source: SOURCE,
        formula: test_voltage,
        remark: no_remark,
    },
    Computation {
        name: "polarization_index",
        what: "insulation resistance after ten minutes over that after one",
        inputs: &[
            megohms("one_minute", "to ground after one minute"),
            megohms("ten_minutes", "to ground after ten minutes"),
        ],
        choices: &[],
        result: plain(Base::Ratio),
        decimals: 2,
        source: SOURCE,
        formula: polarization_index,
        remark: |index| match index {
            _ if index < 1.0 => Some("below 1: dangerous (a maker's table, not IEEE 43)"),
            _ if index < 1.5 => Some("below the minimum of every class"),
            _ if index < 2.0 => Some("enough for class 105 only"),
            _ if index > 8.0 => Some("above 8: the insulation may be brittle"),
            _ => None,
        },
    },
    Computation {
        name: "polarization_index_minimum",
        what: "least polarization index of a thermal class",
        inputs: &[],
        choices: &[Choice {
            name: "class",
            options: &["105", "130", "155", "180"],
        }],
        result: plain(Base::Ratio),
        decimals: 1,
        source: "IEEE 43-2000, as an instrument's manual cites it",
        formula: |given| {
            Ok(match given.choice("class") {
                "105" => 1.5,
                _ => 2.0,
            })
        },
        remark: no_remark,
    },
    Computation {
        name: "dielectric_absorption",
        what: "insulation resistance after one minute over that after thirty seconds",
        inputs: &[
            megohms("thirty_seconds", "to ground after thirty seconds"),
            megohms("one_minute", "to ground after one minute"),
        ],
        choices: &[],
        result: plain(Base::Ratio),
        decimals: 2,
        source: "common practice; the words are from a maker's table, not IEEE 43",
        formula: |given| Ok(given.get("one_minute") / given.get("thirty_seconds")),
        remark: |ratio| match ratio {
            _ if ratio < 1.1 => Some("poor"),
            _ if ratio < 1.25 => Some("questionable"),
            _ if ratio < 1.4 => Some("fair"),
            _ if ratio <= 1.6 => Some("good"),
            _ => Some("excellent"),
        },
    },
];

/// K of R40 = K R.
fn correction(given: &Given) -> Result<f64, Refusal> {
    let t = given.get("temperature");
    if given.choice("insulation") == "halving_per_10_k" {
        return Ok(libm::pow(0.5, (40.0 - t) / 10.0));
    }
    // The standard states 40 degC as 313 K, so the corrections meet at exactly 1.
    let inverse = 1.0 / (t + 273.0) - 1.0 / 313.0;
    match t {
        _ if !(10.0..=85.0).contains(&t) => Err(given.out_of_range(
            "temperature",
            "10 to 85 degC for thermosetting insulation".to_owned(),
            "measure again with the winding in this range",
        )),
        _ if t > 40.0 => Ok(libm::exp(-4230.0 * inverse)),
        _ => Ok(libm::exp(-1245.0 * inverse)),
    }
}

fn minimum(given: &Given) -> Result<f64, Refusal> {
    let kilovolts = given.get("rated");
    Ok(match given.choice("winding") {
        "before_1970" => kilovolts + 1.0,
        "form_wound" if kilovolts >= 1.0 => 100.0,
        _ => 5.0,
    })
}

fn test_voltage(given: &Given) -> Result<f64, Refusal> {
    match given.get("rated") {
        rated if rated < 1.0 => Ok(500.0),
        rated if rated <= 2.5 => Ok(500.0),
        rated if rated <= 5.0 => Ok(1000.0),
        rated if rated <= 12.0 => Ok(2500.0),
        _ => Err(given.out_of_range(
            "rated",
            "at most 12 kV".to_owned(),
            "follow the maker's test voltage",
        )),
    }
}

fn polarization_index(given: &Given) -> Result<f64, Refusal> {
    let one_minute = given.get("one_minute");
    match one_minute > 5000.0 {
        true => Err(given.meaningless(
            "above 5000 Mohm after one minute the index says nothing",
            "judge the insulation by its resistance",
        )),
        false => Ok(given.get("ten_minutes") / one_minute),
    }
}
