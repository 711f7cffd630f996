//! What was recorded on both sides of a sound card, and the moments in it that are measured.

use std::f64::consts::TAU;
use std::io::Read;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use crate::card::Card;

/// Samples a second of what is recorded.
const RATE: usize = 16_000;
/// Samples that are judged at once: 5 ms.
const FRAME: usize = RATE / 200;
/// Below this nothing sounds (root mean square of full scale).
const SILENT: f64 = 0.003;
/// Speech at the microphone has ended where it is so far below its loudest part: 35 dB.
const ENDED: f64 = 0.018;
/// Silence so long is no pause between words: of the prompt that is stopped, none is longer.
const NO_PAUSE: Duration = Duration::from_millis(45);
/// The pitches of the tones, in hertz.
const TONES: [f64; 3] = [587.33, 880.0, 1_318.51];
/// Where less than this part of a frame is left without the tones, it was a tone.
const NOT_A_TONE: f64 = 0.35;

/// A recording that goes on.
pub struct Recorder {
    program: Child,
    taken: Arc<Mutex<Taken>>,
}

#[derive(Default)]
struct Taken {
    samples: Vec<i16>,
    /// When the first sample was due, by the block that came soonest.
    began: Option<Instant>,
}

/// What was recorded; moments are those of this process.
pub struct Sound {
    samples: Vec<f64>,
    began: Instant,
}

impl Recorder {
    /// Records what a sink plays, by the name of its monitor.
    pub fn start(card: &Card, monitor: &str) -> Recorder {
        let mut program = Command::new("parec");
        program
            .args(["--raw", "--format=s16le", "--channels=1"])
            .arg(format!("--rate={RATE}"))
            .arg(format!("--device={monitor}"))
            .stdout(Stdio::piped());
        card.at_home(&mut program);
        // Small blocks, so that it is known when they came.
        program.env("PULSE_LATENCY_MSEC", "10");
        let mut program = program.spawn().expect("`scripts/setup` installs `parec`");
        let mut output = program.stdout.take().expect("its output");
        let taken = Arc::<Mutex<Taken>>::default();
        let ours = Arc::clone(&taken);
        thread::spawn(move || {
            let mut block = [0; 4_096];
            let mut odd: Vec<u8> = Vec::new();
            while let Ok(count @ 1..) = output.read(&mut block) {
                odd.extend_from_slice(&block[..count]);
                let (samples, rest) = odd.as_chunks::<2>();
                let samples = samples.iter().map(|bytes| i16::from_le_bytes(*bytes));
                let mut taken = ours.lock().expect("a whole recording");
                taken.samples.extend(samples);
                taken.note(Instant::now());
                odd = rest.to_vec();
            }
        });
        Recorder { program, taken }
    }

    /// Everything so far.
    pub fn stop(mut self) -> Sound {
        // It may have ended by itself.
        let _ = self.program.kill();
        let _ = self.program.wait();
        let taken = self.taken.lock().expect("a whole recording");
        Sound {
            samples: taken
                .samples
                .iter()
                .map(|s| f64::from(*s) / 32_768.0)
                .collect(),
            began: taken.began.expect("sound from the server"),
        }
    }
}

impl Taken {
    fn note(&mut self, now: Instant) {
        let due = now - Duration::from_secs_f64(self.samples.len() as f64 / RATE as f64);
        self.began = Some(self.began.map_or(due, |began| began.min(due)));
    }
}

impl Sound {
    /// The last moment of speech between two others, `None` where all is silent.
    pub fn speech_ends(&self, from: Instant, to: Instant) -> Option<Instant> {
        let frames: Vec<(usize, f64)> = self.frames(from, to).map(|(at, f)| (at, rms(f))).collect();
        let loudest = frames.iter().map(|(_, level)| *level).fold(0.0, f64::max);
        let loud = frames.iter().rev();
        let (last, _) = loud
            .clone()
            .find(|(_, level)| *level > (loudest * ENDED).max(SILENT))?;
        Some(self.moment(last + FRAME))
    }

