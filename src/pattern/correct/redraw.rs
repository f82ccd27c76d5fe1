//! A stretch of the line drawn anew through given places.

use super::Correction;
use super::line::{self, Part, TracedLine};
use super::place::Place;
use super::problem::CorrectionProblem;
use super::spline;
use crate::geometry::Point;
use crate::pattern::{StepProblem, StepText, joint};
use crate::units::Unit;
use kurbo::ParamCurveNearest;

/// Places nearest to another are found to this, millimetres.
const NEAREST_MM: f64 = 1e-3;

/// The line between two of its places is drawn anew, smooth, through places beside it. Of the two ways between them, the one
/// goes that lies nearer to these. Where it ends at a corner, the corner stays; elsewhere it runs smoothly into what is kept.
///
/// ```toml
/// [[step]]
/// do = "traced-redraw"
/// from = "283 37"         # millimetres right and down in the traced outline
/// to = "196 279"
/// places = ["272 120", "240 210"]
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Redraw {
    from: Place,
    to: Place,
    through: Vec<Place>,
}

impl Redraw {
    /// How it is written.
    pub(super) const KIND: &str = "traced-redraw";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only_without_piece(&["from", "to", "places"])?;
        Ok(Self {
            from: Place::must(text, "from")?,
            to: Place::must(text, "to")?,
            through: Place::must_list(text, "places")?,
        })
    }
}

impl Correction for Redraw {
    fn spoken(&self) -> String {
        let count = self.through.len();
        let places = if count == 1 { "a place".to_owned() } else { format!("{count} places") };
        format!("the traced line drawn anew from {} to {} through {places}", self.from, self.to)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, line: &TracedLine) -> Result<TracedLine, CorrectionProblem> {
        let [one, other] = line.parted(&self.from, &self.to)?;
        let mut through: Vec<Point> = self.through.iter().map(|place| place.at).collect();
        let (goes, kept) = if off_mm(&one, &through) <= off_mm(&other, &through) {
            (one, other)
        } else {
            through.reverse();
            (other, one)
        };
        let places: Vec<Point> = [vec![line::start(&goes)], through, vec![line::end(&goes)]].concat();
        if let Some(k) = (1..places.len()).find(|&k| places[k].distance(places[k - 1]) < spline::APART_MM) {
            return Err(CorrectionProblem::OnePlace {
                from: Place::shown(places[k - 1]),
                to: Place::shown(places[k]),
            });
        }
        let into = joint::end_direction(&kept[kept.len() - 1].path).filter(|_| !goes[0].corner);
        let on = joint::start_direction(&kept[0].path).filter(|_| !kept[0].corner);
        let new = spline::through(&places, into, on).into_iter().map(Part::smooth).collect();
        Ok(line::joined(new, kept))
    }
}

/// How far places lie from a run, in all, millimetres.
fn off_mm(run: &[Part], places: &[Point]) -> f64 {
    let off = |place: &Point| {
        let parts = run.iter().map(|part| part.path.nearest(*place, NEAREST_MM).distance_sq);
        parts.fold(f64::INFINITY, f64::min).sqrt()
    };
    places.iter().map(off).sum()
}
