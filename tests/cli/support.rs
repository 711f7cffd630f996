//! One builder for every test of the built program.
//!
//! ```ignore
//! let folder = Folder::new().file("a.yaml", "id: a\n");
//! folder.run(["check", "a.yaml"]).exits(2).stdout("").stderr("error: ...\n");
//! ```
//!
//! A failed expectation shows the whole run. In what is compared, the path of the test's own
//! folder reads `[FOLDER]`.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

/// A new empty folder in which the program runs. Gone after the test.
pub struct Folder {
    folder: TempDir,
}

/// One finished run of the program, with the expectations that can be held against it.
pub struct Run {
    command: String,
    folder: PathBuf,
    output: Output,
}

impl Folder {
    pub fn new() -> Folder {
        Folder {
            folder: TempDir::new().expect("a temporary folder"),
        }
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Adds a file, with the folders it stands in.
    pub fn file(self, name: &str, content: impl AsRef<[u8]>) -> Folder {
        let path = self.path().join(name);
        let parent = path.parent().expect("a file stands in a folder");
        fs::create_dir_all(parent).expect("a folder for the file");
        fs::write(&path, content).expect("a file of the test");
        self
    }

    /// Runs the program here, with nothing on its stdin.
    pub fn run<I>(&self, arguments: I) -> Run
    where
        I: IntoIterator,
        I::Item: AsRef<OsStr>,
    {
        run_in(self.path(), arguments)
    }
}

/// Runs the program in the project's own folder, where `procedures/` and `audio-fixtures/` are.
pub fn readback<I>(arguments: I) -> Run
where
    I: IntoIterator,
    I::Item: AsRef<OsStr>,
{
    run_in(Path::new(env!("CARGO_MANIFEST_DIR")), arguments)
}

fn run_in<I>(folder: &Path, arguments: I) -> Run
where
    I: IntoIterator,
    I::Item: AsRef<OsStr>,
{
    let mut command = Command::new(env!("CARGO_BIN_EXE_readback"));
    command.args(arguments).current_dir(folder);
    command.env("COLUMNS", "100").stdin(Stdio::null());
    Run {
        command: format!("{command:?}"),
        folder: folder.to_owned(),
        output: command.output().expect("the program starts"),
    }
}

impl Run {
    /// The exit code is exactly this.
    #[track_caller]
    pub fn exits(self, code: i32) -> Run {
        let found = self.output.status.code();
        assert_eq!(found, Some(code), "exit code of {self}");
        self
    }

    /// Everything on stdout is exactly this.
    #[track_caller]
    pub fn stdout(self, expected: &str) -> Run {
        let found = self.read_stdout();
        self.compare("stdout", &found, expected)
    }

    /// Everything on stderr is exactly this.
    #[track_caller]
    pub fn stderr(self, expected: &str) -> Run {
        let found = self.read(&self.output.stderr);
        self.compare("stderr", &found, expected)
    }

    /// Stdout, for what exact text cannot say.
    pub fn read_stdout(&self) -> String {
        self.read(&self.output.stdout)
    }

    fn read(&self, bytes: &[u8]) -> String {
        let folder = self.folder.to_string_lossy();
        String::from_utf8_lossy(bytes).replace(folder.as_ref(), "[FOLDER]")
    }

    #[track_caller]
    fn compare(self, what: &str, found: &str, expected: &str) -> Run {
        assert!(
            found == expected,
            "{what} differs, expected:\n{expected}\nof {self}"
        );
        self
    }
}

impl std::fmt::Display for Run {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        writeln!(f, "{}", self.command)?;
        writeln!(f, "--- {}", self.output.status)?;
        writeln!(f, "--- stdout\n{}", self.read_stdout())?;
        writeln!(f, "--- stderr\n{}", self.read(&self.output.stderr))
    }
}

#[test]
fn files_stand_where_the_program_runs() {
    let folder = Folder::new().file("a/b.txt", "text");
    let content = fs::read_to_string(folder.path().join("a/b.txt")).expect("the file");
    assert_eq!(content, "text");
}
