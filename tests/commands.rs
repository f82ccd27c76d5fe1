//! Bad input as a person types it: exit status 1 with a message that says what was seen and what to do (2 for a command
//! or an option that is not there), and nothing half-written.

mod support;

use assert_cmd::Command;
use onfold::geometry::Point;
use std::path::{Path, PathBuf};
use support::camera::Camera;
use support::real;
use support::scene::{Scene, loose_sheets};

fn shipped() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/canvas_apron.jpg")
}

/// What a refused command said. It must have left `out` as it was: absent, or with what it held.
fn refused(arguments: &[&str], photo: &Path, out: &Path) -> String {
    let before = listing(out);
    let mut command = Command::cargo_bin("onfold").expect("the program");
    let output = command
        .arg("capture")
        .arg(photo)
        .args(arguments)
        .arg("--out")
        .arg(out)
        .output()
        .expect("the program runs");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{}: {said}", photo.display());
    assert!(!said.contains("panicked"), "{said}");
    assert_eq!(before, listing(out), "something was left at {}", out.display());
    let beside = out.parent().expect("a folder");
    let strays: Vec<String> = listing(beside).into_iter().filter(|name| name.contains("tmp")).collect();
    assert!(strays.is_empty(), "left behind: {strays:?}");
    said
}

fn listing(folder: &Path) -> Vec<String> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// Refused with every one of these words in what it said.
fn refused_saying(bytes: &[u8], name: &str, words: &[&str]) {
    let folder = tempfile::tempdir().expect("a folder");
    let photo = folder.path().join(name);
    std::fs::write(&photo, bytes).expect("a file");
    let said = refused(&[], &photo, &folder.path().join("pattern"));
    for word in words {
        assert!(said.contains(word), "`{word}` is not in: {said}");
    }
}

/// A PNG that claims a size and holds no picture. Chunk layout: ISO/IEC 15948.
fn png_claiming(width: u32, height: u32) -> Vec<u8> {
    let mut header = b"IHDR".to_vec();
    header.extend(width.to_be_bytes());
    header.extend(height.to_be_bytes());
    header.extend([8, 2, 0, 0, 0]);
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    out.extend(13_u32.to_be_bytes());
    out.extend(&header);
    out.extend(crc32(&header).to_be_bytes());
    out
}

/// The checksum of PNG chunks (ISO/IEC 15948, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 })
    })
}

#[test]
fn what_is_no_picture_is_refused() {
    refused_saying(b"these are words, not a picture", "notes.jpg", &["picture"]);
    refused_saying(b"", "empty.jpg", &["picture"]);
}

#[test]
fn a_truncated_photograph_is_refused() {
    let bytes = std::fs::read(shipped()).expect("the shipped photograph");
    refused_saying(&bytes[..bytes.len() / 2], "half.jpg", &["damaged"]);
}

#[test]
fn a_damaged_heic_is_refused() {
    let Some(folder) = real::folder("real/heic") else { return };
    let bytes = std::fs::read(folder.join("dev1_canvas_apron.heic")).expect("a HEIC file");
    refused_saying(&bytes[..bytes.len() / 2], "apron.heic", &["damaged"]);
}

#[test]
fn sizes_no_camera_makes_are_refused() {
    refused_saying(&png_claiming(0, 0), "nothing.png", &["0"]);
    refused_saying(&png_claiming(20_000, 20_000), "huge.png", &["20000", "200"]);
}

#[test]
fn a_photograph_without_sheets_is_refused() {
    let scene = Scene::new(Camera::over((600, 800), 700.0, Point::ORIGIN, 900.0, (10.0, 0.0)), Vec::new());
    refused_saying(&scene.render().png(), "floor.png", &["sheet"]);
}

#[test]
fn too_few_sheets_are_refused() {
    let mut sheets = loose_sheets(1, 1, (0.0, 0.0, 0.0), 1);
    sheets[0].table_from_board = kurbo::Affine::translate((-120.0, -330.0)) * sheets[0].table_from_board;
    // Only the lower left corner of the sheet is in view.
    let mut scene =
        Scene::new(Camera::over((900, 1200), 1000.0, Point::new(60.0, 90.0), 500.0, (10.0, 0.0)), sheets);
    scene.noise = 1.0;
    refused_saying(&scene.render().png(), "corner.png", &["sheet"]);
}

#[test]
fn a_blurred_photograph_is_refused_with_its_blur() {
    let Some(folder) = real::folder("photos") else { return };
    let bytes = std::fs::read(folder.join("dev6_bad_photo.jpg")).expect("the blurred photograph");
    refused_saying(&bytes, "blurred.jpg", &["blur", "px"]);
}

#[test]
fn a_folder_that_holds_a_pattern_is_not_overwritten() {
    let folder = tempfile::tempdir().expect("a folder");
    let dir = folder.path().join("pattern");
    let capture = |more: &[&str]| {
        let mut command = Command::cargo_bin("onfold").expect("the program");
        command.arg("capture").arg(shipped()).args(more).arg("--out").arg(&dir).assert()
    };
    let _ = capture(&[]).success();
    let before = std::fs::read(dir.join("pattern.toml")).expect("pattern.toml");
    let said = refused(&[], &shipped(), &dir);
    assert!(said.contains("--replace"), "{said}");
    assert_eq!(before, std::fs::read(dir.join("pattern.toml")).expect("pattern.toml"));
    let _ = capture(&["--replace"]).success();
}

/// Linux's `/dev/full` takes nothing, as a full disk does.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let mut command = Command::cargo_bin("onfold").expect("the program");
    let output =
        command.args(["grid", "--paper", "a4", "--out", "/dev/full"]).output().expect("the program runs");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("space") || said.contains("full"), "{said}");
}

