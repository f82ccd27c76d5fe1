//! Height and width of a garment as a person would measure it.

use crate::geometry::{Point, Vec2};

/// Height and width of the smallest box round the points, the side nearer to the picture's upright first,
/// millimetres. Directions are tried every tenth of a degree: a metre is then right to 0.002 mm.
#[must_use]
pub(super) fn height_and_width(points: &[Point]) -> (f64, f64) {
    let extent = |axis: Vec2| {
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for p in points {
            let v = p.to_vec2().dot(axis);
            least = least.min(v);
            most = most.max(v);
        }
        most - least
    };
    let mut best = (f64::INFINITY, 0.0, 0.0);
    for tenth in -450..450 {
        let down = Vec2::from_angle(std::f64::consts::FRAC_PI_2 + f64::from(tenth).to_radians() / 10.0);
        let (height, width) = (extent(down), extent(Vec2::new(down.y, -down.x)));
        if height * width < best.0 {
            best = (height * width, height, width);
        }
    }
    (best.1, best.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turned_box_has_its_own_sides() {
        let turn = kurbo::Affine::rotate(0.2);
        let corners = [(0.0, 0.0), (300.0, 0.0), (300.0, 700.0), (0.0, 700.0)].map(|c| turn * Point::from(c));
        let (height, width) = height_and_width(&corners);
        assert!((height - 700.0).abs() < 0.5 && (width - 300.0).abs() < 0.5, "{height} {width}");
    }
}
