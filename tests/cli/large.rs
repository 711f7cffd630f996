//! Files of 1 GB on one line: told at once, and not read.

use std::fs::File;

use crate::support::Folder;
use crate::verify::{EVENTS, session};

const GIGABYTE: u64 = 1 << 30;
const PROCEDURE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/cold-benches.yaml");

/// A file that takes no room on the disk.
fn with_large(folder: Folder, name: &str) -> Folder {
    let folder = folder.file(name, "");
    let file = File::options().write(true).open(folder.path().join(name));
    let file = file.expect("the file");
    file.set_len(GIGABYTE).expect("1 GB of nothing");
    folder
}

#[test]
fn no_text_that_is_named_may_be_endless() {
    let folder = with_large(Folder::new(), "large");
    for (arguments, most) in [
        ("check large", 1 << 20),
        ("replay PROCEDURE --script large", 16 << 20),
        (
            "diagnose PROCEDURE --step circulator --variant hs-2 --readings large",
            16 << 20,
        ),
        ("hear --score large", 16 << 20),
    ] {
        let arguments = arguments.split(' ');
        let arguments = arguments.map(|word| word.replace("PROCEDURE", PROCEDURE));
        folder.run(arguments).exits(2).stdout("").stderr(&format!(
            "error: `large` has more than {most} bytes, which nothing of its kind has; name \
             another file\n"
        ));
    }
}

#[test]
fn a_record_of_one_endless_line_is_told() {
    let folder = with_large(session(EVENTS), "s/session.jsonl");
    for command in ["verify", "report", "review", "pack", "sign"] {
        let mut arguments = vec![command, "s"];
        if command == "sign" {
            folder.run(["key", "k.pem"]);
            arguments.extend(["--key", "k.pem"]);
        }
        let run = folder.run(arguments).exits(2).stdout("");
        let told = run.to_string();
        assert!(
            told.contains("`s/session.jsonl` is larger than 268435456 bytes"),
            "{told}"
        );
    }
    let run = folder.run(["sessions", "."]).exits(1);
    let told = run.to_string();
    assert!(told.contains("is larger than 268435456 bytes"), "{told}");
}
