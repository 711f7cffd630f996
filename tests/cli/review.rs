//! `readback review`: the page of a recorded session in Debian's Chromium.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use crate::support::Folder;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// A review that is served until this goes.
struct Served {
    program: Child,
    url: String,
}

impl Served {
    fn of(folder: &Path, session: &str) -> Served {
        let mut command = Command::new(env!("CARGO_BIN_EXE_readback"));
        command.args(["review", session, "--no-open"]);
        command.current_dir(folder).stdout(Stdio::piped());
        let mut program = command.spawn().expect("the program starts");
        let mut line = String::new();
        let stdout = program.stdout.take().expect("its stdout");
        BufReader::new(stdout).read_line(&mut line).expect("a line");
        let url = line.trim().strip_prefix("review: ").expect("an address");
        Served {
            url: url.to_owned(),
            program,
        }
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

#[cfg(feature = "pocketsphinx")]
#[test]
fn a_session_is_heard_put_right_and_signed_off_on_its_page_and_its_report_is_read() {
    let folder = Folder::new();
    let procedure = format!("{ROOT}/procedures/cold-benches.yaml");
    let audio = format!("{ROOT}/audio-fixtures/cold-benches");
    let replay = ["replay", &procedure, "--audio", &audio, "--voice", "none"];
    let to = ["--engine", "pocketsphinx", "--record", "s"];
    folder.run(replay.into_iter().chain(to)).exits(0);
    in_a_browser("review.mjs", &Served::of(folder.path(), "s").url);
    let found = folder.run(["verify", "s"]).exits(0).read_stdout();
    assert!(found.starts_with("whole and unchanged\n"), "{found}");
    let report = folder.run(["report", "s"]).exits(0).read_stdout();
    assert!(report.contains("The record is signed off."), "{report}");
    let to = ["--format", "html", "--clips", "--out", "r.html"];
    folder.run(["report", "s"].into_iter().chain(to)).exits(0);
    let file = folder.path().join("r.html");
    in_a_browser("report.mjs", &file.to_string_lossy());
}

#[cfg(feature = "pocketsphinx")]
#[test]
fn what_was_only_spoken_of_the_job_is_heard_and_written_on_the_page() {
    let fixtures = format!("{ROOT}/audio-fixtures");
    let spoken = [
        ("next.wav", "cold-benches/001.wav"),
        ("complaint.wav", "corpus/held-out-clean/awb-191.wav"),
        ("skip.wav", "corpus/held-out-clean/awb-024.wav"),
        ("stop.wav", "hearing/en-rms-stop.wav"),
    ];
    let mut folder = Folder::new();
    for (name, from) in spoken {
        let wav = std::fs::read(format!("{fixtures}/{from}")).expect("a recording");
        folder = folder.file(&format!("audio/{name}"), wav);
    }
    let utterances = spoken.map(|(file, _)| serde_json::json!({"file": file, "words": ""}));
    let manifest = serde_json::json!({ "utterances": utterances }).to_string();
    let job = "variant: hs-2\nserial: HS24\nreference: A-1043\ntechnician: R. Amsel\n";
    let folder = folder
        .file("audio/manifest.json", manifest)
        .file("job.yaml", job);
    let procedure = format!("{ROOT}/procedures/cold-benches.yaml");
    let replay = [
        "replay", &procedure, "--job", "job.yaml", "--audio", "audio",
    ];
    let to = [
        "--voice",
        "none",
        "--engine",
        "pocketsphinx",
        "--record",
        "s",
    ];
    folder.run(replay.into_iter().chain(to)).exits(0);
    in_a_browser("job.mjs", &Served::of(folder.path(), "s").url);
    let report = folder.run(["report", "s"]).exits(0).read_stdout();
    let written = "It is colder in here than outside. (spoken, written after the session)";
    let report = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(report.contains(written), "{report}");
}

/// Reads a page by a script of `tests/pages`.
#[cfg(feature = "pocketsphinx")]
fn in_a_browser(script: &str, page: &str) {
    let mut node = Command::new("node");
    node.arg(format!("{ROOT}/tests/pages/{script}")).arg(page);
    let read = node.output().expect("node; scripts/setup installs it");
    let told = String::from_utf8_lossy(&read.stderr);
    assert!(read.status.success(), "{script}: {told}");
}

#[test]
fn a_page_of_elsewhere_gets_nothing_and_writes_nothing() {
    use std::io::{Read, Write};
    let folder = Folder::new();
    let procedure = format!("{ROOT}/procedures/cold-benches.yaml");
    let script = format!("{ROOT}/tests/shipped/cold-benches-dry.script");
    let replay = ["replay", &procedure, "--script", &script, "--voice", "none"];
    let to = ["--variant", "hs-2", "--serial", "HS7", "--record", "s"];
    folder.run(replay.into_iter().chain(to)).exits(0);
    let served = Served::of(folder.path(), "s");
    let host = served
        .url
        .trim_start_matches("http://")
        .trim_end_matches('/');
    let ask = |head: &str, body: &str| {
        let mut stream = std::net::TcpStream::connect(host).expect("the page");
        let length = body.len();
        let text = format!("{head}connection: close\r\ncontent-length: {length}\r\n\r\n{body}");
        stream.write_all(text.as_bytes()).expect("a request");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("an answer");
        answer
    };
    let own = ask(&format!("GET /session HTTP/1.1\r\nhost: {host}\r\n"), "");
    assert!(
        own.starts_with("HTTP/1.1 200") && own.contains("HS7"),
        "{own}"
    );
    let other = ask("GET /session HTTP/1.1\r\nhost: elsewhere.test\r\n", "");
    assert!(
        other.starts_with("HTTP/1.1 421") && !other.contains("HS7"),
        "{other}"
    );
    let remark = r#"{"what":"remark","text":"from elsewhere","by":"nobody"}"#;
    let head = format!(
        "POST /amend HTTP/1.1\r\nhost: {host}\r\norigin: http://elsewhere.test\r\n\
         content-type: application/json\r\n"
    );
    assert!(ask(&head, remark).starts_with("HTTP/1.1 403"));
    for name in [
        "clips/../session.jsonl",
        "..%2f..%2fetc%2fpasswd",
        "session.jsonl",
        "chart/99",
    ] {
        let answer = ask(
            &format!("GET /file/{name} HTTP/1.1\r\nhost: {host}\r\n"),
            "",
        );
        assert!(answer.starts_with("HTTP/1.1 404"), "{name}: {answer}");
    }
    let report = folder.run(["report", "s"]).exits(0).read_stdout();
    assert!(!report.contains("from elsewhere"), "{report}");
}