/// Exit status and what was said.
fn run(arguments: &[&str]) -> (Option<i32>, String) {
    let output =
        Command::cargo_bin("onfold").expect("the program").args(arguments).output().expect("it runs");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.stdout.is_empty() && !said.contains("panicked"), "{arguments:?}: {said}");
    (output.status.code(), said)
}

#[test]
fn lengths_are_taken_as_people_write_them() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("pattern").display().to_string();
    // A well-written length gets as far as the photograph, which is not there.
    for thickness in ["0,5cm", "1/16in", "0.1\"", "6 1/2in", "6.5\"", "16,5cm"] {
        let (status, said) = run(&["capture", "absent.jpg", "--thickness", thickness, "--out", &out]);
        assert_eq!(status, Some(1), "{thickness}: {said}");
        assert!(said.contains("absent.jpg"), "{thickness}: {said}");
    }
}

#[test]
fn a_value_that_cannot_be_read_is_bad_input() {
    for (arguments, words) in [
        (vec!["capture", "a.jpg", "--thickness", "-3", "--out", "x"], ["--thickness", "-3", "above zero"]),
        (vec!["capture", "a.jpg", "--thickness=-3", "--out", "x"], ["--thickness", "-3", "above zero"]),
        (vec!["capture", "a.jpg", "--thickness", "wide", "--out", "x"], ["--thickness", "wide", "mm"]),
        (vec!["capture", "a.jpg", "--thickness", "", "--out", "x"], ["--thickness", "length", "mm"]),
        (vec!["capture", "a.jpg", "--trim-narrower", "40", "--out", "x"], ["--trim-narrower", "40", "40mm"]),
        (vec!["capture", "a.jpg", "--tolerance", "0.5", "--out", "x"], ["--tolerance", "0.5", "0.5mm"]),
        (
            vec!["capture", "a.jpg", "--measured", "-3", "--out", "x"],
            ["--measured", "width", "179.5mm,239.2mm"],
        ),
        (vec!["capture", "a.jpg", "--measured", "180mm", "--out", "x"], ["--measured", "height", "179.5mm"]),
        (
            vec!["print", "x", "--paper", "roll", "--roll-width", "-3", "--out", "-"],
            ["--roll-width", "-3", "zero"],
        ),
        (vec!["grid", "--paper", "a4", "--sheets", "0-30", "--out", "-"], ["--sheets", "1 to 24", "1-12"]),
        (vec!["grid", "--paper", "roll", "--boards", "-4x6", "--out", "-"], ["--boards", "across", "4x6"]),
    ] {
        let (status, said) = run(&arguments);
        assert_eq!(status, Some(1), "{arguments:?}: {said}");
        for word in words {
            assert!(said.contains(word), "{arguments:?}: `{word}` is not in: {said}");
        }
    }
}

#[test]
fn what_is_not_there_is_wrong_usage() {
    for arguments in [vec!["sew"], vec!["grid", "--paper", "a4"], vec!["demo", "--loud"], vec![]] {
        let (status, said) = run(&arguments);
        assert_eq!(status, Some(2), "{arguments:?}: {said}");
        assert!(said.contains("--help") || said.contains("Usage"), "{said}");
    }
}

#[test]
fn an_edge_that_is_not_there_is_named_and_the_recipe_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let dir = folder.path().join("pattern");
    let mut command = Command::cargo_bin("onfold").expect("the program");
    let _ = command.arg("capture").arg(shipped()).arg("--out").arg(&dir).assert().success();
    let before = std::fs::read(dir.join("pattern.toml")).expect("pattern.toml");
    let mut command = Command::cargo_bin("onfold").expect("the program");
    let output = command
        .arg("edit")
        .arg(&dir)
        .args(["lengthen", "by=90mm", "edge=sleeve"])
        .output()
        .expect("the program runs");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("sleeve") && said.contains("edges are"), "{said}");
    assert_eq!(before, std::fs::read(dir.join("pattern.toml")).expect("pattern.toml"));
}

/// Within 3 mm of the tape nothing is said, beyond it a warning heads the advice (TRADE: the hand and the photograph must
/// agree within 3 mm, step 2 of the whole job).
#[test]
fn a_tape_measure_is_set_beside_the_photograph() {
    let folder = tempfile::tempdir().expect("a folder");
    let truth = support::truth::Truth::read(&shipped().with_extension("truth.json"));
    let (mut top, mut bottom) = (f64::MAX, f64::MIN);
    for p in &truth.outline {
        (top, bottom) = (top.min(p.y), bottom.max(p.y));
    }
    let right = format!("height={:.1}mm", bottom - top);
    let mut command = Command::cargo_bin("onfold").expect("the program");
    let output = command
        .arg("capture")
        .arg(shipped())
        .args(["--thickness", "1.1mm", "--json", "--expect", &right, "--expect", "A-B=10mm", "--out"])
        .arg(folder.path().join("pattern"))
        .output()
        .expect("the program runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    let expected = report["expected"].as_array().expect("a list");
    assert_eq!(expected.len(), 2);
    let warnings: Vec<&str> = report["advice"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|line| line.as_str())
        .filter(|line| line.starts_with("Warning"))
        .collect();
    assert!(matches!(warnings[..], [one] if one.contains("A-B")), "{warnings:?}");
    let mut command = Command::cargo_bin("onfold").expect("the program");
    command.args(["capture", "x.jpg", "--out", "x", "--expect", "A to B"]).assert().code(1);
}
