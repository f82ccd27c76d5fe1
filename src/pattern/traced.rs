//! The traced piece as text: exact segments, corners, and the traced points that they were fitted to.
//!
//! ```text
//! {"format":1,"unit":"mm","rings":[{"segments":[[x0,y0,x1,y1],[x0,y0,x1,y1,x2,y2,x3,y3],...],"corners":[0,...],
//!   "worst_mm":w,"rms_mm":r,"sigma_mm":s,"strays":n,"trace":{"points":[[x,y,sigma,bridged],...],"corners":[...]}},...]}
//! ```
//! Four numbers are a line, eight a cubic Bézier; the first ring is the outer line, further ones are holes. `bridged`
//! is 1 where the photograph showed no edge, else 0. Coordinates are rounded to a millionth of a millimetre, so
//! that they read back to the last digit.

use crate::curve::Fitted;
use crate::geometry::{CubicBez, PathSeg, Point, Ring, RingError, Trace, TracePoint};
use serde::{Deserialize, Serialize};

/// Version of the text that this program writes, and the only one that it reads.
const FORMAT: u32 = 1;

/// Coordinates are rounded to this part of a millimetre: a nanometre, six orders below any cut.
const STEPS_PER_MM: f64 = 1e6;

/// A traced piece: its outer line and its holes, each with the trace that it was fitted to.
#[derive(Debug, Clone, PartialEq)]
pub struct Traced {
    /// The outer line, clockwise.
    pub outer: TracedRing,
    /// Holes, anticlockwise.
    pub holes: Vec<TracedRing>,
}

/// A fitted ring and the trace that it was fitted to.
#[derive(Debug, Clone, PartialEq)]
pub struct TracedRing {
    /// The ring.
    pub fitted: Fitted,
    /// The traced points.
    pub trace: Trace,
}

