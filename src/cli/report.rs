//! `readback report`: what leaves the house after a session.

use std::collections::BTreeSet;
use std::path::PathBuf;

use super::recorded::{self, RecordedSession};
use super::{Answer, Failure, Output, new_file, pdf};
use crate::record;
use crate::report::{self, Clips, Report};

/// Makes the service report of a recorded session.
///
/// A record that is not whole or was changed is reported as far as it holds together, if its
/// procedure is there: the report begins with what is wrong, and the exit code is 1.
///
/// Examples:
///
///   readback report sessions/demo
///   readback report sessions/demo --format html --clips --out report.html
///   readback report sessions/demo --format csv --out readings.csv
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The session's folder, or its pack
    session: PathBuf,
    /// What to make; `--json` stands for `--format json` [default: text]
    #[arg(long, value_enum)]
    format: Option<Format>,
    /// The new file to write [default: stdout]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Put the audio of readings, notes and the job inside; for HTML
    #[arg(long)]
    clips: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// For a terminal
    Text,
    /// One file for a mail, a screen or paper
    Html,
    /// The readings as a table
    Csv,
    /// Everything, by `procedures/report.schema.json`
    Json,
    /// The HTML printed; needs Chromium
    Pdf,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let format = match (arguments.format, output.is_json()) {
        (Some(Format::Json) | None, true) => Format::Json,
        (Some(_), true) => {
            return Err(Failure::input(
                "found `--json` beside another `--format`, expected one of them",
            ));
        }
        (format, false) => format.unwrap_or(Format::Text),
    };
    if arguments.clips && format != Format::Html {
        return Err(Failure::input(
            "found `--clips`, expected it with `--format html` only",
        ));
    }
    if let Some(out) = &arguments.out {
        new_file::must_be_free(out)?;
    }
    let session = recorded::open(&arguments.session)?;
    let report = session.report();
    let clips = match arguments.clips {
        true => clips(&session, &report),
        false => Clips::new(),
    };
    match (format, &arguments.out) {
        (Format::Pdf, Some(file)) => pdf::print(&report::html(&report, &clips), file)?,
        (Format::Pdf, None) => {
            return Err(Failure::input(
                "a PDF goes into a file; name it with `--out`",
            ));
        }
        (format, Some(file)) => {
            new_file::write(file, written(&report, format, &clips)?.as_bytes())?
        }
        (format, None) => output.text(written(&report, format, &clips)?)?,
    }
    if !report.record.verified {
        eprintln!("warning: the record does not verify; the report says so");
    }
    Ok(Answer::yes_if(report.record.verified))
}

fn written(report: &Report, format: Format, clips: &Clips) -> Result<String, Failure> {
    Ok(match format {
        Format::Text => report::text(report),
        Format::Csv => report::csv(report),
        Format::Json => serde_json::to_string_pretty(report).map_err(Failure::input)? + "\n",
        Format::Html | Format::Pdf => report::html(report, clips),
    })
}

/// The clips that the report names, as they were recorded; one that is gone or was changed is not
/// among them.
fn clips(session: &RecordedSession, report: &Report) -> Clips {
    let heard = report
        .readings
        .iter()
        .filter_map(|r| r.heard.as_ref()?.clip.clone());
    let notes = report
        .notes
        .iter()
        .filter_map(|note| note.note.clip.clone());
    let job = report.job.told.iter().filter_map(|told| told.clip.clone());
    let named: BTreeSet<String> = heard.chain(notes).chain(job).collect();
    let (count, bound) = (named.len(), session.clips());
    let read = named.into_iter().filter_map(|name| {
        let wav = record::clip(session.folder(), bound.get(&name)?).ok()?;
        Some((name, wav))
    });
    let read: Clips = read.collect();
    if read.len() < count {
        eprintln!(
            "note: {} of {count} clips are not inside the report: they were removed, left out of the \
             pack, or changed",
            count - read.len()
        );
    }
    read
}
