//! Which microphones there are, as the operating system tells, and choosing one of them.

use cpal::ErrorKind;
use cpal::traits::{DeviceTrait, HostTrait};
use serde::Serialize;

use crate::sound;

/// One input device.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Microphone {
    pub name: String,
    /// The one taken when none is named.
    pub default: bool,
    /// As the device is set: samples a second and channels.
    pub rate: u32,
    pub channels: u16,
}

/// Why there is no microphone, or one cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}; {remedy}")]
pub struct MicrophoneError {
    pub what: String,
    pub remedy: &'static str,
}

/// ALSA's device that gives silence for ever, where there is no sound card too.
const SILENT: &str = "null";

/// Every microphone that says how it can be used, the default one first.
///
/// # Errors
///
/// There is none, or none can be used: what to do about it.
pub fn microphones() -> Result<Vec<Microphone>, MicrophoneError> {
    sound::quietly(listed)
}

fn listed() -> Result<Vec<Microphone>, MicrophoneError> {
    let host = sound::host();
    let default = host.default_input_device().and_then(|d| d.id().ok());
    let devices = host.input_devices().map_err(|e| sorted(&e))?;
    let mut found = Vec::new();
    let mut trouble = None;
    for device in devices {
        let id = device.id().ok();
        if id.as_ref().is_some_and(|id| id.id() == SILENT) {
            continue;
        }
        let is_default = id.is_some() && id == default;
        match device.default_input_config() {
            Ok(config) => found.push(Microphone {
                name: device.to_string(),
                default: is_default,
                rate: config.sample_rate(),
                channels: config.channels(),
            }),
            Err(e) if is_default || trouble.is_none() => trouble = Some(sorted(&e)),
            Err(_) => {}
        }
    }
    found.sort_by_key(|microphone| !microphone.default);
    match (found.is_empty(), trouble) {
        (false, _) => Ok(found),
        (true, Some(trouble)) => Err(trouble),
        (true, None) => Err(none()),
    }
}

/// The microphone that is named, wholly or by a part of its name; the default one without a name.
///
/// # Errors
///
/// There is none, none of that name, or several.
pub(super) fn choose(wanted: Option<&str>) -> Result<cpal::Device, MicrophoneError> {
    let host = sound::host();
    let Some(wanted) = wanted else {
        return host.default_input_device().ok_or_else(none);
    };
    let devices = sound::quietly(|| host.input_devices().map(Vec::from_iter));
    let devices: Vec<cpal::Device> = devices.map_err(|e| sorted(&e))?;
    let is_named = |device: &&cpal::Device| {
        device.to_string() == wanted || device.id().is_ok_and(|id| id.id() == wanted)
    };
    if let Some(device) = devices.iter().find(is_named) {
        return Ok(device.clone());
    }
    let lower = wanted.to_lowercase();
    let mut partly = devices
        .iter()
        .filter(|device| device.to_string().to_lowercase().contains(&lower));
    match (partly.next(), partly.next()) {
        (Some(device), None) => Ok(device.clone()),
        (found, _) => Err(MicrophoneError {
            what: match found {
                None => format!("no microphone is named `{wanted}`"),
                Some(_) => format!("several microphones have `{wanted}` in their names"),
            },
            remedy: "see their names with `readback doctor`",
        }),
    }
}

fn none() -> MicrophoneError {
    MicrophoneError {
        what: "no microphone was found".to_owned(),
        remedy: "plug in a headset, and see `arecord -l`",
    }
}

/// The library's kinds of error by what to do about them.
pub(super) fn sorted(error: &cpal::Error) -> MicrophoneError {
    let (what, remedy) = match error.kind() {
        ErrorKind::DeviceNotAvailable | ErrorKind::DeviceChanged => return none(),
        ErrorKind::HostUnavailable => (
            "the sound system is not running",
            "start it, such as with `systemctl --user start pipewire`",
        ),
        ErrorKind::PermissionDenied => (
            "this user may not use the microphone",
            "allow it, such as with `sudo usermod -aG audio $USER`, and log in again",
        ),
        ErrorKind::DeviceBusy => (
            "another program uses the microphone",
            "close that program and try again",
        ),
        _ => {
            return MicrophoneError {
                what: format!("the microphone cannot be used: {error}"),
                remedy: "choose another one in the system's sound settings",
            };
        }
    };
    MicrophoneError {
        what: what.to_owned(),
        remedy,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_are_sorted_by_what_to_do() {
        let remedy = |kind| sorted(&cpal::Error::from(kind)).remedy;
        assert!(remedy(ErrorKind::PermissionDenied).contains("usermod"));
        assert!(remedy(ErrorKind::DeviceBusy).contains("close that program"));
        assert!(remedy(ErrorKind::HostUnavailable).contains("start it"));
        assert_eq!(
            sorted(&cpal::Error::from(ErrorKind::DeviceNotAvailable)),
            none()
        );
    }
}
