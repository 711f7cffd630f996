//! Samples to the logarithmic mel spectrum that the network was trained on.
//!
//! Frames of 25 ms every 10 ms, 80 bands after Slaney's mel scale (linear below 1 kHz, logarithmic
//! above), in tens of decibels, cut off 80 dB below the loudest. Checked against a reference
//! implementation in `tests/reference/network/`.

use crate::matrix::{Panels, Rows, multiply};

/// Samples from one frame to the next: 10 ms.
pub const HOP: usize = 160;
/// Bands of a frame.
pub const BANDS: usize = 80;
/// Samples of a frame.
const FRAME: usize = 400;
/// Frequencies of a frame's spectrum, from 0 to half the sample rate.
const BINS: usize = FRAME / 2 + 1;
/// The frequency of the last bin.
const HIGHEST_HZ: f64 = 8_000.0;
/// The smallest power that is told from silence.
const FLOOR: f32 = 1e-10;
/// How many tens of decibels below the loudest are kept.
const DEPTH: f32 = 8.0;

/// The transform and the bands, made once.
pub struct Spectrum {
    /// From a frame to the real and then the imaginary parts of its spectrum, window included.
    transform: Panels,
    bands: Vec<Band>,
}

/// The weights of a band, from its first bin on.
struct Band {
    first: usize,
    weights: Vec<f32>,
}

impl Spectrum {
    pub fn new() -> Spectrum {
        let turn = std::f64::consts::TAU / FRAME as f64;
        let mut basis = Vec::with_capacity(2 * BINS * FRAME);
        for output in 0..2 * BINS {
            for n in 0..FRAME {
                let window = 0.5 - 0.5 * (turn * n as f64).cos();
                // Reduced first, so that the angle is exact.
                let angle = turn * ((output % BINS * n) % FRAME) as f64;
                let wave = match output < BINS {
                    true => angle.cos(),
                    false => angle.sin(),
                };
                basis.push((window * wave) as f32);
            }
        }
        let rows = Rows {
            values: &basis,
            stride: FRAME,
        };
        Spectrum {
            transform: Panels::of_outputs(rows, 2 * BINS, FRAME),
            bands: bands(),
        }
    }

    /// The spectrum of so many frames, frame after frame, [`BANDS`] numbers each. Behind the
    /// samples there is silence; samples beyond the frames are left out.
    pub fn of(&self, samples: &[i16], frames: usize) -> Vec<f32> {
        let samples = &samples[..samples.len().min(frames * HOP)];
        // Frames behind these hold no sample.
        let sounding = (samples.len() + FRAME / 2).div_ceil(HOP).min(frames);
        let signal = mirrored(samples, sounding * HOP + FRAME, frames * HOP);
        let rows = Rows {
            values: &signal,
            stride: HOP,
        };
        let mut parts = vec![0.0; sounding * 2 * BINS];
        multiply(rows, &self.transform, &mut parts);
        let mut spectrum = vec![FLOOR.log10(); frames * BANDS];
        let mut powers = [0.0; BINS];
        for (parts, bands) in parts
            .chunks_exact(2 * BINS)
            .zip(spectrum.chunks_exact_mut(BANDS))
        {
            let (real, imaginary) = parts.split_at(BINS);
            for (power, (a, b)) in powers.iter_mut().zip(real.iter().zip(imaginary)) {
                *power = a * a + b * b;
            }
            for (value, band) in bands.iter_mut().zip(&self.bands) {
                let powers = powers[band.first..].iter().zip(&band.weights);
                let sum: f32 = powers.map(|(power, weight)| power * weight).sum();
                *value = sum.max(FLOOR).log10();
            }
        }
        let loudest = spectrum.iter().fold(f32::MIN, |a, b| a.max(*b));
        for value in &mut spectrum {
            *value = (value.max(loudest - DEPTH) + 4.0) / 4.0;
        }
        spectrum
    }
}

/// `length` numbers from -1 to 1 of a signal that begins half a frame before the samples, as their
/// mirror image, and is silent behind them. Samples that fill all `whole` are mirrored at their
/// end too.
fn mirrored(samples: &[i16], length: usize, whole: usize) -> Vec<f32> {
    let half = FRAME / 2;
    let at = |place: usize| -> f32 {
        let place = place.abs_diff(half);
        let place = match place < whole {
            true => place,
            false => (2 * whole).saturating_sub(place + 2),
        };
        samples.get(place).map_or(0.0, |s| f32::from(*s) / 32_768.0)
    };
    (0..length).map(at).collect()
}

/// Triangles between the neighboring bands' centers, each of the same area.
fn bands() -> Vec<Band> {
    let top = to_mel(HIGHEST_HZ);
    let edge = |n: usize| to_hz(top * n as f64 / (BANDS + 1) as f64);
    let band = |n: usize| {
        let (low, center, high) = (edge(n), edge(n + 1), edge(n + 2));
        let weight = |bin: usize| {
            let hz = HIGHEST_HZ * bin as f64 / (BINS - 1) as f64;
            let slope = ((hz - low) / (center - low)).min((high - hz) / (high - center));
            (slope.max(0.0) * 2.0 / (high - low)) as f32
        };
        let first = (0..BINS).find(|bin| weight(*bin) > 0.0).unwrap_or(0);
        let weights = (first..BINS).map(weight).take_while(|weight| *weight > 0.0);
        Band {
            first,
            weights: weights.collect(),
        }
    };
    (0..BANDS).map(band).collect()
}

/// Hertz a mel in the linear part.
const LINEAR: f64 = 200.0 / 3.0;
/// Where the logarithmic part begins.
const BEND_HZ: f64 = 1_000.0;
/// 27 steps of the logarithmic part are a factor of this.
const FACTOR: f64 = 6.4;

fn to_mel(hz: f64) -> f64 {
    match hz < BEND_HZ {
        true => hz / LINEAR,
        false => BEND_HZ / LINEAR + 27.0 * (hz / BEND_HZ).ln() / FACTOR.ln(),
    }
}

fn to_hz(mel: f64) -> f64 {
    let bend = BEND_HZ / LINEAR;
    match mel < bend {
        true => mel * LINEAR,
        false => BEND_HZ * (FACTOR.ln() * (mel - bend) / 27.0).exp(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_lights_its_band() {
        let tone = |hz: f64| -> Vec<i16> {
            let wave = |n: usize| (std::f64::consts::TAU * hz * n as f64 / 16_000.0).sin();
            (0..16_000).map(|n| (10_000.0 * wave(n)) as i16).collect()
        };
        let spectrum = Spectrum::new();
        for hz in [300.0, 1_000.0, 4_000.0] {
            let frames = spectrum.of(&tone(hz), 100);
            let frame = &frames[50 * BANDS..51 * BANDS];
            let loudest = (0..BANDS).max_by(|a, b| frame[*a].total_cmp(&frame[*b]));
            let center = to_hz(to_mel(HIGHEST_HZ) * (loudest.unwrap() + 1) as f64 / 81.0);
            assert!((center / hz - 1.0).abs() < 0.1, "{hz} {center}");
        }
    }

    #[test]
    fn any_length_gives_as_many_frames_as_asked_for() {
        let spectrum = Spectrum::new();
        for length in [0, 1, 199, 400, 16_000, 40_000] {
            let frames = spectrum.of(&vec![i16::MIN; length], 200);
            assert_eq!(frames.len(), 200 * BANDS);
            assert!(frames.iter().all(|value| value.is_finite()));
        }
    }
}
