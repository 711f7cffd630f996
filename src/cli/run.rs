//! `readback run`: a session at the machine, with microphone and voice.

use std::io::{self, IsTerminal};
use std::path::PathBuf;
use std::sync::Arc;

use tokio::sync::mpsc::{self, Receiver, Sender};

use super::dialogue::Dialogue;
use super::job::{self, Job};
use super::page::Page;
use super::session_answer;
use super::session_folder::{Kept, Place};
use super::visits::Visits;
use super::voices::{Manner, VoiceChoice};
use super::{Answer, Failure, Output, attention, meter};
use crate::clock::{Clock, SystemClock};
use crate::conversation::{Conversation, Incoming};
use crate::live::gate::Gate;
use crate::live::{Ears, Input, Keys, Live, Mode, Shown};
use crate::replay::Listener;
use crate::screen::{Glance, Screen};
use crate::session::Guide;
use crate::speaking::earcon::Earcons;
use crate::speaking::mouth::Mouth;

/// Inputs that may wait; who gives one to a full queue waits.
const WAITING: usize = 64;

/// Works through a procedure by voice, with a microphone.
///
/// What is said is also written. SIGINT (Ctrl-C) and SIGTERM end the session in order; it can be
/// gone on with by --resume, at the same step and with the same readings.
///
/// Examples:
///
///   readback run procedures/cold-benches.yaml --headset --job job.yaml
///   readback run procedures/cold-benches.yaml --screen --resume sessions/2026-03-04-170509-cold-benches
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The procedure's file; those it calls are read from the same folder
    #[arg(value_name = "PROCEDURE")]
    procedure: PathBuf,
    /// The microphone, by its name or a part of it [default: the system's]
    #[arg(long, value_name = "NAME")]
    device: Option<String>,
    #[command(flatten)]
    way: Way,
    /// Everything said but "stop" must begin with this word, such as "computer"
    #[arg(long, value_name = "WORD")]
    attention: Option<String>,
    /// Only what is said while a key is held on stdin, or within four seconds after it, is taken;
    /// "stop" always is
    #[arg(long)]
    push_to_talk: bool,
    #[command(flatten)]
    page: Page,
    #[command(flatten)]
    job: Job,
    #[command(flatten)]
    visits: Visits,
    #[command(flatten)]
    ears: job::Ears,
    #[command(flatten)]
    place: Place,
    /// How the assistant speaks: system, text, wav:FILE or none
    #[arg(long, value_name = "VOICE", default_value = "system")]
    voice: VoiceChoice,
    #[command(flatten)]
    manner: Manner,
}

/// Whether the microphone hears the assistant.
#[derive(Debug, clap::Args)]
#[group(multiple = false)]
struct Way {
    /// You wear a headset: talk over a prompt, and the first valid phrase cuts it short
    #[arg(long)]
    headset: bool,
    /// The microphone hears the loudspeaker: only "stop" and "stand by" are listened for while
    /// something is said [the default]
    #[arg(long)]
    loudspeaker: bool,
}

impl Way {
    fn mode(&self) -> Mode {
        match self.headset {
            true => Mode::Headset,
            false => Mode::Loudspeaker,
        }
    }
}

/// A session ready to begin.
struct Session {
    kept: Kept,
    guide: Guide,
    first: Incoming,
    locale: String,
    attention: Option<String>,
    shown: Option<(Glance, Screen)>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let work = arguments.place.open(&arguments.procedure)?;
    let library = work.procedure.library.clone();
    let locale = library.main().locale.clone();
    let opening = arguments.job.opening(&library)?;
    let mut ear = arguments.ears.open(&locale)?;
    let attention = arguments.attention.as_ref();
    let attention = attention.map(|word| attention::checked(word, &locale, &mut ear));
    let attention = attention.transpose()?;
    let opening = job::heard_by(opening, Some(&ear));
    let mut guide = Guide::bundled(library).map_err(Failure::input)?;
    guide.visits = arguments.visits.read(arguments.place.earlier());
    let clock = Arc::new(SystemClock::starting_at(work.ms()));
    // Microphone and page before the record: without them there is no session to record.
    let (inputs, mut waiting) = mpsc::channel(WAITING);
    let device = arguments.device.clone();
    let ears = Ears::open(device, ear, Arc::clone(&clock), &inputs).map_err(Failure::missing)?;
    let glance = Glance::new(guide.clone(), work.state());
    let page = &arguments.page;
    let screen = page.open(&glance, Arc::clone(&clock), &ears, inputs.clone())?;
    let (kept, first) = arguments
        .place
        .begin(work, opening, "a microphone", &clock.now())?;
    let session = Session {
        kept,
        guide,
        first,
        locale,
        attention,
        shown: screen.map(|screen| (glance, screen)),
    };
    session.work(arguments, clock, ears, inputs, &mut waiting, output)
}

