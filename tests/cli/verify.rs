//! `readback verify`: exact answers about a record that was made by hand, whole and broken.

use crate::support::{Folder, Run};

pub const EVENTS: &str = include_str!("../record/golden/session.jsonl");
const CLIP: &[u8] = include_bytes!("../record/golden/clips/000001.wav");
const PROCEDURE: &str = include_str!("../record/golden/procedure/skid.yaml");
pub const HEAD: &str = "bbbee87dd7e7efcb523c64376890b5153d6b62e1ff985e53c0d40b83d89544ae";

/// The session with these lines.
pub fn session(events: &str) -> Folder {
    Folder::new()
        .file("s/session.jsonl", events)
        .file("s/clips/000001.wav", CLIP)
        .file("s/procedure/skid.yaml", PROCEDURE)
}

fn verify(events: &str) -> Run {
    session(events).run(["verify", "s"])
}

fn lines() -> Vec<&'static str> {
    EVENTS.split_inclusive('\n').collect()
}

#[test]
fn a_whole_record_is_said_to_be_whole() {
    verify(EVENTS).exits(0).stderr("").stdout(&format!(
        "whole and unchanged\n5 lines, 3 events, 1 clip\nhead of line 5: {HEAD}\n"
    ));
}

#[test]
fn an_altered_line_is_named() {
    verify(&EVENTS.replace("two four five", "two five four"))
        .exits(1)
        .stderr("")
        .stdout(
            "does not verify: do not rely on it as it is, ask for a copy that does\n\
             `session.jsonl` line 2 does not match its hash: it, or the hash of the line before, \
             was altered\n\
             good before the first bad line: 1 line, 0 events, 0 clips\n\
             head of line 1: 94879de5f10562ed90797cf86808c0ed0a1ed882291174e80a56967144044f6b\n",
        );
}

#[test]
fn a_removed_line_is_named() {
    let mut lines = lines();
    lines.remove(3);
    verify(&lines.concat()).exits(1).stderr("").stdout(
        "does not verify: do not rely on it as it is, ask for a copy that does\n\
         `session.jsonl` line 4 has number 5, expected 4: a line was removed before it\n\
         good before the first bad line: 3 lines, 2 events, 1 clip\n\
         head of line 3: 28ae678039a6fef8a5aad04cf23984ad44f486c4443a1f123cf094eb09ce8b9a\n",
    );
}

#[test]
fn lines_in_another_order_are_named() {
    let mut lines = lines();
    lines.swap(3, 4);
    verify(&lines.concat()).exits(1).stderr("").stdout(
        "does not verify: do not rely on it as it is, ask for a copy that does\n\
         `session.jsonl` line 4 has number 5, expected 4: the order was changed, number 4 stands \
         in line 5\n\
         good before the first bad line: 3 lines, 2 events, 1 clip\n\
         head of line 3: 28ae678039a6fef8a5aad04cf23984ad44f486c4443a1f123cf094eb09ce8b9a\n",
    );
}

#[test]
fn a_cut_end_is_named() {
    verify(&EVENTS[..EVENTS.len() - 20])
        .exits(1)
        .stderr("")
        .stdout(
            "does not verify: do not rely on it as it is, ask for a copy that does\n\
             `session.jsonl` line 5 ends in the middle: the last write was cut off; resuming the \
             session sets it aside\n\
             good before the first bad line: 4 lines, 3 events, 1 clip\n\
             head of line 4: 04ff40549c3a60be12119408552e088611e51e142aab0b7a6e85850a7f07fab3\n",
        );
    verify(&lines()[..4].concat()).exits(1).stderr("").stdout(
        "does not verify: do not rely on it as it is, ask for a copy that does\n\
         `session.jsonl` line 5 is missing: no closing line, the end was cut off, or the session \
         was killed and not resumed\n\
         good before the first bad line: 4 lines, 3 events, 1 clip\n\
         head of line 4: 04ff40549c3a60be12119408552e088611e51e142aab0b7a6e85850a7f07fab3\n",
    );
}

#[test]
fn a_replaced_clip_and_procedure_are_named() {
    session(EVENTS)
        .file("s/clips/000001.wav", b"other")
        .file("s/procedure/skid.yaml", "id: other\n")
        .run(["verify", "s"])
        .exits(1)
        .stderr("")
        .stdout(&format!(
            "does not verify: do not rely on it as it is, ask for a copy that does\n\
             `procedure/skid.yaml` was changed: it does not match its hash\n\
             `clips/000001.wav` was changed: it does not match its hash\n\
             5 lines, 3 events, 1 clip\n\
             head of line 5: {HEAD}\n"
        ));
}

#[test]
fn a_record_that_an_editor_spaced_otherwise_says_so() {
    verify(&EVENTS.replace('\n', "\r\n"))
        .exits(0)
        .stderr("")
        .stdout(&format!(
            "whole, and unchanged in what it says\n\
             line 1 says what was recorded, but is not written as it was: an editor spaced it \
             otherwise\n\
             5 lines, 3 events, 1 clip\nhead of line 5: {HEAD}\n"
        ));
}

#[test]
fn what_is_no_hash_is_no_head() {
    let verify = ["verify", "s", "--head", "zzz"];
    session(EVENTS).run(verify).exits(2).stdout("").stderr(
        "error: invalid value 'zzz' for '--head <HASH>': expected the 64 hexadecimal digits that \
         `verify` prints\n\nFor more information, try '--help'.\n",
    );
}

#[test]
fn a_kept_head_is_looked_for() {
    let whole = session(EVENTS);
    whole.run(["verify", "s", "--head", HEAD]).exits(0);
    let other = "0".repeat(64);
    whole
        .run(["verify", "s", "--head", &other])
        .exits(1)
        .stderr("")
        .stdout(&format!(
            "does not verify: do not rely on it as it is, ask for a copy that does\n\
             `session.jsonl` has no line with the kept hash `{other}`: its end was cut off or \
             replaced\n\
             5 lines, 3 events, 1 clip\n\
             head of line 5: {HEAD}\n"
        ));
}

#[test]
fn the_answer_for_programs_is_one_document() {
    session(&lines()[..3].concat())
        .run(["verify", "--json", "s"])
        .exits(1)
        .stderr("")
        .stdout(
            r#"{
  "session": "s",
  "verified": false,
  "lines": 3,
  "events": 2,
  "clips": 1,
  "clips_gone": 0,
  "clips_cleared": 0,
  "head": "28ae678039a6fef8a5aad04cf23984ad44f486c4443a1f123cf094eb09ce8b9a",
  "open": false,
  "signed": [],
  "first_bad_line": 4,
  "broken_off": [],
  "unnamed_clips": 0,
  "faults": [
    {
      "file": "session.jsonl",
      "line": 4,
      "what": "is missing: no closing line, the end was cut off, or the session was killed and not resumed"
    }
  ]
}
"#,
        );
}

#[test]
fn what_is_no_session_is_bad_input() {
    Folder::new()
        .file("s/notes.txt", "")
        .run(["verify", "s"])
        .exits(2)
        .stdout("")
        .stderr(
            "error: `s` holds no record: `session.jsonl` is missing; name the folder of a \
             session\n",
        );
    Folder::new()
        .run(["verify", "s"])
        .exits(2)
        .stdout("")
        .stderr(
            "error: found no `s`, expected a recorded session; look for a slip in its \
             name\n",
        );
}
