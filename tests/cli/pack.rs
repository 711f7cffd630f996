//! `readback pack`, and what `verify` says of a pack that somebody tampered with.

use std::fs::{self, File};
use std::io::{Read, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use crate::support::Folder;
use crate::verify::{EVENTS, HEAD, session};

const WHOLE: &str = "whole and unchanged\n5 lines, 3 events, 1 clip\n";

fn packed() -> Folder {
    let folder = session(EVENTS);
    folder
        .run(["pack", "s"])
        .exits(0)
        .stderr("")
        .stdout(&format!("s.zip: 3 files, head of line 5: {HEAD}\n"));
    folder
}

type Entries = Vec<(String, Vec<u8>)>;

fn entries(folder: &Folder) -> Entries {
    let file = File::open(folder.path().join("s.zip")).expect("a pack");
    let mut zip = ZipArchive::new(file).expect("a zip file");
    let mut entries = Vec::new();
    for index in 0..zip.len() {
        let mut entry = zip.by_index(index).expect("an entry");
        let name = entry.name().expect("a name").into_owned();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).expect("its bytes");
        entries.push((name, bytes));
    }
    entries
}

/// Writes `s.zip` anew.
fn write(folder: &Folder, entries: &Entries) {
    let file = File::create(folder.path().join("s.zip")).expect("a file");
    let mut zip = ZipWriter::new(file);
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, bytes) in entries {
        zip.start_file(name, options).expect("an entry");
        zip.write_all(bytes).expect("its bytes");
    }
    zip.finish().expect("a zip file");
}

/// A pack in which one file was changed by whoever had it.
fn tampered(name: &str, change: impl Fn(&[u8]) -> Vec<u8>) -> Folder {
    let folder = packed();
    let mut entries = entries(&folder);
    let entry = entries.iter_mut().find(|(found, _)| found == name);
    let bytes = &mut entry.expect("the file").1;
    *bytes = change(bytes);
    write(&folder, &entries);
    folder
}

/// A pack out of which files were taken.
fn lacking(gone: impl Fn(&str) -> bool) -> Folder {
    let folder = packed();
    let mut entries = entries(&folder);
    entries.retain(|(name, _)| !gone(name));
    write(&folder, &entries);
    folder
}

#[test]
fn a_pack_verifies_as_the_session_does() {
    let folder = packed();
    let names: Vec<String> = entries(&folder).into_iter().map(|(name, _)| name).collect();
    assert_eq!(
        names,
        [
            "clips/000001.wav",
            "procedure/skid.yaml",
            "session.jsonl",
            "manifest.json"
        ]
    );
    folder
        .run(["verify", "s.zip"])
        .exits(0)
        .stderr("")
        .stdout(&format!("{WHOLE}head of line 5: {HEAD}\n"));
    let again = folder.run(["pack", "s"]).exits(2);
    assert!(again.to_string().contains("s.zip"), "{again}");
}

#[test]
fn clips_left_out_are_counted_and_no_fault() {
    let folder = session(EVENTS);
    folder
        .run(["pack", "s", "--no-clips", "--out", "s.zip"])
        .exits(0);
    folder.run(["verify", "s.zip"]).exits(0).stdout(&format!(
        "whole and unchanged\n5 lines, 3 events, 1 clip, 1 of them not in this copy\n\
         head of line 5: {HEAD}\n"
    ));
}

#[test]
fn what_was_done_to_a_pack_is_named() {
    let cut = |bytes: &[u8]| {
        let text = String::from_utf8_lossy(bytes);
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        lines[..lines.len() - 1].concat().into_bytes()
    };
    let run = tampered("session.jsonl", cut)
        .run(["verify", "s.zip"])
        .exits(1);
    let told = run.read_stdout();
    assert!(
        told.contains("`session.jsonl` line 5 is missing: no closing line"),
        "{told}"
    );
    assert!(
        told.contains(
            "`session.jsonl` has no line 5 with the hash that `manifest.json` names: its end was \
             cut off or replaced after it was packed"
        ),
        "{told}"
    );
    let other = |_: &[u8]| b"other".to_vec();
    for file in ["clips/000001.wav", "procedure/skid.yaml"] {
        tampered(file, other)
            .run(["verify", "s.zip"])
            .exits(1)
            .stdout(&format!(
                "does not verify: do not rely on it as it is, ask for a copy that does\n`{file}` was changed: it does not match its hash\n\
             5 lines, 3 events, 1 clip\nhead of line 5: {HEAD}\n"
            ));
    }
    let run = tampered("manifest.json", other)
        .run(["verify", "s.zip"])
        .exits(1);
    let told = run.read_stdout();
    assert!(
        told.contains("`manifest.json` is no manifest of a pack"),
        "{told}"
    );
}

