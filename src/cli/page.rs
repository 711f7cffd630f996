//! The page of `run`: where it is served, and what it needs of the session.

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use tokio::sync::mpsc::Sender;

use super::Failure;
use crate::clock::{Clock, SystemClock};
use crate::live::{Ears, Input};
use crate::screen::{Glance, Hooks, Level, Place, Screen, picture};

/// Where the page is unless something else is said.
const PORT: u16 = 7323;

/// A page that shows the session.
#[derive(Debug, clap::Args)]
pub struct Page {
    /// Show the session on a page for a browser of this machine, at this port [default: 7323]
    #[arg(long, value_name = "PORT", num_args = 0..=1, require_equals = true, value_parser = port)]
    screen: Option<Option<u16>>,
    /// Show the page to other devices, at this address of this machine, with or without a port.
    /// They need the token that is written then
    #[arg(long, value_name = "ADDRESS", value_parser = address)]
    listen: Option<SocketAddr>,
}

/// # Errors
///
/// It is no port.
pub fn port(text: &str) -> Result<u16, String> {
    let port = text.parse();
    port.map_err(|_| "expected a number from 0 to 65535; 0 takes a port that is free".to_owned())
}

fn address(text: &str) -> Result<SocketAddr, String> {
    let with_port = || text.parse::<IpAddr>().map(|ip| SocketAddr::new(ip, PORT));
    let address = text.parse().or_else(|_| with_port());
    address.map_err(|_| "expected an address such as `192.168.1.20` or `192.168.1.20:7323`".into())
}

impl Page {
    /// Serves the page, if one is wanted, and tells where it is.
    ///
    /// # Errors
    ///
    /// The address cannot be had.
    pub fn open(
        &self,
        glance: &Glance,
        clock: Arc<SystemClock>,
        ears: &Ears,
        inputs: Sender<Input>,
    ) -> Result<Option<Screen>, Failure> {
        let Some(place) = self.place() else {
            return Ok(None);
        };
        let level = ears.level();
        let hooks = Hooks {
            now: Arc::new(move || clock.now().ms),
            level: Arc::new(move || {
                let level = *level.borrow();
                Level {
                    loudest_db: level.loudest_db,
                    noise_db: level.noise_db,
                    speech: level.speech,
                }
            }),
            say: Arc::new(move |words| inputs.try_send(Input::Typed(words)).is_ok()),
        };
        let screen = Screen::open(place, hooks, &glance.view()).map_err(Failure::input)?;
        tell(&screen);
        Ok(Some(screen))
    }

    fn place(&self) -> Option<Place> {
        match (self.listen, self.screen) {
            (Some(address), Some(Some(port))) => {
                Some(Place::Listen(SocketAddr::new(address.ip(), port)))
            }
            (Some(address), _) => Some(Place::Listen(address)),
            (None, Some(port)) => Some(Place::Loopback {
                port: port.unwrap_or(PORT),
            }),
            (None, None) => None,
        }
    }
}

fn tell(screen: &Screen) {
    let url = screen.address().url();
    eprintln!("screen: {url}");
    if screen.address().is_open() {
        let picture = picture(&url).unwrap_or_default();
        eprintln!("{picture}\nwhoever has this address may see and say what you may");
    }
}