/// Why a text is no traced piece.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum TracedError {
    /// It does not read.
    #[error("it does not read ({0}); capture the photograph again")]
    Unreadable(#[from] serde_json::Error),
    /// A newer program wrote it.
    #[error("it has format {found}, this program reads format {FORMAT}; use the newer program that wrote it")]
    Format {
        /// What it says.
        found: u32,
    },
    /// A ring does not close or has no sense.
    #[error("ring {ring} is damaged ({what}); capture the photograph again")]
    Damaged {
        /// Which ring, from 0 for the outer line.
        ring: usize,
        /// What is wrong with it.
        what: String,
    },
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    format: u32,
    unit: String,
    rings: Vec<FileRing>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FileRing {
    segments: Vec<Vec<f64>>,
    corners: Vec<usize>,
    worst_mm: f64,
    rms_mm: f64,
    sigma_mm: f64,
    strays: usize,
    trace: FileTrace,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FileTrace {
    points: Vec<(f64, f64, f64, u8)>,
    corners: Vec<usize>,
}

/// Only the version, which must be read before anything else may be understood.
#[derive(Deserialize)]
struct Version {
    format: u32,
}

impl Traced {
    /// The piece as text.
    #[must_use]
    pub fn to_text(&self) -> String {
        let rings = std::iter::once(&self.outer).chain(&self.holes).map(FileRing::from).collect();
        let file = File { format: FORMAT, unit: "mm".to_owned(), rings };
        // Numbers and lists only: nothing that could fail to be written.
        serde_json::to_string(&file).unwrap_or_default()
    }

    /// Reads what [`Traced::to_text`] wrote.
    ///
    /// # Errors
    /// [`TracedError`].
    pub fn from_text(text: &str) -> Result<Self, TracedError> {
        let Version { format } = serde_json::from_str(text)?;
        if format != FORMAT {
            return Err(TracedError::Format { found: format });
        }
        let file: File = serde_json::from_str(text)?;
        let mut rings = file
            .rings
            .into_iter()
            .enumerate()
            .map(|(index, ring)| ring.read().map_err(|what| TracedError::Damaged { ring: index, what }));
        let outer = rings
            .next()
            .ok_or_else(|| TracedError::Damaged { ring: 0, what: "it is missing".to_owned() })??;
        Ok(Self { outer, holes: rings.collect::<Result<_, _>>()? })
    }
}

fn rounded(v: f64) -> f64 {
    (v * STEPS_PER_MM).round() / STEPS_PER_MM + 0.0
}

impl From<&TracedRing> for FileRing {
    fn from(ring: &TracedRing) -> Self {
        let flat = |points: &[Point]| points.iter().flat_map(|p| [rounded(p.x), rounded(p.y)]).collect();
        let segment = |s: &PathSeg| match s {
            PathSeg::Line(l) => flat(&[l.p0, l.p1]),
            PathSeg::Quad(q) => {
                let c = q.raise();
                flat(&[c.p0, c.p1, c.p2, c.p3])
            }
            PathSeg::Cubic(c) => flat(&[c.p0, c.p1, c.p2, c.p3]),
        };
        let point =
            |p: &TracePoint| (rounded(p.at.x), rounded(p.at.y), rounded(p.sigma_mm), u8::from(p.bridged));
        Self {
            segments: ring.fitted.ring.segments().iter().map(segment).collect(),
            corners: ring.fitted.corners.clone(),
            worst_mm: rounded(ring.fitted.worst_mm),
            rms_mm: rounded(ring.fitted.rms_mm),
            sigma_mm: rounded(ring.fitted.sigma_mm),
            strays: ring.fitted.strays,
            trace: FileTrace {
                points: ring.trace.points.iter().map(point).collect(),
                corners: ring.trace.corners.clone(),
            },
        }
    }
}

impl FileRing {
    fn read(self) -> Result<TracedRing, String> {
        let segments: Vec<PathSeg> = self
            .segments
            .iter()
            .enumerate()
            .map(|(i, s)| match s[..] {
                [a, b, c, d] => Ok(PathSeg::Line(kurbo::Line::new((a, b), (c, d)))),
                [a, b, c, d, e, f, g, h] => Ok(PathSeg::Cubic(CubicBez::new((a, b), (c, d), (e, f), (g, h)))),
                _ => Err(format!("segment {i} has {} numbers, not 4 or 8", s.len())),
            })
            .collect::<Result<_, _>>()?;
        let count = segments.len();
        let points = self.trace.points.len();
        if self.corners.iter().any(|&c| c >= count) || self.trace.corners.iter().any(|&c| c >= points) {
            return Err("a corner lies past the end".to_owned());
        }
        let ring = Ring::new(segments).map_err(|e: RingError| e.to_string())?;
        let point =
            |(x, y, sigma_mm, bridged)| TracePoint { at: Point::new(x, y), sigma_mm, bridged: bridged != 0 };
        Ok(TracedRing {
            fitted: Fitted {
                ring,
                corners: self.corners,
                worst_mm: self.worst_mm,
                rms_mm: self.rms_mm,
                sigma_mm: self.sigma_mm,
                strays: self.strays,
            },
            trace: Trace {
                points: self.trace.points.into_iter().map(point).collect(),
                corners: self.trace.corners,
            },
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ring(points: [(f64, f64); 3], handle: (f64, f64)) -> TracedRing {
        let p = points.map(Point::from);
        let segments = vec![
            PathSeg::Line(kurbo::Line::new(p[0], p[1])),
            PathSeg::Cubic(CubicBez::new(p[1], Point::from(handle), p[2], p[2])),
            PathSeg::Line(kurbo::Line::new(p[2], p[0])),
        ];
        TracedRing {
            fitted: Fitted {
                ring: Ring::new(segments).unwrap(),
                corners: vec![0, 2],
                worst_mm: 0.123_456_7,
                rms_mm: 0.1,
                sigma_mm: 0.05,
                strays: 3,
            },
            trace: Trace {
                points: p
                    .iter()
                    .map(|at| TracePoint { at: *at, sigma_mm: 0.07, bridged: at.x > 100.0 })
                    .collect(),
                corners: vec![1],
            },
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { rng_seed: proptest::test_runner::RngSeed::Fixed(3), ..ProptestConfig::default() })]

        #[test]
        fn what_is_written_reads_back(v in prop::array::uniform8(-2000.0..2000.0f64)) {
            let outer = ring([(v[0], v[1]), (v[2], v[3]), (v[4], v[5])], (v[6], v[7]));
            let traced = Traced { holes: vec![outer.clone()], outer };
            let text = traced.to_text();
            let back = Traced::from_text(&text).unwrap();
            prop_assert_eq!(&back.to_text(), &text, "to the last digit");
            prop_assert_eq!(&Traced::from_text(&back.to_text()).unwrap(), &back);
            for (a, b) in traced.outer.fitted.ring.segments().iter().zip(back.outer.fitted.ring.segments()) {
                prop_assert!(kurbo::ParamCurve::eval(a, 0.3).distance(kurbo::ParamCurve::eval(b, 0.3)) < 2e-6);
            }
            prop_assert_eq!(back.outer.trace.points.len(), 3);
        }
    }

    #[test]
    fn damage_is_told() {
        let good =
            Traced { outer: ring([(0.0, 0.0), (9.0, 0.0), (9.0, 9.0)], (5.0, 5.0)), holes: Vec::new() }
                .to_text();
        for (from, to, told) in [
            ("\"format\":1", "\"format\":2", "format 2"),
            ("\"corners\":[0,2]", "\"corners\":[0,9]", "past the end"),
            ("[0.0,0.0,9.0,0.0]", "[0.0,0.0,8.0,0.0]", "segment 1 begins"),
            ("[0.0,0.0,9.0,0.0]", "[0.0,0.0,9.0]", "has 3 numbers"),
            ("\"strays\"", "\"strains\"", "strains"),
            ("]}}]}", "]", "does not read"),
        ] {
            assert!(good.contains(from), "{from} in {good}");
            let error = Traced::from_text(&good.replacen(from, to, 1)).unwrap_err().to_string();
            assert!(error.contains(told), "{told}: {error}");
        }
    }
}
