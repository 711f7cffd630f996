//! Where the page is: an address, and for other machines a token.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};

use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use subtle::ConstantTimeEq;

/// Random bytes of a token: 128 bits.
const TOKEN_BYTES: usize = 16;

/// Where a page is to be served.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// To browsers of this machine only.
    Loopback { port: u16 },
    /// To whoever reaches this address of the machine and has the token.
    Listen(SocketAddr),
}

impl Place {
    pub(super) fn socket(self) -> SocketAddr {
        match self {
            Place::Loopback { port } => (IpAddr::V4(Ipv4Addr::LOCALHOST), port).into(),
            Place::Listen(address) => address,
        }
    }

    fn has_token(self) -> bool {
        matches!(self, Place::Listen(_))
    }
}

/// The address of a page that is served.
#[derive(Debug, Clone)]
pub struct Address {
    socket: SocketAddr,
    token: Option<Token>,
}

/// A secret that stands first in the path of every request.
#[derive(Clone)]
struct Token(String);

/// Never into a log.
impl std::fmt::Debug for Token {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Token")
    }
}

impl Address {
    /// The place with the port it got, and a new token where others may see it.
    pub(super) fn new(place: Place, socket: SocketAddr) -> Result<Address, getrandom::Error> {
        let token = place.has_token().then(Token::new).transpose()?;
        Ok(Address { socket, token })
    }

    /// What to open in a browser.
    pub fn url(&self) -> String {
        match &self.token {
            Some(Token(token)) => format!("http://{}/{token}/", self.socket),
            None => format!("http://{}/", self.socket),
        }
    }

    /// Whether the page is there for other machines, too.
    pub fn is_open(&self) -> bool {
        self.token.is_some()
    }

    /// What may stand in a `Host` header: the address itself, and on the loopback interface its
    /// name. A name of elsewhere that was made to lead here is not among them.
    pub(super) fn is_host(&self, host: &str) -> bool {
        let own = self.socket.to_string();
        let name = format!("localhost:{}", self.socket.port());
        host == own || (self.socket.ip().is_loopback() && host == name)
    }

    /// The path behind the token; `None` without it. Takes the same time for every wrong token of
    /// the right length.
    pub(super) fn path<'a>(&self, path: &'a str) -> Option<&'a str> {
        let Some(Token(token)) = &self.token else {
            return Some(path);
        };
        let (given, rest) = path.strip_prefix('/')?.split_at_checked(token.len())?;
        let same = bool::from(given.as_bytes().ct_eq(token.as_bytes()));
        (same && rest.starts_with('/')).then_some(rest)
    }
}

impl Token {
    fn new() -> Result<Token, getrandom::Error> {
        let mut bytes = [0; TOKEN_BYTES];
        getrandom::fill(&mut bytes)?;
        Ok(Token(bytes.map(|byte| format!("{byte:02x}")).concat()))
    }
}

/// A text as a QR code (ISO/IEC 18004) in block characters, for a camera to read off a terminal.
///
/// `None` for a text that is too long for one.
pub fn picture(text: &str) -> Option<String> {
    let code = QrCode::new(text).ok()?;
    let mut picture = code.render::<Dense1x2>();
    // Light modules are drawn: most terminals are dark, and cameras take the other way round, too.
    let picture = picture
        .dark_color(Dense1x2::Light)
        .light_color(Dense1x2::Dark);
    Some(picture.build())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(place: Place) -> Address {
        Address::new(place, place.socket()).expect("random bytes")
    }

    #[test]
    fn only_the_address_itself_is_a_host() {
        let here = address(Place::Loopback { port: 7323 });
        for (host, is) in [
            ("127.0.0.1:7323", true),
            ("localhost:7323", true),
            ("localhost", false),
            ("127.0.0.1:7324", false),
            ("example.test:7323", false),
            ("", false),
        ] {
            assert_eq!(here.is_host(host), is, "`{host}`");
        }
        let there = address(Place::Listen(([192, 0, 2, 7], 80).into()));
        assert!(there.is_host("192.0.2.7:80") && !there.is_host("localhost:80"));
    }

    #[test]
    fn a_page_for_others_is_behind_its_token() {
        let here = address(Place::Loopback { port: 1 });
        assert_eq!(here.path("/events"), Some("/events"));
        let there = address(Place::Listen(([192, 0, 2, 7], 80).into()));
        let url = there.url();
        let token = url
            .trim_end_matches('/')
            .rsplit('/')
            .next()
            .expect("a token");
        assert_eq!(token.len(), 2 * TOKEN_BYTES);
        assert_eq!(there.path(&format!("/{token}/events")), Some("/events"));
        assert_eq!(there.path(&format!("/{token}")), None);
        assert_eq!(there.path("/events"), None);
        assert_eq!(there.path(&format!("/{}/", "0".repeat(32))), None);
        assert!(
            !format!("{there:?}").contains(token),
            "the token is not told"
        );
    }

    #[test]
    fn a_camera_reads_the_address_off_a_dark_terminal() {
        let url = address(Place::Listen(([192, 0, 2, 7], 7323).into())).url();
        let picture = picture(&url).expect("a picture");
        // Each character is two points, one above the other, light where it is drawn.
        let lines: Vec<Vec<char>> = picture.lines().map(|line| line.chars().collect()).collect();
        let is_light = |x: usize, y: usize| {
            let drawn = lines.get(y / 2).and_then(|line| line.get(x));
            matches!(
                (drawn, y % 2),
                (Some('█'), _) | (Some('▀'), 0) | (Some('▄'), 1)
            )
        };
        let (width, height) = (lines[0].len(), 2 * lines.len());
        let point = |x, y| if is_light(x / 4, y / 4) { 255 } else { 0 };
        let (wide, high) = (4 * width, 4 * height);
        let mut seen = rqrr::PreparedImage::prepare_from_greyscale(wide, high, point);
        let (_, read) = seen.detect_grids()[0].decode().expect("a code");
        assert_eq!(read, url);
    }
}
