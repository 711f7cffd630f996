//! Any sample rate to the 16 kHz that recognizers hear, as a stream.

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Resampler as _};

use super::recognizer::SAMPLE_RATE;

/// Sample rates that can be converted, in hertz.
pub const RATES: std::ops::RangeInclusive<u32> = 1_000..=768_000;

/// Samples taken in at once.
const CHUNK: usize = 1024;

/// Converts mono blocks of any length. What comes out in all has the length of what went in, and no
/// delay: a sound keeps its time to within a sample.
pub struct Resampler {
    converter: Option<Converter>,
}

struct Converter {
    inner: Fft<f32>,
    from: u32,
    waiting: Vec<f32>,
    output: Vec<f32>,
    /// Output samples still to drop: the converter's own delay.
    delay: usize,
    taken: u64,
    given: u64,
}

/// A rate outside [`RATES`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("sample rate is {found} Hz, expected {} to {} Hz", RATES.start(), RATES.end())]
pub struct RateError {
    pub found: u32,
}

impl Resampler {
    /// A converter from `from` hertz.
    ///
    /// # Errors
    ///
    /// A rate outside [`RATES`].
    pub fn new(from: u32) -> Result<Resampler, RateError> {
        if !RATES.contains(&from) {
            return Err(RateError { found: from });
        }
        if from == SAMPLE_RATE {
            return Ok(Resampler { converter: None });
        }
        let refused = |_| RateError { found: from };
        let (input, output) = (from as usize, SAMPLE_RATE as usize);
        let inner = Fft::new(input, output, CHUNK, 1, FixedSync::Input).map_err(refused)?;
        Ok(Resampler {
            converter: Some(Converter {
                delay: inner.output_delay(),
                output: vec![0.0; inner.output_frames_max()],
                inner,
                from,
                waiting: Vec::new(),
                taken: 0,
                given: 0,
            }),
        })
    }

    /// Converts the next samples, each from -1 to 1. Some may be kept for the next call.
    pub fn push(&mut self, samples: &[f32]) -> Vec<i16> {
        match &mut self.converter {
            None => samples.iter().map(|s| to_16_bits(*s)).collect(),
            Some(converter) => converter.push(samples),
        }
    }

    /// Gives what is still kept. The converter is ready for another stream afterwards.
    pub fn finish(&mut self) -> Vec<i16> {
        match &mut self.converter {
            None => Vec::new(),
            Some(converter) => converter.finish(),
        }
    }
}

impl Converter {
    fn push(&mut self, samples: &[f32]) -> Vec<i16> {
        self.taken += samples.len() as u64;
        self.waiting.extend_from_slice(samples);
        let mut converted = Vec::new();
        let mut start = 0;
        while self.waiting.len() - start >= self.inner.input_frames_next() {
            let end = start + self.inner.input_frames_next();
            self.convert(start, end, &mut converted);
            start = end;
        }
        self.waiting.drain(..start);
        self.given += converted.len() as u64;
        converted
    }

    /// Pushes silence until everything taken in has come out, then cuts to its exact length.
    fn finish(&mut self) -> Vec<i16> {
        let whole = self.taken * u64::from(SAMPLE_RATE) / u64::from(self.from);
        let missing = whole.saturating_sub(self.given) as usize;
        let mut converted = Vec::new();
        while converted.len() < missing {
            let silence = vec![0.0; self.inner.input_frames_next() - self.waiting.len()];
            converted.extend(self.push(&silence));
        }
        converted.truncate(missing);
        self.inner.reset();
        self.waiting.clear();
        self.delay = self.inner.output_delay();
        (self.taken, self.given) = (0, 0);
        converted
    }

