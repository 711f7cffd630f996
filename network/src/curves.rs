//! The functions of the network that are no products: exponentials, norms, sums.
//!
//! Branch-free, so that the compiler can compute many numbers at once.

use pulp::{Arch, Simd, WithSimd};

/// Numbers that are looked at side by side.
const WIDE: usize = 16;

/// Makes the numbers positive with the sum 1, in proportion to their exponentials.
pub fn softmax(row: &mut [f32]) {
    Arch::new().dispatch(Softmax(row));
}

struct Softmax<'a>(&'a mut [f32]);

impl WithSimd for Softmax<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let largest = largest(self.0);
        for x in self.0.iter_mut() {
            *x = exp(*x - largest);
        }
        let share = 1.0 / sum(self.0);
        for x in self.0.iter_mut() {
            *x *= share;
        }
    }
}

/// The logarithm of the sum of exponentials.
pub fn log_sum_exp(row: &[f32]) -> f32 {
    Arch::new().dispatch(LogSumExp(row))
}

struct LogSumExp<'a>(&'a [f32]);

impl WithSimd for LogSumExp<'_> {
    type Output = f32;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> f32 {
        let largest = largest(self.0);
        let mut sums = [0.0_f32; WIDE];
        let (chunks, rest) = self.0.as_chunks::<WIDE>();
        for chunk in chunks {
            for (sum, x) in sums.iter_mut().zip(chunk) {
                *sum += exp(*x - largest);
            }
        }
        let rest: f32 = rest.iter().map(|x| exp(*x - largest)).sum();
        largest + (sums.iter().sum::<f32>() + rest).ln()
    }
}

#[inline(always)]
fn sum(row: &[f32]) -> f32 {
    let mut sums = [0.0_f32; WIDE];
    let (chunks, rest) = row.as_chunks::<WIDE>();
    for chunk in chunks {
        for (sum, x) in sums.iter_mut().zip(chunk) {
            *sum += x;
        }
    }
    sums.iter().chain(rest).sum()
}

#[inline(always)]
fn largest(row: &[f32]) -> f32 {
    let (chunks, rest) = row.as_chunks::<WIDE>();
    let mut lanes = [f32::NEG_INFINITY; WIDE];
    for chunk in chunks {
        for (lane, x) in lanes.iter_mut().zip(chunk) {
            *lane = if *x > *lane { *x } else { *lane };
        }
    }
    let all = lanes.iter().chain(rest);
    all.fold(f32::NEG_INFINITY, |a, b| a.max(*b))
}

/// The exponential to two parts in ten million, without a branch: a power of two and the Taylor
/// series of the rest.
#[inline(always)]
fn exp(x: f32) -> f32 {
    let x = x.clamp(-87.0, 88.0);
    let power = (x * std::f32::consts::LOG2_E + 12_582_912.0) - 12_582_912.0;
    let rest = power.mul_add(-0.693_359_4, x);
    let rest = power.mul_add(2.121_944_4e-4, rest);
    let mut sum = 1.0 / 720.0;
    for factor in [1.0 / 120.0, 1.0 / 24.0, 1.0 / 6.0, 0.5, 1.0, 1.0] {
        sum = rest.mul_add(sum, factor);
    }
    let scale = f32::from_bits(((power as i32 + 127) << 23) as u32);
    sum * scale
}

/// The Gaussian error linear unit, `x` times the normal distribution at `x`, after Abramowitz and
/// Stegun, 7.1.26: to 1.5 parts in ten million of the distribution.
pub fn gelu(values: &mut [f32]) {
    Arch::new().dispatch(Gelu(values));
}

struct Gelu<'a>(&'a mut [f32]);

impl WithSimd for Gelu<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for value in self.0 {
            let x = *value * std::f32::consts::FRAC_1_SQRT_2;
            let t = 1.0 / 0.327_591_1_f32.mul_add(x.abs(), 1.0);
            let mut sum = 0.0;
            for term in GELU_TERMS {
                sum = t * (sum + term);
            }
            let erf = (1.0 - sum * exp(-x * x)).copysign(x);
            *value *= 0.5 * (1.0 + erf);
        }
    }
}

/// The coefficients of the approximation, the last one first.
const GELU_TERMS: [f32; 5] = [
    1.061_405_4,
    -1.453_152,
    1.421_413_7,
    -0.284_496_74,
    0.254_829_6,
];

/// Scale and shift of a layer norm.
#[derive(Debug, Clone)]
pub struct Norm {
    pub scale: Vec<f32>,
    pub shift: Vec<f32>,
}

impl Norm {
    /// Each row with the mean 0 and the deviation 1, then scaled and shifted.
    pub fn apply(&self, rows: &[f32]) -> Vec<f32> {
        let width = self.scale.len();
        let mut out = rows.to_vec();
        for row in out.chunks_exact_mut(width) {
            let mean = row.iter().sum::<f32>() / width as f32;
            let square = |x: &f32| (x - mean) * (x - mean);
            let variance = row.iter().map(square).sum::<f32>() / width as f32;
            let share = 1.0 / (variance + 1e-5).sqrt();
            let with = self.scale.iter().zip(&self.shift);
            for (x, (scale, shift)) in row.iter_mut().zip(with) {
                *x = (*x - mean) * share * scale + shift;
            }
        }
        out
    }
}

/// Adds one row to every row.
pub fn add_to_each(rows: &mut [f32], one: &[f32]) {
    for row in rows.chunks_exact_mut(one.len()) {
        add(row, one);
    }
}

/// Adds one number to all.
pub fn shift(row: &mut [f32], by: f32) {
    for x in row {
        *x += by;
    }
}

/// Adds number by number.
pub fn add(to: &mut [f32], other: &[f32]) {
    for (a, b) in to.iter_mut().zip(other) {
        *a += b;
    }
}

/// Adds so many times the other.
#[inline(always)]
pub fn add_times(to: &mut [f32], times: f32, other: &[f32]) {
    for (a, b) in to.iter_mut().zip(other) {
        *a += times * b;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matrix::tests::noise;

    #[test]
    fn exponentials_and_the_unit_are_close() {
        for n in -800..=800 {
            let x = n as f32 / 10.0;
            assert!((exp(x) / x.exp() - 1.0).abs() < 4e-7, "{x}");
        }
        // From the tables of the normal distribution: 0.841345 at 1.
        let mut values = [0.0, 1.0, -1.0, 3.0, -30.0];
        gelu(&mut values);
        for (found, expected) in values
            .iter()
            .zip([0.0, 0.841_345, -0.158_655, 2.995_95, 0.0])
        {
            assert!((found - expected).abs() < 2e-6, "{found} {expected}");
        }
    }

    #[test]
    fn shares_sum_to_one() {
        let mut row = noise(53, 4);
        let expected: f32 = row.iter().map(|x| x.exp()).sum::<f32>().ln();
        assert!((log_sum_exp(&row) - expected).abs() < 1e-5);
        softmax(&mut row);
        assert!((row.iter().sum::<f32>() - 1.0).abs() < 1e-5);
    }
}
