//! `readback parse`: what words mean.

use super::meaning::MeaningDocument;
use super::{Answer, Failure, Output, text_file};
use crate::language::{Automaton, Expectation, Language, Say};

/// Says what words mean: a command, readings, a spelling.
///
/// Without a procedure everything may be said: all commands, readings in every unit, and spelling.
/// `,` and `...` stand for a pause. The answer is "no" (exit code 1) where the words mean nothing.
///
/// Examples:
///
///   readback parse "four point seven k ohms"
///   readback parse - < phrases.txt
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
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
    let say = Say::bundled(&arguments.language).map_err(Failure::input)?;
    let document = |words: &str| document(&grammar, &say, words);
    if arguments.words == "-" {
        return lines(document, output);
    }
    let document = document(&arguments.words);
    match output.is_json() {
        true => output.json(&document)?,
        false => output.line(&document)?,
    }
    Ok(Answer::yes_if(document.understood()))
}

/// One JSON list, or one line each.
fn lines(
    document: impl Fn(&str) -> MeaningDocument,
    output: &mut Output,
) -> Result<Answer, Failure> {
    let text = text_file::read_stdin()?;
    let documents: Vec<MeaningDocument> = text.lines().map(document).collect();
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

/// What words mean as they are spoken, or else as they are typed: with digits and unit symbols.
fn document(grammar: &Automaton, say: &Say, words: &str) -> MeaningDocument {
    let spoken = grammar.parse_text(words);
    let typed = || Some(grammar.parse_text(&say.typed(words))).filter(|typed| typed.complete);
    let parse = match spoken.complete {
        true => spoken,
        false => typed().unwrap_or(spoken),
    };
    MeaningDocument::new(words, &parse)
}
