//! What the page shows at each kind of step, in sessions worked through by typing.

use serde_json::{Value, json};

use super::session::Session;

/// The way to the choice of a session about cold benches.
const TO_CHOICE: [&str; 3] = ["next", "next", "next"];

/// Which keys are on.
fn on(view: &Value) -> Vec<&str> {
    let keys = view["keys"].as_array().expect("keys").iter();
    let on = keys.filter(|key| key["on"] == true);
    on.filter_map(|key| key["command"].as_str()).collect()
}

fn main_key(view: &Value) -> Option<&str> {
    let keys = view["keys"].as_array().expect("keys");
    keys.iter().find(|key| key["main"] == true)?["command"].as_str()
}

#[test]
fn a_caution_stands_with_its_signal_word() {
    let mut session = Session::begun("cold-benches.yaml");
    let before = session.view();
    assert_eq!(before["scene"], "entry");
    assert_eq!(before["place"]["number"], 0);
    let view = session.say(&["next"]);
    assert_eq!(view["scene"], "caution");
    let signal = json!({ "level": "warning", "word": "Warning" });
    assert_eq!(view["signal"], signal);
    assert_eq!(view["headline"], "The pipes and the heater bank are hot.");
    assert_eq!(
        view["lines"],
        json!([
            "They can burn your skin.",
            "Keep your gloves on and touch only the insulated handles."
        ])
    );
    assert_eq!(view["unit"], "small skid · HS1");
    assert_eq!(view["place"]["number"], 1);
    let first = json!({ "title": "Before the start", "steps": ["now", "ahead", "ahead"] });
    assert_eq!(view["place"]["sections"][0], first);
    assert_eq!(main_key(&view), Some("next"));
    let told = view["said"].as_array().expect("sentences").last();
    let asked = told.map(|sentence| &sentence["text"]);
    assert_eq!(asked, Some(&json!("Say next when you have understood.")));
}

#[test]
fn what_is_urgent_interrupts_a_screen_reader_and_nothing_else_does() {
    let urgent = |view: &Value| {
        let told = view["said"].as_array().expect("sentences").iter();
        let urgent = told.filter(|sentence| sentence["urgent"] == true);
        urgent
            .map(|sentence| sentence["text"].to_string())
            .collect::<Vec<_>>()
    };
    let warned = Session::begun("cold-benches.yaml").say(&["next"]);
    assert_eq!(urgent(&warned), Vec::<String>::new());
    let endangered = Session::begun("winding-check.yaml").say(&["next"]);
    assert!(urgent(&endangered).contains(&"\"Danger.\"".to_owned()));
    let stopped = Session::begun("cold-benches.yaml").say(&["next", "next", "stop"]);
    assert!(!urgent(&stopped).is_empty());
}

#[test]
fn a_choice_offers_its_answers_and_no_way_round_them() {
    let view = Session::begun("cold-benches.yaml").say(&TO_CHOICE);
    assert_eq!(view["scene"], "choose");
    assert_eq!(
        view["answers"],
        json!(["green lamp", "amber lamp", "no lamp"])
    );
    assert!(!on(&view).contains(&"next"));
}

#[test]
fn a_wait_runs_its_time_and_a_stop_ends_it() {
    let mut session = Session::begun("cold-benches.yaml");
    session.say(&TO_CHOICE);
    let view = session.say(&["green lamp", "next"]);
    assert_eq!(view["scene"], "wait");
    let timer = &view["timer"];
    let length = timer["ends_ms"].as_u64().zip(timer["started_ms"].as_u64());
    assert_eq!(length.map(|(ends, started)| ends - started), Some(90_000));
    assert!(!on(&view).contains(&"next"));
    let view = session.say(&["stop"]);
    assert_eq!(view["scene"], "stopped");
    assert_eq!(
        view["headline"],
        "Press the red stop button and keep your hands away from the coupling."
    );
    assert_eq!(main_key(&view), Some("continue"));
    assert!(view["timer"].is_null());
    let offered = ["repeat", "stop", "continue", "help", "status", "read_back"];
    assert_eq!(on(&view), offered);
    let view = session.say(&["continue", "stand by"]);
    assert_eq!(view["scene"], "standing_by");
    assert_eq!(on(&view), ["stop", "continue"]);
}

