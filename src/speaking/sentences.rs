//! Cuts what is to be said into small pieces, so that speech can end between two of them.

/// Longer pieces are cut at a comma where they have one.
const LONG: usize = 14;
/// No piece cut at a comma is shorter than this, for the sake of the melody.
const SHORT: usize = 4;

/// The sentences of a text, in order; long ones in parts. No word is lost or changed, and no piece
/// is empty.
pub fn split(text: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let mut rest = text.trim();
    while !rest.is_empty() {
        let end = sentence_end(rest);
        split_long(rest[..end].trim(), &mut pieces);
        rest = rest[end..].trim_start();
    }
    pieces
}

/// Where the first sentence ends, behind its mark.
fn sentence_end(text: &str) -> usize {
    let marks = text.char_indices().filter(|(_, c)| is_end_mark(*c));
    for (at, mark) in marks {
        let end = at + mark.len_utf8();
        let after = &text[end..];
        let next = after.trim_start().chars().next();
        let apart = after.starts_with(char::is_whitespace) || is_wide(mark);
        // A point before a small letter or a digit belongs to an abbreviation: "no. 4".
        let abbreviation = mark == '.' && next.is_some_and(|c| c.is_lowercase() || c.is_numeric());
        if apart && !abbreviation {
            return end;
        }
    }
    text.len()
}

fn is_end_mark(c: char) -> bool {
    matches!(c, '.' | '!' | '?' | ':' | ';') || is_wide(c)
}

/// Marks that need no blank behind them.
fn is_wide(c: char) -> bool {
    matches!(c, '。' | '！' | '？')
}

fn split_long<'a>(sentence: &'a str, pieces: &mut Vec<&'a str>) {
    match (words(sentence) > LONG)
        .then(|| best_comma(sentence))
        .flatten()
    {
        Some(comma) => {
            split_long(sentence[..comma].trim(), pieces);
            split_long(sentence[comma..].trim(), pieces);
        }
        None if sentence.is_empty() => {}
        None => pieces.push(sentence),
    }
}

/// The place behind the comma that is nearest to the middle and leaves no short piece.
fn best_comma(sentence: &str) -> Option<usize> {
    sentence
        .match_indices(", ")
        .map(|(at, _)| at + 1)
        .filter(|cut| words(&sentence[..*cut]) >= SHORT && words(&sentence[*cut..]) >= SHORT)
        .min_by_key(|cut| cut.abs_diff(sentence.len() / 2))
}

fn words(text: &str) -> usize {
    text.split_whitespace().count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn texts_are_cut_at_sentences_and_long_ones_at_commas() {
        let cases: [(&str, &[&str]); 8] = [
            ("", &[]),
            (" . ", &["."]),
            (
                "Warning. Hot surface! Is it cool?",
                &["Warning.", "Hot surface!", "Is it cool?"],
            ),
            (
                "Read 4.7 kilohms at no. 4 of it.",
                &["Read 4.7 kilohms at no. 4 of it."],
            ),
            ("I heard: two four five.", &["I heard:", "two four five."]),
            ("Yes, no, stop.", &["Yes, no, stop."]),
            (
                "Lock the main switch in the off position and hang your tag on it, then try to \
                 switch it on.",
                &[
                    "Lock the main switch in the off position and hang your tag on it,",
                    "then try to switch it on.",
                ],
            ),
            (
                "다음。 저항을 읽으십시오.",
                &["다음。", "저항을 읽으십시오."],
            ),
        ];
        for (text, pieces) in cases {
            assert_eq!(split(text), pieces, "{text}");
        }
    }

    proptest! {
        #[test]
        fn no_word_is_lost(text in "[a-zA-Z0-9 .,:;!?\u{e9}]{0,200}") {
            let pieces = split(&text);
            let found: Vec<&str> = pieces.iter().flat_map(|p| p.split_whitespace()).collect();
            let words: Vec<&str> = text.split_whitespace().collect();
            prop_assert_eq!(found, words);
            prop_assert!(pieces.iter().all(|p| !p.is_empty()));
        }

        #[test]
        fn any_text_is_cut_without_panic(text in "\\PC*") {
            split(&text);
        }
    }
}
