//! A whole session of the built program, killed again and again at random moments until it has
//! come to its end.
//!
//! The technician knows nothing but the record: what is still to be said follows from where the
//! record says the session stands. `READBACK_KILLS` and `READBACK_SEED` choose how many kills, and
//! which.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader, Lines};
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{ChildStdout, Command, Stdio};
use std::time::Duration;

use readback::procedure::{SourceFile, load_files};
use readback::record;
use readback::session::{Asking, Event, Guide, Phase, Position, State, apply, speech};

const KILLS: u64 = 20;
const SEED: u64 = 0x51f1_5eed;
/// In so long a session's folder is made or taken up again, more or less.
const BEGINS_US: u64 = 600_000;
/// Kills within so many printed lines: more than the longest step prints, so that every step is left.
const LINES: u64 = 64;
const SCRIPT: &str = "tests/shipped/cold-benches-stalled.script";

fn from_environment(name: &str, otherwise: u64) -> u64 {
    let given = std::env::var(name).ok();
    given.map_or(otherwise, |text| text.parse().expect("a number"))
}

pub fn killed() {
    let kills = from_environment("READBACK_KILLS", KILLS);
    let seed = from_environment("READBACK_SEED", SEED).max(1);
    let mut random = seed;
    let home = tempfile::tempdir().unwrap();
    let script = Script::read();
    let guide = script.guide();
    let whole = Session::new(home.path().join("whole"));
    assert_eq!(
        whole.run(&script, &script.lines, None, &guide),
        Ended::Closed
    );
    let route = route(&whole.events(), &script.lines);
    let expected = whole.outcome();
    let (mut done, mut sessions) = (0, 0);
    while done < kills {
        sessions += 1;
        let session = Session::new(home.path().join(format!("session-{sessions}")));
        loop {
            let last = done == kills;
            let kill = (!last).then(|| Kill::choose(&mut random));
            let lines = still_to_say(&route, &session.state());
            match session.run(&script, &lines, kill, &guide) {
                Ended::Killed => done += 1,
                Ended::Closed => break,
            }
        }
        assert_eq!(session.outcome(), expected, "session {sessions}");
        assert_eq!(record::verify(&session.folder, None).unwrap().faults, []);
        fs::remove_dir_all(&session.folder).unwrap();
    }
    println!("{done} kills in {sessions} sessions, seed {seed}");
}

/// When to kill: so many printed lines and so long after the start.
#[derive(Debug, Clone, Copy)]
struct Kill {
    lines: u64,
    later: Duration,
}

impl Kill {
    /// One in eight before anything needs to have happened, the others while the session goes on.
    fn choose(random: &mut u64) -> Kill {
        let mut below = |limit: u64| {
            *random ^= *random << 13;
            *random ^= *random >> 7;
            *random ^= *random << 17;
            *random % limit
        };
        let (lines, within) = match below(8) {
            0 => (0, BEGINS_US),
            _ => (1 + below(LINES), 4_000),
        };
        let later = Duration::from_micros(below(within));
        Kill { lines, later }
    }
}

/// What the technician says in the session, and how it is begun.
struct Script {
    procedure: String,
    job: Vec<String>,
    lines: Vec<String>,
}

impl Script {
    fn read() -> Script {
        let text = fs::read_to_string(SCRIPT).expect("a script");
        let mut lines = text.lines().map(str::to_owned);
        let first = lines.next().expect("a first line");
        let mut words = first.trim_start_matches("# ").split(' ').map(str::to_owned);
        Script {
            procedure: format!("procedures/{}.yaml", words.next().expect("a procedure")),
            job: words.collect(),
            lines: lines.collect(),
        }
    }

    fn guide(&self) -> Guide {
        let mut paths: Vec<PathBuf> = fs::read_dir("procedures")
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|end| end == "yaml"))
            .collect();
        paths.sort_by_key(|path| *path != Path::new(&self.procedure));
        let files = paths.iter().map(|path| SourceFile {
            name: path.display().to_string(),
            text: fs::read_to_string(path).unwrap(),
        });
        let library = load_files(&files.collect::<Vec<_>>()).expect("sound procedures");
        Guide::bundled(library).expect("the language")
    }
}

/// The places of a session in their order, each with what is said there.
type Route = Vec<(String, Vec<String>)>;

fn place(state: &State) -> String {
    match (&state.phase, &state.position) {
        (Phase::Working, Some(position)) => format!("{position:?}"),
        (phase, _) => format!("{phase:?}"),
    }
}

fn route(events: &[Event], lines: &[String]) -> Route {
    let mut lines = lines.iter();
    let mut route = Route::new();
    let mut state = State::default();
    for event in events {
        let place = place(&state);
        if route.last().is_none_or(|(last, _)| *last != place) {
            assert!(route.iter().all(|(other, _)| *other != place), "{place}");
            route.push((place, Vec::new()));
        }
        if let (Event::Heard { .. }, Some((_, said))) = (event, route.last_mut()) {
            said.push(lines.next().expect("a line of the script").clone());
        }
        state = apply(state, event);
    }
    assert_eq!(lines.next(), None);
    route
}

