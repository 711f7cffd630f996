//! `readback clear`: clips that were kept long enough are removed.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::{Answer, Failure, Output, visible};
use crate::clock::{Clock, Day, SystemClock};
use crate::record;

/// Removes the audio of what was heard before a day, for good; the record says so and still verifies.
///
/// What was understood, the readings and everything else stays. A session that is open, or whose
/// record does not hold together, is left as it is and named; the exit code is 1 then.
///
/// Examples:
///
///   readback clear sessions/* --before 2026-01-01
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The sessions' folders
    #[arg(required = true)]
    sessions: Vec<PathBuf>,
    /// The first day whose clips are kept
    #[arg(long, value_name = "DAY")]
    before: Day,
}

#[derive(Serialize)]
struct Cleared {
    session: String,
    /// `None` where it was left as it is.
    clips: Option<usize>,
    error: Option<String>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let clock = SystemClock::start();
    let cleared: Vec<Cleared> = arguments
        .sessions
        .iter()
        .map(|session| clear(session, arguments.before, &clock))
        .collect();
    if output.is_json() {
        output.json(&cleared)?;
    } else {
        for row in &cleared {
            match (&row.clips, &row.error) {
                (Some(clips), _) => {
                    output.line(format_args!("{}: {clips} removed", row.session))?
                }
                (None, error) => {
                    eprintln!("error: {}", visible(error.as_deref().unwrap_or_default()));
                }
            }
        }
    }
    Ok(Answer::yes_if(
        cleared.iter().all(|row| row.error.is_none()),
    ))
}

fn clear(session: &Path, before: Day, clock: &SystemClock) -> Cleared {
    let (clips, error) = match clear_whole(session, before, clock) {
        Ok(clips) => (Some(clips), None),
        Err(failure) => (None, Some(failure.to_string())),
    };
    Cleared {
        session: session.to_string_lossy().into_owned(),
        clips,
        error,
    }
}

/// A record would verify without the clips that tell what is wrong with it. One that was killed has nothing
/// wrong but its end, and its clips need not be kept for that.
fn clear_whole(session: &Path, before: Day, clock: &SystemClock) -> Result<usize, Failure> {
    let faults = record::verify(session, None)?.faults;
    if let Some(fault) = faults.iter().find(|fault| fault.line.is_none()) {
        return Err(Failure::refused(format_args!(
            "the record in `{}` does not verify and was left as it is: {fault}",
            session.display()
        )));
    }
    Ok(record::clear_clips(session, before, clock.now().wall)?)
}
