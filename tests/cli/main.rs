//! The command line from outside: exact stdout, stderr and exit code of the built program.

mod support;

mod usage;
mod verify;
