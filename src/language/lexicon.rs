//! The words of a language, each with a small number.

use std::collections::HashMap;

/// The number of a word in its [`Lexicon`].
pub type WordId = u16;

/// The id of words the lexicon does not hold. No arc carries it.
pub(super) const UNKNOWN: WordId = WordId::MAX;

/// Stands where a word would: one value ends and another may begin. Nothing is said.
pub(super) const SEPARATOR: WordId = WordId::MAX - 1;

/// Words with their numbers, in order of first appearance.
#[derive(Debug, Clone, Default)]
pub(super) struct Lexicon {
    words: Vec<Box<str>>,
    short: ShortWords,
    long: HashMap<Box<str>, WordId>,
}

impl Lexicon {
    /// The word's number, new if need be. A word beyond what fits is [`UNKNOWN`].
    pub(super) fn intern(&mut self, word: &str) -> WordId {
        let known = self.id(word);
        if known != UNKNOWN || self.words.len() >= usize::from(SEPARATOR) {
            return known;
        }
        let id = self.words.len() as WordId;
        self.words.push(word.into());
        match Key::of(word) {
            Some(key) => self.short.insert(key, id),
            None => {
                self.long.insert(word.into(), id);
            }
        }
        id
    }

    pub(super) fn len(&self) -> usize {
        self.words.len()
    }

    pub(super) fn id(&self, word: &str) -> WordId {
        match Key::of(word) {
            Some(key) => self.short.get(key),
            None => self.long.get(word).copied().unwrap_or(UNKNOWN),
        }
    }

    /// The number of a word by its key.
    pub(super) fn id_by_key(&self, key: Key) -> WordId {
        self.short.get(key)
    }

    pub(super) fn word(&self, id: WordId) -> &str {
        &self.words[usize::from(id)]
    }
}

/// A word of up to 16 bytes as one number. Equal keys are equal words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Key(u128);

impl Key {
    const LONGEST: usize = 16;

    fn of(word: &str) -> Option<Key> {
        let mut bytes = [0; Key::LONGEST];
        bytes
            .get_mut(..word.len())?
            .copy_from_slice(word.as_bytes());
        (!word.is_empty()).then(|| Key(u128::from_le_bytes(bytes)))
    }

    /// The key of the bytes from `from` to the next blank, and how many they are; `None` where the
    /// word is longer than a key.
    #[inline]
    pub(super) fn before_blank(text: &[u8], from: usize) -> Option<(Key, usize)> {
        const EACH: u128 = u128::MAX / 255;
        const BLANKS: u128 = EACH * b' ' as u128;
        let rest = text.get(from..)?;
        let word = match (rest.first_chunk(), text.last_chunk()) {
            (Some(chunk), _) => u128::from_le_bytes(*chunk),
            // The end of a longer text: its last bytes, moved down, and blanks behind them.
            (None, Some(chunk)) if !rest.is_empty() => {
                let gone = 8 * (Key::LONGEST - rest.len());
                (u128::from_le_bytes(*chunk) >> gone) | (BLANKS << (128 - gone))
            }
            _ => {
                let mut padded = [b' '; Key::LONGEST];
                padded[..rest.len()].copy_from_slice(rest);
                u128::from_le_bytes(padded)
            }
        };
        // The lowest set bit marks the first byte that is a blank.
        let differs = word ^ BLANKS;
        let blanks = differs.wrapping_sub(EACH) & !differs & (EACH << 7);
        let length = (blanks.trailing_zeros() / 8) as usize;
        (length < Key::LONGEST).then(|| (Key(word & ((1 << (8 * length)) - 1)), length))
    }

    fn slot(self, slots: usize) -> usize {
        const MULTIPLIER: u64 = 0x9e37_79b9_7f4a_7c15;
        let folded = (self.0 as u64) ^ ((self.0 >> 64) as u64).rotate_left(29);
        let mixed = folded.wrapping_mul(MULTIPLIER);
        (mixed >> 32) as usize & (slots - 1)
    }
}

/// Short words in a table with open addressing: a look-up is one multiplication and mostly one
/// comparison of numbers. At most half full; a power of two in size.
#[derive(Debug, Clone, Default)]
struct ShortWords {
    slots: Vec<(Key, WordId)>,
    count: usize,
}

impl ShortWords {
    fn get(&self, key: Key) -> WordId {
        if self.slots.is_empty() {
            return UNKNOWN;
        }
        let mut at = key.slot(self.slots.len());
        loop {
            let (known, id) = self.slots[at];
            if known == key || known == Key::default() {
                return id;
            }
            at = (at + 1) & (self.slots.len() - 1);
        }
    }

    fn insert(&mut self, key: Key, id: WordId) {
        if self.slots.len() <= 2 * self.count {
            let larger =
                vec![(Key::default(), UNKNOWN); (4 * self.count).max(64).next_power_of_two()];
            for (key, id) in std::mem::replace(&mut self.slots, larger) {
                if key != Key::default() {
                    self.place(key, id);
                }
            }
        }
        self.place(key, id);
        self.count += 1;
    }

    fn place(&mut self, key: Key, id: WordId) {
        let mut at = key.slot(self.slots.len());
        while self.slots[at].0 != Key::default() {
            at = (at + 1) & (self.slots.len() - 1);
        }
        self.slots[at] = (key, id);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_any_length_keep_their_numbers() {
        let mut lexicon = Lexicon::default();
        let words: Vec<String> = (0..500)
            .map(|n| "w".repeat(n % 20) + &n.to_string())
            .collect();
        for (at, word) in words.iter().enumerate() {
            assert_eq!(usize::from(lexicon.intern(word)), at);
            assert_eq!(
                usize::from(lexicon.intern(word)),
                at,
                "the same word, the same number"
            );
        }
        for (at, word) in words.iter().enumerate() {
            assert_eq!(usize::from(lexicon.id(word)), at);
            assert_eq!(lexicon.word(at as WordId), word);
            let text = format!("{word} and more");
            match Key::before_blank(text.as_bytes(), 0) {
                Some((key, length)) => {
                    assert_eq!(length, word.len());
                    assert_eq!(usize::from(lexicon.id_by_key(key)), at);
                }
                None => assert!(word.len() >= Key::LONGEST),
            }
        }
        for word in &words {
            for before in ["", "before ", "a long way before "] {
                let text = format!("{before}{word}");
                if let Some((key, length)) = Key::before_blank(text.as_bytes(), before.len()) {
                    assert_eq!(length, word.len());
                    assert_eq!(lexicon.word(lexicon.id_by_key(key)), word);
                }
            }
        }
        for foreign in ["", "\0", "w", "a word that is in no lexicon"] {
            assert_eq!(lexicon.id(foreign), UNKNOWN);
        }
    }
}
