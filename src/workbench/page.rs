//! The page's files, inside the program.

/// A file of the page.
#[derive(Debug, Clone, Copy)]
pub(super) struct PageFile {
    /// Its path on the server.
    pub(super) path: &'static str,
    /// Its media type.
    pub(super) kind: &'static str,
    /// Its text.
    pub(super) text: &'static str,
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

macro_rules! script {
    ($name:literal) => {
        PageFile { path: concat!("/", $name), kind: SCRIPT, text: include_str!(concat!("page/", $name)) }
    };
}

const STYLE: PageFile =
    PageFile { path: "/style.css", kind: "text/css; charset=utf-8", text: include_str!("page/style.css") };
const MARK: PageFile =
    PageFile { path: "/mark.svg", kind: "image/svg+xml", text: include_str!("page/mark.svg") };

/// All of the page at the bench.
pub(super) const FILES: [PageFile; 17] = [
    PageFile { path: "/", kind: "text/html; charset=utf-8", text: include_str!("page/index.html") },
    STYLE,
    MARK,
    script!("main.js"),
    script!("ask.js"),
    script!("shelf.js"),
    script!("share.js"),
    script!("photograph.js"),
    script!("pattern.js"),
    script!("piece.js"),
    script!("fold.js"),
    script!("traced.js"),
    script!("correct.js"),
    script!("steps.js"),
    script!("sheet.js"),
    script!("print.js"),
    script!("make.js"),
];

/// All of the page for a phone.
pub(super) const PHONE_FILES: [PageFile; 6] = [
    PageFile { path: "/", kind: "text/html; charset=utf-8", text: include_str!("page/phone.html") },
    STYLE,
    MARK,
    script!("phone.js"),
    script!("ask.js"),
    script!("make.js"),
];

/// Shown to another phone, or when the time is over.
pub(super) const PHONE_CLOSED: &str = include_str!("page/phone_closed.html");
/// Shown where a request does not carry the token.
pub(super) const CLOSED: &str = include_str!("page/closed.html");
