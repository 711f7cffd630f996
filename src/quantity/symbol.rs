//! Unit symbols as people write them: `Ω`, `µF`, `°C`, `GPM`; read, and printed.

use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::unit::{Base, Prefix, Unit, UnitError};

/// Other ways to write a unit, beside its own symbol. Degree and micro signs are replaced before.
const ALIASES: [(&str, Base); 50] = [
    ("ohms", Base::Ohm),
    ("Ohm", Base::Ohm),
    ("Ohms", Base::Ohm),
    ("\u{3a9}", Base::Ohm),
    ("\u{2126}", Base::Ohm),
    ("volt", Base::Volt),
    ("volts", Base::Volt),
    ("amp", Base::Ampere),
    ("amps", Base::Ampere),
    ("ampere", Base::Ampere),
    ("amperes", Base::Ampere),
    ("hz", Base::Hertz),
    ("hertz", Base::Hertz),
    ("farad", Base::Farad),
    ("farads", Base::Farad),
    ("watt", Base::Watt),
    ("watts", Base::Watt),
    ("\u{2103}", Base::DegreeCelsius),
    ("\u{2109}", Base::DegreeFahrenheit),
    ("kelvin", Base::Kelvin),
    ("\u{394}degC", Base::CelsiusDifference),
    ("\u{394}degF", Base::FahrenheitDifference),
    ("\u{394}K", Base::KelvinDifference),
    ("pascal", Base::Pascal),
    ("PSI", Base::Psi),
    ("inWC", Base::InchOfWater),
    ("inH\u{2082}O", Base::InchOfWater),
    ("inhg", Base::InchOfMercury),
    ("m\u{b3}/h", Base::CubicMetrePerHour),
    ("l/min", Base::LitrePerMinute),
    ("lpm", Base::LitrePerMinute),
    ("LPM", Base::LitrePerMinute),
    ("GPM", Base::GallonPerMinute),
    ("RPM", Base::RevolutionPerMinute),
    ("r/min", Base::RevolutionPerMinute),
    ("meter", Base::Metre),
    ("meters", Base::Metre),
    ("metre", Base::Metre),
    ("metres", Base::Metre),
    ("foot", Base::Foot),
    ("feet", Base::Foot),
    ("HP", Base::Horsepower),
    ("horsepower", Base::Horsepower),
    ("percent", Base::Percent),
    ("counts", Base::Count),
    ("sec", Base::Second),
    ("second", Base::Second),
    ("seconds", Base::Second),
    ("minute", Base::Minute),
    ("minutes", Base::Minute),
];

impl FromStr for Unit {
    type Err = UnitError;

    /// Reads a symbol as `Display` writes it (`ohm`, `mA`, `kPa`, `degC`), and what the trade
    /// writes instead: `Ω`, `kohms`, `µF`, `°C`, `GPM`, `amps`.
    fn from_str(text: &str) -> Result<Unit, UnitError> {
        let plain = text
            .trim()
            .replace('\u{b0}', "deg")
            .replace(['\u{b5}', '\u{3bc}'], "u");
        let unprefixed = |(symbol, base): (&str, Base)| (plain == symbol).then(|| base.into());
        // A symbol without prefix goes first: `min` is a minute, never a milli-inch.
        symbols()
            .find_map(unprefixed)
            .or_else(|| symbols().find_map(|(symbol, base)| prefixed(&plain, symbol, base)))
            .ok_or_else(|| UnitError {
                found: text.to_owned(),
            })
    }
}

impl Unit {
    /// The unit's usual sign, as it is printed on meters: `kΩ`, `°C`. A difference of temperatures
    /// has the sign of the temperature, a ratio none.
    pub fn sign(self) -> String {
        let symbol = self.to_string();
        match symbol.strip_prefix("delta_").unwrap_or(&symbol) {
            "ratio" => String::new(),
            "m3/h" => "m\u{b3}/h".to_owned(),
            temperature if temperature.starts_with("deg") => temperature.replace("deg", "\u{b0}"),
            symbol => match symbol.strip_prefix('u') {
                Some(rest) => format!("\u{b5}{}", rest.replace("ohm", "\u{3a9}")),
                None => symbol.replace("ohm", "\u{3a9}"),
            },
        }
    }
}

fn symbols() -> impl Iterator<Item = (&'static str, Base)> {
    let own = Base::ALL.into_iter().map(|base| (base.symbol(), base));
    own.chain(ALIASES)
}

fn prefixed(text: &str, symbol: &str, base: Base) -> Option<Unit> {
    let prefix = text.strip_suffix(symbol)?;
    let prefix = Prefix::ALL.into_iter().find(|p| p.symbol() == prefix)?;
    base.takes_prefix().then_some(Unit { prefix, base })
}

/// In JSON the symbol.
impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Unit, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

/// In JSON the symbol.
impl Serialize for Base {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.symbol())
    }
}

impl<'de> Deserialize<'de> for Base {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Base, D::Error> {
        let unit = Unit::deserialize(deserializer)?;
        match unit.prefix {
            Prefix::None => Ok(unit.base),
            _ => Err(serde::de::Error::custom(format!(
                "found `{unit}`, expected a unit without prefix such as `{}`",
                unit.base.symbol()
            ))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIGNS: [(&str, &str); 11] = [
        ("kohm", "k\u{3a9}"),
        ("uohm", "\u{b5}\u{3a9}"),
        ("uF", "\u{b5}F"),
        ("degC", "\u{b0}C"),
        ("delta_degF", "\u{b0}F"),
        ("delta_K", "K"),
        ("mA", "mA"),
        ("m3/h", "m\u{b3}/h"),
        ("count", "count"),
        ("ratio", ""),
        ("Mohm", "M\u{3a9}"),
    ];

    #[test]
    fn units_have_their_signs_and_are_read_by_them() {
        for (symbol, sign) in SIGNS {
            let unit: Unit = symbol.parse().expect(symbol);
            assert_eq!(unit.sign(), sign);
            let is_read = !sign.is_empty() && !symbol.starts_with("delta_");
            assert!(!is_read || sign.parse() == Ok(unit), "{sign}");
        }
    }
}
