//! The voice of a live session, on a thread of its own: sentences one after the other, each told
//! when it begins, and cut short where something was said over them.

use std::collections::VecDeque;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use super::sentences;
use super::voice::{Voice, VoiceError};
use crate::session::Sentence;

/// Between two looks at whether a sentence has ended.
const LOOK_EVERY: Duration = Duration::from_millis(15);

/// Which of the sentences before give way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GiveWay {
    None,
    /// Those that may be cut.
    Cuttable,
    All,
}

/// What a mouth tells of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spoke {
    /// A sentence begins.
    Began(Sentence),
    /// A sentence is cut short.
    Hushed,
    /// Everything up to this point has been spoken, or was cut.
    Silent { through: u64 },
    /// The voice is lost; sentences are told as they would begin.
    Lost(VoiceError),
}

/// Gives sentences to a voice on another thread, without ever waiting for it.
pub struct Mouth {
    orders: Sender<Order>,
    audible: bool,
}

enum Order {
    Say {
        give_way: GiveWay,
        sentences: Vec<Sentence>,
        through: u64,
    },
    Hush,
}

impl Mouth {
    /// Starts a mouth; without a voice each sentence has ended as soon as it begins. `tell` may
    /// wait.
    ///
    /// # Errors
    ///
    /// No thread can be had.
    pub fn start(
        voice: Option<Box<dyn Voice>>,
        tell: impl FnMut(Spoke) + Send + 'static,
    ) -> Result<Mouth, VoiceError> {
        let (orders, received) = channel();
        let audible = voice.is_some();
        let mut lips = Lips {
            voice,
            tell,
            waiting: VecDeque::new(),
            current: None,
            through: None,
        };
        thread::Builder::new()
            .name("mouth".to_owned())
            .spawn(move || lips.speak(&received))
            .map_err(|e| VoiceError::new(format!("cannot start a thread: {e}"), "use text"))?;
        Ok(Mouth { orders, audible })
    }

    /// Whether anything can be heard of it at all.
    pub fn is_audible(&self) -> bool {
        self.audible
    }

    /// Nothing can be heard of it any more: [`Spoke::Lost`] was told.
    pub fn silence(&mut self) {
        self.audible = false;
    }

    /// Says sentences after those before that do not give way. [`Spoke::Silent`] with `through`
    /// follows when the last of them has ended.
    pub fn say(&self, give_way: GiveWay, sentences: Vec<Sentence>, through: u64) {
        self.order(Order::Say {
            give_way,
            sentences,
            through,
        });
    }

    /// Falls silent and forgets what was still to be said.
    pub fn hush(&self) {
        self.order(Order::Hush);
    }

    fn order(&self, order: Order) {
        // The thread ends only after this sender.
        let _ = self.orders.send(order);
    }
}

/// What the thread keeps.
struct Lips<T> {
    voice: Option<Box<dyn Voice>>,
    tell: T,
    waiting: VecDeque<Sentence>,
    current: Option<Sentence>,
    /// To be told when everything has been spoken.
    through: Option<u64>,
}

impl<T: FnMut(Spoke)> Lips<T> {
    /// The thread's whole life.
    fn speak(&mut self, orders: &Receiver<Order>) {
        loop {
            let idle = self.through.is_none() && self.waiting.is_empty() && self.current.is_none();
            let order = match idle {
                true => orders.recv().map_err(|_| RecvTimeoutError::Disconnected),
                false => orders.recv_timeout(LOOK_EVERY),
            };
            match order {
                Ok(order) => self.obey(order),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return self.stop(),
            }
            self.go_on();
        }
    }

    fn obey(&mut self, order: Order) {
        match order {
            Order::Hush => {
                self.waiting.clear();
                self.through = None;
                self.cut_current();
            }
            Order::Say {
                give_way,
                sentences,
                through,
            } => {
                self.make_way(give_way);
                self.waiting.extend(sentences);
                self.through = Some(through);
            }
        }
    }

    fn make_way(&mut self, give_way: GiveWay) {
        let stays = |sentence: &Sentence| match give_way {
            GiveWay::None => true,
            GiveWay::Cuttable => !sentence.may_be_cut,
            GiveWay::All => false,
        };
        self.waiting.retain(stays);
        if self.current.as_ref().is_some_and(|current| !stays(current)) {
            self.cut_current();
        }
    }

    fn cut_current(&mut self) {
        if self.current.take().is_some() {
            self.stop();
            (self.tell)(Spoke::Hushed);
        }
    }

    fn stop(&mut self) {
        if let Some(voice) = &mut self.voice {
            voice.stop();
        }
    }

