//! How often the assistant's own voice, coming back into the microphone, is taken for "stop", and
//! how often a "stop" said over it is heard.
//!
//! Sentences of the shipped dialogues are spoken by the speech program, sent through a small room
//! and mixed with plant noise: one in [`ONE_IN`], or in the number `READBACK_PROMPTS`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use readback::hearing::ear::Ear;
use readback::hearing::models::Engine;
use readback::hearing::resample::Resampler;
use readback::hearing::wav::WavSource;
use readback::hearing::windows::Windows;
use readback::language::{Automaton, Command, Expectation, Language};
use readback::live::sounding::Sounding;
use readback::speaking::synthesizer::Synthesizer;

use crate::support;

const ONE_IN: usize = 60;
/// Of the prompt in the microphone, in decibels below full scale: a loudspeaker beside it, on the
/// bench, and across the room.
const ECHOES_DB: [f32; 3] = [-14.0, -26.0, -38.0];
/// Of the plant.
const NOISES_DB: [f32; 2] = [-60.0, -42.0];
/// Samples before and behind a prompt in which nothing but the plant is heard.
const SILENCE: usize = 16_000;
/// Of "stop" above the prompt.
const STOPS_DB: [f32; 4] = [20.0, 12.0, 6.0, 0.0];

struct Bench {
    ear: Ear,
    narrow: Automaton,
    voice: Synthesizer,
    noise: u32,
    _scratch: tempfile::TempDir,
}

impl Bench {
    fn new() -> Bench {
        let language = Language::bundled("en-US").unwrap();
        let narrow = Expectation {
            commands: [Command::Stop, Command::Pause].into(),
            ..Expectation::default()
        };
        let scratch = tempfile::tempdir().unwrap();
        Bench {
            ear: support::ear(Engine::PocketSphinx, "en-US"),
            narrow: language.compile(&narrow).unwrap(),
            voice: Synthesizer::find("en-US", &scratch.path().join("scratch.wav")).unwrap(),
            noise: 1,
            _scratch: scratch,
        }
    }

    /// A sentence at a level, as a microphone in a small room hears it.
    fn echo(&self, sentence: &str, db: f32) -> Vec<f32> {
        let speech = self.voice.synthesize(sentence).unwrap();
        let mut resampler = Resampler::new(speech.rate).unwrap();
        let samples: Vec<f32> = speech.samples.iter().map(|s| f32::from(*s)).collect();
        let scaled: Vec<f32> = samples.iter().map(|s| s / 32_768.0).collect();
        let mut dry: Vec<f32> = resampler
            .push(&scaled)
            .iter()
            .map(|s| f32::from(*s))
            .collect();
        dry.extend(resampler.finish().iter().map(|s| f32::from(*s)));
        let mut wet = vec![0.0; dry.len() + 1_600];
        for (delay, gain) in [(0, 1.0), (176, 0.5), (592, 0.3), (1_440, 0.15)] {
            for (at, sample) in dry.iter().enumerate() {
                wet[at + delay] += gain * sample;
            }
        }
        at_level(wet, db)
    }

    /// Adds the noise of fans and pumps: mostly low, with a hum.
    fn add_noise(&mut self, to: &mut [f32], db: f32) {
        let mut low = 0.0;
        let noise: Vec<f32> = (0..to.len())
            .map(|n| {
                self.noise = self
                    .noise
                    .wrapping_mul(1_664_525)
                    .wrapping_add(1_013_904_223);
                let white = (self.noise >> 16) as f32 / 32_768.0 - 1.0;
                low += 0.1 * (white - low);
                let hum = (n as f32 / 16_000.0 * 100.0 * std::f32::consts::TAU).sin();
                low + 0.1 * white + 0.05 * hum
            })
            .collect();
        mix(to, &noise, db);
    }

    /// Which of what is heard comes through while the sentence sounds.
    fn through(&mut self, sentence: &str, samples: &[f32]) -> Vec<String> {
        let mut sounding = Sounding::default();
        sounding.began(1, sentence);
        let decoys = sounding.sentences();
        self.ear.set_grammar_among(&self.narrow, &decoys).unwrap();
        let mut windows = Windows::default();
        let samples: Vec<i16> = samples.iter().map(|s| *s as i16).collect();
        let mut all: Vec<_> = samples
            .chunks(320)
            .filter_map(|block| windows.push(block))
            .collect();
        all.extend(windows.finish());
        let mut through = Vec::new();
        for window in all {
            let heard = self.ear.hear(window).unwrap();
            if sounding.overhears(&heard, &self.narrow) {
                through.push(heard.hypotheses[0].text());
            }
        }
        through
    }
}