impl Session {
    fn work(
        self,
        arguments: &Arguments,
        clock: Arc<SystemClock>,
        ears: Ears,
        inputs: Sender<Input>,
        waiting: &mut Receiver<Input>,
        output: &mut Output,
    ) -> Result<Answer, Failure> {
        let folder = self.kept.record.folder().to_owned();
        let (state, record) = (self.kept.state, self.kept.record);
        let conversation =
            Conversation::new(self.guide, state, Some(record)).map_err(Failure::input)?;
        let conversation = conversation.called_by(self.attention.clone());
        let conversation = conversation.map_err(Failure::input)?;
        let keys = arguments.push_to_talk.then(|| Keys::listen(inputs.clone()));
        let _keys = keys
            .transpose()
            .map_err(|e| Failure::input(format_args!("cannot read keys from stdin: {e}")))?;
        let voice = arguments.voice.open(&arguments.manner, &self.locale);
        let tell = move |spoke| {
            // Nobody waits for the voice any more where the session is over.
            let _ = inputs.blocking_send(Input::Spoken(spoke));
        };
        let mouth = Mouth::start(voice, tell).map_err(Failure::missing)?;
        let shows_text = arguments.voice.shows_text();
        let meter = shows_text && !output.is_json() && io::stdout().is_terminal();
        let levels = meter.then(|| ears.level());
        let mut dialogue = Dialogue::new(shows_text, None, output);
        if meter {
            dialogue.over_a_meter();
        }
        let mode = arguments.way.mode();
        let mut on_page = None;
        let listener: &mut dyn Listener = match self.shown {
            Some((glance, screen)) => on_page.insert(Shown::new(glance, screen, &mut dialogue)),
            None => &mut dialogue,
        };
        let live = Live::new(conversation, clock, ears, mouth, mode, listener, complain);
        let live = live.map_err(Failure::input)?;
        let gate = Gate::new(self.attention, arguments.push_to_talk);
        let mut live = live.with_earcons(earcons(&arguments.voice)).with_gate(gate);
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(Failure::input)?;
        if let Some(levels) = levels {
            runtime.spawn(meter::show(levels));
        }
        let conversation = runtime.block_on(async {
            let outcome = live.run(self.first, waiting).await;
            let conversation = live.end().await.map_err(Failure::input)?;
            outcome.map_err(Failure::input)?;
            Ok::<Conversation, Failure>(conversation)
        })?;
        drop(on_page);
        drop(runtime);
        let happened = dialogue.end()?;
        if meter {
            output.text(meter::CLEAR)?;
        }
        session_answer::write(&folder, conversation.state(), &happened, output)?;
        Ok(Answer::Done)
    }
}

/// Tones belong to a voice that is heard.
fn earcons(voice: &VoiceChoice) -> Option<Earcons> {
    if *voice != VoiceChoice::System {
        return None;
    }
    Earcons::open()
        .inspect_err(|why| complain(&why.to_string()))
        .ok()
}

fn complain(what: &str) {
    // The meter, which may stand in this line.
    let clear = match io::stdout().is_terminal() && io::stderr().is_terminal() {
        true => meter::CLEAR,
        false => "",
    };
    eprintln!("{clear}warning: {what}");
}
