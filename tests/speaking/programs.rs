//! Speech programs as child processes: `espeak-ng` itself, one that is missing, one that hangs.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use readback::speaking::duration;
use readback::speaking::speaker::Speaker;
use readback::speaking::synthesizer::{Program, ProgramKind, Synthesizer};
use readback::speaking::text::TextVoice;
use readback::speaking::voice::Voice;
use readback::speaking::wav::WavVoice;

fn program(command: &Path) -> Program {
    Program {
        command: command.to_string_lossy().into_owned(),
        kind: ProgramKind::EspeakNg,
    }
}

/// A program made of these shell lines. Another program installs it: a file that is open for writing
/// here is so for a moment in the children that other tests start, too, and cannot be run then.
fn script(folder: &Path, lines: &str) -> PathBuf {
    let (text, path) = (folder.join("lines"), folder.join("speech"));
    fs::write(&text, format!("#!/bin/sh\n{lines}\n")).unwrap();
    let mut install = Command::new("install");
    let installed = install.arg("-m755").args([&text, &path]).status();
    assert!(installed.unwrap().success());
    path
}

fn length_ms(path: &Path) -> u64 {
    let wav = hound::WavReader::open(path).unwrap();
    u64::from(wav.duration()) * 1000 / u64::from(wav.spec().sample_rate)
}

#[test]
fn sentences_are_spoken_into_one_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("said.wav");
    let mut voice = WavVoice::open(&path, "en-US").unwrap();
    voice.say("Two four five ohms.").unwrap();
    let first = length_ms(&path);
    assert!((900..3_000).contains(&first), "{first} ms");
    voice.say("-40 degrees; is that right?").unwrap();
    voice.finish().unwrap();
    drop(voice);
    let both = length_ms(&path);
    assert!(both > first + 900, "{first} ms, then {both} ms");
    let files = fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(files, 1, "only the WAV file is left");
}

#[test]
fn a_file_that_cannot_be_written_is_told_and_no_program_is_blamed() {
    let Err(why) = WavVoice::open(Path::new("/no/such/folder/said.wav"), "en-US") else {
        panic!("found a voice, expected an error");
    };
    let message = why.to_string();
    assert!(
        message.starts_with("cannot write `/no/such/folder/said.wav`: ")
            && message.ends_with("; choose another file"),
        "{message}"
    );
}

#[test]
fn other_languages_are_spoken_too() {
    let folder = tempfile::tempdir().unwrap();
    let scratch = folder.path().join("s.wav");
    let voice = Synthesizer::find("ko-KR", &scratch).unwrap();
    assert_eq!(voice.name(), "espeak-ng");
    assert!(
        voice
            .synthesize("저항을 읽으십시오.")
            .unwrap()
            .samples
            .len()
            > 10_000
    );
    let message = Synthesizer::find("xx-XX", &scratch)
        .unwrap_err()
        .to_string();
    assert!(message.contains("`espeak-ng` failed to say"), "{message}");
}

/// The estimate that moves the virtual clock, against `espeak-ng` at its default rate.
#[test]
fn the_estimate_is_within_a_quarter_of_real_speech() {
    let folder = tempfile::tempdir().unwrap();
    let voice = Synthesizer::find("en-US", &folder.path().join("s.wav")).unwrap();
    let sentences = [
        "Set the multimeter to ohms and read pin four.",
        "Two four five ohms.",
        "Warning. Hot surfaces. The heater bank can burn you.",
        "Read the load count and call it out every ten seconds for one minute.",
        "One oh five point seven zero volts, is that right?",
        "Lock the main switch in the off position and hang your tag on it.",
        "The supply voltage is 245 volts.",
    ];
    for sentence in sentences {
        let speech = voice.synthesize(sentence).unwrap();
        let real = speech.samples.len() as f64 * 1000.0 / f64::from(speech.rate);
        let estimate = duration::estimate(sentence).as_millis() as f64;
        let ratio = estimate / real;
        assert!(
            (0.75..=1.25).contains(&ratio),
            "`{sentence}`: {estimate} ms estimated, {real:.0} ms spoken"
        );
    }
}

#[test]
fn a_program_that_hangs_is_ended_at_the_deadline() {
    let folder = tempfile::tempdir().unwrap();
    let hangs = script(folder.path(), "exec sleep 600");
    let began = Instant::now();
    let found = Synthesizer::with(program(&hangs), "en-US", &folder.path().join("s.wav"));
    let message = found.unwrap_err().to_string();
    assert!(message.contains("did not end within"), "{message}");
    assert!(began.elapsed() < duration::deadline("1") + Duration::from_secs(10));
}

#[test]
fn programs_that_fail_are_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let scratch = folder.path().join("s.wav");
    let why = |command: &Path| {
        let found = Synthesizer::with(program(command), "en-US", &scratch);
        found.unwrap_err().to_string()
    };
    assert_eq!(
        why(Path::new("no-such-speech-program")),
        "`no-such-speech-program` is not installed; install it with `sudo apt install \
         no-such-speech-program`"
    );
    let fails = why(&script(folder.path(), "exit 3"));
    assert!(fails.contains("failed to say `1`"), "{fails}");
    let silent = why(&script(folder.path(), "exit 0"));
    assert!(silent.contains("wrote no usable WAV file"), "{silent}");
    let noise = why(&script(folder.path(), "echo noise > \"$4\""));
    assert!(noise.contains("wrote no usable WAV file"), "{noise}");
    assert!(!scratch.exists());
}

#[test]
fn a_program_that_breaks_off_leaves_the_text() {
    let folder = tempfile::tempdir().unwrap();
    let flag = folder.path().join("broken");
    let lines = format!(
        "[ -e '{}' ] && exit 1\nexec espeak-ng \"$@\"",
        flag.display()
    );
    let program = program(&script(folder.path(), &lines));
    let scratch = folder.path().join("s.wav");
    let synthesizer = Synthesizer::with(program, "en-US", &scratch).unwrap();
    let voice = WavVoice::with(synthesizer, &folder.path().join("said.wav"));
    let written = folder.path().join("text");
    let text = TextVoice::new(fs::File::create(&written).unwrap());
    let mut speaker = Speaker::new(Box::new(text), Ok(Box::new(voice))).unwrap();
    speaker.say("One.").unwrap();
    fs::write(&flag, "").unwrap();
    speaker.say("Two. Three.").unwrap();
    let text = fs::read_to_string(&written).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[..2], ["One.", "Two."]);
    assert!(
        lines[2].starts_with("No voice, going on in text: "),
        "{text}"
    );
    assert_eq!(lines[3..], ["Three."]);
}
