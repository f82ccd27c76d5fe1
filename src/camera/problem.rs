//! The least-squares problem of the joint solve: its unknowns, its normal equations and its rounds.

use super::equations::{Equations, Row};
use super::lens::LENS_PARAMETERS;
use super::relief::RELIEF_PARAMETERS;
use super::solve::{Observation, PhotoFacts, Priors, Solution, expected_focal_px, longer_side};
use super::{Camera, Lens, Place, Pose, Relief};
use crate::geometry::{Point, Rect, Vec2};
use nalgebra::{DMatrix, DVector, Matrix2x3, Rotation3, SMatrix, Vector2, Vector3};
use rayon::prelude::*;

/// Rounds of weights; the scale of the loss settles in three.
const ROUNDS: usize = 4;
/// Rounds with reliefs: lifts that are none sink slowly.
const RELIEVED_ROUNDS: usize = 6;
/// Steps of one round at most.
const STEPS: usize = 25;
/// Relative fall of the cost below which a round is over.
const SETTLED: f64 = 1e-9;
/// Cauchy's constant over the residuals' standard deviation: 95 % efficient on clean data (P. J. Huber and
/// E. M. Ronchetti, "Robust Statistics", 2nd ed. 2009; the value 2.385 as usually given).
const CAUCHY: f64 = 2.385;

/// Heights of boards that lie on others: three sheets of paper, millimetres.
const HEIGHT_SIGMA_MM: f64 = 0.2;
/// A corner's lift before anything is known of it, millimetres.
const LIFT_SIGMA_MM: f64 = 1.0;
/// Lifts smaller than this are held to be none: Cauchy's weights with this scale, millimetres.
const LIFT_NONE_MM: f64 = 0.04;
/// One in so many boards is among the highest.
const HIGHEST_PART: usize = 4;
/// Observations whose equations are set up by one thread.
const OBSERVED_AT_ONCE: usize = 160;

/// All unknowns as they stand.
#[derive(Debug, Clone)]
struct State {
    lenses: Vec<Lens>,
    poses: Vec<Pose>,
    places: Vec<Option<Place>>,
    reliefs: Vec<Relief>,
}

