//! The page and its two ways: what is shown goes out, what is said comes in.

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Json, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use serde::{Deserialize, Serialize};
use tokio::sync::watch;

use super::address::{Address, Place};
use super::serving::{ScreenError, Server};
use super::view::View;
use super::viewers::{self, Shown};

/// What is said in one request has this many bytes at most.
const LONGEST: usize = 4_096;

/// What the page is made of: path, kind, content.
const ASSETS: [(&str, &str, &str); 5] = [
    (
        "/",
        "text/html; charset=utf-8",
        include_str!("page/page.html"),
    ),
    (
        "/page.css",
        "text/css; charset=utf-8",
        include_str!("page/page.css"),
    ),
    (
        "/page.js",
        "text/javascript; charset=utf-8",
        include_str!("page/page.js"),
    ),
    (
        "/chart.js",
        "text/javascript; charset=utf-8",
        include_str!("page/chart.js"),
    ),
    ("/icon.svg", "image/svg+xml", include_str!("page/icon.svg")),
];

/// How loud it is at the microphone, in decibels below full scale (dBFS), from -96 to 0.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Level {
    pub loudest_db: f32,
    pub noise_db: f32,
    /// Whether somebody speaks.
    pub speech: bool,
}

/// What a page needs of the session. None of it may wait.
#[derive(Clone)]
pub struct Hooks {
    /// Milliseconds of the session's clock.
    pub now: Arc<dyn Fn() -> u64 + Send + Sync>,
    pub level: Arc<dyn Fn() -> Level + Send + Sync>,
    /// Gives words to the session as if they had been said; `false` where it takes none just now.
    pub say: Arc<dyn Fn(String) -> bool + Send + Sync>,
}

/// A page that is served, on a thread of its own. Dropping it ends that in order.
pub struct Screen {
    shown: Option<watch::Sender<Shown>>,
    server: Server,
}

impl Screen {
    /// Serves the page from now on. It shows `first` until it is shown something else.
    ///
    /// # Errors
    ///
    /// The address cannot be had.
    pub fn open(place: Place, hooks: Hooks, first: &View) -> Result<Screen, ScreenError> {
        let (show, shown) = watch::channel(as_shown(first));
        Ok(Screen {
            shown: Some(show),
            server: Server::open(place, router(Served { shown, hooks }))?,
        })
    }

    pub fn address(&self) -> &Address {
        self.server.address()
    }

    /// Shows something else from now on. Never waits.
    pub fn show(&self, view: &View) {
        if let Some(shown) = &self.shown {
            shown.send_replace(as_shown(view));
        }
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        // Before the server ends: viewers still take the newest view when the sender has gone.
        drop(self.shown.take());
    }
}

fn as_shown(view: &View) -> Shown {
    // A view is made of texts and finite numbers, which JSON can hold.
    let json = serde_json::to_string(view).unwrap_or_default();
    Shown {
        turn: view.turn,
        json: json.into(),
    }
}

#[derive(Clone)]
struct Served {
    shown: watch::Receiver<Shown>,
    hooks: Hooks,
}

fn router(served: Served) -> Router {
    let mut pages = Router::new();
    for (path, kind, content) in ASSETS {
        let asset = move || async move { ([(CONTENT_TYPE, kind)], content) };
        pages = pages.route(path, get(asset));
    }
    pages
        .route("/events", get(events))
        .route("/say", post(say))
        .layer(DefaultBodyLimit::max(LONGEST))
        .with_state(served)
}

async fn events(State(served): State<Served>) -> impl IntoResponse {
    viewers::events(served.shown, served.hooks)
}

/// What somebody pressed or typed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Saying {
    words: String,
    /// The turn that was shown then; none for "stop", which is meant whatever was asked.
    turn: Option<u64>,
}

async fn say(
    State(served): State<Served>,
    Json(saying): Json<Saying>,
) -> Result<StatusCode, (StatusCode, &'static str)> {
    let turn = served.shown.borrow().turn;
    if saying.turn.is_some_and(|seen| seen != turn) {
        return Err((
            StatusCode::CONFLICT,
            "refused: something else is asked now\n",
        ));
    }
    let words = saying.words.trim();
    if words.is_empty() || words.contains(char::is_control) {
        return Err((
            StatusCode::UNPROCESSABLE_ENTITY,
            "refused: found no words on one line\n",
        ));
    }
    match (served.hooks.say)(words.to_owned()) {
        true => Ok(StatusCode::ACCEPTED),
        false => Err((
            StatusCode::SERVICE_UNAVAILABLE,
            "refused: the session takes nothing just now; try again\n",
        )),
    }
}
