//! The page on which a recorded session is read, heard and put right.
//!
//! The page is given the session as one JSON document and asks for clips and charts one by one. What
//! is put right comes back as JSON; after it the page takes the document anew.

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Json, Path, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde_json::Value;

use super::address::{Address, Place};
use super::serving::{ScreenError, Server};

/// What is put right in one request has this many bytes at most: the longest text that the page
/// takes, whatever letters it has.
const LONGEST: usize = 131_072;

const ASSETS: [(&str, &str, &str); 5] = [
    (
        "/",
        "text/html; charset=utf-8",
        include_str!("page/review.html"),
    ),
    (
        "/review.css",
        "text/css; charset=utf-8",
        include_str!("page/review.css"),
    ),
    (
        "/review.js",
        "text/javascript; charset=utf-8",
        include_str!("page/review.js"),
    ),
    (
        "/player.js",
        "text/javascript; charset=utf-8",
        include_str!("page/player.js"),
    ),
    ("/icon.svg", "image/svg+xml", include_str!("page/icon.svg")),
];

/// A file with its kind, such as `audio/wav`.
pub type File = (&'static str, Vec<u8>);
/// Gives a file by its name, if there is one.
pub type Files = dyn Fn(&str) -> Option<File> + Send + Sync;

/// What the page needs of the session.
#[derive(Clone)]
pub struct ReviewHooks {
    /// The session as a JSON document.
    pub document: Arc<dyn Fn() -> String + Send + Sync>,
    /// A clip or a chart by its name, with its kind.
    pub file: Arc<Files>,
    /// Puts something right and says what that changes, or why not.
    pub amend: Arc<dyn Fn(Value) -> Result<Vec<String>, String> + Send + Sync>,
}

/// A review that is served, on a thread of its own. Dropping it ends that in order.
pub struct Review {
    server: Server,
}

impl Review {
    /// Serves the page from now on, to browsers of this machine only.
    ///
    /// # Errors
    ///
    /// The port cannot be had.
    pub fn open(port: u16, hooks: ReviewHooks) -> Result<Review, ScreenError> {
        let server = Server::open(Place::Loopback { port }, router(hooks))?;
        Ok(Review { server })
    }

    pub fn address(&self) -> &Address {
        self.server.address()
    }
}

fn router(hooks: ReviewHooks) -> Router {
    let mut pages = Router::new();
    for (path, kind, content) in ASSETS {
        let asset = move || async move { ([(CONTENT_TYPE, kind)], content) };
        pages = pages.route(path, get(asset));
    }
    pages
        .route("/session", get(session))
        .route("/file/{*name}", get(file))
        .route("/amend", post(amend))
        .layer(DefaultBodyLimit::max(LONGEST))
        .with_state(hooks)
}

type Refused = (StatusCode, String);

async fn session(State(hooks): State<ReviewHooks>) -> Response {
    let document = (hooks.document)();
    ([(CONTENT_TYPE, "application/json")], document).into_response()
}

async fn file(
    State(hooks): State<ReviewHooks>,
    Path(name): Path<String>,
) -> Result<Response, Refused> {
    let found = (hooks.file)(&name);
    let (kind, bytes) = found.ok_or((StatusCode::NOT_FOUND, "there is no such file\n".into()))?;
    Ok(([(CONTENT_TYPE, kind)], bytes).into_response())
}

async fn amend(
    State(hooks): State<ReviewHooks>,
    Json(asked): Json<Value>,
) -> Result<Json<Vec<String>>, Refused> {
    let done = (hooks.amend)(asked);
    done.map(Json)
        .map_err(|why| (StatusCode::UNPROCESSABLE_ENTITY, why))
}
