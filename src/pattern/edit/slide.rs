//! Points moved together, and the edges that go with them.

use crate::geometry::Vec2;
use crate::pattern::outline::carried;
use crate::pattern::{Outline, StepProblem};

/// Ends of an edge nearer than this have met, millimetres: no edge is left between them.
const MET_MM: f64 = 1e-6;

/// Moves the points for which `moved` is true by `d`.
///
/// An edge with both ends moved is translated: its arc length stays. An edge with one end moved follows
/// P' = P + w d, where w is the progress of P along the chord c from the fixed end F (0) to the moved one (1):
/// w = (P - F) · c / |c|². That map is affine, so straight edges stay exactly straight, no curve gains a kink or
/// crosses itself, and with d square to the fold heights are kept and a curve that meets the fold level stays level
/// there. Joints that were smooth are blended again where two edges meet. The fold only follows along itself.
pub(super) fn move_points(outline: &mut Outline, moved: &[bool], d: Vec2) -> Result<(), StepProblem> {
    if let Some(point) = (0..moved.len()).find(|&p| moved[p] && outline.is_on_fold(p))
        && d.x != 0.0
    {
        return Err(StepProblem::OnFold { what: format!("point {}", outline.edges()[point].from) });
    }
    let smooth = outline.smooth_joints();
    for index in 0..moved.len() {
        let next = outline.after(index);
        let spoken = outline.spoken(index);
        let edge = &mut outline.edges_mut()[index];
        let (start, end) = (edge.start(), edge.end());
        let (fixed, moving) = match (moved[index], moved[next]) {
            (false, false) => continue,
            (true, true) => {
                for segment in &mut edge.segments {
                    *segment = carried(*segment, |p| p + d);
                }
                continue;
            }
            (true, false) => (end, start),
            (false, true) => (start, end),
        };
        let chord = moving - fixed;
        if (chord + d).hypot() < MET_MM {
            return Err(StepProblem::Vanishes { edge: spoken });
        }
        for segment in &mut edge.segments {
            *segment = carried(*segment, |p| p + d * ((p - fixed).dot(chord) / chord.hypot2()));
        }
    }
    outline.blend_joints(&smooth);
    Ok(())
}
