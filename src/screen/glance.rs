//! What has happened and been said in a session, so far as the page shows it.

use std::collections::VecDeque;

use super::view::{self, Heard, Said, View};
use crate::language::Meaning;
use crate::procedure::{SignalWord, StepKind};
use crate::session::{self, Event, Guide, Phase, Phrase, Rest, Sentence, State};

/// Sentences that are kept for a page that comes late or again.
const SAID_KEPT: usize = 8;

/// Conditions of the machine: the sentence with which each begins and the one with which it ends.
const CONDITIONS: [(Phrase, Phrase); 2] = [
    (Phrase::NotRecording, Phrase::RecordingAgain),
    (Phrase::MicrophoneLost, Phrase::MicrophoneBack),
];

/// A session as it is followed for the page. Its state is what the recorded events add up to.
pub struct Glance {
    guide: Guide,
    state: State,
    talk: Talk,
}

/// What was said on both sides.
#[derive(Debug, Default)]
pub(super) struct Talk {
    /// The event since which the same is asked for.
    pub turn: u64,
    pub heard: Option<Heard>,
    /// The last sentences, the newest last.
    pub said: VecDeque<Said>,
    /// How many sentences there have been.
    count: u64,
    /// What the machine cannot do just now, in its own words.
    pub notices: Vec<String>,
}

impl Glance {
    /// A session before its first event, or `state` as its record left it.
    pub fn new(guide: Guide, state: State) -> Glance {
        let talk = Talk {
            turn: state.count,
            ..Talk::default()
        };
        Glance { guide, state, talk }
    }

    /// Events that are on disk.
    pub fn happened(&mut self, events: &[Event]) {
        let asked = Asked::of(&self.state);
        for event in events {
            self.state = session::apply(std::mem::take(&mut self.state), event);
            self.talk.hear(event);
        }
        if Asked::of(&self.state) != asked {
            self.talk.turn = self.state.count;
        }
    }

    /// A sentence of the assistant begins.
    pub fn said(&mut self, sentence: &Sentence) {
        for (begins, ends) in CONDITIONS {
            let begins = self.guide.phrases.text(begins);
            self.talk.notices.retain(|notice| {
                let over = sentence.text == self.guide.phrases.text(ends);
                !(over && notice == begins)
            });
            let known = self.talk.notices.iter().any(|notice| notice == begins);
            if sentence.text == begins && !known {
                self.talk.notices.push(begins.to_owned());
            }
        }
        let urgent = !sentence.may_be_cut && self.is_grave();
        self.talk.say(&sentence.text, urgent);
    }

    /// What the page shows now.
    pub fn view(&self) -> View {
        view::view(&self.guide, &self.state, &self.talk)
    }

    /// A danger, or everything was stopped.
    fn is_grave(&self) -> bool {
        let step = self.state.position.as_ref();
        let kind = step.and_then(|p| self.guide.step(p)).map(|step| &step.kind);
        let danger = matches!(
            kind,
            Some(StepKind::Caution {
                signal: SignalWord::Danger,
                ..
            })
        );
        danger || self.state.rest == Rest::Stopped
    }
}

impl Talk {
    fn hear(&mut self, event: &Event) {
        match event {
            Event::Heard {
                words,
                meaning,
                confidence,
                ..
            } => {
                self.heard = Some(Heard {
                    words: words.clone(),
                    understood: !matches!(meaning, Meaning::Nothing { .. }),
                    confidence: *confidence,
                });
            }
            event if event.takes_free_words() => {
                if let Some(heard) = &mut self.heard {
                    heard.understood = true;
                }
            }
            _ => {}
        }
    }

    fn say(&mut self, text: &str, urgent: bool) {
        self.count += 1;
        self.said.push_back(Said {
            number: self.count,
            text: text.to_owned(),
            urgent,
        });
        while self.said.len() > SAID_KEPT {
            self.said.pop_front();
        }
    }
}

/// What the technician is asked for. While it is the same, an answer that was on its way still
/// answers it.
#[derive(PartialEq)]
struct Asked {
    visit: u32,
    phase: Phase,
    rest: Rest,
    asking: Option<session::Asking>,
    proved: usize,
    verdict: Option<session::KeptVerdict>,
    finished: bool,
}

impl Asked {
    fn of(state: &State) -> Asked {
        Asked {
            visit: state.visit,
            phase: state.phase.clone(),
            rest: state.rest,
            asking: state.asking.clone(),
            proved: state.proof.len(),
            verdict: state.verdict.clone(),
            finished: state.finished.is_some(),
        }
    }
}
