//! Sentences to samples, by a speech program that runs as a child process.

use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::Duration;

use super::duration;
use super::voice::VoiceError;
use crate::clock::Deadline;

/// Between two looks at whether the child has ended.
const LOOK_EVERY: Duration = Duration::from_millis(2);

/// A speech program, and how it takes a text and writes a WAV file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Program {
    pub command: String,
    pub kind: ProgramKind,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProgramKind {
    /// `espeak-ng`: many languages.
    EspeakNg,
    /// `flite`: English only.
    Flite,
}

/// What a sentence sounds like.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Speech {
    /// One channel.
    pub samples: Vec<i16>,
    /// Samples a second.
    pub rate: u32,
}

/// A speech program that is there, speaking one language.
#[derive(Debug, Clone)]
pub struct Synthesizer {
    program: Program,
    locale: String,
    /// Where the child writes its WAV file.
    scratch: PathBuf,
}

impl Program {
    /// The programs that are tried, best first.
    pub fn known() -> [Program; 2] {
        [
            ("espeak-ng", ProgramKind::EspeakNg),
            ("flite", ProgramKind::Flite),
        ]
        .map(|(command, kind)| Program {
            command: command.to_owned(),
            kind,
        })
    }

    fn arguments(&self, locale: &str, sentence: &str, wav: &Path) -> Command {
        let mut command = Command::new(&self.command);
        match self.kind {
            ProgramKind::EspeakNg => command
                .args(["-v", locale, "-w"])
                .arg(wav)
                // A sentence may begin with a minus sign.
                .args(["--", sentence]),
            ProgramKind::Flite => command
                .args(["-voice", "slt", "-t", sentence, "-o"])
                .arg(wav),
        };
        command
    }
}

impl Synthesizer {
    /// The first known program that says something in the language of `locale`, such as `en-US`.
    /// `scratch` is a file that may be written and removed at will.
    ///
    /// # Errors
    ///
    /// None of them is installed, or none speaks the language.
    pub fn find(locale: &str, scratch: &Path) -> Result<Synthesizer, VoiceError> {
        let mut why = None;
        for program in Program::known() {
            match Synthesizer::with(program, locale, scratch) {
                Ok(found) => return Ok(found),
                Err(error) => why = why.or(Some(error)),
            }
        }
        Err(why.unwrap_or_else(|| VoiceError::new("no speech program is known", "use text")))
    }

    /// The given program, after it has said a word.
    ///
    /// # Errors
    ///
    /// It is not installed, does not speak the language, or does not answer in time.
    pub fn with(program: Program, locale: &str, scratch: &Path) -> Result<Synthesizer, VoiceError> {
        let language = locale.split('-').next().unwrap_or(locale);
        if program.kind == ProgramKind::Flite && language != "en" {
            return Err(VoiceError::new(
                format!("`{}` speaks English only, not `{locale}`", program.command),
                "install espeak-ng with `sudo apt install espeak-ng`",
            ));
        }
        let synthesizer = Synthesizer {
            program,
            locale: locale.to_owned(),
            scratch: scratch.to_owned(),
        };
        synthesizer.synthesize("1")?;
        Ok(synthesizer)
    }

    /// The program's name.
    pub fn name(&self) -> &str {
        &self.program.command
    }

    /// What a sentence sounds like. Waits for the child, but not longer than the sentence's
    /// deadline: then the child is ended.
    ///
    /// # Errors
    ///
    /// The program is not there, failed, took too long, or wrote something that is not speech.
    pub fn synthesize(&self, sentence: &str) -> Result<Speech, VoiceError> {
        let speech = self.run(sentence).and_then(|()| self.read());
        // The next sentence must not be taken for this one.
        let removed = std::fs::remove_file(&self.scratch);
        match removed {
            Err(e) if e.kind() != ErrorKind::NotFound => Err(self.failed(format!(
                "left `{}`, which cannot be removed: {e}",
                self.scratch.display()
            ))),
            _ => speech,
        }
    }

    fn run(&self, sentence: &str) -> Result<(), VoiceError> {
        let child = self
            .program
            .arguments(&self.locale, sentence, &self.scratch)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        let mut child = child.map_err(|e| self.cannot_start(&e))?;
        let allowed = duration::deadline(sentence);
        match wait(&mut child, Deadline::after(allowed)) {
            Ok(Some(status)) if status.success() => Ok(()),
            Ok(Some(_)) => Err(self.failed(format!("failed to say `{sentence}`"))),
            Ok(None) => Err(self.failed(format!(
                "did not end within {:.1} s with `{sentence}`",
                allowed.as_secs_f32()
            ))),
            Err(e) => Err(self.failed(format!("cannot be waited for: {e}"))),
        }
    }

    fn read(&self) -> Result<Speech, VoiceError> {
        let read = || -> Result<Speech, hound::Error> {
            let mut wav = hound::WavReader::open(&self.scratch)?;
            let spec = wav.spec();
            if spec.channels != 1 {
                return Err(hound::Error::Unsupported);
            }
            Ok(Speech {
                samples: wav.samples::<i16>().collect::<Result<_, _>>()?,
                rate: spec.sample_rate,
            })
        };
        read().map_err(|e| self.failed(format!("wrote no usable WAV file: {e}")))
    }

    fn cannot_start(&self, error: &io::Error) -> VoiceError {
        let command = &self.program.command;
        match error.kind() {
            ErrorKind::NotFound => VoiceError::new(
                format!("`{command}` is not installed"),
                format!("install it with `sudo apt install {command}`"),
            ),
            _ => self.failed(format!("cannot be started: {error}")),
        }
    }

    fn failed(&self, what: String) -> VoiceError {
        let command = &self.program.command;
        VoiceError::new(
            format!("`{command}` {what}"),
            format!("try `{command} hello` by hand"),
        )
    }
}

/// The child's status, or nothing when the deadline has passed and the child was ended.
fn wait(child: &mut Child, deadline: Deadline) -> io::Result<Option<ExitStatus>> {
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(Some(status));
        }
        if deadline.has_passed() {
            child.kill()?;
            child.wait()?;
            return Ok(None);
        }
        std::thread::sleep(LOOK_EVERY);
    }
}
