//! A record that is being written.

use std::collections::{BTreeMap, VecDeque};
use std::marker::PhantomData;
use std::path::{Path, PathBuf};

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::clip::Clip;
use super::events_file::EventsFile;
use super::folder::{self, CLIPS, EVENTS, Lock, PROCEDURE};
use super::line::{BoundFile, Hash, Line, Mark};
use super::trouble::RecordError;
use crate::clock::Now;

/// What a record begins with.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Opening {
    /// How the record is made: program, engine, model, voice. Any names.
    pub about: BTreeMap<String, String>,
    /// The procedure's files as they are, each with its name; a name may have folders in it but
    /// stays below its own.
    pub procedure: Vec<(String, String)>,
}

/// A session's record, open for appending. While it lives no other process can open it.
#[derive(Debug)]
pub struct Record<E> {
    folder: PathBuf,
    _lock: Lock,
    events_file: EventsFile,
    /// The number of the next line, and the hash it follows; both count what is kept in memory.
    next: u64,
    head: Hash,
    next_clip: u32,
    closed: bool,
    /// Decisions not yet on disk, oldest first.
    kept: VecDeque<Kept>,
    events: PhantomData<fn(&E)>,
}

/// One decision on its way to the disk: all its lines or none.
#[derive(Debug)]
struct Kept {
    clip: Option<(PathBuf, Vec<u8>)>,
    lines: Vec<u8>,
    count: usize,
    head: Hash,
    tried: bool,
}

impl<E: Serialize + DeserializeOwned> Record<E> {
    /// Makes a session folder and its first line. Everything is on disk when this returns.
    ///
    /// # Errors
    ///
    /// [`RecordError::Taken`] if the folder is not empty, [`RecordError::Storage`] if it cannot be
    /// written.
    pub fn create(folder: &Path, opening: &Opening, now: &Now) -> Result<Record<E>, RecordError> {
        folder::make_folder(folder)?;
        folder::must_be_empty(folder)?;
        let lock = Lock::take(folder)?;
        folder::make_folder(&folder.join(CLIPS))?;
        let procedure = keep_procedure(folder, &opening.procedure)?;
        let mut line: Line<E> = Line::new(1, now);
        line.mark = Some(Mark::Opened {
            format: Mark::FORMAT,
            about: opening.about.clone(),
            procedure,
        });
        let (bytes, head) = line.seal(&Hash::start()).map_err(unwritable)?;
        let events_file = EventsFile::create(folder, &bytes, head.clone())?;
        let state = Tail {
            next: 2,
            head,
            next_clip: 1,
        };
        Ok(Record::open(folder, lock, events_file, state))
    }

    /// Takes over a record whose lines have been read.
    pub(crate) fn open(
        folder: &Path,
        lock: Lock,
        events_file: EventsFile,
        tail: Tail,
    ) -> Record<E> {
        Record {
            folder: folder.to_owned(),
            _lock: lock,
            events_file,
            next: tail.next,
            head: tail.head,
            next_clip: tail.next_clip,
            closed: false,
            kept: VecDeque::new(),
            events: PhantomData,
        }
    }

    /// The session folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The file name for the next clip, relative to the session folder. The same until a clip of
    /// this name is appended.
    pub fn next_clip(&self) -> String {
        format!("{CLIPS}/{:06}.wav", self.next_clip)
    }

    /// Adds the events of one decision, and the clip they came from. When this returns they are on
    /// disk: either all of them or, after a crash, none. With no events nothing is written, the
    /// clip neither.
    ///
    /// # Errors
    ///
    /// [`RecordError::NotRecording`] if the disk does not take them: they are kept in memory, and
    /// the next `append` or [`Record::retry`] writes them first. [`RecordError::Unwritable`] if an
    /// event could not be read back or the record is closed: nothing is kept.
    pub fn append(
        &mut self,
        now: &Now,
        events: Vec<E>,
        clip: Option<&Clip>,
    ) -> Result<(), RecordError> {
        let count = events.len() as u64;
        let mut lines = Vec::with_capacity(events.len());
        for (n, event) in (self.next..).zip(events) {
            let mut line = Line::new(n, now);
            line.event = Some(event);
            line.more = n + 1 < self.next + count;
            lines.push(line);
        }
        self.append_lines(lines, clip)
    }

    /// Tries again to write what is kept in memory.
    ///
    /// # Errors
    ///
    /// [`RecordError::NotRecording`] if the disk still does not take it.
    pub fn retry(&mut self) -> Result<(), RecordError> {
        match self.write_kept() {
            Ok(()) => Ok(()),
            Err(cause) => Err(RecordError::NotRecording {
                kept: self.kept_lines(),
                cause: Box::new(cause),
            }),
        }
    }

    /// How many lines are kept in memory because the disk did not take them.
    pub fn kept_lines(&self) -> usize {
        self.kept.iter().map(|k| k.count).sum()
    }

    /// The hash of the last line, and how many lines there are: what is worth keeping elsewhere,
    /// since whoever has them can tell whether the end was cut off.
    pub fn head(&self) -> (&Hash, u64) {
        (&self.head, self.next - 1)
    }

