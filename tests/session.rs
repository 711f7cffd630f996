//! The session as a whole: phrases of every language, walks through every procedure, random talk.

#[path = "session/faults.rs"]
mod faults;
#[path = "session/talk.rs"]
mod talk;
#[path = "session/walk.rs"]
mod walk;

use std::path::Path;
use std::sync::LazyLock;

use proptest::prelude::*;
use readback::language::locales;
use readback::procedure::{Library, SourceFile, load};
use readback::session::{Guide, Opening, decide};

static BENCH: LazyLock<Guide> = LazyLock::new(|| guide("tests/dialogues/procedures", "bench.yaml"));
static COUNT: LazyLock<Guide> = LazyLock::new(|| guide("tests/dialogues/procedures", "count.yaml"));

/// A procedure of a folder with those it calls.
fn library(folder: &str, name: &str) -> Library {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let file = |name: &str| {
        let text = std::fs::read_to_string(folder.join(name)).ok()?;
        let name = name.to_owned();
        Some(SourceFile { name, text })
    };
    let main = file(name).unwrap_or_else(|| panic!("no `{name}`"));
    load(&main, |id| file(&format!("{id}.yaml"))).unwrap_or_else(|why| panic!("{name}: {why:#?}"))
}

fn guide(folder: &str, name: &str) -> Guide {
    Guide::bundled(library(folder, name)).unwrap_or_else(|why| panic!("{name}: {why}"))
}

fn procedures(folder: &str) -> Vec<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let entries = std::fs::read_dir(path).expect("a folder of procedures");
    let mut names: Vec<String> = entries
        .map(|e| {
            e.expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .filter(|name| name.ends_with(".yaml"))
        .collect();
    names.sort();
    names
}

/// Guide::bundled loads phrases and confusions, and refuses a file that lacks one.
#[test]
fn every_language_has_the_assistants_phrases() {
    let library = library("tests/dialogues/procedures", "winding.yaml");
    for locale in locales() {
        let mut main = library.main().clone();
        main.locale = locale.to_owned();
        let library = Library::new(main, []);
        assert!(Guide::bundled(library).is_ok(), "{locale}");
    }
}

/// Every state that can be reached, for every variant of every shipped procedure and fixture: no
/// step after a hold point without its release, none behind one whose proof was taken back, and
/// "stop" heard everywhere.
#[test]
fn no_way_leads_past_a_hold_point_and_stop_is_heard_everywhere() {
    let mut proofs_taken_back = 0;
    for folder in [
        "procedures",
        "procedures/ko-KR",
        "tests/dialogues/procedures",
    ] {
        for name in procedures(folder) {
            // The session must be able to come to every hold point, also by the technician's word.
            let guide = guide(folder, &name);
            let walked = walk::everywhere(&guide, decide);
            assert!(walked.bypassed.is_empty(), "{name}: {:?}", walked.bypassed);
            assert!(walked.unproved.is_empty(), "{name}: {:?}", walked.unproved);
            assert!(walked.deaf.is_empty(), "{name}: {:?}", walked.deaf);
            assert!(
                walked.holds_passed > 0 || !walk::has_hold(&guide.library),
                "{name}: no hold point was ever passed"
            );
            assert_eq!(walked.never_reached, Vec::<String>::new(), "{name}");
            proofs_taken_back += walked.proofs_taken_back;
        }
    }
    assert!(
        proofs_taken_back > 0,
        "no proof was ever taken back after its release"
    );
}

/// Planted fault: a value that proved a hold point is taken back, and work goes on behind it.
#[test]
fn the_walk_finds_a_hold_point_that_stays_released_without_its_proof() {
    let walked = walk::everywhere(&BENCH, faults::goes_on_without_proof);
    let found: Vec<&str> = walked.unproved.iter().map(|p| p.step.as_str()).collect();
    assert_eq!(found, ["dead"]);
}

/// Planted faults: a session that can be talked past a hold point, in each way that leaves one.
#[test]
fn the_walk_finds_a_way_past_a_hold_point() {
    for fault in [
        faults::done_by_next as walk::Decide,
        faults::skipped,
        faults::jumped_over,
    ] {
        let walked = walk::everywhere(&BENCH, fault);
        let found: Vec<&str> = walked.bypassed.iter().map(|p| p.step.as_str()).collect();
        assert_eq!(found, ["dead", "locked"]);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn random_talk_never_passes_a_hold_point_and_replays_to_the_same_state(
        talk in prop::collection::vec(talk::utterance(), 1..80),
        large in any::<bool>(),
    ) {
        let opening = Opening {
            variant: Some(if large { "large" } else { "small" }.into()),
            serial: Some("A1".to_owned()),
            supply_frequency: None,
            qualified: true,
            tools_at_hand: true,
            ..Opening::default()
        };
        talk::hold(&BENCH, opening, &talk)?;
    }

    #[test]
    fn random_talk_over_a_watch_and_a_call_replays_to_the_same_state(
        talk in prop::collection::vec(talk::utterance(), 1..80),
    ) {
        talk::hold(&COUNT, Opening::default(), &talk)?;
    }
}
