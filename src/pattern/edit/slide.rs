//! Points moved square to the fold, and the edges that go with them.

use crate::geometry::Point;
use crate::pattern::Outline;
use crate::pattern::outline::carried;

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
        let (fixed, moving) = match (moved[index], moved[(index + 1) % count]) {
            (false, false) => continue,
            (true, true) => {
                for segment in &mut edge.segments {
                    *segment = carried(*segment, |p| Point::new(p.x + d_mm, p.y));
                }
                continue;
            }
            (true, false) => (end, start),
            (false, true) => (start, end),
        };
        let chord = moving - fixed;
        for segment in &mut edge.segments {
            *segment = carried(*segment, |p| {
                Point::new(p.x + d_mm * ((p - fixed).dot(chord) / chord.hypot2()), p.y)
            });
        }
    }
    outline.blend_joints(&smooth);
}
