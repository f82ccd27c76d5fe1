//! A pattern on paper, read back by other libraries: true size on every page, joins, words, line kinds, rolls, SVG, JSON.
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test stops where something is not as it should be, and says what"
)]

mod files;
mod joined;
#[path = "../support/pdf.rs"]
mod pdf_reader;
#[path = "../support/poppler.rs"]
mod poppler;
mod rolls;
mod squares;
mod words;

use kurbo::Line;
use onfold::export::pdf;
use onfold::geometry::{CubicBez, PathSeg, Ring};
use onfold::pattern::{Outline, Piece, Record};
use onfold::units::Length;
use pdf_reader::Pdf;

const FOLD_MM: f64 = 873.4;
const HALF_WIDTH_MM: f64 = 341.7;

fn line(a: (f64, f64), b: (f64, f64)) -> PathSeg {
    PathSeg::Line(Line::new(a, b))
}

/// Half of a potter's apron: straight top, curved armhole, slanted side, straight hem, a fold of 873.4 mm.
fn half() -> Ring {
    let (top, arm, hem) = ((128.3, 0.0), (318.2, 232.6), (HALF_WIDTH_MM, FOLD_MM));
    Ring::new(vec![
        line((0.0, 0.0), top),
        PathSeg::Cubic(CubicBez::new(top, (140.0, 130.0), (210.0, 215.0), arm)),
        line(arm, hem),
        line(hem, (0.0, FOLD_MM)),
        line((0.0, FOLD_MM), (0.0, 0.0)),
    ])
    .unwrap()
}

fn piece() -> Piece {
    let record = Record {
        style: "Potter's apron".to_owned(),
        material: "waxed canvas".to_owned(),
        thickness: Some(Length::parse("0.8mm").unwrap()),
        date: "2026-11-25".to_owned(),
        ..Record::default()
    };
    Piece::new(Outline::from_half(&half(), &[0, 1, 2, 3, 4]), record)
}

fn read(pages: &[onfold::geometry::Drawing]) -> Pdf {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("pattern.pdf");
    let about = pdf::About { title: "Potter's apron", subject: "full-scale pattern" };
    std::fs::write(&file, pdf::write(&about, pages).unwrap()).unwrap();
    pdf_reader::read(&file)
}

/// A pattern folder of the project's own, printed by the program.
fn printed(example: &str, more: &[&str]) -> Pdf {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("pattern.pdf");
    print(example, more, &file);
    pdf_reader::read(&file)
}

/// The same, into a file.
fn print(example: &str, more: &[&str], file: &std::path::Path) {
    let from = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(example);
    let mut command = assert_cmd::Command::cargo_bin("onfold").unwrap();
    command.arg("print").arg(from).args(more).arg("--out").arg(file).assert().success();
}
