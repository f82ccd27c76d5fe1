//! Reading PDF files back with poppler's tools (Debian package poppler-utils): sizes, words, pixels.
//!
//! Where the tools are missing, [`required`] fails the test and says what to install.
#![allow(dead_code, reason = "each test program uses a part of it")]
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test stops where something is not as it should be, and says what"
)]

use std::path::Path;
use std::process::Command;

/// Fails the test that asks where poppler's tools are missing, with a word on what to install.
pub(crate) fn required() {
    let there = Command::new("pdftoppm").arg("-v").output().is_ok();
    assert!(
        there,
        "this test reads PDF files with poppler's tools; install them: apt-get install poppler-utils"
    );
}

fn run(program: &str, arguments: &[&str], file: &Path) -> Vec<u8> {
    let output = Command::new(program).args(arguments).arg(file).arg("-").output().unwrap();
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

/// Width and height of every page in points of 1/72 in.
pub(crate) fn page_sizes_pt(file: &Path) -> Vec<(f64, f64)> {
    let output = Command::new("pdfinfo").args(["-f", "1", "-l", "9999"]).arg(file).output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout)
        .unwrap()
        .lines()
        .filter(|line| line.starts_with("Page ") && line.contains(" size:"))
        .map(|line| {
            let numbers: Vec<f64> = line.split_whitespace().filter_map(|word| word.parse().ok()).collect();
            (numbers[1], numbers[2])
        })
        .collect()
}

/// All words of all pages.
pub(crate) fn words(file: &Path) -> String {
    String::from_utf8(run("pdftotext", &["-layout"], file)).unwrap()
}

/// Every word of every page with the box round it: left, top, right, bottom, millimetres from the page's top left corner.
pub(crate) fn boxed_words(file: &Path) -> Vec<Vec<(String, [f64; 4])>> {
    let text = String::from_utf8(run("pdftotext", &["-bbox"], file)).unwrap();
    let number = |line: &str, key: &str| -> f64 {
        let (_, after) = line.split_once(key).unwrap();
        after.split('"').next().unwrap().parse::<f64>().unwrap() / 72.0 * 25.4
    };
    let mut pages = Vec::new();
    for line in text.lines().map(str::trim) {
        if line.starts_with("<page ") {
            pages.push(Vec::new());
        } else if line.starts_with("<word ") {
            let word = line.split_once('>').unwrap().1.trim_end_matches("</word>").to_owned();
            let corners = ["xMin=\"", "yMin=\"", "xMax=\"", "yMax=\""].map(|key| number(line, key));
            pages.last_mut().unwrap().push((word, corners));
        }
    }
    pages
}

/// One page as grey pixels.
pub(crate) struct Raster {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) dots_per_inch: u32,
    pub(crate) grey: Vec<u8>,
}

impl Raster {
    /// Renders page `page`, counted from 1.
    pub(crate) fn of(file: &Path, page: usize, dots_per_inch: u32) -> Self {
        let (page, dots) = (page.to_string(), dots_per_inch.to_string());
        let arguments = ["-gray", "-r", &dots, "-f", &page, "-l", &page];
        let output = Command::new("pdftoppm").args(arguments).arg(file).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        // A binary PGM: "P5", width, height, 255, then the bytes.
        let mut fields = output.stdout.splitn(4, |b| b.is_ascii_whitespace());
        assert_eq!(fields.next(), Some(b"P5".as_slice()));
        let mut number = || std::str::from_utf8(fields.next().unwrap()).unwrap().parse::<usize>().unwrap();
        let (width, height) = (number(), number());
        let grey = output.stdout[output.stdout.len() - width * height..].to_vec();
        Self { width, height, dots_per_inch, grey }
    }

    /// Pixels of two pages that differ by half black or more, within a box (left, top, right, bottom) in millimetres.
    pub(crate) fn differing(&self, other: &Self, box_mm: [f64; 4]) -> usize {
        let [left, top, right, bottom] =
            box_mm.map(|mm| (mm / 25.4 * f64::from(self.dots_per_inch)) as usize);
        let rows = (top..bottom).map(|row| row * self.width + left..row * self.width + right);
        rows.flatten().filter(|&i| self.grey[i].abs_diff(other.grey[i]) > 127).count()
    }
}