/// Samples at a level of their loudest second.
fn at_level(samples: Vec<f32>, db: f32) -> Vec<f32> {
    let power = |s: &[f32]| s.iter().map(|s| s * s).sum::<f32>() / s.len().max(1) as f32;
    let loudest = samples.chunks(16_000).map(power).fold(1e-9, f32::max);
    let gain = 32_768.0 * 10.0_f32.powf(db / 20.0) / loudest.sqrt();
    samples
        .into_iter()
        .map(|s| (s * gain).clamp(-32_768.0, 32_767.0))
        .collect()
}

/// Adds a sound at a level.
fn mix(to: &mut [f32], sound: &[f32], db: f32) {
    for (sample, added) in to.iter_mut().zip(at_level(sound.to_vec(), db)) {
        *sample += added;
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn prompts() -> Vec<String> {
    let mut found = BTreeSet::new();
    for entry in fs::read_dir(root().join("tests/shipped")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "dialogue") {
            let text = fs::read_to_string(path).unwrap();
            let lines = text
                .lines()
                .filter_map(|line| line.split_once("Readback    "));
            found.extend(lines.map(|(_, said)| said.to_owned()));
        }
    }
    let one_in = std::env::var("READBACK_PROMPTS");
    let one_in = one_in.map_or(ONE_IN, |number| number.parse().unwrap());
    found.into_iter().step_by(one_in).collect()
}

fn recording(path: PathBuf) -> Vec<f32> {
    let bytes = fs::read(&path).unwrap();
    let mut source = WavSource::new("recording", bytes.as_slice()).unwrap();
    let samples = source.read_all().unwrap();
    samples.into_iter().map(f32::from).collect()
}

#[test]
fn a_prompt_is_not_taken_for_stop() {
    let mut bench = Bench::new();
    let prompts = prompts();
    let mut played = 0;
    let mut wrong = Vec::new();
    for prompt in &prompts {
        for echo in ECHOES_DB {
            for noise in NOISES_DB {
                let mut samples = vec![0.0; SILENCE];
                samples.extend(bench.echo(prompt, echo));
                samples.resize(samples.len() + SILENCE, 0.0);
                bench.add_noise(&mut samples, noise);
                played += 1;
                for heard in bench.through(prompt, &samples) {
                    println!("{echo} {noise} `{heard}` in `{prompt}`");
                    wrong.push(heard);
                }
            }
        }
    }
    println!("false: {} in {played} prompts played", wrong.len());
    assert!(wrong.len() * 25 <= played, "{wrong:?}");
}

/// What the technician hears at every start, and as long as any prompt.
const CAUTION: &str = "Warning. Qualified people only. Follow local codes and the site's lock-out \
                       rules. This tool does not see the machine. Say next when you have understood.";

#[test]
fn who_speaks_up_is_heard_over_a_long_caution() {
    let mut bench = Bench::new();
    let fixtures = root().join("audio-fixtures/hearing");
    let echo = bench.echo(CAUTION, -26.0);
    let (mut said, mut caught) = (0, 0);
    for name in ["en-rms-stop", "en-slt-stop", "en-rms-stand_by"] {
        let voice = recording(fixtures.join(format!("{name}.wav")));
        for above in [20.0, 14.0] {
            for part in [1, 3, 5, 7] {
                let mut samples = echo.clone();
                let at = (samples.len() - voice.len()) * part / 8;
                mix(&mut samples[at..], &voice, -26.0 + above);
                bench.add_noise(&mut samples, -60.0);
                said += 1;
                caught += usize::from(!bench.through(CAUTION, &samples).is_empty());
            }
        }
    }
    println!("caught over the caution, 14 and 20 dB above it: {caught} of {said}");
    assert!(caught * 4 >= said * 3, "{caught} of {said}");
}

#[test]
fn stop_is_heard_over_a_prompt() {
    let mut bench = Bench::new();
    let fixtures = root().join("audio-fixtures/hearing");
    let voices = ["en-rms-stop", "en-slt-stop", "en-rms-stand_by"]
        .map(|name| recording(fixtures.join(format!("{name}.wav"))));
    let (mut said_above, mut caught_above) = (0, 0);
    for above in STOPS_DB {
        let (mut said, mut caught) = (0, 0);
        for (number, prompt) in prompts().iter().enumerate() {
            let mut samples = bench.echo(prompt, -26.0);
            let voice = &voices[number % voices.len()];
            let at = (samples.len().saturating_sub(voice.len())) * (number % 5) / 5;
            samples.resize(samples.len().max(at + voice.len()), 0.0);
            mix(&mut samples[at..], voice, -26.0 + above);
            bench.add_noise(&mut samples, -60.0);
            said += 1;
            caught += usize::from(!bench.through(prompt, &samples).is_empty());
        }
        println!("caught at {above} dB above the prompt: {caught} of {said}");
        if above >= 6.0 {
            said_above += said;
            caught_above += caught;
        }
    }
    // Over all three levels, as of each there are few.
    assert!(
        caught_above * 4 >= said_above,
        "{caught_above} of {said_above}"
    );
}
