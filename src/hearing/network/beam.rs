//! The search for the likeliest texts of the grammar, and beside it the likeliest text at all.
//!
//! A beam: the few likeliest beginnings go on together, one piece at a time. The row without the
//! grammar takes the likeliest piece each time; how much likelier it is than the best text of the
//! grammar tells talk that is not for us.

use readback_network::{Network, Next, Past, Piece, Pieces, Row, Sound};

use super::masks::{Masks, Stand};

/// Beginnings that go on together.
const BEAM: usize = 5;
/// Pieces of a text at most: twelve digits one by one with marks between, and a unit.
const LONGEST: usize = 28;
/// A beginning that is by so much less likely than a finished text is given up: in nats.
const GIVE_UP: f32 = 6.0;
/// So much less likely than the free text, and nothing of the grammar was said: in nats.
const HOPELESS: f32 = 30.0;

/// So likely that nobody speaks, and no words are searched for: of 224 looks at the plant noise of a
/// corpus 194 were, of 203 at training voices, clean and at 5 dB, 3.
const NOBODY: f32 = 0.8;

/// A text and how likely it is, the end included: natural logarithm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Text {
    pub pieces: Vec<Piece>,
    pub likely: f32,
    /// How likely it is that nothing follows.
    pub end: f32,
}

/// What a search found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// Texts of the grammar, in the order in which they ended.
    pub texts: Vec<Text>,
    /// The text without the grammar; as far as it was followed.
    pub free: Text,
}

/// A text that goes on.
struct Beginning {
    text: Text,
    stand: Stand,
    /// The row that knows what may follow.
    row: usize,
}

/// One more piece for a beginning.
struct Longer {
    of: usize,
    piece: Piece,
    stand: Stand,
    likely: f32,
}

/// Writes what was heard.
pub fn search(network: &Network, masks: &mut Masks, sound: &Sound) -> Found {
    let pieces = network.pieces();
    let marks = pieces.marks;
    let begun = network.step(row(Past::new(), marks.start), sound);
    let nobody = |known: &Next| known.likely[marks.no_speech as usize].exp() > NOBODY;
    if begun.iter().any(nobody) {
        return Found::default();
    }
    let past = begun.into_iter().next().map(|known| known.past);
    let mut known = network.step(row(past.unwrap_or_default(), marks.no_times), sound);
    let mut found = Found {
        texts: Vec::new(),
        free: Text::default(),
    };
    let mut free_row = Some(0);
    let mut beam = vec![Beginning {
        text: Text::default(),
        stand: Masks::START,
        row: 0,
    }];
    for _ in 0..LONGEST {
        if let Some(known) = free_row.map(|row: usize| &known[row]) {
            free_row = found.free.go_on(known, marks.end).then_some(0);
        }
        for beginning in beam.iter().filter(|b| masks.may_end(b.stand)) {
            let end = known[beginning.row].likely[marks.end as usize];
            found.texts.push(Text {
                pieces: beginning.text.pieces.clone(),
                likely: beginning.text.likely + end,
                end,
            });
        }
        let best = found.best();
        let least = (best - GIVE_UP).max(found.free.likely - HOPELESS);
        let longer = longer(&beam, &known, masks, pieces, least);
        let free_matters = free_row.is_some() && found.free.likely > best;
        if longer.is_empty() && !(free_matters && best.is_finite()) {
            break;
        }
        let free_past = free_row.map(|row| known[row].past.clone());
        let piece = found.free.last();
        let free = free_past.map(|past| Row { past, piece });
        let first = usize::from(free.is_some());
        let rows = longer.iter().map(|longer| {
            let past = known[beam[longer.of].row].past.clone();
            let piece = longer.piece;
            Row { past, piece }
        });
        let rows = free.into_iter().chain(rows).collect();
        let next = longer.iter().enumerate().map(|(place, longer)| {
            let mut pieces = beam[longer.of].text.pieces.clone();
            pieces.push(longer.piece);
            Beginning {
                text: Text {
                    pieces,
                    likely: longer.likely,
                    end: 0.0,
                },
                stand: longer.stand,
                row: first + place,
            }
        });
        beam = next.collect();
        known = network.step(rows, sound);
    }
    found
}

fn row(past: Past, piece: Piece) -> Vec<Row> {
    vec![Row { past, piece }]
}

/// The likeliest ways to go on that are likelier than `least`, at most [`BEAM`].
fn longer(
    beam: &[Beginning],
    known: &[Next],
    masks: &mut Masks,
    pieces: &Pieces,
    least: f32,
) -> Vec<Longer> {
    let mut longer = Vec::new();
    for (of, beginning) in beam.iter().enumerate() {
        let known = &known[beginning.row];
        for (piece, stand) in masks.mask(beginning.stand, pieces).iter().copied() {
            let likely = beginning.text.likely + known.likely[piece as usize];
            if likely > least {
                longer.push(Longer {
                    of,
                    piece,
                    stand,
                    likely,
                });
            }
        }
    }
    longer.sort_unstable_by(|a, b| b.likely.total_cmp(&a.likely));
    longer.truncate(BEAM);
    longer
}

impl Found {
    fn best(&self) -> f32 {
        let all = self.texts.iter().map(|text| text.likely);
        all.fold(f32::NEG_INFINITY, f32::max)
    }
}

impl Text {
    /// Adds the likeliest piece of text, or the end, which is not kept. Whether the text goes on.
    fn go_on(&mut self, known: &Next, end: Piece) -> bool {
        let first = match self.pieces.is_empty() {
            true => 0..end,
            false => 0..end + 1,
        };
        let likelier =
            |a: &Piece, b: &Piece| known.likely[*a as usize].total_cmp(&known.likely[*b as usize]);
        let Some(piece) = first.max_by(likelier) else {
            return false;
        };
        self.likely += known.likely[piece as usize];
        if piece != end {
            self.pieces.push(piece);
        }
        piece != end
    }

    fn last(&self) -> Piece {
        self.pieces.last().copied().unwrap_or_default()
    }

    /// What the pieces write.
    pub fn written(&self, pieces: &Pieces) -> Vec<u8> {
        let texts = self.pieces.iter().map(|piece| pieces.text(*piece));
        texts.collect::<Vec<_>>().concat()
    }
}
