//! The assistant's own fixed phrases, from a data file of its language.
//!
//! `grammars/<locale>/phrases.txt` has one `key = text` a line, `#` for remarks. Words in braces
//! are filled in; ` | ` parts several things of which each may be said or heard.

use std::collections::BTreeMap;

macro_rules! phrases {
    ($($name:ident $key:literal [$($slot:literal),*];)*) => {
        /// A fixed phrase, with the words that are filled into it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Phrase {
            $(#[doc = $key] $name,)*
        }

        impl Phrase {
            /// Every phrase; a phrases file has exactly these.
            pub const ALL: &'static [Phrase] = &[$(Phrase::$name,)*];

            /// Its key in a phrases file.
            pub const fn key(self) -> &'static str {
                match self { $(Phrase::$name => $key,)* }
            }

            /// The words that may be filled in.
            pub const fn slots(self) -> &'static [&'static str] {
                match self { $(Phrase::$name => &[$($slot),*],)* }
            }
        }
    };
}

phrases! {
    Begin "begin" ["title", "revision"];
    Resumed "resumed" [];
    StandingCaution "standing_caution" [];
    NotRecording "not_recording" [];
    RecordingAgain "recording_again" [];
    MicrophoneLost "microphone_lost" [];
    MicrophoneBack "microphone_back" [];
    SoundDropped "sound_dropped" [];
    EngineFailed "engine_failed" [];
    TooQuiet "too_quiet" [];
    Clipped "clipped" [];
    Drowned "drowned" [];
    AskVariant "ask_variant" ["options"];
    GivenVariant "given_variant" ["variant"];
    AskSerial "ask_serial" [];
    AskSerialConfirmation "ask_serial_confirmation" ["serial"];
    AskLastVisit "ask_last_visit" ["day"];
    LastVisitOpen "last_visit_open" [];
    AskComplaint "ask_complaint" [];
    AskUnit "ask_unit" [];
    AskSite "ask_site" [];
    AskReference "ask_reference" [];
    AskTechnician "ask_technician" [];
    Day "day" ["day", "month", "year"];
    Months "months" [];
    AskVoltage "ask_voltage" [];
    AskFrequency "ask_frequency" [];
    AskSupplyConfirmation "ask_supply_confirmation" ["value"];
    AskSupplyOutside "ask_supply_outside" ["value"];
    AskQualification "ask_qualification" ["qualification"];
    AskTools "ask_tools" ["tools"];
    RefusedVariant "refused_variant" ["found", "expected"];
    RefusedSupply "refused_supply" ["value"];
    RefusedQualification "refused_qualification" ["qualification"];
    RefusedTools "refused_tools" [];
    RefusedAnswer "refused_answer" [];
    Stopped "stopped" [];
    StoppedInCircle "stopped_in_circle" [];
    StandingBy "standing_by" [];
    Continuing "continuing" [];
    SignalDanger "signal_danger" [];
    SignalWarning "signal_warning" [];
    SignalCaution "signal_caution" [];
    SignalNotice "signal_notice" [];
    AskAcknowledgement "ask_acknowledgement" [];
    AskReleaseWords "ask_release_words" ["words"];
    ReadBack "read_back" ["value"];
    ReadBackBelow "read_back_below" ["value"];
    ReadBackAbove "read_back_above" ["value"];
    AskEarlier "ask_earlier" ["quantity"];
    AskProof "ask_proof" ["value"];
    AskImplausible "ask_implausible" ["value"];
    AskConsequence "ask_consequence" ["value", "other"];
    AskOffered "ask_offered" ["value"];
    Confirmed "confirmed" [];
    Withdrawn "withdrawn" ["value"];
    AskValue "ask_value" ["quantity"];
    AskValueAgain "ask_value_again" ["quantity"];
    AskValueByDigits "ask_value_by_digits" ["quantity"];
    AskValueTyped "ask_value_typed" ["quantity"];
    KeptValue "kept_value" ["value"];
    NotProved "not_proved" ["value"];
    HoldReleased "hold_released" [];
    TimerStarted "timer_started" ["time"];
    TimerWarned "timer_warned" ["time"];
    TimerEnded "timer_ended" [];
    Sufficed "sufficed" [];
    Computed "computed" ["quantity", "value"];
    NotComputed "not_computed" ["quantity"];
    Finding "finding" ["finding", "why"];
    Why "why" ["behavior", "readings"];
    WhyAt "why_at" ["behavior", "level", "readings"];
    WhyValue "why_value" ["level"];
    SetAside "set_aside" ["value"];
    RunnerUp "runner_up" ["finding", "margin"];
    AskFinding "ask_finding" [];
    EqualFindings "equal_findings" [];
    MissingReading "missing_reading" [];
    MissingReadings "missing_readings" ["number"];
    MissingStep "missing_step" [];
    MissingNumbers "missing_numbers" [];
    MissingKept "missing_kept" [];
    MissingAll "missing_all" ["quantity"];
    MissingFinding "missing_finding" [];
    MissingFindingNear "missing_finding_near" ["finding"];
    BehaviorNearZero "behavior_near_zero" [];
    BehaviorSteady "behavior_steady" [];
    BehaviorSettles "behavior_settles" [];
    BehaviorUnsteady "behavior_unsteady" [];
    BehaviorFalling "behavior_falling" [];
    BehaviorRising "behavior_rising" [];
    AskOtherFinding "ask_other_finding" [];
    NumberedFinding "numbered_finding" ["number", "finding"];
    AskOverrideReason "ask_override_reason" ["finding"];
    Overridden "overridden" ["finding"];
    AskSkipReason "ask_skip_reason" ["reasons"];
    Skipped "skipped" [];
    AskNote "ask_note" [];
    Noted "noted" [];
    Dropped "dropped" [];
    Called "called" ["title"];
    Returned "returned" ["title"];
    Back "back" [];
    BackToHold "back_to_hold" [];
    BackCorrected "back_corrected" [];
    BackWithdrawn "back_withdrawn" [];
    BackToStart "back_to_start" [];
    Finished "finished" ["conclusion"];
    FinishedBare "finished_bare" [];
    Part "part" ["part"];
    Contact "contact" ["contact"];
    AskClose "ask_close" [];
    Closed "closed" [];
    Status "status" ["title", "number", "count"];
    StatusSection "status_section" ["section"];
    StatusEntry "status_entry" ["title"];
    NoReadings "no_readings" [];
    OneReading "one_reading" ["quantity", "value"];
    Help "help" ["phrases"];
    Or "or" [];
    NotHoldReleased "not_hold_released" [];
    NotHoldSkipped "not_hold_skipped" [];
    NotCautionSkipped "not_caution_skipped" [];
    NotDecidingSkipped "not_deciding_skipped" [];
    NotCautionHeard "not_caution_heard" [];
    NotWithoutValue "not_without_value" [];
    NotSeveralValues "not_several_values" [];
    NotTimeUp "not_time_up" [];
    NotWithoutChoice "not_without_choice" [];
    NotWithoutFinding "not_without_finding" [];
    NothingToWithdraw "nothing_to_withdraw" [];
    NothingBefore "nothing_before" [];
    NoValueHere "no_value_here" [];
    WrongUnit "wrong_unit" [];
    OnlyContinue "only_continue" [];
    AnswerFirst "answer_first" [];
    NotHere "not_here" [];
    HearNext "hear_next" [];
    HearRepeat "hear_repeat" [];
    HearBack "hear_back" [];
    HearStop "hear_stop" [];
    HearPause "hear_pause" [];
    HearContinue "hear_continue" [];
    HearHelp "hear_help" [];
    HearStatus "hear_status" [];
    HearSkip "hear_skip" [];
    HearNote "hear_note" [];
    HearAffirm "hear_affirm" [];
    HearNegative "hear_negative" [];
    HearCorrection "hear_correction" [];
    HearDisregard "hear_disregard" [];
    HearReadBack "hear_read_back" [];
    HearValue "hear_value" [];
    HearSpelling "hear_spelling" [];
    HearOverride "hear_override" [];
    HearFinding "hear_finding" [];
    ReasonNotFitted "reason_not_fitted" [];
    ReasonNoAccess "reason_no_access" [];
    ReasonAlreadyDone "reason_already_done" [];
}

