//! What `run` and `replay` have in common: what is known of the job, and what listens.

use std::path::PathBuf;

use super::Failure;
use super::job_file::{self, JobFile};
use crate::hearing::ear::Ear;
use crate::hearing::engines;
use crate::hearing::models::{Engine, Places};
use crate::procedure::Library;
use crate::session::{Opening, Order};

/// What is known of the job before it begins, and is not asked then. A session that is resumed has
/// it in its record.
#[derive(Debug, clap::Args)]
pub struct Job {
    /// A job file in YAML; what is also given here goes before it, and what is missing is asked for
    #[arg(long, value_name = "FILE.yaml", conflicts_with = "resume")]
    job: Option<PathBuf>,
    /// Ask for complaint, unit, site, reference and technician without a job file, too
    #[arg(long, conflicts_with = "resume")]
    ask_job: bool,
    /// The variant of the unit
    #[arg(long, value_name = "ID", conflicts_with = "resume")]
    variant: Option<String>,
    /// The serial number of the unit
    #[arg(long, value_name = "NUMBER", conflicts_with = "resume", value_parser = on_plate)]
    serial: Option<String>,
    /// Who does the work, for the record
    #[arg(long = "technician", value_name = "NAME", conflicts_with = "resume")]
    name: Option<String>,
}

/// What listens.
#[derive(Debug, clap::Args)]
pub struct Ears {
    /// The speech engine [default: the best that is ready]
    #[arg(long, value_name = "ENGINE", value_parser = engine)]
    engine: Option<Engine>,
    /// The folder of the engine's model
    #[arg(long, value_name = "FOLDER")]
    model: Option<PathBuf>,
}

fn engine(name: &str) -> Result<Engine, String> {
    let names: Vec<&str> = Engine::ALL.iter().map(|engine| engine.name()).collect();
    Engine::named(name).ok_or_else(|| format!("expected {}", names.join(" or ")))
}

impl Job {
    /// What is known of the job, from the flags and the job file.
    ///
    /// # Errors
    ///
    /// The job file is none, or the procedure does not know the variant.
    pub fn opening(&self, library: &Library) -> Result<Opening, Failure> {
        let file = self.job.as_deref().map(job_file::read).transpose()?;
        let JobFile {
            reference,
            site,
            unit,
            variant,
            serial,
            complaint,
            technician,
        } = file.unwrap_or_default();
        let in_file = self.job.as_ref();
        let in_file = in_file.map_or_else(String::new, |file| format!("{}: ", file.display()));
        let wrong = |why| Failure::input(format_args!("{in_file}the serial number: {why}"));
        let filed = serial.as_deref().map(on_plate).transpose().map_err(wrong)?;
        let named = match self.variant {
            Some(_) => "",
            None => &in_file,
        };
        let variant = self.variant.clone().or(variant);
        if let Some(variant) = &variant {
            known(variant, library, named)?;
        }
        Ok(Opening {
            technician: self.name.clone().or(technician),
            order: Box::new(Order {
                reference,
                unit,
                site,
                complaint,
            }),
            variant: variant.as_deref().map(Into::into),
            serial: self.serial.clone().or(filed),
            ask_job: self.ask_job || self.job.is_some(),
            ..Opening::default()
        })
    }
}

/// Longer than any plate.
const LONGEST_SERIAL: usize = 64;

/// A serial number as it may stand on a plate, without the blanks around it.
///
/// # Errors
///
/// It is empty, too long, or holds what cannot be printed.
fn on_plate(text: &str) -> Result<String, String> {
    let serial = text.trim();
    let length = serial.chars().count();
    match (length, serial.contains(char::is_control)) {
        (1..=LONGEST_SERIAL, false) => Ok(serial.to_owned()),
        _ => Err(format!(
            "expected 1 to {LONGEST_SERIAL} letters, digits or marks as on the plate; without one \
             it is asked for"
        )),
    }
}

/// `named` is where it was named, if that is a file.
fn known(found: &str, library: &Library, named: &str) -> Result<(), Failure> {
    let variants = &library.main().variants;
    let known: Vec<String> = variants.keys().map(|id| format!("`{id}`")).collect();
    match variants.keys().any(|id| id.as_str() == found) {
        true => Ok(()),
        false => Err(Failure::input(format_args!(
            "{named}found the variant `{found}`, expected one of {}; name it with `--variant`",
            known.join(", ")
        ))),
    }
}

/// The same with what listens.
pub fn heard_by(opening: Opening, ear: Option<&Ear>) -> Opening {
    let name = ear.map(Ear::name);
    Opening {
        engine: name.as_ref().map(|name| name.engine.clone()),
        model: name.map(|name| name.model),
        ..opening
    }
}

impl Ears {
    /// The engine that was asked for.
    pub fn named(&self) -> Option<Engine> {
        self.engine
    }

    /// # Errors
    ///
    /// The engine or a model for the language is missing.
    pub fn open(&self, locale: &str) -> Result<Ear, Failure> {
        Ok(engines::ear(self.engine, locale, &self.places())?)
    }

    /// Where models are looked for.
    pub fn places(&self) -> Places {
        Places::of_this_machine(self.model.clone())
    }
}
