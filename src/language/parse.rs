//! Words to ranked meanings, or where they stopped making sense.

use std::collections::BTreeMap;
use std::iter::repeat;

use smallvec::SmallVec;

use super::automaton::Automaton;
use super::expectation::ExpectedReading;
use super::heard::Word;
use super::lexicon::{SEPARATOR, WordId};
use super::meaning::{Meaning, SpokenReading};
use super::reckon::Reckoner;
use super::search::{Arcs, Search, Together};
use super::text::{Given, Span, Token, Tokens, plain_words, unbroken_words};
use super::ways::{Path, Way};
use crate::quantity::{Amount, Decimal};

/// A value outside the plausible range must be said clearly to win.
const IMPLAUSIBLE: u32 = 400;
/// Of two ways to cut a row of words into values, the one with values of like size wins.
const UNLIKE: u32 = 50;
/// Meanings this much dearer than the best are not worth asking about.
const WORTH_ASKING: u32 = 1000;
/// Meanings given at most.
const MEANINGS: usize = 8;
/// Words named one by one when saying what was expected; of more, kinds with some examples each.
const NAMED: usize = 6;
const EXAMPLES: usize = 3;

/// A meaning and its cost in hundredths of a nat; smaller is better.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ranked {
    pub meaning: Meaning,
    pub cost: u32,
}

/// Meanings in order; a single one, the usual case, needs no memory of its own.
pub type Rankings = SmallVec<[Ranked; 1]>;

/// Where words stopped making sense.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// Which word, counted from 0; the number of words where more were expected.
    pub at: usize,
    /// The word itself; `None` at the end.
    pub word: Option<String>,
    /// What would have made sense there: words, or kinds of them with examples; empty where nothing
    /// would.
    pub expected: String,
    /// The words make sense but their number cannot be held.
    pub too_long: bool,
    /// The words make sense as several values, but nothing tells where one ends.
    pub run_together: bool,
}

/// What words mean here.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Parse {
    /// Distinct meanings, cheapest first; empty when the words as they stand mean nothing.
    pub ranked: Rankings,
    /// Set when `ranked` is empty.
    pub stopped: Option<Box<Stop>>,
    /// The words as they stand are a whole utterance.
    pub complete: bool,
    /// More words could still follow, to complete the utterance or to extend it.
    pub could_continue: bool,
}

impl Parse {
    /// The best meaning, or [`Meaning::Nothing`] with the reason.
    pub fn meaning(&self) -> Meaning {
        match self.ranked.first() {
            Some(best) => best.meaning.clone(),
            None => Meaning::Nothing {
                why: self.stopped.as_deref().map(Stop::why).unwrap_or_default(),
                run_together: self.stopped.as_ref().is_some_and(|s| s.run_together),
            },
        }
    }
}

impl Stop {
    /// The reason in words.
    pub fn why(&self) -> String {
        let place = self.at + 1;
        let found = match &self.word {
            _ if self.too_long => return "a number with more digits than a value holds".to_owned(),
            _ if self.run_together => {
                return "several values run together; leave a pause between them, or say the unit \
                        with each"
                    .to_owned();
            }
            Some(word) => format!("found `{word}` as word {place}"),
            None if self.at == 0 => "no words".to_owned(),
            None => "the words are not complete".to_owned(),
        };
        if self.expected.is_empty() {
            return format!("{found}, expected nothing more");
        }
        format!("{found}, expected {}", self.expected)
    }
}

impl Automaton {
    /// What heard words mean. Gaps between word times separate values.
    ///
    /// Total and deterministic: any words give an answer, the same words the same one.
    pub fn parse(&self, words: &[Word]) -> Parse {
        let spans = words.iter().map(|word| (word.start_ms, word.end_ms));
        let mut parse = Parse::default();
        if !self.parse_followed(unbroken_words(&self.lexicon, words), spans, &mut parse) {
            self.parse_searched(Given::Words(words), &mut parse);
        }
        parse
    }

    /// What plain text means; `,` and `...` stand for pauses. Values have no times.
    pub fn parse_text(&self, text: &str) -> Parse {
        let mut parse = Parse::default();
        if !self.parse_followed(plain_words(&self.lexicon, text), repeat((0, 0)), &mut parse) {
            self.parse_searched(Given::Text(text), &mut parse);
        }
        parse
    }

