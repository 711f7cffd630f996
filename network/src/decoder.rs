//! The decoder: what was written so far, and what was heard, to how likely each next piece is.

use std::sync::Arc;

use pulp::{Arch, Simd, WithSimd};

use crate::curves::{Norm, add, add_times, gelu, log_sum_exp, shift, softmax};
use crate::encoder::{HEAD, Linear, SCALE, take_norm};
use crate::half::HalfMatrix;
use crate::matrix::{Rows, in_pieces};
use crate::pieces::Piece;
use crate::weights::{Weights, WeightsError, to_float};

/// The most pieces a network of this kind can write.
pub const MOST_PIECES: usize = 448;

/// A layer's weights, kept in half precision, with what is added.
struct Small {
    weights: HalfMatrix,
    bias: Vec<f32>,
}

struct Layer {
    before_own: Norm,
    three: Small,
    after_own: Small,
    before_heard: Norm,
    queries: Small,
    after_heard: Small,
    before_forward: Norm,
    forward: [Small; 2],
    /// Keys and values of what was heard.
    heard: Linear,
}

pub struct Decoder {
    width: usize,
    embeddings: HalfMatrix,
    positions: Vec<f32>,
    layers: Vec<Layer>,
    norm: Norm,
    threads: usize,
}

/// What one utterance sounds like, as each layer looks at it.
pub struct Sound {
    layers: Vec<HeardLayer>,
}

/// Keys and values, head by head.
struct HeardLayer {
    /// Of how many times.
    count: usize,
    /// All times of a head's first number, then of its second.
    keys: Vec<f32>,
    values: Vec<f32>,
}

/// One piece that was written: keys and values of each layer.
type Written = Arc<Vec<Vec<f32>>>;

/// All that was written in a row. Rows with the same beginning share it.
pub type Past = Vec<Written>;

impl Small {
    fn take(
        weights: &mut Weights,
        name: &str,
        inputs: usize,
        outputs: usize,
    ) -> Result<Small, WeightsError> {
        let values = weights.take(&format!("{name}/weight"), &[outputs, inputs])?;
        Ok(Small {
            weights: HalfMatrix::new(values),
            bias: weights
                .take(&format!("{name}/bias"), &[outputs])?
                .to_floats(),
        })
    }

    /// Row after row.
    fn apply(&self, rows: &[f32]) -> Vec<f32> {
        let count = rows.len() / self.weights.inputs;
        let outputs = self.bias.len();
        let mut dots = vec![0.0; count * outputs];
        self.weights.dots(rows, 0, &mut dots);
        let mut out = vec![0.0; count * outputs];
        for (output, dots) in dots.chunks_exact(count).enumerate() {
            for (row, dot) in dots.iter().enumerate() {
                out[row * outputs + output] = dot + self.bias[output];
            }
        }
        out
    }
}

impl Layer {
    fn take(weights: &mut Weights, name: &str, width: usize) -> Result<Layer, WeightsError> {
        let at = |part: &str| format!("{name}/{part}");
        let norm = |w: &mut Weights, part: &str| take_norm(w, &at(part), width);
        let small = |w: &mut Weights, part: &str, inputs, outputs| {
            Small::take(w, &at(part), inputs * width, outputs * width)
        };
        Ok(Layer {
            before_own: norm(weights, "self_attention/layer_norm")?,
            three: small(weights, "self_attention/linear_0", 1, 3)?,
            after_own: small(weights, "self_attention/linear_1", 1, 1)?,
            before_heard: norm(weights, "attention/layer_norm")?,
            queries: small(weights, "attention/linear_0", 1, 1)?,
            after_heard: small(weights, "attention/linear_2", 1, 1)?,
            before_forward: norm(weights, "ffn/layer_norm")?,
            forward: [
                small(weights, "ffn/linear_0", 1, 4)?,
                small(weights, "ffn/linear_1", 4, 1)?,
            ],
            heard: Linear::take(weights, &at("attention/linear_1"), width, 2 * width)?,
        })
    }

