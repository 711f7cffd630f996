//! A session file: what must be written, and what is done then.

use std::fs;
use std::path::Path;

use super::speech::Manner;

/// One line of a session file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// A speech service is there from here on.
    Speech(Manner),
    /// From here on the microphone hears the loudspeaker, which is set to a volume such as `50%`.
    Echo(String),
    /// The procedure of the sessions that follow.
    Procedure(String),
    /// Begins a session with these further arguments; `{port}` is one that is free.
    Run(Vec<String>),
    /// Goes on from its record.
    Resume(Vec<String>),
    /// A line with these words must come.
    Expect(String),
    /// A line with the first words has the time of the one with the second or an earlier one, or
    /// there is no second one.
    Before(String, String),
    /// A recording is played into the microphone.
    Say(String),
    /// The same, again and again with a pause for an answer, until a line with these words comes.
    Insist(String, String),
    /// The same, with hardly a pause.
    Shout(String, String),
    /// The same as insisting, with the key of push-to-talk pressed each time.
    Press(String, String),
    /// The same as insisting, where the line does not come by itself.
    Answer(String, String),
    /// The voice speaks and ends.
    Silence,
    LoseMicrophone,
    ReturnMicrophone,
    /// The page is opened in a browser that follows this script.
    View(String),
    /// The script must write a line with these words.
    Seen(String),
    /// The program is asked to end, by a signal.
    End,
    /// The program ends, and has told this on stderr.
    Warned(String),
}

/// The acts of a session file, with those of the files it follows.
pub fn read(path: &Path) -> Vec<Act> {
    let text = fs::read_to_string(path).expect("a session file");
    let lines = text.lines().map(str::trim);
    let lines = lines.filter(|line| !line.is_empty() && !line.starts_with('#'));
    lines
        .flat_map(|line| match line.strip_prefix("follow ") {
            Some(file) => read(&path.with_file_name(file)),
            None => vec![act(line)],
        })
        .collect()
}

fn parts(rest: &str) -> (String, String) {
    let (first, second) = rest.split_once(" => ").expect("two parts");
    (first.to_owned(), second.to_owned())
}

fn act(line: &str) -> Act {
    let (verb, rest) = line.split_once(' ').unwrap_or((line, ""));
    let words = || rest.split(' ').map(str::to_owned);
    // The words behind a recording are for the reader.
    let recording = || words().next().expect("a recording");
    let answer = || parts(rest).1;
    match verb {
        "procedure" => Act::Procedure(rest.to_owned()),
        "run" => Act::Run(words().collect()),
        "resume" => Act::Resume(words().collect()),
        "expect" => Act::Expect(rest.to_owned()),
        "speech" if rest == "aloud" => Act::Speech(Manner::Aloud),
        "speech" if rest == "endless" => Act::Speech(Manner::Endless),
        "echo" => Act::Echo(rest.to_owned()),
        "before" => Act::Before(parts(rest).0, answer()),
        "say" => Act::Say(recording()),
        "insist" => Act::Insist(recording(), answer()),
        "shout" => Act::Shout(recording(), answer()),
        "press" => Act::Press(recording(), answer()),
        "answer" => Act::Answer(recording(), answer()),
        "silence" => Act::Silence,
        "warned" => Act::Warned(rest.to_owned()),
        "lose" => Act::LoseMicrophone,
        "return" => Act::ReturnMicrophone,
        "view" => Act::View(rest.to_owned()),
        "seen" => Act::Seen(rest.to_owned()),
        "end" => Act::End,
        _ => panic!("`{line}` is no line of a session file"),
    }
}
