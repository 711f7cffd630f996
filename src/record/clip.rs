//! What was heard, as a WAV file: one file an utterance.

use std::io::Cursor;

/// The audio of one utterance, on its way into the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clip {
    /// From `Record::next_clip`.
    pub file: String,
    /// One channel.
    pub samples: Vec<i16>,
    /// Samples a second.
    pub rate: u32,
}

impl Clip {
    /// The WAV file's bytes: one channel, 16 bit.
    ///
    /// # Errors
    ///
    /// Says why where the format cannot hold the clip (over 4 GiB).
    pub(crate) fn to_wav(&self) -> Result<Vec<u8>, String> {
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: self.rate,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut bytes = Vec::with_capacity(44 + 2 * self.samples.len());
        let write = |bytes: &mut Vec<u8>| -> Result<(), hound::Error> {
            let mut wav = hound::WavWriter::new(Cursor::new(bytes), spec)?;
            for sample in &self.samples {
                wav.write_sample(*sample)?;
            }
            wav.finalize()
        };
        write(&mut bytes).map_err(|e| e.to_string())?;
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clip_is_a_wav_file_with_the_same_samples() {
        let clip = Clip {
            file: "clips/000001.wav".to_owned(),
            samples: vec![0, 1, -1, i16::MAX, i16::MIN],
            rate: 16_000,
        };
        let bytes = clip.to_wav().unwrap();
        let mut wav = hound::WavReader::new(Cursor::new(bytes)).unwrap();
        assert_eq!(wav.spec().sample_rate, 16_000);
        let samples: Vec<i16> = wav.samples().map(Result::unwrap).collect();
        assert_eq!(samples, clip.samples);
    }
}