    fn listen(&self, encoded: &[f32], width: usize, threads: usize) -> HeardLayer {
        let count = encoded.len() / width;
        let rows = Rows {
            values: encoded,
            stride: width,
        };
        let both = self.heard.apply(rows, count, threads, |_| {});
        let mut keys = vec![0.0; count * width];
        let mut values = vec![0.0; count * width];
        for (time, both) in both.chunks_exact(2 * width).enumerate() {
            let (key, value) = both.split_at(width);
            for (n, key) in key.iter().enumerate() {
                keys[n * count + time] = *key;
            }
            for (head, value) in value.chunks_exact(HEAD).enumerate() {
                values[(head * count + time) * HEAD..][..HEAD].copy_from_slice(value);
            }
        }
        HeardLayer {
            count,
            keys,
            values,
        }
    }

    /// One step of a few rows; gives what each wrote.
    fn apply(
        &self,
        rows: &mut [f32],
        width: usize,
        number: usize,
        pasts: &[&Past],
        heard: &HeardLayer,
    ) -> Vec<Vec<f32>> {
        let three = self.three.apply(&self.before_own.apply(rows));
        let mut written = Vec::with_capacity(pasts.len());
        let mut seen = vec![0.0; rows.len()];
        let mut weights = Vec::new();
        for (row, (three, past)) in three.chunks_exact(3 * width).zip(pasts).enumerate() {
            let (query, own) = three.split_at(width);
            let seen = &mut seen[row * width..][..width];
            look_back(query, own, past, number, seen, &mut weights);
            written.push(own.to_vec());
        }
        add(rows, &self.after_own.apply(&seen));
        let queries = self.queries.apply(&self.before_heard.apply(rows));
        seen.fill(0.0);
        for (query, seen) in queries
            .chunks_exact(width)
            .zip(seen.chunks_exact_mut(width))
        {
            Arch::new().dispatch(Look { heard, query, seen });
        }
        add(rows, &self.after_heard.apply(&seen));
        let [up, down] = &self.forward;
        let mut inner = up.apply(&self.before_forward.apply(rows));
        gelu(&mut inner);
        add(rows, &down.apply(&inner));
        written
    }
}

/// What a row sees of what it wrote itself, its newest piece (keys, then values) included.
fn look_back(
    query: &[f32],
    own: &[f32],
    past: &Past,
    layer: usize,
    seen: &mut [f32],
    weights: &mut Vec<f32>,
) {
    let width = query.len();
    let pieces = || past.iter().map(|written| written[layer].as_slice());
    let pieces = || pieces().chain([own]);
    for head in (0..width).step_by(HEAD) {
        let query = &query[head..][..HEAD];
        weights.clear();
        weights.extend(pieces().map(|piece| {
            let pairs = query.iter().zip(&piece[head..]);
            SCALE * pairs.map(|(a, b)| a * b).sum::<f32>()
        }));
        softmax(weights);
        for (weight, piece) in weights.iter().zip(pieces()) {
            add_times(&mut seen[head..][..HEAD], *weight, &piece[width + head..]);
        }
    }
}

/// What a row sees of what was heard.
struct Look<'a> {
    heard: &'a HeardLayer,
    query: &'a [f32],
    seen: &'a mut [f32],
}

impl WithSimd for Look<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let count = self.heard.count;
        let mut weights = vec![0.0; count];
        let heads = self.query.chunks_exact(HEAD);
        for (head, (query, seen)) in heads.zip(self.seen.chunks_exact_mut(HEAD)).enumerate() {
            let keys = self.heard.keys[head * HEAD * count..].chunks_exact(count);
            weights.fill(0.0);
            for (x, keys) in query.iter().zip(keys) {
                add_times(&mut weights, SCALE * x, keys);
            }
            softmax(&mut weights);
            let values = self.heard.values[head * HEAD * count..].chunks_exact(HEAD);
            for (weight, value) in weights.iter().zip(values) {
                add_times(seen, *weight, value);
            }
        }
    }
}

/// A row that goes on: what it wrote, and the piece it writes now.
#[derive(Debug, Clone)]
pub struct Row {
    pub past: Past,
    pub piece: Piece,
}

/// Where a row stands after a step.
pub struct Next {
    pub past: Past,
    /// For each piece of the vocabulary the natural logarithm of how likely it is to follow.
    pub likely: Vec<f32>,
}

