//! `readback hear`: what recordings were heard as.

mod chart;
mod manifest;
mod recording;
mod score;
mod scores;
mod table;
mod tally;

use std::path::{Path, PathBuf};

use serde::Serialize;

use score::Scoring;

use super::at_step::expected_at;
use super::meaning::MeaningDocument;
use super::procedure_files;
use super::{Answer, Failure, Output};
use crate::hearing::ear::{Ear, Heard};
use crate::hearing::endpoint::Endpointer;
use crate::hearing::engines;
use crate::hearing::models::{Engine, Places};
use crate::hearing::pause::Pause;
use crate::language::{Automaton, Expectation, Hypothesis, Language};
use crate::procedure::StepId;
use crate::session::Guide;

/// Says what each recording was heard as, and what it means.
///
/// Without a procedure every command and every reading may be heard; with one, what may be said at
/// the given step as it is entered. What is not understood means nothing, never a guess. A file
/// that cannot be heard is told, the others are heard, and the exit code is 2.
///
/// Examples:
///
///   readback hear clips/000001.wav --engine pocketsphinx
///   readback hear *.wav --procedure procedures/cold-benches.yaml --step circulator
///   readback hear --score audio-fixtures/corpus/held-out.json --first 8
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// WAV recordings
    #[arg(
        required_unless_present = "score",
        conflicts_with = "score",
        value_name = "FILE"
    )]
    files: Vec<PathBuf>,
    #[command(flatten)]
    scoring: Scoring,
    /// The language that is spoken
    #[arg(
        long,
        default_value = "en-US",
        value_name = "LOCALE",
        conflicts_with = "procedure"
    )]
    language: String,
    /// Hear what may be said in this procedure
    #[arg(long, value_name = "FILE", requires = "step")]
    procedure: Option<PathBuf>,
    /// The step of the procedure
    #[arg(long, value_name = "ID", requires = "procedure")]
    step: Option<String>,
    /// The engine to hear with, instead of the preferred one: vosk, pocketsphinx or network
    #[arg(long, value_name = "NAME", value_parser = engine_named)]
    engine: Option<Engine>,
    /// The model folder of the engine, instead of the one found
    #[arg(long, value_name = "FOLDER")]
    model: Option<PathBuf>,
}

#[derive(Serialize)]
struct Document {
    engine: String,
    model: String,
    files: Vec<FileDocument>,
}

#[derive(Serialize)]
struct FileDocument {
    file: String,
    utterances: Vec<UtteranceDocument>,
}

#[derive(Serialize)]
struct UtteranceDocument {
    start_ms: u64,
    end_ms: u64,
    words: String,
    /// From 0 to 1, `None` where the engine gives none.
    confidence: Option<f32>,
    /// `None` where nothing was understood.
    meaning: Option<MeaningDocument>,
    /// Why nothing was understood.
    error: Option<String>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let (language, grammar) = grammar(arguments)?;
    let places = Places::of_this_machine(arguments.model.clone());
    let mut ear = engines::ear(arguments.engine, language.locale(), &places)?;
    if arguments.scoring.is_asked_for() {
        score::run(&arguments.scoring, &language, &mut ear, output)?;
        return Ok(Answer::Done);
    }
    let unheard = ear.set_grammar(&grammar)?;
    if !unheard.is_empty() {
        eprintln!(
            "note: the model `{}` does not know `{}`; these words cannot be heard",
            ear.name().model,
            unheard.join("`, `")
        );
    }
    let mut document = Document {
        engine: ear.name().engine,
        model: ear.name().model,
        files: Vec::new(),
    };
    let mut failed = None;
    for path in &arguments.files {
        let utterances = match hear(&mut ear, &grammar, path) {
            Ok(utterances) => utterances,
            Err(failure) => {
                // The other recordings are heard all the same.
                if let Some(earlier) = failed.replace(failure) {
                    eprintln!("error: {earlier}");
                }
                continue;
            }
        };
        let file = FileDocument {
            file: path.display().to_string(),
            utterances,
        };
        if !output.is_json() {
            output.text(text(&file))?;
        }
        document.files.push(file);
    }
    if output.is_json() {
        output.json(&document)?;
    }
    failed.map_or(Ok(Answer::Done), Err)
}

fn engine_named(name: &str) -> Result<Engine, String> {
    Engine::named(name).ok_or_else(|| "expected `vosk`, `pocketsphinx` or `network`".to_owned())
}

