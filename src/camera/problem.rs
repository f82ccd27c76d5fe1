//! The least-squares problem of the joint solve: its unknowns, its normal equations and its rounds.

use super::lens::LENS_PARAMETERS;
use super::solve::{Observation, PhotoFacts, Priors, Solution, expected_focal_px, longer_side};
use super::{Camera, Lens, Place, Pose};
use crate::geometry::{Point, Vec2};
use nalgebra::{DMatrix, DVector, Matrix2x3, Rotation3, SMatrix, Vector2, Vector3};

/// Rounds of weights; the scale of the loss settles in three.
const ROUNDS: usize = 4;
/// Steps of one round at most.
const STEPS: usize = 25;
/// Relative fall of the cost below which a round is over.
const SETTLED: f64 = 1e-9;
/// Cauchy's constant over the residuals' standard deviation: 95 % efficient on clean data (P. J. Huber and
/// E. M. Ronchetti, "Robust Statistics", 2nd ed. 2009; the value 2.385 as usually given).
const CAUCHY: f64 = 2.385;

/// All unknowns as they stand, with what they are fitted to.
pub(super) struct Problem<'a> {
    photos: &'a [PhotoFacts],
    seen: &'a [Observation],
    priors: &'a Priors,
    first: Vec<Lens>,
    lenses: Vec<Lens>,
    poses: Vec<Pose>,
    places: Vec<Option<Place>>,
    home: usize,
    /// Where each board's three parameters begin; `None` for the home board and unseen ones.
    board_at: Vec<Option<usize>>,
    size: usize,
    weights: Vec<f64>,
}

impl<'a> Problem<'a> {
    pub(super) fn new(
        photos: &'a [PhotoFacts],
        seen: &'a [Observation],
        priors: &'a Priors,
        lenses: Vec<Lens>,
        cameras: Vec<Camera>,
        places: Vec<Option<Place>>,
        home: usize,
    ) -> Self {
        let mut size = LENS_PARAMETERS * lenses.len() + 6 * cameras.len();
        let board_at = places
            .iter()
            .enumerate()
            .map(|(b, place)| {
                (b != home && place.is_some()).then(|| {
                    size += 3;
                    size - 3
                })
            })
            .collect();
        Self {
            photos,
            seen,
            priors,
            first: lenses.clone(),
            lenses,
            poses: cameras.iter().map(|c| c.pose).collect(),
            places,
            home,
            board_at,
            size,
            weights: vec![1.0; seen.len()],
        }
    }

    /// Residual of one observation in standard deviations of `sigma_px`; `None` behind the camera.
    fn residual_px(&self, o: &Observation) -> Option<Vector2<f64>> {
        let (pixel, ..) = self.predict(o)?;
        Some(Vector2::new(o.pixel.x - pixel.x, o.pixel.y - pixel.y))
    }

    #[expect(clippy::type_complexity, reason = "the parts of one derivative")]
    fn predict(
        &self,
        o: &Observation,
    ) -> Option<(Point, Matrix2x3<f64>, SMatrix<f64, 2, LENS_PARAMETERS>, Vector3<f64>, Vec2)> {
        let place = self.places[o.board]?;
        let pose = &self.poses[o.photo];
        let table = place.table_from_board(o.on_board);
        let turned = pose.rotation * Vector3::new(table.x, table.y, 0.0);
        let c = turned + pose.shift;
        if c.z <= 1.0 {
            return None;
        }
        let lens = &self.lenses[self.photos[o.photo].lens];
        let d = Vector2::new(c.x / c.z, c.y / c.z);
        let (pixel, by_direction, by_lens) = lens.pixel_with_derivatives(d);
        let by_camera = by_direction * Matrix2x3::new(1.0, 0.0, -d.x, 0.0, 1.0, -d.y) / c.z;
        let about = table - place.origin;
        Some((pixel, by_camera, by_lens, turned, about))
    }

    fn cost(&self) -> f64 {
        let mut cost = 0.0;
        for (o, w) in self.seen.iter().zip(&self.weights) {
            if self.places[o.board].is_none() {
                continue;
            }
            match self.residual_px(o) {
                Some(r) => cost += w * r.norm_squared() / (o.sigma_px * o.sigma_px),
                None => return f64::INFINITY,
            }
        }
        cost + self.prior_terms().map(|(_, r, s)| (r / s).powi(2)).sum::<f64>()
    }

