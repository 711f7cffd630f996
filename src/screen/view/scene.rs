//! What is to be done, answered or known now.

use serde::Serialize;

use super::written;
use crate::procedure::{Release, SignalWord, StepKind, Text};
use crate::quantity::{Amount, Reading};
use crate::session::{
    self, Asking, Conclusion, Evidence, Guide, KeptVerdict, Phase, Phrase, Position, Rest, State,
};

/// What kind of moment it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Scene {
    /// Before the first step.
    Entry,
    Action,
    Caution,
    Hold,
    Wait,
    Choose,
    Read,
    Watch,
    Finding,
    Finish,
    /// A value waits for "affirm".
    Confirm,
    /// Something else is asked on top of the step.
    Question,
    StandingBy,
    Stopped,
    Closed,
}

/// A caution's signal word with the words of ANSI Z535.6.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Signal {
    pub level: SignalWord,
    /// In the language of the session: "Danger".
    pub word: String,
}

/// One measured point of a hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Point {
    pub say: String,
    /// Where it must lie.
    pub within: String,
    /// What was read, once it was.
    pub read: String,
    pub now: bool,
}

/// The words of a scene, the most important first.
pub(super) struct Words {
    pub scene: Scene,
    pub headline: String,
    pub lines: Vec<String>,
    pub signal: Option<Signal>,
}

impl Words {
    fn new(scene: Scene, sentences: impl IntoIterator<Item = String>) -> Words {
        let mut sentences = sentences.into_iter().filter(|text| !text.is_empty());
        Words {
            scene,
            headline: sentences.next().unwrap_or_default(),
            lines: sentences.collect(),
            signal: None,
        }
    }
}

pub(super) fn shown(guide: &Guide, state: &State) -> Words {
    let own = |phrase| guide.phrases.text(phrase).to_owned();
    match (&state.phase, state.rest, &state.asking) {
        (Phase::Closed, ..) => {
            let end = state.finished.iter().flat_map(|end| ends(guide, end));
            Words::new(Scene::Closed, end.chain([own(Phrase::Closed)]))
        }
        (Phase::Refused(why), ..) => Words::new(Scene::Closed, [session::refused(guide, why).text]),
        (_, Rest::Stopped, _) => Words::new(
            Scene::Stopped,
            [make_safe(guide, state), own(Phrase::Stopped)],
        ),
        (_, Rest::StandingBy, _) => Words::new(Scene::StandingBy, [own(Phrase::StandingBy)]),
        (_, _, Some(Asking::Confirmation(_))) => asked(guide, state, Scene::Confirm),
        (_, _, Some(_)) => asked(guide, state, Scene::Question),
        (Phase::New, ..) => Words::new(Scene::Entry, [guide.library.main().title.clone()]),
        (Phase::Entry(_), ..) => asked(guide, state, Scene::Entry),
        (Phase::Working, ..) => working(guide, state),
    }
}

fn asked(guide: &Guide, state: &State, scene: Scene) -> Words {
    let sentences = session::prompt(guide, state).into_iter();
    Words::new(scene, sentences.map(|sentence| sentence.text))
}

fn ends(guide: &Guide, end: &Conclusion) -> Vec<String> {
    let part = end.part.as_deref();
    let part = part.map(|part| guide.phrases.fill(Phrase::Part, &[("part", part)]));
    let contact = end.contact.as_deref();
    let fill = |contact| guide.phrases.fill(Phrase::Contact, &[("contact", contact)]);
    let contact = contact.map(fill);
    let lines = [end.conclusion.clone(), part, contact];
    lines.into_iter().flatten().collect()
}

fn make_safe(guide: &Guide, state: &State) -> String {
    let step = state.position.as_ref().and_then(|p| guide.step(p));
    let own = step.and_then(|step| step.make_safe.as_ref());
    let text = own.unwrap_or(&guide.procedure(state).make_safe);
    written_text(guide, state, text)
}

fn written_text(guide: &Guide, state: &State, text: &Text) -> String {
    guide.text(state, text).written.clone()
}

