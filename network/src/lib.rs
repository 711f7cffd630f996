//! Runs a pretrained network that writes down speech: from samples to how likely each next piece of
//! text is. It knows nothing of grammars; whoever searches for the likeliest text does.
//!
//! The network is an encoder and decoder of transformer layers with the weights of a CTranslate2
//! file. `spectrum`, `encoder` and `decoder` are its parts, `pieces` its vocabulary, `weights` the
//! file, `adaptation` what changes it, and `half`, `matrix` and `curves` the arithmetic.
//!
//! A crate of its own, so that it is compiled with optimisation in every profile: without, an
//! utterance would take minutes.

mod adaptation;
mod curves;
mod decoder;
mod encoder;
mod half;
mod matrix;
mod pieces;
#[cfg(test)]
mod reference;
mod spectrum;
mod weights;

use std::path::Path;

pub use decoder::{MOST_PIECES, Next, Past, Row, Sound};
pub use pieces::{Marks, Piece, Pieces, PiecesError};
pub use weights::WeightsError;

use decoder::Decoder;
use encoder::Encoder;
use spectrum::{HOP, Spectrum};
use weights::Weights;

/// Samples per second.
pub const SAMPLE_RATE: usize = 16_000;

/// The files in the folder of a network: weights and vocabulary.
pub const FILES: [&str; 2] = ["model.bin", "vocabulary.txt"];

/// What is heard at a time, with silence behind it: 15 s. With less a network as it was trained repeats
/// itself, more gives nothing: measured on phrases of half a second to four.
const HEARD_FRAMES: usize = 15 * SAMPLE_RATE / HOP;

/// What is heard at a time by a network that is adapted to it, where the samples leave
/// [`SILENT_FRAMES`] of silence: 8 s.
const ADAPTED_FRAMES: usize = 8 * SAMPLE_RATE / HOP;

/// Silence at least behind what is heard in [`ADAPTED_FRAMES`].
const SILENT_FRAMES: usize = SAMPLE_RATE / 2 / HOP;

/// The most that is heard: 30 s.
const MOST_FRAMES: usize = 2 * HEARD_FRAMES;

/// Threads that compute at a time; more wait for one another.
const MOST_THREADS: usize = 4;

/// A loaded network.
pub struct Network {
    spectrum: Spectrum,
    encoder: Encoder,
    decoder: Decoder,
    pieces: Pieces,
    threads: usize,
    adapted: bool,
}

/// Why a folder is no network.
#[derive(Debug, thiserror::Error)]
pub enum NetworkError {
    #[error("`{file}` cannot be read: {why}")]
    File {
        file: &'static str,
        why: std::io::Error,
    },
    #[error("`model.bin` is no file of weights: {0}")]
    Weights(#[from] WeightsError),
    #[error("the changes to `model.bin` do not fit it: {0}")]
    Changes(WeightsError),
    #[error("`vocabulary.txt` is no vocabulary: {0}")]
    Pieces(#[from] PiecesError),
    #[error("`vocabulary.txt` has {found} pieces, expected {expected} as in `model.bin`")]
    Count { found: usize, expected: usize },
}

impl Network {
    /// Loads the files of a folder, which takes about a second. Changes to the weights, in a file as
    /// `adaptation` tells, are made where they were made for these weights; for none, give no bytes.
    ///
    /// # Errors
    ///
    /// See [`NetworkError`].
    pub fn open(folder: &Path, changes: &[u8]) -> Result<Network, NetworkError> {
        let [model, vocabulary] = FILES;
        let failed = |file| move |why| NetworkError::File { file, why };
        let bytes = std::fs::read(folder.join(model)).map_err(failed(model))?;
        let mut weights = Weights::parse(&bytes)?;
        drop(bytes);
        let mut adapted = false;
        if !changes.is_empty() {
            let changes = Weights::parse(changes).map_err(NetworkError::Changes)?;
            adapted = adaptation::is_for(&changes, &weights);
            if adapted {
                adaptation::apply(&changes, &mut weights).map_err(NetworkError::Changes)?;
            }
        }
        let text = std::fs::read_to_string(folder.join(vocabulary)).map_err(failed(vocabulary))?;
        let pieces = Pieces::parse(&text)?;
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let threads = threads.min(MOST_THREADS);
        let encoder = Encoder::take(&mut weights)?;
        let decoder = Decoder::take(&mut weights, threads)?;
        let (found, expected) = (pieces.count(), decoder.pieces());
        if found != expected {
            return Err(NetworkError::Count { found, expected });
        }
        Ok(Network {
            spectrum: Spectrum::new(),
            encoder,
            decoder,
            pieces,
            threads,
            adapted,
        })
    }

    /// Whether the changes were for these weights.
    pub fn is_adapted(&self) -> bool {
        self.adapted
    }

    /// Hears samples; beyond 30 s they are left out.
    pub fn listen(&self, samples: &[i16]) -> Sound {
        self.decoder.listen(&self.encode(samples))
    }

    fn encode(&self, samples: &[i16]) -> Vec<f32> {
        let sounding = samples.len().div_ceil(HOP);
        let frames = match sounding {
            short if self.adapted && short <= ADAPTED_FRAMES - SILENT_FRAMES => ADAPTED_FRAMES,
            middle if middle <= HEARD_FRAMES => HEARD_FRAMES,
            _ => MOST_FRAMES,
        };
        let spectrum = self.spectrum.of(samples, frames);
        self.encoder.apply(&spectrum, self.threads)
    }

    /// Writes one piece more in each row, all of which wrote equally many, and gives how likely
    /// each piece is to follow.
    pub fn step(&self, rows: Vec<Row>, sound: &Sound) -> Vec<Next> {
        self.decoder.step(rows, sound)
    }

    pub fn pieces(&self) -> &Pieces {
        &self.pieces
    }
}
