//! Whole sessions at a microphone: the real program, real capture and a real engine, in real time,
//! on a sound card that is not there, and a page of them in a real browser.

mod card;
mod doctor;
mod listener;
mod program;
mod script;
mod speech;

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use card::Card;
use listener::Listener;
use program::Program;
use script::Act;
use speech::Speech;

/// How long a line may take that comes by itself or not at all.
const BY_ITSELF: Duration = Duration::from_secs(12);
/// How long a technician waits for an answer before saying it again, and how often.
const AGAIN: Duration = Duration::from_secs(15);
const AGAIN_AT_ONCE: Duration = Duration::from_secs(1);
const INSISTING: usize = 8;

const NO_BROWSER: &str =
    "Node.js is not installed, and the page is read by it: run `scripts/setup`";

#[test]
fn a_session_with_a_headset_is_stopped_ended_and_gone_on_with() {
    play("headset.session");
}

#[test]
fn a_loudspeaker_in_the_microphone_is_not_taken_for_the_technician() {
    play("loudspeaker.session");
}

#[test]
fn a_microphone_that_is_lost_is_waited_for() {
    play("microphone-lost.session");
}

#[test]
fn with_push_to_talk_only_what_is_said_with_the_key_counts_and_stop() {
    play("push-to-talk.session");
}

#[test]
fn without_a_speech_service_the_session_goes_on_in_text() {
    play("no-speech.session");
}

#[test]
fn with_a_speech_service_that_ends_no_sentence_the_session_goes_on_in_text() {
    play("endless-speech.session");
}

#[test]
fn a_page_shows_a_session_and_works_it_by_keyboard() {
    play("page.session");
}

/// A session being played.
struct Stage {
    procedure: String,
    /// Where its page is served, if it is.
    port: u16,
    program: Option<Program>,
    viewer: Option<Program>,
    /// What the last program that has ended told on stderr.
    errors: String,
    speech: Option<Speech>,
    listener: Listener,
    card: Card,
}

fn play(file: &str) {
    let card = Card::plugged_in();
    let mut stage = Stage {
        procedure: "heater.yaml".to_owned(),
        port: free_port(),
        program: None,
        viewer: None,
        errors: String::new(),
        speech: None,
        listener: Listener::start(&card),
        card,
    };
    for act in script::read(&here(file)) {
        stage.play(act);
    }
    stage.finish();
    if let Some(viewer) = stage.viewer.take() {
        viewer.finish();
    }
    stage.verify();
}

fn here(file: &str) -> PathBuf {
    below("tests/live", file)
}

fn below(folder: &str, file: &str) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    root.join(folder).join(file)
}

fn free_port() -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    listener.local_addr().expect("its address").port()
}

impl Stage {
    fn play(&mut self, act: Act) {
        match act {
            Act::Procedure(file) => self.procedure = file,
            Act::Speech(manner) => self.speech = Some(Speech::start(&self.card, manner)),
            Act::Echo(volume) => self.card.echo(&volume),
            Act::Run(arguments) => self.start("--record", &arguments),
            Act::Resume(arguments) => self.start("--resume", &arguments),
            Act::Expect(words) => self.program().expect(&words),
            Act::Before(first, second) => self.program().has_before(&first, &second),
            Act::Say(recording) => self.say(&recording),
            Act::Insist(recording, words) => self.insist(&recording, AGAIN, &words),
            Act::Shout(recording, words) => self.insist(&recording, AGAIN_AT_ONCE, &words),
            Act::Press(recording, words) => self.press_and_insist(&recording, &words),
            Act::Answer(recording, words) => {
                if !self.program().comes(&words, BY_ITSELF) {
                    self.insist(&recording, AGAIN, &words);
                }
            }
            Act::Silence => self.listener.wait_for_silence(),
            Act::LoseMicrophone => self.card.unplug(),
            Act::ReturnMicrophone => self.card.plug_in(),
            Act::View(script) => self.view(&script),
            Act::Seen(words) => self.viewer.as_mut().expect("a viewer").expect(&words),
            Act::End => self.program().end(),
            Act::Warned(words) => {
                self.finish();
                assert!(self.errors.contains(&words), "{}", self.errors);
            }
        }
    }

    fn say(&self, recording: &str) {
        self.card.say(&below("audio-fixtures", recording));
    }

    /// Says it until a line with these words comes.
    fn insist(&mut self, recording: &str, again: Duration, words: &str) {
        for _ in 0..INSISTING {
            self.say(recording);
            if self.program().comes(words, again) {
                return;
            }
        }
        self.program().expect(words);
    }

    fn press_and_insist(&mut self, recording: &str, words: &str) {
        for _ in 0..INSISTING {
            self.program().press();
            self.say(recording);
            if self.program().comes(words, AGAIN) {
                return;
            }
        }
        self.program().expect(words);
    }

    fn program(&mut self) -> &mut Program {
        self.program.as_mut().expect("a program that was started")
    }

    fn record(&self) -> PathBuf {
        self.card.path("session")
    }

    fn start(&mut self, record: &str, arguments: &[String]) {
        self.finish();
        let port = self.port.to_string();
        let mut command = Command::new(env!("CARGO_BIN_EXE_readback"));
        command
            .arg("run")
            .arg(here(&self.procedure))
            .args(["--engine", "pocketsphinx"])
            .arg(record)
            .arg(self.record())
            .args(arguments.iter().map(|word| word.replace("{port}", &port)));
        self.card.at_home(&mut command);
        self.program = Some(Program::start(&mut command, "the program"));
    }

    /// Opens the page of the program that runs in a browser that follows this script.
    fn view(&mut self, script: &str) {
        let mut command = Command::new("node");
        command
            .arg(below("tests/pages", script))
            .arg(format!("http://127.0.0.1:{}/", self.port));
        self.card.at_home(&mut command);
        self.viewer = Some(Program::start(&mut command, NO_BROWSER));
    }

    /// Waits for the end of the program that runs, which must be in order.
    fn finish(&mut self) {
        if let Some(program) = self.program.take() {
            self.errors = program.finish();
        }
    }

    fn verify(&self) {
        let verified = Command::new(env!("CARGO_BIN_EXE_readback"))
            .arg("verify")
            .arg(self.record())
            .output()
            .expect("the program");
        let found = String::from_utf8_lossy(&verified.stdout);
        assert!(verified.status.success(), "{found}");
        assert!(found.starts_with("whole and unchanged\n"), "{found}");
    }
}
