//! The boundary in the photograph itself.
//!
//! First pass: along normals of the region's boundary, each place is judged cloth or sheet, and the
//! cheapest closed way between the two is taken. Second pass: along the normals of that way, a step from
//! cloth to sheet is fitted, blurred as the lens blurs it; the sheet may be darkened as a whole (light) and
//! towards the step (contact shadow), so that the step itself is found and not the shadow's half level.

use super::backdrop::{Backdrop, Ground};
use super::colour::{self, Colour};
use super::doubt::{self, Hints};
use super::path::{Station, cheapest, smoothed, stations};
use super::region::Region;
use super::shade::Shade;
use super::smooth::Normals;
use super::step_costs::Steps;
use super::views::{View, Views};
use super::{bridge, evened, smooth, strap};
use crate::geometry::{Point, Trace, TracePoint, Vec2};
use rayon::prelude::*;

/// First pass: distance between normals, millimetres.
const SEARCH_STEP_MM: f64 = 2.0;
/// First pass: how far it looks to either side, millimetres: the region is right to a few.
const SEARCH_REACH_MM: f64 = 8.0;
/// First pass: distance between the places judged, millimetres (about a pixel).
const SEARCH_FINE_MM: f64 = 0.4;
/// First pass: what a change of one place between neighbouring normals costs; lets corners stand.
const SEARCH_BEND: f32 = 0.25;
/// First pass: change allowed between neighbours, in places.
const SEARCH_MOST: usize = 4;
/// Second pass: distance between normals, millimetres.
const FIT_STEP_MM: f64 = 1.0;
/// Second pass: what a change of one place between neighbours a millimetre apart costs.
const FIT_BEND: f32 = 1.3;
/// Second pass: change allowed between neighbours, in places.
const FIT_MOST: usize = 4;
/// Rounds along the line's own normals until its corners stand.
const ROUNDS: usize = 4;
/// A corner that moves less than this from round to round stands, millimetres.
const STANDS_MM: f64 = 0.6;
/// What every place may be wrong by for the camera, the section and the shade, which no single place shows, standard
/// deviation in millimetres: with it nine places in ten and more lie within their 95 % band on photographs with truth.
const SYSTEMATIC_MM: f64 = 0.045;
/// A standard deviation above which a place is told as bridged, millimetres.
const BRIDGED_MM: f64 = 0.6;

/// Where a stretch was settled because the picture says next to nothing there, its edge is looked for this near to it, standard deviation
/// in millimetres.
const HELD_SIGMA_MM: f64 = 1.0;

