//! How long a file may grow, what every module says of itself, and what never belongs here.

use crate::files;

const LONGEST: usize = 400;

/// Written in halves, so that this file is not found by its own search.
const UNFINISHED: [&str; 8] = [
    concat!("TO", "DO"),
    concat!("FIX", "ME"),
    concat!("XX", "X"),
    concat!("to", "do!("),
    concat!("unimple", "mented!("),
    concat!("#[ig", "nore"),
    concat!("allow(dead", "_code)"),
    concat!("expect(dead", "_code)"),
];

const MACHINE: [&str; 4] = [
    concat!("/wo", "rk/"),
    concat!("/ho", "me/"),
    concat!("/ro", "ot/"),
    concat!("/Us", "ers/"),
];

const HOSTS: [&str; 9] = [
    concat!("crates", ".io/"),
    concat!("static.crates", ".io"),
    concat!("pypi", ".org"),
    concat!("pythonhosted", ".org"),
    concat!("npmjs", ".org"),
    concat!("npmjs", ".com"),
    concat!("deb.debian", ".org"),
    concat!("github", ".com"),
    concat!("alphacephei", ".com"),
];

#[test]
fn no_rust_file_is_longer_than_allowed() {
    for file in files::rust_below("") {
        let lines = file.content.lines().count();
        assert!(
            lines <= LONGEST,
            "{}: {lines} lines, expected at most {LONGEST}: part it by the ideas inside",
            file.path
        );
    }
}

#[test]
fn every_module_says_what_it_is() {
    for file in files::rust_below("") {
        let first = file.content.lines().next().unwrap_or_default();
        assert!(
            first.starts_with("//! "),
            "{}: the first line is `{first}`, expected a module doc",
            file.path
        );
    }
}

#[test]
fn nothing_is_left_unfinished() {
    refuse(&UNFINISHED, |_| true);
}

#[test]
fn no_path_of_a_machine_and_no_registry_host() {
    // The lock file is written by cargo and names its registry.
    let ours = |path: &str| path != "Cargo.lock";
    refuse(&MACHINE, ours);
    refuse(&HOSTS, ours);
}

/// No file for which `applies` holds has any of these in it.
fn refuse(words: &[&str], applies: impl Fn(&str) -> bool) {
    for file in files::all().iter().filter(|file| applies(&file.path)) {
        for (number, line) in file.content.lines().enumerate() {
            let found = words.iter().find(|word| line.contains(**word));
            assert_eq!(found, None, "{}:{}: {line}", file.path, number + 1);
        }
    }
}