    /// When something first sounds.
    pub fn first_sound(&self, from: Instant, to: Instant) -> Option<Instant> {
        let mut frames = self.frames(from, to);
        let (first, _) = frames.find(|(_, frame)| rms(frame) > SILENT)?;
        Some(self.moment(first))
    }

    /// When a voice first sounds, whatever tones there are.
    pub fn first_voice(&self, from: Instant, to: Instant) -> Option<Instant> {
        let mut frames = self.frames(from, to);
        let (first, _) = frames.find(|(_, frame)| is_voice(frame))?;
        Some(self.moment(first))
    }

    /// When a voice falls silent for longer than between two words.
    pub fn voice_ends(&self, from: Instant, to: Instant) -> Option<Instant> {
        let long = NO_PAUSE.as_millis() as usize * RATE / 1000 / FRAME;
        let voiced: Vec<(usize, bool)> = self
            .frames(from, to)
            .map(|(at, f)| (at, is_voice(f)))
            .collect();
        let mut stretches = voiced.windows(long);
        let silence = stretches.find(|frames| frames.iter().all(|(_, voice)| !voice))?;
        Some(self.moment(silence[0].0))
    }

    fn frames(&self, from: Instant, to: Instant) -> impl Iterator<Item = (usize, &[f64])> {
        let at = |moment: Instant| {
            let seconds = moment.saturating_duration_since(self.began).as_secs_f64();
            ((seconds * RATE as f64) as usize).min(self.samples.len())
        };
        let first = at(from);
        let frames = self.samples[first..at(to).max(first)].chunks_exact(FRAME);
        frames
            .enumerate()
            .map(move |(n, frame)| (first + n * FRAME, frame))
    }

    fn moment(&self, sample: usize) -> Instant {
        self.began + Duration::from_secs_f64(sample as f64 / RATE as f64)
    }
}

fn rms(frame: &[f64]) -> f64 {
    (frame.iter().map(|s| s * s).sum::<f64>() / frame.len() as f64).sqrt()
}

/// Whether more than tones sounds.
fn is_voice(frame: &[f64]) -> bool {
    let whole = rms(frame);
    let rest = TONES.iter().map(|hz| rms(&without(frame, *hz)));
    let left = rest.fold(whole, f64::min);
    left > SILENT && left > NOT_A_TONE * whole
}

/// A frame less the sine of that pitch which fits it best, as it swells or fades.
fn without(frame: &[f64], hz: f64) -> Vec<f64> {
    let wave = |n: usize| TAU * hz * n as f64 / RATE as f64;
    let middle = frame.len() as f64 / 2.0;
    let slope = |n: usize| (n as f64 - middle) / middle;
    let shapes: [&dyn Fn(usize) -> f64; 4] = [
        &|n| wave(n).sin(),
        &|n| wave(n).cos(),
        &|n| wave(n).sin() * slope(n),
        &|n| wave(n).cos() * slope(n),
    ];
    // One shape after the other, made perpendicular to those before (Gram and Schmidt).
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let mut rest = frame.to_vec();
    for shape in shapes {
        let mut part: Vec<f64> = (0..frame.len()).map(shape).collect();
        for before in &basis {
            take_out(&mut part, before);
        }
        let length = part.iter().map(|x| x * x).sum::<f64>().sqrt();
        part.iter_mut().for_each(|x| *x /= length);
        take_out(&mut rest, &part);
        basis.push(part);
    }
    rest
}

/// Takes out of a signal what it has in common with one of length 1.
fn take_out(signal: &mut [f64], part: &[f64]) {
    let common: f64 = signal.iter().zip(part).map(|(a, b)| a * b).sum();
    for (a, b) in signal.iter_mut().zip(part) {
        *a -= common * b;
    }
}
