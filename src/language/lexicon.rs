//! The words of a language, each with a small number.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

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
    ids: HashMap<Box<str>, WordId, BuildHasherDefault<WordHasher>>,
}

impl Lexicon {
    /// The word's number, new if need be. A word beyond what fits is [`UNKNOWN`].
    pub(super) fn intern(&mut self, word: &str) -> WordId {
        if let Some(id) = self.ids.get(word) {
            return *id;
        }
        let Some(id) = WordId::try_from(self.words.len())
            .ok()
            .filter(|id| *id < SEPARATOR)
        else {
            return UNKNOWN;
        };
        self.words.push(word.into());
        self.ids.insert(word.into(), id);
        id
    }

    pub(super) fn len(&self) -> usize {
        self.words.len()
    }

    pub(super) fn id(&self, word: &str) -> WordId {
        self.ids.get(word).copied().unwrap_or(UNKNOWN)
    }

    pub(super) fn word(&self, id: WordId) -> &str {
        &self.words[usize::from(id)]
    }
}

/// Words are short and come from our own files: a multiply per eight bytes is enough.
#[derive(Debug, Clone, Copy, Default)]
struct WordHasher(u64);

const MULTIPLIER: u64 = 0x9e37_79b9_7f4a_7c15;

impl WordHasher {
    fn add(&mut self, eight: u64) {
        self.0 = (self.0.rotate_left(5) ^ eight).wrapping_mul(MULTIPLIER);
    }
}

impl Hasher for WordHasher {
    fn write(&mut self, bytes: &[u8]) {
        let (eights, rest) = bytes.as_chunks::<8>();
        for eight in eights {
            self.add(u64::from_le_bytes(*eight));
        }
        let rest = rest
            .iter()
            .fold(1, |sum, byte| (sum << 8) | u64::from(*byte));
        self.add(rest);
    }

    fn write_u8(&mut self, _: u8) {}

    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 32)
    }
}