    fn convert(&mut self, start: usize, end: usize, converted: &mut Vec<i16>) {
        let length = self.output.len();
        let (Ok(input), Ok(mut output)) = (
            InterleavedSlice::new(&self.waiting[start..end], 1, end - start),
            InterleavedSlice::new_mut(&mut self.output, 1, length),
        ) else {
            unreachable!("one channel of `n` frames is a slice of `n` samples");
        };
        let written = match self.inner.process_into_buffer(&input, &mut output, None) {
            Ok((_, written)) => written,
            Err(why) => unreachable!("both buffers have the sizes the converter asked for: {why}"),
        };
        let dropped = self.delay.min(written);
        self.delay -= dropped;
        converted.extend(self.output[dropped..written].iter().map(|s| to_16_bits(*s)));
    }
}

/// Full scale is 32768, as in WAV files; beyond it is clipped, what is not a number is silence.
fn to_16_bits(sample: f32) -> i16 {
    (sample * 32_768.0).round() as i16
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(rate: u32, seconds: f64, hertz: f64) -> Vec<f32> {
        let count = (f64::from(rate) * seconds) as usize;
        (0..count)
            .map(|n| {
                (0.5 * (n as f64 / f64::from(rate) * hertz * std::f64::consts::TAU).sin()) as f32
            })
            .collect()
    }

    fn converted(rate: u32, samples: &[f32], block: usize) -> Vec<i16> {
        let mut resampler = Resampler::new(rate).unwrap();
        let mut all: Vec<i16> = samples
            .chunks(block)
            .flat_map(|b| resampler.push(b))
            .collect();
        all.extend(resampler.finish());
        all
    }

    #[test]
    fn a_tone_keeps_its_pitch_level_and_time_from_any_rate() {
        let expected: Vec<f32> = tone(SAMPLE_RATE, 0.5, 440.0);
        for rate in [8_000, 11_025, 22_050, 24_000, 44_100, 48_000, 96_000] {
            let samples = tone(rate, 0.5, 440.0);
            let heard = converted(rate, &samples, 999);
            assert_eq!(
                heard.len(),
                samples.len() * 16_000 / rate as usize,
                "at {rate} Hz"
            );
            for n in 800..7_200 {
                let found = f32::from(heard[n]) / 32_768.0;
                let near = |wanted: &f32| (found - wanted).abs() < 0.05;
                assert!(
                    expected[n - 1..=n + 1].iter().any(near),
                    "at {rate} Hz sample {n}: found {found}, expected {}",
                    expected[n]
                );
            }
            assert!(
                heard.iter().any(|s| *s > 16_000),
                "at {rate} Hz it lost level"
            );
        }
    }

    #[test]
    fn what_16_khz_cannot_hold_is_taken_out() {
        let heard = converted(48_000, &tone(48_000, 0.5, 12_000.0), 4_096);
        assert!(
            heard[800..7_200].iter().all(|s| s.abs() < 330),
            "an alias is left"
        );
    }

    #[test]
    fn blocks_of_any_length_give_the_same_samples() {
        let samples = tone(44_100, 0.3, 700.0);
        let whole = converted(44_100, &samples, samples.len());
        for block in [1, 17, 1_024, 5_000] {
            assert_eq!(converted(44_100, &samples, block), whole);
        }
    }

    #[test]
    fn a_finished_converter_starts_again() {
        let samples = tone(22_050, 0.2, 300.0);
        let mut resampler = Resampler::new(22_050).unwrap();
        let mut round = || {
            let mut all = resampler.push(&samples);
            all.extend(resampler.finish());
            all
        };
        assert_eq!(round(), round());
    }

    #[test]
    fn sixteen_kilohertz_passes_unchanged() {
        let samples = [0.0, -1.0, 0.5, 2.0, f32::NAN];
        assert_eq!(
            converted(SAMPLE_RATE, &samples, 2),
            [0, -32_768, 16_384, 32_767, 0]
        );
    }

    #[test]
    fn rates_out_of_range_are_named() {
        let message = |rate| Resampler::new(rate).err().unwrap().to_string();
        assert_eq!(
            message(0),
            "sample rate is 0 Hz, expected 1000 to 768000 Hz"
        );
    }
}
