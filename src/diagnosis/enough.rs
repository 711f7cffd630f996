//! Whether a watch may end: would the finding still change?
//!
//! A finding is final when it stays the same in every plain way the rest of the watch could go: the
//! value stays where it is, goes on as it goes, swings as it has swung, or one value is misheard.
//! What a machine may do that it has given no sign of, no reading can tell.

use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

use super::classify::Scratch;
use super::judge::{Table, judge_with};
use super::series::Series;
use super::verdict::{Ask, Judgement, Verdict};
use crate::quantity::{Amount, Reading};

/// No more readings than this are thought ahead.
const FARTHEST: usize = 30;

/// How a watch stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Progress {
    /// The finding would no longer change: the watch may end.
    Enough(Judgement),
    /// Not yet; what it comes to so far.
    GoOn(Judgement),
    /// The time is up and there is a finding, or several that rank equal.
    Done(Judgement),
    /// The time is up without a finding: this is missing.
    TimeUp { missing: Ask },
}

/// How the rest of a watch could go.
#[derive(Clone, Copy)]
enum Rest {
    Stays,
    GoesOn,
    Swings,
    OneMisheard,
}

/// How a watch stands at `now_ms` of `end_ms` milliseconds since it began.
pub fn progress(series: &Series, table: &Table, now_ms: u64, end_ms: u64) -> Progress {
    let mut scratch = Scratch::default();
    let judgement = judge_with(&mut scratch, series, table);
    if now_ms >= end_ms {
        return match judgement.verdict {
            Verdict::Undetermined(missing) => Progress::TimeUp { missing },
            Verdict::Finding(_) | Verdict::Equal(_) => Progress::Done(judgement),
        };
    }
    let rests = [Rest::Stays, Rest::GoesOn, Rest::Swings, Rest::OneMisheard];
    let found = judgement.finding().map(|finding| &finding.id);
    let same = |scratch: &mut Scratch, rest| {
        let ahead = think_ahead(series, rest, now_ms, end_ms)?;
        let then = judge_with(scratch, &ahead, table);
        Some(then.finding().map(|finding| &finding.id) == found)
    };
    let stays = found.is_some()
        && rests
            .into_iter()
            .all(|rest| same(&mut scratch, rest) == Some(true));
    match stays {
        true => Progress::Enough(judgement),
        false => Progress::GoOn(judgement),
    }
}

/// The series as it would be at the end, read at the pace so far. `None` without two numbers.
fn think_ahead(series: &Series, rest: Rest, now_ms: u64, end_ms: u64) -> Option<Series> {
    let numbers: Vec<(u64, Decimal)> = series
        .counted()
        .filter_map(|(_, sample)| Some((sample.at_ms, number(sample.amount)?)))
        .collect();
    let (&(first_at, _), &(last_at, last)) = (numbers.first()?, numbers.last()?);
    let (_, before) = *numbers.get(numbers.len().checked_sub(2)?)?;
    let pace = ((last_at - first_at) / (numbers.len() as u64 - 1)).max(1);
    let count = (end_ms.saturating_sub(now_ms) / pace).clamp(1, FARTHEST as u64) as usize;
    let mut ahead = series.clone();
    for k in 1..=count {
        let value = match rest {
            Rest::Stays => last,
            Rest::GoesOn => {
                let steps = Decimal::from_usize(k)?;
                last.checked_add((last - before).checked_mul(steps)?)?
            }
            Rest::Swings => numbers[numbers.len() - 1 - (k - 1) % numbers.len().min(4)].1,
            Rest::OneMisheard if k == 1 => last / Decimal::TEN,
            Rest::OneMisheard => last,
        };
        let amount = Amount::Exact(value.round_dp(last.scale()));
        let unit = series.unit();
        let at_ms = now_ms.max(last_at) + pace * k as u64;
        ahead.give(at_ms, Reading { amount, unit }).ok()?;
    }
    Some(ahead)
}

fn number(amount: Amount) -> Option<Decimal> {
    match amount {
        Amount::Exact(value) | Amount::About(value) => Some(value),
        Amount::Between(low, high) => Some(low / Decimal::TWO + high / Decimal::TWO),
        Amount::OverRange | Amount::Short | Amount::None => None,
    }
}