    /// Prior terms: parameter index, value less expectation, standard deviation.
    fn prior_terms(&self) -> impl Iterator<Item = (usize, f64, f64)> + '_ {
        (0..self.lenses.len()).flat_map(move |l| {
            let photo = self.photos.iter().find(|p| p.lens == l).unwrap_or(&self.photos[0]);
            let side = longer_side(photo);
            let p = self.priors;
            let focal = if expected_focal_px(photo).is_some() { p.focal } else { 1.0 };
            let sigmas = [
                focal * self.first[l].focal_px,
                p.centre * side,
                p.centre * side,
                p.radial[0],
                p.radial[1],
                p.tangential,
                p.tangential,
                p.radial[2],
                p.aspect,
            ];
            let (now, before) = (self.lenses[l].to_array(), self.first[l].to_array());
            (0..LENS_PARAMETERS).map(move |k| (LENS_PARAMETERS * l + k, now[k] - before[k], sigmas[k]))
        })
    }

    /// Normal matrix and right side of the linearised problem.
    fn normal(&self) -> (DMatrix<f64>, DVector<f64>) {
        let mut a = DMatrix::zeros(self.size, self.size);
        let mut b = DVector::zeros(self.size);
        let pose_base = LENS_PARAMETERS * self.lenses.len();
        for (o, w) in self.seen.iter().zip(&self.weights) {
            let Some((pixel, by_camera, by_lens, turned, about)) = self.predict(o) else { continue };
            let weight = w / (o.sigma_px * o.sigma_px);
            let r = Vector2::new(o.pixel.x - pixel.x, o.pixel.y - pixel.y);
            let mut index = [0usize; LENS_PARAMETERS + 9];
            let mut jacobian = SMatrix::<f64, 2, { LENS_PARAMETERS + 9 }>::zeros();
            let mut used = LENS_PARAMETERS + 6;
            for k in 0..LENS_PARAMETERS {
                index[k] = LENS_PARAMETERS * self.photos[o.photo].lens + k;
            }
            jacobian.fixed_view_mut::<2, LENS_PARAMETERS>(0, 0).copy_from(&by_lens);
            for k in 0..6 {
                index[LENS_PARAMETERS + k] = pose_base + 6 * o.photo + k;
            }
            // camera = exp(w) (R table) + t: derivative by w is -[R table]x, by t the identity.
            let by_turn = by_camera * -turned.cross_matrix();
            jacobian.fixed_view_mut::<2, 3>(0, LENS_PARAMETERS).copy_from(&by_turn);
            jacobian.fixed_view_mut::<2, 3>(0, LENS_PARAMETERS + 3).copy_from(&by_camera);
            if let Some(at) = self.board_at[o.board] {
                let by_table = by_camera * self.poses[o.photo].rotation.matrix().fixed_view::<3, 2>(0, 0);
                jacobian.fixed_view_mut::<2, 2>(0, used).copy_from(&by_table);
                let by_turn = by_table * Vector2::new(-about.y, about.x);
                jacobian.fixed_view_mut::<2, 1>(0, used + 2).copy_from(&by_turn);
                for k in 0..3 {
                    index[used + k] = at + k;
                }
                used += 3;
            }
            for i in 0..used {
                let (jx, jy) = (jacobian[(0, i)] * weight, jacobian[(1, i)] * weight);
                b[index[i]] += jx * r.x + jy * r.y;
                for j in 0..=i {
                    a[(index[i], index[j])] += jx * jacobian[(0, j)] + jy * jacobian[(1, j)];
                }
            }
        }
        for (k, r, sigma) in self.prior_terms() {
            a[(k, k)] += 1.0 / (sigma * sigma);
            b[k] -= r / (sigma * sigma);
        }
        // Index order differs between blocks: gather both triangles into the lower one, then mirror it.
        for i in 0..self.size {
            for j in 0..i {
                let v = a[(i, j)] + a[(j, i)];
                a[(i, j)] = v;
                a[(j, i)] = v;
            }
        }
        (a, b)
    }

    fn moved(&self, step: &DVector<f64>) -> (Vec<Lens>, Vec<Pose>, Vec<Option<Place>>) {
        let lenses = self
            .lenses
            .iter()
            .enumerate()
            .map(|(l, lens)| {
                let mut a = lens.to_array();
                a.iter_mut().enumerate().for_each(|(k, v)| *v += step[LENS_PARAMETERS * l + k]);
                Lens::from_array(a)
            })
            .collect();
        let base = LENS_PARAMETERS * self.lenses.len();
        let poses = self
            .poses
            .iter()
            .enumerate()
            .map(|(p, pose)| {
                let v = |k: usize| step[base + 6 * p + k];
                Pose {
                    rotation: Rotation3::new(Vector3::new(v(0), v(1), v(2))) * pose.rotation,
                    shift: pose.shift + Vector3::new(v(3), v(4), v(5)),
                }
            })
            .collect();
        let places = self
            .places
            .iter()
            .enumerate()
            .map(|(b, place)| {
                let place = (*place)?;
                Some(match self.board_at[b] {
                    Some(at) => Place {
                        origin: place.origin + Vec2::new(step[at], step[at + 1]),
                        turn: place.turn + step[at + 2],
                    },
                    None => place,
                })
            })
            .collect();
        (lenses, poses, places)
    }

    /// Runs the rounds; gives the final cost with unit weights' scale, for choosing between starts.
    pub(super) fn settle(&mut self) -> f64 {
        let mut damping = 1e-3;
        for round in 0..ROUNDS {
            let mut cost = self.cost();
            for _ in 0..STEPS {
                let (a, b) = self.normal();
                let mut fell = false;
                let before = cost;
                while damping < 1e12 {
                    let mut damped = a.clone();
                    for k in 0..self.size {
                        damped[(k, k)] *= 1.0 + damping;
                    }
                    let Some(step) = damped.cholesky().map(|c| c.solve(&b)) else {
                        damping *= 10.0;
                        continue;
                    };
                    let (lenses, poses, places) = self.moved(&step);
                    let old = (
                        std::mem::replace(&mut self.lenses, lenses),
                        std::mem::replace(&mut self.poses, poses),
                        std::mem::replace(&mut self.places, places),
                    );
                    let trial = self.cost();
                    if trial <= cost {
                        cost = trial;
                        damping = (damping * 0.1).max(1e-12);
                        fell = true;
                        break;
                    }
                    (self.lenses, self.poses, self.places) = old;
                    damping *= 10.0;
                }
                if !fell || before - cost <= SETTLED * before {
                    break;
                }
            }
            damping = 1e-3;
            if round + 1 < ROUNDS {
                self.weigh();
            }
        }
        let mut squares: Vec<f64> =
            self.seen.iter().filter_map(|o| self.residual_px(o)).map(|r| r.norm_squared()).collect();
        squares.sort_by(f64::total_cmp);
        squares.get(squares.len() / 2).copied().unwrap_or(f64::INFINITY)
    }

    /// Cauchy's weights at the residuals' own scale (median of lengths of a plane's normal residual: 1.177 σ).
    fn weigh(&mut self) {
        let lengths: Vec<f64> = self
            .seen
            .iter()
            .map(|o| self.residual_px(o).map_or(f64::INFINITY, |r| r.norm() / o.sigma_px))
            .collect();
        let mut sorted = lengths.clone();
        sorted.sort_by(f64::total_cmp);
        let sigma = (sorted[sorted.len() / 2] / 1.177).max(1e-6);
        let scale = CAUCHY * sigma;
        for (w, r) in self.weights.iter_mut().zip(lengths) {
            *w = 1.0 / (1.0 + (r / scale).powi(2));
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "counts are small")]
    pub(super) fn finish(mut self) -> Solution {
        let residuals: Vec<Vec2> = self
            .seen
            .iter()
            .map(|o| self.residual_px(o).map_or(Vec2::new(f64::NAN, f64::NAN), |r| Vec2::new(r.x, r.y)))
            .collect();
        let total: f64 = self.weights.iter().sum();
        let squares: f64 = residuals.iter().zip(&self.weights).map(|(r, w)| w * r.hypot2()).sum();
        let rms_px = (squares / total).sqrt();
        let scaled: f64 = self
            .seen
            .iter()
            .zip(&residuals)
            .zip(&self.weights)
            .map(|((o, r), w)| w * r.hypot2() / (o.sigma_px * o.sigma_px))
            .sum();
        let freedom = (2.0 * total - self.size as f64).max(1.0);
        let covariance = self.normal().0.cholesky().map(|c| c.inverse() * (scaled / freedom));
        let focal_sigma_px = (0..self.lenses.len())
            .map(|l| {
                covariance.as_ref().map_or(f64::NAN, |c| c[(LENS_PARAMETERS * l, LENS_PARAMETERS * l)].sqrt())
            })
            .collect();
        self.turn_upright();
        let cameras = self
            .photos
            .iter()
            .zip(&self.poses)
            .map(|(p, &pose)| Camera { lens: self.lenses[p.lens], pose, width: p.width, height: p.height })
            .collect();
        Solution { cameras, places: self.places, residuals, weights: self.weights, rms_px, focal_sigma_px }
    }

    /// Turns the table so that the first photograph's right is its right; the picture is unchanged.
    fn turn_upright(&mut self) {
        let right = self.poses[0].rotation.inverse() * Vector3::x();
        let turn = right.y.atan2(right.x);
        let home = self.places[self.home].unwrap_or(Place::HOME).origin;
        let table_from_old = Place { origin: home, turn: -turn };
        for place in self.places.iter_mut().flatten() {
            let origin = table_from_old.table_from_board((place.origin - home).to_point());
            *place = Place { origin, turn: place.turn - turn };
        }
        // old = Rz(turn) (new - home) + home
        let back = Rotation3::from_axis_angle(&Vector3::z_axis(), turn);
        let home = Vector3::new(home.x, home.y, 0.0);
        for pose in &mut self.poses {
            pose.shift += pose.rotation * (home - back * home);
            pose.rotation *= back;
        }
    }
}
