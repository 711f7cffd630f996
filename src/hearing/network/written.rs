//! What may be said, as a network may write it: the word automaton as an automaton of bytes.
//!
//! A word is written as itself, in any capitals and with something between it and its neighbors,
//! or in one of the ways of the language's `written.txt` (`2`, `kΩ`), which may follow one another
//! directly. Behind the last word a mark may stand. Digits do not go on apart behind round ones: who
//! says "seventy" and, after a moment, "one", is written `70 1` and does not mean 701. Every text this
//! automaton takes is read back to words of the grammar by [`Speech::words`].

use std::collections::BTreeMap;
use std::ops::Range;

use super::ways::Ways;
use crate::language::Automaton;

/// A way to write a word.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Way {
    word: Box<str>,
    bytes: Box<[u8]>,
    /// The word itself, in any capitals.
    plain: bool,
    /// The word is also written as a digit.
    digit: bool,
}

/// A word that may follow: how it is written, and the state it leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Exit {
    way: u32,
    to: u32,
}

/// Where a text stands in the grammar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Place {
    Between {
        state: u32,
        gap: Gap,
        /// The last word was a zero at the end of several digits.
        round: bool,
    },
    Within {
        way: u32,
        at: u8,
        to: u32,
    },
}

/// What was written since the last word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Gap {
    /// Nothing was written yet.
    Start,
    /// Nothing, behind a word as itself.
    Apart,
    /// Nothing, behind one of its other ways.
    Joined,
    /// A comma behind one of its other ways, as in `1,700`.
    JoinedComma,
    Comma,
    /// Full stops.
    Dot,
    /// A word must follow.
    Open,
    /// Nothing may follow.
    Closed,
}

/// What may be said, as it may be written.
#[derive(Debug)]
pub struct Speech {
    ways: Vec<Way>,
    /// For each state of the grammar.
    exits: Vec<Vec<Exit>>,
    finals: Vec<bool>,
}

/// All places where a text may stand.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Places(Box<[Place]>);

impl Speech {
    pub fn of(grammar: &Automaton, ways: &Ways) -> Speech {
        let mut speech = Speech {
            ways: Vec::new(),
            exits: Vec::new(),
            finals: Vec::new(),
        };
        let mut of_words: BTreeMap<&str, Range<u32>> = BTreeMap::new();
        for word in grammar.words() {
            let first = speech.ways.len() as u32;
            speech.add_ways(word, ways);
            of_words.insert(word, first..speech.ways.len() as u32);
        }
        for state in 0..grammar.state_count() {
            let exits = grammar.arcs(state).flat_map(|arc| {
                let of_word = of_words.get(arc.word).cloned().unwrap_or_default();
                of_word.map(move |way| Exit { way, to: arc.to })
            });
            let mut exits: Vec<Exit> = exits.collect();
            exits.sort_unstable();
            exits.dedup();
            speech.exits.push(exits);
            speech.finals.push(grammar.is_final(state));
        }
        speech
    }

    fn add_ways(&mut self, word: &str, ways: &Ways) {
        let plain = (word.to_lowercase(), true);
        let others = ways.of_words.get(word).into_iter().flatten();
        let others = others.map(|way| (way.clone(), false));
        let is_digit = |way: &String| matches!(way.as_bytes(), [b'0'..=b'9']);
        let digit = others.clone().any(|(way, _)| is_digit(&way));
        for (text, plain) in [plain].into_iter().chain(others) {
            self.ways.push(Way {
                word: word.into(),
                bytes: text.into_bytes().into(),
                plain,
                digit,
            });
        }
    }

    /// Where every text begins.
    pub fn start(&self) -> Places {
        let start = Place::Between {
            state: 0,
            gap: Gap::Start,
            round: false,
        };
        Places([start].into())
    }

