//! `readback amend`: what is refused, and what stays visible of a record that was not whole.

use std::fs;

use crate::sessions::play;
use crate::support::{Folder, Run};

const SESSION: &str = "sessions/a";

/// A session with its readings, played from a script.
fn played() -> Folder {
    let folder = Folder::new();
    play(&folder, "a", "HS24");
    folder
}

fn amend(folder: &Folder, what: &[&str]) -> Run {
    let by = ["amend", SESSION, "--by", "M. Lind"];
    folder.run(by.iter().chain(what))
}

/// Takes lines off the end of the record, and gives the number of the first that is gone.
fn cut(folder: &Folder, lines: usize) -> usize {
    let path = folder.path().join(SESSION).join("session.jsonl");
    let text = fs::read_to_string(&path).expect("a record");
    let all: Vec<&str> = text.split_inclusive('\n').collect();
    let left = all.len() - lines;
    fs::write(&path, all[..left].concat()).expect("a shorter record");
    left + 1
}

#[test]
fn an_end_that_was_cut_off_stays_visible_after_an_amendment() {
    let folder = played();
    // How many lines belong to one decision is the procedure's: cut where one ends.
    let gone = (3..9)
        .map(|_| cut(&folder, 1))
        .find(|_| {
            let told = folder.run(["verify", SESSION]).read_stdout();
            told.contains("is missing: no closing line")
        })
        .expect("an end between two decisions");
    let sign = amend(&folder, &["--sign", "Read."]).exits(1).stdout("");
    let told = sign.to_string();
    assert!(
        told.contains("the record does not verify and was not signed off: `session.jsonl` line"),
        "{told}"
    );
    let remark = amend(&folder, &["--remark", "the strainer drips"]).exits(0);
    let told = remark.to_string();
    assert!(
        told.contains("warning: the record did not verify before this was added to it: "),
        "{told}"
    );
    let told = folder.run(["verify", SESSION]).exits(0).read_stdout();
    let broken_off = format!(
        "line {gone}: the session was taken up again here without having been ended: it was \
         killed, or lines were cut off\n"
    );
    assert!(told.contains(&broken_off), "{told}");
    let report = folder.run(["report", SESSION]).exits(0).read_stdout();
    let report = report.replace('\n', " ");
    let broken_off = format!("taken up again at line {gone} without having been ended");
    assert!(report.contains(&broken_off), "{report}");
}

#[test]
fn a_record_with_a_changed_file_is_not_signed_off() {
    let folder = played();
    let procedure = folder.path().join(SESSION).join("procedure");
    let file = fs::read_dir(procedure).expect("a folder").next();
    let file = file.expect("a procedure").expect("its name").path();
    let text = fs::read_to_string(&file).expect("a procedure");
    fs::write(&file, text + "\n# changed\n").expect("another procedure");
    amend(&folder, &["--sign", "Read."]).exits(2).stdout("");
    assert!(
        !folder
            .run(["report", SESSION])
            .read_stdout()
            .contains("signed off")
    );
}

#[test]
fn what_cannot_be_put_right_is_told_with_what_can() {
    let folder = played();
    let why = ["--why", "read off the photo"];
    let told: [(&[&str], &str); 6] = [
        (
            &["--note", "1", "--text", "x"],
            "found note 1, expected none: the session has no such thing",
        ),
        (
            &["--reading", "99", "--value", "short"],
            "found reading 99, expected one of 1 to ",
        ),
        (
            &["--reading", "1", "--value", "-5 V"],
            "reading 1 is of another kind: cannot convert `V` to `count`",
        ),
        (&["--remark", ""], "'--remark <TEXT>'"),
        (
            &["--remark", "x", "--value", "3"],
            "the argument '--remark <TEXT>' cannot be used with '--value <VALUE>'",
        ),
        (&["--sign", ""], "'--sign <STATEMENT>'"),
    ];
    for (what, expected) in told {
        let what: Vec<&str> = what.iter().chain(&why).copied().collect();
        let run = amend(&folder, &what).exits(2).stdout("").to_string();
        assert!(run.contains(expected), "{expected}: {run}");
    }
    let two_lines = ["amend", SESSION, "--by", "A\nB", "--remark", "x"];
    let run = folder.run(two_lines).exits(2).to_string();
    let expected = "the name holds a line end or another control character";
    assert!(run.contains(expected), "{run}");
    folder.run(["verify", SESSION]).exits(0);
}

#[test]
fn the_same_words_are_written_once() {
    let folder = played();
    let words = ["--heard", "2", "--text", "hotel sierra"];
    amend(&folder, &words).exits(0);
    let again = amend(&folder, &words).exits(2);
    again.stderr("error: utterance 2 says the same already\n");
}

#[test]
fn what_an_amendment_changes_is_told() {
    let folder = played();
    let told = amend(&folder, &["--sign", "Read."]).exits(0).read_stdout();
    assert!(told.starts_with("added to the record\n"), "{told}");
    let put_right = ["--why", "a slip", "--reading", "1", "--value", "9999 count"];
    let told = amend(&folder, &put_right).exits(0).read_stdout();
    for expected in [
        "9999 count is not usual here, ",
        "the sign-off is taken back",
    ] {
        assert!(told.contains(expected), "{expected}: {told}");
    }
}
