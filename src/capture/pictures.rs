//! Pictures of a capture: the table seen straight down with the outline on it, and the photograph with the
//! sheets that were found.

use super::{CapturedRing, Located};
use crate::camera::Camera;
use crate::geometry::{Point, Rect, Ring, Vec2};
use crate::ink::{Inner, Meaning};
use crate::outline::Scene;
use crate::photo::Photo;
use crate::sheet::layout;
use jpeg_encoder::{ColorType, Encoder};
use rayon::prelude::*;
use std::collections::BTreeSet;
use tiny_skia::{Color, LineCap, LineJoin, Paint, PathBuilder, PixmapMut, Stroke, Transform};

/// A picture file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CapturePicture {
    /// Its file name.
    pub name: String,
    /// Its bytes (JPEG).
    pub bytes: Vec<u8>,
}

/// Pixels a millimetre of the picture seen straight down.
const PX_PER_MM: f64 = 1.0;
/// Longest side of any picture, pixels.
const SIDE_MOST: f64 = 1600.0;
/// Round the garment, millimetres.
const MARGIN_MM: f64 = 60.0;
/// The map from picture to photograph is exact at this spacing and linear between, pixels.
const MAP_STEP: usize = 16;
/// JPEG quality.
const QUALITY: u8 = 85;

/// Name of the picture of the table seen straight down, without the outline.
pub const TABLE: &str = "table.jpg";

/// What the pictures seen straight down show: the window round a traced outer line, in the table's frame, millimetres.
#[must_use]
pub fn table_window(outer: &Ring) -> Rect {
    let window = outer.bounds().inflate(MARGIN_MM, MARGIN_MM);
    let (k, width, height) = size(window);
    // Whole pixels: the last part of one is not shown.
    #[expect(clippy::cast_precision_loss, reason = "bounded by SIDE_MOST")]
    Rect::from_origin_size(window.origin(), (width as f64 / k, height as f64 / k))
}

/// Pixels a millimetre of a picture of a window, and its width and height in pixels.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "bounded by SIDE_MOST")]
fn size(window: Rect) -> (f64, usize, usize) {
    let k = PX_PER_MM.min(SIDE_MOST / window.width().max(window.height()));
    (k, (window.width() * k) as usize, (window.height() * k) as usize)
}

