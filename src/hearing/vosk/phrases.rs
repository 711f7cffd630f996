//! What may be handed to the Vosk library as a grammar: it trusts its caller, so this does not.

use std::collections::BTreeSet;

/// The word for speech that is in no phrase, in models that have one.
pub const OTHER_TALK: &str = "[unk]";

/// Refuses what would crash the library: no phrase at all, and text that breaks out of the quoted
/// list in which phrases are handed over. The error says which.
pub fn check(phrases: &[String]) -> Result<(), String> {
    if phrases.is_empty() {
        return Err("it has no phrase".into());
    }
    for phrase in phrases {
        if phrase.trim().is_empty() {
            return Err("it has an empty phrase".into());
        }
        if let Some(unsafe_character) = phrase.chars().find(|c| breaks_out(*c)) {
            return Err(format!(
                "phrase `{}` holds {unsafe_character:?}, expected words and blanks only",
                phrase.escape_debug()
            ));
        }
    }
    Ok(())
}

fn breaks_out(character: char) -> bool {
    matches!(character, '"' | '\\') || character.is_control()
}

/// Each word of the phrases that the model does not know, once, in alphabetical order.
pub fn unknown_words(phrases: &[String], mut knows: impl FnMut(&str) -> bool) -> Vec<String> {
    let words: BTreeSet<&str> = phrases.iter().flat_map(|p| p.split_whitespace()).collect();
    let unknown = words.into_iter().filter(|word| !knows(word));
    unknown.map(str::to_owned).collect()
}

/// The phrases that have none of these words, which are in alphabetical order.
pub fn without(mut phrases: Vec<String>, words: &[String]) -> Vec<String> {
    let has = |word: &str| words.binary_search_by(|w| w.as_str().cmp(word)).is_ok();
    phrases.retain(|phrase| !phrase.split_whitespace().any(has));
    phrases
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(phrases: &[&str]) -> String {
        let phrases: Vec<String> = phrases.iter().map(|p| (*p).to_owned()).collect();
        check(&phrases).unwrap_err()
    }

    #[test]
    fn what_crashes_the_library_does_not_reach_it() {
        assert_eq!(refused(&[]), "it has no phrase");
        assert_eq!(refused(&["next", " "]), "it has an empty phrase");
        assert_eq!(
            refused(&["next \"step"]),
            "phrase `next \\\"step` holds '\"', expected words and blanks only"
        );
        assert!(refused(&["a\\b"]).contains("holds '\\\\'"));
        assert!(refused(&["a\0b"]).contains("holds '\\0'"));
        assert!(check(&["go back".into(), "다음".into()]).is_ok());
    }

    #[test]
    fn unknown_words_are_named_once_and_their_phrases_left_out() {
        let phrases = ["five amps", "two amps", "two"].map(str::to_owned).to_vec();
        let unknown = unknown_words(&phrases, |word| word != "amps");
        assert_eq!(unknown, ["amps"]);
        assert_eq!(without(phrases, &unknown), ["two"]);
    }
}
