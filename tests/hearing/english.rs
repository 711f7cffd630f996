//! The real PocketSphinx with its real English model.

use std::fs;
use std::path::{Path, PathBuf};

use readback::hearing::ear::Heard;
use readback::hearing::models::Engine;
use readback::hearing::pause::Pause;
use readback::language::{Automaton, Choice, Command, Expectation, Language, Meaning};

use crate::support::{
    ear, everything, hear_live, hear_samples, misheard, person, samples, texts, utterances,
};

#[test]
fn commands_and_readings_are_heard_and_other_talk_is_rejected() {
    let language = Language::bundled("en-US").unwrap();
    let mut ear = ear(Engine::PocketSphinx, "en-US");
    assert_eq!(ear.set_grammar(&everything(&language)).unwrap(), [""; 0]);
    assert_eq!(misheard(&mut ear, "en-US"), [""; 0]);
}

/// A word that no dictionary has costs only what it is in.
#[test]
fn what_cannot_be_pronounced_is_left_out_and_told() {
    let language = Language::bundled("en-US").unwrap();
    let choice = |phrases: &[&str]| Choice {
        id: "part".into(),
        phrases: phrases.iter().map(|p| p.to_string()).collect(),
    };
    let grammar = |choices: Choice, commands: &[Command]| {
        let expectation = Expectation {
            commands: commands.iter().copied().collect(),
            choices: vec![choices],
            ..Expectation::default()
        };
        language.compile(&expectation).unwrap()
    };
    let mut ear = ear(Engine::PocketSphinx, "en-US");
    let parts = choice(&["the xzqflug", "the brrgh valve"]);
    let unheard = ear.set_grammar(&grammar(parts.clone(), &[Command::Stop]));
    assert_eq!(unheard.unwrap(), ["brrgh", "xzqflug"]);
    let stop = samples(Path::new("audio-fixtures/hearing/en-rms-stop.wav"));
    assert_eq!(texts(&hear_samples(&mut ear, &stop)), ["stop"]);
    let error = ear.set_grammar(&grammar(parts, &[])).unwrap_err();
    assert_eq!(
        error.to_string(),
        "pocketsphinx cannot use the grammar: it has no pronunciation for `brrgh`, `xzqflug`, and nothing \
         else may be said"
    );
}

#[test]
fn spoken_digits_of_a_person_are_heard() {
    let language = Language::bundled("en-US").unwrap();
    let mut ear = ear(Engine::PocketSphinx, "en-US");
    ear.set_grammar(&everything(&language)).unwrap();
    let heard = hear_samples(&mut ear, &person("tidigits/dhd.2934z.raw"));
    assert_eq!(texts(&heard), ["two nine three four zero"]);
    let words = &heard[0].hypotheses[0].words;
    assert!(
        words
            .windows(2)
            .all(|pair| pair[0].end_ms <= pair[1].start_ms)
    );
}

/// An end too early makes two utterances of one: worse than any wait. What a quick look takes for a
/// command must be one.
#[test]
fn no_recording_is_cut_or_misheard_because_it_is_looked_at_early() {
    let language = Language::bundled("en-US").unwrap();
    let grammar = everything(&language);
    let mut ear = ear(Engine::PocketSphinx, "en-US");
    ear.set_grammar(&grammar).unwrap();
    let mut wrong = Vec::new();
    for file in english_recordings() {
        let samples = samples(&file);
        let live = hear_live(&mut ear, &samples);
        let stretches = utterances(&samples, |_| Pause::Unfinished);
        let whole = stretches.into_iter().map(|whole| ear.hear(whole).unwrap());
        let whole: Vec<Heard> = whole.collect();
        if meanings(&grammar, &live) != meanings(&grammar, &whole) {
            wrong.push((file, texts(&live), texts(&whole)));
        }
    }
    assert_eq!(wrong, []);
}

/// What each utterance is taken for; nothing where it is rejected or means nothing.
fn meanings(grammar: &Automaton, heard: &[Heard]) -> Vec<Option<Meaning>> {
    let meaning = |heard: &Heard| match heard.rejected {
        Some(_) => None,
        None => {
            let parses = heard
                .hypotheses
                .iter()
                .map(|h| grammar.parse_text(&h.text()));
            let mut ranked = parses.flat_map(|parse| parse.ranked);
            ranked.next().map(|best| best.meaning)
        }
    };
    heard.iter().map(meaning).collect()
}

fn english_recordings() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("audio-fixtures");
    let folders = ["cold-benches", "hearing"].map(|folder| fs::read_dir(root.join(folder)));
    let files = folders.into_iter().flatten().flatten();
    let files = files.map(|entry| entry.unwrap().path());
    let mut english: Vec<PathBuf> = files
        .filter(|path| path.extension().is_some_and(|ending| ending == "wav"))
        .filter(|path| {
            !path
                .file_name()
                .unwrap()
                .to_string_lossy()
                .starts_with("ko-")
        })
        .collect();
    english.sort();
    assert!(english.len() > 60);
    english
}

#[test]
fn a_grammar_that_comes_back_hears_the_same_and_earlier_speech_does_not_matter() {
    let language = Language::bundled("en-US").unwrap();
    let readings = everything(&language);
    let commands = Expectation {
        commands: readback::language::Command::ALL.into_iter().collect(),
        ..Expectation::default()
    };
    let commands = language.compile(&commands).unwrap();
    let digits = person("tidigits/dhd.2934z.raw");
    let mut ear = ear(Engine::PocketSphinx, "en-US");
    ear.set_grammar(&readings).unwrap();
    let first = hear_samples(&mut ear, &digits);
    ear.set_grammar(&commands).unwrap();
    let other = hear_samples(&mut ear, &person("something.raw"));
    assert_ne!(texts(&other), texts(&first));
    ear.set_grammar(&readings).unwrap();
    assert_eq!(hear_samples(&mut ear, &digits), first);
}