/// The unknowns, with what they are fitted to.
pub(super) struct Problem<'a> {
    photos: &'a [PhotoFacts],
    seen: &'a [Observation],
    priors: &'a Priors,
    first: Vec<Lens>,
    now: State,
    home: usize,
    /// Where each board's three parameters begin; `None` for the home board and unseen ones.
    board_at: Vec<Option<usize>>,
    /// Where each board's numbers of its relief begin; `None` when all is flat.
    relief_at: Vec<Option<usize>>,
    /// 1 / variance of what is believed of each lift.
    lift_weights: Vec<[f64; 4]>,
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
            relief_at: vec![None; places.len()],
            lift_weights: vec![[LIFT_SIGMA_MM.powi(-2); 4]; places.len()],
            now: State {
                lenses,
                poses: cameras.iter().map(|c| c.pose).collect(),
                reliefs: vec![Relief::FLAT; places.len()],
                places,
            },
            home,
            board_at,
            size,
            weights: vec![1.0; seen.len()],
        }
    }

    /// Begins anew at a solution, with the heights and lifts of the boards unknown too; `pages` are their pages in
    /// their frames, for those that may curl.
    pub(super) fn relieved(mut self, from: &Solution, pages: &[Option<Rect>]) -> Self {
        for (photo, camera) in self.photos.iter().zip(&from.cameras) {
            self.now.lenses[photo.lens] = camera.lens;
        }
        for (board, place) in self.now.places.iter().enumerate() {
            if place.is_some() {
                self.relief_at[board] = Some(self.size);
                self.size += RELIEF_PARAMETERS;
            }
            let page = pages.get(board).copied().flatten();
            let known = from.reliefs.get(board).copied().unwrap_or(Relief::FLAT);
            self.now.reliefs[board] = Relief::of_page(page).moved(known.to_array());
        }
        self
    }

    /// Residual of one observation in standard deviations of `sigma_px`; `None` behind the camera.
    fn residual_px(&self, o: &Observation) -> Option<Vector2<f64>> {
        let (_, d, ..) = self.sighted(o)?;
        let pixel = self.now.lenses[self.photos[o.photo].lens].pixel_unfolded(d);
        Some(Vector2::new(o.pixel.x - pixel.x, o.pixel.y - pixel.y))
    }

    /// Where an observation lies: before its camera, turned as that is; the direction it is seen in; its depth; and from its
    /// board's origin on the table. `None` behind the camera.
    fn sighted(&self, o: &Observation) -> Option<(Vector3<f64>, Vector2<f64>, f64, Vec2)> {
        let place = self.now.places[o.board]?;
        let pose = &self.now.poses[o.photo];
        let table = place.table_from_board(o.on_board);
        let height_mm = self.now.reliefs[o.board].height_at(o.on_board);
        let turned = pose.rotation * Vector3::new(table.x, table.y, -height_mm);
        let c = turned + pose.shift;
        (c.z > 1.0).then(|| (turned, Vector2::new(c.x / c.z, c.y / c.z), c.z, table - place.origin))
    }

    #[expect(clippy::type_complexity, reason = "the parts of one derivative")]
    fn predict(
        &self,
        o: &Observation,
    ) -> Option<(Point, Matrix2x3<f64>, SMatrix<f64, 2, LENS_PARAMETERS>, Vector3<f64>, Vec2)> {
        let (turned, d, depth, about) = self.sighted(o)?;
        let lens = &self.now.lenses[self.photos[o.photo].lens];
        let (pixel, by_direction, by_lens) = lens.pixel_with_derivatives(d);
        let by_camera = by_direction * Matrix2x3::new(1.0, 0.0, -d.x, 0.0, 1.0, -d.y) / depth;
        Some((pixel, by_camera, by_lens, turned, about))
    }

    fn cost(&self) -> f64 {
        let mut cost = 0.0;
        for (o, w) in self.seen.iter().zip(&self.weights) {
            if self.now.places[o.board].is_none() {
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
        let lenses = (0..self.now.lenses.len()).flat_map(move |l| {
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
            let (now, before) = (self.now.lenses[l].to_array(), self.first[l].to_array());
            (0..LENS_PARAMETERS).map(move |k| (LENS_PARAMETERS * l + k, now[k] - before[k], sigmas[k]))
        });
        let reliefs = self.relief_at.iter().enumerate().flat_map(move |(board, at)| {
            let values = self.now.reliefs[board].to_array();
            let [a, b, c, d] = self.lift_weights[board].map(|w| w.sqrt().recip());
            let sigmas = [HEIGHT_SIGMA_MM, a, b, c, d];
            at.iter()
                .flat_map(move |&at| (0..RELIEF_PARAMETERS).map(move |k| (at + k, values[k], sigmas[k])))
                .collect::<Vec<_>>()
        });
        lenses.chain(reliefs)
    }

    /// Normal matrix and right side of the linearised problem: parts of the observations at once, added up in their order, so
    /// that the sums are the same on any number of threads.
    fn normal(&self) -> (DMatrix<f64>, DVector<f64>) {
        let parts: Vec<Equations> = self
            .seen
            .par_chunks(OBSERVED_AT_ONCE)
            .zip(self.weights.par_chunks(OBSERVED_AT_ONCE))
            .map(|(seen, weights)| {
                let mut part = Equations::none(self.size);
                for (o, w) in seen.iter().zip(weights) {
                    self.observe(o, *w, &mut part);
                }
                part
            })
            .collect();
        let mut sum = parts.into_iter().fold(Equations::none(self.size), Equations::and);
        for (k, r, sigma) in self.prior_terms() {
            sum.expect(k, r, sigma);
        }
        sum.whole()
    }

    /// Adds what one observation says.
    fn observe(&self, o: &Observation, weight: f64, equations: &mut Equations) {
        let Some((pixel, by_camera, by_lens, turned, about)) = self.predict(o) else { return };
        let r = Vector2::new(o.pixel.x - pixel.x, o.pixel.y - pixel.y);
        let mut row = Row::default();
        row.push(LENS_PARAMETERS * self.photos[o.photo].lens, &by_lens);
        // camera = exp(w) (R table) + t: derivative by w is -[R table]x, by t the identity.
        let pose_at = LENS_PARAMETERS * self.now.lenses.len() + 6 * o.photo;
        row.push(pose_at, &(by_camera * -turned.cross_matrix()));
        row.push(pose_at + 3, &by_camera);
        let rotation = self.now.poses[o.photo].rotation;
        if let Some(at) = self.board_at[o.board] {
            let by_table = by_camera * rotation.matrix().fixed_view::<3, 2>(0, 0);
            row.push(at, &by_table);
            row.push(at + 2, &(by_table * Vector2::new(-about.y, about.x)));
        }
        if let Some(at) = self.relief_at[o.board] {
            let by_height = by_camera * -rotation.matrix().column(2);
            for (k, shape) in self.now.reliefs[o.board].shapes(o.on_board).into_iter().enumerate() {
                row.push(at + k, &(by_height * shape));
            }
        }
        equations.add(&row, r, weight / (o.sigma_px * o.sigma_px));
    }

    fn moved(&self, step: &DVector<f64>) -> State {
        let mut out = self.now.clone();
        for (l, lens) in out.lenses.iter_mut().enumerate() {
            let mut a = lens.to_array();
            a.iter_mut().enumerate().for_each(|(k, v)| *v += step[LENS_PARAMETERS * l + k]);
            *lens = Lens::from_array(a);
        }
        let base = LENS_PARAMETERS * out.lenses.len();
        for (p, pose) in out.poses.iter_mut().enumerate() {
            let v = |k: usize| step[base + 6 * p + k];
            *pose = Pose {
                rotation: Rotation3::new(Vector3::new(v(0), v(1), v(2))) * pose.rotation,
                shift: pose.shift + Vector3::new(v(3), v(4), v(5)),
            };
        }
        for (place, at) in out.places.iter_mut().zip(&self.board_at) {
            if let (Some(place), &Some(at)) = (place, at) {
                place.origin += Vec2::new(step[at], step[at + 1]);
                place.turn += step[at + 2];
            }
        }
        for (relief, at) in out.reliefs.iter_mut().zip(&self.relief_at) {
            if let Some(at) = at {
                *relief = relief.moved(std::array::from_fn(|k| step[at + k]));
            }
        }
        out
    }

    /// Runs the rounds; gives the final cost with unit weights' scale, for choosing between starts.
    pub(super) fn settle(&mut self) -> f64 {
        let mut damping = 1e-3;
        let rounds = if self.is_relieved() { RELIEVED_ROUNDS } else { ROUNDS };
        for round in 0..rounds {
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
                    let moved = self.moved(&step);
                    let old = std::mem::replace(&mut self.now, moved);
                    let trial = self.cost();
                    if trial <= cost {
                        cost = trial;
                        damping = (damping * 0.1).max(1e-12);
                        fell = true;
                        break;
                    }
                    self.now = old;
                    damping *= 10.0;
                }
                if !fell || before - cost <= SETTLED * before {
                    break;
                }
            }
            damping = 1e-3;
            if round + 1 < rounds {
                self.weigh();
                if round > 0 {
                    self.weigh_lifts();
                }
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

    fn is_relieved(&self) -> bool {
        self.relief_at.iter().any(Option::is_some)
    }

    /// Cauchy's weights on the lifts: few corners curl, and those by millimetres.
    fn weigh_lifts(&mut self) {
        for (weights, relief) in self.lift_weights.iter_mut().zip(&self.now.reliefs) {
            *weights = relief.lifts_mm.map(|l| 1.0 / (LIFT_NONE_MM * LIFT_NONE_MM + l * l));
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
        // Lifts are held by what is believed of them but for the few that the corners ask for.
        let held = self.relief_at.iter().flatten().count() * (RELIEF_PARAMETERS - 1);
        let freedom = (2.0 * total - (self.size - held) as f64).max(1.0);
        let misfit = scaled / freedom;
        let covariance = self.normal().0.cholesky().map(|c| c.inverse() * misfit);
        let focal_sigma_px = (0..self.now.lenses.len())
            .map(|l| {
                covariance.as_ref().map_or(f64::NAN, |c| c[(LENS_PARAMETERS * l, LENS_PARAMETERS * l)].sqrt())
            })
            .collect();
        self.turn_upright();
        if self.is_relieved() {
            self.raise();
        }
        let cameras = self
            .photos
            .iter()
            .zip(&self.now.poses)
            .map(|(p, &pose)| Camera {
                lens: self.now.lenses[p.lens],
                pose,
                width: p.width,
                height: p.height,
            })
            .collect();
        let State { places, reliefs, .. } = self.now;
        Solution {
            cameras,
            places,
            reliefs,
            residuals,
            weights: self.weights,
            rms_px,
            misfit,
            focal_sigma_px,
        }
    }

    /// Raises the table's plane to the highest boards, on which a garment rests; the picture is unchanged.
    #[expect(clippy::cast_precision_loss, reason = "counts are small")]
    fn raise(&mut self) {
        let boards = || self.relief_at.iter().enumerate().filter(|b| b.1.is_some()).map(|b| b.0);
        let mut heights: Vec<f64> = boards().map(|b| self.now.reliefs[b].height_mm).collect();
        heights.sort_by(|a, b| b.total_cmp(a));
        heights.truncate(heights.len().div_ceil(HIGHEST_PART));
        let by = heights.iter().sum::<f64>() / heights.len().max(1) as f64;
        let seen: Vec<usize> = boards().collect();
        for board in seen {
            self.now.reliefs[board] = self.now.reliefs[board].moved([-by, 0.0, 0.0, 0.0, 0.0]);
        }
        for pose in &mut self.now.poses {
            pose.shift -= pose.rotation * Vector3::new(0.0, 0.0, by);
        }
    }

    /// Turns the table so that the first photograph's right is its right; the picture is unchanged.
    fn turn_upright(&mut self) {
        let right = self.now.poses[0].rotation.inverse() * Vector3::x();
        let turn = right.y.atan2(right.x);
        let home = self.now.places[self.home].unwrap_or(Place::HOME).origin;
        let table_from_old = Place { origin: home, turn: -turn };
        for place in self.now.places.iter_mut().flatten() {
            let origin = table_from_old.table_from_board((place.origin - home).to_point());
            *place = Place { origin, turn: place.turn - turn };
        }
        // old = Rz(turn) (new - home) + home
        let back = Rotation3::from_axis_angle(&Vector3::z_axis(), turn);
        let home = Vector3::new(home.x, home.y, 0.0);
        for pose in &mut self.now.poses {
            pose.shift += pose.rotation * (home - back * home);
            pose.rotation *= back;
        }
    }
}
