//! Several photographs of one table: which of them is asked where.
//!
//! Each station of the line is read in the photograph that shows it best; where the choice changes, the two are
//! mixed over a stretch, so that no step is left. A raised edge is seen in a different place by every camera, so each
//! photograph is read where it sees what the mean of all would see.

use super::backdrop::Backdrop;
use super::blur;
use super::colour::{self, Colour, Tint};
use super::edge::along;
use super::edge_light::Edge;
use super::path::Station;
use super::region::Region;
use super::section::Section;
use super::shade::Shade;
use super::step::{CLOTH_LEAST, Profile};
use super::step_costs::Steps;
use super::{EdgeKind, Scene, Wish};
use crate::geometry::{Point, Vec2};
use nalgebra::Vector2;
use rayon::prelude::*;

/// One photograph with what was learned from it.
#[derive(Clone)]
pub(super) struct View<'a> {
    pub scene: &'a Scene<'a>,
    pub backdrop: &'a Backdrop,
    /// The tints of the cloth in this photograph.
    pub cloth: Vec<Tint>,
    /// The tints of the floor.
    pub floor: Vec<Tint>,
    /// Standard deviation of the blur of its edges, pixels.
    pub blur_px: f64,
    /// What a place of the sheet costs at the least, squared standard deviations.
    pub sheet_least: f64,
}

/// How far beside a place the print is asked, and the blur through which, millimetres.
const BESIDE_MM: f64 = 1.0;
const BESIDE_BLUR_MM: f64 = 0.4;

/// All photographs.
#[derive(Clone)]
pub(super) struct Views<'a> {
    all: Vec<View<'a>>,
    thickness_mm: f64,
    section: Section,
}

/// Which photographs a station is read in, each with its part; the parts add up to one.
pub(super) type Mix = Vec<(usize, f64)>;

/// A photograph's outermost part of its longer side is not asked: lens models are weakest there.
const RIM_PART: f64 = 0.01;
/// What a millimetre that a raised edge leans over costs against a millimetre of blur: heights are known to about
/// a quarter.
const LEAN_PART: f64 = 0.25;
/// What a change of photograph costs, millimetres of blur times stations: a tenth of a millimetre better over a
/// hundred stations is worth one. Raising it leaves more of the line to one photograph.
const CHANGE_COST: f64 = 10.0;
/// Cost of a station in a photograph that does not show it.
const UNSEEN_COST: f64 = 1e3;
/// The rim is read from here inwards, millimetres: the line found so far may be off by as much.
const RIM_FROM_MM: f64 = 1.5;
/// Distance between the places read, millimetres.
const RIM_STEP_MM: f64 = 0.5;
/// Number of places read.
const RIM_PLACES: usize = 10;
/// Tints of the rim.
const RIM_TINTS: usize = 8;
/// A tint of a smaller part of the rim may be sheet taken in by mistake.
const RIM_SHARE_LEAST: f32 = 0.03;
/// Stations on either side of a change over which two photographs are mixed.
const MIXED: usize = 20;
/// Width of an edge from a fifth to four fifths of its height, in standard deviations of its blur.
const WIDTH_OF_BLUR: f64 = 1.683;

