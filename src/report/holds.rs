//! Hold points with what released them, and cautions with when they were acknowledged.

use super::gather::{Seen, standing_caution};
use super::model::{Caution, Hold, Judged, ProofPoint};
use super::readings::proof_points;
use super::review::index_of;
use super::wording;
use crate::procedure::StepKind;
use crate::session::{Event, Position, ReleasedBy};

#[derive(Default)]
pub(super) struct Holds {
    rows: Vec<Hold>,
}

impl Holds {
    pub fn see(&mut self, seen: &Seen) {
        match seen.event() {
            Event::StepEntered { to, .. } | Event::SteppedBack { to, .. } => self.open(seen, to),
            Event::HoldProofPoint {
                step,
                point,
                id,
                proves,
            } => {
                let row = proof_point(seen, step, *point, id.0, *proves);
                if let (Some(row), Some(hold)) = (row, self.rows.last_mut()) {
                    hold.points.push(row);
                }
            }
            Event::HoldReleased { by, .. } => {
                if let Some(hold) = self.rows.last_mut() {
                    hold.released_at = Some(seen.at());
                    if let ReleasedBy::Words(words) = by {
                        hold.words = Some(words.clone());
                    }
                }
            }
            _ => {}
        }
    }

    pub fn end(self) -> Vec<Hold> {
        self.rows
    }

    fn open(&mut self, seen: &Seen, to: &Position) {
        if let Some(StepKind::Hold { say, .. }) = seen.guide.step(to).map(|step| &step.kind) {
            self.rows.push(Hold {
                at: seen.at(),
                ms: seen.ms(),
                procedure: to.procedure.to_string(),
                step: to.step.to_string(),
                says: seen.guide.text(seen.state, say).written.clone(),
                released_at: None,
                words: None,
                points: Vec::new(),
            });
        }
    }
}

fn proof_point(
    seen: &Seen,
    step: &Position,
    point: usize,
    reading: u32,
    proves: bool,
) -> Option<ProofPoint> {
    let asked = proof_points(seen.guide, step)?.get(point)?;
    let kept = seen.state.readings.get(index_of(reading)?)?;
    let unit = seen.guide.quantity(step, &asked.quantity)?.unit;
    let within = wording::range(&asked.within);
    Some(ProofPoint {
        says: seen.guide.text(seen.state, &asked.say).written.clone(),
        within: format!("{within} {}", unit.sign()),
        reading,
        value: wording::reading(&kept.reading),
        proves,
        corrected: None,
    })
}

pub(super) fn released(hold: &Hold) -> String {
    match (&hold.released_at, &hold.words) {
        (None, _) => "not released".to_owned(),
        (Some(_), Some(words)) => format!("released by the words \u{201c}{words}\u{201d}"),
        (Some(_), None) if hold.points.iter().any(fell) => {
            "released by measurement; with the values corrected after the session it is NOT PROVED"
                .to_owned()
        }
        (Some(_), None) => "released by measurement".to_owned(),
    }
}

/// It proved the hold point, and what it was corrected to does not.
fn fell(point: &ProofPoint) -> bool {
    let now = point.corrected.as_ref().map(|now| now.judged);
    point.proves && now.is_some_and(|judged| judged != Judged::Inside)
}

/// Whether a measured point proves the hold point, where it does not or was corrected.
pub(super) fn proves(point: &ProofPoint) -> Option<String> {
    match &point.corrected {
        Some(now) => {
            let proves = match now.judged {
                Judged::Inside => "proves it",
                _ => "does NOT prove it",
            };
            Some(format!(
                "corrected after the session to {}, which {proves}",
                now.value
            ))
        }
        None => (!point.proves).then(|| "does not prove it".to_owned()),
    }
}

#[derive(Default)]
pub(super) struct Cautions {
    rows: Vec<Caution>,
}

impl Cautions {
    pub fn see(&mut self, seen: &Seen) {
        match seen.event() {
            Event::SessionStarted { .. } => self.rows.push(Caution {
                signal: None,
                text: standing_caution(seen.guide),
                acknowledged_at: None,
                acknowledged_ms: None,
            }),
            Event::StepEntered { to, .. } | Event::SteppedBack { to, .. } => self.open(seen, to),
            Event::StandingCautionAcknowledged { .. } | Event::CautionAcknowledged { .. } => {
                if let Some(row) = self.rows.last_mut() {
                    row.acknowledged_at = Some(seen.at());
                    row.acknowledged_ms = Some(seen.ms());
                }
            }
            _ => {}
        }
    }

    pub fn end(self) -> Vec<Caution> {
        self.rows
    }

    fn open(&mut self, seen: &Seen, to: &Position) {
        let Some(StepKind::Caution {
            signal,
            hazard,
            consequence,
            avoid,
            ..
        }) = seen.guide.step(to).map(|step| &step.kind)
        else {
            return;
        };
        let texts = [hazard, consequence, avoid];
        let texts = texts.map(|text| seen.guide.text(seen.state, text).written.as_str());
        self.rows.push(Caution {
            signal: Some(*signal),
            text: texts.join(" "),
            acknowledged_at: None,
            acknowledged_ms: None,
        });
    }
}
