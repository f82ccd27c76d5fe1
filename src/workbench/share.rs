//! Photographs from a phone: a second listener, on the local network, that hands out the capture page alone.
//!
//! Its address carries a token of its own, which lets in the first device that brings it and no other; that device is known by
//! its network address and a cookie afterwards. It ends after [`LASTS`], or when the person says so. Traffic on the local network is
//! not encrypted: whoever can read it sees the photographs, which is why nothing else of the program is there.

use super::guard;
use super::page;
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderValue};
use axum::http::{Method, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use qrcodegen::{QrCode, QrCodeEcc};
use std::fmt::Write as _;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// A phone may send photographs for this long.
const LASTS: Duration = Duration::from_secs(600);
/// White round a code, in its squares: ISO/IEC 18004 asks for four.
const QUIET: i32 = 4;

/// What tells the time; another than the system's in tests, which do not wait.
#[derive(Clone)]
pub struct Clock(Arc<dyn Fn() -> Instant + Send + Sync>);

impl std::fmt::Debug for Clock {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Clock")
    }
}

impl Clock {
    /// A clock that asks `now`.
    pub fn new(now: impl Fn() -> Instant + Send + Sync + 'static) -> Self {
        Self(Arc::new(now))
    }

    /// The system's.
    #[must_use]
    pub fn system() -> Self {
        Self::new(Instant::now)
    }
}

/// A device's network address, known of every request.
#[derive(Debug, Clone, Copy)]
pub(super) struct Peer(pub(super) IpAddr);

/// The page for a phone, as long as it is open.
#[derive(Debug)]
pub struct Share {
    at: SocketAddr,
    token: String,
    cookie: String,
    device: Mutex<Option<IpAddr>>,
    ends: Instant,
    clock: Clock,
    closed: AtomicBool,
}

/// What a request may do.
#[derive(Debug, PartialEq, Eq)]
enum Entry {
    /// The device that is known.
    Known,
    /// The first that brings the token: it is known from now on.
    First,
    /// Nothing.
    None,
}

impl Share {
    pub(super) fn new(at: SocketAddr, token: String, secret: &str, clock: Clock) -> Self {
        let ends = (clock.0)() + LASTS;
        let cookie = format!("onfold-{}={secret}", at.port());
        Self { at, token, cookie, device: Mutex::new(None), ends, clock, closed: AtomicBool::new(false) }
    }

    /// The address for the phone, with its token.
    #[must_use]
    pub fn address(&self) -> String {
        format!("http://{}/?token={}", self.at, self.token)
    }

    /// How long it is open yet; nothing once it is closed.
    #[must_use]
    pub fn left(&self) -> Duration {
        if self.closed.load(Ordering::Relaxed) {
            return Duration::ZERO;
        }
        self.ends.saturating_duration_since((self.clock.0)())
    }

    /// Ends it at once.
    pub fn close(&self) {
        self.closed.store(true, Ordering::Relaxed);
    }

    /// The address as squares, `true` where dark, with the white round it; none where the address is too long for a code.
    #[must_use]
    pub fn squares(&self) -> Vec<Vec<bool>> {
        let Ok(code) = QrCode::encode_text(&self.address(), QrCodeEcc::Medium) else { return Vec::new() };
        let places = -QUIET..code.size() + QUIET;
        places.clone().map(|y| places.clone().map(|x| code.get_module(x, y)).collect()).collect()
    }

    /// The dark squares as an SVG path and the width of all in squares.
    pub(super) fn path(&self) -> (String, usize) {
        let squares = self.squares();
        let mut path = String::new();
        for (y, row) in squares.iter().enumerate() {
            for x in (0..row.len()).filter(|&x| row[x]) {
                let _ = write!(path, "M{x} {y}h1v1h-1z");
            }
        }
        (path, squares.len())
    }

    fn entry(&self, peer: Option<IpAddr>, method: &Method, uri: &Uri, headers: &HeaderMap) -> Entry {
        let host = self.at.to_string();
        let said = |name| headers.get(name).map(|v: &HeaderValue| v.to_str().unwrap_or("?"));
        let ours = said(header::HOST) == Some(&host)
            && said(header::ORIGIN).is_none_or(|origin| origin.strip_prefix("http://") == Some(&host));
        let Some(peer) = peer.filter(|_| ours && !self.left().is_zero()) else { return Entry::None };
        let mut device = self.device.lock().unwrap_or_else(PoisonError::into_inner);
        match *device {
            Some(known) if known == peer && guard::has_cookie(headers, &self.cookie) => Entry::Known,
            None => {
                let told = uri.query().and_then(|q| q.strip_prefix("token="));
                let right = told.is_some_and(|told| guard::same(told, &self.token));
                if !(right && *method == Method::GET && uri.path() == "/") {
                    return Entry::None;
                }
                *device = Some(peer);
                Entry::First
            }
            Some(_) => Entry::None,
        }
    }
}

