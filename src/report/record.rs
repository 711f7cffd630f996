//! The record a report was made from: whether it holds, how much it holds, who signed it.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::gather::Material;
use crate::record;

/// The record the report was made from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Record {
    /// The name of the session's folder.
    pub session: String,
    /// Whether the record was found whole and unchanged.
    pub verified: bool,
    /// The session was still open when the report was made.
    pub open: bool,
    /// Everything that is wrong with the record.
    pub faults: Vec<String>,
    /// The lines at which the session was taken up again although it had not been ended: it was
    /// killed there, or lines were cut off.
    pub broken_off: Vec<u64>,
    /// How many clips without a line were found there.
    #[serde(default)]
    pub unnamed_clips: u64,
    /// The signatures over it that are right.
    #[serde(default)]
    pub signed: Vec<Signature>,
    pub lines: u64,
    pub events: u64,
    pub clips: u64,
    /// How many of these were removed later, or left out of a pack.
    #[serde(default)]
    pub clips_gone: u64,
    /// How many of the clips that are gone were cleared, as the record says.
    #[serde(default)]
    pub clips_cleared: u64,
    /// The SHA-256 of the last line.
    pub head: String,
    /// How the record was made: program, engine, model.
    pub about: BTreeMap<String, String>,
}

/// A signature over the beginning of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Signature {
    /// The last line signed.
    pub line: u64,
    /// The SHA-256 of the public key.
    pub key: String,
}

pub(super) fn record(material: &Material) -> Record {
    let found = material.verification;
    Record {
        session: material.session.to_owned(),
        verified: found.verified,
        open: found.open,
        faults: found.faults.iter().map(ToString::to_string).collect(),
        broken_off: found.broken_off.clone(),
        unnamed_clips: found.unnamed_clips,
        signed: found.signed.iter().map(signature).collect(),
        lines: found.lines,
        events: found.events,
        clips: found.clips,
        clips_gone: found.clips_gone,
        clips_cleared: found.clips_cleared,
        head: found.head.to_string(),
        about: material.recorded.about.clone(),
    }
}

fn signature(signed: &record::Signed) -> Signature {
    Signature {
        line: signed.line,
        key: signed.key.to_string(),
    }
}
