//! From the figures of a series to its behavior.

use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};

use super::behavior::{Behavior, Pattern, Peak};
use super::series::{Figures, Series};
use super::statistics::{location, mann_kendall, movement, theil_sen};
use crate::procedure::{BehaviorKind, QuantityDefinition};

/// The fewest readings any behavior is told from.
pub const FEWEST: usize = 5;

/// Buffers that are kept from one series to the next.
#[derive(Debug, Default)]
pub struct Scratch {
    figures: Figures,
    pairs: Vec<f64>,
}

impl Scratch {
    /// The figures of the series judged last.
    pub fn figures(&self) -> &Figures {
        &self.figures
    }
}

/// What a series does.
pub fn behavior(scratch: &mut Scratch, series: &Series, quantity: &QuantityDefinition) -> Behavior {
    let Scratch { figures, pairs } = scratch;
    series.figures(figures);
    let n = figures.len();
    let mut found = Behavior {
        pattern: Pattern::TooFew {
            have: n,
            need: FEWEST,
        },
        readings: n,
        level: None,
        peak: None,
        slope_per_min: None,
        between: None,
        settled_at_ms: None,
        set_aside: None,
        alternative: None,
    };
    if n < FEWEST {
        return found;
    }
    let (times, values) = (&figures.time, &figures.value);
    let resolution = quantity
        .resolution
        .and_then(|r| r.to_f64())
        .unwrap_or_else(|| 0.1_f64.powi(figures.decimals as i32));
    let round = |value: f64| round_to(value, resolution);
    let slope = theil_sen::slope(times, values, pairs).unwrap_or(0.0);
    let p = mann_kendall::mann_kendall(values, pairs).map_or(1.0, |m| m.p);
    found.slope_per_min = round(slope * 60.0);
    let tail_from = n - (n / 3).max(3);
    pairs.clear();
    pairs.extend_from_slice(&values[tail_from..]);
    let tail = location::median(pairs).unwrap_or(0.0);
    let band = (2.0 * resolution).max(0.02 * tail.abs());
    let span = times[n - 1] - times[0];
    let tail_settled = values[tail_from..].iter().all(|x| (x - tail).abs() <= band);
    let kind = if p <= 0.05 && slope.abs() * span > 2.0 * band && !tail_settled {
        found.level = round(values[n - 1]);
        match slope > 0.0 {
            true => BehaviorKind::Rising,
            false => BehaviorKind::Falling,
        }
    } else if tail_settled {
        found.level = round(tail);
        let highest = (0..n)
            .max_by(|&a, &b| values[a].total_cmp(&values[b]))
            .unwrap_or(0);
        if highest > 0 && highest < tail_from && values[highest] > tail + 5.0 * band {
            found.peak = round(values[highest]).map(|value| Peak {
                value,
                at_ms: (times[highest] * 1000.0) as u64,
            });
        }
        match movement::settled_from(values, tail, band) {
            Some(0) => BehaviorKind::Steady,
            _ => BehaviorKind::Settles,
        }
    } else if movement::reversals(values, 0.0) as f64 >= 0.6 * (n - 2) as f64 {
        pairs.clear();
        pairs.extend_from_slice(values);
        found.level = location::median(pairs).and_then(round);
        BehaviorKind::Unsteady
    } else {
        found.pattern = Pattern::Undetermined { more: 3 };
        return found;
    };
    found.pattern = Pattern::Known(kind);
    found
}

/// The nearest multiple of the resolution.
fn round_to(value: f64, resolution: f64) -> Option<Decimal> {
    let decimals = (-resolution.log10()).ceil().clamp(0.0, 12.0) as u32;
    Decimal::from_f64(value).map(|value| value.round_dp(decimals))
}
