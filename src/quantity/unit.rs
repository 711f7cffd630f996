//! Units of the trade, SI prefixes, and the exact factors between them.

use std::fmt;

use serde::{Deserialize, Serialize};

/// What kind of thing a unit measures. Only units of one dimension convert into each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    Resistance,
    Voltage,
    Current,
    Frequency,
    Capacitance,
    Power,
    Temperature,
    TemperatureDifference,
    Pressure,
    Flow,
    Rotation,
    Length,
    Ratio,
    Count,
    Time,
}

/// A unit without its prefix.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Base {
    Ohm,
    Volt,
    Ampere,
    Hertz,
    Farad,
    Watt,
    DegreeCelsius,
    DegreeFahrenheit,
    Kelvin,
    /// A difference of temperatures in degrees Celsius (the same size as a kelvin).
    CelsiusDifference,
    /// A difference of temperatures in degrees Fahrenheit.
    FahrenheitDifference,
    /// A difference of temperatures in kelvin.
    KelvinDifference,
    Pascal,
    Bar,
    Psi,
    InchOfWater,
    InchOfMercury,
    CubicMetrePerHour,
    LitrePerMinute,
    GallonPerMinute,
    RevolutionPerMinute,
    Metre,
    Foot,
    /// The mechanical horsepower, 550 foot pounds-force a second.
    Horsepower,
    /// One quantity over another of its kind: 1 is 100 percent.
    Ratio,
    Percent,
    Count,
    Second,
    Minute,
}

/// An SI prefix, from pico to giga.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Prefix {
    Pico,
    Nano,
    Micro,
    Milli,
    #[default]
    None,
    Kilo,
    Mega,
    Giga,
}

/// A unit with its prefix, such as the milliampere.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Unit {
    pub prefix: Prefix,
    pub base: Base,
}

/// A unit symbol that is not one of ours.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("found `{found}`, expected a unit such as `ohm`, `mA`, `kPa` or `degC`")]
pub struct UnitError {
    pub found: String,
}

impl Dimension {
    /// What it is called in messages.
    pub const fn name(self) -> &'static str {
        match self {
            Dimension::Resistance => "resistance",
            Dimension::Voltage => "voltage",
            Dimension::Current => "current",
            Dimension::Frequency => "frequency",
            Dimension::Capacitance => "capacitance",
            Dimension::Power => "power",
            Dimension::Temperature => "temperature",
            Dimension::TemperatureDifference => "temperature difference",
            Dimension::Pressure => "pressure",
            Dimension::Flow => "flow",
            Dimension::Rotation => "rotation",
            Dimension::Length => "length",
            Dimension::Ratio => "ratio",
            Dimension::Count => "count",
            Dimension::Time => "time",
        }
    }
}

impl Base {
    /// Every base unit, in the order of the enum.
    pub const ALL: [Base; 29] = [
        Base::Ohm,
        Base::Volt,
        Base::Ampere,
        Base::Hertz,
        Base::Farad,
        Base::Watt,
        Base::DegreeCelsius,
        Base::DegreeFahrenheit,
        Base::Kelvin,
        Base::CelsiusDifference,
        Base::FahrenheitDifference,
        Base::KelvinDifference,
        Base::Pascal,
        Base::Bar,
        Base::Psi,
        Base::InchOfWater,
        Base::InchOfMercury,
        Base::CubicMetrePerHour,
        Base::LitrePerMinute,
        Base::GallonPerMinute,
        Base::RevolutionPerMinute,
        Base::Metre,
        Base::Foot,
        Base::Horsepower,
        Base::Ratio,
        Base::Percent,
        Base::Count,
        Base::Second,
        Base::Minute,
    ];

