//! Sound from a microphone, through a ring that needs no lock.
//!
//! The callback of the sound system must never wait: it mixes each frame to one channel, puts it
//! into the ring and, where the ring is full, counts what it had to drop. It takes no lock and
//! allocates nothing. The thread that opened the microphone is woken from its park for each block.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::thread::{self, Thread};

use cpal::traits::{DeviceTrait, StreamTrait};
use cpal::{ErrorKind, FromSample, SampleFormat, SizedSample, StreamConfig};
use rtrb::{Consumer, Producer, RingBuffer};

use super::microphone::{self, MicrophoneError};
use crate::sound;

/// How much sound the ring holds: an engine may be busy that long and no word is lost.
const RING_SECONDS: usize = 10;

/// A microphone that is open.
pub struct Capture {
    /// As the sound system calls it.
    pub name: String,
    /// Samples a second.
    pub rate: u32,
    /// Runs as long as it is held.
    _stream: cpal::Stream,
    ring: Consumer<f32>,
    dropped: Arc<AtomicU64>,
    troubles: Receiver<cpal::Error>,
}

/// What a sound system's complaint means for a stream that is running.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// Some sound is missing; it goes on by itself.
    Gap,
    /// Nothing will come any more before the microphone is opened again.
    Lost(MicrophoneError),
}

impl Capture {
    /// Opens the microphone of that name, or the default one, as it is set.
    ///
    /// # Errors
    ///
    /// There is none, or it cannot be used: what to do about it.
    pub fn open(wanted: Option<&str>) -> Result<Capture, MicrophoneError> {
        let device = microphone::choose(wanted)?;
        let set = device
            .default_input_config()
            .map_err(|e| microphone::sorted(&e))?;
        let config = sound::in_pieces(&device, set.config());
        let rate = config.sample_rate;
        let (producer, ring) = RingBuffer::new(RING_SECONDS * rate as usize);
        let dropped = Arc::<AtomicU64>::default();
        let (tell, troubles) = channel();
        let callback = Callback {
            producer,
            channels: usize::from(config.channels).max(1),
            dropped: Arc::clone(&dropped),
            reader: thread::current(),
        };
        let complain = move |error| {
            // Nobody listens any more where the capture is being dropped.
            let _ = tell.send(error);
        };
        let stream = match set.sample_format() {
            SampleFormat::I8 => callback.stream::<i8>(&device, config, complain),
            SampleFormat::I16 => callback.stream::<i16>(&device, config, complain),
            SampleFormat::I32 => callback.stream::<i32>(&device, config, complain),
            SampleFormat::U8 => callback.stream::<u8>(&device, config, complain),
            SampleFormat::U16 => callback.stream::<u16>(&device, config, complain),
            SampleFormat::U32 => callback.stream::<u32>(&device, config, complain),
            SampleFormat::F64 => callback.stream::<f64>(&device, config, complain),
            // The sound system converts, or says that it cannot.
            _ => callback.stream::<f32>(&device, config, complain),
        };
        let stream = stream.map_err(|e| microphone::sorted(&e))?;
        stream.play().map_err(|e| microphone::sorted(&e))?;
        Ok(Capture {
            name: device.to_string(),
            rate,
            _stream: stream,
            ring,
            dropped,
            troubles,
        })
    }

    /// Moves everything that has come in since the last call to the end of `samples`, from -1 to 1
    /// each. Never waits.
    pub fn read(&mut self, samples: &mut Vec<f32>) {
        let waiting = self.ring.slots();
        if let Ok(chunk) = self.ring.read_chunk(waiting) {
            let (first, second) = chunk.as_slices();
            samples.extend_from_slice(first);
            samples.extend_from_slice(second);
            chunk.commit_all();
        }
    }

    /// Milliseconds of sound that found no place in the ring since the last call.
    pub fn take_dropped_ms(&mut self) -> u64 {
        let dropped = self.dropped.swap(0, Ordering::Relaxed);
        dropped * 1000 / u64::from(self.rate.max(1))
    }