/// Lets the one device through, and no other.
pub(super) async fn check(State(share): State<Arc<Share>>, request: Request, next: Next) -> Response {
    let peer = request.extensions().get::<Peer>().map(|p| p.0);
    let entry = share.entry(peer, request.method(), request.uri(), request.headers());
    let mut response = match entry {
        Entry::None => (StatusCode::FORBIDDEN, Html(page::PHONE_CLOSED)).into_response(),
        Entry::Known | Entry::First => next.run(request).await,
    };
    let cookie = format!("{}; HttpOnly; SameSite=Strict; Path=/; Max-Age={}", share.cookie, LASTS.as_secs());
    if let (Entry::First, Ok(cookie)) = (entry, HeaderValue::from_str(&cookie)) {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    guard::with_headers(response)
}

/// This computer's address on the local network, by the way that packets to elsewhere would take; none are sent.
#[must_use]
pub fn local_address() -> Option<IpAddr> {
    /// An address for documents (RFC 5737), reached by whatever leads out of this computer.
    const ELSEWHERE: (Ipv4Addr, u16) = (Ipv4Addr::new(192, 0, 2, 1), 9);
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect(ELSEWHERE).ok()?;
    let address = socket.local_addr().ok()?.ip();
    (!address.is_loopback() && !address.is_unspecified()).then_some(address)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_device_alone_comes_in() {
        let at = SocketAddr::from(([10, 0, 0, 5], 4100));
        let share = Share::new(at, "told".to_owned(), "secret", Clock::system());
        let phone = Some(IpAddr::from([10, 0, 0, 7]));
        let other = Some(IpAddr::from([10, 0, 0, 8]));
        let with: fn(&[(header::HeaderName, &'static str)]) -> HeaderMap =
            |list| list.iter().map(|(n, v)| (n.clone(), HeaderValue::from_static(v))).collect();
        let plain = with(&[(header::HOST, "10.0.0.5:4100")]);
        let known = with(&[(header::HOST, "10.0.0.5:4100"), (header::COOKIE, "onfold-4100=secret")]);
        let foreign = with(&[(header::HOST, "10.0.0.5:4100"), (header::ORIGIN, "http://other.example")]);
        let (good, wrong) = (Uri::from_static("/?token=told"), Uri::from_static("/?token=tolt"));
        let get = |peer, uri: &Uri, headers: &HeaderMap| share.entry(peer, &Method::GET, uri, headers);
        assert_eq!(get(phone, &wrong, &plain), Entry::None);
        assert_eq!(get(phone, &good, &foreign), Entry::None);
        assert_eq!(get(phone, &good, &HeaderMap::new()), Entry::None);
        assert_eq!(get(None, &good, &plain), Entry::None);
        assert_eq!(
            get(phone, &good, &known),
            Entry::First,
            "a cookie alone does not let in, nor does it hinder"
        );
        assert_eq!(get(phone, &good, &plain), Entry::None, "the token works once");
        assert_eq!(get(phone, &wrong, &known), Entry::Known);
        assert_eq!(get(other, &good, &known), Entry::None, "another device");
        share.close();
        assert_eq!(get(phone, &good, &known), Entry::None, "closed");
    }

    /// ISO/IEC 18004: finder patterns of 7 by 7 squares stand in three corners, white round all of it.
    #[test]
    fn the_code_has_its_finders_and_its_white() {
        let share = Share::new(([10, 0, 0, 5], 4100).into(), "a".repeat(32), "", Clock::system());
        let squares = share.squares();
        let size = squares.len();
        assert!(size >= 21 + 8 && squares.iter().all(|row| row.len() == size));
        for (x, y) in [(4, 4), (size - 11, 4), (4, size - 11)] {
            assert!((0..7).all(|k| squares[y][x + k] && squares[y + k][x] && squares[y + 6][x + k]));
            assert!((1..6).all(|k| !squares[y + 1][x + k]) && squares[y + 3][x + 3]);
        }
        assert!(squares[..4].iter().flatten().all(|dark| !dark));
    }
}