    /// The symbol written in procedures, records and JSON.
    pub const fn symbol(self) -> &'static str {
        match self {
            Base::Ohm => "ohm",
            Base::Volt => "V",
            Base::Ampere => "A",
            Base::Hertz => "Hz",
            Base::Farad => "F",
            Base::Watt => "W",
            Base::DegreeCelsius => "degC",
            Base::DegreeFahrenheit => "degF",
            Base::Kelvin => "K",
            Base::CelsiusDifference => "delta_degC",
            Base::FahrenheitDifference => "delta_degF",
            Base::KelvinDifference => "delta_K",
            Base::Pascal => "Pa",
            Base::Bar => "bar",
            Base::Psi => "psi",
            Base::InchOfWater => "inH2O",
            Base::InchOfMercury => "inHg",
            Base::CubicMetrePerHour => "m3/h",
            Base::LitrePerMinute => "L/min",
            Base::GallonPerMinute => "gpm",
            Base::RevolutionPerMinute => "rpm",
            Base::Metre => "m",
            Base::Foot => "ft",
            Base::Horsepower => "hp",
            Base::Ratio => "ratio",
            Base::Percent => "%",
            Base::Count => "count",
            Base::Second => "s",
            Base::Minute => "min",
        }
    }

    /// What the unit measures.
    pub const fn dimension(self) -> Dimension {
        match self {
            Base::Ohm => Dimension::Resistance,
            Base::Volt => Dimension::Voltage,
            Base::Ampere => Dimension::Current,
            Base::Hertz => Dimension::Frequency,
            Base::Farad => Dimension::Capacitance,
            Base::Watt | Base::Horsepower => Dimension::Power,
            Base::DegreeCelsius | Base::DegreeFahrenheit | Base::Kelvin => Dimension::Temperature,
            Base::CelsiusDifference | Base::FahrenheitDifference | Base::KelvinDifference => {
                Dimension::TemperatureDifference
            }
            Base::Pascal | Base::Bar | Base::Psi | Base::InchOfWater | Base::InchOfMercury => {
                Dimension::Pressure
            }
            Base::CubicMetrePerHour | Base::LitrePerMinute | Base::GallonPerMinute => {
                Dimension::Flow
            }
            Base::RevolutionPerMinute => Dimension::Rotation,
            Base::Metre | Base::Foot => Dimension::Length,
            Base::Ratio | Base::Percent => Dimension::Ratio,
            Base::Count => Dimension::Count,
            Base::Second | Base::Minute => Dimension::Time,
        }
    }

    /// Whether the trade puts SI prefixes on this unit.
    pub const fn takes_prefix(self) -> bool {
        matches!(
            self,
            Base::Ohm
                | Base::Volt
                | Base::Ampere
                | Base::Hertz
                | Base::Farad
                | Base::Watt
                | Base::Pascal
                | Base::Bar
                | Base::Metre
                | Base::Second
        )
    }
}

impl Prefix {
    /// Every prefix, smallest first.
    pub const ALL: [Prefix; 8] = [
        Prefix::Pico,
        Prefix::Nano,
        Prefix::Micro,
        Prefix::Milli,
        Prefix::None,
        Prefix::Kilo,
        Prefix::Mega,
        Prefix::Giga,
    ];

    /// The power of ten: -12 for pico, 9 for giga.
    pub const fn exponent(self) -> i32 {
        match self {
            Prefix::Pico => -12,
            Prefix::Nano => -9,
            Prefix::Micro => -6,
            Prefix::Milli => -3,
            Prefix::None => 0,
            Prefix::Kilo => 3,
            Prefix::Mega => 6,
            Prefix::Giga => 9,
        }
    }

    /// The symbol, with `u` for micro.
    pub const fn symbol(self) -> &'static str {
        match self {
            Prefix::Pico => "p",
            Prefix::Nano => "n",
            Prefix::Micro => "u",
            Prefix::Milli => "m",
            Prefix::None => "",
            Prefix::Kilo => "k",
            Prefix::Mega => "M",
            Prefix::Giga => "G",
        }
    }
}

impl From<Base> for Unit {
    fn from(base: Base) -> Unit {
        Unit {
            prefix: Prefix::None,
            base,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.prefix.symbol(), self.base.symbol())
    }
}
