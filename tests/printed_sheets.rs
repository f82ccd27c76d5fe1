//! The printed calibration sheets, read back by poppler: page sizes, the black and white of every sheet against the
//! reference pages of the sheet's specification, and what the command says to wrong arguments.
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test stops where something is not as it should be, and says what"
)]

#[path = "support/poppler.rs"]
mod poppler;
#[path = "support/real.rs"]
mod real;

use assert_cmd::Command;
use poppler::Raster;
use std::path::{Path, PathBuf};

fn grid(folder: &Path, name: &str, arguments: &[&str]) -> PathBuf {
    let out = folder.join(name);
    let mut command = Command::cargo_bin("onfold").unwrap();
    command.arg("grid").args(arguments).arg("--out").arg(&out).assert().success();
    out
}

#[test]
fn pages_have_the_papers_sizes() {
    poppler::required();
    let folder = tempfile::tempdir().unwrap();
    // ISO 216 A4 in points of 1/72 in; US Letter is 612 x 792 by definition; 720 x 720 mm of boards and 25 mm round them.
    for (paper, extra, pages, width, height) in [
        ("a4", ["--sheets", "3-5"], 4, 595.276, 841.89),
        ("letter", ["--sheets", "24"], 2, 612.0, 792.0),
        ("roll", ["--boards", "4x3"], 2, 2182.677, 2182.677),
    ] {
        let file = grid(folder.path(), "sheets.pdf", &["--paper", paper, extra[0], extra[1]]);
        let sizes = poppler::page_sizes_pt(&file);
        assert_eq!(sizes.len(), pages, "{paper}");
        let (w, h) = sizes[pages - 1];
        assert!((w - width).abs() < 0.01 && (h - height).abs() < 0.01, "{paper}: {w} x {h}");
        let words = poppler::words(&file);
        assert!(words.contains("Print at 100 %") && words.contains("--measured"), "the first page tells how");
    }
}

#[test]
fn sheets_are_the_specifications_own() {
    let Some(reference) = real::folder("sheets") else { return };
    poppler::required();
    let folder = tempfile::tempdir().unwrap();
    // Both rendered by the same program at 150 dpi; a pixel counts as different from half black on, so that
    // rounding of the last digit at an edge does not.
    for (arguments, file, pages, printed_mm) in [
        (
            ["--paper", "a4", "--sheets", "1-24"],
            "sheets_a4.pdf",
            vec![1, 2, 13, 24],
            [4.0, 17.5, 206.0, 279.5],
        ),
        (
            ["--paper", "letter", "--sheets", "1-24"],
            "sheets_letter.pdf",
            vec![1, 24],
            [7.0, 8.7, 208.9, 270.7],
        ),
        (["--paper", "roll", "--boards", "4x3"], "roll_4x3.pdf", vec![1], [14.8, 14.8, 755.2, 755.2]),
    ] {
        let ours = grid(folder.path(), "sheets.pdf", &arguments);
        for page in pages {
            let (a, b) = (Raster::of(&ours, page + 1, 150), Raster::of(&reference.join(file), page, 150));
            assert_eq!((a.width, a.height), (b.width, b.height), "{file} page {page}");
            let differ = a.differing(&b, printed_mm);
            assert_eq!(differ, 0, "{file} page {page}: {differ} pixels");
        }
    }
}

#[test]
fn the_same_command_writes_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let [a, b] = ["a.pdf", "b.pdf"]
        .map(|name| std::fs::read(grid(folder.path(), name, &["--paper", "a4", "--sheets", "1-2"])).unwrap());
    assert!(a.starts_with(b"%PDF-"));
    assert_eq!(a, b);
}

#[test]
fn wrong_arguments_are_told_what_is_right() {
    let run = |arguments: &[&str]| {
        let output = Command::cargo_bin("onfold").unwrap().arg("grid").args(arguments).output().unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    for (arguments, status, told) in [
        (vec!["--paper", "a4", "--out", "-", "--sheets", "0-3"], 1, "from 1 to 24"),
        (vec!["--paper", "roll", "--out", "-", "--boards", "9x9"], 1, "24 in all"),
        (vec!["--paper", "a4", "--out", "-", "--boards", "2x2"], 1, "--sheets"),
        (vec!["--paper", "roll", "--out", "-", "--boards", "1x24"], 1, "5080 mm"),
        (vec!["--paper", "a4", "--out", "/no/such/folder/x.pdf"], 1, "make the folder first"),
        (vec!["--paper", "a3", "--out", "-"], 2, "letter"),
    ] {
        let (code, stderr) = run(&arguments);
        assert_eq!(code, Some(status), "{arguments:?}: {stderr}");
        assert!(stderr.contains(told), "{arguments:?}: {stderr}");
    }
}