#[test]
fn a_series_grows_against_its_bands_and_keeps_what_was_taken_back() {
    let mut session = Session::begun("cold-benches.yaml");
    session.say(&TO_CHOICE);
    session.say(&["green lamp", "next"]);
    let empty = session.wait(91_000);
    assert_eq!(empty["scene"], "watch");
    assert_eq!(empty["chart"]["points"], json!([]));
    assert!(!on(&empty).contains(&"next"));
    let labels: Vec<&Value> = empty["chart"]["bands"]
        .as_array()
        .expect("bands")
        .iter()
        .map(|band| &band["label"])
        .collect();
    assert_eq!(labels, ["dry", "healthy", "choked", "stalled"]);
    let view = session.say(&["98", "99", "disregard", "98"]);
    let points = view["chart"]["points"].as_array().expect("readings");
    let taken_back: Vec<bool> = points
        .iter()
        .map(|point| point["withdrawn"] == true)
        .collect();
    assert_eq!(taken_back, [false, true, false]);
    let choked = &view["chart"]["bands"][2];
    let height = points[0]["y"][0].as_f64().expect("a height");
    let inside = choked["low"].as_f64() < Some(height) && Some(height) < choked["high"].as_f64();
    assert!(inside, "{height} in {choked}");
    assert_eq!(view["value"]["number"], "98");
    assert_eq!(view["value"]["side"], "above");
    assert_eq!(view["value"]["limits"], "62 … 84 count");
    // The picture stays when the finding is told.
    session.say(&["97", "98", "98"]);
    let found = session.wait(61_000);
    assert_eq!(found["scene"], "finding");
    assert_eq!(
        found["headline"],
        "The circulator works against a choked loop."
    );
    assert_eq!(found["chart"]["points"].as_array().map(Vec::len), Some(6));
    let ended = session.say(&["next"]);
    assert_eq!(ended["scene"], "finish");
    assert_eq!(
        ended["headline"],
        "The loop is choked. Flush the benches one after another."
    );
    assert_eq!(ended["lines"], json!(["Next closes the session."]));
}

#[test]
fn a_hold_shows_every_point_of_its_proof() {
    let mut session = Session::begun("winding-check.yaml");
    let locked = session.say(&["next", "next", "next"]);
    assert_eq!(locked["scene"], "hold");
    assert_eq!(locked["answers"], json!(["lock is on"]));
    let asked = session.say(&["lock is on", "120.0 V"]);
    assert_eq!(asked["scene"], "confirm");
    assert_eq!(main_key(&asked), Some("affirm"));
    assert_eq!(asked["value"]["standing"], "asked");
    assert_eq!(asked["value"]["number"], "120.0");
    assert_eq!(asked["value"]["unit"], "V");
    let proved = session.say(&["affirm"]);
    assert_eq!(proved["value"]["standing"], "confirmed");
    assert_eq!(
        proved["headline"],
        "Measure line to neutral, terminals X1 and X2."
    );
    let first = json!({
        "say": "Put the meter on the proving unit.",
        "within": "110 … 130 V",
        "read": "120.0 V",
        "now": false,
    });
    assert_eq!(proved["proof"][0], first);
    assert_eq!(proved["proof"][1]["now"], true);
    assert_eq!(proved["proof"].as_array().map(Vec::len), Some(5));
}

#[test]
fn what_was_not_understood_is_told_and_nothing_is_asked_anew() {
    let mut session = Session::begun("cold-benches.yaml");
    let before = session.say(&["next", "next"]);
    let after = session.say(&["where is my coffee"]);
    assert_eq!(after["heard"]["understood"], false);
    assert_eq!(after["turn"], before["turn"]);
    assert_eq!(after["headline"], before["headline"]);
}

#[test]
fn the_end_shows_the_conclusion_and_takes_nothing_more() {
    let mut session = Session::begun("cold-benches.yaml");
    session.say(&TO_CHOICE);
    let finish = session.say(&["no lamp"]);
    assert_eq!(finish["scene"], "finish");
    assert_eq!(finish["over"], false);
    let view = session.say(&["next"]);
    assert_eq!(view["scene"], "closed");
    assert_eq!(view["over"], true);
    assert_eq!(view["headline"], "The controller has no supply.");
    assert_eq!(on(&view), [""; 0]);
    assert!(view["typing"].is_null());
}
