//! The index file: made, brought up to date, thrown away when it is of no use.

use std::collections::HashMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use rusqlite::{Connection, Transaction, params};

use super::rows::{self, Kept};

/// Its name in the folder of the sessions.
const FILE: &str = ".readback-index.sqlite";
/// What every session's folder holds.
const RECORD: &str = "session.jsonl";
/// Another number makes it be made anew.
const VERSION: i64 = 3;

const SCHEMA: &str = "
    CREATE TABLE session (
        id INTEGER PRIMARY KEY, folder TEXT NOT NULL UNIQUE, stamp TEXT NOT NULL,
        procedure TEXT, title TEXT, revision TEXT, unit TEXT, variant TEXT, serial TEXT,
        reference TEXT, site TEXT, complaint TEXT, technician TEXT, began TEXT,
        worked_ms INTEGER, ended TEXT, conclusion TEXT, words TEXT, trouble TEXT);
    CREATE INDEX session_serial ON session (serial COLLATE NOCASE);
    CREATE TABLE finding (
        session INTEGER NOT NULL REFERENCES session ON DELETE CASCADE,
        procedure TEXT, step TEXT, finding TEXT, says TEXT, verdict TEXT);
    CREATE INDEX finding_session ON finding (session);
    CREATE TABLE step (
        session INTEGER NOT NULL REFERENCES session ON DELETE CASCADE,
        procedure TEXT, step TEXT, took_ms INTEGER);
    CREATE INDEX step_session ON step (session);
    CREATE TABLE reading (
        session INTEGER NOT NULL REFERENCES session ON DELETE CASCADE,
        number INTEGER, procedure TEXT, step TEXT, quantity TEXT, value TEXT, unit TEXT,
        limits TEXT, judged TEXT);
    CREATE INDEX reading_session ON reading (session);
    CREATE INDEX reading_step ON reading (step);
    CREATE TABLE misheard (
        session INTEGER NOT NULL REFERENCES session ON DELETE CASCADE,
        words TEXT, withdrawn INTEGER);
    CREATE INDEX misheard_session ON misheard (session);
";

/// The sessions below one folder.
pub struct Archive {
    folder: PathBuf,
    pub(super) index: Connection,
}

/// What brought the index up to date.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Refreshed {
    /// How many sessions there are.
    pub sessions: usize,
    /// How many of them were read, because they were new or had changed.
    pub read: usize,
    pub unreadable: Vec<Unreadable>,
}

/// A session that could not be read when it was last tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    pub folder: String,
    pub why: String,
}

#[derive(Debug, thiserror::Error)]
pub enum ArchiveError {
    #[error("cannot read `{}`: {why}; name the folder that holds the sessions", folder.display())]
    Folder { folder: PathBuf, why: String },
    #[error("the index of the sessions fails: {0}; delete `{FILE}` and try again")]
    Index(#[from] rusqlite::Error),
}

impl Archive {
    /// Opens the index of a folder, or makes one. An index that cannot be used is made anew; where
    /// nothing can be written, it is made in memory.
    ///
    /// # Errors
    ///
    /// [`ArchiveError::Index`] if not even that works.
    pub fn open(folder: &Path) -> Result<Archive, ArchiveError> {
        let file = folder.join(FILE);
        let opened = usable(&file).or_else(|_| {
            // A file that is of no use is in the way of the next; that it is not there is fine.
            let _ = fs::remove_file(&file);
            usable(&file)
        });
        let index = match opened {
            Ok(index) => index,
            Err(_) => prepared(Connection::open_in_memory()?)?,
        };
        Ok(Archive {
            folder: folder.to_owned(),
            index,
        })
    }

