//! What each browser is told: the newest view, and how loud it is.
//!
//! Server-sent events (HTML Living Standard, 9.2). A browser that comes late or again gets the whole
//! view at once. One that is slow gets fewer of them: what it has not taken is replaced by what is
//! newer, and nothing waits for it.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::response::IntoResponse;
use axum::response::sse::{Event, KeepAlive, Sse};
use serde::Serialize;
use tokio::sync::{mpsc, watch};
use tokio::time::{MissedTickBehavior, interval};
use tokio_stream::wrappers::ReceiverStream;

use super::server::Hooks;

/// How often the level is looked at.
const LEVEL_EVERY: Duration = Duration::from_millis(100);
/// How many looks at the same level pass until it is told again: once a second, so that a browser
/// notices a network that has gone.
const SAME_LEVEL: u32 = 10;
/// How soon a browser that lost the server tries again.
const RETRY_AFTER: Duration = Duration::from_secs(1);

/// A view as it is sent: its text is made once for all viewers.
#[derive(Debug, Clone, Default)]
pub(super) struct Shown {
    pub turn: u64,
    pub json: Arc<str>,
}

/// Beside the view, the moment on the session's clock: timers are counted from it.
#[derive(Serialize)]
struct Moment<'a> {
    now_ms: u64,
    view: &'a serde_json::value::RawValue,
}

/// Everything one browser is told, until it goes or the session is over.
pub(super) fn events(shown: watch::Receiver<Shown>, hooks: Hooks) -> impl IntoResponse {
    // One that waits to be taken; while it does, newer ones replace one another in `shown`.
    let (tell, told) = mpsc::channel(1);
    tokio::spawn(follow(shown, hooks, tell));
    Sse::new(ReceiverStream::new(told)).keep_alive(KeepAlive::default())
}

/// Ends when the browser has gone, or when nothing will be shown any more, which it is told.
async fn follow(
    mut shown: watch::Receiver<Shown>,
    hooks: Hooks,
    tell: mpsc::Sender<Result<Event, Infallible>>,
) {
    shown.mark_changed();
    let mut look = interval(LEVEL_EVERY);
    look.set_missed_tick_behavior(MissedTickBehavior::Delay);
    let (mut level, mut same) = (None, 0);
    loop {
        let event = tokio::select! {
            biased;
            () = tell.closed() => return,
            changed = shown.changed() => match changed {
                Ok(()) => state(&shown.borrow_and_update(), (hooks.now)()),
                Err(_) => {
                    // A browser that has gone needs no farewell.
                    let _ = tell.send(Ok(Event::default().event("end").data("\"over\""))).await;
                    return;
                }
            },
            _ = look.tick() => {
                let now = (hooks.level)();
                same += 1;
                if level == Some(now) && same < SAME_LEVEL {
                    continue;
                }
                (level, same) = (Some(now), 0);
                Event::default().event("level").json_data(now)
            }
        };
        // Numbers and texts can always be written as JSON.
        let Ok(event) = event else { return };
        if tell.send(Ok(event)).await.is_err() {
            return;
        }
    }
}

fn state(shown: &Shown, now_ms: u64) -> Result<Event, axum::Error> {
    let view = serde_json::from_str(&shown.json).map_err(axum::Error::new)?;
    let moment = Moment { now_ms, view };
    let event = Event::default().event("view").retry(RETRY_AFTER);
    event.json_data(moment)
}
