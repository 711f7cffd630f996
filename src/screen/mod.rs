//! Edge: a page that shows a session at a glance and takes its commands from a dry finger, a
//! keyboard or a nose.
//!
//! [`Glance`] follows what is recorded and said, and makes a [`View`] of it: everything the page
//! shows. [`Screen`] serves the page to browsers, on the loopback interface or, with a token, to one
//! address of the machine. It runs on a thread of its own and never makes a session wait: each viewer
//! gets the newest view, and what lies between is passed over.
//!
//! | module | what it holds |
//! |---|---|
//! | `glance` | what has happened and been said, so far as the page shows it |
//! | `view` | the state of a session as a page shows it |
//! | `server` | the page and its two ways: what is shown out, what is said in |
//! | `review` | the page on which a recorded session is read and put right |
//! | `serving` | pages served on a thread of their own |
//! | `guard` | who may ask |
//! | `viewers` | what each browser is told, and when |
//! | `address` | where the page is, the token, and the picture of both for a tablet's camera |
//!
//! The browser keeps nothing: no cookie, no storage. It loads nothing from elsewhere.

mod address;
mod glance;
mod guard;
mod review;
mod server;
mod serving;
mod view;
mod viewers;

pub use address::{Address, Place, picture};
pub use glance::Glance;
pub use review::{Review, ReviewHooks};
pub use server::{Hooks, Level, Screen};
pub use serving::ScreenError;
pub use view::View;
