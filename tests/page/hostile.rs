//! Ten thousand requests that mean harm, sent to the program as a person starts it: nothing in it breaks, nothing is written
//! outside the shelf's folder, and it holds no more memory than before.

use crate::http::{enter, shelf};
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const REQUESTS: usize = 10_000;
const AT_ONCE: usize = 200;
const SEED: u64 = 0x0f01d;
/// Memory is back where it was within this: what is freed goes back to the system at once, but for a little that each thread keeps.
const BACK_WITHIN_KB: u64 = 1 << 10;
/// What a maker's page asks for.
const HONEST: [&str; 12] = [
    "/",
    "/api/shelf",
    "/api/guide",
    "/api/pattern/0",
    "/api/pattern/0/picture.svg",
    "/api/pattern/0/traced",
    "/api/pattern/0/news",
    "/api/pattern/0/file/pattern.svg",
    "/api/pattern/0/file/pattern.dxf",
    "/api/pattern/0/print?paper=a4",
    "/api/pattern/0/page/0?paper=a4",
    "/api/pattern/0/file/pattern.pdf?paper=a4",
];
/// Honest pages at once, and how often each does its work.
const MAKERS: usize = 4;
const ROUNDS: usize = 10;
/// Threads without work are gone after this.
const IDLE: Duration = Duration::from_secs(2);
/// Connections whose other side has fallen silent are given up after ten seconds: then nothing of them is held any more.
const SILENT: Duration = Duration::from_secs(16);

/// xorshift64* (S. Vigna, "An experimental exploration of Marsaglia's xorshift generators, scrambled", 2016).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n as u64).expect("below a usize")
    }

    fn of<'a>(&mut self, list: &[&'a str]) -> &'a str {
        list[self.below(list.len())]
    }

    fn bytes(&mut self, most: usize) -> Vec<u8> {
        (0..self.below(most + 1)).map(|_| self.next().to_be_bytes()[0]).collect()
    }
}

/// A program that serves; it ends with this value.
struct Served {
    process: Child,
    address: String,
}

impl Served {
    fn start(root: &Path) -> Self {
        let mut process = Command::new(assert_cmd::cargo::cargo_bin("onfold"))
            .arg("open")
            .arg(root)
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY")
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program");
        let mut lines = BufReader::new(process.stdout.take().expect("piped")).lines().map_while(Result::ok);
        let address = lines.find(|line| line.contains("http://")).expect("an address").trim().to_owned();
        std::thread::spawn(move || lines.for_each(drop));
        Self { process, address }
    }

