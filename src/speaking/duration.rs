//! How long a sentence takes to be said: for the virtual clock of a replay, and for deadlines.

use std::time::Duration;

/// Before the first sound and after the last.
const EDGES_MS: u64 = 450;
/// A letter of an alphabet, on average.
const LETTER_MS: u64 = 64;
/// A sign that stands for a syllable, as in Korean.
const SYLLABLE_MS: u64 = 200;
/// A digit is said as a word of about four letters.
const DIGIT_MS: u64 = 4 * LETTER_MS;
/// The pause at a mark.
const MARK_MS: u64 = 120;

/// About how long a sentence takes at an ordinary rate (175 words a minute, the default of
/// `espeak-ng` by its manual).
///
/// The constants were fitted to `espeak-ng` 1.51 and `flite` 2.2 at their default rates; the
/// result is within a quarter of `espeak-ng` for the sentences of a procedure. The same sentence
/// always takes the same time.
pub fn estimate(sentence: &str) -> Duration {
    let said: u64 = sentence.chars().map(of_letter).sum();
    Duration::from_millis(EDGES_MS + said)
}

/// How long a voice may take with a sentence before it counts as silent: three times the estimate
/// and two seconds, for slow rates and busy machines.
pub fn deadline(sentence: &str) -> Duration {
    3 * estimate(sentence) + Duration::from_secs(2)
}

fn of_letter(c: char) -> u64 {
    match c {
        '.' | ',' | ':' | ';' | '!' | '?' | '。' => MARK_MS,
        _ if c.is_numeric() => DIGIT_MS,
        _ if is_syllable(c) => SYLLABLE_MS,
        _ if c.is_alphabetic() => LETTER_MS,
        _ => 0,
    }
}

/// Kana, Han and Hangul, by their blocks in Unicode.
fn is_syllable(c: char) -> bool {
    matches!(u32::from(c), 0x3040..=0x30FF | 0x3400..=0x9FFF | 0xAC00..=0xD7AF)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_and_syllables_take_longer_than_letters() {
        assert!(estimate("245") > estimate("abc"));
        assert!(estimate("다음") > estimate("ab"));
        assert_eq!(estimate("").as_millis(), 450);
    }
}
