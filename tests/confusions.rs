//! Every confusion of a language's table: where it would change a limit's verdict the value is asked
//! about, where not it is only read back.
//!
//! `tests/confusions/LOCALE.txt` holds a value a line with the limits it is judged by, and everything
//! that is answered. `READBACK_UPDATE=1` writes the answers anew.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use readback::language::{Hypothesis, locales};
use readback::procedure::{SourceFile, load_files};
use readback::session::{
    Asking, Guide, Input, Opening, State, Utterance, apply, decide, expectation, speech,
};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A procedure of one read step in volts.
fn guide(locale: &str, limits: &str, resolution: &str) -> Guide {
    let text = format!(
        "id: one\ntitle: One value\nrevision: A\nlocale: {locale}\nqualification: anybody\n\
         applies_to:\n  - id: unit\n    name: unit\nquantities:\n  - id: voltage\n    name: voltage\n    \
         unit: V\n    plausible: 0..999\n    resolution: {resolution}\n    limits: {limits}\n\
         make_safe: Step back.\nsteps:\n  - read: {{ id: value, say: Measure it., quantity: voltage }}\n  \
         - finish: {{ id: end, say: Done., conclusion: Measured. }}\n"
    );
    let name = "one.yaml".to_owned();
    let library = load_files(&[SourceFile { name, text }]);
    Guide::bundled(library.unwrap_or_else(|problems| panic!("{problems:#?}"))).expect("a language")
}

struct Held<'a> {
    guide: &'a Guide,
    state: State,
    said: Vec<String>,
}

impl Held<'_> {
    fn input(&mut self, input: Input) {
        self.said.clear();
        for event in decide(self.guide, &self.state, input, 0) {
            let sentences = speech(self.guide, &self.state, &event);
            self.said.extend(sentences.into_iter().map(|s| s.text));
            self.state = apply(std::mem::take(&mut self.state), &event);
        }
    }

    fn hear(&mut self, words: &str) {
        let automaton = self
            .guide
            .language
            .compile(&expectation(self.guide, &self.state));
        let heard = Hypothesis::exact(words, 0);
        let automaton = automaton.expect("a grammar");
        self.input(Input::Heard(Utterance::understood(
            &automaton,
            &[heard],
            None,
            0,
            0,
        )));
    }
}

/// What is answered to a value, and whether it is a question.
fn answer(guide: &Guide, words: &str) -> (String, bool) {
    let mut held = Held {
        guide,
        state: State::default(),
        said: Vec::new(),
    };
    held.input(Input::Begin(Opening {
        serial: Some("A1".to_owned()),
        qualified: true,
        ..Opening::default()
    }));
    let through = held.state.count;
    held.input(Input::Spoken { through });
    let next = guide.phrases.list(readback::session::Phrase::HearNext);
    held.hear(&next[0]);
    held.hear(words);
    let first = held.said.first().cloned().unwrap_or_default();
    (
        first,
        matches!(held.state.asking, Some(Asking::Confirmation(_))),
    )
}

/// The lines of a language's table, without remarks.
fn table(locale: &str) -> Vec<String> {
    let path = root().join("grammars").join(locale).join("confusions.txt");
    let text = fs::read_to_string(path).expect("a table");
    let lines = text
        .lines()
        .map(|line| line.split('#').next().unwrap_or("").trim());
    lines
        .filter(|line| !line.is_empty())
        .map(str::to_owned)
        .collect()
}

fn hold(locale: &str, written: &str) -> String {
    // Questions and plain readbacks by confusion.
    let mut seen: BTreeMap<String, [usize; 2]> = BTreeMap::new();
    let mut held = String::new();
    for line in written.lines() {
        let mut fields = line.split('|').map(str::trim);
        let fields: [Option<&str>; 4] = std::array::from_fn(|_| fields.next());
        let [Some(confusion), Some(limits), Some(resolution), Some(said)] = fields else {
            held.push_str(line);
            held.push('\n');
            continue;
        };
        if line.starts_with('#') {
            held.push_str(line);
            held.push('\n');
            continue;
        }
        let (answered, asked) = answer(&guide(locale, limits, resolution), said);
        seen.entry(confusion.to_owned()).or_default()[usize::from(asked)] += 1;
        held.push_str(&format!(
            "{confusion} | {limits} | {resolution} | {said} | {answered}\n"
        ));
    }
    for confusion in table(locale) {
        let [plain, asked] = seen.get(&confusion).copied().unwrap_or_default();
        assert!(
            plain > 0 && asked > 0,
            "{locale}: `{confusion}`: {asked} asked, {plain} not"
        );
    }
    held
}

#[test]
fn a_confusion_is_asked_about_where_it_would_change_the_verdict_and_nowhere_else() {
    for locale in locales() {
        let path: PathBuf = root()
            .join("tests/confusions")
            .join(format!("{locale}.txt"));
        let written = fs::read_to_string(&path).unwrap_or_else(|why| panic!("{path:?}: {why}"));
        let held = hold(locale, &written);
        if std::env::var_os("READBACK_UPDATE").is_some() {
            fs::write(&path, held).expect("the file is written");
        } else {
            assert_eq!(held, written, "{path:?}");
        }
    }
}