    /// Ends the record in order: the last line says so, and nothing can be appended.
    ///
    /// # Errors
    ///
    /// [`RecordError::SetAside`] if the disk does not take what is kept in memory: it is in the
    /// system's folder for temporary files. Otherwise as [`Record::append`].
    pub fn close(&mut self, now: &Now) -> Result<(), RecordError> {
        let done = self.append_mark(Mark::Closed, now);
        self.closed = true;
        match done {
            Err(RecordError::NotRecording { kept, cause }) => Err(self.set_aside(kept, cause)),
            done => done,
        }
    }

    /// Writes what is kept in memory elsewhere, before the memory is gone.
    fn set_aside(&mut self, kept: usize, cause: Box<RecordError>) -> RecordError {
        let name = self.folder.file_name().unwrap_or_default();
        let name = format!("{}-{}", name.display(), std::process::id());
        let aside = std::env::temp_dir().join(name);
        let written = self.write_kept_into(&aside);
        if written.is_err() {
            return RecordError::NotRecording { kept, cause };
        }
        self.kept.clear();
        RecordError::SetAside {
            kept,
            aside: aside.join(EVENTS),
            after: self.next - 1 - kept as u64,
            events: self.folder.join(EVENTS),
            cause,
        }
    }

    fn write_kept_into(&self, aside: &Path) -> Result<(), RecordError> {
        folder::make_folder(&aside.join(CLIPS))?;
        let clips = self.kept.iter().filter_map(|kept| kept.clip.as_ref());
        for (path, wav) in clips {
            let name = path.file_name().unwrap_or_default();
            folder::write_synced(&aside.join(CLIPS).join(name), wav, true)?;
        }
        let lines: Vec<u8> = self.kept.iter().flat_map(|k| k.lines.clone()).collect();
        folder::write_synced(&aside.join(EVENTS), &lines, true)
    }

    pub(crate) fn append_mark(&mut self, mark: Mark, now: &Now) -> Result<(), RecordError> {
        let mut line = Line::new(self.next, now);
        line.mark = Some(mark);
        self.append_lines(vec![line], None)
    }

    fn append_lines(
        &mut self,
        mut lines: Vec<Line<E>>,
        clip: Option<&Clip>,
    ) -> Result<(), RecordError> {
        if self.closed {
            return Err(unwritable("the record is closed".to_owned()));
        }
        if lines.is_empty() {
            return Ok(());
        }
        let mut kept = Kept {
            clip: None,
            lines: Vec::new(),
            count: lines.len(),
            head: self.head.clone(),
            tried: false,
        };
        if let Some(clip) = clip {
            let (bound, path, wav) = self.bind_clip(clip)?;
            lines[0].clip = Some(bound);
            kept.clip = Some((path, wav));
        }
        for line in lines {
            let (bytes, head) = line.seal(&kept.head).map_err(unwritable)?;
            kept.lines.extend_from_slice(&bytes);
            kept.head = head;
        }
        self.next += kept.count as u64;
        self.next_clip += u32::from(kept.clip.is_some());
        self.head = kept.head.clone();
        self.kept.push_back(kept);
        self.retry()
    }

    fn bind_clip(&self, clip: &Clip) -> Result<(BoundFile, PathBuf, Vec<u8>), RecordError> {
        let expected = self.next_clip();
        if clip.file != expected {
            return Err(unwritable(format!(
                "the clip is named `{}`, expected `{expected}`",
                clip.file
            )));
        }
        let wav = clip.to_wav().map_err(unwritable)?;
        let bound = BoundFile {
            file: expected,
            sha256: Hash::of(&wav),
        };
        let path = self.folder.join(&bound.file);
        Ok((bound, path, wav))
    }

    fn write_kept(&mut self) -> Result<(), RecordError> {
        while let Some(oldest) = self.kept.front_mut() {
            if let Some((path, wav)) = &oldest.clip {
                folder::write_synced(path, wav, oldest.tried)?;
                oldest.tried = true;
            }
            self.events_file.append(&oldest.lines, &oldest.head)?;
            self.kept.pop_front();
        }
        Ok(())
    }
}

/// Where a record goes on.
pub(crate) struct Tail {
    pub next: u64,
    pub head: Hash,
    pub next_clip: u32,
}

fn unwritable(what: String) -> RecordError {
    RecordError::Unwritable { what }
}

/// Writes the procedure's files into the session folder.
fn keep_procedure(
    session: &Path,
    files: &[(String, String)],
) -> Result<Vec<BoundFile>, RecordError> {
    let mut bound = Vec::with_capacity(files.len());
    for (name, text) in files {
        let file = format!("{PROCEDURE}/{name}");
        let Some(path) = folder::inside(session, &file) else {
            return Err(unwritable(format!(
                "the procedure file `{name}` has a name that leads out of the session folder"
            )));
        };
        if let Some(parent) = path.parent() {
            folder::make_folder(parent)?;
        }
        folder::write_synced(&path, text.as_bytes(), false)?;
        bound.push(BoundFile {
            file,
            sha256: Hash::of(text.as_bytes()),
        });
    }
    Ok(bound)
}
