//! What became of every recording, counted.

use std::collections::BTreeMap;

use serde::Serialize;

use super::manifest::Kind;
use super::score::Scored;
use super::tally::{Outcome, Row, Share, Tallies, Tally};
use crate::hearing::recognizer::EngineName;

/// The whole answer.
#[derive(Serialize)]
pub struct Scores {
    pub engine: String,
    pub model: String,
    pub split: String,
    /// All, commands, readings, choices.
    pub all: Vec<Row>,
    pub by_level: Vec<Row>,
    /// Commands, choices and readings apart.
    pub by_kind_and_level: Vec<Row>,
    pub by_noise: Vec<Row>,
    pub by_voice: Vec<Row>,
    pub by_command: Vec<Row>,
    pub by_form: Vec<Row>,
    /// What was accepted instead of something else.
    pub confusions: Vec<Confusion>,
    pub false_accepts: FalseAccepts,
    pub latency: Latency,
    utterances: Vec<Scored>,
}

#[derive(Serialize)]
pub struct Confusion {
    pub said: String,
    pub heard: String,
    pub times: u32,
}

/// What was accepted of talk to others and of noise.
#[derive(Debug, Default, Serialize)]
pub struct FalseAccepts {
    pub hours: f64,
    pub commands: u32,
    pub readings: u32,
    pub per_hour: f64,
    /// Of the recordings of talk, those in which something was accepted.
    pub talk: Option<Share>,
    /// Of the recordings of noise alone.
    pub noise: Option<Share>,
}

/// Milliseconds from the end of the speech to the utterance's end found, and to its meaning.
#[derive(Debug, Default, Serialize)]
pub struct Latency {
    pub end_found_median: i64,
    pub end_found_95: i64,
    pub decoding_median: i64,
    pub decoding_95: i64,
}

impl Scores {
    /// `hours` of talk to others and of noise were heard.
    pub fn new(name: &EngineName, split: String, scored: Vec<Scored>, hours: f64) -> Scores {
        let for_us: Vec<(&Scored, Outcome)> = scored
            .iter()
            .filter_map(|scored| Some((scored, scored.outcome?)))
            .collect();
        let by = |name: &dyn Fn(&Scored) -> Option<String>| {
            let mut tallies = Tallies::default();
            for (scored, outcome) in &for_us {
                if let Some(name) = name(scored) {
                    tallies.add(&name, *outcome);
                }
            }
            tallies.rows()
        };
        let mut all = Tally::default();
        for (_, outcome) in &for_us {
            all.add(*outcome);
        }
        let mut kinds = by(&|scored| Some(kind(scored.said.kind).to_owned()));
        kinds.insert(0, all.row("all"));
        Scores {
            engine: name.engine.clone(),
            model: name.model.clone(),
            split,
            all: kinds,
            by_level: by(&|scored| Some(scored.said.level())),
            by_kind_and_level: by(&|scored| {
                let said = &scored.said;
                Some(format!("{} {}", kind(said.kind), said.level()))
            }),
            by_noise: by(&|scored| Some(scored.said.noise.clone())),
            by_voice: by(&|scored| Some(scored.said.voice.clone())),
            by_command: by(&|scored| scored.command().map(str::to_owned)),
            by_form: by(&|scored| {
                let is_reading = scored.said.kind == Kind::Reading;
                is_reading.then(|| scored.said.form.clone())
            }),
            confusions: confusions(&for_us),
            false_accepts: FalseAccepts::of(&scored, hours),
            latency: Latency::of(&for_us),
            utterances: scored,
        }
    }
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Command => "commands",
        Kind::Choice => "choices",
        Kind::Reading => "readings",
        Kind::Talk => "talk",
        Kind::Noise => "noise",
    }
}

/// The most frequent first.
fn confusions(for_us: &[(&Scored, Outcome)]) -> Vec<Confusion> {
    let mut times: BTreeMap<(String, String), u32> = BTreeMap::new();
    for (scored, outcome) in for_us {
        if *outcome == Outcome::Wrong {
            let pair = (scored.meant.clone(), scored.accepted());
            *times.entry(pair).or_default() += 1;
        }
    }
    let confusion = |((said, heard), times)| Confusion { said, heard, times };
    let mut found: Vec<Confusion> = times.into_iter().map(confusion).collect();
    found.sort_by_key(|confusion| std::cmp::Reverse(confusion.times));
    found
}

impl Scored {
    fn accepted(&self) -> String {
        let meanings = self.heard.iter().filter_map(|h| h.meaning.clone());
        meanings.collect::<Vec<_>>().join(" / ")
    }

    /// The command alone: `command correction, reading 12` is a correction.
    fn command(&self) -> Option<&str> {
        let command = self.meant.split(',').next()?;
        command.strip_prefix("command ")
    }

    fn is_falsely_accepted(&self) -> bool {
        self.heard.iter().any(|heard| heard.meaning.is_some())
    }
}

impl FalseAccepts {
    fn of(scored: &[Scored], hours: f64) -> FalseAccepts {
        let share = |kind: Kind| {
            let of_kind = scored.iter().filter(|scored| scored.said.kind == kind);
            let (accepted, all) = of_kind.fold((0, 0), |(accepted, all), scored| {
                (accepted + u32::from(scored.is_falsely_accepted()), all + 1)
            });
            (all > 0).then(|| Share::of(accepted, all))
        };
        let others = scored.iter().filter(|scored| !scored.said.kind.is_for_us());
        let meanings = others.flat_map(|s| s.heard.iter().filter_map(|h| h.meaning.as_deref()));
        let (mut commands, mut readings) = (0, 0);
        for meaning in meanings {
            *match meaning.starts_with("command") {
                true => &mut commands,
                false => &mut readings,
            } += 1;
        }
        FalseAccepts {
            hours,
            commands,
            readings,
            per_hour: match hours > 0.0 {
                true => f64::from(commands + readings) / hours,
                false => 0.0,
            },
            talk: share(Kind::Talk),
            noise: share(Kind::Noise),
        }
    }
}

impl Latency {
    fn of(for_us: &[(&Scored, Outcome)]) -> Latency {
        let last = for_us.iter().filter_map(|(scored, _)| {
            let last = scored.heard.last()?;
            let end = scored.said.speech_end_ms as i64;
            Some((last.end_found_ms as i64 - end, last.decoding_ms as i64))
        });
        let (mut ends, mut decodings): (Vec<i64>, Vec<i64>) = last.unzip();
        ends.sort_unstable();
        decodings.sort_unstable();
        Latency {
            end_found_median: quantile(&ends, 0.5),
            end_found_95: quantile(&ends, 0.95),
            decoding_median: quantile(&decodings, 0.5),
            decoding_95: quantile(&decodings, 0.95),
        }
    }
}

/// Of sorted values, 0 of none.
fn quantile(sorted: &[i64], share: f64) -> i64 {
    let at = (share * sorted.len().saturating_sub(1) as f64).round();
    sorted.get(at as usize).copied().unwrap_or(0)
}
