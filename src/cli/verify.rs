//! `readback verify`: is a record whole and unchanged.

use std::path::PathBuf;

use serde::Serialize;

use super::{Answer, Failure, Output, key, opened};
use crate::record::{RecordError, Verification};
use crate::report;

/// Checks that a session's record is whole and unchanged, and names the first bad line.
///
/// Lines cut off the end together with a new closing line, or a record written anew from its
/// start, cannot be seen from the record alone: keep the head that is printed here and give it
/// with --head later, or sign it with `readback sign` and ask for that signature with --key.
///
/// Examples:
///
///   readback verify sessions/demo
///   readback verify demo.zip --key maker.pub.pem
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The session's folder, or its pack
    session: PathBuf,
    /// The hash of a line of this record that was kept elsewhere
    #[arg(long, value_name = "HASH", value_parser = hash)]
    head: Option<String>,
    /// A public key by which the record must be signed
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
}

#[derive(Serialize)]
struct Document<'a> {
    session: &'a str,
    #[serde(flatten)]
    found: &'a Verification,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let head = arguments.head.as_deref();
    let opened = opened::open(&arguments.session)?;
    let mut found = opened.verify(head)?;
    if let Some(file) = &arguments.key {
        found.must_be_signed_by(&key::read_public(file)?);
    }
    if output.is_json() {
        output.json(&Document {
            session: &arguments.session.to_string_lossy(),
            found: &found,
        })?;
    } else {
        output.text(text(&found))?;
    }
    Ok(Answer::yes_if(found.verified))
}

fn hash(text: &str) -> Result<String, String> {
    let digits = text.bytes().filter(u8::is_ascii_hexdigit).count();
    match digits == 64 && text.len() == 64 {
        true => Ok(text.to_lowercase()),
        false => Err("expected the 64 hexadecimal digits that `verify` prints".to_owned()),
    }
}

fn text(found: &Verification) -> String {
    let verdict = match (found.verified, found.open) {
        (true, false) if found.rewritten.is_some() => "whole, and unchanged in what it says",
        (true, false) if !found.broken_off.is_empty() => {
            "unchanged; it broke off and was taken up again"
        }
        (true, false) if found.unnamed_clips > 0 => {
            "unchanged, but clips that it does not name were put beside it"
        }
        (true, false) => "whole and unchanged",
        (true, true) => "whole and unchanged so far, the session is still open",
        (false, _) => "does not verify: do not rely on it as it is, ask for a copy that does",
    };
    let mut text = format!("{verdict}\n");
    if let Some(line) = found.rewritten {
        text += &format!(
            "line {line} says what was recorded, but is not written as it was: an editor spaced it \
             otherwise\n"
        );
    }
    for line in &found.broken_off {
        text += &format!(
            "line {line}: the session was taken up again here without having been ended: it was \
             killed, or lines were cut off\n"
        );
    }
    if found.unnamed_clips > 0 {
        text += &format!(
            "{} that no line names {} found when it was taken up again\n",
            counted(found.unnamed_clips, "clip"),
            if found.unnamed_clips == 1 {
                "was"
            } else {
                "were"
            }
        );
    }
    for fault in &found.faults {
        text += &format!("{fault}\n");
    }
    let good = match found.first_bad_line {
        Some(_) => "good before the first bad line: ",
        None => "",
    };
    let gone = match found.clips_gone {
        0 => String::new(),
        _ => format!(
            ", {}",
            report::clips_gone(found.clips_gone, found.clips_cleared)
        ),
    };
    text += &format!(
        "{good}{}, {}, {}{gone}\n",
        counted(found.lines, "line"),
        counted(found.events, "event"),
        counted(found.clips, "clip")
    );
    if found.lines > 0 {
        text += &format!("head of line {}: {}\n", found.lines, found.head);
    }
    for signed in &found.signed {
        text += &format!(
            "signed up to line {} by the key {}\n",
            signed.line, signed.key
        );
    }
    let signed = found.signed.iter().map(|signed| signed.line).max();
    match signed.map(|line| (line + 1, found.lines)) {
        Some((first, last)) if first == last => text += &format!("line {last} is not signed\n"),
        Some((first, last)) if first < last => {
            text += &format!("lines {first} to {last} are not signed\n");
        }
        _ => {}
    }
    text
}

pub(super) fn counted(count: u64, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        _ => format!("{count} {what}s"),
    }
}

impl From<RecordError> for Failure {
    fn from(error: RecordError) -> Failure {
        Failure::input(error)
    }
}
