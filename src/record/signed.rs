//! Signatures over the end of a record, kept beside it.
//!
//! | file | what it is |
//! |---|---|
//! | `signed/1.txt` | what was signed: the hash of a line, a blank, the number of that line, a line end |
//! | `signed/1.sig` | the signature over that file's bytes: Ed25519 (RFC 8032), 64 bytes |
//! | `signed/1.pem` | the public key (RFC 8410) |
//!
//! Other programs can check them: `openssl pkeyutl -verify -pubin -inkey 1.pem -rawin -in 1.txt
//! -sigfile 1.sig`. A signature shows that the lines up to there are those the holder of the key
//! had; whose key it is, nobody can see from it.

use std::path::{Path, PathBuf};

use ed25519_dalek::pkcs8::spki::der::pem::LineEnding;
use ed25519_dalek::pkcs8::{
    DecodePrivateKey, DecodePublicKey, EncodePrivateKey, EncodePublicKey, KeypairBytes,
};
use ed25519_dalek::{SIGNATURE_LENGTH, Signature, Signer, SigningKey, VerifyingKey};
use serde::Serialize;

use super::folder;
use super::line::Hash;
use super::trouble::RecordError;

pub(crate) const SIGNED: &str = "signed";

/// A key to sign with. Never shown.
pub struct Key(SigningKey);

/// The public half of a key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PublicKey(VerifyingKey);

/// A signature that was found to be right.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Signed {
    /// The line whose hash was signed.
    pub line: u64,
    /// The SHA-256 of the key's 32 bytes, to tell keys apart by.
    pub key: Hash,
}

impl Key {
    /// A key from 32 random bytes.
    pub fn of(random: &[u8; 32]) -> Key {
        Key(SigningKey::from_bytes(random))
    }

    /// # Errors
    ///
    /// Says what is wrong with a text that is not a private key as [`Key::to_pem`] writes it.
    pub fn from_pem(text: &str) -> Result<Key, String> {
        let key = SigningKey::from_pkcs8_pem(text);
        key.map(Key).map_err(|error| error.to_string())
    }

    /// The private key as PEM (PKCS #8, RFC 8410).
    ///
    /// # Errors
    ///
    /// Says what stands in the way.
    pub fn to_pem(&self) -> Result<String, String> {
        let bytes = KeypairBytes {
            secret_key: self.0.to_bytes(),
            public_key: None,
        };
        let pem = bytes.to_pkcs8_pem(LineEnding::LF);
        pem.map(|pem| pem.to_string())
            .map_err(|error| error.to_string())
    }

    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key())
    }
}

impl PublicKey {
    /// # Errors
    ///
    /// Says what is wrong with a text that is not a public key as [`PublicKey::to_pem`] writes it.
    pub fn from_pem(text: &str) -> Result<PublicKey, String> {
        let key = VerifyingKey::from_public_key_pem(text);
        key.map(PublicKey).map_err(|error| error.to_string())
    }

    /// The public key as PEM (SubjectPublicKeyInfo, RFC 8410).
    ///
    /// # Errors
    ///
    /// Says what stands in the way.
    pub fn to_pem(&self) -> Result<String, String> {
        let pem = self.0.to_public_key_pem(LineEnding::LF);
        pem.map_err(|error| error.to_string())
    }

    /// The SHA-256 of its 32 bytes.
    pub fn fingerprint(&self) -> Hash {
        Hash::of(self.0.as_bytes())
    }
}

/// Signs the record as it ends now, beside what was signed before.
///
/// # Errors
///
/// [`RecordError::Storage`] if it cannot be written.
pub fn sign(session: &Path, head: &Hash, lines: u64, key: &Key) -> Result<Signed, RecordError> {
    let text = format!("{head} {lines}\n");
    let unwritable = |what| RecordError::Unwritable { what };
    let pem = key.public().to_pem().map_err(unwritable)?;
    let folder = session.join(SIGNED);
    folder::make_folder(&folder)?;
    let free = (1..).find(|number| !file(session, *number, "txt").exists());
    let number = free.unwrap_or(u32::MAX);
    folder::write_synced(&file(session, number, "pem"), pem.as_bytes(), false)?;
    let signature = key.0.sign(text.as_bytes()).to_bytes();
    folder::write_synced(&file(session, number, "sig"), &signature, false)?;
    folder::write_synced(&file(session, number, "txt"), text.as_bytes(), false)?;
    Ok(Signed {
        line: lines,
        key: key.public().fingerprint(),
    })
}

/// The file that was signed, and its signature: right, or what is wrong with it.
pub(crate) type Checked = (String, Result<Signed, String>);

/// Every signature of a session by the file that was signed: right, or what is wrong with it.
/// `head_of` gives the hash of a line by its number.
pub(crate) fn check(
    session: &Path,
    head_of: impl Fn(u64) -> Option<Hash>,
) -> Result<Vec<Checked>, RecordError> {
    let names = folder::names_in(session, SIGNED)?;
    let numbers: Vec<u32> = names
        .iter()
        .filter_map(|name| {
            let stem = name.strip_prefix(SIGNED)?.strip_prefix('/')?;
            stem.strip_suffix(".txt")?.parse().ok()
        })
        .collect();
    let found = numbers.into_iter().map(|number| {
        let name = format!("{SIGNED}/{number}.txt");
        (name, check_one(session, number, &head_of))
    });
    Ok(found.collect())
}

fn check_one(
    session: &Path,
    number: u32,
    head_of: impl Fn(u64) -> Option<Hash>,
) -> Result<Signed, String> {
    let read = |kind| folder::read_some(&file(session, number, kind)).map_err(|e| e.to_string());
    let text = String::from_utf8(read("txt")?).map_err(|_| "is not UTF-8".to_owned())?;
    let pem =
        String::from_utf8(read("pem")?).map_err(|_| "has a key that is no text".to_owned())?;
    let key = PublicKey::from_pem(&pem).map_err(|error| format!("has no key: {error}"))?;
    let bytes: [u8; SIGNATURE_LENGTH] = read("sig")?
        .try_into()
        .map_err(|_| format!("has a signature that is not {SIGNATURE_LENGTH} bytes long"))?;
    let signature = Signature::from_bytes(&bytes);
    key.0
        .verify_strict(text.as_bytes(), &signature)
        .map_err(|_| "is not what was signed: it or its signature was changed".to_owned())?;
    let line = text.trim_end().split_once(' ');
    let (head, line) = line
        .and_then(|(head, line)| Some((head, line.parse::<u64>().ok()?)))
        .ok_or_else(|| "does not name a line and its hash".to_owned())?;
    match head_of(line) {
        Some(hash) if hash.as_str() == head => Ok(Signed {
            line,
            key: key.fingerprint(),
        }),
        Some(_) => Err(format!(
            "was signed over another line {line}: the record was written anew"
        )),
        None => Err(format!(
            "was signed over line {line}, which is gone: the end of the record was cut off"
        )),
    }
}

fn file(session: &Path, number: u32, kind: &str) -> PathBuf {
    session.join(SIGNED).join(format!("{number}.{kind}"))
}
