//! `readback diagnose`: exact answers for series of the trade table.

use crate::support::{Folder, Run};

const PUMP: &str = include_str!("../diagnosis/circulating-pump.yaml");

/// Climbs to a peak, settles, and has one value that lost a digit.
const HEALTHY: &str = "t_s,value
0.5,402
1.2,590
2.1,640
4,410
7,300
10,262
13,250
16,25
19,244
22,246
25,245
28,243..247
";

fn diagnose(step: &str, readings: &str, more: &[&str]) -> Run {
    let folder = Folder::new()
        .file("pump.yaml", PUMP)
        .file("run.csv", readings);
    let known = [
        "diagnose",
        "pump.yaml",
        "--readings",
        "run.csv",
        "--step",
        step,
    ];
    folder.run(known.iter().chain(more))
}

#[test]
fn a_finding_with_its_reasons() {
    diagnose("judge", HEALTHY, &["--variant", "small"])
        .exits(0)
        .stderr("")
        .stdout(
            "healthy: the pump is healthy
  it settled at 245 count by 13.0 s: readings 7 and 9 to 12 lie within 5 count of it
  it had a first peak of 640 count at 2.1 s
  reading 8 (25 count) does not fit and was left out, probably 250 was meant
  `healthy` asks for a level of 220..270 count: 245 lies inside
  `healthy` asks for a first peak of 500..800 count: 640 lies inside
  nearest other finding: `leak`, 10 count away
",
        );
}

#[test]
fn a_finding_as_json() {
    diagnose("judge", HEALTHY, &["--variant", "small", "--json"])
        .exits(0)
        .stderr("")
        .stdout(
            r#"{
  "procedure": "circulating-pump",
  "step": "judge",
  "variant": "small",
  "behavior": "settles",
  "level": 245,
  "peak": 640,
  "slope_per_min": -471.4,
  "finding": "healthy",
  "equal": [],
  "runner_up": "leak",
  "margin": 10,
  "why": [
    "it settled at 245 count by 13.0 s: readings 7 and 9 to 12 lie within 5 count of it",
    "it had a first peak of 640 count at 2.1 s",
    "reading 8 (25 count) does not fit and was left out, probably 250 was meant",
    "`healthy` asks for a level of 220..270 count: 245 lies inside",
    "`healthy` asks for a first peak of 500..800 count: 640 lies inside",
    "nearest other finding: `leak`, 10 count away"
  ],
  "ask": null
}
"#,
        );
}

#[test]
fn a_hole_in_the_table_is_said() {
    let steady = "t_s,value\n0,214\n5,215\n10,214\n15,213\n20,214\n";
    diagnose("judge", steady, &["--variant", "small"])
        .exits(1)
        .stderr("")
        .stdout(
            "no finding: the table has no finding for `steady` at 214 count; the nearest is \
             `healthy`, 6 count away: decide and give the reason
  readings 1 to 5 lie within 1 count of 214 count
",
        );
}

#[test]
fn too_few_readings_as_json() {
    diagnose(
        "judge",
        "t_s,value\n0,214\n5,215\n",
        &["--variant", "small", "--json"],
    )
    .exits(1)
    .stderr("")
    .stdout(
        r#"{
  "procedure": "circulating-pump",
  "step": "judge",
  "variant": "small",
  "behavior": "too_few",
  "level": null,
  "peak": null,
  "slope_per_min": null,
  "finding": null,
  "equal": [],
  "runner_up": null,
  "margin": null,
  "why": [
    "2 readings with a number, 5 are needed"
  ],
  "ask": "3 more readings are needed"
}
"#,
    );
}

#[test]
fn a_single_reading_over_range() {
    diagnose(
        "winding-table",
        "t_s,value\n0,over_range\n",
        &["--variant", "small"],
    )
    .exits(0)
    .stderr("")
    .stdout(
        "winding-open: the winding is open, replace the pump
  the one reading is over range
  `winding-open` asks that step `measure` reads over range: it does
  no other finding is near
",
    );
}

#[test]
fn a_plot_is_a_picture_of_every_reading() {
    let folder = Folder::new()
        .file("pump.yaml", PUMP)
        .file("run.csv", HEALTHY);
    folder
        .run([
            "diagnose",
            "pump.yaml",
            "--readings",
            "run.csv",
            "--step",
            "judge",
            "--variant",
            "small",
            "--plot",
            "run.svg",
        ])
        .exits(0);
    let picture = std::fs::read_to_string(folder.path().join("run.svg")).expect("a picture");
    assert!(picture.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\""));
    assert!(picture.ends_with("</svg>\n"));
    assert_eq!(picture.matches("<circle").count(), 12);
    assert!(picture.contains(">healthy</text>") && picture.contains(">level 245</text>"));
}

/// Readings, and the message about them after the file's name.
const BROKEN: [(&str, &str); 6] = [
    (
        "",
        "`run.csv` has no readings, expected `t_s,value` and one reading a line",
    ),
    (
        "t_s,value\n",
        "`run.csv` has no readings, expected `t_s,value` and one reading a line",
    ),
    (
        "time,shown\n0,1\n",
        "`run.csv`, line 1: found `time,shown`, expected the columns `t_s,value`",
    ),
    (
        "t_s,value\n0,1\n\n-1,2\n",
        "`run.csv`, line 4: found the time `-1`, expected seconds from 0 up, such as `12.5`",
    ),
    (
        "t_s,value\n0,two\n",
        "`run.csv`, line 2: found the value `two`, expected a number in `count`, a range such as \
         `220..240`, `about 240`, `over_range`, `short` or `no_reading`",
    ),
    (
        "t_s,value\n12\n",
        "`run.csv`, line 2: found `12`, expected a time and a value such as `12.5,240`",
    ),
];

#[test]
fn broken_tables_are_refused_with_the_line() {
    for (readings, message) in BROKEN {
        diagnose("judge", readings, &["--variant", "small"])
            .exits(2)
            .stdout("")
            .stderr(&format!("error: {message}\n"));
    }
}

#[test]
fn wrong_names_are_refused_with_the_known_ones() {
    diagnose("judge", HEALTHY, &[]).exits(2).stdout("").stderr(
        "error: which variant is it? give `--variant` with one of `small`, `medium`, `large`\n",
    );
    diagnose("judge", HEALTHY, &["--variant", "huge"])
        .exits(2)
        .stdout("")
        .stderr("error: found the variant `huge`, expected one of `small`, `medium`, `large`\n");
    diagnose("run", HEALTHY, &["--variant", "small"])
        .exits(2)
        .stdout("")
        .stderr(
            "error: found the step `run`, expected a diagnose step of `circulating-pump`: \
             `judge`, `winding-table`\n",
        );
    diagnose(
        "judge",
        HEALTHY,
        &["--variant", "small", "--reading", "measure"],
    )
    .exits(2)
    .stdout("")
    .stderr(
        "error: found `--reading measure`, expected a step and its value, such as \
             `winding=6.2`\n",
    );
}
