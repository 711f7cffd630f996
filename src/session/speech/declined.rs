//! Why something understood is not done, in one short sentence.

use crate::session::parts::Decline;
use crate::session::phrases::Phrase;

pub(super) fn phrase(why: &Decline) -> Phrase {
    match why {
        Decline::HoldNotReleased => Phrase::NotHoldReleased,
        Decline::HoldNeverSkipped => Phrase::NotHoldSkipped,
        Decline::CautionNeverSkipped => Phrase::NotCautionSkipped,
        Decline::DecidingNeverSkipped => Phrase::NotDecidingSkipped,
        Decline::CautionNotHeard => Phrase::NotCautionHeard,
        Decline::ValueNeeded => Phrase::NotWithoutValue,
        Decline::OneValueOnly => Phrase::NotSeveralValues,
        Decline::TimeNotUp => Phrase::NotTimeUp,
        Decline::ChoiceNeeded => Phrase::NotWithoutChoice,
        Decline::FindingNeeded => Phrase::NotWithoutFinding,
        Decline::NothingToWithdraw => Phrase::NothingToWithdraw,
        Decline::NothingBefore => Phrase::NothingBefore,
        Decline::NoValueHere => Phrase::NoValueHere,
        Decline::WrongUnit { .. } => Phrase::WrongUnit,
        Decline::Stopped => Phrase::OnlyContinue,
        Decline::AnswerFirst => Phrase::AnswerFirst,
        Decline::NotHere => Phrase::NotHere,
    }
}
