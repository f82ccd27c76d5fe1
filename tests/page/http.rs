//! Requests written out to the byte, and a page to send them to.

use onfold::workbench::{Options, Serving, serve};
use serde_json::Value;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;

/// A page that is being served, and its cookie.
pub(crate) struct Page {
    /// Kept so that it is served.
    _serving: Serving,
    pub(crate) host: String,
    pub(crate) cookie: String,
}

pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: Vec<u8>,
}

impl Answer {
    pub(crate) fn json(&self) -> Value {
        assert_eq!(self.status, 200, "{}", String::from_utf8_lossy(&self.body));
        serde_json::from_slice(&self.body).expect("JSON")
    }
}

/// One request over a connection of its own, with exactly these headers.
pub(crate) fn send(host: &str, method: &str, path: &str, headers: &str, body: &[u8]) -> Answer {
    let mut stream = TcpStream::connect(host).expect("the server listens");
    let length = body.len();
    let head =
        format!("{method} {path} HTTP/1.1\r\n{headers}Connection: close\r\nContent-Length: {length}\r\n\r\n");
    stream.write_all(head.as_bytes()).expect("sent");
    // A server that refuses may close before it has read everything.
    let _ = stream.write_all(body);
    let mut all = Vec::new();
    let mut piece = vec![0; 1 << 16];
    // To the end of the connection, or as long as the answer says it is: not every server closes.
    while !is_whole(&all) {
        match stream.read(&mut piece) {
            Ok(0) | Err(_) => break,
            Ok(count) => all.extend_from_slice(&piece[..count]),
        }
    }
    let end = all.windows(4).position(|w| w == b"\r\n\r\n").expect("an answer with headers");
    let head = String::from_utf8_lossy(&all[..end]).into_owned();
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).expect("a status");
    let mut body = all[end + 4..].to_vec();
    if head.to_lowercase().contains("transfer-encoding: chunked") {
        body = unchunked(&body);
    }
    Answer { status, head, body }
}

fn is_whole(all: &[u8]) -> bool {
    let Some(end) = all.windows(4).take(1 << 14).position(|w| w == b"\r\n\r\n") else { return false };
    let head = String::from_utf8_lossy(&all[..end]).to_lowercase();
    let said = head.lines().find_map(|l| l.strip_prefix("content-length:")?.trim().parse::<usize>().ok());
    said.is_some_and(|length| all.len() >= end + 4 + length)
}

fn unchunked(mut rest: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    while let Some(end) = rest.windows(2).position(|w| w == b"\r\n") {
        let size = usize::from_str_radix(&String::from_utf8_lossy(&rest[..end]), 16).expect("a size");
        out.extend_from_slice(&rest[end + 2..end + 2 + size]);
        rest = &rest[(end + 4 + size).min(rest.len())..];
    }
    out
}

/// Goes in by a printed address: the host, and the cookie that it leaves.
pub(crate) fn enter(address: &str) -> (String, String) {
    let (host, path) = address.trim_start_matches("http://").split_once('/').expect("a path");
    let opened = send(host, "GET", &format!("/{path}"), &format!("Host: {host}\r\n"), b"");
    let cookie = opened.head.lines().find_map(|l| l.strip_prefix("set-cookie: "));
    let cookie = cookie.unwrap_or_else(|| panic!("a cookie: {}", opened.head));
    (host.to_owned(), cookie.split(';').next().expect("its value").to_owned())
}

impl Page {
    pub(crate) fn open(root: &Path) -> Self {
        let serving = serve(&Options { root: root.to_owned(), port: 0 }).expect("served");
        let (host, cookie) = enter(&serving.address());
        Self { host, cookie, _serving: serving }
    }

    pub(crate) fn ask(&self, method: &str, path: &str, body: &[u8]) -> Answer {
        let headers = format!(
            "Host: {}\r\nOrigin: http://{}\r\nCookie: {}\r\nContent-Type: application/json\r\n",
            self.host, self.host, self.cookie
        );
        send(&self.host, method, path, &headers, body)
    }

    pub(crate) fn post(&self, path: &str, body: &Value) -> Answer {
        self.ask("POST", path, body.to_string().as_bytes())
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, b"")
    }
}

pub(crate) fn shipped(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(name)
}

/// A shelf with the worked example on it.
pub(crate) fn shelf() -> tempfile::TempDir {
    let shelf = tempfile::tempdir().expect("a folder");
    let folder = shelf.path().join("canvas");
    std::fs::create_dir(&folder).expect("a folder");
    for name in ["pattern.toml", "traced.json"] {
        std::fs::copy(shipped("canvas_pattern").join(name), folder.join(name)).expect("a copy");
    }
    shelf
}
