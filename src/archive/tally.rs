//! How often each finding, how long each step, what was misheard, what was repeated.

use serde::Serialize;

use super::find::Wanted;
use super::index::{Archive, ArchiveError};

/// So many phrases are told at most.
const PHRASES: usize = 20;

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Tally {
    pub sessions: usize,
    /// The most frequent first.
    pub findings: Vec<FindingCount>,
    /// In the order of their names.
    pub steps: Vec<StepTime>,
    /// The most frequent first, 20 at most.
    pub misheard: Vec<Misheard>,
}

/// In how many sessions a finding stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FindingCount {
    pub procedure: String,
    pub step: String,
    pub finding: String,
    pub says: String,
    pub sessions: i64,
}

/// How long a step took, all its visits in a session together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StepTime {
    pub procedure: String,
    pub step: String,
    pub sessions: usize,
    pub median_ms: i64,
    pub longest_ms: i64,
    /// In how many sessions it was entered more than once.
    pub repeated: usize,
}

/// Words that were misheard.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Misheard {
    /// As they were heard.
    pub words: String,
    /// How often a value they gave was answered with "negative".
    pub withdrawn: i64,
    /// How often they meant nothing at their place.
    pub meant_nothing: i64,
}

impl Archive {
    /// What the wanted sessions come to together.
    ///
    /// # Errors
    ///
    /// The index fails.
    pub fn tally(&self, wanted: &Wanted) -> Result<Tally, ArchiveError> {
        let (condition, values) = wanted.condition();
        let count = format!("SELECT count(*) FROM session WHERE {condition}");
        let sessions: Vec<i64> = self.rows(&count, values, |row| row.get(0))?;
        Ok(Tally {
            sessions: sessions
                .first()
                .map_or(0, |n| usize::try_from(*n).unwrap_or(0)),
            findings: self.findings(wanted)?,
            steps: self.steps(wanted)?,
            misheard: self.misheard(wanted)?,
        })
    }

    fn findings(&self, wanted: &Wanted) -> Result<Vec<FindingCount>, ArchiveError> {
        let (condition, values) = wanted.condition();
        self.rows(
            &format!(
                "SELECT finding.procedure, step, finding, min(says),
                 count(DISTINCT session.id) AS sessions
                 FROM finding JOIN session ON session.id = finding.session
                 WHERE {condition}
                 GROUP BY finding.procedure, step, finding
                 ORDER BY sessions DESC, finding.procedure, step, finding"
            ),
            values,
            |row| {
                Ok(FindingCount {
                    procedure: row.get(0)?,
                    step: row.get(1)?,
                    finding: row.get(2)?,
                    says: row.get(3)?,
                    sessions: row.get(4)?,
                })
            },
        )
    }

    fn steps(&self, wanted: &Wanted) -> Result<Vec<StepTime>, ArchiveError> {
        let (condition, values) = wanted.condition();
        // Sorted by time within a step, so that the one in the middle is the median.
        let visits: Vec<(String, String, i64, bool)> = self.rows(
            &format!(
                "SELECT step.procedure, step, sum(took_ms) AS took, count(*) > 1
                 FROM step JOIN session ON session.id = step.session
                 WHERE {condition}
                 GROUP BY session.id, step.procedure, step
                 ORDER BY step.procedure, step, took"
            ),
            values,
            |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)),
        )?;
        let same = |a: &(String, String, i64, bool), b: &(String, String, i64, bool)| {
            (&a.0, &a.1) == (&b.0, &b.1)
        };
        let steps = visits.chunk_by(same).map(|visits| {
            let (procedure, step, median_ms, _) = &visits[(visits.len() - 1) / 2];
            StepTime {
                procedure: procedure.clone(),
                step: step.clone(),
                sessions: visits.len(),
                median_ms: *median_ms,
                longest_ms: visits.last().map_or(0, |visit| visit.2),
                repeated: visits.iter().filter(|visit| visit.3).count(),
            }
        });
        Ok(steps.collect())
    }

    fn misheard(&self, wanted: &Wanted) -> Result<Vec<Misheard>, ArchiveError> {
        let (condition, values) = wanted.condition();
        self.rows(
            &format!(
                "SELECT misheard.words, sum(withdrawn), sum(NOT withdrawn)
                 FROM misheard JOIN session ON session.id = misheard.session
                 WHERE {condition} AND misheard.words <> ''
                 GROUP BY misheard.words
                 ORDER BY count(*) DESC, misheard.words LIMIT {PHRASES}"
            ),
            values,
            |row| {
                Ok(Misheard {
                    words: row.get(0)?,
                    withdrawn: row.get(1)?,
                    meant_nothing: row.get(2)?,
                })
            },
        )
    }
}