/// Refines the region's boundary: once along the searched way, then once more along the line that came of it,
/// with normals that are right up to the corners.
pub(super) fn refine(views: &mut Views<'_>, region: &Region) -> Trace {
    let searched = search(views, region);
    let first = stations(&smoothed(&searched.line, 1.2), FIT_STEP_MM, 2.0, &[]);
    views.learn_rim(&first);
    let views = &*views;
    let judge = |at: Point| evidence(views.best(at), at);
    let pass = |(stations, cut): (&[Station], &[bool]), shades: &[Shade], normals, hints: &Hints| {
        let correct = normals == Normals::Stood;
        let mixes = views.mixes(stations);
        let steps: Vec<Steps> = stations
            .par_iter()
            .zip(&mixes)
            .zip(cut)
            .map(|((s, mix), cut)| {
                let steps = if *cut { Steps::flat() } else { views.steps(s, mix, shades) };
                let steps = if correct { steps } else { steps.leaning() };
                if hints.holds(s.at) { steps.drawn_home(HELD_SIGMA_MM) } else { steps }
            })
            .collect();
        let stands_off = |at, n| if correct { views.stands_off_mm(at, n) } else { 0.0 };
        let mut points = placed((stations, cut), &steps, stands_off);
        if correct {
            let white: Vec<Option<f64>> =
                stations.par_iter().zip(&points).map(|(s, p)| views.white_beside(p.at, s)).collect();
            evened::even(&mut points, stations, &white);
        }
        let (points, corners) = bridge::bridged(points, cut);
        smooth::smooth(points, &corners, normals, hints, &judge)
    };
    let cut: Vec<bool> = first.iter().map(|s| searched.cut[s.after]).collect();
    let mut shades = views.shades(&first);
    let mut hints = Hints::default();
    let (mut seen, mut corners) = pass((&first, &cut), &shades, Normals::Turning, &hints);
    // Along the better line the strap itself is told from what lies beside it.
    let strap = |s: &Station| {
        let outward = (0..=6).map(|k| judge(along(s, 2.0 + 0.5 * f64::from(k)))).sum::<f32>();
        outward > 0.0 && searched.cut(s.at)
    };
    let along_line = |line: &[Point], corners: &[usize]| {
        let stations = stations(line, FIT_STEP_MM, 2.0, corners);
        let cut = strap::whole(stations.par_iter().map(strap).collect());
        (stations, cut)
    };
    let places = |seen: &[TracePoint]| seen.iter().map(|p| p.at).collect::<Vec<Point>>();
    // A rounding taken for a corner shows itself once the normals are those of its arms; then the line is new.
    let (mut stations, mut cut) = along_line(&places(&seen), &corners);
    for round in 0..ROUNDS {
        let before: Vec<Point> = corners.iter().map(|&c| seen[c].at).collect();
        if round == 0 {
            shades = views.shades(&stations);
        }
        (seen, corners) = pass((&stations, &cut), &shades, Normals::OfArms, &hints);
        (stations, cut) = along_line(&places(&seen), &corners);
        let stands = |c: &usize| before.iter().any(|b| b.distance(seen[*c].at) < STANDS_MM);
        if corners.len() == before.len() && corners.iter().all(stands) {
            break;
        }
    }
    let picture = Asked { views, shades: &shades, searched: &searched };
    if let Some(settled) = doubt::settle(&seen, &corners, &picture) {
        hints = settled.hints;
        (stations, cut) = along_line(&settled.line, &settled.corners);
        (seen, corners) = pass((&stations, &cut), &shades, Normals::OfArms, &hints);
        (stations, cut) = along_line(&places(&seen), &corners);
    }
    let mut sides = doubt::by_the_other_side(&seen, &corners, &picture);
    if let Some(settled) = sides.settled.take() {
        hints = hints.and_then(settled.hints);
        (stations, cut) = along_line(&settled.line, &settled.corners);
        (seen, corners) = pass((&stations, &cut), &shades, Normals::OfArms, &hints);
        (stations, cut) = along_line(&places(&seen), &corners);
    }
    // The last pass brings the line in; its corners are those that have stood.
    hints.settle(corners.iter().map(|&c| seen[c].at));
    let (mut points, corners) = pass((&stations, &cut), &shades, Normals::Stood, &hints);
    for p in &mut points {
        p.sigma_mm = p.sigma_mm.hypot(SYSTEMATIC_MM).max(sides.doubt_mm(p.at));
    }
    Trace { points, corners }
}

/// The picture as doubtful stretches ask it.
struct Asked<'a> {
    views: &'a Views<'a>,
    shades: &'a [Shade],
    searched: &'a Searched,
}

impl doubt::Picture for Asked<'_> {
    fn cloth(&self, at: Point) -> f32 {
        evidence(self.views.best(at), at)
    }

    fn misfits(&self, stations: &[Station]) -> Vec<f64> {
        let mixes = self.views.mixes(stations);
        let ways = stations.par_iter().zip(&mixes);
        ways.map(|(s, mix)| self.views.steps(s, mix, self.shades).misfit()).collect()
    }

    fn cut(&self, at: Point) -> bool {
        self.searched.cut(at)
    }
}

/// The places of the steps along the stations' normals, brought in by `correct`.
fn placed(
    (stations, cut): (&[Station], &[bool]),
    steps: &[Steps],
    correct: impl Fn(Point, Vec2) -> f64,
) -> Vec<TracePoint> {
    let costs: Vec<&[f32]> = steps.iter().map(|s| s.costs.as_slice()).collect();
    let free: Vec<bool> = stations.iter().map(|s| s.behind_corner).collect();
    let way = cheapest(&costs, &free, FIT_MOST, FIT_BEND);
    stations
        .iter()
        .zip(&way)
        .zip(steps)
        .zip(cut)
        .map(|(((s, &c), steps), &cut)| {
            let (offset_mm, sigma_mm) = steps.place(c);
            let bridged = cut || sigma_mm > BRIDGED_MM;
            let seen = s.at + s.normal * offset_mm;
            let at = seen - s.normal * correct(seen, s.normal);
            TracePoint { at, sigma_mm: if cut { 5.0 } else { sigma_mm }, bridged }
        })
        .collect()
}

