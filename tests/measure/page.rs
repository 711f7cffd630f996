//! `procedures/computations.md`, the list for those who write procedures, is the catalog.
//! `UPDATE=1 cargo test --test measure` writes it anew.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use readback::measure::{Choice, Computation, Input, Measured, Within, catalog};

const HEAD: &str = "# Computations

What a compute step can name as its `measure`, made from the program's own catalog. An input takes
a value in any unit of its dimension. *Nominal* inputs are figures of a plate or a rule: their last
place does not coarsen the result. An input with a default may be left out.
";

#[test]
fn the_page_is_the_catalog() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures/computations.md");
    let page = page();
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&path, &page).expect("a writable page");
    }
    let written = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        written == page,
        "the page is stale: run the test with UPDATE=1"
    );
}

fn page() -> String {
    let mut page = HEAD.to_owned();
    for computation in catalog() {
        describe(&mut page, computation).expect("writing to a string");
    }
    page
}

fn describe(page: &mut String, computation: &Computation) -> std::fmt::Result {
    writeln!(page, "\n## {}\n", computation.name)?;
    let result = match computation.result {
        Measured::In(unit) => format!("in `{unit}`"),
        Measured::Alike(_) => "in the unit of its first input".to_owned(),
    };
    let (first, rest) = computation.what.split_at(1);
    writeln!(page, "{}{rest}, {result}.\n", first.to_uppercase())?;
    computation
        .inputs
        .iter()
        .try_for_each(|i| describe_input(page, i))?;
    computation
        .choices
        .iter()
        .try_for_each(|c| describe_choice(page, c))?;
    writeln!(page, "- Source: {}", computation.source)
}

fn describe_input(page: &mut String, input: &Input) -> std::fmt::Result {
    write!(
        page,
        "- `{}` in {}: {}",
        input.name, input.measured, input.what
    )?;
    match input.within {
        Within::Any => (),
        Within::Positive => write!(page, "; more than 0")?,
        Within::Between(low, high) => write!(page, "; {low} to {high}")?,
    }
    if let Some(default) = input.default {
        write!(page, "; {default} when left out")?;
    }
    writeln!(page, "{}", if input.nominal { "; nominal" } else { "" })
}

fn describe_choice(page: &mut String, choice: &Choice) -> std::fmt::Result {
    let options: Vec<String> = choice.options.iter().map(|o| format!("`{o}`")).collect();
    writeln!(page, "- choice `{}`: {}", choice.name, options.join(", "))
}
