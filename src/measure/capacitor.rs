//! Run capacitors, measured while they run.

use super::computation::{Computation, Input, no_remark, plain, prefixed};
use crate::quantity::{Base, Prefix};

pub(super) const COMPUTATIONS: &[Computation] = &[
    Computation {
        name: "run_capacitor",
        what: "capacitance from the current through it and the voltage across it",
        inputs: &[
            Input::new(
                "current",
                "in the lead to the start winding",
                plain(Base::Ampere),
            )
            .positive(),
            Input::new(
                "voltage",
                "across the capacitor, running",
                plain(Base::Volt),
            )
            .positive(),
            Input::new("frequency", "of the supply", plain(Base::Hertz))
                .between(1.0, 1000.0)
                .nominal(),
        ],
        choices: &[],
        result: prefixed(Prefix::Micro, Base::Farad),
        decimals: 2,
        source: "I / (2 pi f V), reactance by definition",
        formula: |given| {
            let reactive = std::f64::consts::TAU * given.get("frequency") * given.get("voltage");
            Ok(1e6 * given.get("current") / reactive)
        },
        remark: no_remark,
    },
    Computation {
        name: "capacitor_deviation",
        what: "how far a capacitor is from its rating, percent of the rating",
        inputs: &[
            Input::new(
                "measured",
                "the capacitance found",
                prefixed(Prefix::Micro, Base::Farad),
            )
            .positive(),
            Input::new(
                "rated",
                "the capacitance marked",
                prefixed(Prefix::Micro, Base::Farad),
            )
            .positive()
            .nominal(),
        ],
        choices: &[],
        result: plain(Base::Percent),
        decimals: 1,
        source: "common practice, no source: 6 % is marked, 10 % is the limit in the field",
        formula: |given| {
            let rated = given.get("rated");
            Ok(100.0 * (given.get("measured") - rated) / rated)
        },
        remark: |deviation| match deviation.abs() {
            off if off > 10.0 => Some("outside 10 %: replace the capacitor"),
            off if off > 6.0 => Some("outside the marked 6 %, inside the field limit of 10 %"),
            _ => None,
        },
    },
];
