//! The state of a session as a page shows it: pure, and nothing that is not on disk.

mod chart;
mod keys;
mod place;
mod scene;
mod values;
mod written;

use serde::Serialize;

use super::glance::Talk;
use crate::session::{Guide, Ms, State};

pub use chart::Chart;
pub use keys::{Key, Typing};
pub use place::Place;
pub use scene::{Point, Scene, Signal};
pub use values::{Timer, Value};

/// Everything the page shows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct View {
    /// Since which event the same is asked for. An answer names it, so that one that comes too late
    /// is not taken for the answer to something else.
    pub turn: u64,
    /// The language of all that is said, such as `en-US`.
    pub locale: String,
    pub title: String,
    pub revision: String,
    /// The unit's variant and serial number, as far as known.
    pub unit: String,
    pub scene: Scene,
    /// What is to be done or answered, readable from two metres.
    pub headline: String,
    /// What belongs to it.
    pub lines: Vec<String>,
    pub signal: Option<Signal>,
    /// The measured points of a hold.
    pub proof: Vec<Point>,
    pub place: Place,
    pub heard: Option<Heard>,
    pub value: Option<Value>,
    pub timer: Option<Timer>,
    pub chart: Option<Chart>,
    /// The commands, in a fixed order.
    pub keys: Vec<Key>,
    /// The answers to what is asked.
    pub answers: Vec<String>,
    pub typing: Option<Typing>,
    /// The last sentences of the assistant, the newest last.
    pub said: Vec<Said>,
    /// What the machine cannot do just now.
    pub notices: Vec<String>,
    /// Nothing more will happen.
    pub over: bool,
}

/// What was heard last.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heard {
    pub words: String,
    pub understood: bool,
    /// 0 to 1, where the engine gives one.
    pub confidence: Option<f32>,
}

/// A sentence of the assistant.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Said {
    /// From 1, in the order spoken.
    pub number: u64,
    pub text: String,
    /// To be read out at once by a screen reader, whatever it reads just then.
    pub urgent: bool,
}

/// The view of a session.
pub(super) fn view(guide: &Guide, state: &State, talk: &Talk) -> View {
    let procedure = guide.procedure(state);
    let shown = scene::shown(guide, state);
    View {
        turn: talk.turn,
        locale: guide.library.main().locale.clone(),
        title: procedure.title.clone(),
        revision: procedure.revision.clone(),
        unit: unit(state),
        scene: shown.scene,
        headline: shown.headline,
        lines: shown.lines,
        signal: shown.signal,
        proof: scene::proof(guide, state),
        place: place::place(guide, state),
        heard: talk.heard.clone(),
        value: values::value(guide, state),
        timer: values::timer(state),
        chart: chart::chart(guide, state),
        keys: keys::keys(guide, state),
        answers: keys::answers(guide, state),
        typing: keys::typing(guide, state),
        said: talk.said.iter().cloned().collect(),
        notices: talk.notices.clone(),
        over: state.closed(),
    }
}

fn unit(state: &State) -> String {
    let serial = state.job.serial.as_deref().unwrap_or_default();
    let parts = [state.job.variant_name.as_str(), serial];
    let known = parts.into_iter().filter(|part| !part.is_empty());
    known.collect::<Vec<_>>().join(" · ")
}

/// Whole seconds between two moments of the session's clock.
fn seconds(from: Ms, to: Ms) -> f64 {
    to.saturating_sub(from) as f64 / 1000.0
}
