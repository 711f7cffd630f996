//! Reads a record back: all its events for a report, or everything needed to go on.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::append::{Record, Tail};
use super::chain::{self, Break, BreakKind, Chain};
use super::events_file::EventsFile;
use super::folder::{self, CLIPS, EVENTS, Lock, PROCEDURE};
use super::line::{BoundFile, Hash, Line, Mark};
use super::trouble::RecordError;
use super::verify::named_clips;
use crate::clock::{Now, WallTime};

/// One recorded event.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry<E> {
    /// The number of its line, from 1.
    pub line: u64,
    pub now: Now,
    pub event: E,
    /// The audio it came from.
    pub clip: Option<BoundFile>,
}

/// What a record holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded<E> {
    /// How the record was made, from its opening.
    pub about: BTreeMap<String, String>,
    /// The procedure files as they were; [`procedure_as_it_was`] reads them.
    pub procedure: Vec<BoundFile>,
    pub entries: Vec<Entry<E>>,
    /// Clips that were found without a line when the record was taken up again, each with the last
    /// moment recorded before.
    pub unnamed_clips: Vec<(WallTime, BoundFile)>,
    /// The last moment recorded.
    pub last: Now,
    /// How many lines there are, and the hash of the last.
    pub lines: u64,
    pub head: Hash,
    /// The session was ended in order.
    pub closed: bool,
    /// The file goes on behind `lines` with a write that was cut off.
    pub torn: bool,
}

/// A record taken up again.
#[derive(Debug)]
pub struct Resumed<E> {
    pub record: Record<E>,
    pub recorded: Recorded<E>,
    /// The moment at which it was taken up; the session's clock starts at its milliseconds.
    pub now: Now,
    /// The file into which an unfinished end was set aside, relative to the session folder.
    pub torn: Option<String>,
}

/// All events of a record, without changing anything in it. An unfinished end is left out.
///
/// # Errors
///
/// [`RecordError::BadLine`] at the first line that was altered, removed or moved.
pub fn read<E: DeserializeOwned>(session: &Path) -> Result<Recorded<E>, RecordError> {
    let bytes = folder::read_events(session)?;
    recorded(session, chain::follow(&bytes))
}

/// As [`read`], but of a record in which a line was altered everything before that line: for a
/// report, which has [`verify`](super::verify) say what is wrong.
///
/// # Errors
///
/// [`RecordError::BadLine`] where not even the first line holds.
pub fn read_up_to_fault<E: DeserializeOwned>(session: &Path) -> Result<Recorded<E>, RecordError> {
    let bytes = folder::read_events(session)?;
    let mut chain = chain::follow(&bytes);
    if chain.lines.is_empty() {
        return recorded(session, chain);
    }
    let broken = chain.end.take().is_some();
    let mut recorded = recorded(session, chain)?;
    recorded.torn = broken;
    Ok(recorded)
}

/// The bytes of a clip, as they were recorded.
///
/// # Errors
///
/// [`RecordError::BadFile`] if it was changed, or its name leads out of the session;
/// [`RecordError::Storage`] if it cannot be read.
pub fn clip(session: &Path, clip: &BoundFile) -> Result<Vec<u8>, RecordError> {
    read_unchanged(session, clip, "was changed: it does not match its hash")
}

fn read_unchanged(
    session: &Path,
    bound: &BoundFile,
    changed: &str,
) -> Result<Vec<u8>, RecordError> {
    let bytes = folder::read_some(&place(session, bound)?)?;
    match Hash::of(&bytes) == bound.sha256 {
        true => Ok(bytes),
        false => Err(bad(session, bound, changed)),
    }
}

fn place(session: &Path, bound: &BoundFile) -> Result<PathBuf, RecordError> {
    let outside = || bad(session, bound, "lies outside the session folder");
    folder::inside(session, &bound.file).ok_or_else(outside)
}

fn bad(session: &Path, bound: &BoundFile, what: &str) -> RecordError {
    RecordError::BadFile {
        file: session.join(&bound.file),
        what: what.to_owned(),
    }
}

/// The procedure files of a record, each with its name, after a check that they are unchanged.
///
/// # Errors
///
/// [`RecordError::BadFile`] if one was changed, [`RecordError::Storage`] if one is missing.
pub fn procedure_as_it_was(
    session: &Path,
    procedure: &[BoundFile],
) -> Result<Vec<(String, String)>, RecordError> {
    procedure_files(session, procedure, true)
}

/// The procedure files of a record as they are now, changed or not.
///
/// # Errors
///
/// [`RecordError::BadFile`] if one is no text, [`RecordError::Storage`] if one is missing.
pub fn procedure_as_it_is(
    session: &Path,
    procedure: &[BoundFile],
) -> Result<Vec<(String, String)>, RecordError> {
    procedure_files(session, procedure, false)
}

fn procedure_files(
    session: &Path,
    procedure: &[BoundFile],
    unchanged: bool,
) -> Result<Vec<(String, String)>, RecordError> {
    let mut files = Vec::with_capacity(procedure.len());
    for bound in procedure {
        let bytes = match unchanged {
            true => read_unchanged(session, bound, "was changed since the session began")?,
            false => folder::read_some(&place(session, bound)?)?,
        };
        let text = String::from_utf8(bytes).map_err(|_| bad(session, bound, "is not UTF-8"))?;
        let prefix = format!("{PROCEDURE}/");
        let name = bound.file.strip_prefix(&prefix).unwrap_or(&bound.file);
        files.push((name.to_owned(), text));
    }
    Ok(files)
}

