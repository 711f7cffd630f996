//! `readback manual`: the help as manual pages.

use clap::CommandFactory;

use super::{Answer, Failure, Output};

/// Writes a manual page, of the whole or of one command.
///
/// Examples:
///
///   readback manual | man -l -
///   readback manual report > readback-report.1
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The command to write about
    command: Option<String>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let mut whole = super::Arguments::command();
    whole.build();
    let command = match &arguments.command {
        None => whole,
        Some(name) => {
            let found = whole.find_subcommand(name).cloned();
            found.ok_or_else(|| {
                Failure::input(format_args!(
                    "found no command `{name}`; `readback --help` names them all"
                ))
            })?
        }
    };
    let mut page = Vec::new();
    clap_mangen::Man::new(command)
        .render(&mut page)
        .map_err(Failure::input)?;
    output.text(String::from_utf8_lossy(&page))?;
    Ok(Answer::Done)
}