/// The language spoken and what may be said.
fn grammar(arguments: &Arguments) -> Result<(Language, Automaton), Failure> {
    let (language, expected) = match (&arguments.procedure, &arguments.step) {
        (Some(procedure), Some(step)) => at_step(procedure, step)?,
        _ => {
            let language = Language::bundled(&arguments.language).map_err(Failure::input)?;
            let expected = Expectation {
                spelling: false,
                ..Expectation::everything()
            };
            (language, expected)
        }
    };
    let grammar = language.compile(&expected).map_err(Failure::input)?;
    Ok((language, grammar))
}

/// What may be said at a step when it is entered.
fn at_step(procedure: &Path, step: &str) -> Result<(Language, Expectation), Failure> {
    let library = procedure_files::open_sound(procedure)?.library;
    let main = library.main();
    let id = StepId(step.to_owned());
    if !main.steps.iter().any(|step| step.id == id) {
        let steps: Vec<String> = main.steps.iter().map(|s| format!("`{}`", s.id)).collect();
        return Err(Failure::input(format_args!(
            "`{}` has no step `{step}`, expected one of: {}",
            procedure.display(),
            steps.join(", ")
        )));
    }
    let guide = Guide::bundled(library).map_err(Failure::input)?;
    let expected = expected_at(&guide, &id);
    Ok((guide.language, expected))
}

fn hear(
    ear: &mut Ear,
    grammar: &Automaton,
    path: &Path,
) -> Result<Vec<UtteranceDocument>, Failure> {
    let mut source = recording::open(path)?;
    let mut endpointer = Endpointer::default();
    let mut stretches = Vec::new();
    while let Some(block) = source.next_block().map_err(Failure::input)? {
        stretches.extend(endpointer.push(&block, |_| Pause::Unfinished));
    }
    stretches.extend(endpointer.finish());
    let mut documents = Vec::new();
    for stretch in stretches {
        let heard = ear.hear_stretch(stretch)?;
        documents.extend(heard.iter().map(|heard| document(grammar, heard)));
    }
    Ok(documents)
}

/// The first way to hear the utterance that means something; the best one where none does.
fn document(grammar: &Automaton, heard: &Heard) -> UtteranceDocument {
    let mut meant = heard.hypotheses.iter().map(|hypothesis| {
        let meaning = of(grammar, hypothesis);
        (hypothesis, meaning)
    });
    let meant = match heard.rejected {
        Some(_) => None,
        None => meant.find(|(_, meaning)| meaning.understood()),
    };
    let (hypothesis, meaning) = match meant {
        Some((hypothesis, meaning)) => (Some(hypothesis), Some(meaning)),
        None => (heard.hypotheses.first(), None),
    };
    let error = || match (&heard.rejected, hypothesis) {
        (Some(why), _) => why.clone(),
        (None, None) => "no words were heard".to_owned(),
        (None, Some(best)) => {
            let meaning = of(grammar, best);
            meaning.error().unwrap_or_default().to_owned()
        }
    };
    UtteranceDocument {
        start_ms: heard.utterance.start_ms,
        end_ms: heard.utterance.end_ms,
        words: hypothesis.map(Hypothesis::text).unwrap_or_default(),
        confidence: hypothesis.and_then(confidence),
        error: meaning.is_none().then(error),
        meaning,
    }
}

/// The mean over the words, to the hundredth.
fn confidence(hypothesis: &Hypothesis) -> Option<f32> {
    let known: Vec<f32> = hypothesis
        .words
        .iter()
        .filter_map(|w| w.confidence)
        .collect();
    let mean = known.iter().sum::<f32>() / known.len() as f32;
    (!known.is_empty()).then_some((mean * 100.0).round() / 100.0)
}

fn text(file: &FileDocument) -> String {
    let mut text = format!("{}\n", file.file);
    if file.utterances.is_empty() {
        text += "  no speech\n";
    }
    for utterance in &file.utterances {
        let seconds = |ms: u64| ms as f64 / 1000.0;
        let meaning = match (&utterance.meaning, &utterance.error) {
            (Some(meaning), _) => meaning.to_string(),
            (None, error) => format!("nothing: {}", error.as_deref().unwrap_or_default()),
        };
        text += &format!(
            "  {:>6.1} to {:.1} s  \"{}\"  {meaning}\n",
            seconds(utterance.start_ms),
            seconds(utterance.end_ms),
            utterance.words
        );
    }
    text
}

fn of(grammar: &Automaton, hypothesis: &Hypothesis) -> MeaningDocument {
    MeaningDocument::new(&hypothesis.text(), &grammar.parse(&hypothesis.words))
}
