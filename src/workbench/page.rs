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

/// All of them.
pub(super) const FILES: [PageFile; 12] = [
    PageFile { path: "/", kind: "text/html; charset=utf-8", text: include_str!("page/index.html") },
    PageFile { path: "/style.css", kind: "text/css; charset=utf-8", text: include_str!("page/style.css") },
    PageFile { path: "/mark.svg", kind: "image/svg+xml", text: include_str!("page/mark.svg") },
    script!("main.js"),
    script!("ask.js"),
    script!("shelf.js"),
    script!("photograph.js"),
    script!("pattern.js"),
    script!("steps.js"),
    script!("sheet.js"),
    script!("print.js"),
    script!("make.js"),
];

/// Shown where a request does not carry the token.
pub(super) const CLOSED: &str = include_str!("page/closed.html");
