//! `readback doctor` at a microphone: what it hears, plays and says.

use std::process::Command;
use std::time::Duration;

use super::card::Card;
use super::program::Program;
use super::speech::{Manner, Speech};

/// It has asked for "next" and listened in this time.
const TRIES: usize = 40;

#[test]
fn the_doctor_hears_next_at_a_microphone_and_speaks() {
    let card = Card::plugged_in();
    let _speech = Speech::start(&card, Manner::Aloud);
    let mut command = Command::new(env!("CARGO_BIN_EXE_readback"));
    command.args(["doctor", "--engine", "pocketsphinx", "--sessions"]);
    command.arg(card.path("sessions"));
    card.at_home(&mut command);
    let mut doctor = Program::start(&mut command, "the program");
    let next = super::below("audio-fixtures", "cold-benches/001.wav");
    for _ in 0..TRIES {
        card.say(&next);
        if doctor.comes("works    level: ", Duration::from_secs(1)) {
            break;
        }
    }
    doctor.expect("works    tones: ");
    doctor.expect("works    system voice: said a sentence in ");
    doctor.expect("works    recognition: heard `next` by pocketsphinx");
    doctor.expect("a live session can be run");
    let told = doctor.finish();
    let told: Vec<&str> = told.lines().collect();
    assert_eq!(
        told,
        [
            "listening for two seconds",
            "now you: Say next when you have understood."
        ]
    );
}
