//! One dialogue held with a session on a virtual clock.

use std::fs;
use std::path::Path;

use readback::language::{Hypothesis, Word};
use readback::procedure::{SourceFile, VariantId, load_files};
use readback::quantity::{Amount, Base, Decimal, Reading, Unit};
use readback::session::{
    Event, Guide, Input, Ms, Opening, State, Utterance, Visit, apply, decide, expectation,
    next_due, speech,
};

/// How long a word takes in a dialogue.
const WORD_MS: Ms = 300;
const PAUSE_MS: Ms = 1200;

/// The dialogue again, with what the session answers now.
pub fn hold(written: &str) -> Result<String, String> {
    let mut held = String::new();
    let mut guide = None;
    let mut opening = Opening::default();
    let mut run: Option<Run> = None;
    for line in written.lines() {
        let line = line.trim_end();
        if let Some(files) = line.strip_prefix("procedure ") {
            guide = Some(load(files)?);
        } else if let Some(job) = line.strip_prefix("job ") {
            opening = read_job(job)?;
        } else if let Some(visit) = line.strip_prefix("visit ") {
            let guide = guide.as_mut().ok_or("found no `procedure` line")?;
            let (serial, visit) = read_visit(visit)?;
            guide.visits.insert(serial, visit);
        } else if line.starts_with("  <") || line.starts_with("  *") {
            continue;
        } else if line.is_empty() || line.starts_with('#') {
            held.push_str(line);
            held.push('\n');
            continue;
        } else {
            let run = match &mut run {
                Some(run) => run,
                None => {
                    let guide = guide.clone().ok_or("found no `procedure` line")?;
                    let mut begun = Run::new(guide);
                    begun.input(Input::Begin(std::mem::take(&mut opening)));
                    held.push_str(&begun.take());
                    run.insert(begun)
                }
            };
            run.line(line)?;
            let (before, after) = run.take_parts();
            held.push_str(&before);
            held.push_str(line);
            held.push('\n');
            held.push_str(&after);
            continue;
        }
        held.push_str(line);
        held.push('\n');
    }
    if let Some(run) = run {
        run.check_replay()?;
    }
    Ok(held)
}

fn load(files: &str) -> Result<Guide, String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/dialogues/procedures");
    let mut sources = Vec::new();
    for name in files.split_whitespace() {
        let text = fs::read_to_string(folder.join(name)).map_err(|e| format!("{name}: {e}"))?;
        sources.push(SourceFile {
            name: name.to_owned(),
            text,
        });
    }
    let problems = |problems: Vec<_>| format!("{files}: {problems:#?}");
    let library = load_files(&sources).map_err(problems)?;
    Guide::bundled(library).map_err(|e| e.to_string())
}

fn read_job(job: &str) -> Result<Opening, String> {
    let mut opening = Opening::default();
    for part in job.split(',').map(str::trim) {
        let (key, value) = part.split_once('=').unwrap_or((part, ""));
        let reading = |base: Base| -> Result<Option<Reading>, String> {
            let value: Decimal = value.parse().map_err(|_| format!("found `{value}`"))?;
            Ok(Some(Reading {
                amount: Amount::Exact(value),
                unit: Unit::from(base),
            }))
        };
        match key {
            "variant" => opening.variant = Some(VariantId::from(value)),
            "serial" => opening.serial = Some(value.to_owned()),
            "voltage" => opening.supply_voltage = reading(Base::Volt)?,
            "frequency" => opening.supply_frequency = reading(Base::Hertz)?,
            "ask" => opening.ask_job = true,
            "complaint" => opening.order.complaint = Some(value.to_owned()),
            "reference" => opening.order.reference = Some(value.to_owned()),
            "technician" => opening.technician = Some(value.to_owned()),
            "qualified" => opening.qualified = true,
            "tools" => opening.tools_at_hand = true,
            _ => return Err(format!("found the job's `{part}`")),
        }
    }
    Ok(opening)
}

fn read_visit(written: &str) -> Result<(String, Visit), String> {
    let mut words = written.splitn(3, ' ').map(str::to_owned);
    let mut next = || words.next().filter(|word| !word.is_empty());
    let (serial, day) = next().zip(next()).ok_or("found a visit without its day")?;
    let visit = Visit {
        session: format!("{day}-before"),
        day,
        conclusion: next(),
    };
    Ok((serial, visit))
}

struct Run {
    guide: Guide,
    state: State,
    now: Ms,
    events: Vec<Event>,
    /// Events up to which the sentences were queued and not yet heard to their end.
    unheard: Option<u64>,
    before: String,
    out: String,
}

impl Run {
    fn new(guide: Guide) -> Run {
        Run {
            guide,
            state: State::default(),
            now: 0,
            events: Vec::new(),
            unheard: None,
            before: String::new(),
            out: String::new(),
        }
    }

    /// What was said before the line, since the last one; and because of it.
    fn take_parts(&mut self) -> (String, String) {
        (
            std::mem::take(&mut self.before),
            std::mem::take(&mut self.out),
        )
    }