impl<'a> Views<'a> {
    pub(super) fn new(
        scenes: &'a [Scene<'a>],
        backdrops: &'a [Backdrop],
        region: &mut Region,
        wish: &Wish,
    ) -> Self {
        let all = scenes
            .iter()
            .zip(backdrops)
            .zip(std::mem::take(&mut region.tints))
            .map(|((scene, backdrop), tints)| View {
                scene,
                backdrop,
                cloth: tints.cloth,
                floor: tints.floor,
                blur_px: blur::sigma_px(scene),
                sheet_least: if wish.edge == EdgeKind::Paper { CLOTH_LEAST } else { 0.0 },
            })
            .collect();
        Self { all, thickness_mm: wish.thickness_mm, section: Section::new(wish) }
    }

    /// The photograph that shows a place best, whichever way the edge runs there.
    pub(super) fn best(&self, at: Point) -> &View<'a> {
        let mut best = (f64::INFINITY, 0);
        if self.all.len() > 1 {
            for (k, view) in self.all.iter().enumerate() {
                let cost = [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)]
                    .map(|n| self.cost(view, at, n))
                    .into_iter()
                    .sum::<f64>();
                if cost < best.0 {
                    best = (cost, k);
                }
            }
        }
        &self.all[best.1]
    }

    /// How well a photograph shows an edge with this normal: millimetres of blur and of doubt; the less the better.
    fn cost(&self, view: &View<'_>, at: Point, normal: Vec2) -> f64 {
        let camera = view.scene.camera;
        #[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
        let (w, h) = (camera.width as f64, camera.height as f64);
        let rim = RIM_PART * w.max(h);
        let inside = |p: &Point| p.x > rim && p.y > rim && p.x < w - 1.0 - rim && p.y < h - 1.0 - rim;
        let (Some(_), Some(pixels)) =
            (camera.pixel_from_table(at, 0.0).filter(inside), camera.pixels_per_mm(at))
        else {
            return UNSEEN_COST;
        };
        let px_per_mm = (pixels * Vector2::new(normal.x, normal.y)).norm().max(1e-3);
        WIDTH_OF_BLUR * view.blur_px / px_per_mm
            + LEAN_PART * self.thickness_mm * camera.lean(at).dot(normal).abs()
    }

    /// The photographs in which each station of a closed line is read.
    pub(super) fn mixes(&self, stations: &[Station]) -> Vec<Mix> {
        if self.all.len() < 2 {
            return vec![vec![(0, 1.0)]; stations.len()];
        }
        let costs: Vec<Vec<f64>> = stations
            .par_iter()
            .map(|s| self.all.iter().map(|v| self.cost(v, s.at, s.normal)).collect())
            .collect();
        let chosen = with_few_changes(&costs);
        let n = stations.len();
        let reach = MIXED.min(n / 2);
        (0..n)
            .map(|i| {
                let mut parts = vec![0.0; self.all.len()];
                for k in 0..=2 * reach {
                    parts[chosen[(i + n + k - reach) % n]] += 1.0;
                }
                for (part, cost) in parts.iter_mut().zip(&costs[i]) {
                    if *cost >= UNSEEN_COST {
                        *part = 0.0;
                    }
                }
                let total: f64 = parts.iter().sum();
                if total <= 0.0 {
                    return vec![(chosen[i], 1.0)];
                }
                parts.iter().enumerate().filter(|p| *p.1 > 0.0).map(|(k, p)| (k, p / total)).collect()
            })
            .collect()
    }

    /// Learns the tints of the cloth's rim, where stitches and folds run, from a band inside the line that is finer
    /// than the cells that the region was found by.
    pub(super) fn learn_rim(&mut self, stations: &[Station]) {
        let mixes = self.mixes(stations);
        for (k, view) in self.all.iter_mut().enumerate() {
            let scene = view.scene;
            let read = |(s, step): (&Station, usize)| -> Option<Colour> {
                #[expect(clippy::cast_precision_loss, reason = "a few places")]
                let at = along(s, -(RIM_FROM_MM + RIM_STEP_MM * step as f64));
                let p = scene.camera.pixel_from_table(at, 0.0)?;
                #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
                scene.photo.colour(p.x, p.y).map(|c| c.map(|v| v as f32))
            };
            let colours: Vec<Colour> = stations
                .par_iter()
                .zip(&mixes)
                .filter(|(_, mix)| mix.iter().any(|m| m.0 == k))
                .flat_map_iter(|(s, _)| (0..RIM_PLACES).filter_map(move |step| read((s, step))))
                .collect();
            view.cloth
                .extend(colour::tints(&colours, RIM_TINTS).into_iter().filter(|t| t.share > RIM_SHARE_LEAST));
        }
    }

    /// The light beside the garment as each photograph shows it.
    pub(super) fn shades(&self, stations: &[Station]) -> Vec<Shade> {
        let mixes = self.mixes(stations);
        self.all
            .iter()
            .enumerate()
            .map(|(k, view)| {
                let own: Vec<Station> = stations
                    .iter()
                    .zip(&mixes)
                    .filter(|(_, mix)| mix.iter().any(|m| m.0 == k))
                    .map(|(s, _)| self.station_in(view, s))
                    .collect();
                let off = |s: &Station| self.stands_off_in_mm(view, s.at, s.normal);
                let place = |shade: &Shade, s: &Station| {
                    Profile::read(view, &self.edge(view, s, shade), s).map(|p| p.steps().best_mm())
                };
                Shade::learn(view.scene, view.backdrop, &own, self.thickness_mm, off, place)
            })
            .collect()
    }

    /// Costs of the places of a step along a station's normal.
    pub(super) fn steps(&self, s: &Station, mix: &Mix, shades: &[Shade]) -> Steps {
        let mut read = mix.iter().filter_map(|&(k, part)| {
            let view = &self.all[k];
            let here = self.station_in(view, s);
            Some((Profile::read(view, &self.edge(view, &here, &shades[k]), &here)?.steps(), part))
        });
        let Some((mut steps, part)) = read.next() else { return Steps::flat() };
        let rest: Vec<(Steps, f64)> = read.collect();
        if !rest.is_empty() {
            steps.mix(part, &rest);
        }
        steps
    }

    /// How white the sheet looks beside a place of the line, 0 to 1; `None` where none lies.
    pub(super) fn white_beside(&self, at: Point, s: &Station) -> Option<f64> {
        // Where the raised edge is seen.
        let here = at + s.normal * (BESIDE_MM + self.stands_off_mm(at, s.normal));
        let white = self.best(at).backdrop.white(here, BESIDE_BLUR_MM).map(|w| f64::from(w.0));
        white.reduce(f64::max)
    }

    fn edge<'e>(&'e self, view: &View<'_>, s: &Station, shade: &'e Shade) -> Edge<'e> {
        Edge { section: &self.section, shade, slope: view.scene.camera.lean(s.at).dot(s.normal) }
    }

    /// Where a photograph sees what the mean of all sees at a station.
    fn station_in(&self, view: &View<'_>, s: &Station) -> Station {
        let apart = self.stands_off_in_mm(view, s.at, s.normal) - self.stands_off_mm(s.at, s.normal);
        Station { at: s.at + s.normal * apart, ..*s }
    }

    /// How far the silhouette stands off the true outline as the mean of all cameras sees it, millimetres.
    #[expect(clippy::cast_precision_loss, reason = "a few photographs")]
    pub(super) fn stands_off_mm(&self, at: Point, normal: Vec2) -> f64 {
        let sum: f64 = self.all.iter().map(|v| self.stands_off_in_mm(v, at, normal)).sum();
        sum / self.all.len() as f64
    }

    fn stands_off_in_mm(&self, view: &View<'_>, at: Point, normal: Vec2) -> f64 {
        self.section.silhouette_mm(view.scene.camera.lean(at).dot(normal))
    }
}

