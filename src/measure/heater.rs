//! Resistive heating elements.

use super::computation::{Computation, Input, no_remark, plain, prefixed};
use crate::quantity::{Base, Prefix};

const SOURCE: &str = "Ohm's law; the element's resistance taken as constant";

const fn volts(name: &'static str, what: &'static str) -> Input {
    Input::new(name, what, plain(Base::Volt)).positive()
}

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "heater_resistance",
        what: "resistance that an element of a rating has",
        inputs: &[
            Input::new(
                "power",
                "of the rating plate",
                prefixed(Prefix::Kilo, Base::Watt),
            )
            .positive()
            .nominal(),
            volts("voltage", "of the rating plate").nominal(),
        ],
        choices: &[],
        result: plain(Base::Ohm),
        decimals: 2,
        source: SOURCE,
        formula: |given| {
            let voltage = given.get("voltage");
            Ok(voltage * voltage / (1000.0 * given.get("power")))
        },
        remark: no_remark,
    },
    Computation {
        name: "heater_power",
        what: "power of an element from its resistance and voltage",
        inputs: &[
            Input::new("resistance", "across the element", plain(Base::Ohm)).positive(),
            volts("voltage", "across the element"),
        ],
        choices: &[],
        result: prefixed(Prefix::Kilo, Base::Watt),
        decimals: 3,
        source: SOURCE,
        formula: |given| {
            let voltage = given.get("voltage");
            Ok(voltage * voltage / given.get("resistance") / 1000.0)
        },
        remark: no_remark,
    },
    Computation {
        name: "heater_power_part",
        what: "part of its rated power that an element gives on another voltage, percent",
        inputs: &[
            volts("voltage", "across the element"),
            volts("rated", "of the rating plate").nominal(),
        ],
        choices: &[],
        result: plain(Base::Percent),
        decimals: 1,
        source: SOURCE,
        formula: |given| {
            let ratio = given.get("voltage") / given.get("rated");
            Ok(100.0 * ratio * ratio)
        },
        remark: no_remark,
    },
];
