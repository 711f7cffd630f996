//! The ways to write words that are not the words themselves, from `written.txt` of a language.

use std::collections::HashMap;

use include_dir::{Dir, include_dir};

static GRAMMARS: Dir = include_dir!("$CARGO_MANIFEST_DIR/grammars");

/// The ways to write words that are not the words themselves.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ways {
    pub(super) of_words: HashMap<String, Vec<String>>,
}

/// A line of a file of ways that is not a word and at least one way.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}: found `{found}`, expected a word and how it is written, such as `two 2`")]
pub struct WaysError {
    pub file: String,
    pub line: usize,
    pub found: String,
}

impl Ways {
    /// The ways that come with a language; none where it has no file of them.
    ///
    /// # Errors
    ///
    /// The first line of the file that has no way.
    pub fn bundled(locale: &str) -> Result<Ways, WaysError> {
        let file = format!("{locale}/written.txt");
        match GRAMMARS.get_file(&file).and_then(|f| f.contents_utf8()) {
            Some(text) => Ways::parse(&format!("grammars/{file}"), text),
            None => Ok(Ways::default()),
        }
    }

    /// Reads a word and its ways from each line; empty lines and what follows `#` are skipped.
    ///
    /// # Errors
    ///
    /// The first line that has no way.
    pub fn parse(file: &str, text: &str) -> Result<Ways, WaysError> {
        let mut ways = Ways::default();
        for (index, line) in text.lines().enumerate() {
            let line = line.split('#').next().unwrap_or_default().trim();
            let mut words = line.split_whitespace().map(str::to_owned);
            let Some(word) = words.next() else {
                continue;
            };
            let of_word = ways.of_words.entry(word).or_default();
            let known = of_word.len();
            of_word.extend(words);
            if of_word.len() == known {
                return Err(WaysError {
                    file: file.to_owned(),
                    line: index + 1,
                    found: line.to_owned(),
                });
            }
        }
        Ok(ways)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_without_a_way_is_told() {
        let found = Ways::parse("written.txt", "# digits\ntwo 2\nthree").unwrap_err();
        assert_eq!(
            found.to_string(),
            "written.txt:3: found `three`, expected a word and how it is written, such as `two 2`"
        );
    }
}
