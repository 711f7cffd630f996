//! What `run` and `replay` have in common: what is known of the job, and what listens.

use std::path::PathBuf;

use super::Failure;
use crate::hearing::ear::Ear;
use crate::hearing::engines;
use crate::hearing::models::{Engine, Places};
use crate::procedure::Library;
use crate::session::Opening;

/// What is known of the job before it begins, and is not asked then. A session that is resumed has
/// it in its record.
#[derive(Debug, clap::Args)]
pub struct Job {
    /// The variant of the unit
    #[arg(long, value_name = "ID", conflicts_with = "resume")]
    variant: Option<String>,
    /// The serial number of the unit
    #[arg(long, value_name = "NUMBER", conflicts_with = "resume")]
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
    pub fn opening(&self, ear: Option<&Ear>) -> Opening {
        let name = ear.map(Ear::name);
        Opening {
            technician: self.name.clone(),
            engine: name.as_ref().map(|name| name.engine.clone()),
            model: name.map(|name| name.model),
            variant: self.variant.as_deref().map(Into::into),
            serial: self.serial.clone(),
            ..Opening::default()
        }
    }

    /// # Errors
    ///
    /// The procedure does not know the variant.
    pub fn check(&self, library: &Library) -> Result<(), Failure> {
        let Some(found) = &self.variant else {
            return Ok(());
        };
        let variants = &library.main().variants;
        let known: Vec<String> = variants.keys().map(|id| format!("`{id}`")).collect();
        match variants.keys().any(|id| id.as_str() == found) {
            true => Ok(()),
            false => Err(Failure::input(format_args!(
                "found the variant `{found}`, expected one of {}; name it with `--variant`",
                known.join(", ")
            ))),
        }
    }
}

impl Ears {
    /// # Errors
    ///
    /// The engine or a model for the language is missing.
    pub fn open(&self, locale: &str) -> Result<Ear, Failure> {
        let places = Places::of_this_machine(self.model.clone());
        let recognizer = engines::open(self.engine, locale, &places)?;
        Ok(Ear::new(recognizer))
    }
}
