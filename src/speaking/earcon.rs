//! Short tones that say without words what became of an utterance, through a loudspeaker.

use std::f32::consts::TAU;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{FromSample, SampleFormat, SizedSample, StreamConfig};
use rtrb::{Consumer, Producer, RingBuffer};

use super::voice::VoiceError;
use crate::sound;

/// What a tone says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Earcon {
    /// The ear is open: one high tone.
    Listening,
    /// Something was heard and understood: two tones up.
    Heard,
    /// Something was heard that means nothing here: two tones down.
    NotUnderstood,
}

/// One tone of an earcon, in milliseconds.
const TONE_MS: u32 = 70;
/// Rising and falling at its ends, so that nothing clicks.
const EDGE_MS: u32 = 10;
/// Well below speech.
const LOUDNESS: f32 = 0.2;
/// The longest earcon fits twice.
const RING_MS: u32 = 400;

impl Earcon {
    /// The pitches one after the other, in hertz: A5 to E6, a fifth, in equal temperament from
    /// A4 = 440 Hz (ISO 16).
    fn pitches(self) -> &'static [f32] {
        match self {
            Earcon::Listening => &[1_318.51],
            Earcon::Heard => &[880.0, 1_318.51],
            Earcon::NotUnderstood => &[880.0, 587.33],
        }
    }

    /// Samples from -1 to 1 at the given rate.
    pub fn samples(self, rate: u32) -> Vec<f32> {
        let tones = self.pitches().iter();
        tones.flat_map(|pitch| tone(*pitch, rate)).collect()
    }
}

fn tone(pitch: f32, rate: u32) -> Vec<f32> {
    let (count, edge) = (rate * TONE_MS / 1000, (rate * EDGE_MS / 1000).max(1));
    let sample = |n: u32| {
        let from_end = n.min(count - 1 - n);
        let swell = (from_end as f32 / edge as f32).min(1.0);
        LOUDNESS * swell * (TAU * pitch * n as f32 / rate as f32).sin()
    };
    (0..count).map(sample).collect()
}

/// A loudspeaker that plays earcons, on a thread of its own.
pub struct Earcons {
    orders: Sender<Order>,
}

enum Order {
    Play(Earcon),
    /// The loudspeaker is gone.
    Lost,
    Close,
}

impl Earcons {
    /// Opens the default loudspeaker.
    ///
    /// # Errors
    ///
    /// There is none, or it cannot be used.
    pub fn open() -> Result<Earcons, VoiceError> {
        let (orders, received) = channel();
        let (opened, outcome) = channel();
        let tell = orders.clone();
        // A stream of some sound systems must stay on the thread that made it.
        let run = move || match Loudspeaker::open(&tell) {
            Ok(loudspeaker) => {
                // The receiver waits for exactly this.
                let _ = opened.send(Ok(()));
                play_until_closed(&received, loudspeaker, &tell);
            }
            Err(why) => {
                let _ = opened.send(Err(why));
            }
        };
        let thread = thread::Builder::new().name("earcons".to_owned());
        thread.spawn(run).map_err(no_loudspeaker)?;
        outcome.recv().map_err(no_loudspeaker)??;
        Ok(Earcons { orders })
    }

    /// Plays an earcon after those before; never waits.
    pub fn play(&self, earcon: Earcon) {
        // A thread that has ended takes the tones with it, and nothing else.
        let _ = self.orders.send(Order::Play(earcon));
    }
}

impl Drop for Earcons {
    fn drop(&mut self) {
        let _ = self.orders.send(Order::Close);
    }
}

fn no_loudspeaker(why: impl std::fmt::Display) -> VoiceError {
    VoiceError::new(
        format!("no loudspeaker for the tones: {why}"),
        "check the sound output",
    )
}

