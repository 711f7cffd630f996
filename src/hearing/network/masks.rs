//! Which pieces may be written next: the automaton of the grammar with the vocabulary, worked out
//! where a search comes by and kept.

use std::collections::HashMap;
use std::rc::Rc;

use readback_network::{Piece, Pieces};

use super::written::{Places, Speech};

/// The number of a place in the grammar where a text may stand.
pub type Stand = u32;

/// Pieces that may be written, and where each leads.
pub type Mask = Rc<[(Piece, Stand)]>;

/// One grammar with all that is known of it so far.
#[derive(Debug)]
pub struct Masks {
    pub speech: Speech,
    stands: Vec<Known>,
    numbers: HashMap<Rc<Places>, Stand>,
}

#[derive(Debug)]
struct Known {
    places: Rc<Places>,
    may_end: bool,
    /// By byte, where it was looked for.
    steps: HashMap<u8, Option<Stand>>,
    mask: Option<Mask>,
}

impl Masks {
    /// Where every text begins.
    pub const START: Stand = 0;

    pub fn new(speech: Speech) -> Masks {
        let start = speech.start();
        let mut masks = Masks {
            speech,
            stands: Vec::new(),
            numbers: HashMap::new(),
        };
        masks.number(start);
        masks
    }

    fn number(&mut self, places: Places) -> Stand {
        if let Some(known) = self.numbers.get(&places) {
            return *known;
        }
        let number = self.stands.len() as Stand;
        let may_end = self.speech.may_end(&places);
        let places = Rc::new(places);
        self.numbers.insert(Rc::clone(&places), number);
        self.stands.push(Known {
            places,
            may_end,
            steps: HashMap::new(),
            mask: None,
        });
        number
    }

    /// Whether a text may end there.
    pub fn may_end(&self, stand: Stand) -> bool {
        self.stands[stand as usize].may_end
    }

    fn step(&mut self, from: Stand, byte: u8) -> Option<Stand> {
        let known = &self.stands[from as usize];
        if let Some(to) = known.steps.get(&byte) {
            return *to;
        }
        let places = self.speech.step(&known.places, byte);
        let to = places.map(|places| self.number(places));
        self.stands[from as usize].steps.insert(byte, to);
        to
    }

    /// The pieces that may be written there.
    pub fn mask(&mut self, stand: Stand, pieces: &Pieces) -> Mask {
        if let Some(mask) = &self.stands[stand as usize].mask {
            return Rc::clone(mask);
        }
        let mut found = Vec::new();
        pieces.walk(
            stand,
            |from, byte| self.step(from, byte),
            |piece, to| found.push((piece, to)),
        );
        let mask: Mask = found.into();
        self.stands[stand as usize].mask = Some(Rc::clone(&mask));
        mask
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hearing::network::written::tests::everything;

    /// A small vocabulary: these pieces, then the marks.
    fn vocabulary(pieces: &[&str]) -> Pieces {
        let marks = [
            "<|endoftext|>",
            "<|startoftranscript|>",
            "<|nocaptions|>",
            "<|notimestamps|>",
        ];
        let lines = pieces.iter().chain(&marks);
        // A blank is written as this letter.
        let lines: Vec<String> = lines.map(|text| text.replace(' ', "\u{120}")).collect();
        Pieces::parse(&lines.join("\n")).unwrap()
    }

    #[test]
    fn only_what_the_grammar_takes_may_be_written() {
        let pieces = vocabulary(&[" next", " Ne", "xt", " 24", "5", ".", " hello", "24"]);
        let mut masks = Masks::new(everything().1);
        let mut may = |stand| {
            let mask = masks.mask(stand, &pieces);
            let mut mask = mask.to_vec();
            mask.sort_unstable();
            mask
        };
        let first = may(Masks::START);
        let found: Vec<Piece> = first.iter().map(|(piece, _)| *piece).collect();
        // A value may begin with its point.
        assert_eq!(found, [0, 1, 3, 4, 5, 7]);
        let behind_24: Vec<Piece> = may(first[2].1).iter().map(|(piece, _)| *piece).collect();
        // Another value may follow: " negative".
        assert_eq!(behind_24, [1, 3, 4, 5, 7]);
        assert!(masks.may_end(first[0].1) && masks.may_end(first[2].1));
        assert!(!masks.may_end(first[1].1) && !masks.may_end(Masks::START));
    }
}
