//! What leaves the house after a session: one model of the report, and the forms it is written in.
//!
//! [`Report::of`] makes the model from the recorded events and the procedure as it was; the forms
//! say nothing that is not in it. The report speaks English whatever the language of the session.
//!
//! | form | for whom |
//! |---|---|
//! | [`text`] | a terminal |
//! | [`html`] | a mail, a screen, paper: one file that needs nothing else |
//! | [`csv`] | the readings in a table for other programs (RFC 4180) |
//! | the model as JSON | other programs; [`schema`] describes it |
//!
//! A record that is not whole or was changed is reported as far as it holds together, and says so
//! before anything else.

mod csv;
mod findings;
mod gather;
mod holds;
mod html;
mod job;
pub mod model;
mod present;
mod presentable;
mod readings;
mod reasons;
mod record;
mod review;
mod schema;
mod steps;
mod text;
mod unresolved;
mod wording;

pub use csv::csv;
pub use gather::Material;
pub use html::{Clips, html};
pub use model::Report;
pub use present::{clips_gone, limits, record_in_words, result_in_words, value};
pub use presentable::fit;
pub use reasons::{now, reasons};
pub use schema::schema;
pub use text::text;
