//! Where values lie and how far they spread: median, median absolute deviation, modified z.

/// 1 / 1.4826: makes a modified z comparable to a standard score for normal values.
///
/// Source: B. Iglewicz and D. Hoaglin, "How to Detect and Handle Outliers", 1993 (from memory).
const CONSISTENCY: f64 = 0.6745;

/// The median, reordering `values`. The mean of the middle two where the count is even; `None` for
/// no values.
pub fn median(values: &mut [f64]) -> Option<f64> {
    let middle = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    let even = values.len().is_multiple_of(2);
    let (below, upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    match even {
        false => Some(*upper),
        true => {
            let lower = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            Some((lower + *upper) / 2.0)
        }
    }
}

/// The median of absolute deviations from `center`, without a consistency factor. `scratch` is
/// overwritten; `None` for no values.
pub fn median_absolute_deviation(
    values: &[f64],
    center: f64,
    scratch: &mut Vec<f64>,
) -> Option<f64> {
    scratch.clear();
    scratch.extend(values.iter().map(|value| (value - center).abs()));
    median(scratch)
}

/// The modified z score, 0.6745 (x - median) / MAD; above 3.5 is called an outlier.
///
/// More than half equal values make the MAD 0, so it is never taken smaller than `floor`: the
/// smallest spread that means anything, such as one step of the display. With a floor of 0 and a
/// MAD of 0 a value off the median scores infinite and one on it 0.
///
/// Source: Iglewicz and Hoaglin 1993 (from memory).
pub fn modified_z(value: f64, median: f64, mad: f64, floor: f64) -> f64 {
    match value == median {
        true => 0.0,
        false => CONSISTENCY * (value - median) / mad.max(floor),
    }
}
