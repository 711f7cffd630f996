//! `readback sign`: a signature over the end of a record.

use std::path::PathBuf;

use serde::Serialize;

use super::{Answer, Failure, Output, key};
use crate::record::{self, Signed};

/// Signs a record as it ends now, so that an end cut off later shows.
///
/// The signature (Ed25519) lies beside the record, in `signed/`, and goes into its pack. It stays
/// right when something is added to the record. A record that does not verify is not signed.
///
/// Examples:
///
///   readback sign sessions/demo --key amsel.pem
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The session's folder
    session: PathBuf,
    /// The private key, from `readback key`
    #[arg(long, value_name = "FILE")]
    key: PathBuf,
}

#[derive(Serialize)]
struct Document<'a> {
    session: &'a str,
    #[serde(flatten)]
    signed: &'a Signed,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let session = &arguments.session;
    let key = key::read_private(&arguments.key)?;
    let found = record::verify(session, None)?;
    if let Some(fault) = found.faults.first() {
        return Err(Failure::refused(format_args!(
            "the record does not verify and was not signed: {fault}"
        )));
    }
    if found.open {
        return Err(Failure::input(format_args!(
            "`{}` is still open; end that session first",
            session.display()
        )));
    }
    let mine = Signed {
        line: found.lines,
        key: key.public().fingerprint(),
    };
    // Once is enough: a second signature over the same line says nothing more.
    let signed = match found.signed.contains(&mine) {
        true => mine,
        false => record::sign(session, &found.head, found.lines, &key)?,
    };
    if output.is_json() {
        output.json(&Document {
            session: &session.to_string_lossy(),
            signed: &signed,
        })?;
    } else {
        output.text(format!(
            "signed up to line {} by the key {}\n",
            signed.line, signed.key
        ))?;
    }
    Ok(Answer::Done)
}