    /// What the sound system has complained about since the last call; a loss before gaps.
    pub fn take_trouble(&mut self) -> Option<Trouble> {
        let mut worst = None;
        for error in self.troubles.try_iter() {
            match meaning_of(&error) {
                Some(lost @ Trouble::Lost(_)) => worst = Some(lost),
                Some(Trouble::Gap) => worst = worst.or(Some(Trouble::Gap)),
                None => {}
            }
        }
        worst
    }

    /// Closes the microphone without waiting for it: a sound system that is gone may never answer.
    pub fn leave(self) {
        let thread = thread::Builder::new().name("lost microphone".to_owned());
        // Where no thread can be had the capture is dropped here after all.
        let _ = thread.spawn(move || drop(self));
    }
}

/// `None` for what changes nothing for the stream.
fn meaning_of(error: &cpal::Error) -> Option<Trouble> {
    match error.kind() {
        ErrorKind::Xrun => Some(Trouble::Gap),
        _ if sound::is_harmless(error) => None,
        _ => Some(Trouble::Lost(microphone::sorted(error))),
    }
}

/// What the sound system calls with each block.
struct Callback {
    producer: Producer<f32>,
    channels: usize,
    dropped: Arc<AtomicU64>,
    /// Who waits for samples.
    reader: Thread,
}

impl Callback {
    fn stream<T>(
        mut self,
        device: &cpal::Device,
        config: StreamConfig,
        complain: impl FnMut(cpal::Error) + Send + 'static,
    ) -> Result<cpal::Stream, cpal::Error>
    where
        T: SizedSample,
        f32: FromSample<T>,
    {
        let take = move |block: &[T], _: &cpal::InputCallbackInfo| self.take(block);
        device.build_input_stream(config, take, complain, None)
    }

    fn take<T>(&mut self, block: &[T])
    where
        T: SizedSample,
        f32: FromSample<T>,
    {
        let channels = self.channels;
        let share = 1.0 / channels as f32;
        let frames = block.chunks_exact(channels);
        let count = frames.len();
        let taken = count.min(self.producer.slots());
        if let Ok(chunk) = self.producer.write_chunk_uninit(taken) {
            let one_channel = frames.map(|frame| {
                let sum: f32 = frame.iter().map(|s| s.to_sample::<f32>()).sum();
                sum * share
            });
            chunk.fill_from_iter(one_channel);
        }
        self.dropped
            .fetch_add((count - taken) as u64, Ordering::Relaxed);
        self.reader.unpark();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn callback(room: usize, channels: usize) -> (Callback, Consumer<f32>) {
        let (producer, consumer) = RingBuffer::new(room);
        let callback = Callback {
            producer,
            channels,
            dropped: Arc::default(),
            reader: thread::current(),
        };
        (callback, consumer)
    }

    #[test]
    fn channels_become_one() {
        let (mut callback, mut ring) = callback(8, 2);
        callback.take(&[16_384i16, 0, -16_384, -16_384]);
        let chunk = ring.read_chunk(2).unwrap();
        assert_eq!(chunk.as_slices().0, [0.25, -0.5]);
    }

    #[test]
    fn what_finds_no_place_is_counted() {
        let (mut callback, ring) = callback(4, 1);
        callback.take(&[0.0f32; 3]);
        callback.take(&[0.0f32; 3]);
        assert_eq!(ring.slots(), 4);
        assert_eq!(callback.dropped.load(Ordering::Relaxed), 2);
    }

    #[test]
    fn complaints_are_sorted_by_what_to_do() {
        let meaning = |kind| meaning_of(&cpal::Error::from(kind));
        assert_eq!(meaning(ErrorKind::Xrun), Some(Trouble::Gap));
        assert_eq!(meaning(ErrorKind::DeviceChanged), None);
        for kind in [
            ErrorKind::DeviceNotAvailable,
            ErrorKind::StreamInvalidated,
            ErrorKind::BackendError,
        ] {
            assert!(matches!(meaning(kind), Some(Trouble::Lost(_))), "{kind:?}");
        }
    }
}
