//! Weights that stay in half precision: a few rows of numbers against many outputs.
//!
//! What a decoder does for each piece of a word is bound by how fast its weights come from memory,
//! so they are kept as they are in the file and widened in registers.

use pulp::{Arch, Simd, WithSimd};

use crate::matrix::ROWS;
use crate::weights::{Array, HALF_SCALE, from_half_scaled};

/// A layer's weights in half precision, one row for each output.
#[derive(Debug, Clone)]
pub struct HalfMatrix {
    pub inputs: usize,
    bits: Vec<u16>,
}

impl HalfMatrix {
    /// From an array of two dimensions.
    pub fn new(array: Array) -> HalfMatrix {
        HalfMatrix {
            inputs: array.shape.last().copied().unwrap_or(0),
            bits: array.bits,
        }
    }

    pub fn outputs(&self) -> usize {
        self.bits.len() / self.inputs.max(1)
    }

    /// The weights of one output.
    pub fn row(&self, output: usize) -> &[u16] {
        &self.bits[output * self.inputs..][..self.inputs]
    }

    /// What a few rows of `inputs` numbers give for the outputs from `first` on: as many for each
    /// output as there are rows, output by output.
    pub fn dots(&self, rows: &[f32], first: usize, out: &mut [f32]) {
        let count = rows.len() / self.inputs.max(1);
        if count == 0 {
            return;
        }
        let scaled: Vec<f32> = rows.iter().map(|x| x * HALF_SCALE).collect();
        let outputs = out.len() / count;
        let bits = &self.bits[first * self.inputs..][..outputs * self.inputs];
        let work = Dots {
            rows: &scaled,
            inputs: self.inputs,
            bits,
            count,
            out,
        };
        Arch::new().dispatch(work);
    }
}

struct Dots<'a> {
    rows: &'a [f32],
    inputs: usize,
    bits: &'a [u16],
    count: usize,
    out: &'a mut [f32],
}

impl WithSimd for Dots<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(mut self, _: S) {
        let mut first = 0;
        while first < self.count {
            match self.count - first {
                1 => self.some::<1>(first),
                2 => self.some::<2>(first),
                3 => self.some::<3>(first),
                4 => self.some::<4>(first),
                5 => self.some::<5>(first),
                _ => self.some::<ROWS>(first),
            }
            first += ROWS;
        }
    }
}

impl Dots<'_> {
    /// The dot products of `COUNT` rows from `first` on.
    #[inline(always)]
    fn some<const COUNT: usize>(&mut self, first: usize) {
        const LANES: usize = 8;
        let row = |n: usize| {
            let row = &self.rows[(first + n) * self.inputs..][..self.inputs];
            row.as_chunks::<LANES>().0
        };
        let rows: [&[[f32; LANES]]; COUNT] = std::array::from_fn(row);
        let weights = self.bits.chunks_exact(self.inputs);
        for (weights, out) in weights.zip(self.out.chunks_exact_mut(self.count)) {
            let (weights, _) = weights.as_chunks::<LANES>();
            let mut sums = [[0.0_f32; LANES]; COUNT];
            for (at, weights) in weights.iter().enumerate() {
                let weights = weights.map(from_half_scaled);
                for (sums, row) in sums.iter_mut().zip(rows) {
                    let row = row[at];
                    for lane in 0..LANES {
                        sums[lane] = row[lane].mul_add(weights[lane], sums[lane]);
                    }
                }
            }
            for (sums, out) in sums.iter().zip(&mut out[first..]) {
                *out = sums.iter().sum();
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matrix::tests::noise;

    #[test]
    fn dot_products_take_half_precision_exactly() {
        let inputs = 24;
        let array = Array {
            shape: vec![9, inputs],
            bits: (0..9 * inputs as u16).map(|n| n * 199).collect(),
        };
        let weights = array.to_floats();
        let matrix = HalfMatrix::new(array);
        for count in [1, 2, 5, 6, 8] {
            let rows = noise(count * inputs, 3);
            let mut out = vec![0.0; 4 * count];
            matrix.dots(&rows, 3, &mut out);
            for (n, found) in out.iter().enumerate() {
                let (output, row) = (3 + n / count, n % count);
                let pairs = rows[row * inputs..][..inputs]
                    .iter()
                    .zip(&weights[output * inputs..]);
                let expected: f32 = pairs.map(|(x, w)| x * w).sum();
                assert!((found - expected).abs() <= 1e-5 * expected.abs().max(1.0));
            }
        }
    }
}
