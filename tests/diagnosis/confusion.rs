//! Counts what a set of series was made as against what it was judged as.

use std::collections::BTreeMap;
use std::fmt;

use readback::diagnosis::classify::{self, Scratch};
use readback::procedure::BehaviorKind;

use super::readout::Case;

/// Rows are what the series was made as, columns what it was judged as.
#[derive(Default)]
pub struct Confusion {
    counts: BTreeMap<(BehaviorKind, Option<BehaviorKind>), usize>,
    /// The same by machine: right, wrong, undetermined.
    pub by_maker: BTreeMap<&'static str, [usize; 3]>,
    pub peaks_wrong: usize,
}

const COLUMNS: [(&str, Option<BehaviorKind>); 7] = [
    ("near zero", Some(BehaviorKind::NearZero)),
    ("steady", Some(BehaviorKind::Steady)),
    ("settles", Some(BehaviorKind::Settles)),
    ("unsteady", Some(BehaviorKind::Unsteady)),
    ("falling", Some(BehaviorKind::Falling)),
    ("rising", Some(BehaviorKind::Rising)),
    ("undetermined", None),
];

impl Confusion {
    /// Judges every case.
    pub fn of(cases: impl Iterator<Item = Case>) -> Confusion {
        let mut table = Confusion::default();
        let mut scratch = Scratch::default();
        for case in cases {
            let found = classify::behavior(&mut scratch, &case.series, &case.quantity);
            table.count(&case, found.kind());
            let settled = found.kind() == Some(BehaviorKind::Settles);
            if settled && case.behavior == BehaviorKind::Settles {
                table.peaks_wrong += usize::from(case.peak && found.peak.is_none());
            }
        }
        table
    }

    fn count(&mut self, case: &Case, judged: Option<BehaviorKind>) {
        *self.counts.entry((case.behavior, judged)).or_default() += 1;
        let place = match judged {
            Some(kind) if kind == case.behavior => 0,
            Some(_) => 1,
            None => 2,
        };
        self.by_maker.entry(case.made_by).or_default()[place] += 1;
    }

    fn total(&self) -> usize {
        self.counts.values().sum()
    }

    /// Parts of 1: right, wrong, undetermined.
    pub fn shares(&self) -> [f64; 3] {
        let mut sums = [0; 3];
        for counts in self.by_maker.values() {
            for (sum, count) in sums.iter_mut().zip(counts) {
                *sum += count;
            }
        }
        sums.map(|sum| sum as f64 / self.total() as f64)
    }
}

impl fmt::Display for Confusion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "| made as |")?;
        for (name, _) in COLUMNS {
            write!(f, " {name} |")?;
        }
        writeln!(f, "\n|---|{}", "---|".repeat(COLUMNS.len()))?;
        for (name, made) in COLUMNS {
            let Some(made) = made else { continue };
            write!(f, "| {name} |")?;
            for (_, judged) in COLUMNS {
                let count = self.counts.get(&(made, judged)).copied().unwrap_or(0);
                write!(f, " {count} |")?;
            }
            writeln!(f)?;
        }
        let [right, wrong, open] = self.shares().map(|share| 100.0 * share);
        write!(
            f,
            "\nright {right:.1} %, wrong {wrong:.1} %, undetermined {open:.1} %, of {} series",
            self.total()
        )
    }
}
