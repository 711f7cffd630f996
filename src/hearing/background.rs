//! Common words of talk that is not meant for us: speech to us must fit better than they do.

use crate::language::bundled_file;

/// The words that come with a language, in the order of their file; none where it has none.
pub fn words(locale: &str) -> Vec<&'static str> {
    let text = bundled_file(locale, "background.txt").map_or("", |(_, text)| text);
    let words = |line: &'static str| line.split('#').next().unwrap_or(line).split_whitespace();
    text.lines().flat_map(words).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_language_has_words_or_none() {
        let english = words("en-US");
        assert!(english.len() > 150, "{english:?}");
        assert!(english.contains(&"people") && !english.contains(&"#"));
        assert_eq!(words("ko-KR"), [""; 0]);
    }
}