/// Draws the pictures.
pub(super) fn draw(
    scenes: &[Scene<'_>],
    located: &Located,
    outer: &CapturedRing,
    holes: &[CapturedRing],
) -> Vec<CapturePicture> {
    let each = || {
        let sheets = |k: usize| {
            let name = if k == 0 { "sheets.jpg".to_owned() } else { format!("sheets-{}.jpg", k + 1) };
            (name, sheets(&scenes[k], located, k))
        };
        (0..scenes.len()).into_par_iter().map(sheets).collect::<Vec<_>>()
    };
    let ([table, outline], sheets) = rayon::join(|| table_and_outline(scenes, outer, holes), each);
    [("outline.jpg".to_owned(), outline), (TABLE.to_owned(), table)]
        .into_iter()
        .chain(sheets)
        .filter_map(|(name, bytes)| Some(CapturePicture { name, bytes: bytes? }))
        .collect()
}

/// The paper seen straight down, its lines coloured by what they are proposed to be.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "bounded by SIDE_MOST")]
pub(super) fn lines(scenes: &[Scene<'_>], outer: &CapturedRing, inner: &[Inner]) -> Option<CapturePicture> {
    let window = outer.fitted.ring.bounds().inflate(MARGIN_MM / 2.0, MARGIN_MM / 2.0);
    let k = (2.0 * PX_PER_MM).min(SIDE_MOST / window.width().max(window.height()));
    let (width, height) = ((window.width() * k) as usize, (window.height() * k) as usize);
    let mut raster = straight_down(scenes, window, k, width, height);
    let at = |p: &Point| (((p.x - window.x0) * k) as f32, ((p.y - window.y0) * k) as f32);
    raster.lines(|map| {
        let mut ring: Vec<_> = outer.fitted.ring.flatten(0.05).iter().map(at).collect();
        ring.extend(ring.first().copied());
        stroke(map, &ring, Color::from_rgba8(0, 90, 255, 255), 2.5);
        for line in inner {
            let [r, g, b] = colour_of(line.is);
            for part in &line.strokes {
                let points: Vec<_> = part.iter().map(at).collect();
                stroke(map, &points, Color::from_rgba8(r, g, b, 255), 2.5);
            }
        }
        // The key: a bar of each colour that is used, in the order of the list in the README.
        let kinds: BTreeSet<Meaning> = inner.iter().map(|l| l.is).collect();
        for (row, kind) in kinds.iter().enumerate() {
            let [r, g, b] = colour_of(*kind);
            let y = 12.0 + 12.0 * row as f32;
            stroke(map, &[(10.0, y), (40.0, y)], Color::from_rgba8(r, g, b, 255), 6.0);
        }
    });
    Some(CapturePicture { name: "lines.jpg".to_owned(), bytes: raster.jpeg()? })
}

/// Colours of the kinds of inner lines.
const fn colour_of(is: Meaning) -> [u8; 3] {
    match is {
        Meaning::Grain => [0, 150, 60],
        Meaning::Hem => [200, 0, 200],
        Meaning::Dart => [230, 0, 0],
        Meaning::Placement => [0, 170, 190],
        Meaning::Notch => [255, 110, 0],
        Meaning::Cross => [120, 60, 255],
        Meaning::Drill => [255, 60, 140],
        Meaning::Inner => [110, 110, 0],
    }
}

/// A raster with 4 bytes a pixel.
#[derive(Clone)]
struct Raster {
    width: usize,
    height: usize,
    rgba: Vec<u8>,
}

impl Raster {
    #[expect(clippy::cast_possible_truncation, reason = "bounded by SIDE_MOST")]
    fn lines(&mut self, draw: impl FnOnce(&mut PixmapMut<'_>)) {
        if let Some(mut map) = PixmapMut::from_bytes(&mut self.rgba, self.width as u32, self.height as u32) {
            draw(&mut map);
        }
    }

    fn jpeg(&self) -> Option<Vec<u8>> {
        let mut bytes = Vec::new();
        let (w, h) = (u16::try_from(self.width).ok()?, u16::try_from(self.height).ok()?);
        Encoder::new(&mut bytes, QUALITY).encode(&self.rgba, w, h, ColorType::Rgba).ok()?;
        Some(bytes)
    }
}

/// The table seen straight down, alone and with the outline and the holes coloured by their standard deviation.
#[expect(clippy::cast_possible_truncation, reason = "bounded by SIDE_MOST")]
fn table_and_outline(
    scenes: &[Scene<'_>],
    outer: &CapturedRing,
    holes: &[CapturedRing],
) -> [Option<Vec<u8>>; 2] {
    let window = outer.fitted.ring.bounds().inflate(MARGIN_MM, MARGIN_MM);
    let (k, width, height) = size(window);
    let table = straight_down(scenes, window, k, width, height);
    let mut raster = table.clone();
    let at = |p: Point| (((p.x - window.x0) * k) as f32, ((p.y - window.y0) * k) as f32);
    let lines = |map: &mut PixmapMut<'_>| {
        let rings = std::iter::once(outer).chain(holes).map(|ring| &ring.trace.points);
        for (points, i) in rings.flat_map(|points| (0..points.len()).map(move |i| (points, i))) {
            let (a, b) = (points[i], points[(i + 1) % points.len()]);
            let colour = if a.bridged {
                Color::from_rgba8(255, 0, 200, 255)
            } else {
                // Blue where it is good to a tenth of a millimetre, over yellow, to red at half a millimetre.
                let t = ((a.sigma_mm - 0.1) / 0.4).clamp(0.0, 1.0) as f32;
                Color::from_rgba(t.min(0.5) * 2.0, 0.6, 1.0 - t, 1.0).unwrap_or(Color::BLACK)
            };
            stroke(map, &[at(a.at), at(b.at)], colour, 2.5);
        }
    };
    let outline = || {
        raster.lines(lines);
        raster.jpeg()
    };
    let (table, outline) = rayon::join(|| table.jpeg(), outline);
    [table, outline]
}

/// The photograph made small, with every sheet's board drawn where it was found.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "bounded by SIDE_MOST")]
#[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
fn sheets(scene: &Scene<'_>, located: &Located, index: usize) -> Option<Vec<u8>> {
    let photo = scene.photo;
    let factor = ((photo.width.max(photo.height) as f64 / SIDE_MOST).ceil() as usize).max(1);
    let mut raster = reduced(photo, factor);
    let camera = scene.camera;
    let small = |p: Point| ((p.x / factor as f64) as f32, (p.y / factor as f64) as f32);
    raster.lines(|map| {
        let green = Color::from_rgba8(0, 170, 60, 255);
        for sheet in &located.sheets {
            let on_table = |x: f64, y: f64| {
                sheet.place.table_from_board(scene.scale.true_from_nominal(Point::new(x, y)))
            };
            let corner = |x: f64, y: f64| camera.pixel_from_table(on_table(x, y), 0.0).map(small);
            let (w, h) = (layout::BOARD_WIDTH_MM, layout::BOARD_HEIGHT_MM);
            let Some(ring) = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h), (0.0, 0.0)]
                .into_iter()
                .map(|(x, y)| corner(x, y))
                .collect::<Option<Vec<_>>>()
            else {
                continue;
            };
            stroke(map, &ring, green, 3.0);
            for figure in number(sheet.number + 1) {
                let line: Option<Vec<_>> =
                    figure.iter().map(|p| corner(w / 2.0 + p.x * 30.0, h / 2.0 + p.y * 30.0)).collect();
                if let Some(line) = line {
                    stroke(map, &line, Color::from_rgba8(255, 255, 255, 255), 9.0);
                    stroke(map, &line, green, 5.0);
                }
            }
        }
        let seen = located.observations.iter().zip(&located.solution.weights);
        for (o, weight) in seen.filter(|(o, _)| o.photo == index) {
            let (x, y) = small(o.pixel);
            let colour = if *weight > 0.2 {
                Color::from_rgba8(0, 120, 255, 255)
            } else {
                Color::from_rgba8(255, 0, 0, 255)
            };
            stroke(map, &[(x - 1.5, y), (x + 1.5, y)], colour, 3.0);
        }
    });
    raster.jpeg()
}

fn stroke(map: &mut PixmapMut<'_>, points: &[(f32, f32)], colour: Color, width: f32) {
    let mut path = PathBuilder::new();
    for (i, (x, y)) in points.iter().enumerate() {
        if i == 0 {
            path.move_to(*x, *y);
        } else {
            path.line_to(*x, *y);
        }
    }
    let Some(path) = path.finish() else { return };
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color(colour);
    let stroke = Stroke { width, line_cap: LineCap::Round, line_join: LineJoin::Round, ..Stroke::default() };
    map.stroke_path(&path, &paint, &stroke, Transform::identity(), None);
}

/// Seven strokes of a figure in a box of 0.6 x 1, and which of them each figure has.
const STROKES: [[(f64, f64); 2]; 7] = [
    [(0.0, 0.0), (0.6, 0.0)],
    [(0.6, 0.0), (0.6, 0.5)],
    [(0.6, 0.5), (0.6, 1.0)],
    [(0.0, 1.0), (0.6, 1.0)],
    [(0.0, 0.5), (0.0, 1.0)],
    [(0.0, 0.0), (0.0, 0.5)],
    [(0.0, 0.5), (0.6, 0.5)],
];
const FIGURES: [&[usize]; 10] = [
    &[0, 1, 2, 3, 4, 5],
    &[1, 2],
    &[0, 1, 6, 4, 3],
    &[0, 1, 6, 2, 3],
    &[5, 6, 1, 2],
    &[0, 5, 6, 2, 3],
    &[0, 5, 4, 3, 2, 6],
    &[0, 1, 2],
    &[0, 1, 2, 3, 4, 5, 6],
    &[6, 5, 0, 1, 2, 3],
];

/// A number as strokes about (0, 0), one high.
#[expect(clippy::cast_precision_loss, reason = "one or two figures")]
fn number(n: usize) -> Vec<[Vec2; 2]> {
    let figures: Vec<usize> = n.to_string().bytes().map(|b| usize::from(b - b'0')).collect();
    let width = figures.len() as f64 - 0.4;
    let mut out = Vec::new();
    for (i, figure) in figures.iter().enumerate() {
        for &s in FIGURES[*figure] {
            out.push(STROKES[s].map(|(x, y)| Vec2::new(x + i as f64 - width / 2.0, y - 0.5)));
        }
    }
    out
}

fn rgba([y, cb, cr]: [f64; 3]) -> [u8; 4] {
    let (cb, cr) = (cb - 128.0, cr - 128.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
    let byte = |v: f64| (v + 0.5).clamp(0.0, 255.0) as u8;
    [byte(y + 1.402 * cr), byte(y - 0.344_136 * cb - 0.714_136 * cr), byte(y + 1.772 * cb), 255]
}

/// The table in a window, `k` pixels a millimetre, from the first photograph that shows each place.
#[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
fn straight_down(scenes: &[Scene<'_>], window: Rect, k: f64, width: usize, height: usize) -> Raster {
    let nodes_across = width / MAP_STEP + 2;
    let node = |camera: &Camera, i: usize, j: usize| {
        let at = window.origin() + Vec2::new((i * MAP_STEP) as f64 + 0.5, (j * MAP_STEP) as f64 + 0.5) / k;
        camera.pixel_from_table(at, 0.0)
    };
    let mut pixels = vec![[200u8, 200, 200, 255]; width * height];
    pixels.par_chunks_mut(width * MAP_STEP).enumerate().for_each(|(j, band)| {
        // The last scene first, so that the first one's picture stands where both show a place.
        for scene in scenes.iter().rev() {
            let row = |j: usize| (0..nodes_across).map(|i| node(scene.camera, i, j)).collect::<Vec<_>>();
            let (upper, lower) = (row(j), row(j + 1));
            for (y, line) in band.chunks_mut(width).enumerate() {
                let v = y as f64 / MAP_STEP as f64;
                for (x, pixel) in line.iter_mut().enumerate() {
                    let (i, u) = (x / MAP_STEP, (x % MAP_STEP) as f64 / MAP_STEP as f64);
                    let (Some(a), Some(b), Some(c), Some(d)) =
                        (upper[i], upper[i + 1], lower[i], lower[i + 1])
                    else {
                        continue;
                    };
                    let p = a.lerp(b, u).lerp(c.lerp(d, u), v);
                    if let Some(colour) = scene.photo.colour(p.x, p.y) {
                        *pixel = rgba(colour);
                    }
                }
            }
        }
    });
    Raster { width, height, rgba: pixels.into_flattened() }
}

/// The photograph at one pixel in `factor`, taken from the middle of each box.
fn reduced(photo: &Photo, factor: usize) -> Raster {
    let (width, height) = (photo.width / factor, photo.height / factor);
    let mut pixels = vec![[0u8; 4]; width * height];
    pixels.par_chunks_mut(width).enumerate().for_each(|(y, line)| {
        for (x, pixel) in line.iter_mut().enumerate() {
            *pixel = rgba(photo.at(x * factor + factor / 2, y * factor + factor / 2).map(f64::from));
        }
    });
    Raster { width, height, rgba: pixels.into_flattened() }
}
