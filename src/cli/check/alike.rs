//! Phrases that can be said at one step, mean different things, and sound alike; and answers that an
//! engine with a pronouncing dictionary cannot hear.

use std::collections::{BTreeMap, HashSet};

use crate::cli::Failure;
use crate::cli::at_step::expected_at;
use crate::hearing::lexicon::Lexicon;
use crate::hearing::models::{Engine, Places};
use crate::hearing::phones::Pronunciations;
use crate::language::{Automaton, Command, Expectation, Language};
use crate::procedure::{Library, Problem, Severity, Step};
use crate::session::Guide;

/// Phrases nearer than this are taken for one another. Of the commands and answers of the corpus
/// "no" was heard as "note", 0.27 apart, and no other pair below 0.6; see `benches/hearing.md`.
const ALIKE: f32 = 0.35;
/// Of each meaning so many phrases are looked at, none of more words.
const MOST_PHRASES: usize = 60;
const MOST_WORDS: usize = 8;

/// Every answer of which no phrase is in the pronouncing dictionary, and every pair of an answer and
/// another answer or a command that sounds like it, at the answer's step. `None`, where this machine has no
/// such dictionary of the language.
///
/// # Errors
///
/// A grammar or lexicon of the language is broken, or the dictionary cannot be read.
pub fn problems(file: &str, library: &Library) -> Result<Option<Vec<Problem>>, Failure> {
    let guide = Guide::bundled(library.clone()).map_err(Failure::input)?;
    let locale = guide.language.locale().to_owned();
    let model = Places::of_this_machine(None).model(Engine::PocketSphinx, &locale);
    let lexicon = Lexicon::bundled(&locale).map_err(Failure::input)?;
    let Some(dictionary) = model.map(|folder| folder.join("cmudict-en-us.dict")) else {
        // A language without words beside a dictionary has no dictionary to be missed.
        let is_missed = lexicon.entries().next().is_some();
        return Ok((!is_missed).then(Vec::new));
    };
    let mut steps = Vec::new();
    for step in &library.main().steps {
        let expected = expected_at(&guide, &step.id);
        if !expected.choices.is_empty() {
            steps.push((step, meanings(&guide.language, &expected)?));
        }
    }
    let phrases = steps
        .iter()
        .flat_map(|(_, meanings)| meanings.values().flatten());
    let wanted: HashSet<&str> = phrases.flat_map(|p| p.split_whitespace()).collect();
    let said = Pronunciations::read(&dictionary, &lexicon, &wanted)
        .map_err(|why| Failure::file("read", &dictionary, &why))?;
    let at_steps = steps.iter().flat_map(|(step, meanings)| {
        let unheard = unheard(&said, meanings);
        let unheard = unheard.map(|(answer, word)| unheard_problem(file, step, answer, word));
        let pairs = pairs(&said, meanings);
        unheard.chain(pairs.into_iter().map(|pair| pair.problem(file, step)))
    });
    Ok(Some(at_steps.collect()))
}

/// The answers of which no phrase can be pronounced, with a word that is not known.
fn unheard<'a>(
    said: &'a Pronunciations,
    meanings: &'a Meanings,
) -> impl Iterator<Item = (&'a str, &'a str)> {
    meanings.iter().filter_map(|(meant, phrases)| {
        let Meant::Answer(answer) = meant else {
            return None;
        };
        let unknown: Option<Vec<&str>> = phrases.iter().map(|p| said.unknown(p)).collect();
        Some((answer.as_str(), *unknown?.first()?))
    })
}

fn unheard_problem(file: &str, step: &Step, answer: &str, word: &str) -> Problem {
    Problem {
        severity: Severity::Doubt,
        rule: "unheard",
        file: file.to_owned(),
        place: step.place,
        found: format!(
            "the answer `{answer}`, which pocketsphinx cannot hear: `{word}` is not in its dictionary"
        ),
        expected: "for every answer a phrase of words that it knows".into(),
        remedy: "list a phrase of common words beside it, such as the part's color or place".into(),
    }
}

/// What a phrase means at a step: an answer or a command.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Meant {
    Answer(String),
    Command(&'static str),
}

type Meanings = BTreeMap<Meant, Vec<String>>;

