//! `readback hear --score`: how often what was said is heard right, over the recordings of a corpus.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::manifest::{Kind, Manifest, Said, folder};
use super::recording::{self, Listened};
use super::scores::Scores;
use super::tally::Outcome;
use super::{chart, table};
use crate::cli::meaning::MeaningParts;
use crate::cli::{Failure, Output};
use crate::hearing::ear::Ear;
use crate::language::{
    Automaton, Choice, Command, Expectation, Hypothesis, Language, Meaning, understand,
};

/// What to score and how.
#[derive(Debug, clap::Args)]
pub struct Scoring {
    /// Score the recordings of a corpus, by their manifests
    #[arg(long, value_name = "MANIFEST", num_args = 1.., conflicts_with = "procedure")]
    score: Vec<PathBuf>,
    /// Score no more than the first recordings of each manifest; their order is drawn by lot
    #[arg(
        long,
        value_name = "COUNT",
        requires = "score",
        conflicts_with = "files"
    )]
    first: Option<usize>,
    /// Also draw the shares by level into an SVG file
    #[arg(
        long,
        value_name = "FILE",
        requires = "score",
        conflicts_with = "files"
    )]
    chart: Option<PathBuf>,
}

/// One recording and what became of it.
#[derive(Serialize)]
pub struct Scored {
    #[serde(flatten)]
    pub said: Said,
    pub meant: String,
    /// `None` for talk and noise.
    pub outcome: Option<Outcome>,
    pub heard: Vec<HeardDocument>,
}

#[derive(Serialize)]
pub struct HeardDocument {
    start_ms: u64,
    end_ms: u64,
    pub meaning: Option<String>,
    /// Whether its words mean what was said, believed or not.
    fits: bool,
    rejected: Option<String>,
    hypotheses: Vec<Hypothesis>,
    /// Of the recording so much had passed when the end was found.
    pub end_found_ms: u64,
    pub decoding_ms: u64,
}

impl Scoring {
    pub fn is_asked_for(&self) -> bool {
        !self.score.is_empty()
    }
}

/// The two grammars that the recordings are heard with.
struct Grammars {
    /// Every command and every reading.
    readings: Automaton,
    /// Every command and every answer of the corpus.
    choices: Automaton,
}

pub fn run(
    scoring: &Scoring,
    language: &Language,
    ear: &mut Ear,
    output: &mut Output,
) -> Result<(), Failure> {
    let mut scored = Vec::new();
    let mut split = String::new();
    let mut seconds = 0.0;
    let corpus = scoring
        .score
        .iter()
        .map(|path| read(path, scoring, language));
    let corpus: Vec<_> = corpus.collect::<Result<_, Failure>>()?;
    for (path, manifest, grammars) in corpus {
        split = manifest.split;
        // One grammar after the other: a change of grammar takes time.
        let (choices, others): (Vec<Said>, Vec<Said>) = manifest
            .utterances
            .into_iter()
            .partition(|said| said.kind == Kind::Choice);
        for (all, grammar) in [(others, &grammars.readings), (choices, &grammars.choices)] {
            ear.set_grammar(grammar)?;
            for said in all {
                let file = folder(path).join(&said.file);
                let (listened, length_s) = recording::listen(ear, &file)?;
                if !said.kind.is_for_us() {
                    seconds += length_s;
                }
                scored.push(Scored::new(said, grammar, listened));
            }
        }
    }
    let scores = Scores::new(&ear.name(), split, scored, seconds / 3600.0);
    if let Some(path) = &scoring.chart {
        let svg = chart::draw(&scores);
        std::fs::write(path, svg).map_err(|why| Failure::file("write", path, &why))?;
    }
    match output.is_json() {
        true => output.json(&scores),
        false => output.text(table::text(&scores)),
    }
}

/// A manifest that can be scored, with its grammars.
fn read<'a>(
    path: &'a Path,
    scoring: &Scoring,
    language: &Language,
) -> Result<(&'a Path, Manifest, Grammars), Failure> {
    let mut manifest = Manifest::read(path)?;
    let grammars = Grammars::new(language, &manifest)?;
    let first = scoring.first.unwrap_or(usize::MAX);
    manifest.utterances.truncate(first);
    manifest.check(path, |said| {
        let meaning = grammars.of(said).parse_text(&said.words).meaning();
        !matches!(meaning, Meaning::Nothing { .. })
    })?;
    Ok((path, manifest, grammars))
}

