//! The session folder: what lies where in it, who has it open, and how its files reach the disk.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Component, Path, PathBuf};

use super::line::{BoundFile, Hash};
use super::trouble::RecordError;

pub(crate) const EVENTS: &str = "session.jsonl";
pub(crate) const CLIPS: &str = "clips";
pub(crate) const PROCEDURE: &str = "procedure";
/// What the names of unfinished ends that were set aside begin with.
pub(crate) const TORN: &str = "session.jsonl.torn-";
/// More bytes than any file of a session has: 256 MiB.
const LARGEST: u64 = 256 << 20;
const LOCK: &str = "lock";

/// Held while a process writes a record. The operating system lets go of it when the process ends,
/// however it ends.
#[derive(Debug)]
pub(crate) struct Lock {
    held: File,
}

impl Lock {
    /// # Errors
    ///
    /// [`RecordError::InUse`] with the other process's number where it can be read.
    pub(crate) fn take(folder: &Path) -> Result<Lock, RecordError> {
        let path = folder.join(LOCK);
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(RecordError::storage("open", &path))?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(RecordError::InUse {
                    folder: folder.to_owned(),
                    holder: holder(&mut file),
                });
            }
            Err(TryLockError::Error(source)) => {
                return Err(RecordError::storage("lock", &path)(source));
            }
        }
        write_holder(&mut file).map_err(RecordError::storage("write", &path))?;
        Ok(Lock { held: file })
    }

    /// Whether a process has the session open. A folder that was copied has no open session.
    pub(crate) fn is_held(folder: &Path) -> bool {
        let Ok(file) = File::open(folder.join(LOCK)) else {
            return false;
        };
        matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock))
    }
}

impl Drop for Lock {
    /// Closing the file is not enough while a program is being started on another thread: until it runs, it
    /// holds what this process held.
    fn drop(&mut self) {
        let _ = self.held.unlock();
    }
}

fn write_holder(file: &mut File) -> std::io::Result<()> {
    file.set_len(0)?;
    writeln!(file, "{}", std::process::id())
}

/// ` (number 4711)`, or nothing where the other process's number cannot be read.
fn holder(file: &mut File) -> String {
    let mut text = String::new();
    let read = file.take(32).read_to_string(&mut text);
    match (read, text.trim().parse::<u32>()) {
        (Ok(_), Ok(number)) => format!(" (number {number})"),
        _ => String::new(),
    }
}

