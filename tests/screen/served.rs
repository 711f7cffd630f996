//! The server on a real port, asked by plain requests.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::sync::mpsc::{Receiver, channel};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use readback::screen::{Glance, Hooks, Level, Place, Screen};
use readback::session::Event;

use super::session;

/// How long an answer may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(20);

/// A page with a session that only listens.
struct Stage {
    screen: Screen,
    glance: Glance,
    said: Receiver<String>,
    address: SocketAddr,
    /// The token with the slash before it, where there is one.
    token: String,
}

impl Stage {
    fn open(place: Place) -> Stage {
        let (tell, said) = channel();
        let tell = Mutex::new(tell);
        let say = move |words: String| {
            let tell = tell.lock().expect("nobody panics here");
            words != "busy" && tell.send(words).is_ok()
        };
        let hooks = Hooks {
            now: Arc::new(|| 4_321),
            level: Arc::new(|| Level {
                loudest_db: -20.0,
                noise_db: -60.0,
                speech: true,
            }),
            say: Arc::new(say),
        };
        let glance = session::glance();
        let screen = Screen::open(place, hooks, &glance.view()).expect("a free port");
        let url = screen.address().url();
        let rest = url.strip_prefix("http://").expect("a plain address");
        let (address, token) = rest
            .trim_end_matches('/')
            .split_at(rest.find('/').expect("a path"));
        Stage {
            glance,
            said,
            address: address.parse().expect("an address"),
            token: token.to_owned(),
            screen,
        }
    }

    fn loopback() -> Stage {
        Stage::open(Place::Loopback { port: 0 })
    }

    fn listening() -> Stage {
        Stage::open(Place::Listen(([127, 0, 0, 1], 0).into()))
    }

    /// Asks with these header lines beside the host, and gives the whole answer.
    fn ask(&self, method: &str, path: &str, host: &str, headers: &[&str], body: &str) -> Answer {
        let mut request = format!("{method} {path} HTTP/1.1\r\nHost: {host}\r\n");
        for header in headers {
            request += &format!("{header}\r\n");
        }
        request += &format!(
            "Connection: close\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        );
        let mut stream = self.send(&request);
        let mut text = String::new();
        stream.read_to_string(&mut text).expect("an answer");
        Answer(text)
    }

    fn send(&self, request: &str) -> TcpStream {
        let mut stream = TcpStream::connect(self.address).expect("a server");
        stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        stream.write_all(request.as_bytes()).expect("a request");
        stream
    }

    fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &self.address.to_string(), &[], "")
    }

    fn own(&self) -> String {
        format!("Origin: http://{}", self.address)
    }

    /// A command as the page gives it.
    fn say(&self, body: &str) -> Answer {
        let path = format!("{}/say", self.token);
        let headers = [self.own(), "Content-Type: application/json".to_owned()];
        let headers: Vec<&str> = headers.iter().map(String::as_str).collect();
        self.ask("POST", &path, &self.address.to_string(), &headers, body)
    }

    /// The events from now on.
    fn watch(&self) -> Events {
        let host = self.address;
        let path = format!("{}/events", self.token);
        let stream = self.send(&format!("GET {path} HTTP/1.1\r\nHost: {host}\r\n\r\n"));
        Events(BufReader::new(stream))
    }

    fn show(&mut self, events: &[Event]) {
        self.glance.happened(events);
        self.screen.show(&self.glance.view());
    }
}

struct Answer(String);

impl Answer {
    #[track_caller]
    fn is(self, status: &str) -> Answer {
        let found = self.0.lines().next().unwrap_or_default();
        assert!(
            found.contains(status),
            "found `{found}`, expected {status}\n{}",
            self.0
        );
        self
    }

    #[track_caller]
    fn has(self, text: &str) -> Answer {
        assert!(self.0.contains(text), "no `{text}` in\n{}", self.0);
        self
    }
}

struct Events(BufReader<TcpStream>);

impl Events {
    /// The data of the next event of that name.
    fn next(&mut self, name: &str) -> serde_json::Value {
        let mut current = String::new();
        loop {
            let mut line = String::new();
            let length = self.0.read_line(&mut line).expect("an event");
            assert!(length > 0, "the server has ended");
            if let Some(event) = line.strip_prefix("event:") {
                current = event.trim().to_owned();
            }
            if let Some(data) = line.strip_prefix("data:").filter(|_| current == name) {
                return serde_json::from_str(data).expect("JSON");
            }
        }
    }

