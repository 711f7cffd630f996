//! The operating system's sound, as [`hearing`](crate::hearing) and [`speaking`](crate::speaking)
//! find it: the host of its devices, how they are set, and what an error means for a stream.

use std::fs::File;
use std::io;
use std::os::fd::OwnedFd;

use cpal::traits::DeviceTrait;
use cpal::{BufferSize, ErrorKind, FrameCount, StreamConfig};

/// A sound server's own choice can be two seconds.
const PIECE_MS: u32 = 20;

/// Where devices come from: the sound server where there is one, or the hardware.
///
/// What ALSA would write on stderr by itself is kept away on the calling thread; its errors are
/// given back too.
pub fn host() -> cpal::Host {
    #[cfg(target_os = "linux")]
    {
        // Where this fails stderr has more lines, and nothing else happens.
        let _ = alsa::Output::local_error_handler();
    }
    cpal::default_host()
}

/// Does something in which libraries write on stderr what nobody can do anything about, such as
/// that a server is not running which was not asked for. For as long as it takes nothing of this
/// process comes out there.
pub fn quietly<T>(work: impl FnOnce() -> T) -> T {
    let stderr = silenced();
    let done = work();
    if let Ok(stderr) = stderr {
        // What was just done the other way round.
        let _ = rustix::stdio::dup2_stderr(&stderr);
    }
    done
}

/// Lets stderr lead nowhere, and gives where it led.
fn silenced() -> io::Result<OwnedFd> {
    let nowhere = File::options().write(true).open("/dev/null")?;
    let stderr = rustix::io::fcntl_dupfd_cloexec(io::stderr(), 3)?;
    rustix::stdio::dup2_stderr(&nowhere)?;
    Ok(stderr)
}

/// Settings of a device with its sound in pieces of 20 ms, where a server would otherwise gather
/// seconds. Hardware is left as it is set: what it can do differs from card to card.
pub fn in_pieces(device: &cpal::Device, settings: StreamConfig) -> StreamConfig {
    let is_served = device.id().is_ok_and(|id| id.host().name() == "PulseAudio");
    let frames: FrameCount = settings.sample_rate * PIECE_MS / 1000;
    match is_served {
        true => StreamConfig {
            buffer_size: BufferSize::Fixed(frames.max(1)),
            ..settings
        },
        false => settings,
    }
}

/// Whether a stream goes on by itself after an error.
pub fn is_harmless(error: &cpal::Error) -> bool {
    matches!(
        error.kind(),
        ErrorKind::Xrun | ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_stream_that_ends_is_lost() {
        let harmless = |kind| is_harmless(&cpal::Error::from(kind));
        assert!(harmless(ErrorKind::Xrun) && harmless(ErrorKind::DeviceChanged));
        for kind in [
            ErrorKind::DeviceNotAvailable,
            ErrorKind::StreamInvalidated,
            ErrorKind::BackendError,
        ] {
            assert!(!harmless(kind), "{kind:?}");
        }
    }
}
