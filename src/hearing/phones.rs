//! How alike phrases sound, by the pronouncing dictionary of an engine.

use std::collections::{HashMap, HashSet};
use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::path::Path;

use super::lexicon::Lexicon;

/// Phones that differ in little else than voicing, or are said at the same place.
const NEAR: [[&str; 2]; 13] = [
    ["P", "B"],
    ["T", "D"],
    ["K", "G"],
    ["F", "V"],
    ["S", "Z"],
    ["TH", "DH"],
    ["SH", "ZH"],
    ["CH", "JH"],
    ["M", "N"],
    ["N", "NG"],
    ["IH", "IY"],
    ["UH", "UW"],
    ["AA", "AO"],
];
/// Classes of phones that are taken for one another in noise: stops, fricatives, nasals, glides and
/// liquids, vowels.
const CLASSES: [&[&str]; 5] = [
    &["P", "B", "T", "D", "K", "G"],
    &["F", "V", "S", "Z", "TH", "DH", "SH", "ZH", "CH", "JH", "HH"],
    &["M", "N", "NG"],
    &["L", "R", "W", "Y"],
    &[
        "AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW",
    ],
];
/// What it costs to hear one phone for a near one, for one of its class, for any other, and one too
/// many or too few. From memory of how consonants and vowels are confused; no source.
const NEAR_COST: f32 = 0.3;
const CLASS_COST: f32 = 0.6;
const OTHER_COST: f32 = 1.0;
const EXTRA_COST: f32 = 0.8;

/// The phones of a word or phrase, in ARPAbet without stress marks.
pub type Phones = Vec<String>;

/// How words are pronounced: every way of each.
#[derive(Debug, Clone, Default)]
pub struct Pronunciations(HashMap<String, Vec<Phones>>);

impl Pronunciations {
    /// Of the words wanted, those that a lexicon or else a dictionary has, a file as the CMU
    /// pronouncing dictionary is: `either(2) AY DH ER` is a second way.
    ///
    /// # Errors
    ///
    /// The dictionary cannot be read.
    pub fn read(
        dictionary: &Path,
        lexicon: &Lexicon,
        wanted: &HashSet<&str>,
    ) -> io::Result<Pronunciations> {
        let mut found: HashMap<String, Vec<Phones>> = HashMap::new();
        for line in BufReader::new(File::open(dictionary)?).lines() {
            let line = line?;
            let (entry, phones) = line.split_once(char::is_whitespace).unwrap_or((&line, ""));
            let word = entry.split('(').next().unwrap_or(entry);
            if wanted.contains(word) {
                found
                    .entry(word.to_owned())
                    .or_default()
                    .push(split(phones));
            }
        }
        for (word, phones) in lexicon.entries().filter(|(word, _)| wanted.contains(word)) {
            found
                .entry(word.to_owned())
                .or_insert_with(|| vec![split(phones)]);
        }
        Ok(Pronunciations(found))
    }

    /// The first word of a phrase whose pronunciation is not known.
    pub fn unknown<'a>(&self, phrase: &'a str) -> Option<&'a str> {
        let mut words = phrase.split_whitespace();
        words.find(|word| !self.0.contains_key(*word))
    }

    /// How far apart two phrases are in their nearest ways, `None` where a word is not known: from
    /// 0, which sound the same, to about 1. Words that both begin or end with do not count: "pump on"
    /// and "pump off" are as near as "on" and "off".
    pub fn apart(&self, one: &str, other: &str) -> Option<f32> {
        let (one, other) = differing(one, other);
        let (ones, others) = (self.ways(&one)?, self.ways(&other)?);
        let pairs = ones
            .iter()
            .flat_map(|a| others.iter().map(move |b| apart(a, b)));
        pairs.min_by(f32::total_cmp)
    }

    /// Every way to say a phrase: each word's first ways, up to two of each.
    fn ways(&self, phrase: &[&str]) -> Option<Vec<Phones>> {
        let mut ways = vec![Phones::new()];
        for word in phrase {
            let said = self.0.get(*word)?;
            let longer = |way: &Phones| -> Vec<Phones> {
                let more = said.iter().take(2);
                more.map(|phones| [way.as_slice(), phones].concat())
                    .collect()
            };
            ways = ways.iter().flat_map(longer).take(16).collect();
        }
        Some(ways)
    }
}

