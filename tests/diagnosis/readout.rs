//! From what a machine does to what a technician calls out: uneven times, a display with a
//! resolution, and an ear that mishears one value in twenty.

use readback::diagnosis::Series;
use readback::procedure::{BehaviorKind, ByVariant, Place, QuantityDefinition, QuantityId};
use readback::quantity::{Amount, Base, Decimal, Range, Reading, Unit};

use super::misheard::misheard;
use super::random::Random;

/// One generated series and what it shows.
pub struct Case {
    pub behavior: BehaviorKind,
    /// What made it, for the tables.
    pub made_by: &'static str,
    /// Whether a settling one has a first peak above its level.
    pub peak: bool,
    pub quantity: QuantityDefinition,
    pub series: Series,
}

/// The display a series is read from.
#[derive(Clone, Copy)]
pub struct Display {
    /// 1 or 0.1.
    pub resolution: f64,
    /// The end of its scale.
    pub full_scale: f64,
}

pub const DISPLAYS: [Display; 2] = [
    Display {
        resolution: 1.0,
        full_scale: 1000.0,
    },
    Display {
        resolution: 0.1,
        full_scale: 100.0,
    },
];

/// One value in twenty is misheard.
pub const MISHEARD: f64 = 0.05;

impl Display {
    pub fn quantity(self) -> QuantityDefinition {
        let decimals = if self.resolution < 1.0 { 1 } else { 0 };
        let full = Decimal::from(self.full_scale as i64);
        QuantityDefinition {
            id: QuantityId::from("shown"),
            place: Place::default(),
            zero_band: None,
            name: "shown value".to_owned(),
            unit: Unit::from(Base::Count),
            plausible: Range::closed(Decimal::ZERO, full).expect("a full scale above 0"),
            resolution: Some(Decimal::new(1, decimals)),
            limits: ByVariant::same(None),
        }
    }

    /// What the display shows.
    pub fn shows(self, value: f64) -> String {
        let decimals = if self.resolution < 1.0 { 1 } else { 0 };
        let text = format!("{:.decimals$}", value.max(0.0));
        text.trim_start_matches('-').to_owned()
    }
}

/// Times of `count` readings over about `length` seconds, none evenly spaced.
pub fn times(random: &mut Random, count: usize, length: f64) -> Vec<f64> {
    let step = length / (count - 1) as f64;
    let mut at = step * random.between(0.05, 0.35);
    let mut times = Vec::with_capacity(count);
    for _ in 0..count {
        times.push(at);
        at += step * random.between(0.6, 1.4);
    }
    times
}

/// The series a technician calls out. `hunting` is the
/// chance that a value is given as a range, "hunting between".
pub fn call_out(
    random: &mut Random,
    display: Display,
    times: &[f64],
    values: &[f64],
    hunting: f64,
) -> Series {
    let unit = Unit::from(Base::Count);
    let mut series = Series::new(unit);
    for (at, value) in times.iter().zip(values) {
        let mut text = display.shows(*value);
        if random.chance(MISHEARD) {
            text = misheard(random, &text);
        }
        let shown: Decimal = text.parse().expect("digits");
        let amount = match random.chance(hunting) {
            false => Amount::Exact(shown),
            true => {
                let reach = Decimal::new((random.between(0.04, 0.12) * 1000.0) as i64, 3);
                let step = Decimal::new(1, if display.resolution < 1.0 { 1 } else { 0 });
                let half = (shown * reach).round_dp(step.scale()).max(step);
                Amount::Between((shown - half).max(Decimal::ZERO), shown + half)
            }
        };
        let reading = Reading { amount, unit };
        series
            .give((at * 1000.0) as u64, reading)
            .expect("the unit of the series");
    }
    series
}
