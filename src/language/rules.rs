//! All grammar files of one language, with every reference checked.

use std::collections::{BTreeMap, BTreeSet};

use super::jsgf::{Expansion, Rule, RuleFile};
use super::problem::{GrammarProblem, Place};

/// Which rule of which file, by position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct RuleId {
    file: usize,
    rule: usize,
}

/// Grammar files whose references all lead somewhere and whose recursion is right recursion only.
#[derive(Debug, Clone)]
pub(super) struct Rules {
    files: Vec<RuleFile>,
}

impl Rules {
    /// Checks files against each other.
    ///
    /// # Errors
    ///
    /// Every name that leads nowhere or to a private rule, two files of one name, and recursion
    /// that is not at the end of a rule.
    pub(super) fn link(files: Vec<RuleFile>) -> Result<Rules, Vec<GrammarProblem>> {
        let rules = Rules { files };
        let mut problems = rules.double_names();
        for file in 0..rules.files.len() {
            rules.check_imports(file, &mut problems);
            for rule in &rules.files[file].rules {
                rules.check_references(file, &rule.body, &mut problems);
            }
        }
        if problems.is_empty() {
            problems = rules.bad_recursion();
        }
        match problems.is_empty() {
            true => Ok(rules),
            false => Err(problems),
        }
    }

    pub(super) fn rule(&self, id: RuleId) -> &Rule {
        &self.files[id.file].rules[id.rule]
    }

    pub(super) fn file_of(&self, id: RuleId) -> &str {
        &self.files[id.file].file
    }

    /// Why a rule that every language has is not there.
    pub(super) fn missing(&self, name: &str) -> GrammarProblem {
        let grammar = name.split('.').next().unwrap_or(name);
        let file = self.files.iter().find(|f| f.name == grammar);
        let (file, found) = match file {
            Some(file) => (file.file.clone(), "a grammar without it"),
            None => (format!("{grammar}.jsgf"), "no such grammar"),
        };
        GrammarProblem::new(
            &file,
            Place { line: 1, column: 1 },
            found,
            format!("a public rule `<{name}>`"),
            "add the rule or make it public",
        )
    }

    /// A public rule by its full name, `numbers.number`.
    pub(super) fn public(&self, name: &str) -> Option<RuleId> {
        let (grammar, rule) = name.rsplit_once('.')?;
        let file = self.files.iter().position(|f| f.name == grammar)?;
        let id = self.local(file, rule)?;
        self.rule(id).public.then_some(id)
    }

    /// What a name means inside a rule: the file's own rule, a full name, or an imported one.
    pub(super) fn resolve(&self, from: RuleId, name: &str) -> Option<RuleId> {
        self.resolve_in(from.file, name)
    }

    fn resolve_in(&self, file: usize, name: &str) -> Option<RuleId> {
        if name.contains('.') {
            return self.public(name);
        }
        self.local(file, name).or_else(|| {
            self.files[file]
                .imports
                .iter()
                .filter(|import| import.rule.as_deref().is_none_or(|rule| rule == name))
                .find_map(|import| self.public(&format!("{}.{name}", import.grammar)))
        })
    }

    fn local(&self, file: usize, name: &str) -> Option<RuleId> {
        let rule = self.files[file].rules.iter().position(|r| r.name == name)?;
        Some(RuleId { file, rule })
    }

    fn double_names(&self) -> Vec<GrammarProblem> {
        let mut seen = BTreeMap::new();
        let mut problems = Vec::new();
        for file in &self.files {
            if let Some(first) = seen.insert(file.name.clone(), &file.file) {
                problems.push(GrammarProblem::new(
                    &file.file,
                    Place { line: 2, column: 1 },
                    format!("a second grammar `{}`, also in `{first}`", file.name),
                    "each grammar name once",
                    "rename one of them",
                ));
            }
        }
        problems
    }

