//! Everything said is written, and said aloud as long as there is a voice.

use super::sentences;
use super::voice::{Voice, VoiceError};

/// Says texts by a voice and by text at once; when the voice fails it says so once and goes on in
/// text.
pub struct Speaker {
    text: Box<dyn Voice>,
    voice: Option<Box<dyn Voice>>,
}

impl Speaker {
    /// `voice` is what opening a voice came to; a failure is said in text at once.
    ///
    /// # Errors
    ///
    /// Not even text can be written.
    pub fn new(
        text: Box<dyn Voice>,
        voice: Result<Box<dyn Voice>, VoiceError>,
    ) -> Result<Speaker, VoiceError> {
        let mut speaker = Speaker { text, voice: None };
        match voice {
            Ok(voice) => speaker.voice = Some(voice),
            Err(why) => speaker.lose(&why)?,
        }
        Ok(speaker)
    }

    /// One that only writes.
    pub fn silent(text: Box<dyn Voice>) -> Speaker {
        Speaker { text, voice: None }
    }

    /// The voice that is in use: the text's name where no voice is left.
    pub fn name(&self) -> String {
        match &self.voice {
            Some(voice) => voice.name(),
            None => self.text.name(),
        }
    }

    /// Says a text sentence by sentence, without waiting for the end.
    ///
    /// # Errors
    ///
    /// Not even text can be written.
    pub fn say(&mut self, text: &str) -> Result<(), VoiceError> {
        for sentence in sentences::split(text) {
            self.text.say(sentence)?;
            let said = self.voice.as_mut().map_or(Ok(()), |v| v.say(sentence));
            self.keep_or_lose(said)?;
        }
        Ok(())
    }

    /// Falls silent.
    pub fn stop(&mut self) {
        self.text.stop();
        if let Some(voice) = &mut self.voice {
            voice.stop();
        }
    }

    pub fn is_speaking(&self) -> bool {
        self.voice.as_ref().is_some_and(|v| v.is_speaking())
    }

    /// Waits until everything was said or its deadline has passed.
    ///
    /// # Errors
    ///
    /// Not even text can be written.
    pub fn finish(&mut self) -> Result<(), VoiceError> {
        self.text.finish()?;
        let finished = self.voice.as_mut().map_or(Ok(()), |v| v.finish());
        self.keep_or_lose(finished)
    }

    fn keep_or_lose(&mut self, said: Result<(), VoiceError>) -> Result<(), VoiceError> {
        match said {
            Ok(()) => Ok(()),
            Err(why) => self.lose(&why),
        }
    }

    fn lose(&mut self, why: &VoiceError) -> Result<(), VoiceError> {
        self.voice = None;
        self.text
            .say(&format!("No voice, going on in text: {why}."))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::{Arc, Mutex};

    /// Notes what it says; fails from a given sentence on.
    struct Noting {
        said: Arc<Mutex<Vec<String>>>,
        works_for: usize,
    }

    impl Voice for Noting {
        fn name(&self) -> String {
            "noting".to_owned()
        }

        fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
            let mut said = self.said.lock().unwrap();
            if said.len() == self.works_for {
                return Err(VoiceError::new("the loudspeaker is gone", "plug it in"));
            }
            said.push(sentence.to_owned());
            Ok(())
        }

        fn stop(&mut self) {}

        fn is_speaking(&self) -> bool {
            false
        }

        fn finish(&mut self) -> Result<(), VoiceError> {
            Ok(())
        }
    }

    fn noting(works_for: usize) -> (Box<dyn Voice>, Arc<Mutex<Vec<String>>>) {
        let said = Arc::default();
        let voice = Noting {
            said: Arc::clone(&said),
            works_for,
        };
        (Box::new(voice), said)
    }

    #[test]
    fn a_voice_that_fails_is_mentioned_once() {
        let (text, written) = noting(usize::MAX);
        let (voice, said) = noting(2);
        let mut speaker = Speaker::new(text, Ok(voice)).unwrap();
        assert_eq!(speaker.name(), "noting");
        speaker.say("One. Two. Three. Four.").unwrap();
        speaker.finish().unwrap();
        assert_eq!(*said.lock().unwrap(), ["One.", "Two."]);
        assert_eq!(
            *written.lock().unwrap(),
            [
                "One.",
                "Two.",
                "Three.",
                "No voice, going on in text: the loudspeaker is gone; plug it in.",
                "Four."
            ]
        );
    }

    #[test]
    fn a_missing_voice_is_mentioned_at_the_start() {
        let (text, written) = noting(usize::MAX);
        let missing = VoiceError::new("no speech service", "install one");
        let mut speaker = Speaker::new(text, Err(missing)).unwrap();
        speaker.say("One.").unwrap();
        assert_eq!(
            *written.lock().unwrap(),
            [
                "No voice, going on in text: no speech service; install one.",
                "One."
            ]
        );
    }
}
