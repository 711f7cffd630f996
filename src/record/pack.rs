//! A session in one file: a plain zip of its record, procedure, clips and signatures, with a
//! manifest of their hashes.
//!
//! Any program that reads zip files opens it, and what it gives is a session folder. Clips stay the
//! WAV files whose hashes the record holds, so that nothing need be decoded to check them. FLAC
//! would be smaller, but the encoder in pure Rust (flacenc) warns in its README that it "is
//! sometimes not lossless", and evidence must not depend on that.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

use serde::de::IgnoredAny;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use super::chain;
use super::folder::{self, CLIPS, EVENTS, PROCEDURE, TORN};
use super::line::{BoundFile, Hash};
use super::manifest::{MANIFEST, Manifest};
use super::signed::SIGNED;
use super::trouble::RecordError;
use super::verify::{bound_files, cleared_clips};

/// More files than any session has.
const MOST_FILES: usize = 200_000;
/// What a pack unpacks to at most: 4 GiB, which is more than a day of speech.
const LARGEST: u64 = 4 << 30;
/// However small a pack is, it may hold this much; beyond it, so many times its own size.
const SMALL: u64 = 64 << 20;
const TIMES_ITS_SIZE: u64 = 100;
/// The last record of a zip file with the longest comment it may have.
const LONGEST_END: u64 = 22 + 0xffff;

/// Writes a session into a new file. With `clips` false they are left out and the manifest names
/// them. Of a record that does not hold together every clip is packed.
///
/// # Errors
///
/// [`RecordError::InUse`] while the session is open, [`RecordError::Storage`] if something cannot
/// be read or written, or `to` is there already.
pub fn pack(session: &Path, to: &Path, clips: bool) -> Result<Manifest, RecordError> {
    if folder::Lock::is_held(session) {
        return Err(RecordError::InUse {
            folder: session.to_owned(),
            holder: String::new(),
        });
    }
    let bytes = folder::read_events(session)?;
    let chain = chain::follow::<IgnoredAny>(&bytes);
    let cleared = cleared_clips(&chain.lines);
    let is_clip = |bound: &BoundFile| bound.file.starts_with(CLIPS);
    // What an earlier pack left out is not there to be put in.
    let earlier = Manifest::of(session).ok().flatten();
    let earlier = earlier.as_ref().map(Manifest::left_out).unwrap_or_default();
    let gone = |bound: &BoundFile| {
        earlier.contains(bound.file.as_str()) && !session.join(&bound.file).exists()
    };
    let (left_out, bound): (Vec<BoundFile>, Vec<BoundFile>) = bound_files(&chain.lines)
        .filter(|bound| !cleared.contains(bound.file.as_str()))
        .cloned()
        .partition(|bound| is_clip(bound) && (!clips || gone(bound)));
    let signed = folder::names_in(session, SIGNED)?;
    let mut names: Vec<String> = vec![EVENTS.to_owned()];
    names.extend(bound.into_iter().map(|bound| bound.file));
    names.extend(signed);
    if clips && chain.end.is_some() {
        // Lines that do not hold together name the rest.
        names.extend(folder::clips_on_disk(session)?);
    }
    names.sort();
    names.dedup();
    let full = session
        .canonicalize()
        .unwrap_or_else(|_| session.to_owned());
    let mut manifest = Manifest {
        format: Manifest::FORMAT,
        session: full
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned(),
        lines: chain.lines.len() as u64,
        head: chain.head,
        files: Vec::new(),
        left_out,
    };
    let file = File::create_new(to).map_err(RecordError::storage("make", to))?;
    let written = write(session, &file, &names, &mut manifest);
    if written.is_err() {
        // Half a pack is none. What went wrong is told, not that this failed too.
        let _ = std::fs::remove_file(to);
    }
    written.map(|()| manifest)
}

fn write(
    session: &Path,
    file: &File,
    names: &[String],
    manifest: &mut Manifest,
) -> Result<(), RecordError> {
    let mut zip = ZipWriter::new(file);
    for name in names {
        // What is missing or lies elsewhere is for `verify` to say, of the pack as of the session.
        let Some(path) = folder::inside(session, name).filter(|path| path.is_file()) else {
            continue;
        };
        let bytes = folder::read_some(&path)?;
        put(&mut zip, name, &bytes).map_err(RecordError::storage("pack", &path))?;
        manifest.files.push(BoundFile {
            file: name.clone(),
            sha256: Hash::of(&bytes),
        });
    }
    let json = serde_json::to_vec_pretty(manifest).map_err(|error| RecordError::Unwritable {
        what: error.to_string(),
    })?;
    put(&mut zip, MANIFEST, &json).map_err(RecordError::storage("pack", session))?;
    let ended = zip.finish().map_err(io::Error::other);
    let synced = ended.and_then(File::sync_all);
    synced.map_err(RecordError::storage("pack", session))
}

fn put(zip: &mut ZipWriter<&File>, name: &str, bytes: &[u8]) -> io::Result<()> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .unix_permissions(0o644);
    zip.start_file(name, options).map_err(io::Error::other)?;
    zip.write_all(bytes)
}

