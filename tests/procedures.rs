//! Whole procedures through the loader.

use std::path::Path;

use readback::procedure::{BehaviorKind, Library, SourceFile, StepKind, load_files};

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
