//! Whole sessions at a microphone: the real program, real capture and a real engine, in real time,
//! on a sound card that is not there, and a page of them in a real browser.

mod card;
mod program;
mod script;

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::thread;
use std::time::Duration;

use card::Card;
use program::Program;
use script::Act;

const NO_BROWSER: &str =
    "Node.js is not installed, and the page is read by it: run `scripts/setup`";

#[test]
fn a_session_with_a_headset_is_stopped_ended_and_gone_on_with() {
    play("headset.session");
}

#[test]
fn a_microphone_that_is_lost_is_waited_for() {
    play("microphone-lost.session");
}

#[test]
fn a_page_shows_a_session_and_works_it_by_keyboard() {
    play("page.session");
}

/// A session being played.
struct Stage {
    card: Card,
    procedure: String,
    /// Where its page is served, if it is.
    port: u16,
    program: Option<Program>,
    viewer: Option<Program>,
}

fn play(file: &str) {
    let mut stage = Stage {
        card: Card::plugged_in(),
        procedure: "heater.yaml".to_owned(),
        port: free_port(),
        program: None,
        viewer: None,
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
            Act::Run(arguments) => self.start("--record", &arguments),
            Act::Resume(arguments) => self.start("--resume", &arguments),
            Act::Expect(words) => self.program().expect(&words),
            Act::Say(recording) => self.card.say(&below("audio-fixtures", &recording)),
            Act::Wait(seconds) => thread::sleep(Duration::from_secs(seconds)),
            Act::LoseMicrophone => self.card.unplug(),
            Act::ReturnMicrophone => self.card.plug_in(),
            Act::View(script) => self.view(&script),
            Act::Seen(words) => self.viewer.as_mut().expect("a viewer").expect(&words),
            Act::End => self.program().end(),
        }
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
            program.finish();
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
