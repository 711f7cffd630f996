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

/// A word of up to 16 bytes as two numbers. Equal keys are equal words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Key(u64, u64);

/// Eight blanks, and the lowest and the highest bit of every byte.
const BLANKS: u64 = LOWEST * b' ' as u64;
const LOWEST: u64 = u64::MAX / 255;
const HIGHEST: u64 = LOWEST << 7;

impl Key {
    fn of(word: &str) -> Option<Key> {
        let mut bytes = [[0; 8]; 2];
        let padded = bytes.as_flattened_mut().get_mut(..word.len())?;
        padded.copy_from_slice(word.as_bytes());
        let [first, second] = bytes.map(u64::from_le_bytes);
        (!word.is_empty()).then_some(Key(first, second))
    }

    /// The key of the bytes from `from` to the next blank, and how many they are; `None` from 16
    /// bytes on.
    #[inline]
    pub(super) fn before_blank(text: &[u8], from: usize) -> Option<(Key, usize)> {
        let first = eight_bytes(text, from);
        if let Some((word, length)) = cut_at_blank(first) {
            return Some((Key(word, 0), length));
        }
        let (word, length) = cut_at_blank(eight_bytes(text, from + 8))?;
        Some((Key(first, word), length + 8))
    }

    fn slot(self, slots: usize) -> usize {
        const MULTIPLIER: u64 = 0x9e37_79b9_7f4a_7c15;
        let mixed = (self.0 ^ self.1.rotate_left(29)).wrapping_mul(MULTIPLIER);
        (mixed >> 32) as usize & (slots - 1)
    }
}

/// The bytes from `from` on, with blanks behind the end of the text.
#[inline]
fn eight_bytes(text: &[u8], from: usize) -> u64 {
    let rest = text.get(from..).unwrap_or_default();
    match (rest.first_chunk(), text.last_chunk()) {
        (Some(bytes), _) => u64::from_le_bytes(*bytes),
        (None, _) if rest.is_empty() => BLANKS,
        (None, Some(last)) => {
            let gone = 8 * (8 - rest.len());
            u64::from_le_bytes(*last) >> gone | BLANKS << (64 - gone)
        }
        (None, None) => {
            let mut padded = [b' '; 8];
            padded[..rest.len()].copy_from_slice(rest);
            u64::from_le_bytes(padded)
        }
    }
}

/// The bytes in front of the first blank and how many they are, where there is a blank.
#[inline]
fn cut_at_blank(bytes: u64) -> Option<(u64, usize)> {
    let differs = bytes ^ BLANKS;
    // The lowest bit set here marks the first byte that is a blank.
    let blanks = differs.wrapping_sub(LOWEST) & !differs & HIGHEST;
    let first = (blanks & blanks.wrapping_neg()) >> 7;
    (first != 0).then(|| (bytes & (first - 1), first.trailing_zeros() as usize / 8))
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
                None => assert!(word.len() >= 16),
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
