//! The pieces that the network writes: parts of words, as bytes.
//!
//! The file has a piece on each line, in the order of their numbers. Bytes that do not print stand
//! there as other letters: the printing bytes of Latin-1 stand for themselves, the others in their
//! order for the letters from U+0100 on.

use std::collections::HashMap;

/// The number of a piece.
pub type Piece = u32;

/// The vocabulary: what each piece writes.
#[derive(Debug, Default)]
pub struct Pieces {
    texts: Vec<Box<[u8]>>,
    /// Nodes of a tree of bytes; node 0 is its root.
    nodes: Vec<Node>,
    count: usize,
    pub marks: Marks,
}

/// The pieces that write nothing.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct Marks {
    /// Nothing more is said. All pieces before it write text, none behind it.
    pub end: Piece,
    pub start: Piece,
    /// After `start`: nobody speaks here.
    pub no_speech: Piece,
    /// What follows is text without times.
    pub no_times: Piece,
}

#[derive(Debug, Default)]
struct Node {
    children: Vec<(u8, u32)>,
    /// Pieces that end here.
    pieces: Vec<Piece>,
}

/// What is wrong with a vocabulary.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PiecesError {
    #[error("the mark `{0}` is missing")]
    Missing(&'static str),
    #[error("line {line} has `{letter}`, which stands for no byte")]
    Letter { line: usize, letter: char },
}

impl Pieces {
    /// Reads the file's text.
    ///
    /// # Errors
    ///
    /// See [`PiecesError`].
    pub fn parse(text: &str) -> Result<Pieces, PiecesError> {
        let lines: Vec<&str> = text.lines().collect();
        let mark = |name: &'static str| {
            let place = lines.iter().position(|line| *line == name);
            let place = place.ok_or(PiecesError::Missing(name))?;
            Ok(place as Piece)
        };
        let mut pieces = Pieces {
            marks: Marks {
                end: mark("<|endoftext|>")?,
                start: mark("<|startoftranscript|>")?,
                no_speech: mark("<|nocaptions|>")?,
                no_times: mark("<|notimestamps|>")?,
            },
            nodes: vec![Node::default()],
            count: lines.len(),
            ..Pieces::default()
        };
        let letters = letters();
        for (index, line) in lines.iter().enumerate().take(pieces.marks.end as usize) {
            let line_number = index + 1;
            let byte = |letter: char| {
                let line = line_number;
                let missing = PiecesError::Letter { line, letter };
                letters.get(&letter).copied().ok_or(missing)
            };
            let bytes: Vec<u8> = line.chars().map(byte).collect::<Result<_, _>>()?;
            pieces.plant(index as Piece, &bytes);
            pieces.texts.push(bytes.into());
        }
        Ok(pieces)
    }

    fn plant(&mut self, piece: Piece, bytes: &[u8]) {
        let mut node = 0;
        for byte in bytes {
            node = match self.child(node, *byte) {
                Some(child) => child,
                None => {
                    let child = self.nodes.len() as u32;
                    self.nodes.push(Node::default());
                    self.nodes[node as usize].children.push((*byte, child));
                    child
                }
            };
        }
        self.nodes[node as usize].pieces.push(piece);
    }

    fn child(&self, node: u32, byte: u8) -> Option<u32> {
        let mut children = self.nodes[node as usize].children.iter();
        let found = children.find(|(known, _)| *known == byte);
        found.map(|(_, child)| *child)
    }

    /// How many pieces there are, marks included.
    pub fn count(&self) -> usize {
        self.count
    }

    /// What a piece writes; nothing for marks.
    pub fn text(&self, piece: Piece) -> &[u8] {
        self.texts.get(piece as usize).map_or(&[], |text| text)
    }

    /// Walks all pieces at once: `step` gives what a byte leads to, `found` gets each piece whose
    /// bytes all led somewhere, and where.
    pub fn walk<S: Copy>(
        &self,
        from: S,
        mut step: impl FnMut(S, u8) -> Option<S>,
        mut found: impl FnMut(Piece, S),
    ) {
        let mut open = vec![(0, from)];
        while let Some((node, at)) = open.pop() {
            for (byte, child) in &self.nodes[node as usize].children {
                let Some(to) = step(at, *byte) else {
                    continue;
                };
                for piece in &self.nodes[*child as usize].pieces {
                    found(*piece, to);
                }
                open.push((*child, to));
            }
        }
    }
}

/// The byte that each letter of the file stands for.
fn letters() -> HashMap<char, u8> {
    let prints = |byte: &u8| matches!(byte, b'!'..=b'~' | 0xa1..=0xac | 0xae..=0xff);
    let own = (0..=255)
        .filter(prints)
        .map(|byte| (char::from(byte), byte));
    let others = (0..=255_u8).filter(|byte| !prints(byte));
    let others = ('\u{100}'..).zip(others);
    own.chain(others).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A small vocabulary: these pieces, then the marks.
    fn vocabulary(pieces: &[&str]) -> Pieces {
        let marks = [
            "<|endoftext|>",
            "<|startoftranscript|>",
            "<|nocaptions|>",
            "<|notimestamps|>",
        ];
        let lines: Vec<String> = pieces
            .iter()
            .chain(&marks)
            .map(|text| text.replace(' ', "\u{120}"))
            .collect();
        Pieces::parse(&lines.join("\n")).unwrap()
    }

    #[test]
    fn letters_are_bytes() {
        let pieces = vocabulary(&["!", " next", "Î©"]);
        assert_eq!(pieces.text(1), b" next");
        assert_eq!(pieces.text(2), "\u{3a9}".as_bytes());
        assert_eq!(pieces.marks.end, 3);
        assert_eq!(pieces.text(3), b"");
    }

    #[test]
    fn a_walk_finds_the_pieces_that_go_on() {
        let pieces = vocabulary(&["a", "ab", "abc", "b", "bc"]);
        let mut found = Vec::new();
        pieces.walk(
            0_usize,
            |at, byte| (b"abd".get(at) == Some(&byte)).then_some(at + 1),
            |piece, at| found.push((piece, at)),
        );
        assert_eq!(found, [(0, 1), (1, 2)]);
    }

    #[test]
    fn what_is_no_vocabulary_is_told() {
        assert_eq!(
            Pieces::parse("a\nb").unwrap_err().to_string(),
            "the mark `<|endoftext|>` is missing"
        );
        let marks = "<|endoftext|>\n<|startoftranscript|>\n<|nocaptions|>\n<|notimestamps|>";
        assert_eq!(
            Pieces::parse(&format!("a\n\u{4e00}\n{marks}"))
                .unwrap_err()
                .to_string(),
            "line 2 has `\u{4e00}`, which stands for no byte"
        );
    }
}
