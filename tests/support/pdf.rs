//! What another library finds in a PDF file: `read_pdf.py` beside this file reads it with pypdf (Python package).
#![allow(dead_code, reason = "each test program uses a part of it")]
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test stops where something is not as it should be, and says what"
)]

use serde_json::Value;
use std::path::Path;
use std::process::Command;

/// The file as pypdf sees it.
pub(crate) fn read(file: &Path) -> Pdf {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/read_pdf.py");
    let there =
        Command::new("python3").args(["-c", "import pypdf"]).output().is_ok_and(|o| o.status.success());
    assert!(
        there,
        "this test reads PDF files with Python's pypdf; install it: apt-get install python3-pypdf"
    );
    let output = Command::new("python3").arg(script).arg(file).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    Pdf { value: serde_json::from_slice(&output.stdout).unwrap() }
}

/// A file that was read.
pub(crate) struct Pdf {
    value: Value,
}

/// One drawn line or fill of a page, millimetres.
#[derive(Debug)]
pub(crate) struct Path2 {
    pub(crate) layer: String,
    pub(crate) width_mm: f64,
    pub(crate) dashes_mm: Vec<f64>,
    pub(crate) clip: Option<[f64; 4]>,
    pub(crate) subpaths: Vec<Subpath>,
}

/// One run of a path.
#[derive(Debug)]
pub(crate) struct Subpath {
    pub(crate) points: Vec<[f64; 2]>,
    pub(crate) closed: bool,
}

impl Subpath {
    /// Left, top, right, bottom.
    pub(crate) fn bounds(&self) -> [f64; 4] {
        self.points.iter().fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |b, p| {
            [b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])]
        })
    }
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

impl Pdf {
    pub(crate) fn get(&self, key: &str) -> &Value {
        &self.value[key]
    }

    pub(crate) fn layers(&self) -> Vec<&str> {
        self.value["layers"].as_array().unwrap().iter().map(|v| v.as_str().unwrap()).collect()
    }

    pub(crate) fn pages(&self) -> &[Value] {
        self.value["pages"].as_array().unwrap()
    }

    pub(crate) fn words(&self, page: usize) -> &str {
        self.pages()[page]["words"].as_str().unwrap()
    }

    /// The stroked paths of a page.
    pub(crate) fn strokes(&self, page: usize) -> Vec<Path2> {
        let paths = self.pages()[page]["paths"].as_array().unwrap();
        let stroked = paths.iter().filter(|p| p["stroked"].as_bool().unwrap());
        stroked
            .map(|p| Path2 {
                layer: p["layer"].as_str().unwrap_or_default().to_owned(),
                width_mm: p["width_mm"].as_f64().unwrap(),
                dashes_mm: numbers(&p["dashes_mm"]),
                clip: p["clip"].as_array().map(|_| numbers(&p["clip"]).try_into().unwrap()),
                subpaths: p["subpaths"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|s| Subpath {
                        points: s["points"]
                            .as_array()
                            .unwrap()
                            .iter()
                            .map(|xy| numbers(xy).try_into().unwrap())
                            .collect(),
                        closed: s["closed"].as_bool().unwrap(),
                    })
                    .collect(),
            })
            .collect()
    }
}
