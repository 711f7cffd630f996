//! `readback sessions`: many sessions, found, compared and counted.

use std::path::{Path, PathBuf};

use clap::builder::NonEmptyStringValueParser;
use serde::Serialize;

use super::progress::Progress;
use super::recorded::Guides;
use super::{Answer, Failure, Output, recorded, sessions_text};
use crate::archive::{Archive, ArchiveError, Compared, Kept, Listed, Refreshed, Tally, Wanted};
use crate::clock::Day;
use crate::language::Meaning;
use crate::session::Event;

/// Lists, finds, compares and counts the sessions of a folder.
///
/// An index beside the sessions is brought up to date first; it may be deleted at any time. What
/// was corrected after a session is taken as corrected. Records are not verified here: `readback
/// verify` does that.
///
/// Examples:
///
///   readback sessions sessions
///   readback sessions sessions --find "strainer drips"
///   readback sessions sessions --serial HS24 --show readings
///   readback sessions sessions --step resistance --show readings
///   readback sessions sessions --since 2026-01-01 --show tally
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The folder that holds the sessions' folders
    folder: PathBuf,
    /// Only sessions in which all these words occur: in the job, the findings, the notes
    #[arg(long, value_name = "WORDS", value_parser = NonEmptyStringValueParser::new())]
    find: Option<String>,
    /// Only those of the unit with this serial number
    #[arg(long, value_name = "NUMBER")]
    serial: Option<String>,
    /// Only those of this procedure
    #[arg(long, value_name = "ID")]
    procedure: Option<String>,
    /// Only those in which this finding stands
    #[arg(long, value_name = "ID")]
    finding: Option<String>,
    /// Only those begun on this day or later
    #[arg(long, value_name = "DAY")]
    since: Option<Day>,
    /// What to show of them
    #[arg(long, value_enum, default_value = "list")]
    show: Show,
    /// Only the readings of this step
    #[arg(long, value_name = "ID")]
    step: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Show {
    /// One line each, the newest first
    List,
    /// What was read, step by step: one unit over time, one step over units
    Readings,
    /// How often each finding, how long each step, what was misheard and repeated
    Tally,
}

#[derive(Serialize)]
#[serde(rename_all = "snake_case")]
enum Shown {
    Sessions(Vec<Listed>),
    Readings(Vec<Compared>),
    Tally(Tally),
}

#[derive(Serialize)]
struct Document {
    /// Those that cannot be read, and why.
    unreadable: Vec<(String, String)>,
    #[serde(flatten)]
    shown: Shown,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    if arguments.step.is_some() && arguments.show != Show::Readings {
        return Err(Failure::input(
            "found `--step`, expected it with `--show readings` only",
        ));
    }
    let (archive, refreshed) = up_to_date(&arguments.folder)?;
    let wanted = Wanted {
        serial: arguments.serial.clone(),
        procedure: arguments.procedure.clone(),
        finding: arguments.finding.clone(),
        words: arguments.find.clone(),
        since: arguments.since.map(|day| day.to_string()),
    };
    let shown = match arguments.show {
        Show::List => Shown::Sessions(archive.sessions(&wanted)?),
        Show::Readings => Shown::Readings(archive.compared(&wanted, arguments.step.as_deref())?),
        Show::Tally => Shown::Tally(archive.tally(&wanted)?),
    };
    tell_unreadable(&arguments.folder, &refreshed);
    let all_read = refreshed.unreadable.is_empty();
    if output.is_json() {
        let unreadable = refreshed.unreadable.into_iter();
        output.json(&Document {
            unreadable: unreadable.map(|one| (one.folder, one.why)).collect(),
            shown,
        })?;
    } else {
        output.text(match &shown {
            Shown::Sessions(sessions) => sessions_text::list(sessions),
            Shown::Readings(readings) => sessions_text::readings(readings),
            Shown::Tally(tally) => sessions_text::tally(tally),
        })?;
    }
    Ok(Answer::yes_if(all_read))
}

/// The sessions below a folder, by an index that is up to date.
///
/// # Errors
///
/// The folder cannot be read, or no index made.
pub fn up_to_date(folder: &Path) -> Result<(Archive, Refreshed), ArchiveError> {
    let mut archive = Archive::open(folder)?;
    let mut progress = Progress::new("reading sessions");
    let mut guides = Guides::default();
    let read = |folder: &Path| kept(folder, &mut guides);
    let refreshed = archive.refresh(read, |done, of| progress.tell(done, of))?;
    Ok((archive, refreshed))
}

fn tell_unreadable(folder: &Path, refreshed: &Refreshed) {
    for one in &refreshed.unreadable {
        let session = folder.join(&one.folder);
        eprintln!("warning: `{}` was left out: {}", session.display(), one.why);
    }
}

/// What the index keeps of one session.
fn kept(folder: &Path, guides: &mut Guides) -> Result<Kept, String> {
    let session =
        recorded::open_unchecked(folder, guides).map_err(|failure| failure.to_string())?;
    let heard = session.heard().filter(|(_, free_words)| !free_words);
    let meant_nothing = heard.filter_map(|(event, _)| match event {
        Event::Heard {
            words,
            meaning: Meaning::Nothing { .. },
            ..
        } => Some(words.clone()),
        _ => None,
    });
    Ok(Kept {
        meant_nothing: meant_nothing.collect(),
        report: session.report(),
    })
}

impl From<ArchiveError> for Failure {
    fn from(error: ArchiveError) -> Failure {
        Failure::input(error)
    }
}