fn meanings(language: &Language, expected: &Expectation) -> Result<Meanings, Failure> {
    let phrases = |expected: Expectation| -> Result<Vec<String>, Failure> {
        let grammar = language.compile(&expected).map_err(Failure::input)?;
        Ok(phrases_of(&grammar))
    };
    let mut meanings = Meanings::new();
    for choice in &expected.choices {
        let expected = Expectation {
            choices: vec![choice.clone()],
            ..Expectation::default()
        };
        meanings.insert(Meant::Answer(choice.id.clone()), phrases(expected)?);
    }
    for command in expected.commands.iter().filter(|c| stands_alone(**c)) {
        let expected = Expectation {
            commands: [*command].into(),
            ..Expectation::default()
        };
        meanings.insert(Meant::Command(command.name()), phrases(expected)?);
    }
    Ok(meanings)
}

/// What follows a correction is a value.
fn stands_alone(command: Command) -> bool {
    command != Command::Correction
}

/// What may be said, as text.
fn phrases_of(grammar: &Automaton) -> Vec<String> {
    let mut found = Vec::new();
    let mut open = vec![(0, Vec::<&str>::new())];
    while let Some((state, words)) = open.pop() {
        if grammar.is_final(state) && !words.is_empty() {
            found.push(words.join(" "));
        }
        if found.len() == MOST_PHRASES {
            break;
        }
        if words.len() < MOST_WORDS {
            let arcs = grammar.arcs(state);
            open.extend(arcs.map(|arc| (arc.to, [words.as_slice(), &[arc.word]].concat())));
        }
    }
    found.sort();
    found.dedup();
    found
}

/// An answer's phrase and another one that sounds like it.
struct Pair {
    phrase: String,
    other: String,
    /// What the other one means.
    meant: Meant,
    /// Of the answer's phrases the one that stands out most.
    better: Option<String>,
}

/// The nearest pair of each answer and each other meaning, where it is near.
fn pairs(said: &Pronunciations, meanings: &Meanings) -> Vec<Pair> {
    let mut found = Vec::new();
    for (answer, phrases) in meanings {
        let Meant::Answer(_) = answer else { continue };
        // Of two answers the one that comes later tells.
        let others = meanings.iter().filter(|(other, _)| match other {
            Meant::Answer(_) => *other < answer,
            Meant::Command(_) => true,
        });
        let mut others: Vec<_> = others.collect();
        others
            .retain(|(_, list)| nearest(said, phrases, list).is_some_and(|(far, ..)| far < ALIKE));
        for (meant, list) in others {
            let Some((_, phrase, other)) = nearest(said, phrases, list) else {
                continue;
            };
            let stands_out = |phrase: &&String| {
                let all = meanings.iter().filter(|(meant, _)| *meant != answer);
                let mut all =
                    all.filter_map(|(_, list)| nearest(said, std::slice::from_ref(*phrase), list));
                said.unknown(phrase).is_none() && all.all(|(far, ..)| far >= ALIKE)
            };
            found.push(Pair {
                phrase: phrase.to_owned(),
                other: other.to_owned(),
                meant: meant.clone(),
                better: phrases.iter().find(stands_out).cloned(),
            });
        }
    }
    found
}

/// How far apart the nearest two of two lists are, and which they are.
fn nearest<'a>(
    said: &Pronunciations,
    ones: &'a [String],
    others: &'a [String],
) -> Option<(f32, &'a str, &'a str)> {
    let pairs = ones
        .iter()
        .flat_map(|one| others.iter().map(move |other| (one, other)));
    let apart = pairs
        .filter_map(|(one, other)| Some((said.apart(one, other)?, one.as_str(), other.as_str())));
    apart.min_by(|a, b| a.0.total_cmp(&b.0))
}

impl Pair {
    fn problem(self, file: &str, step: &Step) -> Problem {
        let meant = match &self.meant {
            Meant::Answer(id) => format!("answers `{id}`"),
            Meant::Command(name) => format!("is the command `{name}`"),
        };
        let remedy = match self.better {
            Some(better) => format!("leave `{}` out and keep `{better}`", self.phrase),
            None => format!(
                "use another word for `{}`, or put one before it that the other has not",
                self.phrase
            ),
        };
        Problem {
            severity: Severity::Doubt,
            rule: "sounds-alike",
            file: file.to_owned(),
            place: step.place,
            found: format!(
                "`{}`, which sounds like `{}`, which {meant}",
                self.phrase, self.other
            ),
            expected: "phrases that can be told apart beside a machine".into(),
            remedy,
        }
    }
}
