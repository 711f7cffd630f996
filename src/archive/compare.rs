//! The same unit over time, the same step over units.

use serde::Serialize;

use super::find::Wanted;
use super::index::{Archive, ArchiveError};

/// The reading that counts of a quantity at a step of one session: the last one there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Compared {
    pub procedure: String,
    pub step: String,
    pub quantity: String,
    pub began: String,
    pub folder: String,
    pub serial: Option<String>,
    /// With its unit, or `over_range`, `short`, `none`.
    pub value: Option<String>,
    /// In the quantity's unit.
    pub limits: Option<String>,
    /// `inside`, `below`, `above`, `no_limits` or `no_value`.
    pub judged: String,
}

impl Archive {
    /// What the wanted sessions read, at one step or at all of them: step by step in the order of
    /// their names, the oldest session first.
    ///
    /// # Errors
    ///
    /// The index fails.
    pub fn compared(
        &self,
        wanted: &Wanted,
        step: Option<&str>,
    ) -> Result<Vec<Compared>, ArchiveError> {
        let (mut condition, mut values) = wanted.condition();
        if let Some(step) = step {
            values.push(step.to_owned().into());
            condition += &format!(" AND reading.step = ?{}", values.len());
        }
        self.rows(
            &format!(
                "SELECT reading.procedure, step, quantity, began, folder, serial, value, limits,
                 judged, max(number)
                 FROM reading JOIN session ON session.id = reading.session
                 WHERE {condition}
                 GROUP BY session.id, reading.procedure, step, quantity
                 ORDER BY reading.procedure, step, quantity, began, folder"
            ),
            values,
            |row| {
                Ok(Compared {
                    procedure: row.get(0)?,
                    step: row.get(1)?,
                    quantity: row.get(2)?,
                    began: row.get(3)?,
                    folder: row.get(4)?,
                    serial: row.get(5)?,
                    value: row.get(6)?,
                    limits: row.get(7)?,
                    judged: row.get(8)?,
                })
            },
        )
    }
}
