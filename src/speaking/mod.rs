//! Words aloud. An edge room.

pub mod voice;
