//! What ends a subcommand before it has an answer, and its exit code.

use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use crate::hearing::recognizer::HearingError;
use crate::replay::ReplayError;

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The answer is "no", for this reason: exit code 1.
    #[error("{0}")]
    Refused(String),
    /// Bad input or usage: exit code 2.
    #[error("{0}")]
    Input(String),
    /// A file or folder that cannot be used: exit code 2.
    #[error("cannot {doing} `{}`: {why}", path.display())]
    File {
        doing: &'static str,
        path: PathBuf,
        why: String,
    },
    /// A device, an engine or a model is missing: exit code 3.
    #[error("{0}")]
    Missing(String),
    /// Nobody reads our stdout any more, as in `readback ... | head`: not an error to report.
    #[error("the reader of the answer has gone")]
    Closed,
}

impl Failure {
    /// Bad input, said in one sentence.
    pub fn input(message: impl ToString) -> Failure {
        Failure::Input(message.to_string())
    }

    /// What was asked for is not done, said in one sentence.
    pub fn refused(message: impl ToString) -> Failure {
        Failure::Refused(message.to_string())
    }

    /// A device, an engine or a model that is not there, and what to do about it.
    pub fn missing(message: impl ToString) -> Failure {
        Failure::Missing(message.to_string())
    }

    /// What the system said about a file: `doing` is a verb, such as "read".
    pub fn file(doing: &'static str, path: &Path, error: &io::Error) -> Failure {
        let remedy = match error.kind() {
            io::ErrorKind::NotFound => "; check its name and folder",
            _ => "",
        };
        Failure::File {
            doing,
            path: path.to_owned(),
            why: reason(error) + remedy,
        }
    }

    /// 1 for a "no", 2 for bad input, 3 for what is missing.
    pub fn exit_code(&self) -> ExitCode {
        match self {
            Failure::Refused(_) => ExitCode::from(1),
            Failure::Input(_) | Failure::File { .. } => ExitCode::from(2),
            Failure::Missing(_) => ExitCode::from(3),
            Failure::Closed => ExitCode::SUCCESS,
        }
    }
}

impl From<HearingError> for Failure {
    fn from(error: HearingError) -> Failure {
        match error {
            HearingError::Missing { .. } => Failure::missing(error),
            HearingError::Grammar { .. } | HearingError::Engine { .. } => Failure::input(error),
        }
    }
}

impl From<ReplayError> for Failure {
    fn from(error: ReplayError) -> Failure {
        match error {
            ReplayError::Hearing(error) => error.into(),
            ReplayError::Conversation(error) => Failure::input(error),
            ReplayError::NoEngine => Failure::missing(error),
        }
    }
}

/// The usual reasons in plain words, the others as the system puts them.
pub(super) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder, expected a file".to_owned(),
        io::ErrorKind::NotADirectory => "it is a file, expected a folder".to_owned(),
        io::ErrorKind::AlreadyExists => {
            "it is there already; choose another name, or move it away".to_owned()
        }
        io::ErrorKind::InvalidData => "it is not UTF-8 text".to_owned(),
        _ => error.to_string().to_lowercase(),
    }
}
