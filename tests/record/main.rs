//! Records made, broken in every way that is promised to be found, and taken up again.

mod session;

mod resume;
mod verify;
