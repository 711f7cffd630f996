//! One line of `session.jsonl`: what it holds, and how its hash binds it to the line before.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt;
use std::fs::File;
use std::io;
use std::path::Path;

use crate::clock::{Now, WallTime};

/// A SHA-256 (FIPS 180-4), shown and stored as 64 lower-case hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Hash(String);

impl Hash {
    /// What the first line follows: 64 zeros.
    pub fn start() -> Hash {
        Hash("0".repeat(64))
    }

    pub fn of(bytes: &[u8]) -> Hash {
        Hash::finish(Sha256::new_with_prefix(bytes))
    }

    /// The hash of a file, however large it is.
    pub(crate) fn of_file(path: &Path) -> io::Result<Hash> {
        let mut digest = Sha256::new();
        io::copy(&mut File::open(path)?, &mut digest)?;
        Ok(Hash::finish(digest))
    }

    /// The hash of a line: over the hash of the line before, as its 64 digits, and the line's
    /// canonical JSON without its `sha256`.
    pub(crate) fn of_line(previous: &Hash, canonical: &[u8]) -> Hash {
        Hash::of_line_in_parts(previous, canonical, b"")
    }

    fn of_line_in_parts(previous: &Hash, canonical: &[u8], end: &[u8]) -> Hash {
        let mut digest = Sha256::new_with_prefix(previous.0.as_bytes());
        digest.update(canonical);
        digest.update(end);
        Hash::finish(digest)
    }

    fn finish(digest: Sha256) -> Hash {
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut text = String::with_capacity(64);
        for byte in digest.finalize() {
            text.push(char::from(DIGITS[usize::from(byte >> 4)]));
            text.push(char::from(DIGITS[usize::from(byte & 15)]));
        }
        Hash(text)
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A file of the session folder as the record binds it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoundFile {
    /// Relative to the session folder, with `/` between its parts.
    pub file: String,
    /// Over the file's bytes.
    pub sha256: Hash,
}

/// What the record says about itself, between the events.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Always the first line.
    Opened {
        /// The version of this layout: [`Mark::FORMAT`].
        format: u32,
        /// How the record was made: program, engine, model, voice.
        about: BTreeMap<String, String>,
        /// The procedure files as they were.
        procedure: Vec<BoundFile>,
    },
    /// The session was taken up again after it had ended without a word.
    Resumed {
        /// The unfinished end of `session.jsonl` that was set aside, if there was one.
        torn: Option<BoundFile>,
        /// Clips that were on disk without a line that names them.
        unnamed_clips: Vec<BoundFile>,
    },
    /// The clips of what was heard before a day were removed: these.
    ClipsCleared {
        /// `2026-03-04`.
        before: String,
        clips: Vec<BoundFile>,
    },
    /// The session was ended in order. Only `Resumed` may follow.
    Closed,
}

impl Mark {
    pub const FORMAT: u32 = 1;
}

/// A line of the record, read back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Line<E> {
    pub at: WallTime,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clip: Option<BoundFile>,
    #[serde(default = "none", skip_serializing_if = "Option::is_none")]
    pub event: Option<E>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark: Option<Mark>,
    /// The next line belongs to the same decision: neither counts without the other.
    #[serde(default, skip_serializing_if = "is_false")]
    pub more: bool,
    pub ms: u64,
    pub n: u64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<Hash>,
}

fn none<E>() -> Option<E> {
    None
}

fn is_false(value: &bool) -> bool {
    !value
}

impl<E> Line<E> {
    pub(crate) fn new(n: u64, now: &Now) -> Line<E> {
        Line {
            at: now.wall,
            clip: None,
            event: None,
            mark: None,
            more: false,
            ms: now.ms,
            n,
            sha256: None,
        }
    }
}

/// What stands before the digits of the hash at the end of a line. `sha256` sorts behind every
/// other member, so that the canonical line ends with it.
const HASH_MEMBER: &[u8] = b",\"sha256\":\"";
/// `,"sha256":"`, 64 digits, `"}`.
const HASH_LENGTH: usize = HASH_MEMBER.len() + 64 + 2;

