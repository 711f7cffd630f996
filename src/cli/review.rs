//! `readback review`: a recorded session on a page, to be read, heard and put right.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use serde::Serialize;

use super::meaning::MeaningParts;
use super::opened::Opened;
use super::recorded::{self, RecordedSession};
use super::{Answer, Failure, Output, amend, page};
use crate::language::Meaning;
use crate::record::{self, BoundFile};
use crate::report::{self, Report};
use crate::screen::{Review, ReviewHooks};
use crate::session::{self, Event};

/// Shows a recorded session on a page for a browser of this machine.
///
/// What was said stands there with its sound, readings against their limits, findings with their
/// reasons, and what needs a look. Readings can be put right there, notes given a text, remarks
/// made and the record signed off; each is added to the record as `readback amend` does it. A pack
/// can be looked at only. Ctrl-C ends it.
///
/// Examples:
///
///   readback review sessions/demo
///   readback review demo.zip --no-open
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The session's folder, or its pack
    session: PathBuf,
    /// The port of the page; 0 takes any that is free
    #[arg(long, default_value_t = 0, value_parser = page::port)]
    port: u16,
    /// Say where the page is and leave opening it to you
    #[arg(long)]
    no_open: bool,
}

/// What was heard, as the page shows it.
#[derive(Serialize)]
struct Heard {
    ms: u64,
    words: String,
    confidence: Option<f32>,
    /// Empty where they meant nothing.
    meaning: String,
    clip: Option<String>,
    typed: bool,
    /// What was said, as it was put right after the session.
    put_right: Option<String>,
}

#[derive(Serialize)]
struct Shown {
    value: String,
    limits: String,
}

#[derive(Serialize)]
struct Document<'a> {
    report: &'a Report,
    /// Whether the record may be relied on, as the report words it.
    state: String,
    /// What it came to, as the report words it.
    result: Vec<(&'static str, String)>,
    heard: Vec<Heard>,
    /// Of every finding, as the report words them.
    reasons: Vec<Vec<String>>,
    /// Of every reading, as the report words them.
    readings: Vec<Shown>,
    /// The clips that are there as they were recorded.
    clips: Vec<&'a str>,
    /// The numbers of the findings that have a chart.
    charts: Vec<usize>,
    /// It may only be looked at.
    pack: bool,
}

/// Size and time of a file.
type Stamp = (u64, SystemTime);

/// A session as it was last read.
struct Read {
    opened: Opened,
    document: String,
    charts: Vec<Option<String>>,
    /// Of `session.jsonl`, to see whether something was added to it.
    stamp: Option<Stamp>,
    clips: BTreeMap<String, BoundFile>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let session = arguments.session.clone();
    let read = Arc::new(Mutex::new(read(&session)?));
    let review = Review::open(arguments.port, hooks(session, read)).map_err(Failure::input)?;
    let url = review.address().url();
    if output.is_json() {
        output.json(&serde_json::json!({ "url": url }))?;
    } else {
        output.line(format_args!("review: {url}"))?;
    }
    if !arguments.no_open {
        show(&url);
    }
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(Failure::input)?;
    let ended = runtime.block_on(tokio::signal::ctrl_c());
    ended.map_err(Failure::input)?;
    Ok(Answer::Done)
}

fn hooks(session: PathBuf, read: Arc<Mutex<Read>>) -> ReviewHooks {
    let (shown, kept) = (Arc::clone(&read), Arc::clone(&read));
    let looked_at = session.clone();
    // What a request that failed half way has left behind is what was last read as a whole.
    ReviewHooks {
        document: Arc::new(move || {
            let mut read = shown.lock().unwrap_or_else(PoisonError::into_inner);
            if read.stamp != stamp(&looked_at)
                && let Ok(anew) = self::read(&looked_at)
            {
                *read = anew;
            }
            read.document.clone()
        }),
        file: Arc::new(move |name| {
            let read = kept.lock().unwrap_or_else(PoisonError::into_inner);
            file(&read, name)
        }),
        amend: Arc::new(move |asked| put_right(&session, &read, asked)),
    }
}

