//! An HTML page printed to a PDF, by a Chromium that is there.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::{Failure, new_file};

/// Names under which it is found on the path.
const NAMES: [&str; 3] = ["chromium", "chromium-browser", "chrome"];

/// Prints a page into a file.
///
/// # Errors
///
/// There is no Chromium, or it does not print.
pub fn print(page: &str, to: &Path) -> Result<(), Failure> {
    let chromium = find().ok_or_else(|| {
        Failure::missing(
            "a PDF needs Chromium, and none is on the path; install `chromium`, or write the \
             report with `--format html` and print it to a PDF from any browser",
        )
    })?;
    let folder = tempfile::tempdir().map_err(Failure::input)?;
    let source = folder.path().join("report.html");
    fs::write(&source, page).map_err(|error| Failure::file("write", &source, &error))?;
    let made = folder.path().join("report.pdf");
    let output = printer(&chromium, folder.path())
        .arg(format!("--print-to-pdf={}", made.display()))
        .arg(&source)
        .output()
        .map_err(|error| Failure::file("start", &chromium, &error))?;
    if !made.is_file() {
        let said = String::from_utf8_lossy(&output.stderr);
        let last = said.lines().last().unwrap_or("it says nothing");
        return Err(Failure::missing(format_args!(
            "`{}` made no PDF: {last}; write the report with `--format html` and print it from \
             any browser",
            chromium.display()
        )));
    }
    let made = fs::read(&made).map_err(|error| Failure::file("read", &made, &error))?;
    new_file::write(to, &made)
}

/// Without a window, and with a profile of its own that is gone afterwards.
fn printer(chromium: &Path, folder: &Path) -> Command {
    let mut command = Command::new(chromium);
    command
        .args([
            "--headless",
            "--disable-gpu",
            "--no-pdf-header-footer",
            "--no-first-run",
        ])
        .arg(format!(
            "--user-data-dir={}",
            folder.join("profile").display()
        ));
    // Chromium shuts itself in only for a user who is not root. The page is our own, and its policy
    // forbids scripts and everything from elsewhere.
    if is_root() {
        command.arg("--no-sandbox");
    }
    command
}

#[cfg(unix)]
fn is_root() -> bool {
    use std::os::unix::fs::MetadataExt;
    fs::metadata("/proc/self").is_ok_and(|own| own.uid() == 0)
}

#[cfg(not(unix))]
fn is_root() -> bool {
    false
}

fn find() -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    let mut candidates = NAMES
        .iter()
        .flat_map(|name| folders.iter().map(move |f| f.join(name)));
    candidates.find(|candidate| candidate.is_file())
}
