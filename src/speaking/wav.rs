//! The voice that speaks into a WAV file.

use std::fs::{File, OpenOptions};
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use super::synthesizer::{Speech, Synthesizer};
use super::voice::{Voice, VoiceError};

/// Silence between two sentences.
const PAUSE_MS: u32 = 300;

/// All sentences one after the other in one file: one channel, 16 bit, at the rate of the speech
/// program.
///
/// Each sentence is in the file when `say` returns, and the file is a whole WAV file then.
pub struct WavVoice {
    synthesizer: Synthesizer,
    path: PathBuf,
    /// Made with the first sentence, whose rate it takes.
    file: Option<(hound::WavWriter<BufWriter<File>>, u32)>,
}

impl WavVoice {
    /// Speaks the language of `locale` into the file `path`, which is replaced with the first
    /// sentence.
    ///
    /// # Errors
    ///
    /// The file cannot be written, or no speech program is installed that speaks the language.
    pub fn open(path: &Path, locale: &str) -> Result<WavVoice, VoiceError> {
        // Before a speech program is blamed for it.
        let opened = OpenOptions::new().append(true).create(true).open(path);
        opened.map_err(|e| cannot_write(path, &e))?;
        let scratch = path.with_extension("sentence.wav");
        Ok(WavVoice::with(Synthesizer::find(locale, &scratch)?, path))
    }

    pub fn with(synthesizer: Synthesizer, path: &Path) -> WavVoice {
        WavVoice {
            synthesizer,
            path: path.to_owned(),
            file: None,
        }
    }

    fn write(&mut self, speech: &Speech) -> Result<(), hound::Error> {
        let (mut wav, rate) = match self.file.take() {
            Some(file) => file,
            None => (self.create(speech.rate)?, speech.rate),
        };
        if rate != speech.rate {
            return Err(hound::Error::Unsupported);
        }
        let pause = rate as usize * PAUSE_MS as usize / 1000;
        let silence = std::iter::repeat_n(0, pause);
        for sample in speech.samples.iter().copied().chain(silence) {
            wav.write_sample(sample)?;
        }
        wav.flush()?;
        self.file = Some((wav, rate));
        Ok(())
    }

    fn create(&self, rate: u32) -> Result<hound::WavWriter<BufWriter<File>>, hound::Error> {
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: rate,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        hound::WavWriter::create(&self.path, spec)
    }
}

fn cannot_write(path: &Path, why: &dyn std::error::Error) -> VoiceError {
    VoiceError::new(
        format!("cannot write `{}`: {why}", path.display()),
        "choose another file",
    )
}

impl Voice for WavVoice {
    fn name(&self) -> String {
        format!("{} into `{}`", self.synthesizer.name(), self.path.display())
    }

    fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
        let speech = self.synthesizer.synthesize(sentence)?;
        self.write(&speech)
            .map_err(|e| cannot_write(&self.path, &e))
    }

    fn stop(&mut self) {}

    fn is_speaking(&self) -> bool {
        false
    }

    fn finish(&mut self) -> Result<(), VoiceError> {
        Ok(())
    }
}