    /// Whether the server ends the stream.
    fn ends(mut self) -> bool {
        let mut rest = Vec::new();
        self.0.read_to_end(&mut rest).is_ok()
    }
}

#[test]
fn the_page_and_what_it_is_made_of_are_served_with_a_strict_policy() {
    let stage = Stage::loopback();
    for path in ["/", "/page.css", "/page.js", "/chart.js", "/icon.svg"] {
        stage
            .get(path)
            .is("200 OK")
            .has("content-security-policy: default-src 'none'; script-src 'self'; style-src 'self'")
            .has("x-content-type-options: nosniff")
            .has("referrer-policy: no-referrer")
            .has("cache-control: no-store");
    }
    let policy = stage.get("/nowhere").is("404");
    for word in [
        "unsafe-inline",
        "unsafe-eval",
        "set-cookie",
        "access-control-allow",
    ] {
        assert!(!policy.0.contains(word), "{}", policy.0);
    }
}

#[test]
fn the_page_loads_nothing_from_elsewhere_and_keeps_nothing() {
    let stage = Stage::loopback();
    for path in ["/", "/page.css", "/page.js", "/chart.js"] {
        let answer = stage.get(path).0;
        let (_, content) = answer.split_once("\r\n\r\n").expect("a body");
        let content = content.replace("http://www.w3.org/2000/svg", "");
        for word in [
            "http:",
            "https:",
            "//cdn",
            "localStorage",
            "sessionStorage",
            "indexedDB",
        ] {
            assert!(!content.contains(word), "`{word}` in `{path}`");
        }
        for word in ["<style", " style=", " onclick", "innerHTML", "eval("] {
            assert!(!content.contains(word), "`{word}` in `{path}`");
        }
    }
}

#[test]
fn another_host_is_refused() {
    let stage = Stage::loopback();
    let port = stage.address.port();
    for host in ["example.test", "127.0.0.1", "localhost.example.test"] {
        stage.ask("GET", "/", host, &[], "").is("421");
    }
    stage
        .ask("GET", "/", &format!("example.test:{port}"), &[], "")
        .is("421");
    stage
        .ask("GET", "/", &format!("localhost:{port}"), &[], "")
        .is("200");
}

