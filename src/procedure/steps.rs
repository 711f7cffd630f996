//! Steps as written to checked steps.

use indexmap::IndexMap;

use super::model::*;
use super::names::{OptionId, ProcedureId, StepId};
use super::place::{At, Place};
use super::problem::{listed, nearest};
use super::scope::Scope;
use super::source::*;

impl Scope<'_> {
    /// All steps, each with the title and make-safe text of the section it stands in.
    pub fn all_steps(&mut self, sources: &[StepSource]) -> Option<Vec<Step>> {
        let mut section = None;
        let mut make_safe = None;
        let mut after_work = false;
        let mut whole = true;
        let mut steps = Vec::new();
        for (index, source) in sources.iter().enumerate() {
            let Some(id) = source.id() else {
                if let StepSource::Section(source) = source {
                    section = self.plain(&source.title);
                    let text = self.optional_text(&source.make_safe);
                    whole &= section.is_some() && text.is_some();
                    make_safe = text.flatten();
                    after_work = source.after_work;
                }
                continue;
            };
            let only = self.only(source.only());
            let kind = self.kind(source, &sources[index + 1..]);
            match (only, kind) {
                (Some(only), Some(kind)) => steps.push(Step {
                    id: StepId(id.value.clone()),
                    place: id.place,
                    section: section.clone(),
                    make_safe: make_safe.clone(),
                    after_work,
                    only,
                    kind,
                }),
                _ => whole = false,
            }
        }
        whole.then_some(steps)
    }

    fn kind(&mut self, source: &StepSource, after: &[StepSource]) -> Option<StepKind> {
        match source {
            StepSource::Section(_) => None,
            StepSource::Action(step) => Some(StepKind::Action {
                say: self.text(&step.say)?,
            }),
            StepSource::Caution(step) => self.caution(step, after),
            StepSource::Hold(step) => self.hold(step),
            StepSource::Wait(step) => self.wait(step),
            StepSource::Choose(step) => self.choose(step),
            StepSource::Read(step) => self.read(step),
            StepSource::Watch(step) => self.watch(step),
            StepSource::Compute(step) => self.compute(step),
            StepSource::Diagnose(step) => self.diagnose(step),
            StepSource::GoTo(step) => Some(StepKind::GoTo {
                step: self.step(&step.step)?,
            }),
            StepSource::Call(step) => Some(StepKind::Call {
                procedure: ProcedureId(self.plain(&step.procedure)?),
            }),
            StepSource::Finish(step) => self.finish(step),
        }
    }

    fn caution(&mut self, step: &CautionSource, after: &[StepSource]) -> Option<StepKind> {
        let hazard = self.text(&step.hazard);
        let consequence = self.text(&step.consequence);
        let avoid = self.text(&step.avoid);
        let protects = match &step.protects {
            Some(name) => self.step(name),
            None => self.next_to_protect(&step.id, after),
        };
        Some(StepKind::Caution {
            signal: step.signal.value,
            hazard: hazard?,
            consequence: consequence?,
            avoid: avoid?,
            protects: protects?,
        })
    }

    fn next_to_protect(&mut self, caution: &At<String>, after: &[StepSource]) -> Option<StepId> {
        let next = after
            .iter()
            .find(|step| !matches!(step, StepSource::Section(_) | StepSource::Caution(_)));
        if let Some(id) = next.and_then(StepSource::id) {
            return Some(StepId(id.value.clone()));
        }
        self.findings.error(
            "caution-last",
            caution.place,
            format!("caution `{}` with no step after it", caution.value),
            "a step that it protects",
            "move the caution before the step it protects",
        );
        None
    }

    fn hold(&mut self, step: &HoldSource) -> Option<StepKind> {
        let say = self.text(&step.say);
        let release = match (&step.words, &step.proof) {
            (Some(words), None) => self.phrase(words).map(Release::Words),
            (None, Some(points)) if !points.is_empty() => {
                let points: Vec<_> = points.iter().map(|p| self.proof_point(p)).collect();
                points
                    .into_iter()
                    .collect::<Option<Vec<_>>>()
                    .map(Release::Proof)
            }
            (words, proof) => {
                let found = match (words, proof) {
                    (Some(_), Some(_)) => "both `words` and `proof`",
                    (_, Some(_)) => "an empty `proof`",
                    _ => "neither `words` nor `proof`",
                };
                self.findings.error(
                    "hold-release",
                    step.id.place,
                    format!("hold `{}` with {found}", step.id.value),
                    "what releases it",
                    "give it either `words` to say or the measurements of a `proof`",
                );
                None
            }
        };
        Some(StepKind::Hold {
            say: say?,
            release: release?,
        })
    }

    fn proof_point(&mut self, point: &ProofSource) -> Option<ProofPoint> {
        let say = self.text(&point.say);
        let quantity = self.quantity(&point.quantity);
        let within = self.range(point.within.place, &point.within.value);
        Some(ProofPoint {
            say: say?,
            quantity: quantity?,
            within: within?,
        })
    }

    fn wait(&mut self, step: &WaitSource) -> Option<StepKind> {
        let say = self.text(&step.say);
        let missed = self.optional_text(&step.missed);
        let mut warn_at: Vec<u32> = step.warn_at.iter().map(|at| at.value).collect();
        let late = step
            .warn_at
            .iter()
            .find(|at| at.value >= step.seconds.value);
        if let Some(late) = late {
            self.findings.error(
                "warn-at",
                late.place,
                format!("a warning {} s before the end", late.value),
                format!("less than the {} s of the wait", step.seconds.value),
                "take it out or make the wait longer",
            );
            return None;
        }
        warn_at.sort_unstable_by(|a, b| b.cmp(a));
        Some(StepKind::Wait {
            say: say?,
            seconds: self.seconds(&step.seconds)?,
            warn_at,
            missed: missed?,
        })
    }

    fn seconds(&mut self, seconds: &At<u32>) -> Option<u32> {
        if (1..=86_400).contains(&seconds.value) {
            return Some(seconds.value);
        }
        self.findings.error(
            "seconds",
            seconds.place,
            format!("`{}` seconds", seconds.value),
            "1 to 86400 seconds",
            "write a time within one day",
        );
        None
    }

    fn choose(&mut self, step: &ChooseSource) -> Option<StepKind> {
        let ask = self.text(&step.ask);
        let options: Vec<_> = step.options.iter().map(|o| self.option(o)).collect();
        if step.options.len() < 2 {
            self.findings.error(
                "few-options",
                step.id.place,
                format!("{} options", step.options.len()),
                "two or more",
                "add the other answers, or make it an action",
            );
            return None;
        }
        let whole = self.different_options(step);
        Some(StepKind::Choose {
            ask: ask?,
            options: options
                .into_iter()
                .collect::<Option<_>>()
                .filter(|_| whole)?,
        })
    }

    fn option(&mut self, option: &OptionSource) -> Option<ChoiceOption> {
        let phrases: Vec<_> = option.phrases.iter().map(|p| self.phrase(p)).collect();
        let go_to = match &option.go_to {
            None => Some(None),
            Some(step) => self.step(step).map(Some),
        };
        if option.phrases.is_empty() {
            self.findings.error(
                "no-phrase",
                option.id.place,
                format!("option `{}` without a phrase", option.id.value),
                "the words that give this answer",
                "add them under `phrases`",
            );
            return None;
        }
        Some(ChoiceOption {
            id: OptionId(option.id.value.clone()),
            phrases: phrases.into_iter().collect::<Option<_>>()?,
            go_to: go_to?,
        })
    }

    /// Ids and phrases must tell the options apart.
    fn different_options(&mut self, step: &ChooseSource) -> bool {
        let mut ids: IndexMap<&str, Place> = IndexMap::new();
        let mut phrases: IndexMap<String, Place> = IndexMap::new();
        let mut different = true;
        for option in &step.options {
            different &= self.unique("option", &option.id, &mut ids);
            for phrase in &option.phrases {
                let key = phrase.value.trim().to_lowercase();
                if let Some(first) = phrases.get(&key) {
                    self.findings.error(
                        "equal-phrases",
                        phrase.place,
                        format!("phrase `{}` again, first on line {}", key, first.line),
                        "phrases that tell the options apart",
                        "say it another way",
                    );
                    different = false;
                } else {
                    phrases.insert(key, phrase.place);
                }
            }
        }
        different
    }

    /// Notes a second use of an id.
    pub fn unique<'t>(
        &mut self,
        kind: &str,
        id: &'t At<String>,
        seen: &mut IndexMap<&'t str, Place>,
    ) -> bool {
        if let Some(first) = seen.get(id.value.as_str()) {
            self.findings.error(
                "duplicate-id",
                id.place,
                format!(
                    "{kind} id `{}` again, first on line {}",
                    id.value, first.line
                ),
                "an id of its own",
                "rename one of the two",
            );
            return false;
        }
        seen.insert(&id.value, id.place);
        true
    }

    fn read(&mut self, step: &ReadSource) -> Option<StepKind> {
        let say = self.text(&step.say);
        let quantity = self.quantity(&step.quantity);
        let branches = self.branches(&step.then);
        Some(StepKind::Read {
            say: say?,
            quantity: quantity?,
            branches: branches?,
        })
    }

    pub fn branches(&mut self, then: &[BranchSource]) -> Option<Vec<Branch>> {
        let branches: Vec<_> = then
            .iter()
            .map(|branch| {
                let when = self.when(&branch.when);
                let go_to = self.step(&branch.go_to);
                Some(Branch {
                    when: when?,
                    go_to: go_to?,
                })
            })
            .collect();
        branches.into_iter().collect()
    }

    pub fn when(&mut self, when: &At<String>) -> Option<BranchWhen> {
        let words = when.value.trim();
        if let Some((_, known)) = WHEN.iter().find(|(name, _)| *name == words) {
            return Some(*known);
        }
        if words.starts_with(|c: char| c.is_alphabetic()) {
            let names = || WHEN.iter().map(|(name, _)| *name);
            self.findings.error(
                "when",
                when.place,
                format!("`{words}`"),
                format!("a range or one of {}", listed(names())),
                match nearest(words, names()) {
                    Some(near) => format!("write `{near}`"),
                    None => "write one of these".to_owned(),
                },
            );
            return None;
        }
        self.range(when.place, words).map(BranchWhen::Within)
    }

    fn watch(&mut self, step: &WatchSource) -> Option<StepKind> {
        let say = self.text(&step.say);
        let quantity = self.quantity(&step.quantity);
        let seconds = self.seconds(&step.seconds);
        let every = self.seconds(&step.every);
        if let (Some(seconds), Some(every)) = (seconds, every)
            && every >= seconds
        {
            self.findings.error(
                "every",
                step.every.place,
                format!("a value every {every} s"),
                format!("less than the {seconds} s of the watch"),
                "ask more often or watch longer",
            );
            return None;
        }
        Some(StepKind::Watch {
            say: say?,
            quantity: quantity?,
            seconds: seconds?,
            every: every?,
        })
    }

    fn finish(&mut self, step: &FinishSource) -> Option<StepKind> {
        let say = self.text(&step.say);
        let conclusion = self.text(&step.conclusion);
        let part = self.optional_plain(&step.part);
        let contact = self.optional_plain(&step.contact);
        Some(StepKind::Finish {
            say: say?,
            conclusion: conclusion?,
            part: part?,
            contact: contact?,
        })
    }
}

/// The words of `when`.
const WHEN: [(&str, BranchWhen); 7] = [
    ("inside limits", BranchWhen::Inside),
    ("below limits", BranchWhen::BelowLimits),
    ("above limits", BranchWhen::AboveLimits),
    ("outside limits", BranchWhen::OutsideLimits),
    ("over range", BranchWhen::OverRange),
    ("short", BranchWhen::Short),
    ("no reading", BranchWhen::NoReading),
];
