//! What a process has of the machine's memory.

use std::fs;

/// What is resident now.
pub const NOW: &str = "VmRSS:";
/// The most that was resident at any time so far.
pub const MOST: &str = "VmHWM:";

/// One of these two of a process, by its number or `self`.
pub fn megabytes(process: &str, which: &str) -> f64 {
    let status = fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let resident = status.lines().find_map(|line| line.strip_prefix(which));
    let kb = resident.and_then(|kb| kb.trim().strip_suffix("kB")?.trim().parse::<f64>().ok());
    kb.expect("the system's account of the process") / 1024.0
}
