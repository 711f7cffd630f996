//! A file that an answer goes into: a new one, so that nothing is written over.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

use super::Failure;

/// Refuses a file that is there, and one among the files of a session.
///
/// # Errors
///
/// With what to do instead.
pub fn must_be_free(file: &Path) -> Result<(), Failure> {
    must_lie_outside(file)?;
    match file.symlink_metadata() {
        Ok(_) => Err(Failure::file(
            "make",
            file,
            &std::io::ErrorKind::AlreadyExists.into(),
        )),
        Err(_) => Ok(()),
    }
}

/// Refuses a file among those of a session.
///
/// # Errors
///
/// With what to do instead.
pub fn must_lie_outside(file: &Path) -> Result<(), Failure> {
    let folder = match file.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let mut around = folder.ancestors();
    if around.any(|folder| folder.join("session.jsonl").exists()) {
        return Err(Failure::input(format_args!(
            "`{}` lies in a session's folder, which holds its record and nothing else; choose \
             another folder",
            file.display()
        )));
    }
    Ok(())
}

/// Writes a new file.
///
/// # Errors
///
/// It is there already, or cannot be written.
pub fn write(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_by(&mut OpenOptions::new(), file, bytes)
}

/// The same, from the first moment for its owner only.
///
/// # Errors
///
/// As [`write`].
pub fn write_secret(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let mut options = OpenOptions::new();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    write_by(&mut options, file, bytes)
}

fn write_by(options: &mut OpenOptions, file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let made = options.write(true).create_new(true).open(file);
    let written = made.and_then(|mut made| {
        made.write_all(bytes)?;
        made.sync_all()
    });
    written.map_err(|error| Failure::file("make", file, &error))
}
