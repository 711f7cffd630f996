//! Hearing from outside: WAV files of every kind, and the real engines on real recordings.

mod support;

//#[cfg(feature = "pocketsphinx")]
//mod english;
//#[cfg(feature = "vosk")]
//mod korean;
mod wav;
