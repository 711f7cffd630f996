//! The Theil-Sen slope: the median of the slopes between all pairs of readings, with real times.
//!
//! Up to 29 % of the readings may be wrong without pulling it away.
//!
//! Sources: H. Theil, Proc. Kon. Ned. Akad. v. Wetensch. A 53 (1950); P. K. Sen, J. Am. Stat.
//! Assoc. 63 (1968); the interval after Sen as computed by `scipy.stats.theilslopes`.

use super::location::median;

/// The standard normal quantile for 95 %, both sides.
const Z_95: f64 = 1.959_963_984_540_054;

/// A line through readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Units per second.
    pub slope: f64,
    /// The median of the values minus slope times the median of the times.
    pub intercept: f64,
}

/// The line, or `None` without two different times. `slopes` is overwritten and then holds every
/// pairwise slope.
pub fn line(times: &[f64], values: &[f64], slopes: &mut Vec<f64>) -> Option<Line> {
    slopes.clear();
    slopes.extend_from_slice(times);
    let middle_time = median(slopes)?;
    slopes.clear();
    slopes.extend_from_slice(values);
    let middle_value = median(slopes)?;
    let slope = slope(times, values, slopes)?;
    Some(Line {
        slope,
        intercept: middle_value - slope * middle_time,
    })
}

/// The slope alone, in units per second.
pub fn slope(times: &[f64], values: &[f64], slopes: &mut Vec<f64>) -> Option<f64> {
    pairwise(times, values, slopes);
    median(slopes)
}

/// The interval that holds the slope with 95 % probability, from `slopes` of `count` readings as
/// [`slope`] left them and the variance of S ([`super::mann_kendall`]).
pub fn interval(slopes: &mut [f64], variance: f64) -> Option<(f64, f64)> {
    let count = slopes.len();
    if count == 0 {
        return None;
    }
    slopes.sort_unstable_by(f64::total_cmp);
    let reach = Z_95 * variance.max(0.0).sqrt();
    let low = ((count as f64 - reach) / 2.0).round_ties_even() - 1.0;
    let high = ((count as f64 + reach) / 2.0).round_ties_even();
    let low = low.max(0.0) as usize;
    let high = (high as usize).min(count - 1);
    Some((slopes[low.min(high)], slopes[high]))
}

fn pairwise(times: &[f64], values: &[f64], slopes: &mut Vec<f64>) {
    slopes.clear();
    for (i, (t0, x0)) in times.iter().zip(values).enumerate() {
        for (t1, x1) in times.iter().zip(values).skip(i + 1) {
            if t1 > t0 {
                slopes.push((x1 - x0) / (t1 - t0));
            }
        }
    }
}
