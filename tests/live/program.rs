//! A program that runs while its lines are waited for.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStderr, ChildStdout, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

/// How long a line may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(45);

pub struct Program {
    child: Child,
    lines: Receiver<String>,
    errors: Receiver<String>,
    /// Every line so far.
    written: String,
}

impl Program {
    /// Starts it, or says what is missing on the machine.
    pub fn start(command: &mut Command, missing: &str) -> Program {
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().expect(missing);
        let stdout = child.stdout.take().expect("its stdout");
        let stderr = child.stderr.take().expect("its stderr");
        Program {
            child,
            lines: lines_of(stdout),
            errors: all_of(stderr),
            written: String::new(),
        }
    }

    /// Types a key on its stdin.
    pub fn press(&mut self) {
        let stdin = self.child.stdin.as_mut().expect("its stdin");
        stdin.write_all(b" ").expect("a program that runs");
    }

    /// Whether a line with these words comes in time. What the technician said is none.
    pub fn comes(&mut self, words: &str, in_time: Duration) -> bool {
        let begun = Instant::now();
        loop {
            let left = in_time.saturating_sub(begun.elapsed());
            let Ok(line) = self.lines.recv_timeout(left) else {
                return false;
            };
            self.written += &line;
            self.written.push('\n');
            if line.contains(words) && !line.contains("Technician") {
                return true;
            }
        }
    }

    /// Waits for a line with these words.
    pub fn expect(&mut self, words: &str) {
        if self.comes(words, PATIENCE) {
            return;
        }
        // It may have ended by itself.
        let _ = self.child.kill();
        let errors = self.errors.recv().unwrap_or_default();
        panic!(
            "`{words}` was not written:\n{}\non stderr:\n{errors}",
            self.written
        );
    }

    /// A line with the first words must have the time of the one with the second or an earlier one,
    /// if there is a second one.
    pub fn has_before(&self, first: &str, second: &str) {
        // Minutes and seconds, the seconds with two digits: as text they are in the order of time.
        let time = |words| {
            let line = self.written.lines().find(|line| line.contains(words))?;
            line.split_whitespace().next()
        };
        let (first, second) = (time(first).expect("the first line"), time(second));
        let written = &self.written;
        assert!(second.is_none_or(|second| first <= second), "{written}");
    }

    /// Asks it to end; what it writes then is still to be expected.
    pub fn end(&self) {
        let id = self.child.id().to_string();
        let told = Command::new("kill").args(["-TERM", &id]).status();
        assert!(told.expect("`kill`").success());
    }

    /// Waits for its end, which must be in order, and gives what it told on stderr.
    pub fn finish(mut self) -> String {
        let errors = self.errors.recv().unwrap_or_default();
        let status = self.child.wait().expect("its end");
        assert!(status.success(), "{status}\n{}\n{errors}", self.written);
        println!("{}", self.written);
        errors
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
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
