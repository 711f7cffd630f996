//! How fast an answer comes: the built program on a sound card that is not there, with the real
//! capture, engine and speech service, both sides of the card recorded; and what the program takes to
//! start and of memory, beside the engine alone.
//!
//! `READBACK_UTTERANCES` says how many of each kind are said, `READBACK_ENGINE` by which engine they are
//! heard if not by PocketSphinx.

mod bare;
#[path = "../../tests/live/card.rs"]
#[expect(dead_code, reason = "what only tests do with it")]
mod card;
#[expect(dead_code, reason = "what only another bench asks for")]
mod memory;
mod sound;
#[path = "../../tests/live/speech.rs"]
mod speech;

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};
use std::{env, thread};

use bare::Taken;
use card::Card;
use readback::hearing::pause::{Pause, Pauses};
use sound::{Recorder, Sound};
use speech::{Manner, Speech};

/// How long a line may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);
/// From the line of the last sentence until the voice has ended it.
const LAST_SENTENCE: Duration = Duration::from_millis(4_500);
/// How far into the prompt "stop" is said.
const INTO_THE_PROMPT: Duration = Duration::from_millis(1_500);

const PROMPT: &str = "We were all away";

/// What was said, and between which moments it and its answer are to be found.
struct Said {
    what: What,
    from: Instant,
    to: Instant,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Stop,
    Command,
    Value,
}

/// The program, and what came of it.
struct Session {
    card: Card,
    program: Child,
    lines: Receiver<String>,
    said: Vec<Said>,
    begun: Instant,
    /// Until the first line, before which it listens.
    start: Option<Duration>,
}

fn main() {
    if bare::is_this() {
        return;
    }
    let given = env::var("READBACK_UTTERANCES").ok();
    let count = given.map_or(40, |text| text.parse().expect("a whole number"));
    let engine = env::var("READBACK_ENGINE");
    let engine = engine.unwrap_or_else(|_| "pocketsphinx".to_owned());
    let alone = [(); 3].map(|()| bare::measure(&engine));
    let card = Card::plugged_in();
    let _speech = Speech::start(&card, Manner::Aloud);
    let sides = ["mic.monitor", "speaker.monitor"];
    let [microphone, speaker] = sides.map(|monitor| Recorder::start(&card, monitor));
    let mut session = Session::begin(card, &engine);
    session.talk(count);
    let (said, taken) = session.end();
    report(&said, &microphone.stop(), &speaker.stop());
    beside(alone, taken);
}