#[test]
fn a_clip_taken_out_of_a_pack_is_missed() {
    let folder = lacking(|name| name.starts_with("clips/"));
    let run = folder.run(["verify", "s.zip"]).exits(1);
    assert!(
        run.read_stdout().contains("`clips/000001.wav` is missing"),
        "{run}"
    );
}

#[test]
fn what_an_earlier_pack_left_out_is_left_out_of_the_next() {
    let folder = packed();
    fs::remove_file(folder.path().join("s.zip")).expect("a pack");
    folder
        .run(["pack", "s", "--no-clips", "--out", "s.zip"])
        .exits(0);
    let unpacked = folder.path().join("unpacked");
    for (name, bytes) in entries(&folder) {
        let path = unpacked.join(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, bytes).expect("a file");
    }
    folder.run(["pack", "unpacked"]).exits(0).stderr("");
    let told = folder
        .run(["verify", "unpacked.zip"])
        .exits(0)
        .read_stdout();
    assert!(told.contains("1 of them not in this copy"), "{told}");
}

#[test]
fn a_pack_without_its_manifest_or_with_two_files_of_one_name_is_none() {
    let folder = lacking(|name| name == "manifest.json");
    let told = folder.run(["verify", "s.zip"]).exits(1).read_stdout();
    assert!(told.contains("`manifest.json` is missing"), "{told}");

    // A zip file can hold it: which of them is meant, every reader decides for itself.
    let folder = packed();
    let path = folder.path().join("s.zip");
    let mut other = entries(&folder);
    other.push(("clips/000001.waw".to_owned(), b"other".to_vec()));
    write(&folder, &other);
    let mut bytes = fs::read(&path).expect("a pack");
    let odd = b"clips/000001.waw";
    let places: Vec<usize> = (0..bytes.len() - odd.len())
        .filter(|place| bytes[*place..].starts_with(odd))
        .collect();
    assert_eq!(places.len(), 2, "at its bytes and in the list at the end");
    for place in places {
        bytes[place + odd.len() - 1] = b'v';
    }
    fs::write(&path, bytes).expect("a pack");
    let run = folder.run(["verify", "s.zip"]).exits(2).stdout("");
    assert!(
        run.to_string().contains("holds two files of one name"),
        "{run}"
    );
}

#[test]
fn what_stands_in_the_name_of_a_folder_is_shown_not_done() {
    let folder = packed();
    let odd = "s\u{1b}[2J";
    fs::rename(folder.path().join("s"), folder.path().join(odd)).expect("an odd name");
    let run = folder.run(["pack", odd, "--out", "odd.zip"]).exits(0);
    assert!(!run.to_string().contains('\u{1b}'), "{run}");
    let run = folder.run(["verify", "\u{1b}[2J"]).exits(2);
    assert!(run.to_string().contains("\\u{1b}[2J"), "{run}");
}

#[test]
fn a_pack_without_a_record_is_told_by_the_name_it_was_given() {
    lacking(|name| name == "session.jsonl")
        .run(["verify", "s.zip"])
        .exits(2)
        .stdout("")
        .stderr("error: `s.zip` holds no record: `session.jsonl` is missing; name the folder of a session\n");
}

#[test]
fn a_pack_writes_nothing_outside_and_does_not_fill_the_disk() {
    for name in [
        "../out.txt",
        "/out.txt",
        "clips/../../out.txt",
        "out.txt",
        "clips/a\\b",
    ] {
        let folder = packed();
        let mut entries = entries(&folder);
        entries.push((name.to_owned(), b"out".to_vec()));
        write(&folder, &entries);
        let run = folder.run(["verify", "s.zip"]).exits(2).stdout("");
        assert!(
            run.to_string().contains("which no pack of a session does"),
            "{run}"
        );
        assert!(!folder.path().join("out.txt").exists());
    }
    let bomb = |_: &[u8]| vec![0; 100 << 20];
    let run = tampered("clips/000001.wav", bomb)
        .run(["verify", "s.zip"])
        .exits(2);
    assert!(
        run.to_string()
            .contains("unpacks to far more than a session"),
        "{run}"
    );
    let folder = Folder::new().file("s.zip", "no zip");
    let run = folder.run(["verify", "s.zip"]).exits(2);
    assert!(
        run.to_string()
            .contains("is no session: expected its folder or its pack"),
        "{run}"
    );
}

#[cfg(unix)]
#[test]
fn a_link_in_a_pack_is_refused() {
    let folder = packed();
    let file = File::create(folder.path().join("s.zip")).expect("a file");
    let mut zip = ZipWriter::new(file);
    zip.add_symlink(
        "session.jsonl",
        "/etc/hostname",
        SimpleFileOptions::default(),
    )
    .expect("a link");
    zip.finish().expect("a zip file");
    let run = folder.run(["verify", "s.zip"]).exits(2).stdout("");
    assert!(run.to_string().contains("holds `session.jsonl`"), "{run}");
}