    /// Begins what comes next once there is silence.
    fn go_on(&mut self) {
        while !self.sounds() {
            self.current = None;
            let Some(next) = self.waiting.pop_front() else {
                if let Some(through) = self.through.take() {
                    (self.tell)(Spoke::Silent { through });
                }
                return;
            };
            (self.tell)(Spoke::Began(next.clone()));
            self.say(&next.text);
            self.current = Some(next);
        }
    }

    fn sounds(&self) -> bool {
        self.voice.as_ref().is_some_and(|voice| voice.is_speaking())
    }

    fn say(&mut self, text: &str) {
        let Some(voice) = &mut self.voice else {
            return;
        };
        let mut pieces = sentences::split(text).into_iter();
        let said = pieces.try_for_each(|piece| voice.say(piece));
        if let Err(why) = said {
            self.voice = None;
            (self.tell)(Spoke::Lost(why));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::{Arc, Mutex};

    /// Speaks until it is told that a sentence has ended.
    #[derive(Clone, Default)]
    struct Held(Arc<Mutex<Vec<String>>>);

    impl Held {
        fn end(&self) {
            self.0.lock().unwrap().clear();
        }
    }

    impl Voice for Held {
        fn name(&self) -> String {
            "held".to_owned()
        }

        fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
            if sentence == "Fail." {
                return Err(VoiceError::new("gone", "plug it in"));
            }
            self.0.lock().unwrap().push(sentence.to_owned());
            Ok(())
        }

        fn stop(&mut self) {
            self.end();
        }

        fn is_speaking(&self) -> bool {
            !self.0.lock().unwrap().is_empty()
        }

        fn finish(&mut self) -> Result<(), VoiceError> {
            Ok(())
        }
    }

    /// What is told after each of these: orders by what they say, "." for the end of a sentence.
    fn told(orders: &[(&str, GiveWay)]) -> Vec<String> {
        let voice = Held::default();
        let notes = Arc::<Mutex<Vec<String>>>::default();
        let kept = Arc::clone(&notes);
        let mut lips = Lips {
            voice: Some(Box::new(voice.clone())),
            tell: move |spoke| {
                kept.lock().unwrap().push(match spoke {
                    Spoke::Began(sentence) => sentence.text,
                    Spoke::Hushed => "(hushed)".to_owned(),
                    Spoke::Silent { through } => format!("(silent {through})"),
                    Spoke::Lost(why) => format!("({why})"),
                });
            },
            waiting: VecDeque::new(),
            current: None,
            through: None,
        };
        for (through, (text, give_way)) in (1..).zip(orders) {
            match *text {
                "." => voice.end(),
                texts => lips.obey(Order::Say {
                    give_way: *give_way,
                    sentences: texts.split('/').map(sentence).collect(),
                    through,
                }),
            }
            lips.go_on();
        }
        std::mem::take(&mut notes.lock().unwrap())
    }

    /// Those in capitals may not be cut.
    fn sentence(text: &str) -> Sentence {
        Sentence {
            text: text.to_owned(),
            may_be_cut: text != text.to_uppercase(),
        }
    }

    #[test]
    fn sentences_follow_each_other_and_the_end_is_told() {
        let none = GiveWay::None;
        assert_eq!(
            told(&[("One./Two.", none), (".", none), (".", none)]),
            ["One.", "Two.", "(silent 1)"]
        );
    }

    #[test]
    fn a_phrase_cuts_only_what_may_be_cut() {
        assert_eq!(
            told(&[
                ("One./DANGER./Two.", GiveWay::None),
                ("Answer.", GiveWay::Cuttable),
                (".", GiveWay::None),
                (".", GiveWay::None),
            ]),
            ["One.", "(hushed)", "DANGER.", "Answer.", "(silent 2)"]
        );
    }

    #[test]
    fn stop_cuts_everything() {
        assert_eq!(
            told(&[
                ("DANGER./Two.", GiveWay::None),
                ("STOPPED.", GiveWay::All),
                (".", GiveWay::None),
            ]),
            ["DANGER.", "(hushed)", "STOPPED.", "(silent 2)"]
        );
    }

    #[test]
    fn a_voice_that_is_lost_holds_nothing_up() {
        assert_eq!(
            told(&[("Fail./Two.", GiveWay::None)]),
            ["Fail.", "(gone; plug it in)", "Two.", "(silent 1)"]
        );
    }

    #[test]
    fn a_mouth_without_a_voice_tells_everything_at_once() {
        let (tell, told) = channel();
        let mouth = Mouth::start(None, move |spoke| tell.send(spoke).unwrap()).unwrap();
        mouth.say(GiveWay::None, vec![sentence("One."), sentence("Two.")], 7);
        let told: Vec<Spoke> = told.iter().take(3).collect();
        assert_eq!(told[2], Spoke::Silent { through: 7 });
        assert!(!mouth.is_audible());
    }
}