/// Unpacks a session into an empty folder. Nothing is written outside of it, no link is made, and a
/// pack that unpacks to far more than its size is given up. A file in it that was damaged is unpacked
/// as far as that goes, for [`verify`](super::verify) to name.
///
/// # Errors
///
/// [`RecordError::NoPack`], or [`RecordError::BadPack`] with the entry that no pack of this program
/// has.
pub fn unpack(pack: &Path, into: &Path) -> Result<(), RecordError> {
    let bad = |what: String| RecordError::BadPack {
        file: pack.to_owned(),
        what,
    };
    let file = File::open(pack).map_err(RecordError::storage("open", pack))?;
    let size = file
        .metadata()
        .map_err(RecordError::storage("read", pack))?
        .len();
    let mut zip = ZipArchive::new(file).map_err(|_| RecordError::NoPack {
        file: pack.to_owned(),
    })?;
    if zip.len() > MOST_FILES {
        return Err(bad(format!("holds {} files", zip.len())));
    }
    if entries(pack).is_some_and(|entries| entries != zip.len()) {
        return Err(bad("holds two files of one name".to_owned()));
    }
    let mut room = size.saturating_mul(TIMES_ITS_SIZE).clamp(SMALL, LARGEST);
    for index in 0..zip.len() {
        let damaged = || bad(format!("is damaged where its file {} begins", index + 1));
        let mut entry = zip.by_index(index).map_err(|_| damaged())?;
        let name = entry.name().map_err(|_| damaged())?.into_owned();
        if entry.is_dir() {
            continue;
        }
        let path = place(into, &name)
            .filter(|_| entry.is_file() && !entry.encrypted())
            .ok_or_else(|| bad(format!("holds `{}`", name.escape_debug())))?;
        if let Some(parent) = path.parent() {
            folder::make_folder(parent)?;
        }
        let mut to = File::create_new(&path)
            .map_err(|_| bad(format!("holds `{}` twice", name.escape_debug())))?;
        let copied = match io::copy(&mut entry.by_ref().take(room + 1), &mut to) {
            Ok(copied) => copied,
            // What is in the pack was changed: what came before the fault has been written.
            Err(error) if is_damage(&error) => to
                .metadata()
                .map_err(RecordError::storage("read", &path))?
                .len(),
            Err(error) => return Err(RecordError::storage("unpack", &path)(error)),
        };
        room = room
            .checked_sub(copied)
            .ok_or_else(|| bad("unpacks to far more than a session".to_owned()))?;
    }
    Ok(())
}

/// How many files the end of a zip file counts; the reader keeps one of each name. `None` where
/// there are too many to be counted there (APPNOTE.TXT 4.3.16: the number stands 10 bytes into the
/// last record, in two bytes).
fn entries(pack: &Path) -> Option<usize> {
    let mut file = File::open(pack).ok()?;
    let size = file.metadata().ok()?.len();
    file.seek(SeekFrom::Start(size.saturating_sub(LONGEST_END)))
        .ok()?;
    let mut end = Vec::new();
    file.take(LONGEST_END).read_to_end(&mut end).ok()?;
    let begins = end.windows(4).rposition(|bytes| bytes == b"PK\x05\x06")?;
    let count = end.get(begins + 10..begins + 12)?;
    let count = u16::from_le_bytes([count[0], count[1]]);
    (count != u16::MAX).then_some(usize::from(count))
}

/// How the bytes of a file in a pack fail that do not unpack, or not to what their checksum says.
fn is_damage(error: &io::Error) -> bool {
    use io::ErrorKind as Kind;
    matches!(
        error.kind(),
        Kind::InvalidData | Kind::InvalidInput | Kind::UnexpectedEof
    )
}

/// Where an entry goes; `None` for what no pack holds.
fn place(into: &Path, name: &str) -> Option<std::path::PathBuf> {
    let (folder, plain) = name.split_once('/').unwrap_or(("", name));
    let ours = match folder {
        "" => plain == EVENTS || plain == MANIFEST || plain.starts_with(TORN),
        CLIPS | SIGNED => !plain.contains('/'),
        PROCEDURE => true,
        _ => false,
    };
    let odd = |letter: char| letter.is_control() || matches!(letter, ':' | '\\');
    // `a/./b` and `a//b` are other names for `a/b`.
    let plain = name.split('/').all(|part| !matches!(part, "" | "."));
    folder::inside(into, name).filter(|_| ours && plain && !name.contains(odd))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_files_of_a_session_have_a_place() {
        let into = Path::new("s");
        for name in [
            "session.jsonl",
            "manifest.json",
            "session.jsonl.torn-1",
            "clips/000001.wav",
            "procedure/a.yaml",
            "signed/1.sig",
        ] {
            assert_eq!(place(into, name), Some(into.join(name)));
        }
        for name in [
            "../session.jsonl",
            "/etc/passwd",
            "clips/../../x",
            "clips/a/b.wav",
            "clips\\x.wav",
            "procedure/../../x",
            "procedure//a.yaml",
            "procedure/./a.yaml",
            "procedure/a:b",
            "procedure/a\u{1b}[2J",
            "lock",
            "other.txt",
            "",
            "clips/",
        ] {
            assert_eq!(place(into, name), None, "{name}");
        }
    }
}
