//! Small round holes: punched ones and those with a metal ring.
//!
//! Round spots that stand out from the cloth about them are found on a grid at the height of the cloth's face. On the
//! side towards the camera the edge of a punched hole, or the outer edge of whatever ring stands on the cloth, lies on
//! the face itself: a circle in the plane of the face through that half of the edge gives centre and radius whatever
//! the ring's height. A ring's opening has the same centre, seen moved along the camera's lean by its own height; its
//! radius and that height are found together, from its edge square to the lean, where height moves nothing across.
//! Rings of one outside are of one make: what all of them show of their openings is added up.
//!
//! A hole shows the sheet below it: ink where ink is printed, paper where paper is. What does not, or stands up from
//! the cloth as a button does, is no hole. Where the print says little (ink alone, paper alone), only a ring with a dark
//! opening is taken, or one of the size of others that are sure.

use super::backdrop::Backdrop;
use super::circle::{self, Circle};
use super::colour::{Colour, distance2};
use super::half_way::{half_hue, half_way};
use super::opening::{CREST_STEP_MM, CRESTS, Opening, RADII, RADIUS_STEP_MM, Votes, opening};
use super::region::CellMask;
use super::spot::{self, Spot};
use super::{Scene, Wish};
use crate::camera::Camera;
use crate::geometry::{Point, Trace, TracePoint, Vec2};
use rayon::prelude::*;

/// Diameters of openings that are looked for, millimetres.
const DIAMETER_MM: (f64, f64) = (3.0, 30.0);
/// Directions in which the edge is looked for.
const RAYS: i32 = 72;
/// How far the near half of an edge reaches to either side of the direction to the camera, degrees.
const NEAR_DEG: f64 = 95.0;
/// Distance between the places read along a ray, millimetres.
const FINE_MM: f64 = 0.1;
/// The step from cloth to what stands on it is over within this, millimetres.
const STEP_MM: f64 = 1.2;
/// Least step, as [`distance2`] measures colours.
const STEP_LEAST: f32 = 22.0;
/// Places within this of the circle agree with it, millimetres, and the part of them that must.
const AGREE_MM: f64 = 0.3;
const AGREE_PART: f64 = 0.6;
/// Root mean square of the agreeing places' distances that is still round, millimetres.
const ROUND_MM: f64 = 0.16;
/// A raised thing's far edge stands out by more than this, millimetres; where ink and paper both show through, by more
/// than the second.
const RAISED_MM: (f64, f64) = (0.45, 0.9);
/// How far to either side of square to the lean an opening's edge is asked, degrees.
const ASIDE_DEG: f64 = 30.0;
/// Standard deviation of an opening's radius besides its centre's, millimetres.
const OPENING_SIGMA_MM: f64 = 0.1;
/// A ring's opening is this part of its outside, at least and at most.
const OPENING_PART: (f64, f64) = (0.28, 0.85);
/// Least change of colour across a ring's inner edge.
const INNER_LEAST: f32 = 15.0;
/// Holes of one kind differ by less than this in radius, millimetres.
const ALIKE_MM: f64 = 0.35;
/// Rings of one kind differ by less than this: a bright ring seems smaller than one in the shade.
const RINGS_ALIKE_MM: f64 = 0.5;
/// Part of the places in an opening that must look as the sheet is printed there.
const PRINT_PART: f64 = 0.8;
/// Standard deviation of the height that an edge is taken to lie at, millimetres.
const HEIGHT_SIGMA_MM: f64 = 0.1;
/// Standard deviation no circle falls under: camera and sheets, millimetres.
const SIGMA_LEAST_MM: f64 = 0.05;

/// What the print below says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Proof {
    /// It contradicts.
    None,
    /// It agrees, but so would a plain dark or light thing.
    Weak,
    /// Dark as ink where ink is printed.
    Ink,
    /// Ink and paper each where they are printed.
    Both,
}

/// A round hole, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Hole {
    centre: Point,
    radius: f64,
    /// Outside radius of its metal ring.
    ring: Option<f64>,
    sigma: f64,
    proof: Proof,
}

