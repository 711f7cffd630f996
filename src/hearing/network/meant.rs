//! Texts to hypotheses: one for each meaning, likeliest first.

use readback_network::Pieces;

use super::beam::Found;
use super::written::{Speech, Written};
use crate::language::{Automaton, Hypothesis, Meaning, Word};

/// How many meanings are handed on.
const MOST_MEANINGS: usize = 8;
/// What a likelier text without the grammar counts in the acoustic score: it must be likelier by far,
/// as in noise it is often likelier than what was said.
const OF_FREE: f32 = 0.5;
/// What an unlikely end counts. Where a word was said that the grammar has no place for, the search
/// leaves it out and ends the text before it; on training voices at 10 dB every text that was right
/// ended with a logarithm of -1.1 or more, and of 9 that lacked a word 8 with -2.8 or less.
const OF_END: f32 = 0.75;

/// A meaning with its texts.
struct Meant {
    meaning: Meaning,
    /// Of the likeliest text, of how many pieces that was, the end included, and how likely its end.
    words: Vec<Word>,
    pieces: usize,
    end: f32,
    /// Of each text.
    likely: Vec<f32>,
}

/// The hypotheses of what was found in so many milliseconds. Ways to write the same meaning count
/// together; a word's confidence is the share of its meaning among all that may have been said.
///
/// The acoustic score is the worst of three: the mean logarithm of how likely a piece was, [`OF_FREE`]
/// of what a text without the grammar is likelier by, and [`OF_END`] of the logarithm of how likely it
/// was that no more was said.
pub fn hypotheses(
    found: &Found,
    pieces: &Pieces,
    grammar: &Automaton,
    speech: &Speech,
    length_ms: u64,
) -> Vec<Hypothesis> {
    let mut texts: Vec<_> = found.texts.iter().collect();
    texts.sort_by(|a, b| b.likely.total_cmp(&a.likely));
    let mut meanings: Vec<Meant> = Vec::new();
    for text in texts {
        let written = text.written(pieces);
        let Some(words) = speech.words(&written) else {
            continue;
        };
        let meaning = meaning(grammar, &words);
        if let Some(known) = meanings.iter_mut().find(|known| known.meaning == meaning) {
            known.likely.push(text.likely);
        } else if !matches!(meaning, Meaning::Nothing { .. }) {
            meanings.push(Meant {
                meaning,
                words: spread(&words, written.len(), length_ms),
                pieces: text.pieces.len() + 1,
                end: text.end,
                likely: vec![text.likely],
            });
        }
    }
    let mut scored: Vec<(f32, Meant)> = meanings
        .into_iter()
        .map(|meant| (log_sum_exp(&meant.likely), meant))
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    let all: Vec<f32> = scored.iter().map(|(likely, _)| *likely).collect();
    let all = log_sum_exp(&all).max(found.free.likely);
    scored.truncate(MOST_MEANINGS);
    let hypothesis = |(likely, meant): (f32, Meant)| Hypothesis {
        words: confident(meant.words, (likely - all).exp().min(1.0)),
        score: Some(likely - found.free.likely),
        acoustic: Some(
            (likely / meant.pieces as f32)
                .min(OF_FREE * (likely - found.free.likely))
                .min(OF_END * meant.end),
        ),
        margin: None,
    };
    scored.into_iter().map(hypothesis).collect()
}

/// What the words mean, without times, so that equal meanings are equal.
fn meaning(grammar: &Automaton, words: &[Written<'_>]) -> Meaning {
    let words: Vec<&str> = words.iter().map(|word| word.text).collect();
    grammar.parse_text(&words.join(" ")).meaning()
}

/// Words with times: the network gives none, so they share the utterance by their lengths. Each ends
/// where the next begins: a comma in a long number is no pause, and a pause tells two values apart.
fn spread(words: &[Written<'_>], bytes: usize, length_ms: u64) -> Vec<Word> {
    let at = |byte: usize| byte as u64 * length_ms / bytes.max(1) as u64;
    let next = words.iter().skip(1).map(|word| word.bytes.start);
    let last = words.last().map(|word| word.bytes.end);
    let ends = next.chain(last);
    let word = |(word, end): (&Written<'_>, usize)| Word {
        text: word.text.to_owned(),
        start_ms: at(word.bytes.start),
        end_ms: at(end),
        confidence: None,
    };
    words.iter().zip(ends).map(word).collect()
}

fn confident(mut words: Vec<Word>, confidence: f32) -> Vec<Word> {
    for word in &mut words {
        word.confidence = Some(confidence);
    }
    words
}

/// The logarithm of the sum of what these are the logarithms of.
fn log_sum_exp(of: &[f32]) -> f32 {
    let largest = of.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    largest + of.iter().map(|x| (x - largest).exp()).sum::<f32>().ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comma_is_no_pause() {
        let written = "4,   300";
        let words = [
            ("four", 0..1),
            ("three", 5..6),
            ("zero", 6..7),
            ("zero", 7..8),
        ];
        let words = words.map(|(text, bytes)| Written { text, bytes });
        let spread = spread(&words, written.len(), 4_000);
        for pair in spread.windows(2) {
            assert_eq!(pair[0].end_ms, pair[1].start_ms);
        }
        assert_eq!(spread[3].end_ms, 4_000);
    }
}