    /// Memory that it holds (pages of the program itself not counted), in kilobytes, where the system tells it.
    fn memory_kb(&self) -> Option<u64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.process.id())).ok()?;
        let line = status.lines().find_map(|l| l.strip_prefix("RssAnon:"))?;
        line.split_whitespace().next()?.parse().ok()
    }

    /// What it said of its own faults.
    fn end(mut self) -> String {
        let _ = self.process.kill();
        let mut said = String::new();
        let mut stderr = self.process.stderr.take().expect("piped");
        let _ = stderr.read_to_string(&mut said);
        said
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

const PATHS: [&str; 24] = [
    "/",
    "/?token=00000000000000000000000000000000",
    "/api/shelf?find=%00%ff",
    "/api/pattern/0",
    "/api/pattern/0/preview?unit=in",
    "/api/pattern/0/change",
    "/api/pattern/0/file/pattern.pdf?paper=a4",
    "/api/pattern/0/file/..%2f..%2f..%2fetc%2fpasswd",
    "/api/pattern/0/print?paper=roll&width=1e308mm",
    "/api/pattern/0/print?paper=roll&width=-5mm",
    "/api/pattern/0/page/18446744073709551615?paper=a4",
    "/api/pattern/-1",
    "/api/pattern/99999999999999999999",
    "/api/pattern/0/undo",
    "/api/pattern/0/redo",
    "/api/photos/7",
    "/api/photos?name=..%2f..%2fout.jpg",
    "/api/capture",
    "/api/capture?after=1",
    "/api/tape?between=NaN,inf,-inf,1e999",
    "/../../etc/passwd",
    "//etc/passwd",
    "/%2e%2e/%2e%2e/etc/passwd",
    "http://other.example/api/shelf",
];

const BODIES: [&str; 14] = [
    "",
    "{}",
    "[",
    "null",
    "{\"change\":\"insert\",\"at\":18446744073709551615,\"step\":{\"do\":\"lengthen\",\"keys\":[[\"by\",[\"9mm\"]]]}}",
    "{\"change\":\"insert\",\"at\":0,\"step\":{\"do\":\"lengthen\",\"keys\":[[\"by\",[\"1e300mm\"]]]}}",
    "{\"change\":\"insert\",\"at\":0,\"step\":{\"do\":\"lengthen\",\"keys\":[[\"by\",[\"-1e9mm\"]]]}}",
    "{\"change\":\"insert\",\"at\":0,\"step\":{\"do\":\"../../x\",\"keys\":[]}}",
    "{\"change\":\"insert\",\"at\":0,\"step\":{\"do\":\"lengthen\",\"keys\":[[\"by\\n[[step]]\",[\"\\\"\\n\\u0000\"]]]}}",
    "{\"change\":\"move\",\"from\":4000000000,\"to\":0}",
    "{\"change\":\"remove\",\"at\":4000000000}",
    "{\"change\":\"fold\",\"key\":\"keep\",\"text\":\"\\u0000\"}",
    "{\"name\":\"../../../out\",\"thickness\":\"1mm\",\"edge\":\"cut\",\"trim_narrower\":\"\",\"block_width\":\"\",\"block_height\":\"\"}",
    "{\"name\":\"x\",\"thickness\":\"NaN\",\"edge\":\"\",\"trim_narrower\":\"1e999in\",\"block_width\":\"0\",\"block_height\":\"-1\"}",
];

/// One request, whole or broken, with or without what lets it in.
fn request(dice: &mut Dice, host: &str, cookie: &str) -> Vec<u8> {
    if dice.below(25) == 0 {
        return dice.bytes(2000);
    }
    let mut path = dice.of(&PATHS).to_owned();
    if dice.below(6) == 0 {
        let at = dice.below(path.len());
        path.insert_str(at, dice.of(&["%", "%00", "/../", "?", "&after=", "\u{e9}", " ", "\\"]));
    }
    let method = dice.of(&["GET", "POST", "POST", "DELETE", "PUT", "OPTIONS", "HEAD", "TRACE", "GETT"]);
    let mut out = format!("{method} {path} HTTP/1.1\r\n").into_bytes();
    let said = match dice.below(24) {
        0 => "other.example".to_owned(),
        1 => format!("127.0.0.1:{}", dice.below(65536)),
        2 => "\u{0}".to_owned(),
        _ => host.to_owned(),
    };
    out.extend(format!("Host: {said}\r\n").bytes());
    match dice.below(6) {
        0 => {}
        1 => out.extend(b"Cookie: onfold=\xff\xfe; ;;=\r\n"),
        _ => out.extend(format!("Cookie: {cookie}\r\n").bytes()),
    }
    match dice.below(8) {
        0 => out.extend(b"Origin: http://other.example\r\n"),
        1 => out.extend(b"Sec-Fetch-Site: cross-site\r\n"),
        2 => out.extend(format!("X-Long: {}\r\n", "a".repeat(dice.below(60_000))).bytes()),
        _ => {}
    }
    if dice.below(3) > 0 {
        out.extend(b"Content-Type: application/json\r\n");
    }
    let body = match dice.below(4) {
        0 => dice.bytes(40_000),
        1 if dice.below(20) == 0 => vec![b'['; 400_000],
        _ => dice.of(&BODIES).as_bytes().to_vec(),
    };
    match dice.below(10) {
        0 => out.extend(b"Content-Length: 999999999999\r\n"),
        1 => out.extend(b"Content-Length: -1\r\n"),
        2 => out.extend(b"Transfer-Encoding: chunked\r\n"),
        _ => out.extend(format!("Content-Length: {}\r\n", body.len()).bytes()),
    }
    out.extend(b"Connection: close\r\n\r\n");
    out.extend(body);
    if dice.below(12) == 0 {
        let keep = dice.below(out.len());
        out.truncate(keep);
    }
    out
}

/// Sends one; the status it is answered with, if it is.
fn sent(dice: &mut Dice, host: &str, cookie: &str) -> Option<u16> {
    let bytes = request(dice, host, cookie);
    let mut stream = TcpStream::connect(host).expect("the program still listens");
    stream.set_read_timeout(Some(Duration::from_millis(300))).expect("set");
    stream.set_write_timeout(Some(Duration::from_millis(300))).expect("set");
    if dice.below(100) == 0 {
        // A slow one: some at a time, then away.
        for piece in bytes.chunks(bytes.len() / 5 + 1) {
            let _ = stream.write_all(piece);
            std::thread::sleep(Duration::from_millis(40));
        }
    } else {
        let _ = stream.write_all(&bytes);
    }
    let mut head = [0; 16];
    stream.read_exact(&mut head).ok()?;
    // Most are read to the end, some are left in the middle of the answer.
    if dice.below(8) > 0 {
        let _ = std::io::copy(&mut stream, &mut std::io::sink());
    }
    std::str::from_utf8(&head[9..12]).ok()?.parse().ok()
}

/// Everything below a folder.
fn below(dir: &Path) -> BTreeSet<PathBuf> {
    let mut found = BTreeSet::new();
    for entry in std::fs::read_dir(dir).expect("a folder").filter_map(Result::ok) {
        if entry.path().is_dir() {
            found.extend(below(&entry.path()));
        }
        found.insert(entry.path());
    }
    found
}

fn barrage(served: &Served, cookie: &str, host: &str, requests: usize, seed: u64) -> Vec<Option<u16>> {
    let one = |k: usize| {
        let mut dice = Dice(seed.wrapping_add(k as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        (0..requests / AT_ONCE).map(|_| sent(&mut dice, host, cookie)).collect::<Vec<_>>()
    };
    assert!(served.address.contains(host));
    std::thread::scope(|scope| {
        let threads: Vec<_> = (0..AT_ONCE).map(|k| scope.spawn(move || one(k))).collect();
        threads.into_iter().flat_map(|t| t.join().expect("a sender")).collect()
    })
}

#[test]
fn ten_thousand_hostile_requests_change_nothing() {
    let around = tempfile::tempdir().expect("a folder");
    let root = around.path().join("shelf");
    std::fs::rename(shelf().keep(), &root).expect("moved");
    let before = below(around.path());
    let served = Served::start(&root);
    let (host, cookie) = enter(&served.address);
    // What honest work leaves (open patterns, the last print, threads that are kept) is there before memory is
    // measured: what the hostile requests add to it is what is lost.
    let fine = |path: &str| {
        let sent =
            crate::http::send(&host, "GET", path, &format!("Host: {host}\r\nCookie: {cookie}\r\n"), b"");
        assert_eq!(sent.status, 200, "{path}");
    };
    std::thread::scope(|scope| {
        for _ in 0..MAKERS {
            scope.spawn(|| (0..ROUNDS).for_each(|_| HONEST.into_iter().for_each(fine)));
        }
    });
    std::thread::sleep(IDLE);
    let memory = served.memory_kb();
    let answers = barrage(&served, &cookie, &host, REQUESTS, SEED);
    assert_eq!(answers.len(), REQUESTS);
    // What was begun is done to its end; what was not is given up with who asked, so that this is answered soon.
    HONEST.into_iter().for_each(fine);
    std::thread::sleep(SILENT);
    let after = served.memory_kb();
    let count = |from: u16, to: u16| answers.iter().flatten().filter(|&&s| s >= from && s < to).count();
    let (good, refused, broken) = (count(200, 400), count(400, 500), count(500, 600));
    println!(
        "10,000 hostile requests: {good} answered, {refused} refused, {broken} broken; memory {memory:?} kB after honest work, {after:?} after these"
    );
    assert!(refused > REQUESTS / 2, "{refused}");
    assert_eq!(broken, 0);
    let written: Vec<PathBuf> = below(around.path()).difference(&before).cloned().collect();
    assert!(written.iter().all(|p| p.starts_with(root.join("canvas"))), "{written:?}");
    let said = served.end();
    assert!(!said.contains("panicked"), "{said}");
    match (memory, after) {
        (Some(memory), Some(after)) => {
            assert!(after < memory + BACK_WITHIN_KB, "{memory} kB, then {after} kB");
        }
        _ => println!("not run: memory after hostile requests, this system does not tell it in /proc"),
    }
}