impl Decoder {
    /// # Errors
    ///
    /// An array is missing or has another shape than a network of this kind.
    pub fn take(weights: &mut Weights, threads: usize) -> Result<Decoder, WeightsError> {
        let shape = weights.shape("decoder/embeddings/weight").to_vec();
        let (pieces, width) = match shape[..] {
            [pieces, width] => (pieces, width),
            _ => (0, 0),
        };
        let embeddings = weights.take("decoder/embeddings/weight", &[pieces, width])?;
        let positions = "decoder/position_encodings/encodings";
        let positions = weights.take(positions, &[MOST_PIECES, width])?;
        let mut layers = Vec::new();
        let layer = |number: usize| format!("decoder/layer_{number}");
        while weights.has(&format!("{}/ffn/linear_0/weight", layer(layers.len()))) {
            layers.push(Layer::take(weights, &layer(layers.len()), width)?);
        }
        Ok(Decoder {
            width,
            embeddings: HalfMatrix::new(embeddings),
            positions: positions.to_floats(),
            layers,
            norm: take_norm(weights, "decoder/layer_norm", width)?,
            threads,
        })
    }

    /// How many pieces the vocabulary has.
    pub fn pieces(&self) -> usize {
        self.embeddings.outputs()
    }

    /// Takes in what the encoder gave.
    pub fn listen(&self, encoded: &[f32]) -> Sound {
        let layers = self.layers.iter();
        let layers = layers.map(|layer| layer.listen(encoded, self.width, self.threads));
        Sound {
            layers: layers.collect(),
        }
    }

    /// One piece more for each row, all of which wrote equally many. Pieces are below
    /// [`Decoder::pieces`], and rows shorter than [`MOST_PIECES`].
    pub fn step(&self, rows: Vec<Row>, sound: &Sound) -> Vec<Next> {
        let count = rows.len();
        let each = count.div_ceil(self.threads).max(1);
        let mut hidden = vec![0.0; count * self.width];
        let mut written: Vec<Written> = Vec::with_capacity(count);
        std::thread::scope(|scope| {
            let pieces = hidden.chunks_mut(each * self.width);
            let mut parts = pieces.zip(rows.chunks(each));
            let own = parts.next();
            let others: Vec<_> = parts
                .map(|(hidden, rows)| scope.spawn(move || self.write(rows, sound, hidden)))
                .collect();
            written.extend(
                own.into_iter()
                    .flat_map(|(hidden, rows)| self.write(rows, sound, hidden)),
            );
            for other in others {
                written.extend(other.join().unwrap_or_default());
            }
        });
        let all = self.scores(&hidden, count);
        let parts = rows.into_iter().zip(written).zip(all);
        let next = parts.map(|((mut row, written), mut likely)| {
            row.past.push(written);
            let sum = log_sum_exp(&likely);
            shift(&mut likely, -sum);
            Next {
                past: row.past,
                likely,
            }
        });
        next.collect()
    }

    /// Takes rows through the layers; `hidden` gets where they come out.
    fn write(&self, rows: &[Row], sound: &Sound, hidden: &mut [f32]) -> Vec<Written> {
        for (row, hidden) in rows.iter().zip(hidden.chunks_exact_mut(self.width)) {
            let position = &self.positions[row.past.len() * self.width..];
            let embedding = self
                .embeddings
                .row(row.piece as usize)
                .iter()
                .map(|x| to_float(*x));
            for ((x, embedding), position) in hidden.iter_mut().zip(embedding).zip(position) {
                *x = embedding + position;
            }
        }
        let pasts: Vec<&Past> = rows.iter().map(|row| &row.past).collect();
        let mut written = vec![Vec::with_capacity(self.layers.len()); rows.len()];
        let layers = self.layers.iter().zip(&sound.layers);
        for (number, (layer, heard)) in layers.enumerate() {
            let step = layer.apply(hidden, self.width, number, &pasts, heard);
            for (written, step) in written.iter_mut().zip(step) {
                written.push(step);
            }
        }
        let normed = self.norm.apply(hidden);
        hidden.copy_from_slice(&normed);
        written.into_iter().map(Arc::new).collect()
    }

    fn scores(&self, hidden: &[f32], count: usize) -> Vec<Vec<f32>> {
        let mut dots = vec![0.0; self.pieces() * count];
        in_pieces(self.threads, &mut dots, count, |first, piece| {
            self.embeddings.dots(hidden, first, piece);
        });
        let row = |row: usize| dots[row..].iter().step_by(count).copied().collect();
        (0..count).map(row).collect()
    }
}
