//! The files of a procedure: the one that was named, and those it calls, from the same folder.

use std::path::Path;

use super::{Failure, text_file};
use crate::procedure::{self, Library, Problem, ProcedureId, SourceFile};

/// A procedure with those it calls, and their files as they were read.
#[derive(Debug, Clone)]
pub struct ProcedureFiles {
    pub library: Library,
    /// The main one first.
    pub files: Vec<SourceFile>,
}

/// Everything that is wrong with a procedure's files.
pub enum Refused {
    /// A file cannot be read.
    File(Failure),
    /// They were read and are not a procedure.
    Problems(Vec<Problem>),
}

/// Reads a procedure and, as `<id>.yaml` from its folder, those it calls.
pub fn open(path: &Path) -> Result<ProcedureFiles, Refused> {
    let main = read(path).map_err(Refused::File)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let mut files = vec![main.clone()];
    let library = procedure::load(&main, |id| {
        let file = read_called(folder, id)?;
        files.push(file.clone());
        Some(file)
    })
    .map_err(Refused::Problems)?;
    Ok(ProcedureFiles { library, files })
}

/// As [`open`], where a procedure that is not sound ends the command.
///
/// # Errors
///
/// Names the first problem and how many more there are.
pub fn open_sound(path: &Path) -> Result<ProcedureFiles, Failure> {
    open(path).map_err(|refused| match refused {
        Refused::File(failure) => failure,
        Refused::Problems(problems) => Failure::input(first_of(path, &problems)),
    })
}

fn first_of(path: &Path, problems: &[Problem]) -> String {
    let path = path.display();
    match problems {
        [] => format!("`{path}` is not a procedure"),
        [only] => only.to_string(),
        [first, more @ ..] => format!(
            "{first} (and {} more: run `readback check {path}`)",
            more.len()
        ),
    }
}

/// A called procedure that is not there or cannot be read is told by the loader, with the place of
/// the call.
fn read_called(folder: &Path, id: &ProcedureId) -> Option<SourceFile> {
    read(&folder.join(format!("{id}.yaml"))).ok()
}

fn read(path: &Path) -> Result<SourceFile, Failure> {
    let text = text_file::read(path, text_file::BY_HAND)?;
    Ok(SourceFile {
        name: path.display().to_string(),
        text,
    })
}