    /// Where a byte leads; `None` where it may not stand.
    pub fn step(&self, places: &Places, byte: u8) -> Option<Places> {
        let mut next = Vec::new();
        for place in &places.0 {
            self.step_from(*place, byte, |place, _| next.push(place));
        }
        next.sort_unstable();
        next.dedup();
        (!next.is_empty()).then(|| Places(next.into()))
    }

    /// Whether a text may end here.
    pub fn may_end(&self, places: &Places) -> bool {
        places.0.iter().any(|place| self.is_end(*place))
    }

    fn is_end(&self, place: Place) -> bool {
        match place {
            Place::Between { state, gap, .. } => {
                self.finals[state as usize] && !matches!(gap, Gap::Start | Gap::Open)
            }
            Place::Within { .. } => false,
        }
    }

    /// Calls `found` with each place that a byte leads to, and the way that it begins.
    fn step_from(&self, place: Place, byte: u8, mut found: impl FnMut(Place, Option<u32>)) {
        match place {
            Place::Within { way, at, to } => {
                if let Some(place) = self.write(way, at, to, byte, false) {
                    found(place, None);
                }
            }
            Place::Between { state, gap, round } => {
                if let Some(gap) = gap.after(byte) {
                    found(Place::Between { state, gap, round }, None);
                }
                let goes_on = matches!(gap, Gap::Joined | Gap::JoinedComma);
                let zero = goes_on && byte == b'0';
                for exit in &self.exits[state as usize] {
                    let way = &self.ways[exit.way as usize];
                    if gap.lets_begin(way.plain)
                        && !(round && gap == Gap::Open && way.digit)
                        && let Some(place) = self.write(exit.way, 0, exit.to, byte, zero)
                    {
                        found(place, Some(exit.way));
                    }
                }
            }
        }
    }

    /// One more byte of a word; `round`: should it be a digit, it is a zero behind others.
    fn write(&self, number: u32, at: u8, to: u32, byte: u8, round: bool) -> Option<Place> {
        let way = &self.ways[number as usize];
        let byte = match way.plain {
            true => byte.to_ascii_lowercase(),
            false => byte,
        };
        if way.bytes.get(usize::from(at)) != Some(&byte) {
            return None;
        }
        if usize::from(at) + 1 < way.bytes.len() {
            let at = at.checked_add(1)?;
            let way = number;
            return Some(Place::Within { way, at, to });
        }
        let gap = match way.plain {
            true => Gap::Apart,
            false => Gap::Joined,
        };
        Some(Place::Between {
            state: to,
            gap,
            round: round && way.digit,
        })
    }

    /// The words of a text, each with the bytes it was written in; `None` where the text is none
    /// of the grammar.
    pub fn words(&self, text: &[u8]) -> Option<Vec<Written<'_>>> {
        // For each byte the places behind it: from where, and the way that began.
        let mut layers: Vec<BTreeMap<Place, (Place, Option<u32>)>> = Vec::new();
        let mut here = self.start().0.into_vec();
        for byte in text {
            let mut layer = BTreeMap::new();
            for from in here {
                self.step_from(from, *byte, |to, begun| {
                    layer.entry(to).or_insert((from, begun));
                });
            }
            here = layer.keys().copied().collect();
            layers.push(layer);
        }
        let mut place = here.into_iter().find(|place| self.is_end(*place))?;
        let mut words = Vec::new();
        let mut end = text.len();
        for (at, layer) in layers.iter().enumerate().rev() {
            if let Place::Between { gap, .. } = place
                && matches!(gap, Gap::Apart | Gap::Joined)
            {
                end = at + 1;
            }
            let (before, begun) = layer.get(&place)?;
            if let Some(way) = begun {
                let text = &self.ways[*way as usize].word;
                words.push(Written {
                    text,
                    bytes: at..end,
                });
            }
            place = *before;
        }
        words.reverse();
        Some(words)
    }
}

/// A word of the grammar in a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written<'a> {
    pub text: &'a str,
    /// Where it stands.
    pub bytes: Range<usize>,
}

