//! The files of the repository, without what the build and the setup leave behind.

use std::fs;
use std::path::{Path, PathBuf};

/// One text file: its path from the project's folder, with `/`, and its content.
pub struct TextFile {
    pub path: String,
    pub content: String,
}

/// Folders that are ignored by git or hold no text of ours.
const NOT_OURS: [&str; 5] = ["target", "vendor", ".venv", ".git", "node_modules"];

/// Every text file of the repository, sorted by path.
pub fn all() -> Vec<TextFile> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    walk(root, &mut paths);
    paths.sort();
    let files = paths.iter().filter_map(|path| read(root, path));
    files.collect()
}

/// Every Rust file below a folder of the repository, or below its root with an empty name.
pub fn rust_below(folder: &str) -> Vec<TextFile> {
    let mut files = all();
    files.retain(|file| file.path.starts_with(folder) && file.path.ends_with(".rs"));
    assert!(!files.is_empty(), "no Rust file below `{folder}`");
    files
}

fn walk(folder: &Path, paths: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder of the repository") {
        let entry = entry.expect("an entry of the folder");
        let name = entry.file_name();
        let kind = entry.file_type().expect("the kind of an entry");
        let ours = !NOT_OURS.iter().any(|not_ours| name == *not_ours);
        match kind.is_dir() {
            true if ours => walk(&entry.path(), paths),
            false if ours => paths.push(entry.path()),
            _ => (),
        }
    }
}

/// `None` for audio and other files that are not text.
fn read(root: &Path, path: &Path) -> Option<TextFile> {
    let content = String::from_utf8(fs::read(path).expect("a file of the repository")).ok()?;
    let path = path.strip_prefix(root).expect("a path below the root");
    Some(TextFile {
        path: path.to_string_lossy().replace('\\', "/"),
        content,
    })
}
