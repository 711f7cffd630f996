//! How often meanings were right, wrong or rejected, with the interval in which the true share lies.

use std::collections::BTreeMap;

use serde::Serialize;

/// The two-sided 95 % point of the normal distribution.
const Z: f64 = 1.959_964;

/// What became of an utterance that was said to us.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    Right,
    /// Something else was accepted: a false value is read back, a false "next" loses the place.
    Wrong,
    /// Nothing was accepted: it must be said again.
    Rejected,
}

/// Outcomes counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    pub right: u32,
    pub wrong: u32,
    pub rejected: u32,
}

/// A share of all with its interval, from 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    pub share: f64,
    pub low: f64,
    pub high: f64,
}

/// A tally as it is answered.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    pub name: String,
    pub said: u32,
    pub right: Share,
    pub wrong: Share,
    pub rejected: Share,
}

impl Tally {
    pub fn add(&mut self, outcome: Outcome) {
        *match outcome {
            Outcome::Right => &mut self.right,
            Outcome::Wrong => &mut self.wrong,
            Outcome::Rejected => &mut self.rejected,
        } += 1;
    }

    pub fn row(&self, name: &str) -> Row {
        let said = self.right + self.wrong + self.rejected;
        Row {
            name: name.to_owned(),
            said,
            right: Share::of(self.right, said),
            wrong: Share::of(self.wrong, said),
            rejected: Share::of(self.rejected, said),
        }
    }
}

impl Share {
    /// With the score interval of 95 % (E. B. Wilson, JASA 22, 1927, 209-212). Of none: anything.
    pub fn of(count: u32, all: u32) -> Share {
        if all == 0 {
            return Share {
                share: 0.0,
                low: 0.0,
                high: 1.0,
            };
        }
        let n = f64::from(all);
        let share = f64::from(count) / n;
        let middle = share + Z * Z / (2.0 * n);
        let half = Z * (share * (1.0 - share) / n + Z * Z / (4.0 * n * n)).sqrt();
        let whole = 1.0 + Z * Z / n;
        Share {
            share,
            low: ((middle - half) / whole).max(0.0),
            high: ((middle + half) / whole).min(1.0),
        }
    }
}

/// As percent: `93.2 (90.1 to 95.4)`.
impl std::fmt::Display for Share {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let percent = |share: f64| 100.0 * share;
        let (low, high) = (percent(self.low), percent(self.high));
        let text = format!("{:.1} ({low:.1} to {high:.1})", percent(self.share));
        f.pad(&text)
    }
}

/// Tallies by name, in the order of the names.
#[derive(Debug, Default)]
pub struct Tallies(BTreeMap<String, Tally>);

impl Tallies {
    pub fn add(&mut self, name: &str, outcome: Outcome) {
        self.0.entry(name.to_owned()).or_default().add(outcome);
    }

    pub fn rows(&self) -> Vec<Row> {
        self.0.iter().map(|(name, tally)| tally.row(name)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_have_the_score_interval() {
        // R. G. Newcombe, Statistics in Medicine 17 (1998), 857-872, table I, method 3: 81 of 263,
        // 15 of 148, 0 of 20, 1 of 29.
        let cases = [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ];
        for (count, all, low, high) in cases {
            let share = Share::of(count, all);
            assert!((share.low - low).abs() < 5e-5, "{share:?}");
            assert!((share.high - high).abs() < 5e-5, "{share:?}");
        }
        assert_eq!(Share::of(0, 0).to_string(), "0.0 (0.0 to 100.0)");
        assert_eq!(Share::of(81, 263).to_string(), "30.8 (25.5 to 36.6)");
    }

    #[test]
    fn outcomes_are_counted_by_name() {
        let mut tallies = Tallies::default();
        tallies.add("joe", Outcome::Right);
        tallies.add("awb", Outcome::Wrong);
        tallies.add("joe", Outcome::Rejected);
        let rows = tallies.rows();
        let said: Vec<(&str, u32)> = rows.iter().map(|r| (r.name.as_str(), r.said)).collect();
        assert_eq!(said, [("awb", 1), ("joe", 2)]);
        assert_eq!(rows[1].right.share, 0.5);
        assert_eq!(rows[1].wrong.share, 0.0);
    }
}
