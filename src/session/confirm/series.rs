//! Whether a called-out series would lead to another finding had one of its values been another, or
//! two of them.
//!
//! A value may be lost in a series: the rest outweighs it. Two of them may not be, so where no single
//! value decides, the runner-up hypotheses are tried in pairs. The table of confusions is not: hints
//! from it are in nearly every value, and those of a recognizer are rare.

use super::{Value, alternatives};
use crate::procedure::FindingId;
use crate::quantity::Reading;
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::{KeptReading, Standing, State};
use crate::session::steps::diagnose;

/// A value of the series under a diagnose step that nobody affirmed and whose other meaning, alone
/// or with that of one more value, would lead to another finding, or to none.
pub(in crate::session) fn doubtful_in_series(
    guide: &Guide,
    state: &State,
    diagnose_step: &Position,
    of: &Position,
) -> Option<(ReadingId, Consequence)> {
    let series: Vec<KeptReading> = state.series(of).into_iter().cloned().collect();
    let found = |series: &[KeptReading]| {
        let series: Vec<&KeptReading> = series.iter().collect();
        diagnose::finding_of(guide, state, diagnose_step, &series)
    };
    let verdict = found(&series).filter(|verdict| !verdict.is_empty())?;
    let instead = |doubts: &[Doubt]| {
        let changed = with_others(&series, doubts);
        let instead = found(&changed).filter(|instead| *instead != verdict)?;
        Some(asked(doubts.first()?, &instead))
    };
    let open = |kept: &&KeptReading| kept.standing == Standing::ReadBack && !kept.computed;
    let open: Vec<&KeptReading> = series.iter().filter(open).collect();
    let alone = open.iter().find_map(|kept| {
        let others = alternatives(guide, state, &Value::of_kept(guide, kept)?);
        let mut doubts = others.into_iter().map(|other| (kept.id, other));
        doubts.find_map(|doubt| instead(&[doubt]))
    });
    alone.or_else(|| {
        let runner_up = |kept: &&KeptReading| Some((kept.id, *kept.others.first()?));
        let doubts: Vec<Doubt> = open.iter().filter_map(runner_up).collect();
        pairs(&doubts).find_map(|pair| instead(&pair))
    })
}

/// A value, and what it may have been instead.
type Doubt = (ReadingId, Reading);

fn asked((id, other): &Doubt, instead: &[FindingId]) -> (ReadingId, Consequence) {
    let finding = instead.first().cloned();
    let other = *other;
    (*id, Consequence::Finding { other, finding })
}

fn with_others(series: &[KeptReading], doubts: &[Doubt]) -> Vec<KeptReading> {
    let mut changed = series.to_vec();
    for kept in &mut changed {
        if let Some((_, other)) = doubts.iter().find(|(id, _)| *id == kept.id) {
            kept.reading = *other;
        }
    }
    changed
}

fn pairs(doubts: &[Doubt]) -> impl Iterator<Item = [Doubt; 2]> {
    let firsts = doubts.iter().enumerate();
    firsts.flat_map(|(at, first)| doubts[at + 1..].iter().map(|second| [*first, *second]))
}
