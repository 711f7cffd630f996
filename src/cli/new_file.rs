//! A file that an answer goes into: a new one, so that nothing is written over.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

use super::Failure;

/// Refuses a file that is there, and one among the files of the session that it is about.
///
/// # Errors
///
/// With what to do instead.
pub fn must_be_free(file: &Path, session: &Path) -> Result<(), Failure> {
    must_lie_outside(file, session)?;
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
pub fn must_lie_outside(file: &Path, session: &Path) -> Result<(), Failure> {
    let folder = match file.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let (folder, session) = (folder.canonicalize(), session.canonicalize());
    if let (Ok(folder), Ok(session)) = (folder, session)
        && folder.starts_with(&session)
    {
        return Err(Failure::input(format_args!(
            "`{}` lies in the session's folder, which holds its record and nothing else; choose \
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
    let mut options = OpenOptions::new();
    let made = options.write(true).create_new(true).open(file);
    let written = made.and_then(|mut made| made.write_all(bytes));
    written.map_err(|error| Failure::file("make", file, &error))
}