/// What a place asks for is said anew after a kill; a value that still waits for "affirm" is not.
fn still_to_say(route: &Route, recorded: &State) -> Vec<String> {
    if recorded.closed() {
        return Vec::new();
    }
    let place = place(recorded);
    let at = route.iter().position(|(known, _)| *known == place);
    let mut left = route[at.expect("a known place")..]
        .iter()
        .flat_map(|(_, said)| said.clone())
        .collect::<Vec<_>>();
    let here = &route[at.unwrap_or_default()].1;
    if let (Some(first), Some(_)) = (left.first_mut(), here.first()) {
        // The pause before it was for what came before this place.
        if let Some((_, words)) = first
            .split_once(' ')
            .filter(|(time, _)| time.starts_with('+'))
        {
            *first = words.to_owned();
        }
    }
    let resumed = apply(recorded.clone(), &Event::SessionResumed { at: 0 });
    if matches!(resumed.asking, Some(Asking::Confirmation(_))) {
        left.remove(0);
    }
    left
}

#[derive(Debug, PartialEq)]
enum Ended {
    Killed,
    Closed,
}

/// What a session came to: the series of each step, the findings, the conclusion.
#[derive(Debug, PartialEq)]
struct Outcome {
    series: BTreeMap<Position, Vec<String>>,
    findings: Vec<String>,
    conclusion: Option<String>,
}

struct Session {
    folder: PathBuf,
}

impl Session {
    fn new(folder: PathBuf) -> Session {
        Session { folder }
    }

    /// Whole decisions on disk; none where the program was killed before there was a record.
    fn events(&self) -> Vec<Event> {
        if !self.folder.join("session.jsonl").exists() {
            return Vec::new();
        }
        match record::read::<Event>(&self.folder) {
            Ok(recorded) => recorded.entries.into_iter().map(|e| e.event).collect(),
            Err(_) => Vec::new(),
        }
    }

    fn state(&self) -> State {
        self.events().iter().fold(State::default(), apply)
    }

    fn outcome(&self) -> Outcome {
        let state = self.state();
        let steps = state.readings.iter().map(|reading| &reading.step);
        let series = steps.map(|step| {
            let values = state.series(step);
            let values = values.iter().map(|kept| format!("{:?}", kept.reading));
            (step.clone(), values.collect())
        });
        Outcome {
            series: series.collect(),
            findings: state
                .findings
                .iter()
                .map(|f| f.finding.to_string())
                .collect(),
            conclusion: state.finished.and_then(|finished| finished.conclusion),
        }
    }

    /// Begins the session or goes on with it, and holds what was printed against the disk.
    fn run(&self, script: &Script, lines: &[String], kill: Option<Kill>, guide: &Guide) -> Ended {
        let before = self.events();
        let left = self.folder.with_extension("script");
        fs::write(&left, lines.join("\n")).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_readback"));
        command
            .args(["replay", &script.procedure, "--script"])
            .arg(&left);
        if before.is_empty() {
            // Nothing was acknowledged, so nothing is lost with a folder that was half made.
            let _ = fs::remove_dir_all(&self.folder);
            command.args(&script.job).arg("--record").arg(&self.folder);
        } else {
            command.arg("--resume").arg(&self.folder);
        }
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let mut output = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut printed = Vec::new();
        if let Some(kill) = kill {
            printed.extend(next_lines(&mut output, kill.lines));
            std::thread::sleep(kill.later);
            child.kill().unwrap();
        }
        printed.extend(next_lines(&mut output, u64::MAX));
        let status = child.wait().unwrap();
        let after = self.events();
        assert_eq!(after.get(..before.len()), Some(&before[..]), "{kill:?}");
        acknowledged(&printed, &before, &after[before.len()..], guide);
        match status.signal() {
            Some(_) => Ended::Killed,
            None => {
                assert!(status.success(), "{printed:#?}");
                assert!(self.state().closed(), "{printed:#?}");
                Ended::Closed
            }
        }
    }
}

fn next_lines(output: &mut Lines<BufReader<ChildStdout>>, count: u64) -> Vec<String> {
    let count = usize::try_from(count).unwrap_or(usize::MAX);
    output.by_ref().take(count).map(Result::unwrap).collect()
}

/// Every line of the dialogue that was printed follows from an event on disk, in order; a session
/// taken up again is at the step where it was, with the readings it had.
fn acknowledged(printed: &[String], before: &[Event], new: &[Event], guide: &Guide) {
    let mut state = before.iter().fold(State::default(), apply);
    if let (Some(first), false) = (new.first(), before.is_empty()) {
        assert!(matches!(first, Event::SessionResumed { .. }), "{first:?}");
        let resumed = apply(state.clone(), first);
        assert_eq!(resumed.position, state.position);
        assert_eq!(resumed.readings, state.readings);
        assert_eq!(resumed.job, state.job);
    }
    let (mut said, mut heard) = (Vec::new(), Vec::new());
    for event in new {
        said.extend(speech(guide, &state, event).into_iter().map(|s| s.text));
        if let Event::Heard { words, .. } = event {
            heard.push(words.clone());
        }
        state = apply(state, event);
    }
    let (mut said, mut heard) = (said.iter(), heard.iter());
    for line in printed {
        if let Some((_, words)) = line.split_once("  Readback    ") {
            assert!(said.any(|known| known == words), "not on disk: {line}");
        } else if let Some((_, words)) = line.split_once("  Technician  ") {
            assert!(heard.any(|known| known == words), "not on disk: {line}");
        }
    }
}
