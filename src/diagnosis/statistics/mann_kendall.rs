//! The Mann-Kendall test: is there a trend at all, whatever its shape?
//!
//! S counts the pairs that rise minus the pairs that fall. Up to ten values its probability comes
//! from the exact distribution, which counts in how many orders the same values give each S; ties
//! are part of that count. Above ten the normal approximation with the tie correction is used.
//!
//! Sources: H. B. Mann, Econometrica 13 (1945); M. G. Kendall, "Rank Correlation Methods"; the rule
//! to use the exact distribution up to ten values: R. O. Gilbert, "Statistical Methods for
//! Environmental Pollution Monitoring", 1987.

/// The largest count for which the exact distribution is used.
pub const EXACT_UP_TO: usize = 10;

/// Pairs among ten values, plus one: the size of the exact distribution.
const CELLS: usize = EXACT_UP_TO * (EXACT_UP_TO - 1) / 2 + 1;

/// The outcome of the test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    /// Pairs that rise minus pairs that fall.
    pub s: i32,
    /// Variance of S with the tie correction.
    pub variance: f64,
    /// (S - 1) / sqrt(variance) for a rise, (S + 1) / sqrt(variance) for a fall, 0 for S = 0.
    pub z: f64,
    /// Two-sided probability of an S this far from 0 without any trend.
    pub p: f64,
}

/// Tests values in the order of time. `None` below two values. `scratch` is overwritten.
pub fn mann_kendall(values: &[f64], scratch: &mut Vec<f64>) -> Option<MannKendall> {
    if values.len() < 2 {
        return None;
    }
    let s = score(values);
    scratch.clear();
    scratch.extend_from_slice(values);
    scratch.sort_unstable_by(f64::total_cmp);
    let variance = variance(scratch);
    let z = match s {
        0 => 0.0,
        s if variance <= 0.0 => f64::from(s.signum()) * f64::INFINITY,
        s => f64::from(s - s.signum()) / variance.sqrt(),
    };
    let p = match values.len() <= EXACT_UP_TO {
        true => exact_two_sided(s, scratch),
        false => libm::erfc(z.abs() / std::f64::consts::SQRT_2),
    };
    Some(MannKendall { s, variance, z, p })
}

/// S alone.
pub fn score(values: &[f64]) -> i32 {
    let mut s = 0;
    for (i, early) in values.iter().enumerate() {
        for late in &values[i + 1..] {
            s += i32::from(late > early) - i32::from(late < early);
        }
    }
    s
}

/// [n(n-1)(2n+5) - sum of t(t-1)(2t+5) over ties] / 18.
fn variance(sorted: &[f64]) -> f64 {
    let term = |n: usize| (n * (n - 1) * (2 * n + 5)) as f64;
    let ties: f64 = tie_sizes(sorted).map(term).sum();
    (term(sorted.len()) - ties) / 18.0
}

/// The sizes of the groups of equal values.
fn tie_sizes(sorted: &[f64]) -> impl Iterator<Item = usize> {
    sorted.chunk_by(|a, b| a == b).map(<[f64]>::len)
}

/// Counts the orders of the values by how many pairs fall in each, and adds up those whose S is at
/// least as far from 0.
///
/// The counts are the coefficients of the Gaussian multinomial: the product of
/// (1 + q + ... + q^(k-1)) for k up to n, divided by the same product for every group of ties.
fn exact_two_sided(s: i32, sorted: &[f64]) -> f64 {
    let mut counts = [0_i64; CELLS];
    counts[0] = 1;
    for k in 2..=sorted.len() {
        times_q_number(&mut counts, k);
    }
    let mut untied_pairs = pairs(sorted.len());
    for size in tie_sizes(sorted) {
        untied_pairs -= pairs(size);
        for k in 2..=size {
            divided_by_q_number(&mut counts, k);
        }
    }
    let (mut as_far, mut all) = (0_i64, 0_i64);
    for (falling, count) in counts.iter().enumerate().take(untied_pairs + 1) {
        let other = untied_pairs as i32 - 2 * falling as i32;
        all += count;
        if other.abs() >= s.abs() {
            as_far += count;
        }
    }
    as_far as f64 / all as f64
}

fn pairs(n: usize) -> usize {
    n * (n - 1) / 2
}

/// Times 1 + q + ... + q^(k-1), that is (1 - q^k) / (1 - q).
fn times_q_number(counts: &mut [i64; CELLS], k: usize) {
    for i in (k..CELLS).rev() {
        counts[i] -= counts[i - k];
    }
    for i in 1..CELLS {
        counts[i] += counts[i - 1];
    }
}

/// The inverse of [`times_q_number`].
fn divided_by_q_number(counts: &mut [i64; CELLS], k: usize) {
    for i in (1..CELLS).rev() {
        counts[i] -= counts[i - 1];
    }
    for i in k..CELLS {
        counts[i] += counts[i - k];
    }
}