/// Something round on the cloth: within it a ring's opening may be, or it may itself be a hole.
struct Round {
    ringed: Ringed,
    punched: Option<Hole>,
}

/// Something round within which a ring's opening may be.
struct Ringed {
    photo: usize,
    outer: Circle,
    lean: Vec2,
    sigma: f64,
    votes: Votes,
}

/// The round holes of all photographs, as lines anticlockwise.
pub(super) fn find(
    scenes: &[Scene<'_>],
    backdrops: &[Backdrop],
    cloth: &CellMask,
    wish: &Wish,
) -> Vec<Trace> {
    let looks: Vec<Look<'_>> = scenes
        .iter()
        .zip(backdrops)
        .map(|(scene, backdrop)| Look { scene, backdrop, face_mm: wish.thickness_mm })
        .collect();
    let rounds: Vec<Round> = looks
        .par_iter()
        .enumerate()
        .flat_map(|(photo, look)| {
            let spots = spot::find(look.scene, cloth, wish.thickness_mm, DIAMETER_MM.1 * 1.4);
            spots.into_par_iter().filter_map(move |s| look.round(photo, &s)).collect::<Vec<_>>()
        })
        .collect();
    let mut found: Vec<Hole> = Vec::new();
    for round in &rounds {
        let own = &round.ringed;
        let alike = |r: &&Round| (r.ringed.outer.radius - own.outer.radius).abs() < RINGS_ALIKE_MM;
        let rings = rounds.iter().filter(|r| r.punched.is_none()).filter(alike);
        let opening = opening(&rings.map(|r| &r.ringed.votes).collect::<Vec<_>>());
        // A bright ring round a dark opening may pass for paper and ink: it is a ring if it shows the opening that those of its size have.
        let opening = opening.filter(|o| round.punched.is_none() || own.votes.bear_out(*o));
        found.extend(opening.and_then(|o| looks[own.photo].ring(own, o)).or(round.punched));
    }
    let sure: Vec<Hole> = found.iter().copied().filter(Hole::sure).collect();
    // What is only likely is taken where it is like one that is sure.
    let mut kept: Vec<Hole> =
        found.into_iter().filter(|h| h.sure() || sure.iter().any(|s| s.is_like(h))).collect();
    kept.sort_by(|a, b| a.sigma.total_cmp(&b.sigma));
    let mut out: Vec<Hole> = Vec::new();
    for hole in kept {
        if out.iter().all(|o| o.centre.distance(hole.centre) > o.radius.max(hole.radius)) {
            out.push(hole);
        }
    }
    out.sort_by(|a, b| a.centre.y.total_cmp(&b.centre.y).then(a.centre.x.total_cmp(&b.centre.x)));
    out.iter().map(Hole::trace).collect()
}

impl Hole {
    fn sure(&self) -> bool {
        self.proof == Proof::Both || self.proof == Proof::Ink && self.ring.is_some()
    }

    fn is_like(&self, other: &Self) -> bool {
        let ring = match (self.ring, other.ring) {
            (Some(a), Some(b)) => (a - b).abs() < RINGS_ALIKE_MM,
            (None, None) => true,
            _ => false,
        };
        ring && (self.radius - other.radius).abs() < ALIKE_MM
    }

    /// Its line, anticlockwise as seen, a point a millimetre or closer.
    fn trace(&self) -> Trace {
        #[expect(clippy::cast_possible_truncation, reason = "a few hundred")]
        let count = ((std::f64::consts::TAU * self.radius).ceil() as i32).max(48);
        let points = (0..count)
            .map(|k| {
                let turn = -f64::from(k) / f64::from(count) * std::f64::consts::TAU;
                let at = self.centre + Vec2::from_angle(turn) * self.radius;
                TracePoint { at, sigma_mm: self.sigma, bridged: false }
            })
            .collect();
        Trace { points, corners: Vec::new() }
    }
}

/// One photograph of the cloth.
struct Look<'a> {
    scene: &'a Scene<'a>,
    backdrop: &'a Backdrop,
    /// Height of the cloth's face, millimetres.
    face_mm: f64,
}

