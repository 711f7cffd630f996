//! How fast an engine answers on this machine, and when to use it: what `doctor` says of one that is
//! ready.

use std::path::Path;

use crate::cli::Failure;
use crate::clock::{Clock, SystemClock};
use crate::hearing::engines;
use crate::hearing::models::{Engine, Places};
use crate::hearing::recognizer::{AnyRecognizer, HearingError};
use crate::language::{Expectation, Language};

/// Seconds that the engine listens to: as long as a reading with its unit.
const SECONDS: usize = 2;

/// A sentence about an engine whose model lies in a folder.
///
/// # Errors
///
/// The language is not there, or the engine cannot be opened or fails.
pub fn of(engine: Engine, model: &Path, locale: &str) -> Result<String, Failure> {
    let language = Language::bundled(locale).map_err(Failure::input)?;
    let grammar = language
        .compile(&Expectation::everything())
        .map_err(Failure::input)?;
    let mut recognizer = opened(engine, model, locale)?;
    recognizer.set_grammar(&grammar)?;
    let sound = hum();
    // The first time it also works out what the grammar allows, which a session does beforehand.
    let mut took_ms = 0;
    for _ in 0..2 {
        let clock = SystemClock::start();
        recognizer.accept(&sound)?;
        recognizer.finish()?;
        took_ms = clock.now().ms;
    }
    let use_for = when_to_use(engine);
    Ok(format!("hears {SECONDS} s in {took_ms} ms; {use_for}"))
}

/// The engine with the model that lies in a folder.
///
/// # Errors
///
/// It cannot be opened, as where the model is damaged.
pub fn opened(engine: Engine, model: &Path, locale: &str) -> Result<AnyRecognizer, HearingError> {
    let places = Places {
        named: Some(model.to_owned()),
        ..Places::default()
    };
    engines::open(Some(engine), locale, &places)
}

fn when_to_use(engine: Engine) -> &'static str {
    match engine {
        Engine::Vosk => "for other languages, and for English with a model of its own",
        Engine::Network => "for English, on a machine with two cores",
        Engine::PocketSphinx => "for English on a weak machine",
    }
}

/// A rough sound like a voiced one: a hundred pulses a second, each dying away.
fn hum() -> Vec<i16> {
    let pulse = |n: usize| {
        let age = (n % 160) as f32;
        (8_000.0 * (age * 0.4).sin() * (-age / 40.0).exp()) as i16
    };
    (0..SECONDS * 16_000).map(pulse).collect()
}
