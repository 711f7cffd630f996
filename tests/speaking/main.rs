//! Voices through real speech programs, and through ones that fail.

mod programs;