#[test]
fn another_origin_is_refused() {
    let stage = Stage::loopback();
    let host = stage.address.to_string();
    for header in [
        "Origin: http://example.test",
        "Origin: null",
        "Sec-Fetch-Site: cross-site",
        "Sec-Fetch-Site: same-site",
    ] {
        for path in ["/", "/events", "/page.js"] {
            stage.ask("GET", path, &host, &[header], "").is("403");
        }
        let json = ["Content-Type: application/json", header];
        stage
            .ask("POST", "/say", &host, &json, r#"{"words":"stop"}"#)
            .is("403");
    }
    // A command always names its origin, and is JSON.
    let json = ["Content-Type: application/json"];
    stage
        .ask("POST", "/say", &host, &json, r#"{"words":"stop"}"#)
        .is("403");
    let plain = [stage.own(), "Content-Type: text/plain".to_owned()];
    let plain: Vec<&str> = plain.iter().map(String::as_str).collect();
    stage
        .ask("POST", "/say", &host, &plain, r#"{"words":"stop"}"#)
        .is("415");
    stage.ask("GET", "/say", &host, &[], "").is("405");
    assert!(
        stage.said.try_recv().is_err(),
        "nothing of this reaches the session"
    );
}

#[test]
fn without_the_token_a_page_for_others_tells_nothing() {
    let stage = Stage::listening();
    for path in [
        "/",
        "/events",
        "/page.js",
        "/00000000000000000000000000000000/",
    ] {
        stage.get(path).is("401").has("refused");
    }
    let headers = [stage.own(), "Content-Type: application/json".to_owned()];
    let headers: Vec<&str> = headers.iter().map(String::as_str).collect();
    let host = stage.address.to_string();
    stage
        .ask("POST", "/say", &host, &headers, r#"{"words":"stop"}"#)
        .is("401");
    assert!(stage.said.try_recv().is_err());
    stage.get(&format!("{}/", stage.token)).is("200");
    stage.get(&format!("{}/page.js", stage.token)).is("200");
    stage.say(r#"{"words":"stop"}"#).is("202");
    assert_eq!(stage.said.recv_timeout(PATIENCE).as_deref(), Ok("stop"));
}

#[test]
fn what_is_pressed_reaches_the_session_unless_something_else_is_asked_by_then() {
    let mut stage = Stage::loopback();
    let turn = stage.watch().next("view")["view"]["turn"].clone();
    stage
        .say(&format!(r#"{{"words":"next","turn":{turn}}}"#))
        .is("202");
    assert_eq!(stage.said.recv_timeout(PATIENCE).as_deref(), Ok("next"));
    stage.show(&session::until_first_step());
    stage
        .say(&format!(r#"{{"words":"next","turn":{turn}}}"#))
        .is("409");
    // "stop" is meant whatever is asked.
    stage.say(r#"{"words":"stop"}"#).is("202");
    assert_eq!(stage.said.recv_timeout(PATIENCE).as_deref(), Ok("stop"));
    stage.say(r#"{"words":"busy"}"#).is("503");
    for wrong in [
        r#"{"words":" "}"#,
        r#"{"words":"a\nb"}"#,
        "{}",
        "",
        r#"{"words":"a","x":1}"#,
    ] {
        let found = stage.say(wrong).0;
        assert!(found.starts_with("HTTP/1.1 4"), "`{wrong}`: {found}");
    }
    let long = format!(r#"{{"words":"{}"}}"#, "a".repeat(5_000));
    stage.say(&long).is("413");
    assert!(stage.said.try_recv().is_err());
}

#[test]
fn a_browser_gets_the_whole_state_at_once_and_what_is_newest_then() {
    let mut stage = Stage::loopback();
    let mut first = stage.watch();
    assert_eq!(first.next("view")["view"]["scene"], "entry");
    assert_eq!(first.next("level")["loudest_db"], -20.0);
    stage.show(&session::until_first_step());
    let told = first.next("view");
    assert_eq!(told["view"]["scene"], "caution");
    assert_eq!(told["now_ms"], 4_321);
    let mut late = stage.watch();
    assert_eq!(late.next("view")["view"]["scene"], "caution");
    drop(stage.screen);
    // Both are told that nothing more will come.
    assert_eq!(first.next("end"), "over");
    assert_eq!(late.next("end"), "over");
    assert!(first.ends() && late.ends());
}

#[test]
fn a_viewer_that_takes_nothing_holds_nobody_up() {
    let mut stage = Stage::loopback();
    let slow: Vec<Events> = (0..40).map(|_| stage.watch()).collect();
    let events = session::until_first_step();
    let begun = std::time::Instant::now();
    for _ in 0..2_000 {
        stage.show(&events[..1]);
    }
    stage.show(&events);
    assert!(begun.elapsed() < PATIENCE, "{:?}", begun.elapsed());
    let mut quick = stage.watch();
    assert_eq!(quick.next("view")["view"]["scene"], "caution");
    drop(slow);
}

#[test]
fn a_port_that_is_taken_is_told_with_a_remedy() {
    let other = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let at = other.local_addr().expect("its address");
    let hooks = Hooks {
        now: Arc::new(|| 0),
        level: Arc::new(Level::default),
        say: Arc::new(|_| true),
    };
    let open = |place| {
        let opened = Screen::open(place, hooks.clone(), &session::glance().view());
        opened
            .err()
            .map(|error| error.to_string())
            .unwrap_or_default()
    };
    assert_eq!(
        open(Place::Loopback { port: at.port() }),
        format!(
            "cannot serve the page at `{at}`: another program has it; choose another port, or 0 \
             for any that is free"
        )
    );
    let nowhere = open(Place::Listen(([192, 0, 2, 7], 7_323).into()));
    assert!(
        nowhere.contains("this machine has no such address; name one"),
        "{nowhere}"
    );
    let everywhere = open(Place::Listen(([0, 0, 0, 0], 7_323).into()));
    assert!(everywhere.contains("found `0.0.0.0:7323`"), "{everywhere}");
}
