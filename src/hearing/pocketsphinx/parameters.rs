//! The acoustic model's own `feat.params`, which silently overrides what a program asks for.

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// What every model must say: normalization over the utterance alone, so that what is heard never
/// depends on what was heard before, and noise taken out.
const WANTED: [(&str, &str); 2] = [("-cmn", "batch"), ("-remove_noise", "yes")];

/// A parameter file that says what is wanted, for as long as this value lives.
pub struct Parameters {
    path: PathBuf,
    ours: bool,
}

impl Parameters {
    /// The model's own file where it says what is wanted, otherwise a corrected copy of it.
    ///
    /// # Errors
    ///
    /// The file cannot be read, or a copy not be written to the folder for temporary files.
    pub fn of(acoustic_model: &Path) -> io::Result<Parameters> {
        let path = acoustic_model.join("feat.params");
        let text = fs::read_to_string(&path)?;
        match corrected(&text) {
            None => Ok(Parameters { path, ours: false }),
            Some(text) => Ok(Parameters {
                path: write_copy(&text)?,
                ours: true,
            }),
        }
    }

    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for Parameters {
    fn drop(&mut self) {
        if self.ours {
            // A copy left behind in the folder for temporary files does no harm.
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// The text with the wanted parameters, `None` where it has them already.
fn corrected(text: &str) -> Option<String> {
    let value = |name: &str| {
        let mut words = text
            .split_whitespace()
            .skip_while(move |word| *word != name);
        words.nth(1)
    };
    if WANTED
        .iter()
        .all(|(name, wanted)| value(name) == Some(wanted))
    {
        return None;
    }
    let is_ours = |line: &&str| {
        let name = line.split_whitespace().next().unwrap_or_default();
        WANTED.iter().any(|(wanted, _)| *wanted == name)
    };
    let mut lines: Vec<String> = text
        .lines()
        .filter(|l| !is_ours(l))
        .map(Into::into)
        .collect();
    lines.extend(WANTED.iter().map(|(name, value)| format!("{name} {value}")));
    Some(lines.join("\n") + "\n")
}

fn write_copy(text: &str) -> io::Result<PathBuf> {
    static COPIES: AtomicU32 = AtomicU32::new(0);
    let number = COPIES.fetch_add(1, Ordering::Relaxed);
    let name = format!("readback-{}-{number}.feat.params", std::process::id());
    let path = std::env::temp_dir().join(name);
    let mut file = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&path)?;
    file.write_all(text.as_bytes())?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_model_that_says_what_is_wanted_is_left_alone() {
        assert_eq!(
            corrected("-lowerf 130\n-cmn batch\n-remove_noise yes\n"),
            None
        );
    }

    #[test]
    fn live_normalization_is_replaced_and_the_rest_kept() {
        let text = "-lowerf 130\n-cmn live\n-cmninit 40,3,-1\n-model ptm\n";
        assert_eq!(
            corrected(text).unwrap(),
            "-lowerf 130\n-cmninit 40,3,-1\n-model ptm\n-cmn batch\n-remove_noise yes\n"
        );
    }

    #[test]
    fn a_copy_lasts_as_long_as_it_is_needed() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("feat.params"), "-cmn live\n").unwrap();
        let parameters = Parameters::of(folder.path()).unwrap();
        let copy = parameters.path().to_owned();
        let text = fs::read_to_string(&copy).unwrap();
        assert_eq!(text, "-cmn batch\n-remove_noise yes\n");
        drop(parameters);
        assert!(!copy.exists());
    }
}
