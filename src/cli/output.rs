//! The answer on stdout, as text or as one JSON document.

use std::borrow::Cow;
use std::fmt;
use std::io::{self, Write};
use std::process::ExitCode;

use serde::Serialize;

use super::failure::Failure;

/// What a subcommand came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// Exit code 0.
    Done,
    /// The answer to the question is "no": a check found problems, a record does not verify. Exit
    /// code 1.
    No,
}

impl Answer {
    /// [`Answer::Done`] where `yes`.
    pub fn yes_if(yes: bool) -> Answer {
        match yes {
            true => Answer::Done,
            false => Answer::No,
        }
    }

    pub fn exit_code(self) -> ExitCode {
        match self {
            Answer::Done => ExitCode::SUCCESS,
            Answer::No => ExitCode::from(1),
        }
    }
}

/// Where a subcommand writes its answer.
pub struct Output {
    json: bool,
    to: io::Stdout,
}

impl Output {
    pub(super) fn stdout(json: bool) -> Output {
        Output {
            json,
            to: io::stdout(),
        }
    }

    /// Whether `--json` was given.
    pub fn is_json(&self) -> bool {
        self.json
    }

    /// Writes text, its control characters made [`visible`], and shows it at once.
    ///
    /// # Errors
    ///
    /// [`Failure::Closed`] where nobody reads any more.
    pub fn text(&mut self, text: impl fmt::Display) -> Result<(), Failure> {
        let mut to = self.to.lock();
        write!(to, "{}", visible(&text.to_string()))
            .and_then(|()| to.flush())
            .map_err(|error| cannot_write(&error))
    }

    /// Writes one line.
    ///
    /// # Errors
    ///
    /// As [`Output::text`].
    pub fn line(&mut self, line: impl fmt::Display) -> Result<(), Failure> {
        self.text(format_args!("{line}\n"))
    }

    /// Writes the one JSON document, indented, with a last line end.
    ///
    /// # Errors
    ///
    /// As [`Output::text`].
    pub fn json(&mut self, document: &impl Serialize) -> Result<(), Failure> {
        let text = serde_json::to_string_pretty(document).map_err(Failure::input)?;
        self.line(text)
    }
}

/// The text with its control characters spelled out, so that no terminal acts on what stands in the
/// name of a file: all but tabs and the ends of lines.
pub fn visible(text: &str) -> Cow<'_, str> {
    let plain = |letter: char| !letter.is_control() || matches!(letter, '\n' | '\r' | '\t');
    if text.chars().all(plain) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len());
    for letter in text.chars() {
        match plain(letter) {
            true => shown.push(letter),
            false => shown.extend(letter.escape_debug()),
        }
    }
    Cow::Owned(shown)
}

fn cannot_write(error: &io::Error) -> Failure {
    match error.kind() {
        io::ErrorKind::BrokenPipe => Failure::Closed,
        _ => Failure::input(format_args!("cannot write the answer: {error}")),
    }
}
