//! Points moved square to the fold, and the edges that go with them.

use crate::geometry::{Affine, Point};
use crate::pattern::Outline;

/// Moves the points for which `moved` is true by `d_mm` away from the fold (x grows), heights kept.
///
/// An edge with both ends moved is translated: its arc length stays. An edge with one end moved follows
/// P' = P + w (d, 0), where w is the progress of P along the chord c from the fixed end F (0) to the moved one (1):
/// w = (P - F) · c / |c|². That map is affine, so straight edges stay exactly straight, no curve gains a kink or
/// crosses itself, and a curve that meets the fold level stays level there. Joints that were smooth are blended
/// again where two edges meet.
pub(super) fn slide_points(outline: &mut Outline, moved: &[bool], d_mm: f64) {
    let smooth = outline.smooth_joints();
    let count = outline.edges().len();
    for (index, edge) in outline.edges_mut().iter_mut().enumerate() {
        let (start, end) = (edge.start(), edge.end());
        let map = match (moved[index], moved[(index + 1) % count]) {
            (false, false) => continue,
            (true, true) => Affine::translate((d_mm, 0.0)),
            (true, false) => end_moved(end, start, d_mm),
            (false, true) => end_moved(start, end, d_mm),
        };
        for segment in &mut edge.segments {
            *segment = map * *segment;
        }
    }
    outline.blend_joints(&smooth);
}

/// The map that leaves `fixed` and carries `moving` by (d, 0).
fn end_moved(fixed: Point, moving: Point, d_mm: f64) -> Affine {
    let chord = moving - fixed;
    let k = chord * (d_mm / chord.hypot2());
    let about_fixed = Affine::new([1.0 + k.x, 0.0, k.y, 1.0, 0.0, 0.0]);
    Affine::translate(fixed.to_vec2()) * about_fixed * Affine::translate(-fixed.to_vec2())
}
