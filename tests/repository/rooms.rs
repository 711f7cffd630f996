//! Who may import whom, and what pure rooms leave alone.

use crate::files;

/// The core, in reading order: pure but for `record`, which comes last.
const CORE: [&str; 7] = [
    "quantity",
    "measure",
    "language",
    "procedure",
    "diagnosis",
    "session",
    "record",
];

/// No file, network, environment, thread or clock access, and nothing printed.
const PURE: [&str; 7] = [
    "quantity",
    "measure",
    "language",
    "procedure",
    "diagnosis",
    "session",
    "report",
];

/// What only the loops and the command line may import.
const EDGES: [&str; 6] = [
    "report", "archive", "clock", "hearing", "speaking", "screen",
];

/// The rooms that a room may import besides itself; `None` for a room without a rule.
fn may_import(room: &str) -> Option<Vec<&'static str>> {
    let loops = || [&CORE[..], &EDGES[..]].concat();
    let rooms = match room {
        "quantity" | "clock" | "sound" => vec![],
        "measure" | "language" => vec!["quantity"],
        "procedure" => CORE[..3].to_vec(),
        "diagnosis" => CORE[..4].to_vec(),
        "session" => CORE[..5].to_vec(),
        "record" => [&CORE[..6], &["clock"]].concat(),
        "hearing" | "speaking" => [&CORE[..6], &["clock", "sound"]].concat(),
        "report" | "screen" => CORE.to_vec(),
        "archive" => [&CORE[..], &["report"]].concat(),
        "conversation" => [&CORE[..], &["clock"]].concat(),
        "replay" | "live" => [loops(), vec!["conversation", "replay"]].concat(),
        "cli" => [loops(), vec!["conversation", "replay", "live"]].concat(),
        "lib" | "main" => vec!["cli"],
        _ => return None,
    };
    Some(rooms)
}

const EFFECTS: [&str; 12] = [
    "std::fs",
    "std::net",
    "std::env",
    "std::thread",
    "std::time",
    "std::process",
    "std::io",
    "Instant::now",
    "SystemTime",
    "print!(",
    "println!(",
    "dbg!(",
];

#[test]
fn rooms_import_only_what_stands_before_them() {
    for file in files::rust_below("src/") {
        let room = room_of(&file.path);
        let may = may_import(room)
            .unwrap_or_else(|| panic!("{}: the room `{room}` has no import rule", file.path));
        for (number, line) in code(&file.content) {
            for imported in imported_rooms(line) {
                assert!(
                    imported == room || may.contains(&imported),
                    "{}:{number}: `{room}` imports `{imported}`, expected one of {may:?}",
                    file.path
                );
            }
        }
    }
}

#[test]
fn pure_rooms_touch_nothing_outside() {
    let mut files = files::rust_below("src/");
    files.retain(|file| PURE.contains(&room_of(&file.path)));
    for file in files {
        for (number, line) in code(&file.content) {
            let found = EFFECTS.iter().find(|effect| line.contains(**effect));
            assert_eq!(found, None, "{}:{number}: {line}", file.path);
        }
    }
}

#[test]
fn unsafe_code_stands_in_one_folder() {
    for file in files::rust_below("src/") {
        let allowed = file.path.starts_with("src/hearing/pocketsphinx/");
        for (number, line) in code(&file.content) {
            let found = line.split(|c: char| !c.is_alphanumeric() && c != '_');
            let found = found.into_iter().any(|word| word == "unsafe");
            assert!(allowed || !found, "{}:{number}: {line}", file.path);
        }
    }
}

/// `src/language/mod.rs` and `src/replay.rs` give `language` and `replay`.
fn room_of(path: &str) -> &str {
    let inside = path.trim_start_matches("src/");
    let room = inside.split('/').next().unwrap_or(inside);
    room.trim_end_matches(".rs")
}

/// The numbered lines without those that are comment.
fn code(content: &str) -> impl Iterator<Item = (usize, &str)> {
    let lines = content.lines().enumerate();
    let lines = lines.map(|(index, line)| (index + 1, line.trim()));
    lines.filter(|(_, line)| !line.starts_with("//"))
}

/// The first segment after each `crate::` of a line; of `crate::{a::B, c}` each first segment.
fn imported_rooms(line: &str) -> Vec<&str> {
    line.split("crate::").skip(1).flat_map(segments).collect()
}

fn segments(after: &str) -> Vec<&str> {
    match after.strip_prefix('{') {
        Some(group) => group.split(',').map(first_segment).collect(),
        None => vec![first_segment(after)],
    }
}

fn first_segment(path: &str) -> &str {
    let path = path.trim();
    let end = path.find(|c: char| !c.is_alphanumeric() && c != '_');
    &path[..end.unwrap_or(path.len())]
}

#[test]
fn imports_are_found_in_every_form() {
    assert_eq!(imported_rooms("use crate::quantity::Unit;"), ["quantity"]);
    assert_eq!(
        imported_rooms("use crate::{quantity::Unit, language};"),
        ["quantity", "language"]
    );
    assert_eq!(imported_rooms("fn a(b: crate::cli::Out)"), ["cli"]);
}
