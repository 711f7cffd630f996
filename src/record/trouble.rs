//! What can go wrong with a session folder, said so that the reader knows what to do next.

use std::io;
use std::path::{Path, PathBuf};

/// Why a record cannot be made, taken up again or read.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    #[error(
        "`{}` already holds something; resume the session in it or choose another folder",
        folder.display()
    )]
    Taken { folder: PathBuf },

    #[error(
        "`{}` holds no record: `session.jsonl` is missing; name the folder of a session",
        folder.display()
    )]
    NoRecord { folder: PathBuf },

    #[error(
        "found no `{}`, expected a recorded session; look for a slip in its name",
        path.display()
    )]
    Nowhere { path: PathBuf },

    #[error(
        "`{}` is a file, expected the folder of a session; unpack a pack, and name the folder",
        file.display()
    )]
    NoFolder { file: PathBuf },

    #[error(
        "`{}` is open in another process{holder}; end that session first, or wait for it",
        folder.display()
    )]
    InUse { folder: PathBuf, holder: String },

    #[error("cannot {action} `{}`: {}; {}", path.display(), reason(source), remedy(source))]
    Storage {
        action: &'static str,
        path: PathBuf,
        source: io::Error,
    },

    #[error("`{}` line {line}: {what}; run `verify` on the session", file.display())]
    BadLine {
        file: PathBuf,
        line: u64,
        what: String,
    },

    #[error("`{}` {what}; run `verify` on the session", file.display())]
    BadFile { file: PathBuf, what: String },

    #[error(
        "`{}` {what}, which no pack of a session does; nothing of it is used, have it made again",
        file.display()
    )]
    BadPack { file: PathBuf, what: String },

    #[error(
        "`{}` is no session: expected its folder or its pack; if it is a pack, its end was cut off \
         or damaged: have it made again",
        file.display()
    )]
    NoPack { file: PathBuf },

    #[error("this event cannot be written: {what}")]
    Unwritable { what: String },

    /// The events are kept in memory, in order; `Record::retry` writes them.
    #[error("not recording, {kept} lines are kept in memory: {cause}")]
    NotRecording {
        kept: usize,
        cause: Box<RecordError>,
    },

    /// The session ended before the disk took its last lines.
    #[error(
        "the last {kept} lines of the session are in `{}`, because {cause}; put them behind line \
         {after} of `{}` when it can be written",
        aside.display(), events.display()
    )]
    SetAside {
        kept: usize,
        /// The file with the lines; clips that the disk did not take lie beside it.
        aside: PathBuf,
        after: u64,
        events: PathBuf,
        cause: Box<RecordError>,
    },
}

impl RecordError {
    /// For `map_err`: what was being done to which file.
    pub(crate) fn storage(
        action: &'static str,
        path: &Path,
    ) -> impl FnOnce(io::Error) -> RecordError {
        let path = path.to_owned();
        move |source| RecordError::Storage {
            action,
            path,
            source,
        }
    }
}

fn reason(source: &io::Error) -> String {
    use io::ErrorKind as Kind;
    match source.kind() {
        Kind::StorageFull => "the disk is full".to_owned(),
        Kind::QuotaExceeded => "the quota for files is used up".to_owned(),
        Kind::FileTooLarge => "the file would be larger than is allowed here".to_owned(),
        Kind::PermissionDenied => "not allowed".to_owned(),
        Kind::ReadOnlyFilesystem => "the disk is read-only".to_owned(),
        Kind::NotFound => "it is not there".to_owned(),
        Kind::AlreadyExists => "it is there already".to_owned(),
        Kind::NotADirectory => "part of the path is a file, not a folder".to_owned(),
        _ => without_code(&source.to_string()),
    }
}

fn remedy(source: &io::Error) -> &'static str {
    use io::ErrorKind as Kind;
    match source.kind() {
        Kind::StorageFull | Kind::QuotaExceeded => "free some space or choose another folder",
        Kind::FileTooLarge => "raise the limit or choose another folder",
        Kind::PermissionDenied | Kind::ReadOnlyFilesystem => {
            "make it writable for you or choose another folder"
        }
        Kind::NotFound => "look whether its folder is there and its disk connected",
        Kind::AlreadyExists => "choose another name, or move it away",
        Kind::NotADirectory => "choose another folder",
        _ => "check the disk or choose another folder",
    }
}

/// The system's own words without its number, beginning in lower case.
fn without_code(message: &str) -> String {
    let words = message.split(" (os error").next().unwrap_or(message);
    let mut letters = words.chars();
    match letters.next() {
        Some(first) => first.to_lowercase().chain(letters).collect(),
        None => "the system gives no reason".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_disk_is_said_with_place_and_remedy() {
        let full = io::Error::from(io::ErrorKind::StorageFull);
        let error = RecordError::storage("write", Path::new("s/session.jsonl"))(full);
        assert_eq!(
            error.to_string(),
            "cannot write `s/session.jsonl`: the disk is full; \
             free some space or choose another folder"
        );
    }

    #[test]
    fn other_reasons_are_the_system_s_own_words() {
        assert_eq!(
            without_code("Input/output error (os error 5)"),
            "input/output error"
        );
        assert_eq!(without_code(""), "the system gives no reason");
    }
}
