//! `readback check`: everything wrong or doubtful about procedures.

mod alike;

use std::fs;
use std::path::PathBuf;

use serde::Serialize;

use super::procedure_files::{self, Refused};
use super::{Answer, Failure, Output};
use crate::procedure::{self, PlaneTable, Problem};

/// Finds everything wrong or doubtful about procedures.
///
/// Procedures that one of them calls are read from the same folder. Phrases that sound alike, and
/// answers that PocketSphinx cannot hear, are found where its model is, for its pronouncing
/// dictionary. The answer is "no" (exit code 1) where anything is found.
///
/// Examples:
///
///   readback check procedures/cold-benches.yaml
///   readback check --schema > procedure.schema.json
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The procedures' files
    #[arg(required_unless_present = "schema", value_name = "PROCEDURE")]
    procedures: Vec<PathBuf>,
    /// Print the JSON Schema of a procedure's file, for an editor
    #[arg(long, conflicts_with = "procedures")]
    schema: bool,
}

#[derive(Serialize)]
struct Document {
    procedures: Vec<Checked>,
}

/// One procedure and what was found.
#[derive(Serialize)]
struct Checked {
    file: String,
    sound: bool,
    problems: Vec<Problem>,
    /// What each diagnose step finds at each behavior and level.
    planes: Vec<PlaneTable>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    if arguments.schema {
        output.text(procedure::schema())?;
        return Ok(Answer::Done);
    }
    let mut procedures = Vec::new();
    let mut no_dictionary = false;
    for path in &arguments.procedures {
        let (problems, planes) = match procedure_files::open(path) {
            Ok(files) => {
                let misnamed = procedure::misnamed(&files.library);
                let doubtful = procedure::check(&files.library);
                let alike = alike::problems(&path.display().to_string(), &files.library)?;
                no_dictionary |= alike.is_none();
                let alike = alike.unwrap_or_default();
                let all = misnamed.into_iter().chain(doubtful).chain(alike);
                (all.collect(), procedure::planes(&files.library))
            }
            Err(Refused::File(failure)) => return Err(failure),
            Err(Refused::Problems(problems)) => (problems, Vec::new()),
        };
        procedures.push(Checked {
            file: path.display().to_string(),
            sound: problems.is_empty(),
            problems,
            planes,
        });
    }
    if no_dictionary {
        eprintln!(
            "note: the pronouncing dictionary is not there, so nobody looked for phrases that sound \
             alike or cannot be heard; run `scripts/setup`"
        );
    }
    let sound = procedures.iter().all(|procedure| procedure.sound);
    match output.is_json() {
        true => output.json(&Document { procedures })?,
        false => output.text(procedures.iter().map(text).collect::<String>())?,
    }
    Ok(Answer::yes_if(sound))
}

fn text(checked: &Checked) -> String {
    let planes: String = checked
        .planes
        .iter()
        .map(|plane| format!("{plane}\n"))
        .collect();
    if checked.sound {
        return format!("{planes}{}: nothing found\n", checked.file);
    }
    let problems = checked.problems.iter().map(|problem| {
        // The text is read again for the line itself; without it the message says enough.
        let text = fs::read_to_string(&problem.file).unwrap_or_default();
        format!("{}\n", problem.with_snippet(&text).trim_end())
    });
    let count = checked.problems.len();
    let noun = if count == 1 { "problem" } else { "problems" };
    let list: String = problems.collect();
    format!("{planes}{list}{}: {count} {noun}\n", checked.file)
}
