//! Files that are not what a phone hands over: each ends in a clear message or in the right outline, within two
//! gigabytes. And the same photograph twice, on one and on two threads, ends in the same bytes.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

mod support;

use image::{DynamicImage, ImageFormat, RgbImage, codecs::gif::GifEncoder};
use onfold::geometry::Point;
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use support::score::score;

/// Address space the program is given, kilobytes: two gigabytes.
const MEMORY_KB: u32 = 2_000_000;
/// How far the outline of another coding of the photograph may lie from that of the JPEG, millimetres.
const SAME_MM: f64 = 0.25;

fn shipped() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/canvas_apron.jpg")
}

/// The program under a limit of memory.
fn limited(arguments: &[&str], threads: u32) -> Output {
    Command::new("sh")
        .args(["-c", &format!("ulimit -v {MEMORY_KB}; exec \"$0\" \"$@\""), env!("CARGO_BIN_EXE_onfold")])
        .args(arguments)
        .env("RAYON_NUM_THREADS", threads.to_string())
        .output()
        .expect("a shell")
}

fn capture(photo: &Path, out: &Path, threads: u32) -> Output {
    let words = [photo, out].map(|p| p.to_str().expect("a plain path"));
    limited(&["capture", words[0], "--thickness", "1.1mm", "--out", words[1]], threads)
}

/// The traced outline of a pattern folder.
fn outline(dir: &Path) -> Vec<Point> {
    let dir = dir.to_str().expect("a plain path");
    let out = limited(&["export", dir, "--stage", "traced", "--format", "json", "--out", "-"], 2);
    let value: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let ring = value["pieces"][0]["rings"][0].as_array().expect("a ring");
    ring.iter()
        .map(|p| Point::new(p[0].as_f64().expect("a number"), p[1].as_f64().expect("a number")))
        .collect()
}

/// Where a JPEG's frame header keeps height and width (ITU-T T.81 B.2.2).
fn frame_size_at(jpeg: &[u8]) -> usize {
    let marker = |w: &[u8]| w[0] == 0xff && (w[1] == 0xc0 || w[1] == 0xc2) && w[2] == 0;
    jpeg.windows(3).position(marker).expect("a frame header") + 5
}

fn claiming(jpeg: &[u8], height: u16, width: u16) -> Vec<u8> {
    let mut out = jpeg.to_vec();
    let at = frame_size_at(jpeg);
    out[at..at + 2].copy_from_slice(&height.to_be_bytes());
    out[at + 2..at + 4].copy_from_slice(&width.to_be_bytes());
    out
}

fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Vec::new();
    picture.write_to(&mut Cursor::new(&mut bytes), format).expect("an encoder");
    bytes
}

/// Files that hold no usable photograph.
fn hopeless() -> Vec<(String, Vec<u8>)> {
    let jpeg = std::fs::read(shipped()).expect("the shipped photograph");
    let grey = DynamicImage::ImageRgb8(RgbImage::from_pixel(600, 400, image::Rgb([120, 130, 140])));
    let png = encoded(&grey, ImageFormat::Png);
    let mut huge_bmp = encoded(&grey, ImageFormat::Bmp);
    huge_bmp[18..26].copy_from_slice(&[0x60, 0xea, 0, 0, 0x60, 0xea, 0, 0]);
    let mut animated = Vec::new();
    let mut encoder = GifEncoder::new(&mut animated);
    for _ in 0..3 {
        encoder.encode(grey.to_rgb8().as_raw(), 600, 400, image::ExtendedColorType::Rgb8).expect("a frame");
    }
    drop(encoder);
    let mut out: Vec<(String, Vec<u8>)> = [
        ("words.jpg", b"these are words".to_vec()),
        ("empty.jpg", Vec::new()),
        ("header.jpg", jpeg[..40].to_vec()),
        ("half.jpg", jpeg[..jpeg.len() / 2].to_vec()),
        ("largest.jpg", claiming(&jpeg, u16::MAX, u16::MAX)),
        ("large.jpg", claiming(&jpeg, 14_000, 14_000)),
        ("flat.jpg", claiming(&jpeg, 0, 3024)),
        ("cut.png", png[..png.len() / 2].to_vec()),
        ("grey.png", png),
        ("huge.bmp", huge_bmp),
        ("cut.webp", encoded(&grey, ImageFormat::WebP)[..60].to_vec()),
        ("cut.tiff", encoded(&grey, ImageFormat::Tiff)[..200].to_vec()),
        ("animated.gif", animated),
        ("brand.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic".to_vec()),
    ]
    .into_iter()
    .map(|(name, bytes)| (name.to_owned(), bytes))
    .collect();
    // Headers written over at random; the picture's data are left out, so that none of them can succeed.
    let mut state = 0x9e37_79b9_u32;
    let mut random = || {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        state
    };
    for k in 0..6 {
        let mut bytes = jpeg[..4000].to_vec();
        for _ in 0..12 {
            let at = 2 + random() as usize % 700;
            bytes[at] = random().to_le_bytes()[0];
        }
        bytes.extend([0xff, 0xd9]);
        out.push((format!("fuzzed{k}.jpg"), bytes));
    }
    out
}

