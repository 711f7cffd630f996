//! From the decoder's paths to hypotheses: fillers out, frames to milliseconds, doubles merged.

use std::collections::BTreeSet;

use super::decoder::{Path, Segment};
use crate::hearing::ranking::ranked;
use crate::language::{Hypothesis, Word};

/// Length of one frame.
const FRAME_MS: u64 = 10;

/// The best path first, then the others of the lattice in its order.
///
/// Scores are the lattice's, so that they compare with one another; the best path has one only
/// where the lattice has its words too. Only the best path has acoustic scores. Decoys are
/// left out as silence is.
pub fn hypotheses(best: Path, others: Vec<Path>, decoys: &BTreeSet<&str>) -> Vec<Hypothesis> {
    let heard = |path: Path| Path {
        segments: path
            .segments
            .into_iter()
            .filter(|segment| !is_decoy(&segment.word, decoys))
            .collect(),
        ..path
    };
    let best = heard(best);
    let mut first = hypothesis(&best);
    if first.words.is_empty() {
        return Vec::new();
    }
    first.acoustic = mean_acoustic(&best);
    let others = others.into_iter().map(heard).map(|path| Hypothesis {
        score: Some(path.score as f32),
        ..hypothesis(&path)
    });
    ranked(first, others)
}

fn hypothesis(path: &Path) -> Hypothesis {
    Hypothesis {
        words: spoken(path).map(word).collect(),
        ..Hypothesis::default()
    }
}

fn spoken(path: &Path) -> impl Iterator<Item = &Segment> {
    path.segments
        .iter()
        .filter(|segment| !is_filler(&segment.word))
}

fn word(segment: &Segment) -> Word {
    Word {
        text: without_variant(&segment.word).to_owned(),
        start_ms: u64::from(segment.first_frame) * FRAME_MS,
        end_ms: (u64::from(segment.last_frame) + 1) * FRAME_MS,
        confidence: None,
    }
}

/// Silence, noise and sentence marks.
fn is_filler(word: &str) -> bool {
    word.starts_with('<') || word.starts_with('[') || word.starts_with('+') || word == "(NULL)"
}

fn is_decoy(word: &str, decoys: &BTreeSet<&str>) -> bool {
    let word = without_variant(word);
    decoys.contains(word)
}

/// The dictionary calls a second pronunciation of `either` `either(2)`.
fn without_variant(word: &str) -> &str {
    match word.split_once('(') {
        Some((plain, _)) if !plain.is_empty() => plain,
        _ => word,
    }
}

/// Mean over the frames of words; silences say nothing about whether the words fit.
fn mean_acoustic(path: &Path) -> Option<f32> {
    let frames: f64 = spoken(path).map(frames).sum();
    let score: f64 = spoken(path).map(|s| f64::from(s.acoustic)).sum();
    (frames > 0.0).then_some((score / frames) as f32)
}

/// By how much more a path fits than another one of the same sound, per frame of its words. None at
/// all is no better: sound without words.
pub fn margin(best: &Path, other: Option<&Path>) -> Option<f32> {
    let frames: f64 = spoken(best).map(frames).sum();
    let whole = |path: &Path| -> f64 { path.segments.iter().map(|s| f64::from(s.acoustic)).sum() };
    let more = other.map_or(0.0, |other| (whole(best) - whole(other)) / frames);
    (frames > 0.0).then_some(more as f32)
}

fn frames(segment: &Segment) -> f64 {
    f64::from(segment.last_frame.saturating_sub(segment.first_frame) + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn path(segments: &[(&str, u32, u32, i32)]) -> Path {
        Path {
            score: -1000,
            segments: segments
                .iter()
                .map(|&(word, first_frame, last_frame, acoustic)| Segment {
                    word: word.into(),
                    first_frame,
                    last_frame,
                    acoustic,
                })
                .collect(),
        }
    }

    #[test]
    fn fillers_are_left_out_and_frames_become_milliseconds() {
        let heard = hypotheses(
            path(&[
                ("<sil>", 0, 9, -9000),
                ("two(2)", 10, 29, -800),
                ("[NOISE]", 30, 39, -9000),
                ("five", 40, 49, -400),
                ("</s>", 50, 60, -9000),
            ]),
            Vec::new(),
            &BTreeSet::new(),
        );
        assert_eq!(heard.len(), 1);
        assert_eq!(heard[0].text(), "two five");
        assert_eq!(
            (heard[0].words[0].start_ms, heard[0].words[0].end_ms),
            (100, 300)
        );
        assert_eq!(heard[0].acoustic, Some(-40.0));
    }

    #[test]
    fn paths_with_the_same_words_count_once() {
        let heard = hypotheses(
            path(&[("five", 0, 9, -100)]),
            vec![
                path(&[("<sil>", 0, 1, 0), ("five", 2, 9, -90)]),
                path(&[("nine", 0, 9, -120)]),
                path(&[("<sil>", 0, 9, -10)]),
            ],
            &BTreeSet::new(),
        );
        let texts: Vec<String> = heard.iter().map(Hypothesis::text).collect();
        assert_eq!(texts, ["five", "nine"]);
        assert_eq!(heard[0].acoustic, Some(-10.0));
        assert_eq!(heard[1].acoustic, None);
    }

    #[test]
    fn the_margin_counts_all_frames_against_those_of_the_words() {
        let best = path(&[("<sil>", 0, 9, -100), ("five", 10, 29, -800)]);
        let other = path(&[("his", 0, 29, -1_000)]);
        assert_eq!(margin(&best, Some(&other)), Some(5.0));
        assert_eq!(margin(&best, None), Some(0.0));
        assert_eq!(margin(&path(&[("<sil>", 0, 9, 0)]), Some(&other)), None);
    }

    #[test]
    fn decoys_are_left_out_and_do_not_count() {
        let segments = [
            ("the(2)", 0, 9, -9000),
            ("stop", 10, 29, -800),
            ("cover", 30, 39, -9000),
        ];
        let decoys = BTreeSet::from(["cover", "the"]);
        let heard = hypotheses(path(&segments), Vec::new(), &decoys);
        assert_eq!(heard[0].text(), "stop");
        assert_eq!(heard[0].acoustic, Some(-40.0));
        let nothing = hypotheses(path(&segments[..1]), Vec::new(), &decoys);
        assert_eq!(nothing, []);
    }
}
