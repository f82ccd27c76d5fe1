//! A first estimate for the joint solve: poses from homographies, boards laid where they are seen.

use super::solve::{Observation, PhotoFacts};
use super::{Camera, Lens, Place, Pose};
use crate::geometry::{Homography, Point};
use nalgebra::{Matrix3, Rotation3, Vector3};

/// Poses and places for a given set of lenses; `None` for what cannot be reached through shared boards.
pub(super) struct Start {
    pub cameras: Vec<Option<Camera>>,
    pub places: Vec<Option<Place>>,
}

/// Lays the board with the most observations at home, then goes from photograph to photograph through the
/// boards they share.
pub(super) fn start(
    photos: &[PhotoFacts],
    boards: usize,
    seen: &[Observation],
    lenses: &[Lens],
    home: usize,
) -> Start {
    let mut cameras: Vec<Option<Camera>> = vec![None; photos.len()];
    let mut places: Vec<Option<Place>> = vec![None; boards];
    places[home] = Some(Place::HOME);
    loop {
        let mut progress = false;
        // The photograph that sees most of what is already placed comes first.
        let next = (0..photos.len())
            .filter(|&p| cameras[p].is_none())
            .map(|p| (seen.iter().filter(|o| o.photo == p && places[o.board].is_some()).count(), p))
            .max_by_key(|&(n, p)| (n, usize::MAX - p));
        #[expect(clippy::collapsible_if, reason = "two questions")]
        if let Some((count, p)) = next {
            if count >= 4 {
                let pairs: Vec<_> = seen
                    .iter()
                    .filter(|o| o.photo == p)
                    .filter_map(|o| Some((places[o.board]?.table_from_board(o.on_board), o.pixel)))
                    .collect();
                if let Some(pose) = pose_from_pairs(&lenses[photos[p].lens], &pairs) {
                    let (width, height) = (photos[p].width, photos[p].height);
                    cameras[p] = Some(Camera { lens: lenses[photos[p].lens], pose, width, height });
                    progress = true;
                }
            }
        }
        for board in 0..boards {
            if places[board].is_some() {
                continue;
            }
            let pairs: Vec<_> = seen
                .iter()
                .filter(|o| o.board == board)
                .filter_map(|o| Some((o.on_board, cameras[o.photo]?.table_from_pixel(o.pixel, 0.0)?)))
                .collect();
            if let Some(place) = Place::fit(&pairs) {
                places[board] = Some(place);
                progress = true;
            }
        }
        if !progress {
            return Start { cameras, places };
        }
    }
}

/// The pose of a camera from table places and their pixels (Z. Zhang, "A flexible new technique for camera
/// calibration", PAMI 2000, doi:10.1109/34.888718, section 3.1, for one view with a known lens).
fn pose_from_pairs(lens: &Lens, pairs: &[(Point, Point)]) -> Option<Pose> {
    let directions: Vec<_> =
        pairs.iter().filter_map(|&(t, p)| lens.direction(p).map(|d| (t, Point::new(d.x, d.y)))).collect();
    let h = Homography::fit(&directions)?.matrix;
    let (h1, h2, h3) = (h.column(0).into_owned(), h.column(1).into_owned(), h.column(2).into_owned());
    let mut k = 2.0 / (h1.norm() + h2.norm());
    // The table lies in front of the camera.
    let middle = pairs.iter().fold(kurbo::Vec2::ZERO, |m, p| m + p.0.to_vec2()) / pairs.len().max(1) as f64;
    if k * (h * Vector3::new(middle.x, middle.y, 1.0)).z < 0.0 {
        k = -k;
    }
    let (r1, r2): (Vector3<f64>, Vector3<f64>) = (h1 * k, h2 * k);
    let r3 = r1.cross(&r2);
    let svd = Matrix3::from_columns(&[r1, r2, r3]).svd(true, true);
    let rotation = svd.u? * svd.v_t?;
    if rotation.determinant() < 0.0 {
        return None;
    }
    Some(Pose { rotation: Rotation3::from_matrix_unchecked(rotation), shift: h3 * k })
}
