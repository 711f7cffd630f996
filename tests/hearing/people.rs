//! Recordings of people, of Debian's `pocketsphinx-testdata`: what the ear makes of each, beside the
//! bare engine with the same grammar, which takes a recording whole and believes itself.
//!
//! `cargo test --test hearing people -- --nocapture` lists each.

use readback::hearing::ear::Ear;
use readback::hearing::models::Engine;
use readback::hearing::recognizer::AnyRecognizer;
use readback::language::{Automaton, Choice, Expectation, Language};

use crate::support::{engine, everything, find_ear, hear_samples, person, texts};

/// What is said in each, by the recordings' own lists; none of the last seven is meant for us.
const SAID: [(&str, Grammar, &str); 14] = [
    (
        "tidigits/dhd.2934z.raw",
        Grammar::Everything,
        "two nine three four zero",
    ),
    ("cards/001.wav", Grammar::Cards, "ten of clubs"),
    ("cards/002.wav", Grammar::Cards, "four queen of clubs"),
    ("cards/003.wav", Grammar::Cards, "seven of clubs"),
    ("cards/004.wav", Grammar::Cards, "five five"),
    (
        "cards/005.wav",
        Grammar::Cards,
        "eight of spades four of clubs seven of hearts",
    ),
    ("goforward.raw", Grammar::Moves, "go forward ten meters"),
    ("goforward.raw", Grammar::Everything, ""),
    ("something.raw", Grammar::Everything, ""),
    (
        "librivox/sense_and_sensibility_01_austen_64kb-0870.wav",
        Grammar::Everything,
        "",
    ),
    (
        "librivox/sense_and_sensibility_01_austen_64kb-0880.wav",
        Grammar::Everything,
        "",
    ),
    (
        "librivox/sense_and_sensibility_01_austen_64kb-0890.wav",
        Grammar::Everything,
        "",
    ),
    (
        "librivox/sense_and_sensibility_01_austen_64kb-0920.wav",
        Grammar::Everything,
        "",
    ),
    (
        "librivox/sense_and_sensibility_01_austen_64kb-0930.wav",
        Grammar::Everything,
        "",
    ),
];

/// What may be said.
#[derive(Clone, Copy)]
enum Grammar {
    /// All commands and all readings.
    Everything,
    /// Playing cards, called out as answers.
    Cards,
    /// How far to go, as answers.
    Moves,
}

impl Grammar {
    fn compile(self, language: &Language) -> Automaton {
        let answers = match self {
            Grammar::Everything => return everything(language),
            Grammar::Cards => cards(),
            Grammar::Moves => moves(),
        };
        let choice = |phrase: String| Choice {
            id: phrase.replace(' ', "_"),
            phrases: vec![phrase],
        };
        let expectation = Expectation {
            choices: answers.into_iter().map(choice).collect(),
            ..Expectation::default()
        };
        language.compile(&expectation).unwrap()
    }
}

/// Every card, and the other calls that were recorded.
fn cards() -> Vec<String> {
    let ranks = [
        "ace", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "jack",
        "queen", "king", "lady",
    ];
    let suits = ["clubs", "hearts", "diamonds", "spades"];
    let of = |rank: &str| suits.map(|suit| format!("{rank} of {suit}"));
    let others = [
        "four queen of clubs",
        "five five",
        "eight of spades four of clubs seven of hearts",
    ];
    let cards = ranks.into_iter().flat_map(of);
    cards.chain(others.map(str::to_owned)).collect()
}

fn moves() -> Vec<String> {
    let distances = [
        "one meter",
        "two meters",
        "three meters",
        "four meters",
        "five meters",
        "six meters",
        "seven meters",
        "eight meters",
        "nine meters",
        "ten meters",
    ];
    let to = |distance| ["forward", "backward"].map(|way| format!("go {way} {distance}"));
    distances.into_iter().flat_map(to).collect()
}

/// The best of what an engine hears in a recording taken whole.
fn bare(engine: &mut AnyRecognizer, samples: &[i16]) -> String {
    engine.accept(samples).unwrap();
    let heard = engine.finish().unwrap();
    heard.first().map(|best| best.text()).unwrap_or_default()
}

/// What counts of what the ear hears in it.
fn counted(ear: &mut Ear, samples: &[i16]) -> String {
    let mut texts = texts(&hear_samples(ear, samples));
    texts.retain(|text| !text.starts_with('['));
    texts.join(" / ")
}

/// Where the weights are not there the test says so and passes.
#[test]
fn people_are_heard_by_the_network_no_worse_than_when_it_was_measured() {
    let mut ear = match find_ear(Engine::Network, "en-US") {
        Ok(ear) => ear.with_quick(Some(engine(Engine::PocketSphinx, "en-US"))),
        Err(why) => return eprintln!("skipped: {why}"),
    };
    let language = Language::bundled("en-US").unwrap();
    let mut right = 0;
    for (name, grammar, said) in SAID {
        let grammar = grammar.compile(&language);
        ear.set_grammar(&grammar).unwrap();
        let heard = counted(&mut ear, &person(name));
        println!("{name}: said `{said}`, the network `{heard}`");
        let meaning = |words: &str| grammar.parse_text(words).meaning();
        right += u32::from(meaning(&heard) == meaning(said));
    }
    println!("right: the network {right} of {}", SAID.len());
    assert!(right >= 14, "{right}");
}

#[test]
fn people_are_heard_no_worse_than_by_the_bare_engine() {
    let language = Language::bundled("en-US").unwrap();
    let open = || engine(Engine::PocketSphinx, "en-US");
    let (mut alone, mut ear) = (open(), Ear::new(open()));
    let mut worse = Vec::new();
    let mut right = [0, 0];
    for (name, grammar, said) in SAID {
        let grammar = grammar.compile(&language);
        alone.set_grammar(&grammar).unwrap();
        ear.set_grammar(&grammar).unwrap();
        let samples = person(name);
        let heard = [bare(&mut alone, &samples), counted(&mut ear, &samples)];
        println!(
            "{name}: said `{said}`, bare `{}`, ours `{}`",
            heard[0], heard[1]
        );
        let are_right = heard.each_ref().map(|heard| heard == said);
        if are_right == [true, false] {
            worse.push((name, heard));
        }
        right[0] += u32::from(are_right[0]);
        right[1] += u32::from(are_right[1]);
    }
    println!(
        "right: bare {} and ours {} of {}",
        right[0],
        right[1],
        SAID.len()
    );
    assert_eq!(worse, []);
    // As when it was measured; the bare engine takes talk for words of the grammar.
    assert!(right[1] >= 13, "{right:?}");
}