impl<E: Serialize + DeserializeOwned> Record<E> {
    /// Takes a record up again, at the moment `wall`: an unfinished end is set aside, every event
    /// is read back, and a line says that the session was resumed.
    ///
    /// # Errors
    ///
    /// [`RecordError::InUse`] while another process has it open, [`RecordError::BadLine`] if it
    /// was altered, [`RecordError::Storage`] if it cannot be written.
    pub fn resume(session: &Path, wall: WallTime) -> Result<Resumed<E>, RecordError> {
        // Looked for first, so that no lock file appears in a folder that is no session.
        folder::read_events(session)?;
        let lock = Lock::take(session)?;
        let bytes = folder::read_events(session)?;
        let chain: Chain<E> = chain::follow(&bytes);
        let unnamed_clips = unnamed_clips(session, &chain.lines)?;
        let length = chain.length;
        let recorded = recorded(session, chain)?;
        let torn = match length < bytes.len() {
            true => Some(folder::set_aside_tail(session, &bytes, length)?),
            false => None,
        };
        let mut events_file = EventsFile::open(session, length as u64, recorded.head.clone())?;
        if bytes[..length].last() != Some(&b'\n') {
            events_file.append(b"\n", &recorded.head)?;
        }
        let tail = Tail {
            next: recorded.lines + 1,
            head: recorded.head.clone(),
            next_clip: next_clip(session, &recorded.entries)?,
        };
        let mut record = Record::open(session, lock, events_file, tail);
        let now = recorded.last.taken_up_at(wall);
        let torn_name = torn.as_ref().map(|t| t.file.clone());
        let mark = Mark::Resumed {
            torn,
            unnamed_clips,
        };
        record.append_mark(mark, &now)?;
        Ok(Resumed {
            record,
            recorded,
            now,
            torn: torn_name,
        })
    }
}

fn recorded<E>(session: &Path, chain: Chain<E>) -> Result<Recorded<E>, RecordError> {
    let bad_line = |line, what| RecordError::BadLine {
        file: session.join(EVENTS),
        line,
        what,
    };
    let torn = match chain.end {
        Some(Break {
            line,
            kind: BreakKind::Bad { what },
        }) => return Err(bad_line(line, what)),
        Some(_) => true,
        None => false,
    };
    let lines = chain.lines.len() as u64;
    let Some(last) = chain.lines.last() else {
        return Err(bad_line(1, "is missing: nothing was recorded".to_owned()));
    };
    let last_now = Now {
        wall: last.at,
        ms: last.ms,
    };
    let closed = matches!(last.mark, Some(Mark::Closed));
    let mut story = Recorded {
        about: BTreeMap::new(),
        procedure: Vec::new(),
        entries: Vec::with_capacity(chain.lines.len()),
        unnamed_clips: Vec::new(),
        last: last_now,
        lines,
        head: chain.head,
        closed,
        torn,
    };
    let mut before = chain.lines.first().map_or(last_now.wall, |line| line.at);
    for line in chain.lines {
        let at = line.at;
        take(&mut story, line, before);
        before = at;
    }
    Ok(story)
}

fn take<E>(story: &mut Recorded<E>, line: Line<E>, before: WallTime) {
    match line.mark {
        Some(Mark::Opened {
            about, procedure, ..
        }) => {
            story.about = about;
            story.procedure = procedure;
        }
        Some(Mark::Resumed { unnamed_clips, .. }) => {
            let found = unnamed_clips.into_iter().map(|clip| (before, clip));
            story.unnamed_clips.extend(found);
        }
        Some(Mark::ClipsCleared { .. } | Mark::Closed) | None => {}
    }
    if let Some(event) = line.event {
        story.entries.push(Entry {
            line: line.n,
            now: Now {
                wall: line.at,
                ms: line.ms,
            },
            event,
            clip: line.clip,
        });
    }
}

/// Clips on disk that no line names: their lines did not reach the disk.
fn unnamed_clips<E>(session: &Path, lines: &[Line<E>]) -> Result<Vec<BoundFile>, RecordError> {
    let named = named_clips(lines);
    folder::clips_on_disk(session)?
        .iter()
        .filter(|clip| !named.contains(clip.as_str()))
        .map(|clip| folder::bind(session, clip))
        .collect()
}

/// One more than the highest number of any clip on disk or in the record.
fn next_clip<E>(session: &Path, entries: &[Entry<E>]) -> Result<u32, RecordError> {
    let number = |name: &str| {
        let stem = name.strip_prefix(CLIPS)?.strip_prefix('/')?;
        stem.strip_suffix(".wav")?.parse::<u32>().ok()
    };
    let on_disk = folder::clips_on_disk(session)?;
    let named = entries.iter().filter_map(|e| e.clip.as_ref());
    let highest = on_disk
        .iter()
        .map(String::as_str)
        .chain(named.map(|clip| clip.file.as_str()))
        .filter_map(number)
        .max()
        .unwrap_or(0);
    Ok(highest.saturating_add(1))
}