/// The words of both without those that they begin and end with together.
fn differing<'a>(one: &'a str, other: &'a str) -> (Vec<&'a str>, Vec<&'a str>) {
    let mut both = [one, other].map(|phrase| phrase.split_whitespace().collect::<Vec<_>>());
    for _ in 0..2 {
        let [one, other] = &mut both;
        while !one.is_empty() && one.last() == other.last() {
            one.pop();
            other.pop();
        }
        one.reverse();
        other.reverse();
    }
    let [one, other] = both;
    (one, other)
}

fn split(phones: &str) -> Phones {
    phones.split_whitespace().map(str::to_owned).collect()
}

/// The cheapest way to hear one as the other, a phone of the longer one.
fn apart(one: &[String], other: &[String]) -> f32 {
    let mut row: Vec<f32> = (0..=other.len()).map(|n| n as f32 * EXTRA_COST).collect();
    for (n, phone) in one.iter().enumerate() {
        let mut before = row[0];
        row[0] = (n + 1) as f32 * EXTRA_COST;
        for (at, with) in other.iter().enumerate() {
            let exchanged = before + cost(phone, with);
            before = row[at + 1];
            row[at + 1] = exchanged.min(before + EXTRA_COST).min(row[at] + EXTRA_COST);
        }
    }
    row[other.len()] / one.len().max(other.len()).max(1) as f32
}

fn cost(one: &str, other: &str) -> f32 {
    let both = |phones: &[&str]| phones.contains(&one) && phones.contains(&other);
    if one == other {
        0.0
    } else if NEAR.iter().any(|pair| both(pair)) {
        NEAR_COST
    } else if CLASSES.iter().any(|class| both(class)) {
        CLASS_COST
    } else {
        OTHER_COST
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn pronunciations() -> Pronunciations {
        let mut file = tempfile::NamedTempFile::new().unwrap();
        let entries = "no N OW\nnote N OW T\nknow N OW\nfive F AY V\nnine N AY N\nclosed K L OW Z D\n\
                       off AO F\non AA N\non(2) AO N\npump P AH M P\nunwanted AH N\n";
        file.write_all(entries.as_bytes()).unwrap();
        let words = "no note know five nine closed off on pump fife";
        let wanted = words.split_whitespace().collect();
        let lexicon = Lexicon::parse("x", "fife F AY F\n").unwrap();
        Pronunciations::read(file.path(), &lexicon, &wanted).unwrap()
    }

    #[test]
    fn what_sounds_the_same_is_no_distance_apart() {
        let said = pronunciations();
        assert_eq!(said.apart("no", "know"), Some(0.0));
        assert_eq!(said.apart("no", "unwanted"), None);
    }

    #[test]
    fn the_more_phones_differ_the_farther_apart_they_are() {
        let said = pronunciations();
        let apart = |one, other| said.apart(one, other).unwrap();
        assert!((apart("five", "fife") - 0.1).abs() < 1e-6);
        assert!((apart("no", "note") - 0.8 / 3.0).abs() < 1e-6);
        assert!(apart("five", "nine") < apart("five", "closed"));
        assert_eq!(apart("pump on", "pump off"), apart("on", "off"));
        assert_eq!(apart("pump no off", "pump note off"), apart("no", "note"));
    }

    #[test]
    fn the_nearest_way_to_say_a_word_counts() {
        let said = pronunciations();
        // `AO N` beside `AO F`, not `AA N`.
        assert!((said.apart("on", "off").unwrap() - 0.5).abs() < 1e-6);
    }
}
