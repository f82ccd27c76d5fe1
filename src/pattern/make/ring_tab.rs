//! A tab that holds a ring.

use super::said::Said;
use crate::pattern::bundle::Bundle;
use crate::pattern::construction::{Mark, PlainLine};
use crate::pattern::edit::Make;
use crate::pattern::inside::FixedInside;
use crate::pattern::spot::{Fixed, From};
use crate::pattern::{Hardware, LineKind, Outline, StepProblem, StepText, StrapRing};
use crate::units::{Length, Unit};
use std::f64::consts::PI;

/// A strip that goes through a ring and is sewn to itself and the body: two laps and the way round the ring's rod.
///
/// Edges: top, right, bottom, left. Two fold lines stand where the strip leaves the rod.
///
/// ```toml
/// [[step]]
/// do = "ring-tab"
/// name = "neck tab"
/// width = "28mm"
/// lap = "38mm"
/// rod = "4mm"              # thickness of the ring's rod
/// ring = "32mm"            # inside width of the ring
/// strap = "neck strap"     # the strap that the ring takes, for `onfold check`; left out: one as wide as this strip
/// thickness = "1.4mm"      # left out: that of the record
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct RingTab {
    said: Said,
    width: Length,
    lap: Length,
    rod: Length,
    ring: Length,
    strap: Option<String>,
}

/// Cut length of a ring tab: 2 lap + π (d + t) / 2, with d the thickness of the rod and t that of the material (its middle
/// goes half round a circle of d + t across; geometry).
#[must_use]
pub fn ring_tab_length(lap_mm: f64, rod_mm: f64, thickness_mm: f64) -> f64 {
    2.0 * lap_mm + PI * (rod_mm + thickness_mm) / 2.0
}

impl RingTab {
    /// How it is written.
    pub(in crate::pattern) const KIND: &str = "ring-tab";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Said::KEYS[..], &["width", "lap", "rod", "ring", "strap"]].concat())?;
        Ok(Self {
            said: Said::read(text, "ring tab")?,
            width: text.must_size("width", "width = \"28mm\"")?,
            lap: text.must_size("lap", "lap = \"38mm\"")?,
            rod: text.must_size("rod", "rod = \"4mm\"")?,
            ring: text.must_size("ring", "ring = \"32mm\", the ring's inside width")?,
            strap: text.one("strap", "strap = \"neck strap\"")?.map(str::to_owned),
        })
    }
}

impl Make for RingTab {
    fn spoken(&self) -> String {
        format!("{}: {} wide, laps of {}", self.said.spoken(), self.width, self.lap)
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.width.unit())
    }

    fn make(&self, bundle: &mut Bundle, _at: usize) -> Result<(), StepProblem> {
        let body = bundle.pieces[0].record.clone();
        let mut piece = self.said.piece_as_cut(Outline::drafted(&[(0.0, 0.0, "")]), &body, "down the piece");
        let thickness =
            piece.record.thickness.as_ref().map(Length::mm).ok_or_else(|| StepProblem::Missing {
                key: "thickness".to_owned(),
                example: "thickness = \"1.4mm\", or the material's thickness to the record".to_owned(),
            })?;
        let (wide, long) = (self.width.mm(), ring_tab_length(self.lap.mm(), self.rod.mm(), thickness));
        piece.outline = Outline::drafted(&[
            (0.0, 0.0, "top"),
            (wide, 0.0, "right"),
            (wide, long, "bottom"),
            (0.0, long, "left"),
        ]);
        let (right, left) = (piece.outline.edges()[1].from, piece.outline.edges()[3].from);
        let lap = self.lap.mm();
        let at = |edge, from| FixedInside::At { spot: Fixed { edge, from }, inset_mm: 0.0 };
        for (a, b) in [(From::Start(lap), From::End(lap)), (From::End(lap), From::Start(lap))] {
            piece.marks.push(Mark::Line(PlainLine {
                kind: LineKind::Fold,
                from: at(left, b),
                to: at(right, a),
                says: String::new(),
            }));
        }
        piece
            .hardware
            .push(Hardware { what: format!("ring {} inside, rod {}", self.ring, self.rod), count: 1 });
        let strap = self.strap.as_ref().map(|name| bundle.find(name)).transpose()?;
        piece.ring = Some(StrapRing {
            inside_mm: self.ring.mm(),
            strip_mm: wide,
            strap: strap.map(|index| bundle.pieces[index].record.piece.clone()),
        });
        bundle.add(piece)
    }
}