    fn take(&mut self) -> String {
        let (before, after) = self.take_parts();
        before + &after
    }

    fn line(&mut self, line: &str) -> Result<(), String> {
        let (time, rest) = line.split_once(' ').unwrap_or((line, ""));
        let seconds: f64 = time.parse().map_err(|_| format!("found `{line}`"))?;
        let at = (seconds * 1000.0).round() as Ms;
        if at < self.now {
            return Err(format!("`{line}` is before the line above"));
        }
        let (mark, words) = rest.split_once(' ').unwrap_or((rest, ""));
        if mark != ">>" {
            self.hear_out();
        }
        self.advance(at);
        self.before = std::mem::take(&mut self.out);
        match mark {
            ">" | ">>" => self.say(words),
            "." => {}
            "resume" => self.input(Input::Resume),
            _ => return Err(format!("found `{line}`")),
        }
        Ok(())
    }

    /// Everything queued is heard to its end, at the time it was queued: prompts take no time here.
    fn hear_out(&mut self) {
        while let Some(through) = self.unheard.take() {
            self.input(Input::Spoken { through });
        }
    }

    fn advance(&mut self, to: Ms) {
        while let Some(due) = next_due(&self.state).filter(|due| *due <= to) {
            self.now = self.now.max(due);
            self.input(Input::Tick);
            self.hear_out();
        }
        self.now = to;
    }

    fn say(&mut self, words: &str) {
        let automaton = self
            .guide
            .language
            .compile(&expectation(&self.guide, &self.state))
            .expect("what may be heard compiles");
        let hypotheses: Vec<Hypothesis> =
            words.split('~').map(|w| hypothesis(w, self.now)).collect();
        let start = self.now;
        let last = |h: &Hypothesis| h.words.last().map(|w| w.end_ms);
        let end = hypotheses.first().and_then(last).unwrap_or(start);
        let clip = Some(format!("{}.wav", self.events.len()));
        let utterance = Utterance::understood(&automaton, &hypotheses, clip, start, end);
        self.now = end;
        self.input(Input::Heard(utterance));
    }

    fn input(&mut self, input: Input) {
        let events = decide(&self.guide, &self.state, input, self.now);
        let mut names = Vec::new();
        for event in events {
            let sentences = speech(&self.guide, &self.state, &event);
            self.state = apply(std::mem::take(&mut self.state), &event);
            for sentence in &sentences {
                self.out.push_str(&format!("  < {}\n", sentence.text));
                self.unheard = Some(self.state.count);
            }
            if !matches!(event, Event::Heard { .. } | Event::PromptEnded { .. }) {
                names.push(name(&event));
            }
            self.events.push(event);
        }
        if !names.is_empty() {
            self.out.push_str(&format!("  * {}\n", names.join(", ")));
        }
    }

    /// Live equals replayed: the events, written and read again, add up to the same state.
    fn check_replay(&self) -> Result<(), String> {
        let mut state = State::default();
        for event in &self.events {
            let line = serde_json::to_string(event).map_err(|e| e.to_string())?;
            let read: Event = serde_json::from_str(&line).map_err(|e| format!("{line}: {e}"))?;
            state = apply(state, &read);
        }
        match state == self.state {
            true => Ok(()),
            false => Err("the replayed state differs from the live one".to_owned()),
        }
    }
}

fn name(event: &Event) -> String {
    let json = serde_json::to_value(event).expect("an event is JSON");
    let name = json["event"].as_str().expect("a tagged event").to_owned();
    match event {
        Event::StepEntered { to, .. } | Event::SteppedBack { to, .. } => {
            format!("{name} {}", to.step)
        }
        Event::FindingReached { finding, .. } => format!("{name} {finding}"),
        Event::FindingsEqual { findings, .. } => {
            let ids: Vec<&str> = findings.iter().map(|id| id.as_str()).collect();
            format!("{name} {}", ids.join(" = "))
        }
        Event::Overridden {
            from, to, reason, ..
        } => {
            let from = from.as_ref().map_or("none", |id| id.as_str());
            format!("{name} {from} by {} for `{}`", to.as_str(), reason.words)
        }
        Event::Declined { why } => format!("{name} {}", first_word(&format!("{why:?}"))),
        Event::Refused { why } => format!("{name} {}", first_word(&format!("{why:?}"))),
        Event::ConfirmationAsked { why, .. } => {
            format!("{name} {}", first_word(&format!("{why:?}")))
        }
        Event::HoldProofPoint { proves, .. } => format!("{name} {proves}"),
        _ => name,
    }
}

fn first_word(text: &str) -> String {
    text.chars().take_while(|c| c.is_alphanumeric()).collect()
}

fn hypothesis(words: &str, start: Ms) -> Hypothesis {
    let mut at = start;
    let mut hypothesis = Hypothesis::default();
    for text in words.split_whitespace() {
        if text == "..." {
            at += PAUSE_MS;
            continue;
        }
        hypothesis.words.push(Word {
            text: text.to_owned(),
            start_ms: at,
            end_ms: at + WORD_MS,
            confidence: None,
        });
        at += WORD_MS;
    }
    hypothesis
}
