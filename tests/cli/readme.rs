//! Every command of the README is run, and its output is what the README shows.
//!
//! In a `console` block a line `$ command` is followed by its output. `[..]` stands for anything
//! within a line, and a line `...` for any number of lines. The time at the head of a line of a
//! transcript may be a few seconds off: it tells the reader how long things take, and moves with
//! every change to how long the ear waits.

use std::path::Path;
use std::process::Command;

use crate::support::Folder;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const README: &str = include_str!("../../README.md");

/// A command with the output shown below it.
struct Shown<'a> {
    command: &'a str,
    output: Vec<&'a str>,
}

#[test]
fn every_console_command_gives_what_is_shown() {
    let folder = Folder::new();
    for shared in ["procedures", "audio-fixtures", "scripts"] {
        let link = folder.path().join(shared);
        std::os::unix::fs::symlink(Path::new(ROOT).join(shared), link).expect("a link");
    }
    let shown = shown();
    assert!(
        shown.len() >= 6,
        "the README shows {} commands",
        shown.len()
    );
    for Shown { command, output } in shown {
        let found = run(folder.path(), command);
        let lines: Vec<&str> = found.lines().collect();
        assert!(
            matches(&output, &lines),
            "`{command}` shows:\n{}\nfound:\n{found}",
            output.join("\n")
        );
    }
}

#[test]
fn every_script_of_the_readme_is_there() {
    let scripts: Vec<&str> = blocks("sh").flat_map(str::lines).collect();
    assert!(scripts.contains(&"scripts/demo") && scripts.contains(&"scripts/test"));
    for script in scripts {
        let script = script.split_whitespace().next().unwrap_or_default();
        assert!(
            Path::new(ROOT).join(script).is_file(),
            "`{script}` is missing"
        );
    }
}

/// What both streams of a command say.
fn run(folder: &Path, command: &str) -> String {
    let binary = Path::new(env!("CARGO_BIN_EXE_readback"));
    let beside = binary.parent().expect("a folder of binaries").display();
    let path = std::env::var("PATH").unwrap_or_default();
    let output = Command::new("sh")
        .args(["-c", &format!("{{ {command}; }} 2>&1")])
        .current_dir(folder)
        .env("PATH", format!("{beside}:{path}"))
        .env("COLUMNS", "100")
        .output()
        .expect("a shell");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn shown() -> Vec<Shown<'static>> {
    let mut shown: Vec<Shown> = Vec::new();
    for line in blocks("console").flat_map(str::lines) {
        match (line.strip_prefix("$ "), shown.last_mut()) {
            (Some(command), _) => shown.push(Shown {
                command,
                output: Vec::new(),
            }),
            (None, Some(last)) => last.output.push(line),
            (None, None) => panic!("`{line}` has no command above it"),
        }
    }
    shown
}

fn blocks(language: &str) -> impl Iterator<Item = &'static str> {
    let begin = format!("```{language}\n");
    let parts: Vec<&str> = README.split(&begin).skip(1).collect();
    parts.into_iter().map(|part| {
        let end = part.find("```").expect("a block ends");
        &part[..end]
    })
}

/// Whether lines are as shown, `...` standing for any number of them.
fn matches(shown: &[&str], found: &[&str]) -> bool {
    match (shown.split_first(), found.split_first()) {
        (None, _) => found.is_empty(),
        (Some((&"...", rest)), _) => {
            (0..=found.len()).any(|skipped| matches(rest, &found[skipped..]))
        }
        (Some((line, rest)), Some((first, more))) => {
            line_matches(line, first) && matches(rest, more)
        }
        (Some(_), None) => false,
    }
}

/// How far a time shown may be off: what all pauses of a long transcript gain or lose together.
const SECONDS_OFF: u64 = 5;

/// Whether a line is as shown, its time roughly so, `[..]` standing for anything.
fn line_matches(shown: &str, found: &str) -> bool {
    match (timed(shown), timed(found)) {
        (Some((at, shown)), Some((found_at, found))) => {
            at.abs_diff(found_at) <= SECONDS_OFF && text_matches(shown, found)
        }
        _ => text_matches(shown, found),
    }
}

/// The seconds at the head of a line of a transcript, and what follows them.
fn timed(line: &str) -> Option<(u64, &str)> {
    let (minutes, rest) = line.trim_start().split_once(':')?;
    let (seconds, rest) = rest.split_at_checked(2)?;
    Some((
        60 * minutes.parse::<u64>().ok()? + seconds.parse::<u64>().ok()?,
        rest,
    ))
}

fn text_matches(shown: &str, found: &str) -> bool {
    let Some((before, after)) = shown.split_once("[..]") else {
        return shown == found;
    };
    let Some(rest) = found.strip_prefix(before) else {
        return false;
    };
    let mut starts = rest.char_indices().map(|(at, _)| at).chain([rest.len()]);
    starts.any(|at| text_matches(after, &rest[at..]))
}

#[test]
fn what_differs_does_not_match() {
    assert!(matches(
        &["a", "...", "c [..] d"],
        &["a", "b", "b", "c x d"]
    ));
    assert!(!matches(&["a", "..."], &["b"]));
    assert!(!matches(&["a"], &["a", "b"]));
    assert!(!line_matches("a [..] b", "a c"));
    assert!(line_matches("  0:59  said", "  1:02  said"));
    assert!(!line_matches("  0:59  said", "  1:05  said"));
    assert!(!line_matches("  0:59  said", "  0:59  heard"));
}
