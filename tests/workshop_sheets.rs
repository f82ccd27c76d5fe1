//! Workshop sheets: figures against the trade's table of check values, and the tables read back as CSV by Python.
#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it should be")]

use kurbo::Line;
use onfold::export::workshop::{self, Workshop};
use onfold::geometry::{PathSeg, Ring};
use onfold::pattern::{Outline, Piece, Recipe, Record, StepText, draft};
use onfold::sheet::Paper;

const INCH: f64 = 25.4;

/// Half apron of the trade's check value 1: fold 29, hem 12, top 5, straight cut from the top's end to 10 below it.
fn half(steps: Vec<StepText>) -> Workshop {
    let p =
        [(0.0, 0.0), (5.0, 0.0), (12.0, 10.0), (12.0, 29.0), (0.0, 29.0)].map(|(x, y)| (x * INCH, y * INCH));
    let lines = (0..5).map(|i| PathSeg::Line(Line::new(p[i], p[(i + 1) % 5]))).collect();
    let outline = Outline::from_half(&Ring::new(lines).unwrap(), &[0, 1, 2, 3, 4]);
    let record =
        Record { style: "Potter's apron".to_owned(), material: "canvas".to_owned(), ..Record::default() };
    Workshop::new(&draft(&Piece::new(outline, record), &Recipe { steps, ..Recipe::default() }).unwrap())
        .unwrap()
}

#[test]
fn areas_and_lengths_after_the_trades_table() {
    let text = workshop::text(&half(Vec::new()));
    // Check value 1 (geometry): whole 626 in², 4.347 ft²; slant 12.207 in.
    assert!(text.contains("0.404 m² (4.35 ft²)"), "{text}");
    let slant = 7.0_f64.hypot(10.0);
    assert!((slant - 12.207).abs() < 5e-4 && text.contains(&format!("{:.1} mm", slant * INCH)), "{text}");
    assert!(text.contains("736.6 mm (29 in)") && text.contains("609.6 mm (24 in)"), "{text}");
    // Net area times 1.25 to 1.33 (common practice): 5.43 to 5.78 ft².
    assert!(text.contains("(5.43 ft²) to") && text.contains("(5.78 ft²) with waste"), "{text}");
}

#[test]
fn the_tables_read_back_as_csv() {
    let side = vec!["C-D".to_owned()];
    let seam = StepText::new("allowance").with_list("edges", &side).with("seam", "1/2in");
    let stitch = StepText::new("stitch").with_list("edges", &side).with("pitch", "4mm").with("inset", "4mm");
    let sheets = half(vec![seam, stitch.with("through", "3mm")]);
    let script = "import csv, io, json, sys\n\
        print(json.dumps(list(csv.reader(io.TextIOWrapper(sys.stdin.buffer, encoding='utf-8', newline='')))))";
    let mut child = std::process::Command::new("python3")
        .args(["-c", script])
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .expect("Python 3 is part of what the tests need");
    let csv = workshop::csv(&sheets);
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), csv.as_bytes()).unwrap();
    let rows: Vec<Vec<String>> = serde_json::from_slice(&child.wait_with_output().unwrap().stdout).unwrap();
    assert_eq!(rows.iter().filter(|row| row.len() == 1).count(), 3, "three titles");
    let row = |what: &str| rows.iter().find(|row| row.iter().any(|f| f.contains(what))).unwrap().clone();
    assert_eq!(row("edge C-D")[2], format!("{:.2}", 19.0 * INCH));
    assert!(row("edge C-D")[4].contains("seam 12.7 mm"));
    let thread = row("thread, saddle stitch");
    // Saddle stitch (geometry): 2 (1 + T / p) times the line, and tails of 150 to 200 mm on each needle.
    let [length, pitch]: [f64; 2] = [2, 4].map(|k| thread[k].parse().unwrap());
    let line = 19.0 * INCH;
    let holes: f64 = thread[3].parse().unwrap();
    assert!((pitch - 4.0).abs() < 0.05 && holes > 2.0 * line / 4.0, "both sides of the whole: {thread:?}");
    let bare = 2.0 * 2.0 * (1.0 + 3.0 / pitch) * line;
    assert!(length > bare - 60.0 && length < bare + 900.0, "{length} against {bare}");
}

#[test]
fn steps_come_in_the_trades_order_and_pages_hold_them() {
    let side = vec!["C-D".to_owned()];
    let turned = StepText::new("allowance").with_list("edges", &side).with("turned", "1/2in");
    let skive = StepText::new("skive").with_list("edges", &side).with("width", "1in");
    let sheets = half(vec![turned, skive]);
    let titles: Vec<&str> = sheets.steps.iter().map(|step| step.title).collect();
    let order = ["Check the print", "Mock-up", "Choose the material", "Lay out and mark", "Cut", "Skive"];
    assert_eq!(titles[..6], order);
    assert_eq!(titles[6..], ["Cement and turn", "Try on, keep the master"]);
    assert_eq!(sheets.cautions.len(), 5);
    let pages = workshop::pages(&sheets, Paper::Letter);
    assert!(!pages.is_empty() && pages.iter().all(|p| (p.width_mm - 215.9).abs() < 1e-9));
}