#[test]
fn clips_are_cleared_by_day_and_the_record_says_so() {
    let folder = session(EVENTS);
    let clip = folder.path().join("s/clips/000001.wav");
    folder
        .run(["clear", "s", "--before", "2000-01-01"])
        .exits(0)
        .stdout("s: 0 removed\n");
    assert!(clip.exists());
    let before = fs::read_to_string(folder.path().join("s/session.jsonl")).expect("a record");
    assert_eq!(before, EVENTS, "nothing was written");
    folder
        .run(["clear", "s", "--before", "2100-01-01"])
        .exits(0)
        .stdout("s: 1 removed\n");
    assert!(!clip.exists());
    let run = folder.run(["verify", "s", "--head", HEAD]).exits(0);
    let told = run.read_stdout();
    assert!(told.contains("1 clip, 1 of them cleared"), "{told}");
    folder.run(["clear", "s", "--before", "soon"]).exits(2);
    let none = folder
        .run(["clear", "nowhere", "--before", "2100-01-01"])
        .exits(1);
    assert!(none.to_string().contains("nowhere"), "{none}");
}

#[test]
fn clips_of_a_killed_session_are_cleared_and_nothing_of_its_record_is_lost() {
    let lines: Vec<&str> = EVENTS.split_inclusive('\n').collect();
    let killed = lines[..4].concat() + &lines[4][..20];
    let folder = session(&killed);
    folder
        .run(["clear", "s", "--before", "2100-01-01"])
        .exits(0)
        .stdout("s: 1 removed\n");
    let record = fs::read_to_string(folder.path().join("s/session.jsonl")).expect("a record");
    assert!(record.starts_with(&lines[..4].concat()), "{record}");
    let torn = fs::read_to_string(folder.path().join("s/session.jsonl.torn-1"));
    assert_eq!(torn.expect("what was cut off"), lines[4][..20]);
    let run = folder.run(["verify", "s"]).exits(0);
    let told = run.read_stdout();
    assert!(told.contains("1 of them cleared"), "{told}");
}

#[test]
fn clips_that_no_line_names_are_told_and_cleared_with_the_others() {
    let lines: Vec<&str> = EVENTS.split_inclusive('\n').collect();
    let folder = session(&(lines[0].to_owned() + &lines[1][..20]));
    folder
        .run(["clear", "s", "--before", "2000-01-01"])
        .exits(0)
        .stdout("s: 0 removed\n");
    folder
        .run(["clear", "s", "--before", "2100-01-01"])
        .exits(0)
        .stdout("s: 1 removed\n");
    assert!(!folder.path().join("s/clips/000001.wav").exists());
    let told = folder.run(["verify", "s"]).exits(0).read_stdout();
    assert!(
        told.starts_with("unchanged; it broke off and was taken up again\n"),
        "{told}"
    );
    assert!(
        told.contains("1 clip that no line names was found when it was taken up again\n"),
        "{told}"
    );
}

#[test]
fn a_record_that_does_not_hold_together_is_packed_with_all_its_clips() {
    let folder = session(&EVENTS.replacen("\"ms\":", "\"ms\":1", 2));
    folder.run(["verify", "s"]).exits(1);
    folder.run(["pack", "s"]).exits(1);
    let entries = entries(&folder);
    let clip = entries.iter().find(|(name, _)| name == "clips/000001.wav");
    assert!(clip.is_some(), "{entries:?}");
}

/// What a damaged disk or mail makes of a pack: the file is named, and the rest is still told.
#[test]
fn a_pack_with_a_damaged_byte_is_told_apart_by_verify() {
    for (name, expected) in [
        (
            "clips/000001.wav",
            "`clips/000001.wav` was changed: it does not match its hash",
        ),
        ("session.jsonl", "`session.jsonl` line "),
    ] {
        let folder = packed();
        let path = folder.path().join("s.zip");
        let file = File::open(&path).expect("a pack");
        let mut zip = ZipArchive::new(file).expect("a zip file");
        let entry = zip.by_name(name).expect("an entry");
        let start = entry.data_start().expect("where its bytes begin");
        let middle = usize::try_from(start + entry.compressed_size() / 2).expect("a place");
        drop(entry);
        let mut bytes = fs::read(&path).expect("a pack");
        bytes[middle] ^= 0x10;
        fs::write(&path, bytes).expect("a damaged pack");
        let told = folder.run(["verify", "s.zip"]).exits(1).read_stdout();
        assert!(told.contains(expected), "{name}: {told}");
        let report = folder.run(["report", "s.zip"]).to_string();
        assert!(!report.contains("/readback-"), "{report}");
    }
}
