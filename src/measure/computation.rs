//! What a computation is: its inputs with units, its choices, its result and its source.

use std::fmt;

use super::given::Given;
use super::refusal::Refusal;
use crate::quantity::{Base, Dimension, Prefix, Unit};

/// One formula of the trade that a procedure can name.
#[derive(Debug)]
pub struct Computation {
    /// What a procedure calls it: `superheat`.
    pub name: &'static str,
    /// What comes out, in a few words.
    pub what: &'static str,
    pub inputs: &'static [Input],
    pub choices: &'static [Choice],
    pub result: Measured,
    /// The most decimals the formula is good for, in the unit of the result.
    pub decimals: u32,
    /// Where the formula is published, or that it is common practice.
    pub source: &'static str,
    /// In and out in the units stated here.
    pub(super) formula: fn(&Given) -> Result<f64, Refusal>,
    /// What to know about a result before relying on it.
    pub(super) remark: fn(f64) -> Option<&'static str>,
}

/// One value that goes in.
#[derive(Debug, Clone, Copy)]
pub struct Input {
    pub name: &'static str,
    /// What to measure, in a few words.
    pub what: &'static str,
    pub measured: Measured,
    pub within: Within,
    /// The value used when none is given, in the unit of `measured`.
    pub default: Option<f64>,
    /// Whether it is a nominal figure (a reference temperature, the supply's frequency) whose last
    /// place says nothing about the resolution of the result.
    pub nominal: bool,
}

/// The unit of an input or a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measured {
    /// This unit; a value in another unit of the dimension is converted.
    In(Unit),
    /// Any unit of one of these dimensions (none named: of any), the same dimension for all such
    /// inputs; the result is in the unit of the first.
    Alike(&'static [Dimension]),
}

/// What an input may be, in its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Within {
    Any,
    Positive,
    Between(f64, f64),
}

/// A named alternative, such as the metal of a winding.
#[derive(Debug, Clone, Copy)]
pub struct Choice {
    pub name: &'static str,
    pub options: &'static [&'static str],
}

/// The unit without prefix.
pub(super) const fn plain(base: Base) -> Measured {
    prefixed(Prefix::None, base)
}

pub(super) const fn prefixed(prefix: Prefix, base: Base) -> Measured {
    Measured::In(Unit { prefix, base })
}

/// For formulas whose result needs no word of care.
pub(super) fn no_remark(_: f64) -> Option<&'static str> {
    None
}

impl Input {
    pub(super) const fn new(name: &'static str, what: &'static str, measured: Measured) -> Input {
        Input {
            name,
            what,
            measured,
            within: Within::Any,
            default: None,
            nominal: false,
        }
    }

    pub(super) const fn positive(self) -> Input {
        let within = Within::Positive;
        Input { within, ..self }
    }

    pub(super) const fn between(self, low: f64, high: f64) -> Input {
        let within = Within::Between(low, high);
        Input { within, ..self }
    }

    pub(super) const fn nominal(self) -> Input {
        let nominal = true;
        Input { nominal, ..self }
    }

    /// May be left out.
    pub(super) const fn or(self, default: f64) -> Input {
        let default = Some(default);
        Input { default, ..self }
    }
}

impl Within {
    pub(super) fn allows(self, value: f64) -> bool {
        match self {
            Within::Any => value.is_finite(),
            Within::Positive => value.is_finite() && value > 0.0,
            Within::Between(low, high) => (low..=high).contains(&value),
        }
    }
}

impl fmt::Display for Within {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Within::Any => f.write_str("a number"),
            Within::Positive => f.write_str("more than 0"),
            Within::Between(low, high) => write!(f, "{low} to {high}"),
        }
    }
}

impl fmt::Display for Measured {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Measured::In(unit) => write!(f, "`{unit}`"),
            Measured::Alike([]) => f.write_str("any unit, alike for all"),
            Measured::Alike(dimensions) => {
                let names = dimensions.iter().map(|dimension| dimension.name());
                write!(f, "a unit of {}", names.collect::<Vec<_>>().join(" or "))
            }
        }
    }
}
