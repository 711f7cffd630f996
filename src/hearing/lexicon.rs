//! Pronunciations of trade words that an engine's own dictionary lacks.

use crate::language::bundled_file;

/// Words with their phones, in the order of the file. Phones are those of ARPAbet without stress
/// marks, as the CMU pronouncing dictionary writes them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lexicon {
    entries: Vec<(String, String)>,
}

/// A line of a lexicon file that is not `word PHONE PHONE ...`.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}: found `{found}`, expected a word and its phones, such as `amps AE M P S`")]
pub struct LexiconError {
    pub file: String,
    pub line: usize,
    pub found: String,
}

impl Lexicon {
    /// The lexicon that comes with a language; empty where it has none.
    ///
    /// # Errors
    ///
    /// The first line of the file that is not an entry.
    pub fn bundled(locale: &str) -> Result<Lexicon, LexiconError> {
        let bundled = bundled_file(locale, "lexicon.txt");
        bundled.map_or(Ok(Lexicon::default()), |(file, text)| {
            Lexicon::parse(&format!("grammars/{file}"), text)
        })
    }

    /// Reads a lexicon: one `word PHONE PHONE ...` a line; empty lines and what follows `#` are
    /// skipped.
    ///
    /// # Errors
    ///
    /// The first line that is not an entry.
    pub fn parse(file: &str, text: &str) -> Result<Lexicon, LexiconError> {
        let mut entries = Vec::new();
        for (number, line) in numbered_lines(text) {
            entries.push(entry(line).ok_or_else(|| LexiconError {
                file: file.to_owned(),
                line: number,
                found: line.to_owned(),
            })?);
        }
        Ok(Lexicon { entries })
    }

    /// Word and phones of each entry.
    pub fn entries(&self) -> impl Iterator<Item = (&str, &str)> {
        self.entries.iter().map(|(w, p)| (w.as_str(), p.as_str()))
    }
}

/// The lines of a file that say something, without remarks behind `#`, and their numbers from 1.
pub(super) fn numbered_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let lines = text.lines().map(|line| {
        let said = line.split('#').next().unwrap_or_default();
        said.trim()
    });
    (1..).zip(lines).filter(|(_, line)| !line.is_empty())
}

fn entry(line: &str) -> Option<(String, String)> {
    let (word, phones) = line.split_once(char::is_whitespace)?;
    let phones: Vec<&str> = phones.split_whitespace().collect();
    let plain = |p: &&str| p.bytes().all(|b| b.is_ascii_uppercase());
    phones
        .iter()
        .all(plain)
        .then(|| (word.to_owned(), phones.join(" ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_keep_their_order_and_comments_go() {
        let lexicon = Lexicon::parse("x", "# trade\namps  AE M  P S # plural\n\nohms OW M Z\n");
        let lexicon = lexicon.unwrap();
        let entries: Vec<_> = lexicon.entries().collect();
        assert_eq!(entries, [("amps", "AE M P S"), ("ohms", "OW M Z")]);
    }

    #[test]
    fn a_line_without_phones_is_named() {
        let wrong = |text: &str| Lexicon::parse("lexicon.txt", text).unwrap_err().to_string();
        assert_eq!(
            wrong("amps AE M P S\nohms\n"),
            "lexicon.txt:2: found `ohms`, expected a word and its phones, such as `amps AE M P S`"
        );
        assert_eq!(
            wrong("ohms OW1 M Z"),
            "lexicon.txt:1: found `ohms OW1 M Z`, expected a word and its phones, such as `amps AE M P S`"
        );
    }

    #[test]
    fn the_bundled_lexicons_read() {
        assert!(Lexicon::bundled("en-US").unwrap().entries().count() > 20);
        assert_eq!(Lexicon::bundled("ko-KR"), Ok(Lexicon::default()));
    }
}
