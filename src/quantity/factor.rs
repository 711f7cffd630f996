//! The exact definitions of the units: factor and zero point in the SI unit of the dimension.
//!
//! Sources: NIST SP 811 (2008), appendix B, for the pound-force per square inch (pound
//! 0.453 592 37 kg, standard gravity 9.806 65 m/s2, inch 25.4 mm, all exact), the inch of water
//! (conventional, 249.088 91 Pa), the inch of mercury (conventional: density 13 595.1 kg/m3 under
//! standard gravity, 3.386 389 kPa), the US gallon (3.785 411 784 L, exact), the horsepower
//! (550 ft lbf/s) and the temperature scales.

use super::ratio::Ratio;
use super::unit::{Base, Unit};

/// `SI value = (value + zero) x scale`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Factor {
    pub(super) scale: Ratio,
    /// What to add before scaling; zero but for temperatures.
    pub(super) zero: Ratio,
}

impl Factor {
    /// `None` never occurs for the units of [`Base`]: all parts fit, as a test holds.
    pub(super) fn of(unit: Unit) -> Option<Factor> {
        let (numerator, denominator) = scale_of(unit.base);
        let zero_hundredths = match unit.base {
            Base::DegreeCelsius => 27_315,
            Base::DegreeFahrenheit => 45_967,
            _ => 0,
        };
        let prefix = Ratio::ten_to(unit.prefix.exponent())?;
        Some(Factor {
            scale: Ratio::new(numerator, denominator)?.times(prefix)?,
            zero: Ratio::new(zero_hundredths, 100)?,
        })
    }
}

const fn scale_of(base: Base) -> (i128, i128) {
    match base {
        Base::DegreeFahrenheit | Base::FahrenheitDifference => (5, 9),
        Base::Bar => (100_000, 1),
        // 0.45359237 kg x 9.80665 m/s2 over (0.0254 m)2, with the powers of ten gathered below.
        Base::Psi => (45_359_237 * 980_665, 64_516 * 100_000),
        Base::InchOfWater => (24_908_891, 100_000),
        // 13595.1 kg/m3 x 9.80665 m/s2 x 0.0254 m, with the powers of ten gathered below.
        Base::InchOfMercury => (135_951 * 980_665 * 254, 10_000_000_000),
        Base::CubicMetrePerHour => (1, 3_600),
        Base::LitrePerMinute => (1, 60_000),
        Base::GallonPerMinute => (3_785_411_784, 60_000_000_000_000),
        Base::Minute => (60, 1),
        Base::Foot => (3_048, 10_000),
        // 550 x 0.3048 m x 0.45359237 kg x 9.80665 m/s2, with the powers of ten gathered below.
        Base::Horsepower => (550 * 3_048 * 45_359_237 * 980_665, 100_000_000_000_000_000),
        Base::Percent => (1, 100),
        Base::Ohm
        | Base::Volt
        | Base::Ampere
        | Base::Hertz
        | Base::Farad
        | Base::Watt
        | Base::DegreeCelsius
        | Base::Kelvin
        | Base::CelsiusDifference
        | Base::KelvinDifference
        | Base::Pascal
        | Base::RevolutionPerMinute
        | Base::Metre
        | Base::Ratio
        | Base::Count
        | Base::Second => (1, 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Prefix;

    #[test]
    fn every_unit_has_its_factor() {
        for base in Base::ALL {
            for prefix in Prefix::ALL {
                assert!(Factor::of(Unit { prefix, base }).is_some(), "{base:?}");
            }
        }
    }

    #[test]
    fn factors_are_those_of_nist_sp_811() {
        let si = |base| {
            Factor::of(Unit::from(base))
                .unwrap()
                .scale
                .round(6)
                .unwrap()
        };
        assert_eq!(si(Base::Psi).to_string(), "6894.757293");
        assert_eq!(si(Base::InchOfWater).to_string(), "249.088910");
        assert_eq!(si(Base::InchOfMercury).to_string(), "3386.388640");
        assert_eq!(si(Base::Horsepower).to_string(), "745.699872");
        let flow = Factor::of(Base::GallonPerMinute.into()).unwrap().scale;
        assert_eq!(flow.round(12).unwrap().to_string(), "0.000063090196");
    }
}