    /// The short way, for a whole and plausible utterance without pauses: whether it was one. If
    /// so, `parse` is what [`Automaton::parse_searched`] would make of it.
    #[inline]
    pub(super) fn parse_followed(
        &self,
        words: impl Iterator<Item = WordId>,
        spans: impl Iterator<Item = Span> + Clone,
        parse: &mut Parse,
    ) -> bool {
        let mut path = Path::default();
        if !self.ways.follow(words, &mut path) {
            return false;
        }
        let mut way = Way::default();
        let ends = self.ways.ends(&path);
        for (end, state) in ends.iter().enumerate() {
            if self.is_final(*state) {
                self.ways.way_to(&path, end, &mut way);
                let costs = way.arcs().iter().map(|arc| self.arc(*arc as usize).cost);
                let cost = costs.sum();
                self.rank_way(way.arcs(), *state, cost, spans.clone(), &mut parse.ranked);
            }
        }
        keep_worth_asking(&mut parse.ranked);
        parse.complete = true;
        parse.could_continue = self.may_go_on(ends.iter().copied());
        self.is_plausible(&parse.ranked)
    }

    /// The full search, which also knows pauses and values that ran together. Overwrites `parse`.
    #[cold]
    #[inline(never)]
    pub(super) fn parse_searched(&self, given: Given<'_>, parse: &mut Parse) {
        let mut tokens = Tokens::new();
        given.tokens(&self.lexicon, &mut tokens);
        let mut search = Search::new();
        search.run(self, &tokens, Together::Never);
        let ranked = &mut parse.ranked;
        ranked.clear();
        let mut too_long = self.rank(&search, &tokens, given, ranked);
        if !self.is_plausible(ranked) {
            search.run(self, &tokens, Together::BehindUnits);
            ranked.clear();
            too_long = self.rank(&search, &tokens, given, ranked);
        }
        parse.complete = !ranked.is_empty();
        parse.could_continue = search.taken == tokens.len() && self.may_go_on(search.states());
        if ranked.is_empty() {
            let mut stop = self.stop(&search, &tokens, too_long, given);
            search.run(self, &tokens, Together::Anywhere);
            stop.run_together = search.taken == tokens.len()
                && search.ends().any(|(_, state, _)| self.is_final(state));
            parse.stopped = Some(Box::new(stop));
        }
    }

    fn may_go_on(&self, mut states: impl Iterator<Item = u32>) -> bool {
        states.any(|state| !self.arc_range(state).is_empty())
    }

    /// Whether there is no reason to look for values that ran together.
    fn is_plausible(&self, ranked: &[Ranked]) -> bool {
        let Some(best) = ranked.first() else {
            return false;
        };
        match &best.meaning {
            Meaning::Readings(readings) | Meaning::Command { readings, .. } => {
                self.implausibility(readings) == 0
            }
            _ => true,
        }
    }

    /// Fills in distinct meanings, cheapest first. Whether a way fell out for too many digits.
    fn rank(
        &self,
        search: &Search,
        tokens: &[Token],
        given: Given<'_>,
        ranked: &mut Rankings,
    ) -> bool {
        let mut too_long = false;
        if search.taken < tokens.len() || tokens.is_empty() {
            return false;
        }
        let spans = tokens.iter().map(|token| given.span(token.source));
        let mut arcs = Arcs::new();
        for (end, state, cost) in search.ends().filter(|(_, state, _)| self.is_final(*state)) {
            search.arcs_to(end, &mut arcs);
            too_long |= self.rank_way(&arcs, state, cost, spans.clone(), ranked);
        }
        keep_worth_asking(ranked);
        too_long
    }

    /// Adds what one way through the automaton means. Whether it fell out for too many digits.
    #[inline]
    fn rank_way(
        &self,
        arcs: &[u32],
        state: u32,
        cost: u32,
        spans: impl Iterator<Item = Span> + Clone,
        ranked: &mut Rankings,
    ) -> bool {
        let mut too_long = false;
        for last in self.finals(state) {
            let mut reckoner = Reckoner::default();
            let mut spans = spans.clone();
            for arc in arcs.iter().map(|arc| *arc as usize) {
                match self.arc_word(arc) {
                    SEPARATOR => reckoner.separator(self.arc_ops(arc)),
                    _ => reckoner.word(self.arc_ops(arc), spans.next().unwrap_or_default()),
                }
            }
            match reckoner.finish(self.final_ops(last), &self.choices) {
                None => too_long = true,
                Some(meaning) => {
                    let cost = cost + last.cost + self.meaning_cost(&meaning);
                    insert(ranked, Ranked { meaning, cost });
                }
            }
        }
        too_long
    }

    fn meaning_cost(&self, meaning: &Meaning) -> u32 {
        match meaning {
            Meaning::Readings(readings) | Meaning::Command { readings, .. } => {
                self.implausibility(readings) + unlikeness(readings)
            }
            _ => 0,
        }
    }

    fn implausibility(&self, readings: &[SpokenReading]) -> u32 {
        let Some(expected) = self.expected.as_ref().filter(|e| e.plausible.is_some()) else {
            return 0;
        };
        let outside = readings.iter().filter(|r| !is_plausible(r, expected));
        IMPLAUSIBLE * outside.count() as u32
    }

