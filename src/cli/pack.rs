//! `readback pack`: a session in one file, to hand over.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::verify::counted;
use super::{Answer, Failure, Output, new_file};
use crate::record::{self, Manifest};

/// Puts a session into one file: record, procedure, clips, signatures and a manifest of hashes.
///
/// The file is a plain zip, and what it unpacks to is a session folder; `verify` and `report` take
/// it as it is. A record that does not verify is packed with its faults, and the exit code is 1.
///
/// Examples:
///
///   readback pack sessions/demo
///   readback pack sessions/demo --no-clips --out demo-words.zip
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The session's folder
    session: PathBuf,
    /// The file to make [default: the folder's name with `.zip`, beside it]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Leave the audio of what was heard out
    #[arg(long)]
    no_clips: bool,
}

#[derive(Serialize)]
struct Document<'a> {
    pack: &'a str,
    verified: bool,
    #[serde(flatten)]
    manifest: &'a Manifest,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let session = &arguments.session;
    let verified = record::verify(session, None)?.verified;
    let to = arguments.out.clone().unwrap_or_else(|| beside(session));
    new_file::must_lie_outside(&to)?;
    let manifest = record::pack(session, &to, !arguments.no_clips)?;
    if !verified {
        eprintln!("warning: the record does not verify, and neither does the pack");
    }
    let name = to.to_string_lossy();
    if output.is_json() {
        output.json(&Document {
            pack: &name,
            verified,
            manifest: &manifest,
        })?;
    } else {
        let files = counted(manifest.files.len() as u64, "file");
        let head = &manifest.head;
        output.text(format!(
            "{name}: {files}, head of line {}: {head}\n",
            manifest.lines
        ))?;
    }
    Ok(Answer::yes_if(verified))
}

fn beside(session: &Path) -> PathBuf {
    let full = session
        .canonicalize()
        .unwrap_or_else(|_| session.to_owned());
    let mut name = full.file_name().unwrap_or_default().to_owned();
    name.push(".zip");
    match session.file_name() {
        Some(_) => session.with_file_name(name),
        None => full.with_file_name(name),
    }
}
