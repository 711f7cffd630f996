//! A process that records and is killed or runs out of space.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use readback::clock::{Clock, SystemClock};
use readback::record::{self, Clip, Opening, Record, RecordError};
use serde::{Deserialize, Serialize};

const KILLS: u64 = 100;
const SEED: u64 = 0x9e37_79b9_7f4a_7c15;
/// 64 blocks of 512 bytes, as POSIX counts them.
const BLOCKS: u32 = 64;

#[derive(Debug, PartialEq, Serialize, Deserialize)]
struct Numbered {
    number: u64,
    words: String,
}

fn pair(number: u64) -> Vec<Numbered> {
    let words = "two four five ohms ".repeat(1 + number as usize % 40);
    let one = |number| Numbered {
        number,
        words: words.clone(),
    };
    vec![one(number), one(number + 1)]
}

/// The numbers recorded so far, which must be all from 0 on, in whole pairs.
fn recorded(folder: &Path) -> u64 {
    let entries = record::read::<Numbered>(folder).unwrap().entries;
    let numbers: Vec<u64> = entries.iter().map(|e| e.event.number).collect();
    let count = numbers.len() as u64;
    assert_eq!(numbers, (0..count).collect::<Vec<_>>());
    assert_eq!(count % 2, 0, "half a decision was recorded");
    count
}

fn say(word: &str, number: u64) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{word} {number}")
        .and_then(|()| out.flush())
        .unwrap();
}

/// The part: takes the session up and appends until the end comes from outside.
pub fn append_until_killed(folder: &str) {
    let folder = Path::new(folder);
    let wall = SystemClock::start().now().wall;
    let resumed = Record::<Numbered>::resume(folder, wall).unwrap();
    let clock = SystemClock::starting_at(resumed.now.ms);
    let mut record = resumed.record;
    let mut next = resumed.recorded.entries.len() as u64;
    say("from", next);
    loop {
        let clip = Clip {
            file: record.next_clip(),
            samples: vec![1; 800],
            rate: 16_000,
        };
        let clip = next.is_multiple_of(6).then_some(&clip);
        record.append(&clock.now(), pair(next), clip).unwrap();
        next += 2;
        say("acknowledged", next);
    }
}

/// The number at the end of the child's next line.
fn number(lines: &mut impl Iterator<Item = std::io::Result<String>>, word: &str) -> Option<u64> {
    let line = lines.next()?.ok()?;
    line.strip_prefix(word)?.trim().parse().ok()
}

pub fn killed() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("session");
    let clock = SystemClock::start();
    drop(Record::<Numbered>::create(&folder, &Opening::default(), &clock.now()).unwrap());
    let mut random = SEED;
    let mut acknowledged = 0;
    for kill in 0..KILLS {
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        let mut child = super::child("append").arg(&folder).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let from = number(&mut lines, "from").expect("the child resumes");
        assert!(
            from >= acknowledged,
            "kill {kill}: {acknowledged} then {from}"
        );
        for _ in 0..random % 8 {
            acknowledged = number(&mut lines, "acknowledged").expect("the child appends");
        }
        std::thread::sleep(Duration::from_micros(random / 8 % 4_000));
        child.kill().unwrap();
        // What it still said before it died was acknowledged too.
        while let Some(more) = number(&mut lines, "acknowledged") {
            acknowledged = more;
        }
        child.wait().unwrap();
        let found = recorded(&folder);
        assert!(
            found >= acknowledged,
            "kill {kill}: {acknowledged} then {found}"
        );
    }
    assert!(acknowledged > KILLS, "the children hardly did anything");
    close(&folder);
}

/// Resumes, closes and verifies.
fn close(folder: &Path) {
    let wall = SystemClock::start().now().wall;
    let mut resumed = Record::<Numbered>::resume(folder, wall).unwrap();
    resumed.record.close(&resumed.now).unwrap();
    drop(resumed);
    assert_eq!(record::verify(folder, None).unwrap().faults, []);
}

/// The part: appends until the file may not grow, goes on in memory, and writes all when told that
/// there is space.
pub fn fill_the_disk(folder: &str) {
    let clock = SystemClock::start();
    let opening = Opening::default();
    let folder = Path::new(folder);
    let mut record = Record::<Numbered>::create(folder, &opening, &clock.now()).unwrap();
    let mut next = 0;
    let mut refused = 0;
    while refused < 5 {
        match record.append(&clock.now(), pair(next), None) {
            Ok(()) => {}
            Err(RecordError::NotRecording { .. }) => refused += 1,
            Err(other) => panic!("{other}"),
        }
        next += 2;
    }
    let message = record.retry().unwrap_err().to_string();
    assert!(message.contains("larger than is allowed"), "{message}");
    say("kept", record.kept_lines() as u64);
    std::io::stdin().read_line(&mut String::new()).unwrap();
    record.retry().unwrap();
    record.close(&clock.now()).unwrap();
    say("written", next);
}

pub fn out_of_space() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("session");
    let mut child = limited_child(&folder);
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    assert_eq!(number(&mut lines, "kept"), Some(10));
    let before = recorded(&folder);
    let lifted = Command::new("prlimit")
        .args([
            "--pid",
            &child.id().to_string(),
            "--fsize=unlimited:unlimited",
        ])
        .status()
        .unwrap();
    assert!(lifted.success());
    writeln!(child.stdin.take().unwrap(), "go on").unwrap();
    let written = number(&mut lines, "written");
    assert!(child.wait().unwrap().success());
    assert_eq!(written, Some(before + 10));
    assert_eq!(recorded(&folder), before + 10);
    assert_eq!(record::verify(&folder, None).unwrap().faults, []);
}

/// A child whose files may not grow beyond a few blocks: a disk that is full.
fn limited_child(folder: &Path) -> Child {
    let script = format!("ulimit -S -f {BLOCKS} && trap '' XFSZ && exec \"$0\" \"$@\"");
    Command::new("sh")
        .args(["-c", &script])
        .arg(std::env::current_exe().unwrap())
        .args(["--play", "fill"])
        .arg(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap()
}
