//! The command line: one file a subcommand, and the only place that reads flags and opens the
//! user's files.
//!
//! The answer goes to stdout, as text or with `--json` as one JSON document; messages go to
//! stderr. Exit codes: 0 done, 1 the answer is "no", 2 bad input or usage, 3 a device, an engine
//! or a model is missing.

mod amend;
mod at_step;
mod attention;
mod check;
mod clear;
mod completions;
mod cues;
mod diagnose;
mod dialogue;
mod doctor;
mod failure;
mod hear;
mod job;
mod job_file;
mod key;
mod manual;
pub mod meaning;
mod meter;
mod new_file;
mod opened;
mod output;
mod pack;
mod page;
mod parse;
mod pdf;
pub mod procedure_files;
mod progress;
mod readings_file;
mod recorded;
mod replay;
mod report;
mod review;
mod run;
mod session_answer;
mod session_folder;
mod sessions;
mod sessions_text;
mod sign;
mod text_file;
mod verify;
mod visits;
mod voices;

use clap::{Parser, Subcommand};

pub use failure::Failure;
pub use output::{Answer, Output, visible};

const EXIT_CODES: &str = "\
Exit codes: 0 done, 1 the answer is \"no\", 2 bad input or usage, 3 a device, an engine or a model \
is missing. `readback COMMAND --help` shows examples.";

/// Works through a service procedure by voice: reads it aloud, listens, reads every value back,
/// keeps the place and leaves a record.
#[derive(Debug, Parser)]
#[command(name = "readback", version, about, max_term_width = 100, after_help = EXIT_CODES)]
struct Arguments {
    /// Answer with one JSON document on stdout
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    command: Command,
}

/// Each subcommand is one file of this folder: its arguments and `run`.
#[derive(Debug, Subcommand)]
enum Command {
    Run(run::Arguments),
    Parse(parse::Arguments),
    Check(check::Arguments),
    Diagnose(diagnose::Arguments),
    Replay(replay::Arguments),
    Hear(hear::Arguments),
    Report(report::Arguments),
    Review(review::Arguments),
    Amend(amend::Arguments),
    Verify(verify::Arguments),
    Pack(pack::Arguments),
    Key(key::Arguments),
    Sign(sign::Arguments),
    Clear(clear::Arguments),
    Sessions(sessions::Arguments),
    Doctor(doctor::Arguments),
    Completions(completions::Arguments),
    Manual(manual::Arguments),
}

impl Command {
    fn run(self, output: &mut Output) -> Result<Answer, Failure> {
        match self {
            Command::Run(arguments) => run::run(&arguments, output),
            Command::Parse(arguments) => parse::run(&arguments, output),
            Command::Check(arguments) => check::run(&arguments, output),
            Command::Diagnose(arguments) => diagnose::run(&arguments, output),
            Command::Replay(arguments) => replay::run(&arguments, output),
            Command::Hear(arguments) => hear::run(&arguments, output),
            Command::Report(arguments) => report::run(&arguments, output),
            Command::Review(arguments) => review::run(&arguments, output),
            Command::Amend(arguments) => amend::run(&arguments, output),
            Command::Verify(arguments) => verify::run(&arguments, output),
            Command::Pack(arguments) => pack::run(&arguments, output),
            Command::Key(arguments) => key::run(&arguments, output),
            Command::Sign(arguments) => sign::run(&arguments, output),
            Command::Clear(arguments) => clear::run(&arguments, output),
            Command::Sessions(arguments) => sessions::run(&arguments, output),
            Command::Completions(arguments) => completions::run(&arguments, output),
            Command::Manual(arguments) => manual::run(&arguments, output),
            Command::Doctor(arguments) => doctor::run(&arguments, output),
        }
    }
}

/// Reads the arguments of the process, runs the subcommand and writes its answer to stdout.
///
/// Usage errors, `--help` and `--version` end the process here, as `clap` does it.
///
/// # Errors
///
/// What went wrong, in one sentence that names the place, what was found and what to do next.
pub fn run() -> Result<Answer, Failure> {
    let arguments = Arguments::parse();
    let mut output = Output::stdout(arguments.json);
    match arguments.command.run(&mut output) {
        Err(Failure::Closed) => Ok(Answer::Done),
        answer => answer,
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    /// The commands that a help shows as examples.
    fn examples(help: &str) -> Vec<String> {
        let after = help.split_once("Examples:").map_or("", |(_, after)| after);
        let lines = after.lines().map(str::trim);
        let shown = lines.filter_map(|line| Some(&line[line.find("readback ")?..]));
        shown.map(str::to_owned).collect()
    }

    /// The words of a command, as a shell splits them, up to where its output goes.
    fn words(command: &str) -> Vec<String> {
        let mut words = Vec::new();
        for (number, part) in command.split('"').enumerate() {
            match number % 2 {
                1 => words.push(part.to_owned()),
                _ => words.extend(part.split_whitespace().map(str::to_owned)),
            }
        }
        let ours = words.into_iter();
        ours.take_while(|word| !matches!(word.as_str(), "|" | ">" | "<"))
            .collect()
    }

    #[test]
    fn every_command_is_listed_on_one_line() {
        for command in Arguments::command().get_subcommands() {
            let about = command.get_about().map(ToString::to_string);
            let about = about.unwrap_or_default();
            assert!(!about.is_empty() && !about.contains('\n'), "{about}");
        }
    }

    #[test]
    fn every_help_shows_examples_that_are_understood() {
        for command in Arguments::command().get_subcommands() {
            let name = command.get_name();
            let help = command.get_long_about().map(ToString::to_string);
            let examples = examples(&help.unwrap_or_default());
            assert!(!examples.is_empty(), "`{name}` has no example");
            for example in examples {
                let words = words(&example);
                assert_eq!(words[1], name, "{example}");
                if let Err(error) = Arguments::try_parse_from(words) {
                    panic!("{example}: {error}");
                }
            }
        }
    }
}
