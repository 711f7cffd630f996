//! Whatever is said, the answer is total, deterministic and never a guess.

use std::sync::LazyLock;

use proptest::prelude::*;
use readback::language::{Automaton, Expectation, Language, Meaning, Word, understand};
use readback::language::{Hypothesis, PAUSE_MS};

fn compiled(locale: &str) -> Automaton {
    let language = Language::bundled(locale).expect("the grammar files are good");
    language
        .compile(&Expectation::everything())
        .expect("compiles")
}

static ENGLISH: LazyLock<Automaton> = LazyLock::new(|| compiled("en-US"));
static KOREAN: LazyLock<Automaton> = LazyLock::new(|| compiled("ko-KR"));

/// Rows of words of the language, in any order.
fn known_words(automaton: &'static Automaton) -> impl Strategy<Value = Vec<String>> {
    let words: Vec<String> = automaton.words().into_iter().map(str::to_owned).collect();
    prop::collection::vec(prop::sample::select(words), 0..12)
}

/// Sentences of the grammar: a walk over the arcs that ends where a sentence may end.
fn sentences(automaton: &'static Automaton) -> impl Strategy<Value = Vec<String>> {
    prop::collection::vec(any::<u16>(), 1..10).prop_map(|turns| walk(automaton, &turns))
}

fn walk(automaton: &Automaton, turns: &[u16]) -> Vec<String> {
    let mut state = 0;
    let mut words = Vec::new();
    let mut whole = 0;
    for turn in turns {
        let arcs: Vec<_> = automaton.arcs(state).collect();
        let Some(arc) = arcs.get(usize::from(*turn) % arcs.len().max(1)) else {
            break;
        };
        words.push(arc.word.to_owned());
        state = arc.to;
        if automaton.is_final(state) {
            whole = words.len();
        }
    }
    words.truncate(whole);
    words
}

/// Follows the words over the public arcs alone, with no regard to meaning.
fn accepted(automaton: &Automaton, words: &[String]) -> bool {
    let mut states = vec![0];
    for word in words {
        let mut next: Vec<u32> = states
            .iter()
            .flat_map(|state| automaton.arcs(*state))
            .filter(|arc| arc.word == word)
            .map(|arc| arc.to)
            .collect();
        next.sort_unstable();
        next.dedup();
        states = next;
    }
    states.iter().any(|state| automaton.is_final(*state))
}

fn timed(words: &[String], gap: u64) -> Vec<Word> {
    let word = |(at, text): (usize, &String)| Word {
        text: text.clone(),
        start_ms: at as u64 * (300 + gap),
        end_ms: at as u64 * (300 + gap) + 300,
        confidence: None,
    };
    words.iter().enumerate().map(word).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn arbitrary_text_never_panics(text in "\\PC{0,60}") {
        for automaton in [&*ENGLISH, &*KOREAN] {
            let parse = automaton.parse_text(&text);
            prop_assert_eq!(parse.ranked.is_empty(), parse.stopped.is_some());
            prop_assert_eq!(parse.complete, !parse.ranked.is_empty());
        }
    }

    /// A value or anything else comes out exactly if every word was consumed by the grammar and
    /// pauses tell where a value ends.
    #[test]
    fn meaning_comes_only_from_sentences_of_the_grammar(words in known_words(&ENGLISH)) {
        let parse = ENGLISH.parse(&timed(&words, PAUSE_MS));
        prop_assert_eq!(parse.complete, accepted(&ENGLISH, &words), "{:?}", words);
    }

    #[test]
    fn korean_meaning_comes_only_from_sentences_of_the_grammar(words in known_words(&KOREAN)) {
        let parse = KOREAN.parse(&timed(&words, PAUSE_MS));
        prop_assert_eq!(parse.complete, accepted(&KOREAN, &words), "{:?}", words);
    }

    #[test]
    fn one_foreign_word_spoils_the_utterance(
        words in known_words(&ENGLISH),
        at in 0_usize..12,
    ) {
        let mut words = words;
        let at = at.min(words.len());
        words.insert(at, "gasket".to_owned());
        let parse = ENGLISH.parse(&timed(&words, 0));
        prop_assert!(parse.ranked.is_empty());
        let stop = parse.stopped.expect("says where");
        prop_assert!(stop.at <= at);
        prop_assert!(!parse.could_continue);
    }

    #[test]
    fn pauses_only_tell_values_apart(words in known_words(&ENGLISH)) {
        let together = ENGLISH.parse(&timed(&words, 0));
        let apart = ENGLISH.parse(&timed(&words, PAUSE_MS));
        prop_assert!(apart.complete || !together.complete, "{:?}", words);
        let run_together = together.stopped.is_some_and(|stop| stop.run_together);
        prop_assert_eq!(run_together, apart.complete && !together.complete);
    }

    #[test]
    fn the_same_words_always_mean_the_same(words in sentences(&ENGLISH)) {
        let words = timed(&words, 200);
        prop_assert_eq!(ENGLISH.parse(&words), ENGLISH.parse(&words));
    }

    #[test]
    fn every_sentence_means_something(words in sentences(&ENGLISH)) {
        prop_assume!(!words.is_empty());
        prop_assert!(ENGLISH.parse(&timed(&words, PAUSE_MS)).complete, "{:?}", words);
    }

    #[test]
    fn every_korean_sentence_means_something(words in sentences(&KOREAN)) {
        prop_assume!(!words.is_empty());
        prop_assert!(KOREAN.parse(&timed(&words, PAUSE_MS)).complete, "{:?}", words);
    }

    #[test]
    fn a_prefix_of_a_sentence_could_continue(words in sentences(&ENGLISH)) {
        prop_assume!(!words.is_empty());
        let prefix = &words[..words.len() - 1];
        prop_assert!(ENGLISH.parse(&timed(prefix, PAUSE_MS)).could_continue);
    }

    #[test]
    fn ranked_meanings_are_distinct_and_in_order(words in sentences(&ENGLISH)) {
        let ranked = ENGLISH.parse(&timed(&words, 0)).ranked;
        for pair in ranked.windows(2) {
            prop_assert!(pair[0].cost <= pair[1].cost);
        }
        for (at, one) in ranked.iter().enumerate() {
            prop_assert!(ranked[at + 1..].iter().all(|two| !two.meaning.same_as(&one.meaning)));
        }
    }

    #[test]
    fn hypotheses_always_give_an_answer(
        rows in prop::collection::vec(known_words(&ENGLISH), 0..4),
    ) {
        let hypotheses: Vec<Hypothesis> = rows
            .iter()
            .map(|words| Hypothesis { words: timed(words, 0), ..Hypothesis::default() })
            .collect();
        let ranked = understand(&ENGLISH, &hypotheses);
        prop_assert!(!ranked.is_empty());
        let nothing = matches!(ranked[0].meaning, Meaning::Nothing { .. });
        let any = hypotheses.iter().any(|h| ENGLISH.parse(&h.words).complete);
        prop_assert_eq!(nothing, !any);
    }
}
