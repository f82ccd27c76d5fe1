//! How long each stage of a capture takes, and how much memory the whole needs, at 3, 12 and 48 megapixels.
//!
//! `cargo bench` prints for each size the median over some runs of every stage's seconds, each as a multiple of the JPEG
//! decode of the same run too, and the peak of memory beyond the decoded picture in bytes a pixel (Linux only). The
//! picture of 12 megapixels is the shipped photograph, the others are made from it: means of four pixels, and Catmull-Rom's
//! cubic between them.

#![allow(clippy::print_stdout, reason = "a report")]

use image::imageops::{FilterType, resize};
use onfold::capture::{Request, capture};
use onfold::curve::Tolerance;
use onfold::outline::{EdgeKind, Wish};
use std::collections::BTreeMap;
use std::path::Path;

/// Runs of each size; the first only warms up.
const RUNS: [usize; 3] = [8, 6, 4];
/// Bars: the whole at 12 megapixels in decodes, 48 megapixels in times of 12, bytes a pixel beyond the picture.
const DECODES_MOST: f64 = 6.0;
const TIMES_MOST: f64 = 4.5;
const BYTES_MOST: f64 = 8.0;

fn main() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/canvas_apron.jpg");
    let shipped = std::fs::read(path).expect("the shipped photograph");
    let picture = image::load_from_memory(&shipped).expect("a picture").into_rgb8();
    let (width, height) = picture.dimensions();
    let small = resized(&picture, (width / 2, height / 2), FilterType::Triangle, &shipped);
    let large = resized(&picture, (2 * width, 2 * height), FilterType::CatmullRom, &shipped);
    drop(picture);
    println!("median seconds (multiples of the decode); {} threads", rayon::current_num_threads());
    let mut totals = Vec::new();
    for (bytes, runs) in [small, shipped, large].into_iter().zip(RUNS) {
        totals.push(measured(vec![bytes], runs));
    }
    println!();
    let [_, twelve, large] = totals[..] else { return };
    println!("the whole at 12 MP takes {:.1} decodes (bar {DECODES_MOST})", twelve.0);
    println!("48 MP take {:.2} times as long as 12 MP (bar {TIMES_MOST})", large.1 / twelve.1);
    println!(
        "most memory beyond the picture: {:.1} and {:.1} bytes a pixel (bar {BYTES_MOST})",
        twelve.2, large.2
    );
}

/// The picture at another size as a JPEG with the same EXIF.
fn resized(
    picture: &image::RgbImage,
    (width, height): (u32, u32),
    filter: FilterType,
    from: &[u8],
) -> Vec<u8> {
    let small = resize(picture, width, height, filter);
    let mut bytes = Vec::new();
    let side = |v: u32| u16::try_from(v).expect("fits a JPEG");
    jpeg_encoder::Encoder::new(&mut bytes, 93)
        .encode(small.as_raw(), side(width), side(height), jpeg_encoder::ColorType::Rgb)
        .expect("an encoder");
    let mark = from.windows(6).position(|w| w[..2] == [0xff, 0xe1] && w[4..] == *b"Ex").expect("EXIF");
    let length = 2 + usize::from(u16::from_be_bytes([from[mark + 2], from[mark + 3]]));
    bytes.splice(2..2, from[mark..mark + length].iter().copied());
    bytes
}

/// Captures some times and prints; gives the whole in decodes, in seconds, and the memory in bytes a pixel.
fn measured(photos: Vec<Vec<u8>>, runs: usize) -> (f64, f64, f64) {
    let request = Request {
        measured_mm: None,
        wish: Wish { thickness_mm: 1.1, edge: EdgeKind::Folded, trim_narrower_mm: None },
        tolerance: Tolerance::default(),
    };
    let decoded = onfold::photo::decode(&photos[0], onfold::photo::Limits::default()).expect("a photograph");
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
    let pixels = (decoded.width * decoded.height) as f64;
    let name = format!("{} x {}", decoded.width, decoded.height);
    drop(decoded);
    let before = memory("VmRSS:");
    // Sets the peak back to what is held now (proc(5), clear_refs).
    let _ = std::fs::write("/proc/self/clear_refs", "5");
    let mut seconds: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for run in 0..=runs {
        let captured = capture(&photos, &request, |_| {}).expect("an outline");
        if run > 0 {
            let total = captured.report.seconds.values().sum();
            for (stage, s) in captured.report.seconds.into_iter().chain([("whole".to_owned(), total)]) {
                seconds.entry(stage).or_default().push(s);
            }
        }
    }
    let bytes = match (memory("VmHWM:"), before) {
        (Some(peak), Some(before)) => (peak - before) / pixels - 3.0,
        _ => f64::NAN,
    };
    let median = |stage: &str| {
        let mut s = seconds[stage].clone();
        s.sort_by(f64::total_cmp);
        s[s.len() / 2]
    };
    println!("\n{name}");
    for stage in ["decode", "sheets", "outline", "curves", "pictures", "whole"] {
        println!("  {stage:9} {:7.3} ({:5.2})", median(stage), median(stage) / median("decode"));
    }
    println!("  memory beyond the picture: {bytes:.1} bytes a pixel");
    (median("whole") / median("decode"), median("whole"), bytes)
}

/// A line of the process's status, bytes.
fn memory(line: &str) -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let kilobytes = status.lines().find_map(|l| l.strip_prefix(line))?.split_whitespace().next()?;
    kilobytes.parse::<f64>().ok().map(|k| 1024.0 * k)
}
