//! The system's voice with services that speak, fall silent, do not answer, or are not there.

use std::io::Read;
use std::time::{Duration, Instant};

use readback::speaking::system::SystemVoice;
use readback::speaking::voice::{Delivery, Voice};

use crate::speech_service::{Manners, serve};

/// The part: says sentences, falls silent in the middle of one, and tells how that went.
pub fn speak() {
    let mut voice = match SystemVoice::open(&Delivery::default()) {
        Ok(voice) => voice,
        Err(e) => return println!("not opened: {e}"),
    };
    println!("said: {:?}", voice.say("One.").is_ok());
    println!("finished: {:?}", voice.finish().map_err(|e| e.to_string()));
    println!("said: {:?}", voice.say("Two.").is_ok());
    let before = Instant::now();
    voice.stop();
    println!(
        "stopped at once: {}",
        before.elapsed() < Duration::from_millis(500)
    );
    println!("said: {:?}", voice.say("Three.").is_ok());
    println!("finished: {:?}", voice.finish().map_err(|e| e.to_string()));
    println!("speaking: {}", voice.is_speaking());
}

/// What the child says with such a service, or none.
fn outcome(manners: Option<Manners>) -> String {
    let home = tempfile::tempdir().unwrap();
    let socket = home.path().join("speech.sock");
    if let Some(manners) = manners {
        serve(&socket, manners);
    }
    let began = Instant::now();
    let mut child = super::child("speak")
        .env(
            "SPEECHD_ADDRESS",
            format!("unix_socket:{}", socket.display()),
        )
        .spawn()
        .unwrap();
    let mut said = String::new();
    child
        .stdout
        .take()
        .unwrap()
        .read_to_string(&mut said)
        .unwrap();
    assert!(child.wait().unwrap().success(), "{said}");
    assert!(began.elapsed() < Duration::from_secs(60), "{said}");
    said
}

#[cfg(feature = "system-voice")]
const SILENT: &str = "the speech service takes sentences and does not end them; check the sound \
                      output, then restart the speech service";

#[cfg(feature = "system-voice")]
pub fn speaks() {
    assert_eq!(
        outcome(Some(Manners::Speaks)),
        "said: true\nfinished: Ok(())\nsaid: true\nstopped at once: true\nsaid: true\n\
         finished: Ok(())\nspeaking: false\n"
    );
}

#[cfg(feature = "system-voice")]
pub fn never_ends() {
    assert_eq!(
        outcome(Some(Manners::NeverEnds)),
        format!(
            "said: true\nfinished: Err({SILENT:?})\nsaid: false\nstopped at once: true\n\
             said: false\nfinished: Err({SILENT:?})\nspeaking: false\n"
        )
    );
}

#[cfg(feature = "system-voice")]
pub fn does_not_answer() {
    assert_eq!(
        outcome(Some(Manners::Silent)),
        "not opened: the speech service does not answer; restart the speech service\n"
    );
}

#[cfg(feature = "system-voice")]
pub fn absent() {
    let said = outcome(None);
    assert!(
        said.starts_with("not opened: there is no speech service: "),
        "{said}"
    );
    assert!(
        said.ends_with("install it with `sudo apt install speech-dispatcher`\n"),
        "{said}"
    );
}

/// A build without the voice says so, whatever services there are.
#[cfg(not(feature = "system-voice"))]
mod without {
    use super::*;

    fn says_so(manners: Option<Manners>) {
        assert_eq!(
            outcome(manners),
            "not opened: this build has no system voice; build it with `--features \
             system-voice`\n"
        );
    }

    pub fn speaks() {
        says_so(Some(Manners::Speaks));
    }

    pub fn never_ends() {
        says_so(Some(Manners::NeverEnds));
    }

    pub fn does_not_answer() {
        says_so(Some(Manners::Silent));
    }

    pub fn absent() {
        says_so(None);
    }
}

#[cfg(not(feature = "system-voice"))]
pub use without::*;
