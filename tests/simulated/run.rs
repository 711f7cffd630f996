//! One simulated session, with everything that came in.

use std::collections::BTreeMap;
use std::fmt;

use readback::language::{Command, Meaning, SpokenReading};
use readback::procedure::StepKind;
use readback::quantity::{Amount, Prefix};
use readback::session::{
    Event, Guide, Input, KeptReading, Ms, Opening, Phase, Position, ReadingId, Standing, State,
    Understanding, Utterance, apply, decide, next_due, speech,
};

use super::channel::{self, Heard, Rng};
use super::oracle;
use super::technician::{Says, Technician};
use super::truth::Truth;

/// Who has come so far in circles has no finding to be wrong about.
const MOST_INPUTS: usize = 400;

/// An input with what is known of it.
pub struct Came {
    pub at: Ms,
    pub input: Input,
    /// Where the session stood.
    pub phase: Phase,
    pub position: Option<Position>,
    /// It answers a question about a value, or objects to one read back.
    pub answers: bool,
    /// What was truly said, where it was a value.
    pub said: Option<Said>,
}

#[derive(Debug, Clone, Copy)]
pub struct Said {
    pub amount: Amount,
    pub hinted: bool,
}

#[derive(Debug, Default)]
pub struct Counts {
    pub sessions: u64,
    pub finished: u64,
    pub values: u64,
    pub misheard: u64,
    /// Questions about a value, and those whose value was heard right.
    pub asked: u64,
    pub asked_of_right: u64,
    pub asked_of_proof: u64,
    pub kept_wrong: u64,
    pub slipped_unhinted: u64,
}

impl Counts {
    pub fn add(&mut self, other: &Counts) {
        self.sessions += other.sessions;
        self.finished += other.finished;
        self.values += other.values;
        self.misheard += other.misheard;
        self.asked += other.asked;
        self.asked_of_right += other.asked_of_right;
        self.asked_of_proof += other.asked_of_proof;
        self.kept_wrong += other.kept_wrong;
    }
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let each = |count: u64| count as f64 / self.sessions.max(1) as f64;
        write!(
            f,
            "{} sessions, {} to their end, {} values said, {} misheard; {} questions ({:.2} a \
             session), {} of them about a hold's proof, {} of the others about a value heard right \
             ({:.2} a session); {} wrong values kept unasked, {} of them changed the outcome and \
             were hinted at by nothing",
            self.sessions,
            self.finished,
            self.values,
            self.misheard,
            self.asked,
            each(self.asked),
            self.asked_of_proof,
            self.asked_of_right,
            each(self.asked_of_right),
            self.kept_wrong,
            self.slipped_unhinted,
        )
    }
}

/// What is done about mishearing besides answering questions.
#[derive(Debug, Clone, Copy)]
pub struct Heeds {
    /// How many wrong readbacks in a thousand are missed.
    pub misses: u64,
    /// Whether the session doubts what it hears; else it takes each value as if it had been typed.
    pub doubts: bool,
}

pub struct Run<'a> {
    guide: &'a Guide,
    pub state: State,
    now: Ms,
    rng: Rng,
    heeds: Heeds,
    pub came: Vec<Came>,
    /// What was truly said for each reading, and by which input it was given.
    pub truths: BTreeMap<ReadingId, Said>,
    pub given_by: BTreeMap<ReadingId, usize>,
    objects_to: Option<ReadingId>,
    pub counts: Counts,
}