/// How much more likely a place is cloth than not, log likelihood.
fn evidence(view: &View<'_>, at: Point) -> f32 {
    let scene = view.scene;
    let Some(c) = scene.camera.pixel_from_table(at, 0.0).and_then(|p| scene.photo.colour(p.x, p.y)) else {
        return 0.0;
    };
    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
    let c: Colour = c.map(|v| v as f32);
    let cloth = colour::cost(&view.cloth, c).min(CLOTH_MOST);
    backdrop_cost(view.backdrop, &view.floor, at, c).min(OTHER_MOST) - cloth
}

/// What is neither is rather cloth: the sheet is known better than the cloth.
const CLOTH_MOST: f32 = 2.5;
/// Most that a place may cost for not being sheet or floor.
const OTHER_MOST: f32 = 5.0;

/// The way found by the first pass.
struct Searched {
    line: Vec<Point>,
    cut: Vec<bool>,
}

impl Searched {
    /// Whether a strap was cut off at the nearest place of the line.
    fn cut(&self, at: Point) -> bool {
        let d = |k: usize| self.line[k].distance_squared(at);
        (0..self.line.len()).min_by(|&a, &b| d(a).total_cmp(&d(b))).is_some_and(|k| self.cut[k])
    }
}

#[expect(clippy::cast_precision_loss, reason = "a few places")]
fn search(views: &Views<'_>, region: &Region) -> Searched {
    let line = smoothed(&region.boundary, 1.5);
    let stations = stations(&line, SEARCH_STEP_MM, 6.0, &[]);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few places")]
    let half = (SEARCH_REACH_MM / SEARCH_FINE_MM).round() as usize;
    let cut: Vec<bool> = stations.iter().map(|s| region.cut[s.after]).collect();
    let costs: Vec<Vec<f32>> = stations
        .par_iter()
        .zip(&cut)
        .map(|(s, &cut)| {
            if cut {
                // Nothing to look for: stay on the smooth boundary.
                return (0..=2 * half).map(|k| k.abs_diff(half) as f32 * 0.02).collect();
            }
            row_of_costs(views.best(s.at), s, half)
        })
        .collect();
    let rows: Vec<&[f32]> = costs.iter().map(Vec::as_slice).collect();
    let way = cheapest(&rows, &vec![false; rows.len()], SEARCH_MOST, SEARCH_BEND);
    let line = stations
        .iter()
        .zip(&way)
        .map(|(s, &c)| s.at + s.normal * ((c as f64 - half as f64) * SEARCH_FINE_MM))
        .collect();
    Searched { line, cut }
}

/// Cost of each place for the boundary: what lies inside it must be cloth, what lies outside must not.
#[expect(clippy::cast_precision_loss, reason = "a few places")]
fn row_of_costs(view: &View<'_>, s: &Station, half: usize) -> Vec<f32> {
    let mut lead = vec![0f32; 2 * half + 1];
    for (k, lead) in lead.iter_mut().enumerate() {
        let at = s.at + s.normal * ((k as f64 - half as f64) * SEARCH_FINE_MM);
        #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
        let step = SEARCH_FINE_MM as f32;
        *lead = -evidence(view, at) * step;
    }
    // Boundary at place k: everything before k is cloth. Sum of (cloth - other) up to k.
    let mut sum = 0.0;
    lead.iter()
        .map(|l| {
            sum += l;
            sum
        })
        .collect()
}

/// Cost of a colour if no cloth lies there.
fn backdrop_cost(backdrop: &Backdrop, floor: &[colour::Tint], at: Point, c: Colour) -> f32 {
    let sheet = backdrop.cost(at, c).min(backdrop.shaded_cost(at, c));
    if backdrop.ground(at) == Ground::Print { sheet } else { sheet.min(unknown_cost(backdrop, floor, at, c)) }
}

/// Cost of a colour off the known sheets: the floor, or a sheet that was not recognised.
pub(super) fn unknown_cost(backdrop: &Backdrop, floor: &[colour::Tint], at: Point, c: Colour) -> f32 {
    colour::cost(floor, c).min(backdrop.unplaced_cost(at, c))
}

/// Place on a normal.
pub(super) fn along(s: &Station, offset_mm: f64) -> Point {
    s.at + Vec2::new(s.normal.x, s.normal.y) * offset_mm
}