/// Makes a new file with these bytes; both the file and its place in the folder are on disk when
/// this returns. A file that is already there is replaced only if `again`.
pub(crate) fn write_synced(path: &Path, bytes: &[u8], again: bool) -> Result<(), RecordError> {
    let mut options = OpenOptions::new();
    options.write(true);
    if again {
        options.create(true).truncate(true);
    } else {
        options.create_new(true);
    }
    let write = || {
        let mut file = options.open(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    };
    write().map_err(RecordError::storage("write", path))?;
    sync_parent(path)
}

/// Puts the names of a folder's files on disk.
pub(crate) fn sync_folder(folder: &Path) -> Result<(), RecordError> {
    // Windows cannot open a folder as a file and orders these writes by itself.
    if cfg!(windows) {
        return Ok(());
    }
    File::open(folder)
        .and_then(|f| f.sync_all())
        .map_err(RecordError::storage("sync", folder))
}

fn sync_parent(path: &Path) -> Result<(), RecordError> {
    match path.parent() {
        Some(parent) if parent.as_os_str().is_empty() => sync_folder(Path::new(".")),
        Some(parent) => sync_folder(parent),
        None => Ok(()),
    }
}

/// Makes a folder, and those above it, so that they are there after a power cut.
pub(crate) fn make_folder(folder: &Path) -> Result<(), RecordError> {
    if folder.as_os_str().is_empty() || folder.is_dir() {
        return Ok(());
    }
    if let Some(parent) = folder.parent() {
        make_folder(parent)?;
    }
    match fs::create_dir(folder) {
        Err(e) if e.kind() != std::io::ErrorKind::AlreadyExists => {
            return Err(RecordError::storage("make", folder)(e));
        }
        _ => {}
    }
    sync_parent(folder)
}

/// # Errors
///
/// [`RecordError::Taken`] if there is anything in the folder.
pub(crate) fn must_be_empty(folder: &Path) -> Result<(), RecordError> {
    let mut entries = fs::read_dir(folder).map_err(RecordError::storage("read", folder))?;
    match entries.next() {
        None => Ok(()),
        Some(_) => Err(RecordError::Taken {
            folder: folder.to_owned(),
        }),
    }
}

/// Where a bound file lies, if its name stays inside the session folder.
pub(crate) fn inside(folder: &Path, name: &str) -> Option<PathBuf> {
    let relative = Path::new(name);
    let plain = relative
        .components()
        .all(|part| matches!(part, Component::Normal(_)));
    (plain && !name.is_empty() && !name.contains('\\')).then(|| folder.join(relative))
}

/// Tries whether sessions can be recorded below `folder`, which need not exist yet: a small file is
/// written, synced and removed.
///
/// # Errors
///
/// [`RecordError::Storage`] with what stands in the way.
pub fn must_be_writable(folder: &Path) -> Result<(), RecordError> {
    let existing = folder
        .ancestors()
        .map(|f| match f.as_os_str().is_empty() {
            true => Path::new("."),
            false => f,
        })
        .find(|f| f.exists())
        .unwrap_or(folder);
    if !existing.is_dir() {
        let source = std::io::Error::from(std::io::ErrorKind::NotADirectory);
        return Err(RecordError::storage("write", existing)(source));
    }
    let probe = existing.join(format!(".readback-{}", std::process::id()));
    let written = write_synced(&probe, b"1\n", true);
    let removed = fs::remove_file(&probe).map_err(RecordError::storage("remove", &probe));
    written.and(removed)
}

/// The bytes of `session.jsonl`.
pub(crate) fn read_events(folder: &Path) -> Result<Vec<u8>, RecordError> {
    let path = folder.join(EVENTS);
    match read_some(&path) {
        Err(RecordError::Storage { .. }) if folder.is_file() => Err(RecordError::NoFolder {
            file: folder.to_owned(),
        }),
        Err(RecordError::Storage { source, .. })
            if source.kind() == std::io::ErrorKind::NotFound && folder.is_dir() =>
        {
            Err(RecordError::NoRecord {
                folder: folder.to_owned(),
            })
        }
        Err(RecordError::Storage { source, .. })
            if source.kind() == std::io::ErrorKind::NotFound =>
        {
            Err(RecordError::Nowhere {
                path: folder.to_owned(),
            })
        }
        read => read,
    }
}

/// The bytes of a file, unless it is far larger than any file of a session.
///
/// # Errors
///
/// [`RecordError::BadFile`] if it is, [`RecordError::Storage`] if it cannot be read.
pub(crate) fn read_some(path: &Path) -> Result<Vec<u8>, RecordError> {
    let read = within(path, LARGEST).map_err(RecordError::storage("read", path))?;
    read.ok_or_else(|| RecordError::BadFile {
        file: path.to_owned(),
        what: format!("is larger than {LARGEST} bytes, which no file of a session is"),
    })
}

/// The bytes of a file that has at most `largest`; of another one as good as nothing is read.
fn within(path: &Path, largest: u64) -> io::Result<Option<Vec<u8>>> {
    let file = File::open(path)?;
    if file.metadata()?.len() > largest {
        return Ok(None);
    }
    let mut bytes = Vec::new();
    // It may grow while it is read.
    file.take(largest + 1).read_to_end(&mut bytes)?;
    Ok(Some(bytes).filter(|bytes| bytes.len() as u64 <= largest))
}

/// Moves everything behind `good` bytes of `session.jsonl` into a file of its own.
pub(crate) fn set_aside_tail(
    folder: &Path,
    bytes: &[u8],
    good: usize,
) -> Result<BoundFile, RecordError> {
    let tail = &bytes[good..];
    let file = free_torn_name(folder);
    write_synced(&folder.join(&file), tail, false)?;
    let path = folder.join(EVENTS);
    let cut = || {
        let events = OpenOptions::new().write(true).open(&path)?;
        events.set_len(good as u64)?;
        events.sync_all()
    };
    cut().map_err(RecordError::storage("cut", &path))?;
    Ok(BoundFile {
        file,
        sha256: Hash::of(tail),
    })
}

fn free_torn_name(folder: &Path) -> String {
    let mut number = 1;
    loop {
        let name = format!("{TORN}{number}");
        if !folder.join(&name).exists() {
            return name;
        }
        number += 1;
    }
}

/// The names of the clips on disk, sorted, relative to the session folder.
pub(crate) fn clips_on_disk(folder: &Path) -> Result<Vec<String>, RecordError> {
    names_in(folder, CLIPS)
}

/// The names of what is in a folder of the session, sorted, relative to the session folder. None
/// where there is no such folder.
pub(crate) fn names_in(folder: &Path, inner: &str) -> Result<Vec<String>, RecordError> {
    let path = folder.join(inner);
    let entries = match fs::read_dir(&path) {
        Ok(entries) => entries,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(RecordError::storage("read", &path)(e)),
    };
    let mut names = Vec::new();
    for entry in entries {
        let entry = entry.map_err(RecordError::storage("read", &path))?;
        names.push(format!("{inner}/{}", entry.file_name().to_string_lossy()));
    }
    names.sort();
    Ok(names)
}

/// Binds a file of the folder by the hash of its bytes as they are now.
pub(crate) fn bind(folder: &Path, name: &str) -> Result<BoundFile, RecordError> {
    let path = folder.join(name);
    let sha256 = Hash::of_file(&path).map_err(RecordError::storage("read", &path))?;
    Ok(BoundFile {
        file: name.to_owned(),
        sha256,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_leads_out_of_the_folder_is_not_inside() {
        let folder = Path::new("s");
        for name in ["../x", "/etc/x", "a/../../x", "", "a\\..\\x"] {
            assert_eq!(inside(folder, name), None, "{name}");
        }
        assert_eq!(
            inside(folder, "clips/000001.wav"),
            Some(folder.join("clips/000001.wav"))
        );
    }

    #[test]
    fn the_second_to_open_is_told_who_was_first() {
        let folder = tempfile::tempdir().unwrap();
        let held = Lock::take(folder.path()).unwrap();
        assert!(Lock::is_held(folder.path()));
        let message = Lock::take(folder.path()).unwrap_err().to_string();
        let us = format!("(number {})", std::process::id());
        assert!(message.contains(&us), "{message}");
        drop(held);
        assert!(!Lock::is_held(folder.path()));
        Lock::take(folder.path()).unwrap();
    }

    #[test]
    fn tails_are_set_aside_under_names_still_free() {
        let folder = tempfile::tempdir().unwrap();
        let events = folder.path().join(EVENTS);
        for n in 1..=2 {
            fs::write(&events, b"good\nba").unwrap();
            let torn = set_aside_tail(folder.path(), b"good\nba", 5).unwrap();
            assert_eq!(torn.file, format!("session.jsonl.torn-{n}"));
            assert_eq!(fs::read(folder.path().join(&torn.file)).unwrap(), b"ba");
            assert_eq!(fs::read(&events).unwrap(), b"good\n");
        }
    }
}
