//! The encoder: a spectrum to what the decoder listens to, one row for every 20 ms.

use crate::curves::{Norm, add, add_to_each, gelu, softmax};
use crate::matrix::{Panels, Rows, in_pieces, multiply};
use crate::spectrum::BANDS;
use crate::weights::{Weights, WeightsError};

/// Numbers that each attention head works with.
pub const HEAD: usize = 64;
/// Rows whose attention is computed at a time.
const BLOCK: usize = 48;
/// The most rows a network of this kind can give: 30 s.
pub const MOST_ROWS: usize = 1_500;
/// Frames that each step of the convolutions looks at.
const REACH: usize = 3;

/// Weights with what is added to their outputs.
pub struct Linear {
    weights: Panels,
    bias: Vec<f32>,
}

struct Layer {
    before_attention: Norm,
    /// Queries, keys and values.
    three: Linear,
    after_attention: Linear,
    before_forward: Norm,
    forward: [Linear; 2],
}

pub struct Encoder {
    pub width: usize,
    convolutions: [Linear; 2],
    positions: Vec<f32>,
    layers: Vec<Layer>,
    norm: Norm,
}

/// Takes a layer norm out of the weights.
pub fn take_norm(weights: &mut Weights, name: &str, width: usize) -> Result<Norm, WeightsError> {
    let mut part = |part: &str| weights.take(&format!("{name}/{part}"), &[width]);
    Ok(Norm {
        scale: part("gamma")?.to_floats(),
        shift: part("beta")?.to_floats(),
    })
}

impl Linear {
    pub fn take(
        weights: &mut Weights,
        name: &str,
        inputs: usize,
        outputs: usize,
    ) -> Result<Linear, WeightsError> {
        let values = weights.take(&format!("{name}/weight"), &[outputs, inputs])?;
        let values = values.to_floats();
        let rows = Rows {
            values: &values,
            stride: inputs,
        };
        Ok(Linear {
            weights: Panels::of_outputs(rows, outputs, inputs),
            bias: weights
                .take(&format!("{name}/bias"), &[outputs])?
                .to_floats(),
        })
    }

    /// Takes a convolution whose inputs come frame after frame.
    fn take_convolution(
        weights: &mut Weights,
        name: &str,
        bands: usize,
        outputs: usize,
    ) -> Result<Linear, WeightsError> {
        let values = weights.take(&format!("{name}/weight"), &[outputs, bands, REACH])?;
        let values = values.to_floats();
        let inputs = bands * REACH;
        let place = |n: usize| n / inputs * inputs + n % bands * REACH + n % inputs / bands;
        let turned: Vec<f32> = (0..values.len()).map(|n| values[place(n)]).collect();
        let rows = Rows {
            values: &turned,
            stride: inputs,
        };
        Ok(Linear {
            weights: Panels::of_outputs(rows, outputs, inputs),
            bias: weights
                .take(&format!("{name}/bias"), &[outputs])?
                .to_floats(),
        })
    }

    /// `count` rows of outputs; `then` is done to each piece.
    pub fn apply(
        &self,
        rows: Rows<'_>,
        count: usize,
        threads: usize,
        then: impl Fn(&mut [f32]) + Sync,
    ) -> Vec<f32> {
        let outputs = self.weights.outputs;
        let mut out = vec![0.0; count * outputs];
        in_pieces(threads, &mut out, outputs, |first, piece| {
            let rows = Rows {
                values: &rows.values[first * rows.stride..],
                stride: rows.stride,
            };
            multiply(rows, &self.weights, piece);
            add_to_each(piece, &self.bias);
            then(piece);
        });
        out
    }
}

impl Layer {
    fn take(weights: &mut Weights, name: &str, width: usize) -> Result<Layer, WeightsError> {
        let at = |part: &str| format!("{name}/{part}");
        let norm = |w: &mut Weights, part: &str| take_norm(w, &at(part), width);
        Ok(Layer {
            before_attention: norm(weights, "self_attention/layer_norm")?,
            three: Linear::take(weights, &at("self_attention/linear_0"), width, 3 * width)?,
            after_attention: Linear::take(weights, &at("self_attention/linear_1"), width, width)?,
            before_forward: norm(weights, "ffn/layer_norm")?,
            forward: [
                Linear::take(weights, &at("ffn/linear_0"), width, 4 * width)?,
                Linear::take(weights, &at("ffn/linear_1"), 4 * width, width)?,
            ],
        })
    }