fn working(guide: &Guide, state: &State) -> Words {
    let step = state
        .position
        .as_ref()
        .and_then(|p| Some((p, guide.step(p)?)));
    let Some((position, step)) = step else {
        return Words::new(Scene::Action, []);
    };
    let text = |text: &Text| written_text(guide, state, text);
    let own = |phrase| guide.phrases.text(phrase).to_owned();
    match &step.kind {
        StepKind::Action { say } => Words::new(Scene::Action, [text(say)]),
        StepKind::Caution {
            signal,
            hazard,
            consequence,
            avoid,
            ..
        } => Words {
            signal: Some(Signal {
                level: *signal,
                word: signal_word(guide, *signal),
            }),
            ..Words::new(Scene::Caution, [hazard, consequence, avoid].map(text))
        },
        StepKind::Hold { say, release } => {
            let wanted = release_wanted(guide, state, release);
            // Once the proof has begun, its next point is what is to be read from afar.
            let task = state.proof.is_empty().then(|| text(say));
            Words::new(Scene::Hold, task.into_iter().chain(wanted))
        }
        StepKind::Wait { say, .. } => Words::new(Scene::Wait, [text(say)]),
        StepKind::Choose { ask, .. } => Words::new(Scene::Choose, [text(ask)]),
        StepKind::Read { say, .. } => Words::new(Scene::Read, [text(say)]),
        StepKind::Watch { say, .. } => Words::new(Scene::Watch, [text(say)]),
        // A finding may end the procedure without a step of its own.
        StepKind::Diagnose { .. } => match &state.finished {
            Some(end) => {
                let lines = ends(guide, end).into_iter();
                Words::new(Scene::Finish, lines.chain([own(Phrase::AskClose)]))
            }
            None => finding(guide, state, position),
        },
        StepKind::Finish { say, .. } => {
            let end = state.finished.iter().flat_map(|end| ends(guide, end));
            let lines = [text(say)].into_iter().chain(end);
            Words::new(Scene::Finish, lines.chain([own(Phrase::AskClose)]))
        }
        // Nothing is asked at these; a session stands at one only when it was stopped there.
        StepKind::Compute { .. } | StepKind::GoTo { .. } | StepKind::Call { .. } => {
            asked(guide, state, Scene::Action)
        }
    }
}

fn signal_word(guide: &Guide, signal: SignalWord) -> String {
    let phrase = match signal {
        SignalWord::Danger => Phrase::SignalDanger,
        SignalWord::Warning => Phrase::SignalWarning,
        SignalWord::Caution => Phrase::SignalCaution,
        SignalWord::Notice => Phrase::SignalNotice,
    };
    let word = guide.phrases.text(phrase);
    word.trim_end_matches(|c: char| !c.is_alphanumeric())
        .to_owned()
}

/// The words that release a hold. Its points stand in a list of their own.
fn release_wanted(guide: &Guide, state: &State, release: &Release) -> Option<String> {
    match release {
        Release::Words(words) => {
            let slots = [("words", words.as_str())];
            Some(guide.phrases.fill(Phrase::AskReleaseWords, &slots))
        }
        Release::Proof(points) => {
            let point = points.get(state.proof.len())?;
            Some(written_text(guide, state, &point.say))
        }
    }
}

pub(super) fn proof(guide: &Guide, state: &State) -> Vec<Point> {
    let step = state
        .position
        .as_ref()
        .and_then(|p| Some((p, guide.step(p)?)));
    let Some((position, StepKind::Hold { release, .. })) = step.map(|(p, s)| (p, &s.kind)) else {
        return Vec::new();
    };
    let Release::Proof(points) = release else {
        return Vec::new();
    };
    let point = |(index, point): (usize, &crate::procedure::ProofPoint)| {
        let definition = guide.quantity(position, &point.quantity);
        let kept = state.proof.get(index).and_then(|id| state.reading(*id));
        let read = kept.map(|kept| {
            let (number, unit) = written::reading(&kept.reading);
            format!("{number} {unit}").trim().to_owned()
        });
        Point {
            say: written_text(guide, state, &point.say),
            within: definition.map_or_else(String::new, |d| written::range(&point.within, d.unit)),
            read: read.unwrap_or_default(),
            now: index == state.proof.len(),
        }
    };
    points.iter().enumerate().map(point).collect()
}

/// A verdict and what it rests on, in figures.
fn finding(guide: &Guide, state: &State, position: &Position) -> Words {
    let mut words = asked(guide, state, Scene::Finding);
    let told = matches!(state.verdict, Some(KeptVerdict::Finding(_)));
    let kept = state.findings.last();
    let kept = kept.filter(|kept| told && kept.step == *position);
    if let Some(why) = kept.and_then(|kept| kept.why.as_ref()) {
        words.lines.insert(0, reasons(guide, why));
        words.lines.retain(|line| !line.is_empty());
    }
    words
}

fn reasons(guide: &Guide, why: &Evidence) -> String {
    let level = why.level.map(|level| {
        let amount = Amount::Exact(level);
        let (number, unit) = written::reading(&Reading {
            amount,
            unit: why.unit,
        });
        format!("{number} {unit}").trim().to_owned()
    });
    let level = level.unwrap_or_default();
    let readings = why.readings.to_string();
    let behavior = why.behavior.map(session::behavior_phrase);
    let behavior = behavior.map_or("", |phrase| guide.phrases.text(phrase));
    let slots = [
        ("behavior", behavior),
        ("level", level.as_str()),
        ("readings", readings.as_str()),
    ];
    let phrase = match (behavior.is_empty(), level.is_empty()) {
        (false, false) => Phrase::WhyAt,
        (false, true) => Phrase::Why,
        (true, false) => Phrase::WhyValue,
        (true, true) => return String::new(),
    };
    guide.phrases.fill(phrase, &slots)
}