impl<E: Serialize + DeserializeOwned> Line<E> {
    /// The line's bytes, with the newline, and its hash.
    ///
    /// # Errors
    ///
    /// Says why the event cannot be written so that it could be read back.
    pub(crate) fn seal(mut self, previous: &Hash) -> Result<(Vec<u8>, Hash), String> {
        self.sha256 = None;
        let mut bytes = serde_jcs::to_vec(&self).map_err(|e| e.to_string())?;
        serde_json::from_slice::<Line<E>>(&bytes).map_err(|e| e.to_string())?;
        let hash = Hash::of_line(previous, &bytes);
        bytes.pop();
        bytes.extend_from_slice(HASH_MEMBER);
        bytes.extend_from_slice(hash.as_str().as_bytes());
        bytes.extend_from_slice(b"\"}\n");
        Ok((bytes, hash))
    }
}

/// The hash a line carries, if the line, byte by byte as it stands, follows `previous`.
///
/// A line that was written anew with other spacing does not pass here although it says the same;
/// see [`says_the_same`].
pub(crate) fn follows(line: &[u8], previous: &Hash) -> Option<Hash> {
    let cut = line.len().checked_sub(HASH_LENGTH)?;
    let (body, end) = line.split_at(cut);
    let digits = end.strip_prefix(HASH_MEMBER)?.strip_suffix(b"\"}")?;
    let hash = Hash::of_line_in_parts(previous, body, b"}");
    (hash.as_str().as_bytes() == digits).then_some(hash)
}

/// Whether a line holds the same JSON, however it is spaced and ordered, as the line that was
/// written after `previous`; its hash if so.
pub(crate) fn says_the_same(line: &serde_json::Value, previous: &Hash) -> Option<Hash> {
    let mut body = line.as_object()?.clone();
    let stated = body.remove("sha256")?;
    let canonical = serde_jcs::to_vec(&body).ok()?;
    let hash = Hash::of_line(previous, &canonical);
    (stated.as_str()? == hash.as_str()).then_some(hash)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4's example for the one-block message "abc".
    #[test]
    fn the_hash_is_sha_256() {
        assert_eq!(
            Hash::of(b"abc").as_str(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    /// RFC 8785, section 3.2.2 (input) and 3.2.3 (output).
    #[test]
    fn canonical_json_is_that_of_the_standard() {
        let input = r#"{
            "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
            "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
            "literals": [null, true, false]
        }"#;
        let value: serde_json::Value = serde_json::from_str(input).unwrap();
        assert_eq!(
            serde_jcs::to_string(&value).unwrap(),
            concat!(
                r#"{"literals":[null,true,false],"#,
                r#""numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"#,
                r#""string":"€$\u000f\nA'B\"\\\\\"/"}"#
            )
        );
    }

    fn sealed() -> (Vec<u8>, Hash) {
        let now = Now {
            wall: WallTime::parse("2026-03-04T17:05:09.120+01:00").unwrap(),
            ms: 20,
        };
        let mut line: Line<String> = Line::new(1, &now);
        line.event = Some("zähler".to_owned());
        line.seal(&Hash::start()).unwrap()
    }

    #[test]
    fn a_sealed_line_is_canonical_json_and_follows_its_predecessor_only() {
        let (bytes, hash) = sealed();
        let line = bytes.strip_suffix(b"\n").unwrap();
        let value: serde_json::Value = serde_json::from_slice(line).unwrap();
        assert_eq!(serde_jcs::to_vec(&value).unwrap(), line);
        assert_eq!(follows(line, &Hash::start()), Some(hash.clone()));
        assert_eq!(follows(line, &hash), None);
        assert_eq!(follows(b"", &hash), None);
    }

    #[test]
    fn a_line_spaced_otherwise_says_the_same() {
        let (bytes, hash) = sealed();
        let mut value: serde_json::Value = serde_json::from_slice(&bytes).unwrap();
        let spaced = serde_json::to_vec_pretty(&value).unwrap();
        assert_eq!(follows(&spaced, &Hash::start()), None);
        assert_eq!(says_the_same(&value, &Hash::start()), Some(hash));
        value["ms"] = 21.into();
        assert_eq!(says_the_same(&value, &Hash::start()), None);
    }

    #[test]
    fn an_event_that_could_not_be_read_back_is_refused() {
        let now = Now {
            wall: WallTime::parse("2026-03-04T17:05:09.120+01:00").unwrap(),
            ms: 20,
        };
        let mut line: Line<[f64; 1]> = Line::new(1, &now);
        line.event = Some([f64::NAN]);
        assert!(line.seal(&Hash::start()).is_err());
    }
}