    fn apply(&self, rows: &mut [f32], width: usize, threads: usize) {
        let count = rows.len() / width;
        let wide = |values, stride| Rows { values, stride };
        let nothing = |_: &mut [f32]| {};
        let normed = self.before_attention.apply(rows);
        let three = self
            .three
            .apply(wide(&normed, width), count, threads, nothing);
        let seen = attention(&three, width, count, threads);
        let seen = self
            .after_attention
            .apply(wide(&seen, width), count, threads, nothing);
        add(rows, &seen);
        let normed = self.before_forward.apply(rows);
        let [up, down] = &self.forward;
        let inner = up.apply(wide(&normed, width), count, threads, gelu);
        let outer = down.apply(wide(&inner, 4 * width), count, threads, nothing);
        add(rows, &outer);
    }
}

/// What each row sees of all rows, head by head.
fn attention(three: &[f32], width: usize, count: usize, threads: usize) -> Vec<f32> {
    let stride = 3 * width;
    let part = |first: usize| Rows {
        values: &three[first..],
        stride,
    };
    let heads = (0..width).step_by(HEAD).map(|head| {
        (
            Panels::of_outputs(part(width + head), count, HEAD),
            Panels::of_inputs(part(2 * width + head), count, HEAD),
        )
    });
    let heads: Vec<(Panels, Panels)> = heads.collect();
    let mut out = vec![0.0; count * width];
    in_pieces(threads, &mut out, width, |first, piece| {
        let mut scores = vec![0.0; BLOCK * count];
        let mut seen = vec![0.0; BLOCK * HEAD];
        for (block, out) in piece.chunks_mut(BLOCK * width).enumerate() {
            let size = out.len() / width;
            let from = (first + block * BLOCK) * stride;
            for (head, (keys, values)) in heads.iter().enumerate() {
                let scores = &mut scores[..size * count];
                multiply(part(from + head * HEAD), keys, scores);
                for row in scores.chunks_exact_mut(count) {
                    row.iter_mut().for_each(|x| *x *= SCALE);
                    softmax(row);
                }
                let rows = Rows {
                    values: scores,
                    stride: count,
                };
                let seen = &mut seen[..size * HEAD];
                multiply(rows, values, seen);
                for (out, seen) in out.chunks_exact_mut(width).zip(seen.chunks_exact(HEAD)) {
                    out[head * HEAD..][..HEAD].copy_from_slice(seen);
                }
            }
        }
    });
    out
}

/// One over the square root of [`HEAD`].
pub const SCALE: f32 = 0.125;

impl Encoder {
    /// # Errors
    ///
    /// An array is missing or has another shape than a network of this kind.
    pub fn take(weights: &mut Weights) -> Result<Encoder, WeightsError> {
        let width = weights.shape("encoder/layer_norm/gamma");
        let width = width.first().copied().unwrap_or(0);
        let convolution = Linear::take_convolution;
        let convolutions = [
            convolution(weights, "encoder/conv1", BANDS, width)?,
            convolution(weights, "encoder/conv2", width, width)?,
        ];
        let positions = "encoder/position_encodings/encodings";
        let positions = weights.take(positions, &[MOST_ROWS, width])?.to_floats();
        let mut layers = Vec::new();
        while weights.has(&format!("{}/ffn/linear_0/weight", layer(layers.len()))) {
            layers.push(Layer::take(weights, &layer(layers.len()), width)?);
        }
        Ok(Encoder {
            width,
            convolutions,
            positions,
            layers,
            norm: take_norm(weights, "encoder/layer_norm", width)?,
        })
    }

    /// Half as many rows as the spectrum has frames, which must be even and at most twice
    /// [`MOST_ROWS`].
    pub fn apply(&self, spectrum: &[f32], threads: usize) -> Vec<f32> {
        let [first, second] = &self.convolutions;
        let frames = spectrum.len() / BANDS;
        let padded = between_silence(spectrum, BANDS);
        let rows = Rows {
            values: &padded,
            stride: BANDS,
        };
        let frames_seen = first.apply(rows, frames, threads, gelu);
        let padded = between_silence(&frames_seen, self.width);
        let rows = Rows {
            values: &padded,
            stride: 2 * self.width,
        };
        let mut rows = second.apply(rows, frames / 2, threads, gelu);
        add(&mut rows, &self.positions);
        for layer in &self.layers {
            layer.apply(&mut rows, self.width, threads);
        }
        self.norm.apply(&rows)
    }
}

fn layer(number: usize) -> String {
    format!("encoder/layer_{number}")
}

/// The rows with one row of zeros before and one behind.
fn between_silence(rows: &[f32], width: usize) -> Vec<f32> {
    let mut padded = vec![0.0; rows.len() + 2 * width];
    padded[width..][..rows.len()].copy_from_slice(rows);
    padded
}
