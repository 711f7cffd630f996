//! What hearing costs beside the engine alone, and what it costs to listen for something else.
//!
//! The engines and models are those that `scripts/setup` fetches.

use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use readback::hearing::ear::{Ear, Heard};
use readback::hearing::endpoint::{Endpointer, Utterance};
use readback::hearing::engines;
use readback::hearing::models::{Engine, Places};
use readback::hearing::pause::Pause;
use readback::hearing::recognizer::AnyRecognizer;
use readback::hearing::wav::WavSource;
use readback::language::{Automaton, Command, Expectation, Language};

/// How often the pipeline and the bare engine take turns.
const ROUNDS: usize = 15;

/// Recordings of each language that are heard in a round.
const RECORDINGS: usize = 6;

struct Bench {
    engine: Engine,
    locale: &'static str,
    readings: Automaton,
    commands: Automaton,
    recordings: Vec<PathBuf>,
}

impl Bench {
    fn new(engine: Engine, locale: &'static str) -> Bench {
        let language = Language::bundled(locale).expect("a bundled language");
        let compile = |expected| language.compile(&expected).expect("a grammar");
        let prefix = format!("{}-", &locale[..2]);
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("audio-fixtures/hearing");
        let entries = fs::read_dir(folder).expect("the recordings");
        let mut recordings: Vec<PathBuf> = entries
            .map(|entry| entry.expect("a recording").path())
            .filter(|path| path.extension().is_some_and(|ending| ending == "wav"))
            .filter(|path| {
                path.file_name()
                    .is_some_and(|n| n.to_string_lossy().starts_with(&prefix))
            })
            .collect();
        recordings.sort();
        recordings.truncate(RECORDINGS);
        Bench {
            engine,
            locale,
            readings: compile(Expectation {
                spelling: false,
                ..Expectation::everything()
            }),
            commands: compile(Expectation {
                commands: Command::ALL.into_iter().collect(),
                ..Expectation::default()
            }),
            recordings,
        }
    }

    fn open(&self) -> AnyRecognizer {
        let places = Places::of_this_machine(None);
        engines::open(Some(self.engine), self.locale, &places).expect("an engine")
    }

    /// What is heard in a recording.
    fn heard(&self, ear: &mut Ear, path: &Path) -> Vec<Heard> {
        let bytes = fs::read(path).expect("a recording");
        let mut source = WavSource::new("recording", bytes.as_slice()).expect("a WAV file");
        let samples = source.read_all().expect("samples");
        let mut endpointer = Endpointer::default();
        let mut stretches = endpointer.push(&samples, |_| Pause::Unfinished);
        stretches.extend(endpointer.finish());
        let heard = stretches.into_iter().flat_map(|stretch| {
            let heard = ear.hear_stretch(stretch);
            heard.expect("an engine that works")
        });
        heard.collect()
    }

    /// From the file to its meaning.
    fn pipeline(&self, ear: &mut Ear) -> Duration {
        let start = Instant::now();
        for path in &self.recordings {
            for heard in self.heard(ear, path) {
                for hypothesis in &heard.hypotheses {
                    black_box(self.readings.parse(&hypothesis.words));
                }
            }
        }
        start.elapsed()
    }

    /// The engine alone, on the same samples.
    fn bare(&self, engine: &mut AnyRecognizer, utterances: &[Utterance]) -> Duration {
        let start = Instant::now();
        for utterance in utterances {
            engine
                .accept(&utterance.samples)
                .expect("an engine that works");
            black_box(engine.finish().expect("an engine that works"));
        }
        start.elapsed()
    }

    /// Prints the ratio of the fastest rounds, which other work on the machine disturbs least.
    fn compare(&self) {
        let mut ear = Ear::new(self.open());
        ear.set_grammar(&self.readings).expect("a grammar");
        let mut engine = self.open();
        engine.set_grammar(&self.readings).expect("a grammar");
        let paths = self.recordings.iter();
        let utterances: Vec<Utterance> = paths
            .flat_map(|path| self.heard(&mut ear, path))
            .map(|heard| heard.utterance)
            .collect();
        let audio: u64 = utterances.iter().map(|u| u.end_ms - u.start_ms).sum();
        let (mut bare, mut pipeline) = (Duration::MAX, Duration::MAX);
        for _ in 0..ROUNDS {
            bare = bare.min(self.bare(&mut engine, &utterances));
            pipeline = pipeline.min(self.pipeline(&mut ear));
        }
        println!(
            "{}: {audio} ms of speech, bare {:.1} ms, pipeline {:.1} ms, ratio {:.3}",
            self.engine.name(),
            bare.as_secs_f64() * 1e3,
            pipeline.as_secs_f64() * 1e3,
            pipeline.as_secs_f64() / bare.as_secs_f64()
        );
    }

    fn first_grammar(&self) {
        let mut engine = self.open();
        let start = Instant::now();
        engine.set_grammar(&self.readings).expect("a grammar");
        let taken = start.elapsed().as_secs_f64() * 1e3;
        println!(
            "{}: all readings for the first time {taken:.1} ms",
            self.engine.name()
        );
    }

    fn switch(&self, criterion: &mut Criterion) {
        let mut engine = self.open();
        let mut turn = 0_u32;
        criterion.bench_function(&format!("switch grammar, {}", self.engine.name()), |b| {
            b.iter(|| {
                turn += 1;
                let grammar = match turn % 2 {
                    0 => &self.readings,
                    _ => &self.commands,
                };
                engine.set_grammar(black_box(grammar)).expect("a grammar")
            });
        });
    }
}

fn hearing(criterion: &mut Criterion) {
    for (engine, locale) in [(Engine::PocketSphinx, "en-US"), (Engine::Vosk, "ko-KR")] {
        let bench = Bench::new(engine, locale);
        bench.switch(criterion);
        bench.first_grammar();
        bench.compare();
    }
}

criterion_group!(benches, hearing);
criterion_main!(benches);