impl Look<'_> {
    fn camera(&self) -> &Camera {
        self.scene.camera
    }

    fn colour(&self, at: Point, height_mm: f64) -> Option<Colour> {
        let p = self.camera().pixel_from_table(at, height_mm)?;
        #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
        self.scene.photo.colour(p.x, p.y).map(|c| c.map(|v| v as f32))
    }

    /// What is round at a spot.
    fn round(&self, photo: usize, spot: &Spot) -> Option<Round> {
        let cloth = self.cloth_round(spot)?;
        let lean = self.camera().lean(spot.centre);
        let tilted = lean.hypot() > 0.1;
        let to_camera = if tilted { -lean / lean.hypot() } else { Vec2::new(0.0, 1.0) };
        let reach = if tilted { NEAR_DEG } else { 180.0 };
        let near: Vec<Point> =
            fan(to_camera, reach).filter_map(|d| self.edge(spot.centre, spot.radius, d, cloth)).collect();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
        let least = (AGREE_PART * f64::from(RAYS)) as usize;
        if near.len() < least {
            return None;
        }
        let outer = circle::fit(&near, AGREE_MM, (0.6 * spot.radius, 1.5 * spot.radius))?;
        if outer.agree < AGREE_PART
            || outer.rms > ROUND_MM
            || outer.centre.distance(spot.centre) > spot.radius
        {
            return None;
        }
        let sigma = outer.sigma.hypot(HEIGHT_SIGMA_MM * lean.hypot()).hypot(SIGMA_LEAST_MM);
        let punched = self.punched(&outer, lean, tilted, cloth, sigma);
        let votes = self.votes(&outer, lean, to_camera);
        Some(Round { ringed: Ringed { photo, outer, lean, sigma, votes }, punched })
    }

    /// The hole that a ring's opening is, if the sheet shows in it.
    fn ring(&self, ring: &Ringed, Opening { radius, crest_mm }: Opening) -> Option<Hole> {
        let proof = self.print(ring.outer.centre, radius, crest_mm, ring.lean);
        (in_range(radius) && proof > Proof::None).then(|| Hole {
            centre: ring.outer.centre,
            radius,
            ring: Some(ring.outer.radius),
            sigma: ring.sigma.hypot(OPENING_SIGMA_MM),
            proof,
        })
    }

    /// A hole without a ring: the sheet shows right up to its edge.
    fn punched(&self, outer: &Circle, lean: Vec2, tilted: bool, cloth: Colour, sigma: f64) -> Option<Hole> {
        let proof = self.print(outer.centre, outer.radius, 0.0, lean);
        if proof < Proof::Ink || !in_range(outer.radius) {
            return None;
        }
        if tilted {
            let away = lean / lean.hypot();
            let mut off: Vec<f64> = fan(away, 45.0)
                .filter_map(|d| self.edge(outer.centre, outer.radius, d, cloth))
                .map(|p| p.distance(outer.centre) - outer.radius)
                .collect();
            off.sort_by(f64::total_cmp);
            let middle = off.get(off.len() / 2).copied()?;
            if middle > if proof == Proof::Both { RAISED_MM.1 } else { RAISED_MM.0 } {
                return None;
            }
        }
        Some(Hole { centre: outer.centre, radius: outer.radius, ring: None, sigma, proof })
    }

    /// Where a ring's opening may end: Hough's way with two unknowns (R. O. Duda and P. E. Hart, Commun. ACM 15, 1972,
    /// doi:10.1145/361237.361242) along rays about square to the lean.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few bins")]
    #[expect(clippy::cast_precision_loss, reason = "a few bins")]
    fn votes(&self, outer: &Circle, lean: Vec2, to_camera: Vec2) -> Votes {
        let aside = Vec2::new(-to_camera.y, to_camera.x);
        let reach = if lean.hypot() > 0.1 { ASIDE_DEG } else { 90.0 };
        let sides = [aside, -aside].map(|side| fan(side, reach).step_by(2).collect::<Vec<_>>());
        let bins = [OPENING_PART.0, OPENING_PART.1].map(|p| (p * outer.radius / RADIUS_STEP_MM) as usize);
        let mut votes = vec![[0f64; RADII]; CRESTS];
        for (h, votes) in votes.iter_mut().enumerate() {
            let centre = outer.centre + lean * (CREST_STEP_MM * h as f64);
            // The part of each side's rays that see an edge; the weaker side counts.
            let seen = sides.each_ref().map(|rays| {
                let mut seen = [0f64; RADII];
                for d in rays {
                    let ray: Vec<Option<Colour>> = (0..=bins[1] + 2 * HALF_STEP)
                        .map(|k| self.colour(centre + *d * (RADIUS_STEP_MM * k as f64), self.face_mm))
                        .collect();
                    let change = |r: usize| match (ray[r - HALF_STEP], ray[r + HALF_STEP]) {
                        (Some(a), Some(b)) => distance2(a, b).sqrt(),
                        _ => 0.0,
                    };
                    let mut own = [0f64; RADII];
                    for r in bins[0].max(HALF_STEP + 1)..bins[1].min(RADII - 3) {
                        let c = change(r);
                        if c > INNER_LEAST && c >= change(r - 1) && c > change(r + 1) {
                            for (k, vote) in
                                [(r - 2, 0.4), (r - 1, 0.8), (r, 1.0), (r + 1, 0.8), (r + 2, 0.4)]
                            {
                                own[k] = own[k].max(vote);
                            }
                        }
                    }
                    for (s, o) in seen.iter_mut().zip(own) {
                        *s += o / rays.len() as f64;
                    }
                }
                seen
            });
            // The centre may be a little off sideways: then one side sees it nearer, the other as much farther.
            for (r, vote) in votes.iter_mut().enumerate().take(RADII - SIDEWAYS).skip(SIDEWAYS) {
                for k in 0..=2 * SIDEWAYS {
                    *vote = vote.max(seen[0][r + k - SIDEWAYS].min(seen[1][r + SIDEWAYS - k]));
                }
            }
        }
        Votes(votes)
    }

    /// What the sheet seen through an opening says.
    fn print(&self, centre: Point, radius: f64, crest_mm: f64, lean: Vec2) -> Proof {
        let raised = lean * (self.face_mm + crest_mm);
        let (mut ink, mut paper, mut wrong) = (0usize, 0usize, 0usize);
        let (mut dark, mut light) = (0.0, 0.0);
        for j in -12..=12 {
            for i in -12..=12 {
                let at = centre + Vec2::new(f64::from(i), f64::from(j)) * (radius / 12.0);
                // Below the opening, and seen through it.
                if at.distance(centre) > 0.85 * radius || (at - raised).distance(centre) > 0.8 * radius {
                    continue;
                }
                let (Some(c), Some(level)) = (self.colour(at, 0.0), self.backdrop.levels(at).first()) else {
                    continue;
                };
                let part = (c[0] - level.black[0]) / (level.white[0] - level.black[0]).max(1.0);
                let hue =
                    |k: usize| level.black[k] + part.clamp(0.0, 1.0) * (level.white[k] - level.black[k]);
                let grey = (c[1] - hue(1)).abs().max((c[2] - hue(2)).abs()) < GREY_OFF;
                let whites: Vec<f32> = self.backdrop.white(at, PRINT_BLUR_MM).map(|w| w.0).collect();
                if whites.is_empty() {
                    continue;
                }
                let black_here = whites.iter().any(|w| *w < 0.1);
                let white_here = whites.iter().any(|w| *w > 0.9);
                if black_here && part < INK_MOST && grey {
                    ink += 1;
                    dark += part;
                } else if white_here && part > PAPER_LEAST && part < PAPER_MOST && grey {
                    paper += 1;
                    light += part;
                } else if black_here || white_here {
                    wrong += 1;
                }
            }
        }
        let all = ink + paper + wrong;
        #[expect(clippy::cast_precision_loss, reason = "a few hundred places")]
        let part = |n: usize| n as f64 / all.max(1) as f64;
        #[expect(clippy::cast_precision_loss, reason = "a few hundred places")]
        let clear = light / (paper.max(1) as f32) - dark / (ink.max(1) as f32) > CLEAR_PART;
        if all < 6 || part(ink + paper) < PRINT_PART {
            Proof::None
        } else if part(ink) > 0.12 && part(paper) > 0.12 && clear {
            Proof::Both
        } else if part(ink) > PRINT_PART {
            Proof::Ink
        } else {
            Proof::Weak
        }
    }

    /// The cloth's colour about a spot.
    fn cloth_round(&self, spot: &Spot) -> Option<Colour> {
        let mut seen: Vec<Colour> = Vec::new();
        for d in fan(Vec2::new(1.0, 0.0), 180.0).step_by(2) {
            for beyond in [1.5, 2.5, 3.5] {
                seen.extend(self.colour(spot.centre + d * (1.2 * spot.radius + beyond), self.face_mm));
            }
        }
        spot::median(&mut seen)
    }

    /// Where the cloth ends along a ray inwards to a spot: the place half way between cloth and what follows it.
    fn edge(&self, centre: Point, radius: f64, d: Vec2, cloth: Colour) -> Option<Point> {
        #[expect(clippy::cast_possible_truncation, reason = "a few hundred places")]
        let count = ((1.15 * radius + 1.5) / FINE_MM) as i32;
        let outermost = 1.5 * radius + 1.5;
        let seen: Vec<Colour> = (0..count)
            .map(|k| self.colour(centre + d * (outermost - FINE_MM * f64::from(k)), self.face_mm))
            .collect::<Option<_>>()?;
        let off: Vec<f32> = seen.iter().map(|c| distance2(*c, cloth).sqrt()).collect();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few places")]
        let (step, rim) = ((STEP_MM / FINE_MM) as usize, (0.35 * radius / FINE_MM) as usize);
        let mut outside: Vec<f32> = off[..rim.max(4)].to_vec();
        outside.sort_by(f32::total_cmp);
        let base = outside[outside.len() / 2];
        for k in 1..off.len() {
            if off[k] < base + 0.5 * STEP_LEAST {
                continue;
            }
            let most = off[k..(k + step).min(off.len())].iter().copied().fold(0.0, f32::max);
            if most - base > STEP_LEAST && off[k] >= 0.5 * (most + base) {
                let at = half_hue(&seen, k, step).or_else(|| half_way(&seen, &off, k, step))?;
                return Some(centre + d * (outermost - FINE_MM * at));
            }
        }
        None
    }
}

