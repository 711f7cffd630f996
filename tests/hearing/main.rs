//! Hearing from outside: WAV files of every kind, and the real engines on real recordings.
//!
//! The engines and models are those that `scripts/setup` fetches; the recordings are listed in
//! `audio-fixtures/hearing/manifest.tsv`, and human ones come with Debian's `pocketsphinx-testdata`.

mod endpoint;
#[cfg(feature = "pocketsphinx")]
mod english;
#[cfg(feature = "vosk")]
mod korean;
#[cfg(feature = "pocketsphinx")]
mod loudspeaker;
#[cfg(feature = "network")]
mod network;
#[cfg(feature = "pocketsphinx")]
mod people;
#[cfg(any(feature = "pocketsphinx", feature = "vosk", feature = "network"))]
mod support;
mod wav;
