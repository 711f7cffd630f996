//! The folder a session is recorded in: a new one, or one to go on with.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::Failure;
use super::procedure_files::{self, ProcedureFiles};
use crate::clock::{Clock, Now, SystemClock, WallTime};
use crate::conversation::Incoming;
use crate::procedure::{self, Library, SourceFile};
use crate::record::{self, Record, Resumed};
use crate::session::{self, Event, Ms, Opening, State};

/// Where sessions are recorded that nobody named a folder for.
const SESSIONS: &str = "sessions";

/// A record open for appending, and where its session stands.
pub struct Kept {
    pub record: Record<Event>,
    pub state: State,
    /// When the session began, and how many milliseconds ago.
    pub began: WallTime,
    pub ms: Ms,
}

/// Which session is worked: a new one, or one that is gone on with.
#[derive(Debug, clap::Args)]
pub struct Place {
    /// The folder to record the session in [default: a new one below `sessions`]
    #[arg(long, value_name = "FOLDER", conflicts_with = "resume")]
    record: Option<PathBuf>,
    /// Go on with the session recorded in this folder
    #[arg(long, value_name = "FOLDER")]
    resume: Option<PathBuf>,
}

/// The procedure of a session, and the session itself if it was begun before.
pub struct Work {
    pub procedure: ProcedureFiles,
    resumed: Option<Kept>,
}

impl Place {
    /// The procedure that was named, or with `--resume` as it was when the session began.
    ///
    /// # Errors
    ///
    /// The procedure is not sound, or the session cannot be gone on with.
    pub fn open(&self, named: &Path) -> Result<Work, Failure> {
        match &self.resume {
            Some(folder) => resume(folder, named),
            None => Ok(Work {
                procedure: procedure_files::open_sound(named)?,
                resumed: None,
            }),
        }
    }

    /// Where earlier sessions are, if this one is new and its folder was not named.
    pub fn earlier(&self) -> Option<&Path> {
        let named = self.record.is_some() || self.resume.is_some();
        (!named).then_some(Path::new(SESSIONS))
    }

    /// Opens the session's record; for a new session makes its folder. The record says what the
    /// session was `heard_from`: a microphone, or recordings or words that were played.
    ///
    /// # Errors
    ///
    /// The folder holds something already or cannot be written.
    pub fn begin(
        &self,
        work: Work,
        opening: Opening,
        heard_from: &str,
        now: &Now,
    ) -> Result<(Kept, Incoming), Failure> {
        if let Some(kept) = work.resumed {
            return Ok((kept, Incoming::Resume));
        }
        let folder = choose(self.record.as_deref(), &work.procedure, now);
        let kept = create(&folder, &work.procedure, &opening, heard_from, now)?;
        Ok((kept, Incoming::Begin(opening)))
    }
}

impl Work {
    /// Where the session stands before anything is said.
    pub fn state(&self) -> State {
        let resumed = self.resumed.as_ref();
        resumed.map_or_else(State::default, |kept| kept.state.clone())
    }

    /// The time of the session's clock.
    pub fn ms(&self) -> Ms {
        self.resumed.as_ref().map_or(0, |kept| kept.ms)
    }
}

/// The folder that was named, or a new one below `sessions`.
fn choose(named: Option<&Path>, procedure: &ProcedureFiles, now: &Now) -> PathBuf {
    if let Some(named) = named {
        return named.to_owned();
    }
    let id = &procedure.library.main().id;
    let name = format!("{}-{id}", now.wall.for_file_name());
    let others = (2..).map(|number| format!("{name}-{number}"));
    let mut names = std::iter::once(name.clone()).chain(others);
    let sessions = Path::new(SESSIONS);
    let free = names.find(|name| !sessions.join(name).exists());
    sessions.join(free.unwrap_or(name))
}

/// Makes a session's folder.
fn create(
    folder: &Path,
    procedure: &ProcedureFiles,
    opening: &Opening,
    heard_from: &str,
    now: &Now,
) -> Result<Kept, Failure> {
    let mut about = BTreeMap::from([
        (
            "program".to_owned(),
            format!("readback {}", env!("CARGO_PKG_VERSION")),
        ),
        ("heard_from".to_owned(), heard_from.to_owned()),
    ]);
    about.extend(
        opening
            .engine
            .clone()
            .map(|engine| ("engine".to_owned(), engine)),
    );
    about.extend(
        opening
            .model
            .clone()
            .map(|model| ("model".to_owned(), model)),
    );
    let procedure = procedure.files.iter().map(|file| {
        let name = Path::new(&file.name).file_name().unwrap_or_default();
        (name.to_string_lossy().into_owned(), file.text.clone())
    });
    let opening = record::Opening {
        about,
        procedure: procedure.collect(),
    };
    Ok(Kept {
        record: Record::create(folder, &opening, now)?,
        state: State::default(),
        began: now.wall,
        ms: 0,
    })
}

/// Takes a recorded session up again, with the procedure as it was recorded.
///
/// # Errors
///
/// It is no session, was altered, was ended or is open elsewhere, or it is a session of another
/// procedure than the one `named`.
fn resume(folder: &Path, named: &Path) -> Result<Work, Failure> {
    let wall = SystemClock::start().now().wall;
    let Resumed {
        record,
        recorded,
        now,
        ..
    } = Record::resume(folder, wall)?;
    let files = record::procedure_as_it_was(folder, &recorded.procedure)?;
    let ProcedureFiles { library, files } = procedure_of(files)?;
    same_procedure(folder, &library, &files, named)?;
    let began = recorded.entries.first().map_or(now.wall, |e| e.now.wall);
    let events = recorded.entries.iter().map(|entry| &entry.event);
    let state = events.fold(State::default(), session::apply);
    Ok(Work {
        resumed: Some(Kept {
            record,
            state,
            began,
            ms: now.ms,
        }),
        procedure: ProcedureFiles { library, files },
    })
}

/// The procedure from the files of a record.
///
/// # Errors
///
/// They are none that this version of the program takes.
pub fn procedure_of(files: Vec<(String, String)>) -> Result<ProcedureFiles, Failure> {
    let files = files
        .into_iter()
        .map(|(name, text)| SourceFile { name, text });
    let files: Vec<SourceFile> = files.collect();
    let library = procedure::load_files(&files).map_err(|problems| {
        let first = problems.first().map(ToString::to_string);
        Failure::input(first.unwrap_or_else(|| "the record holds no procedure".to_owned()))
    })?;
    Ok(ProcedureFiles { library, files })
}

fn same_procedure(
    folder: &Path,
    recorded: &Library,
    files: &[SourceFile],
    named: &Path,
) -> Result<(), Failure> {
    let now = procedure_files::open_sound(named)?;
    let (found, expected) = (&now.library.main().id, &recorded.main().id);
    let (named, folder) = (named.display(), folder.display());
    if found != expected {
        return Err(Failure::input(format_args!(
            "`{named}` is the procedure `{found}`, and `{folder}` is a session of `{expected}`; \
             name that procedure, or begin a new session"
        )));
    }
    let texts = |files: &[SourceFile]| files.iter().map(|f| f.text.clone()).collect::<Vec<_>>();
    if texts(&now.files) != texts(files) {
        eprintln!(
            "note: `{named}` is not as it was when the session began; the session goes on with the \
             procedure in its record"
        );
    }
    Ok(())
}