fn put_right(
    session: &Path,
    read: &Arc<Mutex<Read>>,
    asked: serde_json::Value,
) -> Result<Vec<String>, String> {
    if session.is_file() {
        return Err("this is a pack: unpack it, and review the folder".to_owned());
    }
    let asked: amend::Asked = serde_json::from_value(asked).map_err(|error| error.to_string())?;
    let mut read = read.lock().unwrap_or_else(PoisonError::into_inner);
    let told = amend::amend_and_tell(session, &asked);
    let told = told.map_err(|failure| failure.to_string())?.1;
    *read = self::read(session).map_err(|failure| failure.to_string())?;
    Ok(told)
}

fn stamp(session: &Path) -> Option<Stamp> {
    let about = session.join("session.jsonl").metadata().ok()?;
    Some((about.len(), about.modified().ok()?))
}

fn read(path: &Path) -> Result<Read, Failure> {
    let stamp = stamp(path);
    let session = recorded::open(path)?;
    let report = session.report();
    let clips = session.clips();
    let charts: Vec<Option<String>> = report.findings.iter().map(|f| f.chart.clone()).collect();
    let has = |(number, chart): (usize, &Option<String>)| chart.is_some().then_some(number);
    let document = serde_json::to_string(&Document {
        report: &report,
        state: report::record_in_words(&report.record),
        result: report::result_in_words(&report),
        heard: heard(&session),
        reasons: report.findings.iter().map(report::reasons).collect(),
        readings: report
            .readings
            .iter()
            .map(|reading| Shown {
                value: report::value(reading),
                limits: report::limits(reading),
            })
            .collect(),
        clips: clips
            .keys()
            .map(String::as_str)
            .filter(|clip| session.is_as_recorded(clip))
            .collect(),
        charts: charts.iter().enumerate().filter_map(has).collect(),
        pack: path.is_file(),
    });
    Ok(Read {
        document: document.map_err(Failure::input)?,
        charts,
        stamp,
        clips,
        opened: session.into_opened(),
    })
}

fn heard(session: &RecordedSession) -> Vec<Heard> {
    let events = session.recorded.entries.iter().map(|entry| &entry.event);
    let put_right = session::words_put_right(events.filter_map(Event::amendment));
    let heard = (1..).zip(session.heard());
    let heard = heard.filter_map(|(number, (event, free_words))| match event {
        Event::Heard {
            words,
            confidence,
            meaning,
            clip,
            typed,
            start_ms,
            ..
        } => Some(Heard {
            ms: *start_ms,
            words: words.clone(),
            confidence: *confidence,
            meaning: match meaning {
                Meaning::Nothing { .. } if free_words => "free words".to_owned(),
                meaning => means(meaning),
            },
            clip: clip.clone(),
            typed: *typed,
            put_right: put_right.get(&number).map(|words| (*words).to_owned()),
        }),
        _ => None,
    });
    heard.collect()
}

fn means(meaning: &Meaning) -> String {
    MeaningParts::new(meaning).to_string()
}

/// `chart/0`, or a clip by its name in the record.
fn file(read: &Read, name: &str) -> Option<(&'static str, Vec<u8>)> {
    if let Some(number) = name.strip_prefix("chart/") {
        let chart = read.charts.get(number.parse::<usize>().ok()?)?.clone()?;
        return Some(("image/svg+xml", chart.into_bytes()));
    }
    let wav = record::clip(read.opened.folder(), read.clips.get(name)?).ok()?;
    Some(("audio/wav", wav))
}

/// Asks the desktop to show a page. Where there is none, the address was told.
fn show(url: &str) {
    let program = match cfg!(target_os = "macos") {
        true => "open",
        false => "xdg-open",
    };
    let mut command = Command::new(program);
    command.arg(url).stdin(Stdio::null());
    let started = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn();
    if started.is_err() {
        eprintln!("note: no browser could be opened; open the address yourself");
    }
}
