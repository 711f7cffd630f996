//! `readback parse`.

use crate::support::readback;

#[test]
fn a_value_without_its_prefix_stands_beside_the_spoken_one() {
    readback(["parse", "--json", "four point seven k ohms"])
        .exits(0)
        .stderr("")
        .stdout(
            r#"{
  "input": "four point seven k ohms",
  "command": null,
  "readings": [
    {
      "value": "4.7",
      "unit": "kohm",
      "value_base": "4700",
      "special": null,
      "low": null,
      "high": null,
      "about": false
    }
  ],
  "spelled": null,
  "choice": null,
  "complete": true,
  "alternatives": [],
  "error": null
}
"#,
        );
}

#[test]
fn text_answers_say_what_was_understood() {
    let cases = [
        ("resume", "command continue\n"),
        ("say again", "command repeat\n"),
        (
            "correction two four five",
            "command correction, reading 245\n",
        ),
        ("four point seven k", "reading 4.7 k\n"),
        ("over limit", "reading over range\n"),
        ("about five milliamps", "reading about 5 mA\n"),
        (
            "hunting between two twenty and two forty volts",
            "reading between 220 and 240 V\n",
        ),
        (
            "two forty ... two thirty eight",
            "reading 240, reading 238\n",
        ),
        ("hotel sierra two four", "spelled HS24\n"),
        ("240 V", "reading 240 V\n"),
    ];
    for (words, expected) in cases {
        readback(["parse", words])
            .exits(0)
            .stdout(expected)
            .stderr("");
    }
}

#[test]
fn words_without_meaning_are_answered_with_no() {
    let expected = "nothing: found `oranges` as word 2, expected nothing more\n";
    readback(["parse", "back oranges"])
        .exits(1)
        .stdout(expected);
}

#[test]
fn an_unknown_language_is_bad_input() {
    readback(["parse", "--language", "tlh", "next"])
        .exits(2)
        .stdout("")
        .stderr("error: found the language `tlh`, expected one of: en-US, ko-KR\n");
}