/// One that is lost is closed at once, or its sound system complains without end; the next earcon
/// opens it again. What the tones of the time between say is written too.
fn play_until_closed(orders: &Receiver<Order>, opened: Loudspeaker, tell: &Sender<Order>) {
    let mut loudspeaker = Some(opened);
    for order in orders {
        match order {
            Order::Play(earcon) => {
                loudspeaker = loudspeaker.or_else(|| Loudspeaker::open(tell).ok());
                if let Some(loudspeaker) = &mut loudspeaker {
                    loudspeaker.play(earcon);
                }
            }
            Order::Lost => loudspeaker = None,
            Order::Close => return,
        }
    }
}

/// A loudspeaker that is open.
struct Loudspeaker {
    /// Runs as long as it is held.
    _stream: cpal::Stream,
    ring: Producer<f32>,
    rate: u32,
}

impl Loudspeaker {
    fn open(tell: &Sender<Order>) -> Result<Loudspeaker, VoiceError> {
        let device = sound::host().default_output_device();
        let device = device.ok_or_else(|| no_loudspeaker("none was found"))?;
        let set = device.default_output_config().map_err(no_loudspeaker)?;
        let config = sound::in_pieces(&device, set.config());
        let rate = config.sample_rate;
        let (producer, ring) = RingBuffer::new((rate * RING_MS / 1000) as usize);
        let tell = tell.clone();
        let lost = move |error: cpal::Error| {
            if !sound::is_harmless(&error) {
                // Nobody listens any more where the tones are being closed.
                let _ = tell.send(Order::Lost);
            }
        };
        let stream = match set.sample_format() {
            SampleFormat::I16 => stream::<i16>(&device, config, ring, lost),
            SampleFormat::I32 => stream::<i32>(&device, config, ring, lost),
            SampleFormat::U8 => stream::<u8>(&device, config, ring, lost),
            // The sound system converts, or says that it cannot.
            _ => stream::<f32>(&device, config, ring, lost),
        };
        let stream = stream.map_err(no_loudspeaker)?;
        stream.play().map_err(no_loudspeaker)?;
        Ok(Loudspeaker {
            _stream: stream,
            ring: producer,
            rate,
        })
    }

    fn play(&mut self, earcon: Earcon) {
        for sample in earcon.samples(self.rate) {
            // A ring that nobody empties is full of tones that come too late anyway.
            let _ = self.ring.push(sample);
        }
    }
}

fn stream<T>(
    device: &cpal::Device,
    config: StreamConfig,
    mut ring: Consumer<f32>,
    lost: impl FnMut(cpal::Error) + Send + 'static,
) -> Result<cpal::Stream, cpal::Error>
where
    T: SizedSample + FromSample<f32>,
{
    let channels = usize::from(config.channels).max(1);
    let fill = move |block: &mut [T], _: &cpal::OutputCallbackInfo| {
        for frame in block.chunks_mut(channels) {
            frame.fill(T::from_sample(ring.pop().unwrap_or(0.0)));
        }
    };
    device.build_output_stream(config, fill, lost, None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tones_begin_and_end_in_silence_and_are_soft() {
        for earcon in [Earcon::Listening, Earcon::Heard, Earcon::NotUnderstood] {
            let samples = earcon.samples(48_000);
            let longest = 48_000 * RING_MS as usize / 1000;
            assert!(samples.len() * 2 <= longest, "{earcon:?}");
            assert_eq!((samples[0], *samples.last().unwrap()), (0.0, 0.0));
            let peak = samples.iter().fold(0.0f32, |peak, s| peak.max(s.abs()));
            assert!(
                (0.9 * LOUDNESS..=LOUDNESS).contains(&peak),
                "{earcon:?}: {peak}"
            );
        }
    }

    /// Zero crossings of a sine: two a period.
    #[test]
    fn the_second_tone_goes_up_when_something_was_understood() {
        let crossings = |samples: &[f32]| samples.windows(2).filter(|w| w[0] * w[1] < 0.0).count();
        for (earcon, up) in [(Earcon::Heard, true), (Earcon::NotUnderstood, false)] {
            let samples = earcon.samples(48_000);
            let (first, second) = samples.split_at(samples.len() / 2);
            assert_eq!(crossings(second) > crossings(first), up, "{earcon:?}");
        }
    }
}