impl Grammars {
    fn new(language: &Language, manifest: &Manifest) -> Result<Grammars, Failure> {
        let readings = Expectation {
            spelling: false,
            ..Expectation::everything()
        };
        let mut choices: Vec<Choice> = Vec::new();
        let said = manifest.utterances.iter();
        for said in said.filter(|said| said.kind == Kind::Choice) {
            match choices.iter_mut().find(|choice| choice.id == said.form) {
                Some(choice) => choice.phrases.push(said.words.clone()),
                None => choices.push(Choice {
                    id: said.form.clone(),
                    phrases: vec![said.words.clone()],
                }),
            }
        }
        let choices = Expectation {
            commands: Command::ALL.into_iter().collect(),
            choices,
            ..Expectation::default()
        };
        Ok(Grammars {
            readings: language.compile(&readings).map_err(Failure::input)?,
            choices: language.compile(&choices).map_err(Failure::input)?,
        })
    }

    /// What a recording is heard with.
    fn of(&self, said: &Said) -> &Automaton {
        match said.kind {
            Kind::Choice => &self.choices,
            _ => &self.readings,
        }
    }
}

impl Scored {
    fn new(said: Said, grammar: &Automaton, listened: Vec<Listened>) -> Scored {
        let meant = grammar.parse_text(&said.words).meaning();
        let mut accepted = Vec::new();
        let mut heard = Vec::new();
        for listened in listened {
            let meaning = listened.meaning(grammar);
            let believed = meaning
                .clone()
                .filter(|_| listened.heard.rejected.is_none());
            let fits = said.kind.is_for_us() && meaning.is_some_and(|m| m.same_as(&meant));
            heard.push(HeardDocument::new(listened, believed.as_ref(), fits));
            accepted.extend(believed);
        }
        let outcome = said.kind.is_for_us().then(|| outcome(&accepted, &meant));
        Scored {
            meant: match said.kind.is_for_us() {
                true => MeaningParts::new(&meant).to_string(),
                false => String::new(),
            },
            said,
            outcome,
            heard,
        }
    }
}

/// What became of an utterance that meant something, by what was believed in it, in order.
fn outcome(accepted: &[Meaning], meant: &Meaning) -> Outcome {
    // Who calls "stop, stop" is heard at the first; another one stops nothing more.
    let stops = matches!(meant, Meaning::Command { command, .. } if *command == Command::Stop);
    match accepted {
        [] => Outcome::Rejected,
        [_, _, ..] if !stops => Outcome::Wrong,
        all if all.iter().all(|heard| heard.same_as(meant)) => Outcome::Right,
        _ => Outcome::Wrong,
    }
}

impl Listened {
    /// What its words mean, if anything.
    fn meaning(&self, grammar: &Automaton) -> Option<Meaning> {
        let meaning = understand(grammar, &self.heard.hypotheses)[0]
            .meaning
            .clone();
        (!matches!(meaning, Meaning::Nothing { .. })).then_some(meaning)
    }
}

impl HeardDocument {
    fn new(listened: Listened, meaning: Option<&Meaning>, fits: bool) -> HeardDocument {
        let heard = listened.heard;
        HeardDocument {
            start_ms: heard.utterance.start_ms,
            end_ms: heard.utterance.end_ms,
            meaning: meaning.map(|meaning| MeaningParts::new(meaning).to_string()),
            fits,
            rejected: heard.rejected,
            hypotheses: heard.hypotheses,
            end_found_ms: listened.end_found_ms,
            decoding_ms: listened.decoding_ms,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_stop_may_be_heard_more_than_once() {
        let language = Language::bundled("en-US").unwrap();
        let grammar = language.compile(&Expectation::everything()).unwrap();
        let meaning = |words: &&str| grammar.parse_text(words).meaning();
        for (meant, heard, expected) in [
            ("stop", &[][..], Outcome::Rejected),
            ("stop", &["stop"], Outcome::Right),
            ("stop", &["stop", "stop", "stop"], Outcome::Right),
            ("stop", &["stop", "next"], Outcome::Wrong),
            ("next", &["next"], Outcome::Right),
            ("next", &["next", "next"], Outcome::Wrong),
            ("nine volts", &["nine volts", "nine volts"], Outcome::Wrong),
            ("nine volts", &["five volts"], Outcome::Wrong),
        ] {
            let accepted: Vec<Meaning> = heard.iter().map(meaning).collect();
            assert_eq!(
                outcome(&accepted, &meaning(&meant)),
                expected,
                "{meant}: {heard:?}"
            );
        }
    }
}