impl Gap {
    /// What a byte between words leads to.
    fn after(self, byte: u8) -> Option<Gap> {
        match (self, byte) {
            (Gap::Start | Gap::Apart | Gap::Joined, b' ') => Some(Gap::Open),
            (Gap::Apart | Gap::Joined, b'-') => Some(Gap::Open),
            (Gap::JoinedComma | Gap::Comma | Gap::Dot, b' ') => Some(Gap::Open),
            (Gap::Apart, b',') => Some(Gap::Comma),
            (Gap::Joined, b',') => Some(Gap::JoinedComma),
            (Gap::Apart | Gap::Joined | Gap::Dot, b'.') => Some(Gap::Dot),
            (Gap::Apart | Gap::Joined, b'!' | b'?') => Some(Gap::Closed),
            _ => None,
        }
    }

    /// Whether a word may begin: as itself, or in one of its other ways.
    fn lets_begin(self, plain: bool) -> bool {
        match self {
            Gap::Start | Gap::Open => true,
            Gap::Joined | Gap::JoinedComma => !plain,
            Gap::Apart | Gap::Comma | Gap::Dot | Gap::Closed => false,
        }
    }
}

#[cfg(test)]
pub mod tests {
    use super::*;
    use crate::language::{Expectation, Language};

    /// All that may be said in English.
    pub fn everything() -> (Automaton, Speech) {
        let language = Language::bundled("en-US").unwrap();
        let grammar = language.compile(&Expectation::everything()).unwrap();
        let speech = Speech::of(&grammar, &Ways::bundled("en-US").unwrap());
        (grammar, speech)
    }

    fn read(speech: &Speech, text: &str) -> Option<String> {
        let words = speech.words(text.as_bytes())?;
        let words: Vec<&str> = words.iter().map(|word| word.text).collect();
        Some(words.join(" "))
    }

    #[test]
    fn texts_are_words_of_the_grammar() {
        let (grammar, speech) = everything();
        for (text, words) in [
            (" Next.", "next"),
            (" Stand by.", "stand by"),
            (" 245", "two four five"),
            (
                " Two hundred and forty-five volts.",
                "two hundred and forty five volts",
            ),
            (" Correction, 245.", "correction two four five"),
            (" 1,700", "one seven zero zero"),
            (" 5.70 mA", "five point seven zero milliamps"),
            (" 12.5kΩ.", "one two point five kilohms"),
            (" -", ""),
            (" 2-4-5!", "two four five"),
            (" -12", ""),
            (" minus 12 degrees", "minus one two degrees"),
            (" 2 forty-5", "two forty five"),
            (" 10,700", "one zero seven zero zero"),
            (" 7 0 1", "seven zero one"),
            (" 6 30 V", "six three zero volts"),
            (" 70 ohms", "seven zero ohms"),
            (" 70 1", ""),
            (" 70, 1", ""),
            (" 200 45", ""),
            (" 70 one", ""),
            (" Stop! Stop!", ""),
            (" Go back to", ""),
            (" fortyfive", ""),
            ("", ""),
            (" ", ""),
        ] {
            let found = read(&speech, text).unwrap_or_default();
            assert_eq!(found, words, "{text}");
            assert!(
                words.is_empty() || grammar.parse_text(words).complete,
                "{words}"
            );
        }
    }

    #[test]
    fn every_step_agrees_with_the_words() {
        let (_, speech) = everything();
        for text in [" Next.", " 245 ohms", " 2 4", " two", " over limit, 24"] {
            let mut places = speech.start();
            for (at, byte) in text.bytes().enumerate() {
                places = speech.step(&places, byte).unwrap();
                let ends = speech.words(&text.as_bytes()[..=at]).is_some();
                assert_eq!(speech.may_end(&places), ends, "{text} {at}");
            }
        }
    }
}
