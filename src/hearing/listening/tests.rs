//! What the listening thread delivers, on recordings instead of a microphone.

use super::*;
use std::sync::Mutex;

fn samples(file: &str) -> Vec<i16> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/audio-fixtures/hearing");
    let mut wav = hound::WavReader::open(format!("{folder}/{file}")).unwrap();
    assert_eq!(wav.spec().sample_rate, SAMPLE_RATE);
    wav.samples::<i16>().map(Result::unwrap).collect()
}

fn heard(play: impl FnOnce(&mut Ear<Box<dyn FnMut(Sound)>>), shared: &Arc<Shared>) -> Vec<Sound> {
    let sounds = Arc::<Mutex<Vec<Sound>>>::default();
    let kept = Arc::clone(&sounds);
    let deliver: Box<dyn FnMut(Sound)> = Box::new(move |sound| match sound {
        Sound::Level(_) => {}
        other => kept.lock().unwrap().push(other),
    });
    // So far into the session that no time comes before its beginning.
    let clock = Arc::new(SystemClock::starting_at(100_000));
    play(&mut Ear::new(Arc::clone(shared), clock, deliver));
    let mut sounds = std::mem::take(&mut *sounds.lock().unwrap());
    sounds.retain(|sound| !matches!(sound, Sound::Look(_)));
    sounds
}

#[test]
fn an_utterance_has_the_time_of_the_clock_and_is_waited_for() {
    let shared = Arc::<Shared>::default();
    let sounds = heard(
        |ear| {
            ear.hear(&samples("en-rms-next.wav"));
            ear.hear(&[0; 16_000]);
        },
        &shared,
    );
    let [Sound::Utterance(utterance)] = sounds.as_slice() else {
        panic!("found {sounds:?}, expected one utterance");
    };
    assert!(
        (95_000..101_000).contains(&utterance.start_ms),
        "{utterance:?}"
    );
    assert_eq!(
        utterance.end_ms - utterance.start_ms,
        utterance.samples.len() as u64 / 16
    );
    let listening = Listening {
        shared,
        name: String::new(),
    };
    assert!(listening.is_busy());
    listening.done();
    assert!(!listening.is_busy());
    listening.done();
    assert!(!listening.is_busy());
}

#[test]
fn a_voice_that_begins_and_ends_parts_utterances_and_windows() {
    let shared = Arc::<Shared>::default();
    let speech = samples("en-rms-two_hundred_and_forty_five_volts.wav");
    let sounds = heard(
        |ear| {
            for (piece, until) in speech.chunks(speech.len() / 3).zip([0, u64::MAX, 0]) {
                ear.shared.sounds_until.store(until, Ordering::Relaxed);
                ear.hear(piece);
            }
            ear.hear(&[0; 16_000]);
        },
        &shared,
    );
    let [
        Sound::Utterance(_),
        Sound::Window(window),
        Sound::Utterance(_),
    ] = sounds.as_slice()
    else {
        panic!("found {sounds:?}, expected an utterance on each side of a window");
    };
    assert_eq!(window.samples.len(), speech.len() / 3);
}

/// A busy machine looks at what was captured long after the voice has ended.
#[test]
fn what_was_captured_before_the_voice_ended_belongs_to_it() {
    let shared = Arc::<Shared>::default();
    let speech = samples("en-rms-two_hundred_and_forty_five_volts.wav");
    let until = 100_000 - speech.len() as u64 / 2 / 16;
    let sounds = heard(
        |ear| {
            ear.shared.sounds_until.store(until, Ordering::Relaxed);
            ear.hear(&speech);
            ear.hear(&[0; 16_000]);
        },
        &shared,
    );
    let [Sound::Window(window), Sound::Utterance(_)] = sounds.as_slice() else {
        panic!("found {sounds:?}, expected a window and an utterance");
    };
    assert!(window.end_ms.abs_diff(until) < 2, "{window:?}");
}

/// A busy machine gives seconds at once.
#[test]
fn a_word_within_one_block_is_not_taken_for_noise() {
    let word = samples("en-rms-two_hundred_and_forty_five_volts.wav");
    let samples = [word, vec![0; 16_000]].concat();
    let noise = |block: usize| {
        let mut noise = None;
        let play = |ear: &mut Ear<Box<dyn FnMut(Sound)>>| {
            samples.chunks(block).for_each(|block| ear.hear(block));
            noise = Some(ear.meter.take().noise_db);
        };
        heard(play, &Arc::default());
        noise
    };
    assert_eq!(noise(samples.len()), noise(320));
}
