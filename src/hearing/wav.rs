//! WAV recordings as a stream of 16 kHz mono samples.

use std::io::{self, Cursor, Read};

use hound::{SampleFormat, WavReader, WavSpec};

use super::recognizer::SAMPLE_RATE;
use super::resample::{RateError, Resampler};

/// Frames read at once: a tenth of a second at 16 kHz.
const BLOCK_FRAMES: usize = 1_600;

/// Bytes that tell a WAV file from anything else.
const SIGNATURE: usize = 12;

/// Why a recording cannot be heard.
#[derive(Debug, thiserror::Error)]
pub enum AudioError {
    #[error("`{name}` is empty; record it again")]
    Empty { name: String },
    #[error(
        "`{name}` is not a WAV file: it starts with {found}, expected `RIFF` and `WAVE`; \
         convert it to WAV"
    )]
    NotWav { name: String, found: String },
    #[error("`{name}` ends inside its header; record or copy it again")]
    HeaderCut { name: String },
    #[error("`{name}` has a WAV header that makes no sense: {why}; convert it to WAV again")]
    HeaderBroken { name: String, why: String },
    #[error("`{name}` holds no samples; record it again")]
    NoSamples { name: String },
    #[error(
        "`{name}` ends after {found} of the {expected} samples its header promises; \
         record or copy it again"
    )]
    SamplesCut {
        name: String,
        found: u64,
        expected: u64,
    },
    #[error(
        "`{name}` is WAV of a kind that is not supported, expected 8, 16, 24 or 32-bit PCM or \
         32-bit float; convert it"
    )]
    Unsupported { name: String },
    #[error("`{name}`: {why}; convert it")]
    Rate { name: String, why: RateError },
    #[error("cannot read `{name}`: {why}")]
    Read { name: String, why: io::Error },
}

/// A WAV recording being read. Several channels are mixed to one.
pub struct WavSource<R: Read> {
    name: String,
    reader: WavReader<io::Chain<Cursor<Vec<u8>>, R>>,
    resampler: Resampler,
    spec: WavSpec,
    samples_read: u64,
    samples_in_all: u64,
    finished: bool,
}

impl<R: Read> WavSource<R> {
    /// Reads the header. `name` is what messages call the recording.
    ///
    /// # Errors
    ///
    /// Every [`AudioError`] but `SamplesCut`.
    pub fn new(name: &str, mut bytes: R) -> Result<WavSource<R>, AudioError> {
        let start = signature(name, &mut bytes)?;
        let reader = WavReader::new(Cursor::new(start).chain(bytes));
        let reader = reader.map_err(|why| header_error(name, why))?;
        let spec = reader.spec();
        if !matches!(
            (spec.sample_format, spec.bits_per_sample),
            (SampleFormat::Int, 8 | 16 | 24 | 32) | (SampleFormat::Float, 32)
        ) {
            return Err(AudioError::Unsupported { name: name.into() });
        }
        let samples_in_all = u64::from(reader.len());
        if samples_in_all == 0 {
            return Err(AudioError::NoSamples { name: name.into() });
        }
        let resampler = Resampler::new(spec.sample_rate).map_err(|why| AudioError::Rate {
            name: name.into(),
            why,
        })?;
        Ok(WavSource {
            name: name.into(),
            reader,
            resampler,
            spec,
            samples_read: 0,
            samples_in_all,
            finished: false,
        })
    }

    /// Length of the recording in milliseconds, as its header has it.
    pub fn duration_ms(&self) -> u64 {
        let frames = self.samples_in_all / u64::from(self.spec.channels);
        frames * 1000 / u64::from(self.spec.sample_rate)
    }

    /// The next samples, `None` after the last. A block may be empty.
    ///
    /// # Errors
    ///
    /// `SamplesCut` when the recording is shorter than its header says, `Read`.
    pub fn next_block(&mut self) -> Result<Option<Vec<i16>>, AudioError> {
        if self.finished {
            return Ok(None);
        }
        let frames = self.next_frames()?;
        if frames.is_empty() {
            self.finished = true;
            return Ok(Some(self.resampler.finish()));
        }
        Ok(Some(self.resampler.push(&frames)))
    }

