//! Simulated sessions with a noisy recognizer: is a wrong value ever kept unasked that changes what
//! the session comes to?
//!
//! The model, plainly:
//!
//! - A technician works through a shipped procedure with a unit whose true values are drawn for the
//!   session: usual ones, ones near a limit, faulty ones, and now and then no number at all. What
//!   they say is always the true value.
//! - The recognizer gets a spoken value wrong with a chance of one in eight (`channel`): as the
//!   language's table of confusions says, or with any digit for another, a digit lost or one too
//!   many. It returns a list of what else it may have been. Of ten errors nine have the true value
//!   in that list or in the table; the tenth is hinted at by nothing.
//! - The technician affirms a question only if it repeats what was said, and otherwise answers
//!   "negative", a correction, or the value once more. Readbacks that are no question are heeded by
//!   three technicians: one never listens to them, one misses a wrong one in ten, one misses none.
//! - Afterwards the session is held again with the true words in place of every wrong value that was
//!   kept without having been affirmed (`oracle`). If a finding, a conclusion or the side of a limit
//!   is another one then, that value changed the outcome unasked.
//!
//! Errors that something hinted at must never do that, whoever listens. Errors that nothing hinted
//! at are the readback's to catch: they must never do it where the technician listens, and are
//! counted where not.
//!
//! `READBACK_SESSIONS=10000 cargo test --test simulated -- --nocapture` holds as many sessions and
//! prints the counts; `READBACK_SEED` names the first seed.

#[path = "simulated/channel.rs"]
mod channel;
#[path = "simulated/oracle.rs"]
mod oracle;
#[path = "simulated/run.rs"]
mod run;
#[path = "simulated/technician.rs"]
mod technician;
#[path = "simulated/truth.rs"]
mod truth;

use std::path::Path;

use readback::procedure::{SourceFile, load};
use readback::session::Guide;

use channel::Rng;
use oracle::Verdict;
use run::{Counts, Heeds, Run};

/// Enough for every variant of every procedure a few times.
const SESSIONS: u64 = 240;

fn number(name: &str, otherwise: u64) -> u64 {
    let set = std::env::var(name).ok();
    set.map_or(otherwise, |text| text.parse().expect("a whole number"))
}

fn guides() -> Vec<Guide> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut guides = Vec::new();
    for folder in ["procedures", "procedures/ko-KR"] {
        let folder = root.join(folder);
        let file = |name: &str| {
            let text = std::fs::read_to_string(folder.join(name)).ok()?;
            let name = name.to_owned();
            Some(SourceFile { name, text })
        };
        let entries = std::fs::read_dir(&folder).expect("a folder of procedures");
        let names = entries.map(|e| e.expect("an entry").file_name());
        let mut names: Vec<String> = names.map(|n| n.to_string_lossy().into_owned()).collect();
        names.retain(|name| name.ends_with(".yaml"));
        names.sort();
        for name in names {
            let main = file(&name).expect("a procedure");
            let library = load(&main, |id| file(&format!("{id}.yaml"))).expect("it loads");
            guides.push(Guide::bundled(library).expect("its language is bundled"));
        }
    }
    guides
}

/// What sessions with the seeds from the first on came to; a line for each that fails.
fn hold(sessions: u64, heeds: Heeds) -> (Counts, Vec<String>) {
    let first = number("READBACK_SEED", 1);
    let guides = guides();
    let mut counts = Counts::default();
    let mut failures = Vec::new();
    for seed in first..first + sessions {
        let guide = &guides[(seed % guides.len() as u64) as usize];
        let run = Run::hold(guide, Rng::new(seed), heeds);
        counts.add(&run.counts);
        match oracle::judge(guide, &run) {
            Verdict::Sound => {}
            Verdict::ChangedHinted(what) => failures.push(format!("seed {seed}: {what}")),
            Verdict::NotRepeated(what) => {
                failures.push(format!("seed {seed}, not repeated: {what}"))
            }
            Verdict::ChangedUnhinted(what) => {
                counts.slipped_unhinted += 1;
                if heeds.misses == 0 {
                    failures.push(format!("seed {seed}, nothing hinted at it: {what}"));
                }
            }
        }
    }
    (counts, failures)
}

#[test]
fn no_wrong_value_that_changes_the_outcome_is_kept_unasked() {
    let sessions = number("READBACK_SESSIONS", SESSIONS);
    // How often a technician misses a wrong readback that is no question, in a thousand.
    for (who, misses) in [
        ("never listens", 1000),
        ("misses one in ten", 100),
        ("misses none", 0),
    ] {
        let doubts = true;
        let (counts, failures) = hold(sessions, Heeds { misses, doubts });
        println!("a technician who {who}: {counts}");
        assert!(failures.is_empty(), "who {who}:\n{}", failures.join("\n"));
        assert!(counts.finished * 2 > counts.sessions, "most sessions end");
    }
}

/// Planted fault: the same without any doubt is found out.
#[test]
fn a_session_that_doubts_nothing_is_found_out() {
    let heeds = Heeds {
        misses: 1000,
        doubts: false,
    };
    let (_, failures) = hold(SESSIONS, heeds);
    assert!(failures.len() >= 3, "{} failures", failures.len());
}
