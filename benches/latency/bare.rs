//! The engine with nothing around it, in a process of its own: what it takes to load, and how much
//! memory it takes to hear what is said in the session.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};
use std::{env, fs};

use crate::memory::{MOST, megabytes};
use readback::hearing::engines;
use readback::hearing::models::{Engine, Places};
use readback::hearing::wav::WavSource;
use readback::language::{Expectation, Language};

/// Names the engine in the process that is the engine alone.
const ALONE: &str = "READBACK_ENGINE_ALONE";

/// Of one process.
#[derive(Debug, Clone, Copy)]
pub struct Taken {
    /// Until it can be listened to.
    pub start: Duration,
    /// The most memory that was resident at any time.
    pub megabytes: f64,
}

/// Whether this process is the engine alone; then it has done its work.
pub fn is_this() -> bool {
    let engine = env::var(ALONE);
    engine.is_ok_and(|name| {
        hear(Engine::named(&name).expect("an engine"));
        true
    })
}

/// Runs this program as the engine alone.
pub fn measure(engine: &str) -> Taken {
    let program = env::current_exe().expect("this program");
    let told = Command::new(program).env(ALONE, engine).output();
    let told = String::from_utf8(told.expect("this program once more").stdout).expect("text");
    let mut numbers = told.split_whitespace().map(|word| word.parse::<f64>());
    let mut number = || numbers.next().expect("two numbers").expect("a number");
    Taken {
        start: Duration::from_secs_f64(number()),
        megabytes: number(),
    }
}

fn hear(engine: Engine) {
    let begun = Instant::now();
    let places = Places::of_this_machine(None);
    let mut ear = engines::ear(Some(engine), "en-US", &places).expect("an engine");
    let loaded = begun.elapsed();
    let language = Language::bundled("en-US").expect("a bundled language");
    let grammar = language.compile(&Expectation::everything());
    ear.set_grammar(&grammar.expect("a grammar"))
        .expect("a grammar");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("audio-fixtures/hearing");
    for said in ["affirm", "continue", "next", "stop", "two_forty_five"] {
        let file = fs::read(folder.join(format!("en-rms-{said}.wav"))).expect("a recording");
        let mut source = WavSource::new(said, file.as_slice()).expect("a WAV file");
        let samples = source.read_all().expect("samples");
        ear.first_of(&samples);
    }
    println!("{} {}", loaded.as_secs_f64(), megabytes("self", MOST));
}
