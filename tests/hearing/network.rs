//! The real network with its real weights; where these are not there the tests say so and pass.

use std::io::Cursor;
use std::time::{Duration, Instant};

use hound::{SampleFormat, WavSpec, WavWriter};
use readback::hearing::ear::{Ear, Heard};
use readback::hearing::endpoint::Utterance;
use readback::hearing::models::Engine;
use readback::hearing::wav::WavSource;
use readback::language::{Automaton, Language, Meaning};

use crate::support::{everything, find_ear, hear_file, hear_samples, recordings};

/// No sound takes longer, on a busy machine and without optimisation of what is around the network.
const LIMIT: Duration = Duration::from_secs(60);

/// The network with every command and every reading allowed, where its weights are there.
fn listening() -> Option<Ear> {
    match find_ear(Engine::Network, "en-US") {
        Ok(mut ear) => {
            let language = Language::bundled("en-US").unwrap();
            assert_eq!(ear.set_grammar(&everything(&language)).unwrap(), [""; 0]);
            Some(ear)
        }
        Err(why) => {
            eprintln!("skipped: {why}");
            None
        }
    }
}

/// The meaning of words, whatever their times.
fn meaning(grammar: &Automaton, words: &str) -> Meaning {
    grammar.parse_text(words).meaning()
}

/// The network writes numbers its own way, so meanings are compared, not words. Of 28 it takes
/// "milliamps" for "million" twice, and asks for four again, of two of which it would lose a "point
/// two" and an "ohms".
#[test]
fn commands_and_readings_are_heard_and_other_talk_is_rejected() {
    let language = Language::bundled("en-US").unwrap();
    let grammar = everything(&language);
    let Some(mut ear) = listening() else { return };
    let (mut wrong, mut again) = (Vec::new(), Vec::new());
    for recording in recordings("en-US") {
        let heard = hear_file(&mut ear, &recording.path);
        let accepted = heard.iter().filter(|heard| heard.rejected.is_none());
        let texts = accepted.filter_map(|heard| Some(heard.hypotheses.first()?.text()));
        let texts: Vec<String> = texts.collect();
        let Some(words) = &recording.words else {
            assert_eq!(texts, [""; 0], "{}", recording.path.display());
            continue;
        };
        let expected = meaning(&grammar, words);
        match texts.as_slice() {
            [] => again.push(words.clone()),
            [one] if meaning(&grammar, one) == expected => {}
            _ => wrong.push(format!("`{words}` as {texts:?}")),
        }
    }
    assert!(wrong.len() <= 2, "{wrong:?}");
    assert!(again.len() <= 4, "{again:?}");
}

#[test]
fn silence_says_nothing() {
    let Some(mut ear) = listening() else { return };
    assert!(hear_samples(&mut ear, &[0; 48_000]).is_empty());
}

/// What the whole of it is heard as, however it sounds.
fn hear(ear: &mut Ear, samples: Vec<i16>) -> Heard {
    ear.hear(Utterance {
        start_ms: 0,
        end_ms: samples.len() as u64 / 16,
        samples,
        cut: false,
    })
    .unwrap()
}

/// Two seconds of a sound, from the number of each sample.
fn two_seconds(sound: impl Fn(usize) -> f64) -> Vec<i16> {
    let sample = |n| (sound(n) * f64::from(i16::MAX)) as i16;
    (0..32_000).map(sample).collect()
}

#[test]
fn what_nobody_says_is_no_word() {
    let tone = |n: usize, hz: f64| (n as f64 / 16_000.0 * hz * std::f64::consts::TAU).sin();
    let noise = |n: usize| {
        let mixed = (n as u32).wrapping_mul(2_654_435_761);
        f64::from((mixed ^ mixed >> 15).wrapping_mul(2_246_822_519) >> 8) / 8_388_608.0 - 1.0
    };
    let chord = |n| 0.2 * (tone(n, 440.0) + tone(n, 554.4) + tone(n, 659.3));
    let melody = |n: usize| 0.5 * tone(n, [392.0, 440.0, 523.3, 349.2][n / 8_000]);
    let motor = |n| 0.3 * (tone(n, 49.0) + tone(n, 98.0)) + 0.1 * noise(n);
    let beeps =
        |n: usize| 0.5 * tone(n, 2_000.0) * f64::from(u8::from((n / 4_000).is_multiple_of(2)));
    let Some(mut ear) = listening() else { return };
    for sound in [
        two_seconds(|_| 0.0),
        two_seconds(|n| 0.3 * noise(n)),
        two_seconds(chord),
        two_seconds(melody),
        two_seconds(motor),
        two_seconds(beeps),
    ] {
        let heard = hear(&mut ear, sound);
        let best = heard.hypotheses.first().map(|best| best.text());
        assert!(best.is_none() || heard.rejected.is_some(), "{best:?}");
    }
}

/// A file of floating-point samples that are no numbers.
fn no_numbers() -> Vec<i16> {
    let spec = WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 32,
        sample_format: SampleFormat::Float,
    };
    let mut file = Cursor::new(Vec::new());
    let mut writer = WavWriter::new(&mut file, spec).unwrap();
    for sample in [f32::NAN, f32::INFINITY, -f32::INFINITY, 0.1].repeat(4_000) {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
    let mut source = WavSource::new("a.wav", Cursor::new(file.into_inner())).unwrap();
    source.read_all().unwrap()
}

#[test]
fn whatever_comes_is_answered_in_time() {
    let Some(mut ear) = listening() else { return };
    for samples in [
        Vec::new(),
        vec![1],
        vec![i16::MIN; 399],
        vec![12_000; 32_000],
        [i16::MIN, i16::MAX].repeat(16_000),
        no_numbers(),
        vec![-300; 600 * 16_000],
    ] {
        let length = samples.len();
        let began = Instant::now();
        let heard = hear(&mut ear, samples);
        assert!(began.elapsed() < LIMIT, "{length} samples");
        assert!(
            heard.hypotheses.is_empty() || heard.rejected.is_some(),
            "{length} samples"
        );
    }
}
