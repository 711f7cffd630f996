//! Where utterances start and end in sounds that are made here.

use readback::hearing::endpoint::{Endpointer, Endpointing, Utterance};
use readback::hearing::pause::Pause;
use readback::hearing::recognizer::SAMPLE_RATE;

/// A voice-like sound: a buzz at 120 Hz through the formants of an open vowel, in syllables.
fn babble(milliseconds: u64) -> Vec<i16> {
    let count = milliseconds * u64::from(SAMPLE_RATE) / 1000;
    let at = |n: u64, hertz: f64| {
        (n as f64 / f64::from(SAMPLE_RATE) * hertz * std::f64::consts::TAU).sin()
    };
    let formant = |hertz: f64| 1.0 / (1.0 + ((hertz - 700.0) / 200.0).powi(2));
    (0..count)
        .map(|n| {
            let buzz: f64 = (1..30)
                .map(|k| f64::from(k) * (120.0 + 10.0 * at(n, 3.0)))
                .map(|hertz| (formant(hertz) + 0.3 * formant(hertz - 500.0)) * at(n, hertz))
                .sum();
            (buzz * 4_000.0 * (0.6 + 0.4 * at(n, 5.0))) as i16
        })
        .collect()
}

fn silence(milliseconds: u64) -> Vec<i16> {
    vec![0; (milliseconds * u64::from(SAMPLE_RATE) / 1000) as usize]
}

/// A spanner on a pipe: 80 ms of dying noise.
fn knock() -> Vec<i16> {
    let mut noise = 1_u32;
    (0..1_280)
        .map(|n| {
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let level = 20_000.0 * (-f64::from(n) / 200.0).exp();
            (level * (f64::from(noise >> 16) / 32_768.0 - 1.0)) as i16
        })
        .collect()
}

fn utterances(samples: &[i16], block: usize, settings: Endpointing) -> Vec<Utterance> {
    let mut endpointer = Endpointer::new(settings);
    let mut all: Vec<Utterance> = Vec::new();
    for block in samples.chunks(block) {
        all.extend(endpointer.push(block, |_| Pause::Open));
    }
    all.extend(endpointer.finish());
    all
}

#[test]
fn two_stretches_of_voice_are_two_utterances_with_their_times() {
    let samples = [
        silence(1_000),
        babble(700),
        silence(1_500),
        babble(700),
        silence(900),
    ];
    let heard = utterances(&samples.concat(), 1_600, Endpointing::default());
    assert_eq!(heard.len(), 2);
    for (utterance, voice_from) in heard.iter().zip([1_000, 3_200]) {
        let (from, to) = (utterance.start_ms, utterance.end_ms);
        assert!(
            (voice_from - 340..=voice_from).contains(&from),
            "voice starts at {voice_from} ms, the utterance at {from} ms"
        );
        assert!(
            (voice_from + 700..=voice_from + 1_200).contains(&to),
            "voice ends at {} ms, the utterance at {to} ms",
            voice_from + 700
        );
        assert_eq!(utterance.samples.len() as u64, (to - from) * 16);
        assert!(!utterance.cut);
    }
}

#[test]
fn a_short_pause_does_not_split() {
    let samples = [
        silence(500),
        babble(600),
        silence(400),
        babble(600),
        silence(900),
    ];
    let heard = utterances(&samples.concat(), 777, Endpointing::default());
    assert_eq!(heard.len(), 1);
}

#[test]
fn silence_and_a_knock_are_no_utterance() {
    assert_eq!(
        utterances(&silence(3_000), 1_600, Endpointing::default()),
        []
    );
    let knock = [silence(500), knock(), silence(1_000), knock(), silence(500)].concat();
    assert_eq!(utterances(&knock, 1_600, Endpointing::default()), []);
}