/// The cheapest closed choice of columns when every change costs [`CHANGE_COST`]: dynamic programming, walking once
/// and a bit round and keeping the middle.
fn with_few_changes(costs: &[Vec<f64>]) -> Vec<usize> {
    let (n, width) = (costs.len(), costs.first().map_or(0, Vec::len));
    let lap = n / 2;
    let row = |k: usize| &costs[(k + n - lap) % n];
    let mut total = row(0).clone();
    let mut from: Vec<Vec<usize>> = vec![(0..width).collect()];
    for k in 1..n + 2 * lap {
        let least = (0..width).min_by(|&a, &b| total[a].total_cmp(&total[b])).unwrap_or(0);
        let stay_or_change: Vec<usize> =
            (0..width).map(|c| if total[c] <= total[least] + CHANGE_COST { c } else { least }).collect();
        total = (0..width).map(|c| total[c].min(total[least] + CHANGE_COST) + row(k)[c]).collect();
        from.push(stay_or_change);
    }
    let mut c = (0..width).min_by(|&a, &b| total[a].total_cmp(&total[b])).unwrap_or(0);
    let mut way = vec![0; n + 2 * lap];
    for k in (0..n + 2 * lap).rev() {
        way[k] = c;
        c = from[k][c];
    }
    way[lap..lap + n].to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_choice_changes_only_where_it_pays() {
        // The second is a little better for a short while, the first is blind on a long stretch.
        let costs: Vec<Vec<f64>> = (0..1000)
            .map(|k| match k {
                300..350 => vec![0.5, 0.4],
                600..800 => vec![UNSEEN_COST, 0.6],
                _ => vec![0.5, 0.6],
            })
            .collect();
        let chosen = with_few_changes(&costs);
        assert_eq!(chosen.len(), 1000);
        for (k, c) in chosen.iter().enumerate() {
            assert_eq!(*c, usize::from((600..800).contains(&k)), "station {k}");
        }
    }
}
