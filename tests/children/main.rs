//! What only a process of its own can show: killed while it records, out of disk space, or with a
//! speech service that has gone silent.
//!
//! This test is its own child: it has no test harness, and called with the name of a part it plays
//! that part.

mod recording;
mod session;
mod speech_service;
mod system_voice;

use std::process::{Command, ExitCode, Stdio};

type Test = (&'static str, fn());

const TESTS: [Test; 7] = [
    ("killed_while_recording", recording::killed),
    ("killed_in_a_session", session::killed),
    ("out_of_disk_space", recording::out_of_space),
    ("a_service_that_speaks", system_voice::speaks),
    (
        "a_service_that_never_ends_a_sentence",
        system_voice::never_ends,
    ),
    (
        "a_service_that_does_not_answer",
        system_voice::does_not_answer,
    ),
    ("no_service", system_voice::absent),
];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.first().map(String::as_str) {
        Some("--play") => {
            play(&arguments[1], &arguments[2..]);
            ExitCode::SUCCESS
        }
        _ => run_tests(&arguments),
    }
}

fn play(part: &str, arguments: &[String]) {
    match part {
        "append" => recording::append_until_killed(&arguments[0]),
        "fill" => recording::fill_the_disk(&arguments[0]),
        "speak" => system_voice::speak(),
        _ => panic!("no part is called `{part}`"),
    }
}

/// All tests whose name contains the first argument that is no flag.
fn run_tests(arguments: &[String]) -> ExitCode {
    let filter = arguments.iter().find(|a| !a.starts_with('-'));
    let mut failed = 0;
    for (name, test) in TESTS {
        if filter.is_some_and(|part| !name.contains(part.as_str())) {
            continue;
        }
        let passed = std::panic::catch_unwind(test).is_ok();
        println!("test {name} ... {}", if passed { "ok" } else { "FAILED" });
        failed += u8::from(!passed);
    }
    ExitCode::from(failed.min(1))
}

/// This program, to play a part; the caller says what becomes of its output.
fn child(part: &str) -> Command {
    let mut command = Command::new(std::env::current_exe().expect("our own path"));
    command.args(["--play", part]);
    command.stdin(Stdio::piped()).stdout(Stdio::piped());
    command
}
