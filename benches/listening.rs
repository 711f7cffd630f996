//! Noise in which nobody speaks to the machine, listened to as fast as it goes: what it takes of a
//! core and of memory, and what is taken for words.
//!
//! `READBACK_NOISE` names a WAV file; `scripts/corpus/noise.py` makes them of any length.
//! `READBACK_ENGINE` names another engine than PocketSphinx.

#[path = "latency/memory.rs"]
#[expect(dead_code, reason = "what only another bench asks for")]
mod memory;

use std::fs::{self, File};
use std::io::BufReader;
use std::time::Duration;

use readback::hearing::ear::{Ear, Heard};
use readback::hearing::endpoint::{Endpointer, Utterance};
use readback::hearing::engines;
use readback::hearing::models::{Engine, Places};
use readback::hearing::recognizer::SAMPLE_RATE;
use readback::hearing::resample::Resampler;
use readback::hearing::wav::WavSource;
use readback::language::{Automaton, Expectation, Language, Meaning, understand};

/// As most microphones give it.
const RATE_OF_MICROPHONE: u32 = 3 * SAMPLE_RATE;
/// What a microphone gives at a time: 50 ms.
const BLOCK: usize = RATE_OF_MICROPHONE as usize / 20;
const MINUTE: usize = 60 * SAMPLE_RATE as usize;

struct Listening {
    resampler: Resampler,
    endpointer: Endpointer,
    ear: Ear,
    grammar: Automaton,
    /// Utterances that the ear was given.
    utterances: usize,
    /// Those that were taken for words, with the moment they ended.
    accepted: Vec<String>,
}

fn main() {
    let path = std::env::var("READBACK_NOISE").expect("`READBACK_NOISE`, the name of a WAV file");
    let file = BufReader::new(File::open(&path).expect("a file"));
    let mut source = WavSource::new(&path, file).expect("a WAV file at 16 kHz");
    let mut listening = Listening::new();
    let (mut samples, mut minutes, mut busy) = (Vec::new(), 0, Duration::ZERO);
    println!("minute  utterances  accepted  share of a core  memory");
    while let Some(block) = source.next_block().expect("a whole file") {
        samples.extend(block);
        while samples.len() >= MINUTE {
            let minute: Vec<i16> = samples.drain(..MINUTE).collect();
            let before = processor_time();
            listening.listen(&minute);
            busy += processor_time() - before;
            minutes += 1;
            println!(
                "{minutes:6}  {:10}  {:8}  {:15.3}  {:.1} MB",
                listening.utterances,
                listening.accepted.len(),
                busy.as_secs_f64() / f64::from(60 * minutes),
                memory::megabytes("self", memory::NOW)
            );
        }
    }
    for words in &listening.accepted {
        println!("{words}");
    }
}

impl Listening {
    /// Everything may be said at all times: the hardest case.
    fn new() -> Listening {
        let language = Language::bundled("en-US").expect("a bundled language");
        let grammar = language.compile(&Expectation::everything());
        let grammar = grammar.expect("a grammar");
        let places = Places::of_this_machine(None);
        let named = std::env::var("READBACK_ENGINE").ok();
        let engine = named.map(|name| Engine::named(&name).expect("the name of an engine"));
        let engine = engine.unwrap_or(Engine::PocketSphinx);
        let ear = engines::ear(Some(engine), "en-US", &places);
        let mut ear = ear.expect("`scripts/setup` fetches it");
        ear.set_grammar(&grammar).expect("a grammar");
        Listening {
            resampler: Resampler::new(RATE_OF_MICROPHONE).expect("a rate"),
            endpointer: Endpointer::default(),
            ear,
            grammar,
            utterances: 0,
            accepted: Vec::new(),
        }
    }

    fn listen(&mut self, samples: &[i16]) {
        let scaled = samples.iter().map(|sample| f32::from(*sample) / 32_768.0);
        let at_rate: Vec<f32> = scaled.flat_map(|sample| [sample; 3]).collect();
        for block in at_rate.chunks(BLOCK) {
            let samples = self.resampler.push(block);
            let ear = &mut self.ear;
            let look = |so_far: &Utterance| ear.look(so_far).expect("an engine that works");
            for utterance in self.endpointer.push(&samples, look) {
                self.hear(utterance);
            }
        }
    }

    fn hear(&mut self, utterance: Utterance) {
        let end_ms = utterance.end_ms;
        let heard = self.ear.hear(utterance).expect("an engine that works");
        self.utterances += 1;
        if self.is_accepted(&heard) {
            let best = heard.hypotheses.first();
            let words = best.map(|best| (best.text(), best.acoustic, best.margin));
            self.accepted.push(format!("{end_ms} ms: {words:?}"));
        }
    }

    fn is_accepted(&self, heard: &Heard) -> bool {
        let ranked = understand(&self.grammar, &heard.hypotheses);
        let meaning = &ranked[0].meaning;
        heard.rejected.is_none() && !matches!(meaning, Meaning::Nothing { .. })
    }
}

/// What all threads have had of a processor so far.
fn processor_time() -> Duration {
    let tasks = fs::read_dir("/proc/self/task").expect("the system's account of the threads");
    let ran = tasks.flatten().filter_map(|task| {
        let told = fs::read_to_string(task.path().join("schedstat")).ok()?;
        told.split(' ').next()?.parse::<u64>().ok()
    });
    Duration::from_nanos(ran.sum())
}
