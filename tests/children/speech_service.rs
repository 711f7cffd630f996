//! A speech service with a will of its own, behind the protocol of speech-dispatcher (SSIP).

use std::io::{BufRead, BufReader, Write};
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::Path;
use std::thread;
use std::time::Duration;

/// How it treats sentences.
#[derive(Clone, Copy, PartialEq)]
pub enum Manners {
    /// Says each: begins at once and ends a little later.
    Speaks,
    /// Begins each and never ends it; never answers a request to cancel.
    NeverEnds,
    /// Takes the connection and says nothing.
    Silent,
}

/// Serves until the process ends.
pub fn serve(socket: &Path, manners: Manners) {
    let listener = UnixListener::bind(socket).unwrap();
    thread::spawn(move || {
        for client in listener.incoming() {
            let client = client.unwrap();
            thread::spawn(move || attend(client, manners));
        }
    });
}

fn attend(client: UnixStream, manners: Manners) {
    let mut answers = client.try_clone().unwrap();
    let mut message = 0;
    let mut lines = BufReader::new(client).lines();
    while let Some(Ok(line)) = lines.next() {
        if manners == Manners::Silent {
            continue;
        }
        let line = line.to_uppercase();
        let words: Vec<&str> = line.split_whitespace().collect();
        let answer = match words.as_slice() {
            ["SPEAK"] => {
                answers.write_all(b"230 OK RECEIVING DATA\r\n").unwrap();
                while lines.next().is_some_and(|l| l.is_ok_and(|l| l != ".")) {}
                message += 1;
                report(&answers, message, manners);
                format!("225-{message}\r\n225 OK MESSAGE QUEUED\r\n")
            }
            ["HISTORY", "GET", "CLIENT_ID"] => "245-1\r\n245 OK CLIENT ID SENT\r\n".to_owned(),
            ["CANCEL", ..] if manners == Manners::NeverEnds => continue,
            _ => "200 OK\r\n".to_owned(),
        };
        if answers.write_all(answer.as_bytes()).is_err() {
            return;
        }
    }
}

/// Tells of a message's begin and end, some time after it was queued.
fn report(answers: &UnixStream, message: u32, manners: Manners) {
    let mut answers = answers.try_clone().unwrap();
    thread::spawn(move || {
        let mut event = |code: u32, what: &str| {
            thread::sleep(Duration::from_millis(50));
            let text = format!("{code}-{message}\r\n{code}-1\r\n{code} {what}\r\n");
            answers.write_all(text.as_bytes())
        };
        // The client may have gone by now.
        let begun = event(701, "BEGIN").is_ok();
        if begun && manners == Manners::Speaks {
            let _gone = event(702, "END").is_err();
        }
    });
}