impl<'a> Run<'a> {
    pub fn hold(guide: &'a Guide, mut rng: Rng, heeds: Heeds) -> Run<'a> {
        let truth = Truth::new(rng.next());
        let mut run = Run {
            guide,
            state: State::default(),
            now: 0,
            rng,
            heeds,
            came: Vec::new(),
            truths: BTreeMap::new(),
            given_by: BTreeMap::new(),
            objects_to: None,
            counts: Counts {
                sessions: 1,
                ..Counts::default()
            },
        };
        let opening = Opening {
            serial: Some("A1".to_owned()),
            ..Opening::default()
        };
        run.take(Input::Begin(opening), None);
        let mut technician = Technician {
            guide,
            truth,
            called_out: 0,
        };
        let mut visit = 0;
        let enough = |run: &Run| run.came.len() >= MOST_INPUTS && !oracle::asked(&run.state);
        while !run.state.closed() && !enough(&run) {
            if run.state.visit != visit {
                visit = run.state.visit;
                technician.arrive(&run.state);
            }
            run.turn(&mut technician);
        }
        run.counts.finished = u64::from(run.state.phase == Phase::Closed);
        run.counts.kept_wrong = run.wrong().len() as u64;
        run
    }

    /// The readings that count, were not affirmed and are not what was said.
    pub fn wrong(&self) -> Vec<ReadingId> {
        let kept = self.state.readings.iter();
        let unasked = kept.filter(|r| r.standing == Standing::ReadBack && !r.computed);
        unasked
            .filter(|r| {
                self.truths
                    .get(&r.id)
                    .is_some_and(|t| t.amount != r.reading.amount)
            })
            .map(|r| r.id)
            .collect()
    }

    /// What stands for a reading now: itself, or what replaced it last; at a read step also what was
    /// said later.
    pub fn in_the_end(&self, id: ReadingId) -> &KeptReading {
        let readings = &self.state.readings;
        if let Some(next) = readings.iter().find(|r| r.replaces == Some(id)) {
            return self.in_the_end(next.id);
        }
        let kept = self.state.reading(id).expect("a reading that was given");
        let step = self.guide.step(&kept.step).map(|s| &s.kind);
        let later = |r: &&KeptReading| r.step == kept.step && r.counts();
        match step {
            Some(StepKind::Read { .. }) if kept.withdrawn() => {
                readings.iter().rfind(later).unwrap_or(kept)
            }
            _ => kept,
        }
    }

    fn turn(&mut self, technician: &mut Technician) {
        self.wait_until(self.now + 900);
        // What is asked is answered first; who objects goes on until it is understood.
        let objection = self.objects_to.and_then(|id| self.objection(id));
        let says = match objection {
            Some(says) => says,
            None => {
                let truths = self.truths.clone();
                technician.says(&self.state, &mut self.rng, |id| {
                    Some(truths.get(&id)?.amount)
                })
            }
        };
        match says {
            Says::Waits(by) => {
                let due = next_due(&self.state).unwrap_or(self.now);
                self.wait_until((self.now + by).min(due.max(self.now + 1)));
            }
            Says::Plain(meaning) => self.say(vec![meaning], None),
            Says::Typed(amount) => {
                let said = Said {
                    amount,
                    hinted: true,
                };
                let utterance = self.utterance(vec![given(None, amount, self.now)]);
                let utterance = Utterance {
                    typed: true,
                    ..utterance
                };
                self.take(Input::Heard(utterance), Some(said));
            }
            Says::Value {
                command,
                amount,
                resolution,
            } => {
                self.counts.values += 1;
                match channel::hear(&mut self.rng, self.guide, amount, resolution) {
                    Heard::Nothing => {
                        self.say(vec![Meaning::nothing("noise")], None);
                    }
                    Heard::Amounts { amounts, hinted } => {
                        self.counts.misheard += u64::from(amounts[0] != amount);
                        let now = self.now;
                        let meanings = amounts.into_iter().map(|a| given(command, a, now));
                        let meanings = meanings.collect();
                        self.say(meanings, Some(Said { amount, hinted }));
                    }
                }
            }
        }
    }

    /// A wrong value just read back, if nothing else is being asked and it is still the last one.
    fn objection(&self, id: ReadingId) -> Option<Says> {
        let last = self.state.last_reading()?;
        let may = self.state.asking.is_none() && last.id == id;
        let definition = self.guide.quantity(&last.step, &last.quantity)?;
        may.then(|| Says::Value {
            command: Some(Command::Correction),
            amount: self.truths[&id].amount,
            resolution: definition.resolution,
        })
    }

    fn say(&mut self, meanings: Vec<Meaning>, said: Option<Said>) {
        let utterance = self.utterance(meanings);
        self.take(Input::Heard(utterance), said);
    }

    fn utterance(&self, meanings: Vec<Meaning>) -> Utterance {
        let understandings = meanings.into_iter().map(|meaning| Understanding {
            words: "words".to_owned(),
            confidence: None,
            meaning,
        });
        Utterance {
            understandings: understandings.collect(),
            typed: !self.heeds.doubts,
            clip: None,
            start_ms: self.now,
            end_ms: self.now + 500,
        }
    }

    fn wait_until(&mut self, until: Ms) {
        while let Some(due) = next_due(&self.state).filter(|due| *due <= until) {
            self.now = self.now.max(due);
            self.take(Input::Tick, None);
        }
        self.now = self.now.max(until);
    }

    fn take(&mut self, input: Input, said: Option<Said>) {
        let events = decide(self.guide, &self.state, input.clone(), self.now);
        let index = self.came.len();
        let (phase, position) = (self.state.phase.clone(), self.state.position.clone());
        let asked = oracle::asked(&self.state);
        let objects = commands(&input).contains(&Command::Correction);
        self.came.push(Came {
            at: self.now,
            input,
            phase,
            position,
            answers: asked || objects,
            said,
        });
        let mut sounded = false;
        for event in &events {
            sounded |= !speech(self.guide, &self.state, event).is_empty();
            self.state = apply(std::mem::take(&mut self.state), event);
            self.notice(event, index, said);
        }
        if sounded {
            let through = self.state.count;
            self.take(Input::Spoken { through }, None);
        }
    }

    fn notice(&mut self, event: &Event, index: usize, said: Option<Said>) {
        match event {
            Event::ReadingGiven { id, replaces, .. } => {
                let before = replaces.and_then(|before| self.truths.get(&before).copied());
                // Offered after "negative": what was said before is still what is meant.
                if let Some(truth) = said.or(before) {
                    self.truths.insert(*id, truth);
                    self.given_by.insert(*id, index);
                }
            }
            Event::ReadBack { id } => {
                let kept = self.state.reading(*id).map(|r| r.reading.amount);
                let wrong = kept.is_some() && kept != self.truths.get(id).map(|said| said.amount);
                if wrong && !self.rng.chance(self.heeds.misses) {
                    self.objects_to = Some(*id);
                }
            }
            Event::ConfirmationAsked { id, .. } => {
                self.counts.asked += 1;
                let kept = self.state.reading(*id);
                let right = kept.map(|r| r.reading.amount) == self.truths.get(id).map(|s| s.amount);
                match kept.is_some_and(|r| r.proof.is_some()) {
                    true => self.counts.asked_of_proof += 1,
                    false => self.counts.asked_of_right += u64::from(right),
                }
            }
            _ => {}
        }
    }
}

/// What an input commands, by what it may be understood as.
fn commands(input: &Input) -> Vec<Command> {
    let Input::Heard(utterance) = input else {
        return Vec::new();
    };
    let understandings = utterance.understandings.iter();
    let command = |u: &Understanding| match u.meaning {
        Meaning::Command { command, .. } => Some(command),
        _ => None,
    };
    understandings.filter_map(command).collect()
}

pub fn given(command: Option<Command>, amount: Amount, at: Ms) -> Meaning {
    let readings = vec![SpokenReading {
        amount,
        prefix: Prefix::None,
        unit: None,
        start_ms: at,
        end_ms: at + 500,
    }];
    match command {
        Some(command) => Meaning::Command { command, readings },
        None => Meaning::Readings(readings),
    }
}