/// The phrases of one language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phrases {
    texts: BTreeMap<Phrase, String>,
}

/// A phrases file that does not say what it must.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhrasesError {
    #[error("{file}:{line}: found `{found}`, expected `key = text`; correct or remove the line")]
    Syntax {
        file: String,
        line: usize,
        found: String,
    },
    #[error("{file}:{line}: found the unknown key `{found}`; correct or remove the line")]
    UnknownKey {
        file: String,
        line: usize,
        found: String,
    },
    #[error("{file}:{line}: `{key}` has `{{{found}}}`, expected one of: {expected}")]
    UnknownSlot {
        file: String,
        line: usize,
        key: String,
        found: String,
        expected: String,
    },
    #[error("{file}: found no `{key}`; add a line for it")]
    Missing { file: String, key: &'static str },
}

impl Phrases {
    /// Reads a phrases file.
    ///
    /// # Errors
    ///
    /// The first line that is wrong, or the first phrase that is missing.
    pub fn load(file: &str, text: &str) -> Result<Phrases, PhrasesError> {
        let mut texts = BTreeMap::new();
        for (index, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let (phrase, text) = read_line(file, index + 1, line)?;
            texts.insert(phrase, text);
        }
        let missing = Phrase::ALL.iter().find(|p| !texts.contains_key(p));
        match missing {
            Some(phrase) => Err(PhrasesError::Missing {
                file: file.to_owned(),
                key: phrase.key(),
            }),
            None => Ok(Phrases { texts }),
        }
    }

