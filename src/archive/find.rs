//! Which sessions there are.

use std::collections::BTreeMap;

use rusqlite::Row;
use rusqlite::types::Value;
use serde::Serialize;

use super::index::{Archive, ArchiveError};
use crate::session::Visit;

/// Which sessions are wanted: those for which everything given holds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wanted {
    pub serial: Option<String>,
    pub procedure: Option<String>,
    /// A finding by its id.
    pub finding: Option<String>,
    /// All of these words occur somewhere, in either case.
    pub words: Option<String>,
    /// Begun on this day or later: `2026-03-04`.
    pub since: Option<String>,
}

/// A session in a list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Listed {
    pub folder: String,
    pub began: String,
    pub procedure: String,
    pub title: String,
    pub unit: Option<String>,
    pub serial: Option<String>,
    pub technician: Option<String>,
    pub worked_ms: i64,
    /// `finished`, `stopped` or `incomplete`.
    pub ended: String,
    pub conclusion: Option<String>,
}

impl Wanted {
    /// A condition on `session`, with its values.
    pub(super) fn condition(&self) -> (String, Vec<Value>) {
        let mut parts = vec!["session.trouble IS NULL".to_owned()];
        let mut values = Vec::new();
        let mut add = |part: &str, value: &str| {
            values.push(Value::Text(value.to_owned()));
            parts.push(part.replace('?', &format!("?{}", values.len())));
        };
        if let Some(serial) = &self.serial {
            add("session.serial = ? COLLATE NOCASE", serial);
        }
        if let Some(procedure) = &self.procedure {
            add("session.procedure = ?", procedure);
        }
        if let Some(finding) = &self.finding {
            let with = "session.id IN (SELECT session FROM finding WHERE finding = ?)";
            add(with, finding);
        }
        if let Some(since) = &self.since {
            add("session.began >= ?", since);
        }
        let words = self.words.as_deref().unwrap_or_default().to_lowercase();
        for word in words.split_whitespace() {
            add("instr(session.words, ?) > 0", word);
        }
        (parts.join(" AND "), values)
    }
}

impl Archive {
    /// The sessions that are wanted, the newest first.
    ///
    /// # Errors
    ///
    /// The index fails.
    pub fn sessions(&self, wanted: &Wanted) -> Result<Vec<Listed>, ArchiveError> {
        let (condition, values) = wanted.condition();
        self.rows(
            &format!(
                "SELECT folder, began, procedure, title, unit, serial, technician, worked_ms,
                 ended, conclusion
                 FROM session WHERE {condition} ORDER BY began DESC, folder DESC"
            ),
            values,
            |row| {
                Ok(Listed {
                    folder: row.get(0)?,
                    began: row.get(1)?,
                    procedure: row.get(2)?,
                    title: row.get(3)?,
                    unit: row.get(4)?,
                    serial: row.get(5)?,
                    technician: row.get(6)?,
                    worked_ms: row.get(7)?,
                    ended: row.get(8)?,
                    conclusion: row.get(9)?,
                })
            },
        )
    }

    /// The last session at each unit, by its serial number.
    ///
    /// # Errors
    ///
    /// The index fails.
    pub fn last_visits(&self) -> Result<BTreeMap<String, Visit>, ArchiveError> {
        let visits = self.rows(
            "SELECT serial, folder, substr(began, 1, 10), conclusion FROM session
             WHERE trouble IS NULL AND serial IS NOT NULL ORDER BY began, folder",
            Vec::new(),
            |row| {
                let visit = Visit {
                    session: row.get(1)?,
                    day: row.get(2)?,
                    conclusion: row.get(3)?,
                };
                Ok((row.get(0)?, visit))
            },
        )?;
        // Of several at one unit the last one stays.
        Ok(visits.into_iter().collect())
    }

    /// All rows of a query.
    pub(super) fn rows<T>(
        &self,
        sql: &str,
        values: Vec<Value>,
        row: impl FnMut(&Row) -> Result<T, rusqlite::Error>,
    ) -> Result<Vec<T>, ArchiveError> {
        let mut query = self.index.prepare_cached(sql)?;
        let rows = query.query_map(rusqlite::params_from_iter(values), row)?;
        Ok(rows.collect::<Result<Vec<T>, _>>()?)
    }
}