/// How far a ring's centre may be off sideways, in steps of the radius.
const SIDEWAYS: usize = 3;
/// Half the distance over which a ring's inner edge is felt, in steps of the radius.
const HALF_STEP: usize = 3;
/// Blur of the print where it is compared, millimetres.
const PRINT_BLUR_MM: f64 = 0.5;
/// Light between ink and paper up to which a place passes for ink in the shade of a hole.
const INK_MOST: f32 = 0.3;
/// Light from which it passes for paper in a hole's shade, and up to which.
const PAPER_LEAST: f32 = 0.2;
const PAPER_MOST: f32 = 1.15;
/// How far its chroma may be from that of ink and paper in this light, grey levels.
const GREY_OFF: f32 = 14.0;
/// Least difference of paper and ink in a hole, as part of that in the open.
const CLEAR_PART: f32 = 0.15;

fn in_range(radius: f64) -> bool {
    (DIAMETER_MM.0..=DIAMETER_MM.1).contains(&(2.0 * radius))
}

/// Directions evenly to both sides of a middle one.
fn fan(middle: Vec2, reach_deg: f64) -> impl Iterator<Item = Vec2> {
    (0..RAYS).map(move |k| {
        let turn = reach_deg.to_radians() * (2.0 * (f64::from(k) + 0.5) / f64::from(RAYS) - 1.0);
        let (sin, cos) = turn.sin_cos();
        Vec2::new(middle.x * cos - middle.y * sin, middle.x * sin + middle.y * cos)
    })
}
