//! A server of pages on a thread of its own, behind the guard.

use std::io;
use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use std::thread::{self, JoinHandle};
use std::time::Duration;

use axum::{Router, middleware, serve};
use tokio::sync::oneshot;
use tokio::time::timeout;

use super::address::{Address, Place};
use super::guard::guard;

/// How long what is still on its way to the viewers may take at the end.
const LAST: Duration = Duration::from_millis(500);

/// Pages that are served. Dropping it ends that in order.
pub(super) struct Server {
    address: Arc<Address>,
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

impl Server {
    /// Serves pages from now on.
    ///
    /// # Errors
    ///
    /// The address cannot be had.
    pub fn open(place: Place, pages: Router) -> Result<Server, ScreenError> {
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
        let (running, ended) = oneshot::channel();
        // The guard takes the token off the path, so it stands before the routes are looked up.
        let guarded = middleware::from_fn_with_state(Arc::clone(&address), guard);
        let pages = Router::new().fallback_service(pages).layer(guarded);
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(|e| machine(&e))?;
        let run = move || runtime.block_on(serve_until(listener, pages, ended));
        let thread = thread::Builder::new().name("screen".to_owned()).spawn(run);
        Ok(Server {
            address,
            running: Some(running),
            thread: Some(thread.map_err(|e| machine(&e))?),
        })
    }

    pub fn address(&self) -> &Address {
        &self.address
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        drop(self.running.take());
        if let Some(thread) = self.thread.take() {
            // A server that failed has nothing left to end.
            let _ = thread.join();
        }
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
    let _ = timeout(LAST, serving).await;
}
