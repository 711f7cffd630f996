//! A session file: what must be written, and what is done then.

use std::fs;
use std::path::Path;

/// One line of a session file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// The procedure of the sessions that follow.
    Procedure(String),
    /// Begins a session with these further arguments; `{port}` is one that is free.
    Run(Vec<String>),
    /// Goes on from its record.
    Resume(Vec<String>),
    /// A line with these words must come.
    Expect(String),
    /// A recording is played into the microphone.
    Say(String),
    /// So many seconds, until a sentence has ended.
    Wait(u64),
    LoseMicrophone,
    ReturnMicrophone,
    /// The page is opened in a browser that follows this script.
    View(String),
    /// The script must write a line with these words.
    Seen(String),
    /// The program is asked to end, by a signal.
    End,
}

pub fn read(path: &Path) -> Vec<Act> {
    let text = fs::read_to_string(path).expect("a session file");
    let lines = text.lines().map(str::trim);
    let lines = lines.filter(|line| !line.is_empty() && !line.starts_with('#'));
    lines.map(act).collect()
}

fn act(line: &str) -> Act {
    let (verb, rest) = line.split_once(' ').unwrap_or((line, ""));
    let words = || rest.split(' ').map(str::to_owned);
    match verb {
        "procedure" => Act::Procedure(rest.to_owned()),
        "run" => Act::Run(words().collect()),
        "resume" => Act::Resume(words().collect()),
        "expect" => Act::Expect(rest.to_owned()),
        // The words behind the file are for the reader.
        "say" => Act::Say(words().next().expect("a recording")),
        "wait" => Act::Wait(rest.parse().expect("whole seconds")),
        "lose" => Act::LoseMicrophone,
        "return" => Act::ReturnMicrophone,
        "view" => Act::View(rest.to_owned()),
        "seen" => Act::Seen(rest.to_owned()),
        "end" => Act::End,
        _ => panic!("`{line}` is no line of a session file"),
    }
}