    /// Everything that is left, at 16 kHz.
    ///
    /// # Errors
    ///
    /// As [`next_block`](WavSource::next_block).
    pub fn read_all(&mut self) -> Result<Vec<i16>, AudioError> {
        let expected = self.duration_ms() * u64::from(SAMPLE_RATE) / 1000;
        // A header may promise anything: trust it for a minute's worth only.
        let mut all = Vec::with_capacity(expected.min(60 * u64::from(SAMPLE_RATE)) as usize);
        while let Some(block) = self.next_block()? {
            all.extend(block);
        }
        Ok(all)
    }

    fn next_frames(&mut self) -> Result<Vec<f32>, AudioError> {
        let wanted = BLOCK_FRAMES * usize::from(self.spec.channels);
        let (samples, stopped) = match self.spec.sample_format {
            SampleFormat::Float => until_error(self.reader.samples::<f32>().take(wanted)),
            SampleFormat::Int => {
                let full_scale = (1_u64 << (self.spec.bits_per_sample - 1)) as f32;
                let samples = self.reader.samples::<i32>().take(wanted);
                until_error(samples.map(|s| s.map(|s| s as f32 / full_scale)))
            }
        };
        self.samples_read += samples.len() as u64;
        match stopped {
            Some(why) => Err(self.sample_error(why)),
            None => Ok(mixed(&samples, usize::from(self.spec.channels))),
        }
    }

    fn sample_error(&self, why: hound::Error) -> AudioError {
        let name = self.name.clone();
        match why {
            hound::Error::IoError(why) if is_end(&why) => AudioError::SamplesCut {
                name,
                found: self.samples_read,
                expected: self.samples_in_all,
            },
            hound::Error::IoError(why) => AudioError::Read { name, why },
            _ => AudioError::Unsupported { name },
        }
    }
}

/// Reads the first bytes and refuses what does not start like a WAV file.
fn signature(name: &str, bytes: &mut impl Read) -> Result<Vec<u8>, AudioError> {
    let mut start = Vec::new();
    let read = bytes.take(SIGNATURE as u64).read_to_end(&mut start);
    read.map_err(|why| AudioError::Read {
        name: name.into(),
        why,
    })?;
    let alike = |from: usize, expected: &[u8]| {
        let found = start.get(from..).unwrap_or_default();
        found.iter().zip(expected).all(|(f, e)| f == e)
    };
    if start.is_empty() {
        Err(AudioError::Empty { name: name.into() })
    } else if !alike(0, b"RIFF") || !alike(8, b"WAVE") {
        Err(AudioError::NotWav {
            name: name.into(),
            found: shown(&start),
        })
    } else if start.len() < SIGNATURE {
        Err(AudioError::HeaderCut { name: name.into() })
    } else {
        Ok(start)
    }
}

/// The first bytes as text where they are text, in hexadecimal where not.
fn shown(start: &[u8]) -> String {
    let printable = |byte: &u8| byte.is_ascii_graphic() || *byte == b' ';
    if start.iter().all(printable) {
        format!("`{}`", String::from_utf8_lossy(start))
    } else {
        let bytes: Vec<String> = start.iter().map(|byte| format!("{byte:02x}")).collect();
        format!("the bytes `{}`", bytes.join(" "))
    }
}

fn header_error(name: &str, why: hound::Error) -> AudioError {
    let name = name.to_owned();
    match why {
        hound::Error::IoError(why) if is_end(&why) => AudioError::HeaderCut { name },
        hound::Error::IoError(why) => AudioError::Read { name, why },
        hound::Error::FormatError(why) => AudioError::HeaderBroken {
            name,
            why: why.into(),
        },
        _ => AudioError::Unsupported { name },
    }
}

/// The WAV reader reports the end of a file inside a value as an error of kind `Other`, which the
/// operating system's own errors never are.
fn is_end(why: &io::Error) -> bool {
    matches!(
        why.kind(),
        io::ErrorKind::UnexpectedEof | io::ErrorKind::Other
    )
}

fn until_error(
    samples: impl Iterator<Item = Result<f32, hound::Error>>,
) -> (Vec<f32>, Option<hound::Error>) {
    let mut read = Vec::new();
    for sample in samples {
        match sample {
            Ok(sample) => read.push(sample),
            Err(why) => return (read, Some(why)),
        }
    }
    (read, None)
}

/// The mean over the channels of each frame.
fn mixed(samples: &[f32], channels: usize) -> Vec<f32> {
    if channels == 1 {
        return samples.to_vec();
    }
    samples
        .chunks(channels)
        .map(|frame| frame.iter().sum::<f32>() / channels as f32)
        .collect()
}
