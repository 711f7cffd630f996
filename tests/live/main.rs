//! Whole sessions at a microphone: the real program, real capture and a real engine, in real time,
//! on a sound card that is not there.

mod card;
mod script;

use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStderr, ChildStdout, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

use card::Card;
use script::Act;

/// How long a line may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(45);

#[test]
fn a_session_with_a_headset_is_stopped_ended_and_gone_on_with() {
    play("headset.session");
}

#[test]
fn a_microphone_that_is_lost_is_waited_for() {
    play("microphone-lost.session");
}

/// A session being played.
struct Stage {
    card: Card,
    program: Option<Program>,
    /// Everything written so far.
    written: String,
}

/// The program while it runs.
struct Program {
    child: Child,
    lines: Receiver<String>,
    errors: Receiver<String>,
}

fn play(file: &str) {
    let mut stage = Stage {
        card: Card::plugged_in(),
        program: None,
        written: String::new(),
    };
    for act in script::read(&here(file)) {
        stage.play(act);
    }
    stage.finish();
    stage.verify();
}

fn here(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/live")
        .join(file)
}

impl Stage {
    fn play(&mut self, act: Act) {
        match act {
            Act::Run(arguments) => self.start("--record", &arguments),
            Act::Resume(arguments) => self.start("--resume", &arguments),
            Act::Expect(words) => self.expect(&words),
            Act::Say(recording) => {
                let root = Path::new(env!("CARGO_MANIFEST_DIR"));
                self.card.say(&root.join("audio-fixtures").join(recording));
            }
            Act::Wait(seconds) => thread::sleep(Duration::from_secs(seconds)),
            Act::LoseMicrophone => self.card.unplug(),
            Act::ReturnMicrophone => self.card.plug_in(),
            Act::End => self.end(),
        }
    }

    fn record(&self) -> PathBuf {
        self.card.path("session")
    }

    fn start(&mut self, record: &str, arguments: &[String]) {
        self.finish();
        let mut command = Command::new(env!("CARGO_BIN_EXE_readback"));
        command
            .arg("run")
            .arg(here("heater.yaml"))
            .args(["--engine", "pocketsphinx"])
            .arg(record)
            .arg(self.record())
            .args(arguments)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        self.card.at_home(&mut command);
        let mut child = command.spawn().expect("the program");
        let stdout = child.stdout.take().expect("its stdout");
        let stderr = child.stderr.take().expect("its stderr");
        self.program = Some(Program {
            child,
            lines: lines_of(stdout),
            errors: all_of(stderr),
        });
    }

    /// Waits for a line with these words.
    fn expect(&mut self, words: &str) {
        let begun = Instant::now();
        let program = self.program.as_ref().expect("a program that was started");
        loop {
            let left = PATIENCE.saturating_sub(begun.elapsed());
            let Ok(line) = program.lines.recv_timeout(left) else {
                break;
            };
            self.written += &line;
            self.written.push('\n');
            if line.contains(words) {
                return;
            }
        }
        let mut program = self.program.take().expect("a program that was started");
        // It may have ended by itself.
        let _ = program.child.kill();
        let errors = program.errors.recv().unwrap_or_default();
        panic!(
            "`{words}` was not written:\n{}\non stderr:\n{errors}",
            self.written
        );
    }

    /// Asks the program to end; what it writes then is still to be expected.
    fn end(&mut self) {
        let program = self.program.as_ref().expect("a program that was started");
        let id = program.child.id().to_string();
        let told = Command::new("kill").args(["-TERM", &id]).status();
        assert!(told.expect("`kill`").success());
    }

    /// Waits for the end of the program that runs, which must be in order.
    fn finish(&mut self) {
        let Some(mut program) = self.program.take() else {
            return;
        };
        let errors = program.errors.recv().unwrap_or_default();
        let status = program.child.wait().expect("its end");
        assert!(status.success(), "{status}\n{}\n{errors}", self.written);
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

impl Drop for Stage {
    fn drop(&mut self) {
        if let Some(program) = &mut self.program {
            // It may have ended by itself.
            let _ = program.child.kill();
        }
    }
}

fn lines_of(stdout: ChildStdout) -> Receiver<String> {
    let (tell, lines) = channel();
    thread::spawn(move || {
        for line in BufReader::new(stdout).lines().map_while(Result::ok) {
            // Nobody waits for a line after the last one that was expected.
            let _ = tell.send(line);
        }
    });
    lines
}

/// Everything, once the program has ended.
fn all_of(mut stderr: ChildStderr) -> Receiver<String> {
    let (tell, all) = channel();
    thread::spawn(move || {
        let mut text = String::new();
        stderr.read_to_string(&mut text).expect("text on stderr");
        let _ = tell.send(text);
    });
    all
}
