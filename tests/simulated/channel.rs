//! The noisy recognizer: what it makes of a spoken value.

use readback::quantity::{Amount, Decimal};
use readback::session::Guide;

/// In a thousand: nothing is understood, a value is misheard, an error is hinted at by nothing, a
/// value heard right has other hypotheses beside it.
const REJECTED: u64 = 30;
const MISHEARD: u64 = 125;
const UNHINTED: u64 = 100;
const DOUBTED: u64 = 300;

/// A small generator of random numbers (SplitMix64, Steele, Lea and Flood 2014).
#[derive(Debug, Clone)]
pub struct Rng(u64);

impl Rng {
    pub fn new(seed: u64) -> Rng {
        Rng(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15))
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, end: u64) -> u64 {
        self.next() % end.max(1)
    }

    pub fn chance(&mut self, in_a_thousand: u64) -> bool {
        self.below(1000) < in_a_thousand
    }

    pub fn pick<'a, T>(&mut self, among: &'a [T]) -> Option<&'a T> {
        let index = self.below(among.len() as u64) as usize;
        among.get(index)
    }
}

/// What was heard of a value.
pub enum Heard {
    Nothing,
    Amounts {
        /// Best first.
        amounts: Vec<Amount>,
        /// The true value stands in the list or in the table of confusions.
        hinted: bool,
    },
}

/// One value through the recognizer.
pub fn hear(rng: &mut Rng, guide: &Guide, said: Amount, resolution: Option<Decimal>) -> Heard {
    if rng.chance(REJECTED) {
        return Heard::Nothing;
    }
    let wrong = rng
        .chance(MISHEARD)
        .then(|| misheard(rng, guide, said, resolution));
    let mut amounts = Vec::new();
    let mut hinted = true;
    match wrong.flatten() {
        None => {
            amounts.push(said);
            if rng.chance(DOUBTED) {
                amounts.extend(misheard(rng, guide, said, resolution));
            }
        }
        Some(wrong) => {
            amounts.push(wrong);
            let in_table = guide.confusions.of(wrong, resolution).contains(&said);
            let listed = !rng.chance(UNHINTED);
            if rng.chance(DOUBTED) {
                amounts.extend(misheard(rng, guide, wrong, resolution));
            }
            if listed {
                let at = 1 + rng.below(amounts.len() as u64) as usize;
                amounts.insert(at, said);
            }
            hinted = in_table || amounts.contains(&said);
        }
    }
    let mut heard: Vec<Amount> = Vec::new();
    for amount in amounts {
        if !heard.contains(&amount) {
            heard.push(amount);
        }
    }
    Heard::Amounts {
        amounts: heard,
        hinted,
    }
}

/// Another value than the one said; `None` where the mistake chosen makes none of it.
fn misheard(
    rng: &mut Rng,
    guide: &Guide,
    said: Amount,
    resolution: Option<Decimal>,
) -> Option<Amount> {
    let Amount::Exact(value) = said else {
        // "over limit" heard as a number, or as another such phrase.
        return match rng.below(3) {
            0 => Some(Amount::None),
            1 => Some(Amount::OverRange),
            _ => Some(Amount::Exact(Decimal::from(rng.below(100)))),
        }
        .filter(|other| *other != said);
    };
    let kind = rng.below(10);
    if kind < 5 {
        return rng.pick(&guide.confusions.of(said, resolution)).copied();
    }
    if kind == 9 && rng.chance(200) {
        return Some([Amount::None, Amount::OverRange][rng.below(2) as usize]);
    }
    let text = value.to_string();
    let digits: Vec<usize> = text
        .char_indices()
        .filter(|(_, c)| c.is_ascii_digit())
        .map(|(at, _)| at)
        .collect();
    let at = *rng.pick(&digits)?;
    let digit = rng.below(10).to_string();
    let other = match kind {
        5 | 6 => format!("{}{digit}{}", &text[..at], &text[at + 1..]),
        7 => format!("{}{}", &text[..at], &text[at + 1..]),
        _ => format!("{}{digit}{}", &text[..at], &text[at..]),
    };
    let other: Decimal = other.trim_end_matches('.').parse().ok()?;
    (other != value).then_some(Amount::Exact(other))
}