#[test]
fn speech_without_end_is_cut_and_nothing_is_lost() {
    let settings = Endpointing {
        longest_ms: 2_000,
        ..Endpointing::default()
    };
    let speech = [silence(500), babble(7_000)].concat();
    let heard = utterances(&speech, 1_600, settings);
    assert!(heard.len() >= 4);
    let (last, others) = heard.split_last().unwrap();
    assert!(others.iter().all(|u| u.cut) && !last.cut);
    for pair in heard.windows(2) {
        assert!(pair[0].end_ms - pair[0].start_ms <= 2_000);
        assert_eq!(pair[0].end_ms, pair[1].start_ms);
    }
}

#[test]
fn the_size_of_blocks_does_not_matter() {
    let samples = [silence(400), babble(800), silence(700), babble(500)].concat();
    let whole = utterances(&samples, samples.len(), Endpointing::default());
    assert_eq!(whole.len(), 2);
    for block in [1, 255, 256, 4_000] {
        assert_eq!(utterances(&samples, block, Endpointing::default()), whole);
    }
}

/// What each look was at, and how the stretches of voice were cut, where every look says the same.
fn looked_at(samples: &[i16], pause: Pause) -> (Vec<Utterance>, Vec<Utterance>) {
    let mut endpointer = Endpointer::default();
    let mut looks = Vec::new();
    let mut ended = endpointer.push(samples, |so_far| {
        looks.push(so_far.clone());
        pause
    });
    ended.extend(endpointer.finish());
    (looks, ended)
}

#[test]
fn what_was_said_decides_how_long_a_pause_ends_it() {
    let spoken = |pause_ms| {
        let parts = [silence(500), babble(600), silence(pause_ms), babble(600)];
        [parts.concat(), silence(1_500)].concat()
    };
    for (pause_ms, pause, utterances) in [
        (200, Pause::Stop, 1),
        (300, Pause::Stop, 2),
        (200, Pause::Whole, 1),
        (200, Pause::Command, 1),
        (400, Pause::Command, 2),
        (500, Pause::Whole, 2),
        (500, Pause::Open, 1),
        (750, Pause::Open, 2),
        (750, Pause::Unfinished, 1),
        (1_200, Pause::Unfinished, 2),
    ] {
        let (_, ended) = looked_at(&spoken(pause_ms), pause);
        assert_eq!(ended.len(), utterances, "{pause:?}, {pause_ms} ms");
    }
}

#[test]
fn the_utterance_that_ends_is_the_one_that_was_looked_at() {
    let samples = [silence(500), babble(900), silence(1_500)].concat();
    for pause in [
        Pause::Stop,
        Pause::Command,
        Pause::Whole,
        Pause::Open,
        Pause::Unfinished,
    ] {
        let (looks, ended) = looked_at(&samples, pause);
        assert_eq!(ended.as_slice(), &looks[looks.len() - 1..], "{pause:?}");
        assert_eq!(
            looks.len(),
            if pause.is_sure() { 1 } else { 2 },
            "{pause:?}"
        );
    }
}

#[test]
fn a_look_that_is_settled_late_ends_the_utterance_only_in_the_same_silence() {
    let mut endpointer = Endpointer::default();
    let never = |_: &Utterance| Pause::Unfinished;
    let mut settle = |samples: &[i16], pause| {
        assert_eq!(endpointer.push(samples, never), []);
        let look = endpointer.looked()?;
        assert_eq!(endpointer.settle(look + 1, pause), None, "another look");
        endpointer.settle(look, pause)
    };
    assert_eq!(settle(&silence(500), Pause::Stop), None, "nobody spoke");
    assert_eq!(settle(&babble(600), Pause::Stop), None, "no silence yet");
    assert_eq!(
        settle(&silence(240), Pause::Whole),
        None,
        "too short a silence"
    );
    assert_eq!(settle(&babble(300), Pause::Stop), None, "somebody spoke on");
    let utterance = settle(&silence(480), Pause::Whole).expect("an utterance");
    let length = utterance.end_ms - utterance.start_ms;
    assert!((1_700..2_000).contains(&length), "{utterance:?}");
    assert!(!endpointer.hears_speech());
    assert_eq!(endpointer.finish(), []);
}
