//! The page for a phone: a listener of its own, which has the capture and nothing else, for one device and ten minutes.

use crate::http::{Answer, enter, send, shelf, shipped};
use onfold::workbench::{Clock, Options, Serving, Share, serve};
use serde_json::{Value, json};
use std::net::{IpAddr, Ipv4Addr, TcpStream};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// A page at the bench, and one for a phone whose time is set by hand.
fn shared(root: &Path) -> (Serving, Arc<Share>, Arc<AtomicU64>) {
    let serving = serve(&Options { root: root.to_owned(), port: 0 }).expect("served");
    let (began, seconds) = (Instant::now(), Arc::new(AtomicU64::new(0)));
    let told = Arc::clone(&seconds);
    let clock = Clock::new(move || began + Duration::from_secs(told.load(Ordering::Relaxed)));
    let share = serving.share(IpAddr::V4(Ipv4Addr::LOCALHOST), clock).expect("shared");
    (serving, share, seconds)
}

fn ask(host: &str, cookie: &str, method: &str, path: &str, body: &[u8]) -> Answer {
    let headers = format!(
        "Host: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\nContent-Type: application/json\r\n"
    );
    send(host, method, path, &headers, body)
}

#[test]
fn nothing_but_the_capture_is_on_the_network() {
    let root = shelf();
    let (serving, share, _) = shared(root.path());
    let (bench_host, bench_cookie) = enter(&serving.address());
    let (host, cookie) = enter(&share.address());
    for path in [
        "/",
        "/phone.js",
        "/ask.js",
        "/make.js",
        "/style.css",
        "/mark.svg",
        "/api/photos",
        "/api/capture?after=9",
    ] {
        assert_eq!(ask(&host, &cookie, "GET", path, b"").status, 200, "{path}");
        assert_eq!(ask(&host, &format!("{cookie}0"), "GET", path, b"").status, 403, "{path}");
        assert_eq!(ask(&host, &bench_cookie, "GET", path, b"").status, 403, "{path}");
    }
    let mut tried = 0;
    for path in [
        "/main.js",
        "/shelf.js",
        "/share.js",
        "/photograph.js",
        "/pattern.js",
        "/steps.js",
        "/sheet.js",
        "/print.js",
        "/api/shelf",
        "/api/guide",
        "/api/tape?between=0,0,1,1",
        "/api/share",
        "/api/share/close",
        "/api/pattern/0",
        "/api/pattern/0/preview",
        "/api/pattern/0/change",
        "/api/pattern/0/undo",
        "/api/pattern/0/redo",
        "/api/pattern/0/news?after=0",
        "/api/pattern/0/traced",
        "/api/pattern/0/photo.jpg",
        "/api/pattern/0/picture.svg",
        "/api/pattern/0/print?paper=a4",
        "/api/pattern/0/page/0?paper=a4",
        "/api/pattern/0/file/pattern.pdf?paper=a4",
        "/../Cargo.toml",
    ] {
        for method in ["GET", "POST", "PUT", "DELETE"] {
            let status = ask(&host, &cookie, method, path, b"{}").status;
            assert!([403, 404].contains(&status), "{method} {path}: {status}");
            tried += 1;
        }
    }
    assert_eq!(tried, 104);
    assert_eq!(
        ask(&bench_host, &cookie, "GET", "/api/shelf", b"").status,
        403,
        "the phone's cookie at the bench"
    );
    for headers in [
        format!("Host: other.example\r\nCookie: {cookie}\r\n"),
        format!("Host: {host}\r\nOrigin: http://other.example\r\nCookie: {cookie}\r\n"),
    ] {
        assert_eq!(send(&host, "GET", "/", &headers, b"").status, 403, "{headers}");
    }
    // What the phone holds is not what the bench holds.
    ask(&host, &cookie, "POST", "/api/photos?name=phone.jpg", b"x").json();
    assert_eq!(ask(&bench_host, &bench_cookie, "GET", "/api/photos", b"").json()["photos"], json!([]));
}

#[test]
fn the_token_works_once_and_the_page_ends_after_its_time() {
    let root = shelf();
    let (serving, share, seconds) = shared(root.path());
    let (host, cookie) = enter(&share.address());
    let token = share.address().split_once("?").expect("a token").1.to_owned();
    let again = send(&host, "GET", &format!("/?{token}"), &format!("Host: {host}\r\n"), b"");
    assert_eq!(again.status, 403, "a second device");
    let (bench_host, bench_cookie) = enter(&serving.address());
    let open = ask(&bench_host, &bench_cookie, "GET", "/api/share", b"").json();
    assert_eq!(
        (open["seconds"].as_u64(), open["address"].as_str()),
        (Some(600), Some(share.address().as_str()))
    );
    seconds.store(599, Ordering::Relaxed);
    assert_eq!(ask(&host, &cookie, "GET", "/", b"").status, 200);
    seconds.store(600, Ordering::Relaxed);
    assert!(share.left().is_zero());
    is_gone(&host);
    assert_eq!(ask(&bench_host, &bench_cookie, "GET", "/api/share", b"").json(), json!({ "seconds": 0 }));
}

#[test]
fn the_bench_closes_it() {
    let root = shelf();
    let (serving, share, _) = shared(root.path());
    let (host, _) = enter(&share.address());
    let (bench_host, bench_cookie) = enter(&serving.address());
    ask(&bench_host, &bench_cookie, "POST", "/api/share/close", b"{}").json();
    is_gone(&host);
}

/// The listener itself is gone soon.
fn is_gone(host: &str) {
    let began = Instant::now();
    while TcpStream::connect(host).is_ok() {
        assert!(began.elapsed() < Duration::from_secs(5), "{host} still listens");
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn a_phones_photograph_becomes_a_pattern_on_the_shelf() {
    let root = tempfile::tempdir().expect("a folder");
    let (serving, share, _) = shared(root.path());
    let (host, cookie) = enter(&share.address());
    let photograph = std::fs::read(shipped("canvas_apron.jpg")).expect("the demo's photograph");
    ask(&host, &cookie, "POST", "/api/photos?name=apron.jpg", &photograph).json();
    let told = json!({ "name": "from the phone", "thickness": "1.1mm", "edge": "folded", "trim_narrower": "",
        "block_width": "180mm", "block_height": "240mm" });
    let begun = ask(&host, &cookie, "POST", "/api/capture", told.to_string().as_bytes()).json();
    let mut after = begun["count"].as_u64().expect("a count");
    let done: Value = loop {
        let news = ask(&host, &cookie, "GET", &format!("/api/capture?after={after}"), b"").json();
        after = news["count"].as_u64().expect("a count");
        if news["state"] != "working" {
            break news;
        }
    };
    assert_eq!(done["state"], "done", "{done}");
    let (bench_host, bench_cookie) = enter(&serving.address());
    let listed = ask(&bench_host, &bench_cookie, "GET", "/api/shelf", b"").json();
    assert_eq!(listed["patterns"][0]["title"], "from the phone");
}
