//! Every row of `checks/*.txt`: what a published source says comes out.

use std::fs;
use std::path::Path;

use readback::quantity::Quantity;

use crate::run;

/// The rows of a file: `computation; inputs; choices; expected`, below lines `# source`.
fn rows(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let lines = text.lines().enumerate();
    let lines = lines.map(|(index, line)| (index + 1, line.trim()));
    lines.filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
}

#[test]
fn published_values_come_out() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/measure/checks");
    let mut files = 0;
    for entry in fs::read_dir(folder).expect("the folder of checks") {
        let path = entry.expect("a file of checks").path();
        let text = fs::read_to_string(&path).expect("text");
        assert!(
            text.starts_with("# "),
            "{}: no source named",
            path.display()
        );
        for (number, row) in rows(&text) {
            check(&format!("{}:{number}", path.display()), row);
        }
        files += 1;
    }
    assert_eq!(
        files, 13,
        "one file for each subject that has published values"
    );
}

/// The result must have at least the decimals of the published value, and round to it.
fn check(place: &str, row: &str) {
    let fields: Vec<&str> = row.split(';').map(str::trim).collect();
    let [name, inputs, choices, expected] = fields[..] else {
        panic!("{place}: `{row}` has not four fields");
    };
    let found = match run(name, inputs, choices) {
        Ok(outcome) => outcome.value,
        Err(refusal) => panic!("{place}: {refusal}"),
    };
    let expected: Quantity = expected.parse().expect(place);
    let decimals = expected.value.scale();
    let in_unit = found.convert(expected.unit).expect(place);
    assert!(
        in_unit.value.scale() >= decimals,
        "{place}: found only {found}"
    );
    let rounded = in_unit.value.round_dp(decimals);
    assert_eq!(rounded, expected.value, "{place}: found {found}, {row}");
}
