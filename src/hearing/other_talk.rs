//! Whether what was heard was said to us at all: by the [`Trust`] that was fitted where an engine
//! compares with common words, else by how well it fits the sound.

use super::network;
use super::together::share;
use super::trust::Trust;
use crate::language::{Command, Hypothesis, Meaning};

/// What is known of how far an engine is to be believed.
#[derive(Debug, Clone, Copy)]
pub struct Judge {
    trust: Option<&'static Trust>,
    lowest: Lowest,
    /// A meaning that is less likely than so much of the best is not worth a question, where the
    /// engine says how likely each is.
    doubtful: Option<f32>,
    /// How likely a value must be, of all that may have been said, to be taken; the same.
    likely: Option<f32>,
}

/// The lowest acoustic scores of an engine at which what it heard was said to us.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lowest {
    /// Of "stop" and "stand by", which get the benefit of the doubt: a stop too many costs a
    /// moment, and somebody who says it is in need of quiet.
    of_stop: f32,
    /// Of "next", which leaves a step behind and is in many sentences.
    of_next: f32,
    of_others: f32,
    /// Of what another engine hears, too, but "stop" and "stand by".
    of_both: f32,
}

/// In the mean acoustic score per frame of words of PocketSphinx.
///
/// From the recordings of the tests: of 40 phrases in the grammar 39 score -27 to -52, of other
/// talk forced into the grammar all score below -56. There is no sharp line between the two: a
/// phrase below this one is asked for again, which costs a second; a remark to a colleague above it
/// is still read back before it counts. A recording of "stop" that scores above -55 as a file scored
/// -56 to -66 through a microphone at 48 kHz; the talk of the tests scores -84 to -107.
const OF_OTHERS: Lowest = Lowest {
    of_stop: -75.0,
    of_next: -55.0,
    of_others: -55.0,
    of_both: -75.0,
};

/// In the network's measure, a logarithm: see [`network`].
///
/// Of 637 that were said, 295 and 211 by a corpus's training voices at 10 and 5 dB and 131 by a person at 10 dB, with a
/// limit of -2.2 586 are right and 36 wrong, before [`LIKELY`]; with -1.6 586 and 33, with -1.2 583 and 24, with -1.0
/// 580 and 21. Of an hour of plant noise -1.6 lets through "next" (-1.36) and "six" (-1.41), -1.2 nothing. Of "next"
/// that was said none is below -0.6, and it leaves a step behind, so it must score more. Of 142 "stop" and "stand by"
/// that the network had to decide at 10, 5 and 0 dB one scores -2.4, all others -1.4 or more; talk at 0 dB
/// that was taken for them -1.6 and less.
const OF_NETWORK: Lowest = Lowest {
    of_stop: -2.0,
    of_next: -1.0,
    of_others: -1.2,
    of_both: -3.0,
};

/// One in five: a question costs a repeat, a wrong value two, and a readback catches most.
const DOUBTFUL: f32 = 0.2;

/// A value that is less likely is asked for again. Of the recordings of [`OF_NETWORK`] 572 are then accepted right
/// and 11 wrong, with 0.5 577 and 12, with 0.7 568 and 10, without a limit 583 and 24.
const LIKELY: f32 = 0.6;

/// What "stop" or "stand by" must score, and by how much common words may fit better, where it stands
/// out from the assistant's own voice: the other voice is in it, so both are worse than in a pause.
///
/// Of training voices said 9, 14 and 20 dB above two long prompts 139 of 180 "stop" and "stand by" come
/// through, and 7 of 360 other words and talks; of voices held out 135 and 13.
const UP_ACOUSTIC: f32 = -90.0;
const UP_MARGIN: f32 = -15.0;

impl Judge {
    /// That of an engine, by its name.
    pub fn of(engine: &str) -> Judge {
        let (lowest, doubtful, likely) = match engine == network::ENGINE {
            true => (OF_NETWORK, Some(DOUBTFUL), Some(LIKELY)),
            false => (OF_OTHERS, None, None),
        };
        Judge {
            trust: Trust::of(engine),
            lowest,
            doubtful,
            likely,
        }
    }

    /// Why a hypothesis with this meaning must be other talk forced into the grammar.
    pub fn rejects(self, best: &Hypothesis, meaning: &Meaning) -> Option<String> {
        if let Some(trust) = self.trust
            && best.margin.is_some()
        {
            return trust.doubt(best, meaning);
        }
        let lowest = self.lowest.of(meaning);
        if let Some(acoustic) = best.acoustic.filter(|score| *score < lowest) {
            return Some(format!(
                "sounds like other talk: acoustic score {acoustic:.1}, expected {lowest:.1} or more"
            ));
        }
        let (found, likely) = (share(best), self.likely?);
        let value = match meaning {
            Meaning::Readings(_) => true,
            Meaning::Command { readings, .. } => !readings.is_empty(),
            _ => false,
        };
        (value && found < likely).then(|| {
            let percent = |share: f32| (share * 100.0).round();
            format!(
                "may have been another value: {} % likely, expected {} or more",
                percent(found),
                percent(likely)
            )
        })
    }

    /// Leaves out meanings that nobody need ask about, beside the best.
    pub fn keep_doubtful(self, hypotheses: &mut Vec<Hypothesis>) {
        let best = hypotheses.first().map_or(0.0, share);
        if let Some(of_best) = self.doubtful {
            hypotheses.retain(|hypothesis| share(hypothesis) >= of_best * best);
        }
    }

    /// Whether words that stand out from the assistant's own voice are to be taken for "stop" or "stand
    /// by".
    pub fn speaks_up(self, best: &Hypothesis) -> bool {
        let fits = best.acoustic.is_some_and(|score| score >= UP_ACOUSTIC);
        fits && best.margin.is_some_and(|margin| margin >= UP_MARGIN)
    }

    /// Whether a hypothesis fits well enough where another engine hears the same.
    pub fn is_possible(self, best: &Hypothesis, meaning: &Meaning) -> bool {
        let lowest = match asks_for_quiet(meaning) {
            true => self.lowest.of_stop,
            false => self.lowest.of_both,
        };
        best.acoustic.is_some_and(|score| score >= lowest)
    }

    /// Whether a "stop" that is believed need not be heard by anybody else: where it fits better than common
    /// words do, or, where they were not compared, as well as any command. In 470 utterances of voices held out,
    /// clean and at 20, 10 and 5 dB, no other words were named "stop"; in two hours of noise it was named once each,
    /// with a margin of 0, as no common words were found.
    pub fn is_sure(self, best: &Hypothesis) -> bool {
        match best.margin {
            Some(margin) => margin > 0.0,
            None => best
                .acoustic
                .is_some_and(|score| score >= self.lowest.of_others),
        }
    }
}

impl Lowest {
    fn of(self, meaning: &Meaning) -> f32 {
        match meaning {
            meaning if asks_for_quiet(meaning) => self.of_stop,
            Meaning::Command {
                command: Command::Next,
                ..
            } => self.of_next,
            _ => self.of_others,
        }
    }
}

/// Whether it is "stop" or "stand by".
fn asks_for_quiet(meaning: &Meaning) -> bool {
    matches!(
        meaning,
        Meaning::Command {
            command: Command::Stop | Command::Pause,
            ..
        }
    )
}
