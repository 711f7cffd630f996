//! Whole procedures through the loader.

use std::path::Path;

use readback::procedure::{BehaviorKind, Library, SourceFile, StepKind, check, load_files};

fn file(name: &str) -> SourceFile {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/procedures");
    let text = std::fs::read_to_string(folder.join(name)).expect("a test file");
    SourceFile {
        name: name.to_owned(),
        text,
    }
}

fn every_kind() -> Library {
    match load_files(&[file("every-kind.yaml"), file("sub.yaml")]) {
        Ok(library) => library,
        Err(problems) => {
            let lines: Vec<String> = problems.iter().map(|p| p.to_string()).collect();
            panic!("{}", lines.join("\n"))
        }
    }
}

#[test]
fn every_kind_of_step_loads() {
    let library = every_kind();
    let main = library.main();
    assert_eq!(main.steps.len(), 13);
    assert_eq!(library.procedures().count(), 2);
    let judge = library
        .step(&main.id, &"judge".into())
        .expect("a diagnose step");
    let StepKind::Diagnose { findings, .. } = &judge.kind else {
        panic!("not a diagnose step: {judge:?}");
    };
    assert_eq!(findings[1].behaviors, [BehaviorKind::NearZero]);
}

/// `UPDATE=1 cargo test --test procedures` writes the schema anew.
#[test]
fn the_schema_is_up_to_date() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures/procedure.schema.json");
    let made = readback::procedure::schema();
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&path, &made).expect("a writable folder");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == made,
        "the schema is out of date: run `UPDATE=1 cargo test --test procedures`"
    );
}

fn doubts(path: &Path) -> String {
    let source = SourceFile {
        name: path
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned(),
        text: std::fs::read_to_string(path).expect("a test file"),
    };
    let library = load_files(&[source]).expect("a procedure that loads");
    check(&library).iter().map(|p| format!("{p}\n")).collect()
}

/// `UPDATE=1 cargo test --test procedures` writes the expected files anew.
#[test]
fn doubtful_wording_is_found() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/procedures/doubtful");
    let entries = std::fs::read_dir(folder).expect("the folder of doubtful procedures");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    let mut count = 0;
    for path in paths.filter(|path| path.extension().is_some_and(|e| e == "yaml")) {
        let given = doubts(&path);
        let expected_path = path.with_extension("expected");
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(&expected_path, &given).expect("a writable folder");
        }
        let expected = std::fs::read_to_string(expected_path).unwrap_or_default();
        assert_eq!(given, expected, "{}", path.display());
        assert!(!given.is_empty(), "{}", path.display());
        count += 1;
    }
    assert!(count >= 10, "only {count} doubtful procedures");
}

#[test]
fn nothing_is_found_in_plain_wording() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/procedures");
    assert_eq!(doubts(&folder.join("plain.yaml")), "");
}

/// Every example of the format reference loads: the head as it stands, the steps in one procedure
/// with the steps they name.
#[test]
fn every_example_of_the_reference_loads() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures/README.md");
    let text = std::fs::read_to_string(path).expect("the reference");
    let blocks: Vec<&str> = text
        .split("```yaml\n")
        .skip(1)
        .filter_map(|rest| rest.split("```").next())
        .collect();
    let (head, steps) = blocks.split_first().expect("a head");
    assert!(steps.len() >= 13, "only {} examples of steps", steps.len());
    let mut whole = (*head).to_owned();
    whole.push_str(
        "  - read: { id: winding-cold, say: measure it cold, quantity: winding-resistance }\n",
    );
    whole.push_str(
        "  - watch: { id: run-before, say: run it, quantity: load-count, seconds: 30, every: 5 }\n",
    );
    for line in steps.iter().flat_map(|step| step.lines()) {
        whole.push_str(&format!("  {line}\n"));
    }
    whole.push_str("  - finish: { id: open-winding, say: replace it, conclusion: winding open }\n");
    let sub = file("sub.yaml")
        .text
        .replace("id: sub\n", "id: isolation\n");
    let source = |name: &str, text: String| SourceFile {
        name: name.to_owned(),
        text,
    };
    let files = [source("README.md", whole), source("isolation.yaml", sub)];
    if let Err(problems) = load_files(&files) {
        let lines: Vec<String> = problems
            .iter()
            .map(|p| p.with_snippet(&files[0].text))
            .collect();
        panic!("{}", lines.join("\n"));
    }
}
