//! `readback key`: a key to sign records with.

use std::fs;
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::{Answer, Failure, Output, new_file, text_file};
use crate::record::{Key, PublicKey};

/// Makes a key to sign records with.
///
/// The private key is written so that only you can read it: keep it to yourself. The public key,
/// beside it with `.pub.pem`, is for whoever is to check your signatures.
///
/// Examples:
///
///   readback key amsel.pem
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The file to make for the private key
    file: PathBuf,
}

#[derive(Serialize)]
struct Document<'a> {
    private: &'a str,
    public: &'a str,
    key: &'a str,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let private = &arguments.file;
    let public = private.with_extension("pub.pem");
    new_file::must_lie_outside(private)?;
    let mut random = [0; 32];
    getrandom::fill(&mut random)
        .map_err(|error| Failure::missing(format_args!("cannot get random numbers: {error}")))?;
    let key = Key::of(&random);
    let (private_pem, public_pem) = (key.to_pem(), key.public().to_pem());
    new_file::write_secret(private, private_pem.map_err(Failure::input)?.as_bytes())?;
    let written = new_file::write(&public, public_pem.map_err(Failure::input)?.as_bytes());
    if written.is_err() {
        // Half a pair is none. What went wrong is told, not that this failed too.
        let _ = fs::remove_file(private);
    }
    written?;
    let fingerprint = key.public().fingerprint();
    let (private, public) = (private.to_string_lossy(), public.to_string_lossy());
    if output.is_json() {
        output.json(&Document {
            private: &private,
            public: &public,
            key: fingerprint.as_str(),
        })?;
    } else {
        output.text(format!(
            "{private}: the private key, keep it to yourself\n\
             {public}: the public key, for whoever checks your signatures\n\
             key {fingerprint}\n"
        ))?;
    }
    Ok(Answer::Done)
}

/// The private key in a file.
///
/// # Errors
///
/// It is none, or others than its owner may read it.
pub fn read_private(path: &Path) -> Result<Key, Failure> {
    let text = text_file::read(path, text_file::BY_HAND)?;
    let key = Key::from_pem(&text).map_err(|_| no_key(path, &text, "private"))?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let about = fs::metadata(path).map_err(|error| Failure::file("read", path, &error))?;
        let mode = about.permissions().mode() & 0o777;
        if mode & 0o077 != 0 {
            return Err(Failure::input(format_args!(
                "`{0}` may be used by others (mode {mode:o}), expected mode 600; \
                 run `chmod 600 {0}`, or make a new key if others have had it",
                path.display()
            )));
        }
    }
    Ok(key)
}

/// The public key in a file.
///
/// # Errors
///
/// It is none.
pub fn read_public(path: &Path) -> Result<PublicKey, Failure> {
    let text = text_file::read(path, text_file::BY_HAND)?;
    PublicKey::from_pem(&text).map_err(|_| no_key(path, &text, "public"))
}

fn no_key(path: &Path, text: &str, wanted: &str) -> Failure {
    let file = path.display();
    let other = ["private", "public"]
        .into_iter()
        .filter(|kind| *kind != wanted)
        .find(|kind| text.contains(&format!("-----BEGIN {} KEY-----", kind.to_uppercase())));
    Failure::input(match other {
        Some(other) => format!("`{file}` is the {other} key, expected the {wanted} one"),
        None => format!(
            "`{file}` is no {wanted} key, expected the {wanted} one of the two that `readback key` \
             made"
        ),
    })
}
