//! Pressure and temperature of boiling refrigerants, from a table.
//!
//! The table was made by `scripts/reference/saturation.py` from CoolProp, whose equations of state
//! are the published ones. Between its rows the logarithm of the pressure is a straight line over
//! the reciprocal of the absolute temperature (Clausius and Clapeyron), which is good to 0.02 K
//! here. Outside its rows there is no answer.

const TABLE: &str = include_str!("saturation.csv");
const ZERO_CELSIUS: f64 = 273.15;

/// Which end of boiling: a blend's two ends differ at one pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// The last liquid boils away: superheat starts here.
    Dew,
    /// The first vapor appears: subcooling starts here.
    Bubble,
}

/// The boiling line of one refrigerant.
pub(super) struct Line {
    /// Degrees Celsius and kilopascals absolute, rising.
    points: Vec<(f64, f64)>,
}

impl Line {
    /// Empty for a name that the table does not have.
    pub(super) fn of(refrigerant: &str, side: Side) -> Line {
        let points = TABLE.lines().filter_map(|row| {
            let mut fields = row.split(',');
            let name = fields.next()?;
            let temperature = fields.next()?.parse().ok()?;
            let bubble: f64 = fields.next()?.parse().ok()?;
            let dew: f64 = fields.next()?.parse().ok()?;
            let pressure = if side == Side::Dew { dew } else { bubble };
            (name == refrigerant).then_some((temperature, pressure))
        });
        Line {
            points: points.collect(),
        }
    }

    /// Kilopascals absolute, lowest and highest.
    pub(super) fn pressures(&self) -> Option<(f64, f64)> {
        Some((self.points.first()?.1, self.points.last()?.1))
    }

    /// Degrees Celsius, lowest and highest.
    pub(super) fn temperatures(&self) -> Option<(f64, f64)> {
        Some((self.points.first()?.0, self.points.last()?.0))
    }

    /// In degrees Celsius, from kilopascals absolute; `None` outside the table.
    pub(super) fn temperature(&self, pressure: f64) -> Option<f64> {
        let [(t0, p0), (t1, p1)] = self.around(|(_, p)| p, pressure)?;
        let part = (libm::log(pressure) - libm::log(p0)) / (libm::log(p1) - libm::log(p0));
        let (low, high) = (reciprocal(t0), reciprocal(t1));
        Some(1.0 / (low + (high - low) * part) - ZERO_CELSIUS)
    }

    /// In kilopascals absolute, from degrees Celsius; `None` outside the table.
    pub(super) fn pressure(&self, temperature: f64) -> Option<f64> {
        let [(t0, p0), (t1, p1)] = self.around(|(t, _)| t, temperature)?;
        let (low, high) = (reciprocal(t0), reciprocal(t1));
        let part = (reciprocal(temperature) - low) / (high - low);
        let logarithm = libm::log(p0) + (libm::log(p1) - libm::log(p0)) * part;
        Some(libm::exp(logarithm))
    }

    fn around(&self, of: impl Fn((f64, f64)) -> f64, value: f64) -> Option<[(f64, f64); 2]> {
        self.points.windows(2).find_map(|pair| match pair {
            [low, high] if (of(*low)..=of(*high)).contains(&value) => Some([*low, *high]),
            _ => None,
        })
    }
}

fn reciprocal(celsius: f64) -> f64 {
    1.0 / (celsius + ZERO_CELSIUS)
}
