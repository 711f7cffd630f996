//! `session.jsonl` while it is written: what is in it for certain, and how to go on after a write
//! that failed.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::folder::{self, EVENTS};
use super::line::Hash;
use super::trouble::RecordError;

#[derive(Debug)]
pub(crate) struct EventsFile {
    path: PathBuf,
    file: File,
    /// How many bytes are on disk and whole. Whatever stands behind them is left of a write that
    /// failed.
    durable: u64,
    /// The hash of the last durable line.
    head: Hash,
    /// The last write failed: the file may be another one by now, and its end may be torn.
    failed: bool,
}

impl EventsFile {
    /// Makes the file with its first line.
    pub(crate) fn create(
        session: &Path,
        first_line: &[u8],
        head: Hash,
    ) -> Result<EventsFile, RecordError> {
        let path = session.join(EVENTS);
        folder::write_synced(&path, first_line, false)?;
        EventsFile::open(session, first_line.len() as u64, head)
    }

    /// Takes up a file whose first `durable` bytes are whole and end with the line of hash `head`.
    pub(crate) fn open(
        session: &Path,
        durable: u64,
        head: Hash,
    ) -> Result<EventsFile, RecordError> {
        let path = session.join(EVENTS);
        let file = open(&path).map_err(RecordError::storage("open", &path))?;
        Ok(EventsFile {
            path,
            file,
            durable,
            head,
            failed: false,
        })
    }

    /// Adds lines; they are on disk when this returns. After an error none of them counts, and the
    /// same call can be made again.
    pub(crate) fn append(&mut self, lines: &[u8], head: &Hash) -> Result<(), RecordError> {
        let done = self.try_append(lines);
        self.failed = done.is_err();
        done.map_err(RecordError::storage("write", &self.path))?;
        self.durable += lines.len() as u64;
        self.head = head.clone();
        Ok(())
    }

    fn try_append(&mut self, lines: &[u8]) -> io::Result<()> {
        if self.failed {
            self.file = open(&self.path)?;
            self.must_end_with_head()?;
            self.file.set_len(self.durable)?;
        }
        self.file.seek(SeekFrom::Start(self.durable))?;
        self.file.write_all(lines)?;
        self.file.sync_data()?;
        self.must_be_in_place()
    }

    /// A file that was removed takes writes without a complaint, and they are lost.
    fn must_be_in_place(&self) -> io::Result<()> {
        let named = fs::metadata(&self.path)?;
        match same_file(&named, &self.file.metadata()?) {
            true => Ok(()),
            false => Err(io::Error::other("another file has taken its place")),
        }
    }

    /// What was opened again must be the same record, with everything that was durable.
    fn must_end_with_head(&mut self) -> io::Result<()> {
        let expected = format!("{}\"}}\n", self.head);
        let mut found = vec![0; expected.len()];
        let start = self.durable.saturating_sub(expected.len() as u64);
        self.file.seek(SeekFrom::Start(start))?;
        let whole = self.file.read_exact(&mut found).is_ok();
        match whole && found == expected.as_bytes() {
            true => Ok(()),
            false => Err(io::Error::other(
                "it is not the file that was written so far",
            )),
        }
    }
}

fn open(path: &Path) -> io::Result<File> {
    OpenOptions::new().read(true).write(true).open(path)
}

#[cfg(unix)]
fn same_file(one: &Metadata, other: &Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    (one.dev(), one.ino()) == (other.dev(), other.ino())
}

/// Elsewhere an open file cannot be removed or replaced.
#[cfg(not(unix))]
fn same_file(_: &Metadata, _: &Metadata) -> bool {
    true
}
