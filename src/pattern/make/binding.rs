//! A binding for edges of a piece.

use super::said::Said;
use crate::pattern::bundle::Bundle;
use crate::pattern::construction::{Mark, PlainLine};
use crate::pattern::edit::Make;
use crate::pattern::inside::FixedInside;
use crate::pattern::spot::{Fixed, From};
use crate::pattern::{LineKind, Outline, StepProblem, StepText};
use crate::units::{Length, Unit};

/// A strip that is folded round an edge, long enough for the edges named, on both sides of a half.
///
/// Flat, a binding of finished width w is 2 w wide when its edges stay raw (leather) and 4 w when they are folded in
/// (cloth), and in both the way round the edge is added: π t / 2 for every fold of 180° of material t thick (geometry,
/// neutral axis in the middle). Edges: top, right, bottom, left; the fold lines are drawn.
///
/// ```toml
/// [[step]]
/// do = "binding"
/// name = "armhole binding"
/// edges = ["armhole"]      # of the piece that `piece` names
/// finished = "10mm"
/// ends = "15mm"            # longer at each end; left out: none
/// raw = "no"               # left out: no, its edges are folded in; or yes
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Binding {
    said: Said,
    edges: Vec<String>,
    finished: Length,
    ends: Option<Length>,
    raw: bool,
}

impl Binding {
    /// How it is written.
    pub(in crate::pattern) const KIND: &str = "binding";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Said::KEYS[..], &["edges", "finished", "ends", "raw"]].concat())?;
        Ok(Self {
            said: Said::read(text, "binding")?,
            edges: text.must_edges()?,
            finished: text.must_size("finished", "finished = \"10mm\"")?,
            ends: text.size("ends", "ends = \"15mm\"")?,
            raw: text.choice("raw", &[("no", false), ("yes", true)])?.unwrap_or(false),
        })
    }
}

impl Make for Binding {
    fn spoken(&self) -> String {
        format!("{}: {} finished, round {}", self.said.spoken(), self.finished, self.edges.join(", "))
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.finished.unit())
    }

    fn make(&self, bundle: &mut Bundle, at: usize) -> Result<(), StepProblem> {
        let bound = &bundle.pieces[at].outline;
        let mut length_mm = 0.0;
        for name in &self.edges {
            let edge = bound.find_edge(name)?;
            if bound.is_fold(edge) {
                return Err(StepProblem::OnFold { what: bound.spoken(edge) });
            }
            // An edge that ends at the fold goes on beyond it: one strip for both sides of the half.
            let through = bound.is_on_fold(edge) || bound.is_on_fold(bound.after(edge));
            length_mm += bound.edges()[edge].length_mm() * if through { 2.0 } else { 1.0 };
        }
        length_mm += 2.0 * self.ends.as_ref().map_or(0.0, Length::mm);
        let body = bundle.pieces[0].record.clone();
        let mut piece =
            self.said.piece_as_cut(Outline::drafted(&[(0.0, 0.0, "")]), &body, "on the bias, 45 degrees");
        let turn_mm = std::f64::consts::FRAC_PI_2 * piece.record.thickness.as_ref().map_or(0.0, Length::mm);
        let w = self.finished.mm();
        let (folds, wide): (Vec<f64>, f64) = if self.raw {
            (vec![w + turn_mm / 2.0], 2.0 * w + turn_mm)
        } else {
            let (first, middle) = (w, 2.0 * w + 1.5 * turn_mm);
            (
                vec![first + turn_mm / 2.0, middle, 2.0 * middle - first - turn_mm / 2.0],
                4.0 * w + 3.0 * turn_mm,
            )
        };
        piece.outline = Outline::drafted(&[
            (0.0, 0.0, "top"),
            (wide, 0.0, "right"),
            (wide, length_mm, "bottom"),
            (0.0, length_mm, "left"),
        ]);
        let (top, bottom) = (piece.outline.edges()[0].from, piece.outline.edges()[2].from);
        for fold in folds {
            let end = |edge, from| FixedInside::At { spot: Fixed { edge, from }, inset_mm: 0.0 };
            piece.marks.push(Mark::Line(PlainLine {
                kind: LineKind::Fold,
                from: end(top, From::Start(fold)),
                to: end(bottom, From::End(fold)),
                says: String::new(),
            }));
        }
        bundle.add(piece)
    }
}