    /// The phrase as written, with its braces.
    pub fn text(&self, phrase: Phrase) -> &str {
        self.texts.get(&phrase).map_or("", String::as_str)
    }

    /// The phrase with its words filled in.
    pub fn fill(&self, phrase: Phrase, slots: &[(&str, &str)]) -> String {
        let mut text = self.text(phrase).to_owned();
        for (slot, with) in slots {
            text = text.replace(&format!("{{{slot}}}"), with);
        }
        text
    }

    /// The parts of a phrase that is a list.
    pub fn list(&self, phrase: Phrase) -> Vec<String> {
        let parts = self.text(phrase).split('|');
        parts.map(|part| part.trim().to_owned()).collect()
    }
}

fn read_line(file: &str, line: usize, text: &str) -> Result<(Phrase, String), PhrasesError> {
    let file = file.to_owned();
    let Some((key, said)) = text.split_once('=') else {
        let found = text.to_owned();
        return Err(PhrasesError::Syntax { file, line, found });
    };
    let (key, said) = (key.trim(), said.trim());
    let Some(phrase) = Phrase::ALL.iter().copied().find(|p| p.key() == key) else {
        let found = key.to_owned();
        return Err(PhrasesError::UnknownKey { file, line, found });
    };
    match slots_of(said).find(|slot| !phrase.slots().contains(slot)) {
        Some(found) => Err(PhrasesError::UnknownSlot {
            file,
            line,
            key: key.to_owned(),
            found: found.to_owned(),
            expected: match phrase.slots() {
                [] => "none".to_owned(),
                slots => slots.join(", "),
            },
        }),
        None => Ok((phrase, said.to_owned())),
    }
}

/// What stands between braces.
fn slots_of(text: &str) -> impl Iterator<Item = &str> {
    text.split('{')
        .skip(1)
        .filter_map(|rest| rest.split('}').next())
}
