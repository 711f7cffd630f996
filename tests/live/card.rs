//! A sound card that is not there: a private PulseAudio server with a microphone into which
//! recordings are played in real time, and a loudspeaker nobody hears.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use tempfile::TempDir;

pub const NOT_INSTALLED: &str =
    "PulseAudio is not installed, and the test has no other microphone: run `scripts/setup`";

/// What the server may take to answer on a busy machine.
const PATIENCE: Duration = Duration::from_secs(20);

/// ALSA's default devices become those of the server.
const ALSA: &str = "</usr/share/alsa/alsa.conf>\n\
                    pcm.!default { type pulse }\n\
                    ctl.!default { type pulse }\n";

pub struct Card {
    folder: TempDir,
    server: Option<Child>,
}

impl Card {
    pub fn plugged_in() -> Card {
        let plugin = alsa_plugin();
        assert!(plugin.is_some(), "{NOT_INSTALLED}");
        let folder = TempDir::new().expect("a temporary folder");
        fs::write(folder.path().join("asound.conf"), ALSA).expect("a file of the test");
        let mut card = Card {
            folder,
            server: None,
        };
        card.plug_in();
        card
    }

    /// Starts the server and waits until its microphone is there.
    pub fn plug_in(&mut self) {
        let socket = self.socket();
        let log = File::create(self.path("server.log")).expect("a log file");
        let mut server = Command::new("pulseaudio");
        server
            .args(["-n", "--daemonize=no", "--exit-idle-time=-1"])
            .args(["--disallow-exit=yes", "--use-pid-file=no"])
            .arg("-L")
            .arg(format!(
                "module-native-protocol-unix socket={} auth-anonymous=1",
                socket.display()
            ))
            // Without rewinds what is played is heard sample by sample.
            .args([
                "-L",
                "module-null-sink sink_name=mic norewinds=1 rate=16000 channels=1",
            ])
            .args([
                "-L",
                "module-null-sink sink_name=speaker rate=48000 channels=2",
            ]);
        self.at_home(&mut server);
        server
            .env_remove("PULSE_SERVER")
            .stdout(Stdio::null())
            .stderr(log);
        self.server = Some(server.spawn().expect(NOT_INSTALLED));
        self.ask(&["set-default-source", "mic.monitor"]);
        self.ask(&["set-default-sink", "speaker"]);
    }

    /// Lets the microphone hear the loudspeaker, set to a volume such as `50%`.
    pub fn echo(&self, volume: &str) {
        self.ask(&["set-sink-volume", "speaker", volume]);
        let ends = ["source=speaker.monitor", "sink=mic", "latency_msec=30"];
        self.ask(&[&["load-module", "module-loopback"], &ends[..]].concat());
    }

    /// Ends the server, as a cable that is pulled.
    pub fn unplug(&mut self) {
        if let Some(mut server) = self.server.take() {
            server.kill().expect("a server that runs");
            server.wait().expect("a server that ends");
        }
        // A server that was killed leaves its socket behind. It may never have made it.
        let _ = fs::remove_file(self.socket());
    }

    /// Plays a recording into the microphone, and waits until it has ended.
    pub fn say(&self, recording: &Path) {
        let mut player = Command::new("paplay");
        player.arg("--device=mic").arg(recording);
        self.at_home(&mut player);
        // Queued well ahead: a busy machine must not tear a word apart.
        player.env("PULSE_LATENCY_MSEC", "1000");
        let played = player.status().expect(NOT_INSTALLED);
        assert!(played.success(), "`{}` was not played", recording.display());
    }

    /// Lets a program find this card and no other, and the speech service of the test or none.
    pub fn at_home(&self, program: &mut Command) {
        let native = format!("unix:{}", self.socket().display());
        program
            .env("XDG_RUNTIME_DIR", self.folder.path())
            .env("HOME", self.folder.path())
            .env("PULSE_RUNTIME_PATH", self.folder.path())
            .env("PULSE_SERVER", native)
            .env("PULSE_LATENCY_MSEC", "50")
            .env("SPEECHD_CMD", self.path("no-speech-service"))
            .env("ALSA_CONFIG_PATH", self.path("asound.conf"))
            .env("DBUS_SESSION_BUS_ADDRESS", "disabled:")
            .env("DBUS_SYSTEM_BUS_ADDRESS", "disabled:");
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn socket(&self) -> PathBuf {
        self.path("native")
    }

    /// Asks the server until it answers.
    fn ask(&self, question: &[&str]) {
        let begun = Instant::now();
        loop {
            let mut asked = Command::new("pactl");
            asked
                .args(question)
                .stdout(Stdio::null())
                .stderr(Stdio::null());
            self.at_home(&mut asked);
            if asked.status().expect(NOT_INSTALLED).success() {
                return;
            }
            let log = || fs::read_to_string(self.path("server.log")).unwrap_or_default();
            assert!(
                begun.elapsed() < PATIENCE,
                "PulseAudio does not answer `{}`:\n{}",
                question.join(" "),
                log()
            );
            thread::sleep(Duration::from_millis(100));
        }
    }
}

impl Drop for Card {
    fn drop(&mut self) {
        self.unplug();
    }
}

/// ALSA's way to PulseAudio, in the folder of the machine's own architecture.
fn alsa_plugin() -> Option<PathBuf> {
    let folders = fs::read_dir("/usr/lib").ok()?;
    let plugins = folders
        .flatten()
        .map(|folder| folder.path().join("alsa-lib/libasound_module_pcm_pulse.so"));
    plugins.into_iter().find(|plugin| plugin.is_file())
}