impl Session {
    fn begin(card: Card, engine: &str) -> Session {
        let mut command = Command::new(env!("CARGO_BIN_EXE_readback"));
        command
            .arg("run")
            .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/latency/latency.yaml"))
            .args(["--engine", engine, "--headset", "--record"])
            .arg(card.path("session"))
            .args(["--variant", "hs-2", "--serial", "HS1"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped());
        card.at_home(&mut command);
        let begun = Instant::now();
        let mut program = command.spawn().expect("the program");
        let stdout = program.stdout.take().expect("its stdout");
        let (tell, lines) = channel();
        thread::spawn(move || {
            for line in BufReader::new(stdout).lines().map_while(Result::ok) {
                // Nobody waits for a line after the last one that was expected.
                let _ = tell.send(line);
            }
        });
        Session {
            card,
            program,
            lines,
            said: Vec::new(),
            begun,
            start: None,
        }
    }

    /// Says everything, so many times, and waits for each answer.
    fn talk(&mut self, count: usize) {
        for (line, answer) in [
            ("Say next when you have understood.", "next"),
            ("Is that you? Affirm or negative.", "affirm"),
            ("All at hand? Affirm or negative.", "affirm"),
        ] {
            self.expect(line);
            thread::sleep(LAST_SENTENCE);
            self.say(&format!("en-rms-{answer}"));
        }
        self.expect(PROMPT);
        thread::sleep(INTO_THE_PROMPT);
        self.stop("rms");
        for turn in 0..count {
            let voice = ["rms", "slt"][turn % 2];
            self.measure(What::Command, &format!("en-{voice}-continue"), PROMPT);
            thread::sleep(INTO_THE_PROMPT);
            self.stop(voice);
        }
        self.say("en-rms-continue");
        self.expect(PROMPT);
        thread::sleep(LAST_SENTENCE);
        self.say("en-rms-next");
        self.expect("Call out the count.");
        thread::sleep(LAST_SENTENCE);
        for turn in 0..count {
            let voice = ["rms", "slt"][turn % 2];
            self.measure(What::Value, &format!("en-{voice}-two_forty_five"), "counts");
            thread::sleep(LAST_SENTENCE);
        }
    }

    fn stop(&mut self, voice: &str) {
        self.measure(
            What::Stop,
            &format!("en-{voice}-stop"),
            "Only continue goes on.",
        );
        thread::sleep(LAST_SENTENCE);
    }

    fn measure(&mut self, what: What, recording: &str, answer: &str) {
        let from = Instant::now();
        self.say(recording);
        self.expect(answer);
        // Long enough for the first sound of the answer.
        let to = Instant::now() + Duration::from_secs(1);
        self.said.push(Said { what, from, to });
    }

    fn say(&self, recording: &str) {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("audio-fixtures/hearing");
        let file: PathBuf = folder.join(format!("{recording}.wav"));
        self.card.say(&file);
    }

    fn expect(&mut self, words: &str) {
        let begun = Instant::now();
        let mut written = Vec::new();
        while let Ok(line) = self
            .lines
            .recv_timeout(PATIENCE.saturating_sub(begun.elapsed()))
        {
            self.start.get_or_insert_with(|| self.begun.elapsed());
            let found = line.contains(words);
            written.push(line);
            if found {
                return;
            }
        }
        panic!("`{words}` was not written:\n{}", written.join("\n"));
    }

    fn end(mut self) -> (Vec<Said>, Taken) {
        let taken = Taken {
            start: self.start.expect("a line"),
            megabytes: memory::megabytes(&self.program.id().to_string(), memory::MOST),
        };
        self.program.kill().expect("a program that runs");
        self.program.wait().expect("its end");
        (std::mem::take(&mut self.said), taken)
    }
}

/// The table of `benches/README.md`.
fn report(said: &[Said], microphone: &Sound, speaker: &Sound) {
    let pauses = Pauses::default();
    println!("| said | until | times | pause | median | p95 | beyond the pause: median | p95 |");
    println!("|---|---|---|---|---|---|---|---|");
    for (what, pause) in [
        (What::Command, Pause::Command),
        (What::Value, Pause::Open),
        (What::Stop, Pause::Stop),
    ] {
        let of_kind = said.iter().filter(|said| said.what == what);
        let ends = of_kind.filter_map(|said| {
            let end = microphone.speech_ends(said.from, said.to)?;
            Some((end, said.to))
        });
        let measured = |moment: &dyn Fn(Instant, Instant) -> Option<Instant>| {
            let moments = ends.clone().filter_map(|(end, to)| {
                let moment = moment(end, to)?;
                Some(moment.duration_since(end).as_millis() as u64)
            });
            moments.collect::<Vec<u64>>()
        };
        let first_sound = measured(&|end, to| speaker.first_sound(end, to));
        let first_voice = measured(&|end, to| speaker.first_voice(end, to));
        let silence = measured(&|end, to| speaker.voice_ends(end, to));
        let pause = pauses.ms(pause);
        match what {
            What::Stop => row(what, "silence of the prompt", pause, silence),
            _ => {
                row(what, "first sound, the tone", pause, first_sound);
                row(what, "first word", pause, first_voice);
            }
        }
    }
}

/// What the program takes beside the engine alone, of which the fastest of three starts counts.
fn beside(alone: [Taken; 3], program: Taken) {
    let load = alone.iter().map(|taken| taken.start).min();
    let load = load.unwrap_or_default().as_millis();
    let memory = alone.iter().map(|taken| taken.megabytes);
    let memory = memory.fold(0.0, f64::max);
    println!("| | the engine alone | the program | |");
    println!("|---|---|---|---|");
    let start = program.start.as_millis();
    println!(
        "| start | {load} ms | {start} ms | {} ms more |",
        start.saturating_sub(load)
    );
    let ratio = program.megabytes / memory;
    println!(
        "| memory at most | {memory:.0} MB | {:.0} MB | {ratio:.2} |",
        program.megabytes
    );
}

fn row(what: What, until: &str, pause: u64, mut times: Vec<u64>) {
    times.sort_unstable();
    let at = |part: f64| times[((times.len() as f64 * part).ceil() as usize).max(1) - 1];
    let (median, p95) = (at(0.5), at(0.95));
    println!(
        "| {what:?} | {until} | {} | {pause} | {median} | {p95} | {} | {} |",
        times.len(),
        median.saturating_sub(pause),
        p95.saturating_sub(pause)
    );
    eprintln!("{what:?}, {until}: {times:?}");
}
