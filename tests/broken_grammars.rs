//! Every broken grammar in `tests/procedures/err/` gives exactly the message beside it.
//!
//! Each `grammar-*.jsgf` is loaded as one file of an otherwise good small language; the messages
//! stand in the `.expected` file of the same name.

use std::fs;
use std::path::{Path, PathBuf};

use readback::language::Language;

const GOOD: [(&str, &str); 3] = [
    (
        "commands.jsgf",
        "#JSGF V1.0;\ngrammar commands;\npublic <command> = <hidden>;\n\
         <hidden> = next {command next};\n",
    ),
    (
        "readings.jsgf",
        "#JSGF V1.0;\ngrammar readings;\npublic <readings> = one {digit 1};\n",
    ),
    (
        "spelling.jsgf",
        "#JSGF V1.0;\ngrammar spelling;\npublic <spelling> = {spell} alfa {letter A};\n",
    ),
];

fn messages(path: &Path) -> String {
    let text = fs::read_to_string(path).expect("the case can be read");
    let name = path.file_name().and_then(|n| n.to_str()).expect("a name");
    let replaced = text.contains("grammar spelling;");
    let mut files: Vec<(&str, &str)> = GOOD
        .into_iter()
        .filter(|(good, _)| !(replaced && *good == "spelling.jsgf"))
        .collect();
    files.push((name, &text));
    match Language::load("en-XX", &files) {
        Ok(_) => "no problem found\n".to_owned(),
        Err(problems) => problems.iter().map(|p| format!("{p}\n")).collect(),
    }
}

fn cases() -> Vec<PathBuf> {
    let mut cases: Vec<PathBuf> = fs::read_dir("tests/procedures/err")
        .expect("the folder is there")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "jsgf"))
        .collect();
    cases.sort();
    cases
}

#[test]
fn every_broken_grammar_gives_its_message() {
    let cases = cases();
    assert!(cases.len() >= 40, "found only {} cases", cases.len());
    let mut wrong = Vec::new();
    for case in cases {
        let found = messages(&case);
        let expected = fs::read_to_string(case.with_extension("expected")).unwrap_or_default();
        if found != expected {
            let case = case.display();
            wrong.push(format!("{case}\n  found    {found}  expected {expected}"));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn the_small_language_is_good_by_itself() {
    Language::load("en-XX", &GOOD).expect("no problems");
}
