//! The page and its two ways: what is shown goes out, what is said comes in.

use std::io;
use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use std::thread::{self, JoinHandle};
use std::time::Duration;

use axum::extract::{DefaultBodyLimit, Json, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::middleware;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use axum::{Router, serve};
use serde::{Deserialize, Serialize};
use tokio::sync::{oneshot, watch};
use tokio::time::timeout;

use super::address::{Address, Place};
use super::guard::guard;
use super::view::View;
use super::viewers::{self, Shown};

/// What is said in one request has this many bytes at most.
const LONGEST: usize = 4_096;
/// How long the last view may take to reach the viewers at the end.
const LAST_VIEW: Duration = Duration::from_millis(500);

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
    address: Arc<Address>,
    shown: Option<watch::Sender<Shown>>,
    /// Dropped to end the server.
    running: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

/// A page that cannot be served.
#[derive(Debug, thiserror::Error)]
pub enum ScreenError {
    #[error("cannot serve the page at `{at}`: {why}; {remedy}")]
    Bind {
        at: SocketAddr,
        why: String,
        remedy: &'static str,
    },
    #[error(
        "found `{found}` as the address for the page, expected the one address of this machine \
         that the other device reaches; name that"
    )]
    Unspecified { found: SocketAddr },
    #[error("cannot serve the page: {why}; close other programs and try again")]
    Machine { why: String },
}

impl Screen {
    /// Serves the page from now on. It shows `first` until it is shown something else.
    ///
    /// # Errors
    ///
    /// The address cannot be had.
    pub fn open(place: Place, hooks: Hooks, first: &View) -> Result<Screen, ScreenError> {
        let at = place.socket();
        if at.ip().is_unspecified() {
            return Err(ScreenError::Unspecified { found: at });
        }
        let listener = TcpListener::bind(at).map_err(|error| cannot_bind(at, &error))?;
        let machine = |why: &dyn std::fmt::Display| ScreenError::Machine {
            why: why.to_string(),
        };
        listener.set_nonblocking(true).map_err(|e| machine(&e))?;
        let socket = listener.local_addr().map_err(|e| machine(&e))?;
        let address = Arc::new(Address::new(place, socket).map_err(|e| machine(&e))?);
        let (show, shown) = watch::channel(as_shown(first));
        let (running, ended) = oneshot::channel();
        let pages = router(Arc::clone(&address), Served { shown, hooks });
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(|e| machine(&e))?;
        let run = move || runtime.block_on(serve_until(listener, pages, ended));
        let thread = thread::Builder::new().name("screen".to_owned()).spawn(run);
        Ok(Screen {
            address,
            shown: Some(show),
            running: Some(running),
            thread: Some(thread.map_err(|e| machine(&e))?),
        })
    }

    pub fn address(&self) -> &Address {
        &self.address
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
        // Viewers still take the newest view when the sender has gone.
        drop(self.shown.take());
        drop(self.running.take());
        if let Some(thread) = self.thread.take() {
            // A server that failed has nothing left to end.
            let _ = thread.join();
        }
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

fn cannot_bind(at: SocketAddr, error: &io::Error) -> ScreenError {
    let (why, remedy) = match error.kind() {
        io::ErrorKind::AddrInUse => (
            "another program has it".to_owned(),
            "choose another port, or 0 for any that is free",
        ),
        io::ErrorKind::AddrNotAvailable => (
            "this machine has no such address".to_owned(),
            "name one that it has",
        ),
        io::ErrorKind::PermissionDenied => {
            ("permission denied".to_owned(), "choose a port from 1024 on")
        }
        _ => (error.to_string().to_lowercase(), "choose another address"),
    };
    ScreenError::Bind { at, why, remedy }
}

async fn serve_until(listener: TcpListener, pages: Router, ended: oneshot::Receiver<()>) {
    let Ok(listener) = tokio::net::TcpListener::from_std(listener) else {
        return;
    };
    let (over, closing) = oneshot::channel::<()>();
    let serving = serve(listener, pages).with_graceful_shutdown(async {
        // Both when it is told and when nobody is left to tell.
        let _ = closing.await;
    });
    let mut serving = std::pin::pin!(serving.into_future());
    tokio::select! {
        _ = &mut serving => return,
        _ = ended => drop(over),
    }
    // A viewer that does not take its last view is not waited for.
    let _ = timeout(LAST_VIEW, serving).await;
}

#[derive(Clone)]
struct Served {
    shown: watch::Receiver<Shown>,
    hooks: Hooks,
}

fn router(address: Arc<Address>, served: Served) -> Router {
    let mut pages = Router::new();
    for (path, kind, content) in ASSETS {
        let asset = move || async move { ([(CONTENT_TYPE, kind)], content) };
        pages = pages.route(path, get(asset));
    }
    let pages = pages
        .route("/events", get(events))
        .route("/say", post(say))
        .layer(DefaultBodyLimit::max(LONGEST))
        .with_state(served);
    // The guard takes the token off the path, so it stands before the routes are looked up.
    let guarded = middleware::from_fn_with_state(address, guard);
    Router::new().fallback_service(pages).layer(guarded)
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
