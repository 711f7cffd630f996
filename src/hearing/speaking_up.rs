//! Where somebody speaks up over a voice that sounds all the time: the assistant's own, from a
//! loudspeaker beside the microphone.
//!
//! An engine that gets two seconds of both is misled by the level: what it takes for the mean of the
//! sound is that of the softer voice. So the louder stretch is cut out, and heard alone.

use std::ops::Range;

use super::level::level_db;
use super::voice::FRAME;

/// By so much the louder voice stands out, in decibels. One vowel of a voice stands out from its others
/// by less, mostly.
const OVER_DB: f32 = 9.0;
/// So many of the frames of a voice are softer than the measure of it. With 0.6 fewer who speak up are heard, with
/// 0.4 single words of a prompt stand out.
const SOFTER: f32 = 0.5;
/// A voice is what is by so much above the softest tenth of a window: noise alone goes up and down by
/// less.
const VOICE_DB: f32 = 8.0;
/// Frames of 16 ms: the fewest with a voice in which one can stand out from another, the longest gap within
/// a word ("st-op"), the fewest loud frames of a word, what must be left before and behind it so that
/// it is whole, and what is cut out with it on either side.
const VOICED: usize = 64;
const GAP: usize = 12;
const FEWEST: usize = 9;
const BEFORE: usize = 3;
const BEHIND: usize = 4;
const MARGIN: usize = 8;

/// Where in a window of 16 kHz samples one word or two stand out; `None` where nothing does.
pub fn stretch(samples: &[i16]) -> Option<Range<usize>> {
    let frames = samples.as_chunks::<FRAME>().0.iter();
    let levels: Vec<f32> = frames.map(|frame| level_db(frame)).collect();
    let mut sorted = levels.clone();
    sorted.sort_by(f32::total_cmp);
    let noise = *sorted.get(sorted.len() / 10)?;
    let first_voiced = sorted.partition_point(|db| *db < noise + VOICE_DB);
    let voiced = &sorted[first_voiced..];
    if voiced.len() < VOICED {
        return None;
    }
    let voice = voiced[(voiced.len() as f32 * SOFTER) as usize];
    let loud: Vec<bool> = levels.iter().map(|db| *db >= voice + OVER_DB).collect();
    let word = longest_run(&loud)?;
    let fewest = loud[word.clone()].iter().filter(|loud| **loud).count() >= FEWEST;
    let whole = word.start >= BEFORE && word.end + BEHIND <= levels.len();
    let start = word.start.saturating_sub(MARGIN) * FRAME;
    let end = ((word.end + MARGIN) * FRAME).min(samples.len());
    (fewest && whole).then_some(start..end)
}

/// The longest run of loud frames, gaps within it counted.
fn longest_run(loud: &[bool]) -> Option<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    let frames = loud.iter().enumerate().filter(|(_, loud)| **loud);
    for (frame, _) in frames {
        match runs.last_mut() {
            Some(run) if frame < run.end + GAP => run.end = frame + 1,
            _ => runs.push(frame..frame + 1),
        }
    }
    runs.into_iter().max_by_key(Range::len)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two seconds whose syllables, a quarter of a second each, have these amplitudes.
    fn window(amplitudes: [i16; 8]) -> Vec<i16> {
        let syllable = |amplitude: i16| {
            (0..4_000).map(move |n| {
                let swell = (std::f32::consts::PI * n as f32 / 4_000.0).sin();
                let tone = (n as f32 * 0.3).sin();
                (f32::from(amplitude) * swell * tone) as i16
            })
        };
        amplitudes.into_iter().flat_map(syllable).collect()
    }

    #[test]
    fn the_louder_of_two_voices_is_cut_out() {
        let found = stretch(&window([500, 400, 600, 5_000, 4_000, 500, 400, 500]));
        let found = found.expect("a stretch");
        assert!((9_000..13_000).contains(&found.start), "{found:?}");
        assert!((18_500..23_000).contains(&found.end), "{found:?}");
    }

    #[test]
    fn a_voice_alone_does_not_stand_out_from_itself() {
        assert_eq!(
            stretch(&window([500, 400, 600, 900, 700, 500, 400, 500])),
            None
        );
        assert_eq!(stretch(&window([0; 8])), None);
        assert_eq!(stretch(&[]), None);
    }

    #[test]
    fn a_word_that_is_not_whole_is_left_to_the_next_window() {
        assert_eq!(
            stretch(&window([500, 400, 600, 500, 400, 500, 500, 5_000])),
            None
        );
        assert_eq!(
            stretch(&window([5_000, 400, 600, 500, 400, 500, 500, 500])),
            None
        );
    }

    #[test]
    fn what_breaks_a_silence_is_no_second_voice() {
        assert_eq!(stretch(&window([0, 0, 0, 5_000, 4_000, 0, 0, 0])), None);
    }
}
