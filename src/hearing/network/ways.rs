//! The ways to write words that are not the words themselves, from `written.txt` of a language.

use std::collections::HashMap;

use crate::hearing::lexicon::numbered_lines;
use crate::language::bundled_file;

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
        let bundled = bundled_file(locale, "written.txt");
        bundled.map_or(Ok(Ways::default()), |(file, text)| {
            Ways::parse(&format!("grammars/{file}"), text)
        })
    }

    /// Reads a word and its ways from each line; empty lines and what follows `#` are skipped.
    ///
    /// # Errors
    ///
    /// The first line that has no way.
    pub fn parse(file: &str, text: &str) -> Result<Ways, WaysError> {
        let mut ways = Ways::default();
        for (number, line) in numbered_lines(text) {
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
                    line: number,
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