#[test]
fn hostile_files_end_in_a_clear_message() {
    let folder = tempfile::tempdir().expect("a folder");
    let files = hopeless();
    assert_eq!(files.len(), 20);
    for (name, bytes) in files {
        let photo = folder.path().join(&name);
        std::fs::write(&photo, bytes).expect("a file");
        let out = folder.path().join("pattern");
        let output = capture(&photo, &out, 2);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(1), "{name}: {said}");
        assert!(said.starts_with("onfold: ") && !said.contains("panicked"), "{name}: {said}");
        assert!(!out.exists(), "{name} left something behind");
    }
}

/// The shipped photograph as red, green and blue, its size, and a JPEG of other samples of it.
fn picture() -> (DynamicImage, impl Fn(&[u8], jpeg_encoder::ColorType) -> Vec<u8>) {
    let jpeg = std::fs::read(shipped()).expect("the shipped photograph");
    let picture = image::load_from_memory(&jpeg).expect("a picture");
    let size = [picture.width(), picture.height()].map(|v| u16::try_from(v).expect("fits a JPEG"));
    let coded = move |data: &[u8], kind: jpeg_encoder::ColorType| {
        let mut bytes = Vec::new();
        let encoder = jpeg_encoder::Encoder::new(&mut bytes, 95);
        encoder.encode(data, size[0], size[1], kind).expect("an encoder");
        bytes
    };
    (picture, coded)
}

/// Captures every file and holds its outline to that of the shipped photograph.
fn same_outlines(files: &[(&str, Vec<u8>)]) {
    let folder = tempfile::tempdir().expect("a folder");
    let dir = folder.path().join("jpeg");
    assert!(capture(&shipped(), &dir, 2).status.success());
    let wanted = outline(&dir);
    let mut missed = Vec::new();
    for (name, bytes) in files {
        let photo = folder.path().join(name);
        std::fs::write(&photo, bytes).expect("a file");
        let dir = folder.path().join(format!("{name}.pattern"));
        let output = capture(&photo, &dir, 2);
        if !output.status.success() {
            missed.push(format!("{name}: {}", String::from_utf8_lossy(&output.stderr)));
            continue;
        }
        let s = score(&wanted, &outline(&dir));
        println!("{name}: rms {:.3} worst {:.3} mm", s.rms_mm, s.worst_mm);
        if s.rms_mm > SAME_MM {
            missed.push(format!("{name}: rms {:.3} mm", s.rms_mm));
        }
    }
    assert!(missed.is_empty(), "{missed:?}");
}

#[test]
fn unusual_codings_give_the_same_outline() {
    let (picture, _) = picture();
    same_outlines(&[
        ("deep.png", encoded(&DynamicImage::ImageRgb16(picture.to_rgb16()), ImageFormat::Png)),
        ("clear.png", encoded(&DynamicImage::ImageRgba8(picture.to_rgba8()), ImageFormat::Png)),
    ]);
}

#[test]
fn inks_give_the_same_outline() {
    let (picture, coded) = picture();
    let inks: Vec<u8> =
        picture.to_rgb8().pixels().flat_map(|p| [255 - p.0[0], 255 - p.0[1], 255 - p.0[2], 0]).collect();
    same_outlines(&[("cmyk.jpg", coded(&inks, jpeg_encoder::ColorType::Cmyk))]);
}

#[test]
fn a_grey_photograph_gives_the_same_outline() {
    let (picture, coded) = picture();
    same_outlines(&[("grey.jpg", coded(picture.to_luma8().as_raw(), jpeg_encoder::ColorType::Luma))]);
}

#[test]
fn one_and_two_threads_end_in_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let traced = |threads: u32| {
        let dir = folder.path().join(threads.to_string());
        let output = capture(&shipped(), &dir, threads);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        std::fs::read(dir.join("traced.json")).expect("the traced outline")
    };
    assert_eq!(traced(1), traced(2));
}

/// `/dev/shm`-like small disks need a mount; a file-size limit of the shell fails writing in the same way.
#[test]
fn a_capture_that_cannot_be_written_leaves_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("pattern");
    let words = [shipped(), out.clone()].map(|p| p.to_str().expect("a plain path").to_owned());
    // Files of at most 16 blocks of 512 bytes; the signal that tells of it is ignored, so that writing fails.
    let output = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 16; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_onfold")])
        .args(["capture", &words[0], "--thickness", "1.1mm", "--out", &words[1]])
        .output()
        .expect("a shell");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.starts_with("onfold: ") && !said.contains("panicked"), "{said}");
    let left: Vec<_> = std::fs::read_dir(folder.path()).expect("the folder").collect();
    assert!(left.is_empty(), "left behind: {left:?}; {said}");
    println!("{said}");
}
