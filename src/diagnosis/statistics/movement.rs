//! How values move from one to the next: von Neumann ratio, reversals, settling.

/// The sum of squared steps over the sum of squared deviations from the mean.
///
/// Near 2 for values without order, well below 1 for a drift, above 3 for values that alternate.
/// `None` for fewer than two values or when all are equal.
///
/// Source: J. von Neumann, Ann. Math. Stat. 12 (1941) (from memory).
pub fn von_neumann_ratio(values: &[f64]) -> Option<f64> {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let deviations: f64 = values.iter().map(|x| (x - mean).powi(2)).sum();
    let steps: f64 = values.windows(2).map(|w| (w[1] - w[0]).powi(2)).sum();
    (values.len() >= 2 && deviations > 0.0).then(|| steps / deviations)
}

/// How often the values turn from up to down or back. Steps of at most `ignore` do not count as
/// movement; with 0 every step does.
pub fn reversals(values: &[f64], ignore: f64) -> usize {
    let mut turns = 0;
    let mut direction = 0.0;
    let Some(&first) = values.first() else {
        return 0;
    };
    let mut from = first;
    for &value in values {
        let step = value - from;
        if step.abs() <= ignore {
            continue;
        }
        if direction * step < 0.0 {
            turns += 1;
        }
        direction = step.signum();
        from = value;
    }
    turns
}

/// Where values came to rest: the index of the first value after the last one that lies outside
/// `level` plus or minus `band`. `None` where the last value is outside, or there are none.
///
/// This is the settling time of control engineering: the last entry into the band (from memory).
pub fn settled_from(values: &[f64], level: f64, band: f64) -> Option<usize> {
    let inside = |value: &f64| (value - level).abs() <= band;
    match values.iter().rposition(|value| !inside(value)) {
        None => (!values.is_empty()).then_some(0),
        Some(last) => (last + 1 < values.len()).then_some(last + 1),
    }
}

/// The turning points of values whose swings are larger than `ignore`: the first value, every
/// extreme, and the last extreme. `turns` is overwritten with their indices.
///
/// Smaller movements never start or end a swing, so noise adds no turns however many values there
/// are; counting reversals one by one does not have this property.
pub fn turning_points(values: &[f64], ignore: f64, turns: &mut Vec<usize>) {
    turns.clear();
    let mut high = 0;
    let mut low = 0;
    let mut rising = None;
    for (i, &value) in values.iter().enumerate() {
        if value > values[high] {
            high = i;
        }
        if value < values[low] {
            low = i;
        }
        let down = rising != Some(false) && values[high] - value > ignore;
        let up = rising != Some(true) && value - values[low] > ignore;
        if down {
            turns.push(high);
            (rising, low) = (Some(false), i);
        } else if up {
            turns.push(low);
            (rising, high) = (Some(true), i);
        }
    }
    match rising {
        Some(true) => turns.push(high),
        Some(false) => turns.push(low),
        None => {}
    }
}
