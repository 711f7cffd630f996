//! The command line from outside: exact stdout, stderr and exit code of the built program.

mod support;

mod amend;
mod check;
mod diagnose;
mod doctor;
#[cfg(feature = "pocketsphinx")]
mod hear;
mod large;
mod manual;
mod pack;
mod parse;
#[cfg(all(feature = "vosk", feature = "pocketsphinx"))]
mod readme;
#[cfg(all(feature = "vosk", feature = "pocketsphinx"))]
mod recordings;
mod replay;
mod report;
mod review;
#[cfg(feature = "pocketsphinx")]
mod scoring;
mod sessions;
mod sign;
mod usage;
mod verify;