    fn stop(&self, search: &Search, tokens: &[Token], too_long: bool, given: Given<'_>) -> Stop {
        let source = tokens.get(search.taken).map(|token| token.source as usize);
        Stop {
            at: source.unwrap_or(tokens.last().map_or(0, |t| t.source as usize + 1)),
            word: source.and_then(|at| given.word(at)).map(str::to_owned),
            expected: self.expected_after(search),
            too_long,
            run_together: false,
        }
    }

    /// What may follow the words taken so far.
    fn expected_after(&self, search: &Search) -> String {
        let arcs = search.states().flat_map(|state| self.arcs_on(state));
        let mut kinds: BTreeMap<Option<&str>, Vec<WordId>> = BTreeMap::new();
        let mut words = Vec::new();
        for arc in arcs {
            let word = self.arc_word(arc);
            let kind = self.arc_ops(arc).iter().find_map(|op| op.kind());
            let of_kind = kinds.entry(kind).or_default();
            if !of_kind.contains(&word) {
                of_kind.push(word);
            }
            if !words.contains(&word) {
                words.push(word);
            }
        }
        let list = |words: &[WordId]| {
            let named = words
                .iter()
                .map(|word| format!("`{}`", self.lexicon.word(*word)));
            named.collect::<Vec<_>>().join(", ")
        };
        if words.len() <= NAMED {
            return list(&words);
        }
        let examples = |words: &[WordId]| list(&words[..words.len().min(EXAMPLES)]);
        let named = kinds
            .iter()
            .filter_map(|(kind, words)| Some((kind.as_ref()?, words)));
        let named = named.map(|(kind, words)| format!("{kind} such as {}", examples(words)));
        match named.collect::<Vec<_>>().join("; or ") {
            none if none.is_empty() => examples(&words),
            named => named,
        }
    }
}

/// Drops meanings that are much dearer than the best.
fn keep_worth_asking(ranked: &mut Rankings) {
    if ranked.len() > 1 {
        let limit = ranked[0].cost + WORTH_ASKING;
        ranked.retain(|r| r.cost <= limit);
        ranked.truncate(MEANINGS);
    }
}

/// Adds a meaning in its place; of equal meanings the cheaper stays.
#[inline]
pub(super) fn insert(ranked: &mut Rankings, new: Ranked) {
    if ranked.is_empty() {
        return ranked.push(new);
    }
    if let Some(at) = ranked.iter().position(|r| r.meaning.same_as(&new.meaning)) {
        if ranked[at].cost <= new.cost {
            return;
        }
        ranked.remove(at);
    }
    let at = ranked.partition_point(|r| r.cost <= new.cost);
    ranked.insert(at, new);
}

/// Values of one utterance are of one quantity and mostly alike.
fn unlikeness(readings: &[SpokenReading]) -> u32 {
    let size = |reading: &SpokenReading| match reading.amount {
        Amount::Exact(value) => Some(value.abs().trunc()),
        _ => None,
    };
    let unlike = readings
        .windows(2)
        .filter(|pair| match (size(&pair[0]), size(&pair[1])) {
            (Some(a), Some(b)) => {
                a.min(b).max(Decimal::ONE).saturating_mul(Decimal::from(3)) < a.max(b)
            }
            _ => false,
        });
    UNLIKE * unlike.count() as u32
}

/// Whether a value lies in its plausible range. A value that was given no unit counts in the
/// expected one; a unit that cannot be compared tells nothing.
fn is_plausible(reading: &SpokenReading, expected: &ExpectedReading) -> bool {
    let Some(range) = expected.plausible else {
        return true;
    };
    let inside = |value: Decimal| match in_expected(value, reading, expected) {
        Some(value) => range.contains(value),
        None => true,
    };
    match reading.amount {
        Amount::Exact(value) | Amount::About(value) => inside(value),
        Amount::Between(low, high) => inside(low) && inside(high),
        Amount::OverRange | Amount::Short | Amount::None => true,
    }
}

fn in_expected(
    value: Decimal,
    reading: &SpokenReading,
    expected: &ExpectedReading,
) -> Option<Decimal> {
    let unit = expected.unit?;
    let bare = reading.unit.is_none() && reading.prefix == Default::default();
    if bare {
        return Some(value);
    }
    if reading.unit.is_some_and(|base| base != unit.base) {
        return None;
    }
    let exponent = reading.prefix.exponent() - unit.prefix.exponent();
    let factor = Decimal::from(10_u64.checked_pow(exponent.unsigned_abs())?);
    match exponent < 0 {
        true => value.checked_div(factor),
        false => value.checked_mul(factor),
    }
}
