//! Who is answered: requests that name this server by its loopback address, come from its own page, and carry its token.
//!
//! Another page in the same browser can send requests here, and a name server can make its name point here; neither can
//! set the `Host` header to the loopback address and its `Origin` to ours, nor read or send the token's cookie, which is
//! `SameSite=Strict` and `HttpOnly`.

use super::page;
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use std::sync::Arc;

/// What a request must show.
#[derive(Debug)]
pub(super) struct Guard {
    port: u16,
    token: String,
}

/// Scripts, styles and requests of our own only, nothing framed, no forms sent anywhere.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; \
                      base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// Headers of every answer.
const HEADERS: [(HeaderName, &str); 7] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "no-store"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

impl Guard {
    pub(super) fn new(port: u16, token: String) -> Self {
        Self { port, token }
    }

    /// The address that opens the page.
    pub(super) fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?token={}", self.port, self.token)
    }

    fn hosts(&self) -> [String; 2] {
        [format!("127.0.0.1:{}", self.port), format!("localhost:{}", self.port)]
    }

    /// Whether the request names this server and comes from its own page or from the address bar.
    fn is_ours(&self, headers: &HeaderMap) -> bool {
        let text = |name: HeaderName| headers.get(name).map(|v| v.to_str().unwrap_or("?").to_owned());
        let Some(host) = text(header::HOST) else { return false };
        if !self.hosts().contains(&host) {
            return false;
        }
        let origin_ours = text(header::ORIGIN).is_none_or(|origin| origin == format!("http://{host}"));
        let site = text(HeaderName::from_static("sec-fetch-site"));
        origin_ours && site.is_none_or(|site| site == "same-origin" || site == "none")
    }

    /// Cookies of one host are shared by its ports, so the name has the port.
    fn cookie_name(&self) -> String {
        format!("onfold-{}", self.port)
    }

    fn has_cookie(&self, headers: &HeaderMap) -> bool {
        has_cookie(headers, &format!("{}={}", self.cookie_name(), self.token))
    }
}

/// Whether one of the cookies is this, name and value.
pub(super) fn has_cookie(headers: &HeaderMap, wanted: &str) -> bool {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|v| v.to_str().ok());
    cookies.flat_map(|line| line.split(';')).any(|cookie| same(cookie.trim(), wanted))
}

/// Compared in a time that does not tell how much of it was right.
pub(super) fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |all, (x, y)| all | (x ^ y)) == 0
}

/// Lets a request through, turns it away, or takes the token from the address and leaves it in a cookie.
pub(super) async fn check(State(guard): State<Arc<Guard>>, request: Request, next: Next) -> Response {
    with_headers(answer(&guard, request, next).await)
}

/// An answer with the headers of every answer.
pub(super) fn with_headers(mut response: Response) -> Response {
    for (name, value) in HEADERS {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    response
}

async fn answer(guard: &Guard, request: Request, next: Next) -> Response {
    let headers = request.headers();
    if !guard.is_ours(headers) {
        return (StatusCode::FORBIDDEN, "this address is for the page of onfold alone").into_response();
    }
    let told = request.uri().query().and_then(|q| q.strip_prefix("token="));
    if request.method() == Method::GET
        && request.uri().path() == "/"
        && told.is_some_and(|told| same(told, &guard.token))
    {
        let cookie = format!("{}={}; HttpOnly; SameSite=Strict; Path=/", guard.cookie_name(), guard.token);
        let headers = [(header::SET_COOKIE, cookie), (header::LOCATION, "/".to_owned())];
        return (StatusCode::SEE_OTHER, headers).into_response();
    }
    if !guard.has_cookie(headers) {
        return (StatusCode::FORBIDDEN, Html(page::CLOSED)).into_response();
    }
    next.run(request).await
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(list: &[(HeaderName, &str)]) -> HeaderMap {
        list.iter().map(|(n, v)| (n.clone(), HeaderValue::from_str(v).unwrap())).collect()
    }

    #[test]
    fn only_our_own_page_is_answered() {
        let guard = Guard::new(4100, "secret".to_owned());
        let site = HeaderName::from_static("sec-fetch-site");
        let (host, origin) = (header::HOST, header::ORIGIN);
        assert!(guard.is_ours(&headers(&[(host.clone(), "127.0.0.1:4100")])));
        assert!(guard.is_ours(&headers(&[(host.clone(), "localhost:4100"), (site.clone(), "none")])));
        for wrong in [
            vec![],
            vec![(host.clone(), "127.0.0.1")],
            vec![(host.clone(), "other.example:4100")],
            vec![(host.clone(), "127.0.0.1:4100"), (origin.clone(), "http://other.example")],
            vec![(host.clone(), "127.0.0.1:4100"), (origin.clone(), "null")],
            vec![(host.clone(), "127.0.0.1:4100"), (origin, "http://localhost:4100")],
            vec![(host, "127.0.0.1:4100"), (site, "cross-site")],
        ] {
            assert!(!guard.is_ours(&headers(&wrong)), "{wrong:?}");
        }
        assert!(guard.has_cookie(&headers(&[(header::COOKIE, "a=b; onfold-4100=secret")])));
        assert!(!guard.has_cookie(&headers(&[(header::COOKIE, "onfold-4100=secres")])));
    }
}
