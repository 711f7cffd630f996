//! `readback completions`: what a shell needs to complete the commands.

use clap::CommandFactory;
use clap_complete::Shell;

use super::{Answer, Failure, Output};

/// Writes a script that teaches a shell to complete the commands.
///
/// Examples:
///
///   readback completions bash > ~/.local/share/bash-completion/completions/readback
///   readback completions zsh > ~/.zfunc/_readback
///   readback completions fish > ~/.config/fish/completions/readback.fish
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    shell: Shell,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let mut script = Vec::new();
    let mut command = super::Arguments::command();
    clap_complete::generate(arguments.shell, &mut command, "readback", &mut script);
    output.text(String::from_utf8_lossy(&script))?;
    Ok(Answer::Done)
}
