//! `readback parse`: what words mean.

use std::io;

use super::meaning::MeaningDocument;
use super::{Answer, Failure, Output};
use crate::language::{Automaton, Expectation, Language};

/// Says what words mean: a command, readings, a spelling.
///
/// Without a procedure everything may be said: all commands, readings in every unit, and spelling.
/// `,` and `...` stand for a pause. The answer is "no" (exit code 1) where the words mean nothing.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// The words, or - for one utterance a line from stdin
    #[arg(value_name = "WORDS")]
    words: String,
    /// The language of the words
    #[arg(long, default_value = "en-US", value_name = "LOCALE")]
    language: String,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let language = Language::bundled(&arguments.language).map_err(Failure::input)?;
    let grammar = language
        .compile(&Expectation::everything())
        .map_err(Failure::input)?;
    if arguments.words == "-" {
        return lines(&grammar, output);
    }
    let document = document(&grammar, &arguments.words);
    match output.is_json() {
        true => output.json(&document)?,
        false => output.line(&document)?,
    }
    Ok(Answer::yes_if(document.understood()))
}

/// One JSON list, or one line each.
fn lines(grammar: &Automaton, output: &mut Output) -> Result<Answer, Failure> {
    let text = io::read_to_string(io::stdin())
        .map_err(|error| Failure::input(format_args!("cannot read stdin: {error}")))?;
    let documents: Vec<MeaningDocument> =
        text.lines().map(|line| document(grammar, line)).collect();
    match output.is_json() {
        true => output.json(&documents)?,
        false => {
            let lines = documents.iter().map(|d| format!("{d}\n"));
            output.text(lines.collect::<String>())?;
        }
    }
    let all = documents.iter().all(MeaningDocument::understood);
    Ok(Answer::yes_if(all))
}

fn document(grammar: &Automaton, words: &str) -> MeaningDocument {
    MeaningDocument::new(words, &grammar.parse_text(words))
}