    fn check_imports(&self, file: usize, problems: &mut Vec<GrammarProblem>) {
        let RuleFile { file, imports, .. } = &self.files[file];
        for import in imports {
            let Some(grammar) = self.files.iter().find(|f| f.name == import.grammar) else {
                problems.push(GrammarProblem::new(
                    file,
                    import.place,
                    format!("`{}`", import.grammar),
                    "the name of a grammar of this language",
                    "add that grammar file or correct the name",
                ));
                continue;
            };
            let Some(name) = &import.rule else { continue };
            if self.public(&format!("{}.{name}", import.grammar)).is_none() {
                problems.push(GrammarProblem::new(
                    file,
                    import.place,
                    format!("`<{}.{name}>`", import.grammar),
                    format!("a public rule of `{}`", grammar.file),
                    "make the rule public there or correct the name",
                ));
            }
        }
    }

    fn check_references(&self, file: usize, body: &Expansion, problems: &mut Vec<GrammarProblem>) {
        visit(body, true, &mut |name, place, _| {
            let imports = &self.files[file].imports;
            // A bad import was reported where it stands.
            let imported = imports.iter().any(|i| i.rule.as_deref() == Some(name));
            if self.resolve_in(file, name).is_none() && !imported {
                problems.push(GrammarProblem::new(
                    &self.files[file].file,
                    place,
                    format!("`<{name}>`"),
                    "a rule of this file or a public rule it imports",
                    "define the rule, import it or correct the name",
                ));
            }
        });
    }

    /// Problems of the rule names in a phrase that belongs to no file.
    pub(super) fn check_phrase(&self, file: &str, body: &Expansion) -> Option<GrammarProblem> {
        let mut problem = None;
        visit(body, true, &mut |name, place, _| {
            if self.resolve_phrase(name).is_none() && problem.is_none() {
                problem = Some(GrammarProblem::new(
                    file,
                    place,
                    format!("`<{name}>`"),
                    "a public rule of the language, such as `<choices.yes>`",
                    "correct the name or write the words",
                ));
            }
        });
        problem
    }

    /// What a name means inside a phrase of a procedure: a full name or a rule of `choices`.
    pub(super) fn resolve_phrase(&self, name: &str) -> Option<RuleId> {
        match name.contains('.') {
            true => self.public(name),
            false => self.public(&format!("choices.{name}")),
        }
    }

    fn bad_recursion(&self) -> Vec<GrammarProblem> {
        let mut problems = Vec::new();
        for (file, grammar) in self.files.iter().enumerate() {
            for (rule, content) in grammar.rules.iter().enumerate() {
                let from = RuleId { file, rule };
                visit(&content.body, true, &mut |name, place, last| {
                    let Some(to) = self.resolve(from, name) else {
                        return;
                    };
                    if !last && self.reaches(to, from) {
                        problems.push(GrammarProblem::new(
                            &grammar.file,
                            place,
                            format!("`<{name}>`, which leads back to `<{}>`", content.name),
                            "recursion only at the very end of a rule",
                            "move it to the end or use `*` or `+`",
                        ));
                    }
                });
            }
        }
        problems
    }

    /// Whether a rule can come to itself again.
    pub(super) fn leads_back(&self, id: RuleId) -> bool {
        let mut back = false;
        visit(&self.rule(id).body, true, &mut |name, _, _| {
            back |= self
                .resolve(id, name)
                .is_some_and(|to| self.reaches(to, id));
        });
        back
    }

    fn reaches(&self, from: RuleId, target: RuleId) -> bool {
        let mut seen = BTreeSet::new();
        let mut open = vec![from];
        while let Some(id) = open.pop() {
            if id == target {
                return true;
            }
            if seen.insert(id) {
                visit(&self.rule(id).body, true, &mut |name, _, _| {
                    open.extend(self.resolve(id, name));
                });
            }
        }
        false
    }
}

/// Calls `found` for every rule reference, and says whether nothing can follow it in its rule.
fn visit(body: &Expansion, last: bool, found: &mut impl FnMut(&str, Place, bool)) {
    match body {
        Expansion::Rule { name, place } => found(name, *place, last),
        Expansion::Sequence(items) => {
            for (at, item) in items.iter().enumerate() {
                visit(item, last && at + 1 == items.len(), found);
            }
        }
        Expansion::Alternatives(ways) => {
            for way in ways {
                visit(&way.body, last, found);
            }
        }
        Expansion::Optional(body) => visit(body, last, found),
        Expansion::Repeat { body, .. } => visit(body, false, found),
        Expansion::Null | Expansion::Void | Expansion::Word(_) | Expansion::Tag(_) => {}
    }
}
