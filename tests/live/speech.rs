//! The speech service of a sound card that is not there: the real daemon, started for one test, or
//! none at all.

use std::fs::{self, File};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use super::card::Card;

const NOT_INSTALLED: &str = "speech-dispatcher is not installed: run `scripts/setup`";
/// What the daemon may take to be there on a busy machine.
const PATIENCE: Duration = Duration::from_secs(20);

/// How the daemon speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manner {
    /// Aloud, by espeak-ng.
    Aloud,
    /// Its module is frozen: it takes sentences and ends none.
    Endless,
}

/// A daemon that runs until this is dropped.
pub struct Speech {
    daemon: Child,
}

impl Speech {
    pub fn start(card: &Card, manner: Manner) -> Speech {
        let folder = card.path("speech");
        fs::create_dir_all(folder.join("modules")).expect("a folder of the test");
        fs::write(folder.join("speechd.conf"), configuration(&folder)).expect("a file of the test");
        fs::write(folder.join("modules/espeak-ng.conf"), "Debug 0\n").expect("a file of the test");
        let log = File::create(folder.join("log")).expect("a log file");
        let mut daemon = Command::new("speech-dispatcher");
        daemon
            .args(["--run-single", "--timeout", "0", "--config-dir"])
            .arg(&folder)
            .arg("--log-dir")
            .arg(&folder)
            .stdout(Stdio::null())
            .stderr(log);
        card.at_home(&mut daemon);
        let speech = Speech {
            daemon: daemon.spawn().expect(NOT_INSTALLED),
        };
        speech.wait_for(&card.path("speech-dispatcher/speechd.sock"), &folder);
        speech.say_a_word(card);
        if manner == Manner::Endless {
            speech.signal_modules("-STOP");
        }
        speech
    }

    /// It answers once all of it is there.
    fn say_a_word(&self, card: &Card) {
        let mut word = Command::new("spd-say");
        word.args(["--wait", "ready"]);
        card.at_home(&mut word);
        let said = word.status().expect(NOT_INSTALLED);
        assert!(said.success(), "speech-dispatcher does not speak");
    }

    fn signal_modules(&self, name: &str) {
        let id = self.daemon.id();
        let children = fs::read_to_string(format!("/proc/{id}/task/{id}/children"));
        for module in children.unwrap_or_default().split_whitespace() {
            signal(name, module);
        }
    }

    fn wait_for(&self, socket: &Path, folder: &Path) {
        let begun = Instant::now();
        while !socket.exists() {
            assert!(
                begun.elapsed() < PATIENCE,
                "speech-dispatcher does not begin:\n{}",
                fs::read_to_string(folder.join("log")).unwrap_or_default()
            );
            thread::sleep(Duration::from_millis(50));
        }
    }
}

impl Drop for Speech {
    /// In order, so that it ends its modules.
    fn drop(&mut self) {
        self.signal_modules("-CONT");
        signal("-TERM", &self.daemon.id().to_string());
        // There is nobody to tell that it had ended before.
        let _ = self.daemon.wait();
    }
}

fn configuration(folder: &Path) -> String {
    format!(
        "LogLevel 3\n\
         LogDir \"{}\"\n\
         AudioOutputMethod \"pulse\"\n\
         AddModule \"espeak-ng\" \"sd_espeak-ng\" \"espeak-ng.conf\"\n\
         DefaultModule espeak-ng\n\
         DefaultLanguage \"en-US\"\n",
        folder.display(),
    )
}

/// Sends a signal to a process that may have ended.
fn signal(name: &str, id: &str) {
    let _ = Command::new("kill").args([name, id]).status();
}
