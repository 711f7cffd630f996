//! Text that the user names: a file or stdin, never larger than what it can be meant for.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use super::Failure;

/// A procedure, a job, a key: written by hand.
pub const BY_HAND: u64 = 1 << 20;
/// A table, a script, a manifest: written by a program.
pub const BY_PROGRAM: u64 = 16 << 20;

/// Reads a file of at most `largest` bytes.
///
/// # Errors
///
/// It cannot be read, is larger, or is no UTF-8.
pub fn read(path: &Path, largest: u64) -> Result<String, Failure> {
    let file = File::open(path).map_err(|error| Failure::file("read", path, &error))?;
    match read_some(file, largest) {
        Ok(Some(text)) => Ok(text),
        Ok(None) => Err(too_large(&format!("`{}`", path.display()), largest)),
        Err(error) => Err(Failure::file("read", path, &error)),
    }
}

/// Reads stdin to its end, [`BY_PROGRAM`] at most.
///
/// # Errors
///
/// As [`read`].
pub fn read_stdin() -> Result<String, Failure> {
    match read_some(io::stdin(), BY_PROGRAM) {
        Ok(Some(text)) => Ok(text),
        Ok(None) => Err(too_large("stdin", BY_PROGRAM)),
        Err(error) => Err(Failure::input(format_args!("cannot read stdin: {error}"))),
    }
}

/// `None` where there is more.
fn read_some(from: impl Read, largest: u64) -> io::Result<Option<String>> {
    let mut bytes = Vec::new();
    from.take(largest + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > largest {
        return Ok(None);
    }
    let text = String::from_utf8(bytes);
    text.map(Some)
        .map_err(|error| io::Error::new(io::ErrorKind::InvalidData, error.utf8_error()))
}

fn too_large(name: &str, largest: u64) -> Failure {
    Failure::input(format_args!(
        "{name} has more than {largest} bytes, which nothing of its kind has; name another file"
    ))
}
