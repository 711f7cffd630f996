//! What is known of a unit from earlier sessions, when a new one begins.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::sessions;
use crate::session::Visit;

/// Where to look for earlier sessions.
#[derive(Debug, clap::Args)]
pub struct Visits {
    /// A folder of earlier sessions: what the last one at the same unit came to is offered by voice
    #[arg(long, value_name = "FOLDER", conflicts_with = "resume")]
    visits: Option<PathBuf>,
}

impl Visits {
    /// The last session at each unit, of the folder that was named or else of `usual`, if there is
    /// one. That they cannot be had is told and keeps no session from beginning.
    pub fn read(&self, usual: Option<&Path>) -> BTreeMap<String, Visit> {
        let usual = usual.filter(|folder| folder.is_dir());
        let Some(folder) = self.visits.as_deref().or(usual) else {
            return BTreeMap::new();
        };
        let visits = sessions::up_to_date(folder).and_then(|(archive, _)| archive.last_visits());
        visits.unwrap_or_else(|error| {
            eprintln!("warning: the last visit at the unit is not known: {error}");
            BTreeMap::new()
        })
    }
}