    /// Reads what is new or has changed, and forgets what is gone. `read` reads one session's
    /// folder; `told` hears how many of how many have been read.
    ///
    /// # Errors
    ///
    /// [`ArchiveError::Folder`] if the folder cannot be read.
    pub fn refresh(
        &mut self,
        mut read: impl FnMut(&Path) -> Result<Kept, String>,
        mut told: impl FnMut(usize, usize),
    ) -> Result<Refreshed, ArchiveError> {
        let there = sessions_in(&self.folder).map_err(|error| ArchiveError::Folder {
            folder: self.folder.clone(),
            why: match error.kind() {
                io::ErrorKind::NotFound => "there is no such folder".to_owned(),
                io::ErrorKind::NotADirectory => "it is a file, expected a folder".to_owned(),
                io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
                _ => error.to_string().to_lowercase(),
            },
        })?;
        let known = self.known()?;
        let changed: Vec<(&String, &String)> = there
            .iter()
            .filter(|(name, stamp)| known.get(*name) != Some(*stamp))
            .collect();
        let gone = known.keys().filter(|name| !there.contains_key(*name));
        let transaction = self.index.transaction()?;
        for name in gone.chain(changed.iter().map(|(name, _)| *name)) {
            transaction.execute("DELETE FROM session WHERE folder = ?1", [name])?;
        }
        for (done, (name, stamp)) in changed.iter().enumerate() {
            told(done, changed.len());
            match read(&self.folder.join(name)) {
                Ok(kept) => rows::insert(&transaction, name, stamp, &kept)?,
                Err(why) => unreadable(&transaction, name, stamp, &why)?,
            }
        }
        transaction.commit()?;
        Ok(Refreshed {
            sessions: there.len(),
            read: changed.len(),
            unreadable: self.unreadable()?,
        })
    }

    /// The stamp of every session in the index, by its folder.
    fn known(&self) -> Result<HashMap<String, String>, rusqlite::Error> {
        let mut known = self.index.prepare("SELECT folder, stamp FROM session")?;
        let rows = known.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        rows.collect()
    }

    fn unreadable(&self) -> Result<Vec<Unreadable>, rusqlite::Error> {
        let mut found = self.index.prepare(
            "SELECT folder, trouble FROM session WHERE trouble IS NOT NULL ORDER BY folder",
        )?;
        let rows = found.query_map([], |row| {
            Ok(Unreadable {
                folder: row.get(0)?,
                why: row.get(1)?,
            })
        })?;
        rows.collect()
    }
}

fn unreadable(
    index: &Transaction,
    folder: &str,
    stamp: &str,
    why: &str,
) -> Result<(), rusqlite::Error> {
    let sql = "INSERT INTO session (folder, stamp, trouble) VALUES (?1, ?2, ?3)";
    index.execute(sql, params![folder, stamp, why]).map(|_| ())
}

fn usable(file: &Path) -> Result<Connection, rusqlite::Error> {
    prepared(Connection::open(file)?)
}

/// A connection to an index of this version; an empty one is filled with its tables.
fn prepared(index: Connection) -> Result<Connection, rusqlite::Error> {
    // It can be made again, so nothing waits for the disk.
    index.execute_batch("PRAGMA synchronous = OFF; PRAGMA foreign_keys = ON;")?;
    let version: i64 = index.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    match version {
        VERSION => {}
        0 => index.execute_batch(&format!(
            "BEGIN; {SCHEMA} PRAGMA user_version = {VERSION}; COMMIT;"
        ))?,
        _ => return Err(rusqlite::Error::InvalidQuery),
    }
    Ok(index)
}

/// Every folder that holds a record, with what changes when its record does.
fn sessions_in(folder: &Path) -> io::Result<HashMap<String, String>> {
    if folder.join(RECORD).is_file() {
        return Err(io::Error::other("it is one session itself"));
    }
    let mut sessions = HashMap::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let Ok(about) = fs::metadata(entry.path().join(RECORD)) else {
            continue;
        };
        let changed = about.modified().ok();
        let changed = changed.and_then(|at| at.duration_since(UNIX_EPOCH).ok());
        let stamp = format!("{} {}", about.len(), changed.unwrap_or_default().as_nanos());
        sessions.insert(entry.file_name().to_string_lossy().into_owned(), stamp);
    }
    Ok(sessions)
}
