//! A half opened out to the whole.

use super::Edit;
use crate::geometry::{Affine, PathSeg, Ring};
use crate::pattern::construction::{Centre, Mark};
use crate::pattern::{Corner, Edge, Letter, Outline, Piece, StepProblem, StepText};
use crate::units::Unit;

/// A half on the fold becomes the whole piece, mirrored at the fold, which stays as its centre line. Edges of the left side
/// get the names of the right side's with `left` before them, its points new letters; marks and tabs are mirrored too.
///
/// ```toml
/// [[step]]
/// do = "open"
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Open;

impl Open {
    /// How it is written.
    pub(super) const KIND: &str = "open";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[])?;
        Ok(Self)
    }
}

/// A hole this near to the fold is on it and mirrored onto itself, millimetres.
const ON_FOLD_MM: f64 = 0.05;

impl Edit for Open {
    fn spoken(&self) -> String {
        "open out to the whole".to_owned()
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let half = &piece.outline;
        if !half.on_fold() {
            return Err(StepProblem::NoFold);
        }
        let right: Vec<Edge> = half.edges()[..half.edges().len() - 1].to_vec();
        let bottom = half.edges()[half.edges().len() - 1].from;
        let mut unused = half.unused();
        let mut edges = right.clone();
        // Letters: of an edge, and of a point, to those of its mirror image.
        let (mut of_edge, mut of_point): (Vec<(Letter, Letter)>, Vec<(Letter, Letter)>) =
            (Vec::new(), vec![(right[0].from, right[0].from), (bottom, bottom)]);
        for (index, edge) in right.iter().enumerate().rev() {
            let from = if index + 1 == right.len() {
                bottom
            } else {
                let letter = unused;
                unused = unused.next();
                of_point.push((right[index + 1].from, letter));
                letter
            };
            of_edge.push((edge.from, from));
            let segments = edge.segments.iter().rev().map(|s| Affine::FLIP_X * s.reverse()).collect();
            let corner = right.get(index + 1).map_or(Corner::Full, |next| mirrored_corner(next.corner));
            edges.push(Edge {
                name: edge.name.as_ref().map(|name| format!("left {name}")),
                allowance: edge.allowance,
                corner,
                tabs: edge.tabs.iter().map(crate::pattern::Tab::mirrored).collect(),
                ..Edge::new(from, segments)
            });
        }
        piece.outline = Outline::from_edges(edges, false, unused);
        let mirrored: Vec<Mark> =
            piece.marks.iter_mut().filter_map(|m| m.mirrored(&of_edge, &of_point, ON_FOLD_MM)).collect();
        piece.marks.extend(mirrored);
        piece.marks.push(Mark::Centre(Centre { across: false }));
        let holes: Vec<Ring> = piece.holes.iter().filter_map(mirrored_ring).collect();
        piece.holes.extend(holes);
        piece.record.quantity = piece.quantity.to_string();
        // There is no fold any more.
        piece.record.grain = piece.record.grain.replace("the fold", "the centre line");
        Ok(())
    }
}

fn mirrored_ring(ring: &Ring) -> Option<Ring> {
    let segments: Vec<PathSeg> = ring.segments().iter().rev().map(|s| Affine::FLIP_X * s.reverse()).collect();
    Ring::new(segments).ok()
}

/// The edge that came before a corner comes after its mirror image.
fn mirrored_corner(corner: Corner) -> Corner {
    match corner {
        Corner::Butted { first_through, rim_mm } => Corner::Butted { first_through: !first_through, rim_mm },
        Corner::FoldedBack { first_back } => Corner::FoldedBack { first_back: !first_back },
        same => same,
    }
}
