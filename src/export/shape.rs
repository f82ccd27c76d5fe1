//! A piece as plotters, cutters and drawing programs see it: closed lines, construction lines, holes and words.
//!
//! A drafted piece or plain rings enter; a [`Shape`] leaves in the same frame (a half has its fold on x = 0, y down,
//! millimetres). Writers ask no more of a piece than this, and every one of them draws the same.

use super::{ExportError, open_out};
use crate::geometry::{Affine, BezPath, PathSeg, Point, Ring};
use crate::pattern::{LineKind, Piece, Quantity, Record, WorkHole, WorkLine, WorkWords};
use kurbo::ParamCurve;

/// A piece ready to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Its name.
    pub name: String,
    /// What is written on it; `None` for a plain outline.
    pub record: Option<Record>,
    /// How many are cut.
    pub quantity: Quantity,
    /// The line that the knife follows, clockwise; on a half its last part is the fold.
    pub outer: Ring,
    /// The finished line, closed: `outer` where nothing is added.
    pub closed: Ring,
    /// The finished line where something is added to it, edge by edge without the fold, and whether it is folded there.
    pub finished: Vec<(BezPath, bool)>,
    /// The fold of a half, from its bottom to its top.
    pub fold: Option<(Point, Point)>,
    /// Holes that the photograph showed, anticlockwise.
    pub holes: Vec<Ring>,
    /// Construction lines besides folded finished edges.
    pub lines: Vec<WorkLine>,
    /// Holes to punch or drill.
    pub punched: Vec<WorkHole>,
    /// Holes of the needle.
    pub pricked: Vec<Point>,
    /// Words that the maker asked for.
    pub words: Vec<WorkWords>,
}

impl Shape {
    /// A drafted piece.
    ///
    /// # Errors
    /// [`ExportError::Construction`]; never for a piece that was drafted. [`ExportError::NotFinite`] for an outline that
    /// is not made of numbers.
    pub fn of_piece(piece: &Piece) -> Result<Self, ExportError> {
        let made = piece.construction().map_err(|problem| ExportError::Construction(Box::new(problem)))?;
        let edges = piece.outline.edges();
        let on_fold = piece.outline.on_fold();
        let drawn = &edges[..edges.len() - usize::from(on_fold)];
        let path = |segments: &[PathSeg]| BezPath::from_path_segments(segments.iter().copied());
        let is_fold_line =
            |line: &WorkLine, edge: &BezPath| line.kind == LineKind::Fold && line.path == *edge;
        let mut lines = made.lines;
        let mut finished = Vec::new();
        if made.cut.is_some() {
            // Where nothing is added, the knife follows the finished line itself.
            for edge in drawn.iter().filter(|edge| edge.allowance.is_some()) {
                let edge = path(&edge.segments);
                let before = lines.len();
                lines.retain(|line| !is_fold_line(line, &edge));
                finished.push((edge, lines.len() < before));
            }
        }
        let outer = made.cut.map_or_else(|| piece.outline.ring(), |cut| cut.ring);
        if !outer.bounds().is_finite() {
            return Err(ExportError::NotFinite { piece: piece.record.piece.clone() });
        }
        let fold = outer.segments().last().filter(|_| on_fold).map(|s| (s.start(), s.end()));
        Ok(Self {
            name: piece.record.piece.clone(),
            record: Some(piece.record.clone()),
            quantity: piece.quantity,
            outer,
            closed: piece.outline.ring(),
            finished,
            fold,
            holes: piece.holes.clone(),
            lines,
            punched: made.holes,
            pricked: made.stitching.into_iter().flat_map(|s| s.holes).collect(),
            words: made.words,
        })
    }

    /// A plain outline with its holes.
    ///
    /// # Errors
    /// [`ExportError::Nothing`] without a ring.
    pub fn of_rings(name: &str, rings: &[Ring]) -> Result<Self, ExportError> {
        let (outer, holes) = rings.split_first().ok_or(ExportError::Nothing)?;
        Ok(Self {
            name: name.to_owned(),
            record: None,
            quantity: Quantity::default(),
            outer: outer.clone(),
            closed: outer.clone(),
            finished: Vec::new(),
            fold: None,
            holes: holes.to_vec(),
            lines: Vec::new(),
            punched: Vec::new(),
            pricked: Vec::new(),
            words: Vec::new(),
        })
    }

    /// The whole of a half, everything on it mirrored but words; a whole piece as it is.
    ///
    /// # Errors
    /// [`ExportError::NotHalf`] when the last part of its line does not lie on the fold.
    pub fn opened(&self) -> Result<Self, ExportError> {
        let Some((bottom, top)) = self.fold else { return Ok(self.clone()) };
        let mut rings = open_out(&self.outer, &self.holes)?;
        let outer = rings.remove(0);
        let flip = Affine::FLIP_X;
        // What lies on the fold is its own mirror image and comes once.
        let on_fold = |p: Point| p.x.abs() < ON_FOLD_MM;
        let own_image = |path: &BezPath| path.segments().all(|s| on_fold(s.start()) && on_fold(s.end()));
        let mut out = self.clone();
        out.outer = outer;
        out.closed = open_out(&self.closed, &[])?.remove(0);
        out.holes = rings;
        out.fold = None;
        out.finished.extend(self.finished.iter().map(|(path, folded)| (flip * path.clone(), *folded)));
        let others = self.lines.iter().filter(|line| !own_image(&line.path));
        out.lines.extend(others.map(|line| WorkLine { path: flip * line.path.clone(), ..line.clone() }));
        let others = self.punched.iter().filter(|hole| !on_fold(hole.at));
        out.punched.extend(others.map(|hole| WorkHole { at: flip * hole.at, ..hole.clone() }));
        out.pricked.extend(self.pricked.iter().filter(|p| !on_fold(**p)).map(|p| flip * *p));
        let mut centre = BezPath::new();
        centre.move_to(bottom);
        centre.line_to(top);
        if !self.lines.iter().any(|line| line.kind == LineKind::Centre) {
            out.lines.push(WorkLine { kind: LineKind::Centre, says: String::new(), path: centre });
        }
        Ok(out)
    }
}

/// A fold departs from x = 0 by rounding only, millimetres.
const ON_FOLD_MM: f64 = 1e-6;
