//! Scene → picture, by sampling every pixel at sixteen places.
//!
//! The table place of a pixel is exact at its centre and goes on by the map's local derivatives within it. Samples
//! are the sixteen points of a 4 x 4 net turned so that no two share a row or a column, moved by a random
//! amount in each pixel, so an edge's coverage is right on average wherever it lies. Light is summed before
//! the tone curve (sRGB) is applied, as a sensor does.

use super::camera::Camera;
use super::contact::Contact;
use super::fill::Shape;
use super::random::Random;
use super::scene::{Cloth, Edge, Scene, Sheet};
use onfold::geometry::{Point, Rect, Vec2};
use rayon::prelude::*;
use std::f64::consts::FRAC_PI_2;

/// Samples a pixel.
const SAMPLES: usize = 16;
/// Pictures are drawn in squares of this many pixels, each with its own short list of sheets.
const TILE: usize = 32;
/// Heights at which a thick edge is cut into level rings; the silhouette is their union.
const LEVELS: u32 = 12;
/// Blur reaches this many standard deviations.
const BLUR_REACH: f64 = 4.0;

/// A rendered photograph.
#[derive(Debug, Clone)]
pub(crate) struct Picture {
    pub(crate) width: usize,
    pub(crate) height: usize,
    /// Row by row, sRGB, three bytes a pixel.
    pub(crate) rgb: Vec<u8>,
}

/// One sheet ready for sampling.
struct Laid<'a> {
    sheet: &'a Sheet,
    page: Rect,
    bounds: Rect,
}

/// One piece ready for sampling: its silhouettes from the lowest level to the top, and by how much the surface leans outward from facing
/// up at each, radians.
struct Draped<'a> {
    cloth: &'a Cloth,
    levels: Vec<Shape>,
    leans: Vec<f64>,
    wall: f64,
    height_mm: f64,
}

/// What of one pixel a piece covers, and for the whole of it the topmost level seen there.
enum Cover<'a> {
    None,
    All(&'a Draped<'a>, usize),
    Edge(&'a Draped<'a>),
}

impl Scene {
    pub(crate) fn render(&self) -> Picture {
        let (width, height) = (self.camera.width, self.camera.height);
        let laid: Vec<Laid<'_>> = self
            .sheets
            .iter()
            .map(|sheet| Laid {
                sheet,
                page: sheet.page(),
                bounds: sheet.table_from_board.transform_rect_bbox(sheet.page()).inflate(5.0, 5.0),
            })
            .collect();
        let draped: Vec<Draped<'_>> = self.cloths.iter().map(|cloth| drape(cloth, &self.camera)).collect();
        let mut light = vec![[0.0_f32; 3]; width * height];
        light.par_chunks_mut(width * TILE).enumerate().for_each(|(band, rows)| {
            for left in (0..width).step_by(TILE) {
                self.tile(&laid, &draped, rows, (left, band * TILE));
            }
        });
        if self.blur_px > 0.0 {
            light = blur(&light, width, height, self.blur_px);
        }
        let mut rgb = vec![0; 3 * width * height];
        rgb.par_chunks_mut(3 * width).zip(light.par_chunks(width)).enumerate().for_each(|(y, (out, row))| {
            let mut random = Random::new(self.seed ^ (y as u64).wrapping_mul(0xd134_2543_de82_ef95));
            for (out, light) in out.chunks_exact_mut(3).zip(row) {
                for (out, light) in out.iter_mut().zip(light) {
                    let noise = if self.noise > 0.0 { self.noise * random.normal() } else { 0.0 };
                    let level = 255.0 * srgb(f64::from(*light)) + noise;
                    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
                    let byte = level.round().clamp(0.0, 255.0) as u8;
                    *out = byte;
                }
            }
        });
        Picture { width, height, rgb }
    }

    /// Draws one tile into the rows of its band.
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
    fn tile(
        &self,
        laid: &[Laid<'_>],
        draped: &[Draped<'_>],
        rows: &mut [[f32; 3]],
        (left, top): (usize, usize),
    ) {
        let width = self.camera.width;
        let (right, bottom) = ((left + TILE).min(width), top + rows.len() / width);
        let place = |x: f64, y: f64| self.camera.table_at(Point::new(x, y), 0.0);
        let ends = [(left, top), (right, top), (left, bottom), (right, bottom)]
            .map(|(x, y)| place(x as f64, y as f64));
        // A tile's table places lie in the box of its corners but for a little bending.
        let here: Vec<&Laid<'_>> = if ends.iter().all(Option::is_some) {
            let corners: Vec<Point> = ends.into_iter().flatten().collect();
            let bounds =
                corners.iter().fold(Rect::from_points(corners[0], corners[1]), |r, p| r.union_pt(*p));
            let bounds = bounds.inflate(5.0, 5.0);
            laid.iter().filter(|l| l.bounds.overlaps(bounds)).collect()
        } else {
            laid.iter().collect()
        };
        // Table places of the tile's pixel centres, with one more on every side.
        let across = right - left + 2;
        let grid: Vec<Option<Point>> = (top..bottom + 2)
            .flat_map(|y| (left..right + 2).map(move |x| place(x as f64 - 1.0, y as f64 - 1.0)))
            .collect();
        let mut random = Random::new(self.seed.wrapping_add((top * width + left) as u64));
        for y in top..bottom {
            for x in left..right {
                let here_in_grid = (y - top + 1) * across + x - left + 1;
                let around = [1, across].map(|step| (grid[here_in_grid - step], grid[here_in_grid + step]));
                let (Some(at), [(Some(w), Some(e)), (Some(n), Some(s))]) = (grid[here_in_grid], around)
                else {
                    continue;
                };
                let (along_x, along_y) = ((e - w) / 2.0, (s - n) / 2.0);
                let covers: Vec<Cover<'_>> = draped.iter().rev().map(|piece| piece.cover(x, y)).collect();
                let shift = (random.unit(), random.unit());
                let beside = self.contact.as_ref().map_or(1.0, |c| c.at(at));
                let mut sum = [0.0; 3];
                for net in NET {
                    let (du, dv) = ((net.0 + shift.0).fract() - 0.5, (net.1 + shift.1).fract() - 0.5);
                    let table = at + du * along_x + dv * along_y;
                    let pixel = Point::new(x as f64 + du, y as f64 + dv);
                    let colour = self.sample(&here, &covers, (y, beside), pixel, table);
                    for (s, c) in sum.iter_mut().zip(colour) {
                        *s += c;
                    }
                }
                let gain = self.light.at(at) / SAMPLES as f64;
                #[expect(clippy::cast_possible_truncation, reason = "light in single precision is ample")]
                let light = sum.map(|v| (v * gain) as f32);
                rows[(y - top) * width + x] = light;
            }
        }
    }

    /// The colour at one place.
    fn sample(
        &self,
        laid: &[&Laid<'_>],
        covers: &[Cover<'_>],
        (row, beside): (usize, f64),
        pixel: Point,
        table: Point,
    ) -> [f64; 3] {
        for cover in covers {
            let (piece, level) = match cover {
                Cover::None => continue,
                Cover::All(piece, level) => (piece, Some(*level)),
                Cover::Edge(piece) => {
                    (piece, piece.levels.iter().rposition(|shape| shape.contains(pixel, row)))
                }
            };
            let Some(level) = level else { continue };
            let gain = if level + 1 == piece.levels.len() {
                1.0
            } else {
                let ground = |at: Point| self.ground(laid, at)[1];
                let lit = |c: &Contact| c.on_edge(table, piece.leans[level], ground);
                piece.wall * self.contact.as_ref().map_or(1.0, lit)
            };
            // What is drawn on the cloth is seen at the cloth's own height.
            let raised =
                (piece.height_mm > 0.0).then(|| self.camera.table_at(pixel, piece.height_mm)).flatten();
            return piece.cloth.surface.at(raised.unwrap_or(table)).map(|v| v * gain);
        }
        self.ground(laid, table).map(|v| beside * v)
    }

    /// The colour of what lies under the cloth.
    fn ground(&self, laid: &[&Laid<'_>], table: Point) -> [f64; 3] {
        let standpoint = self.camera.standpoint();
        for sheet in laid.iter().rev() {
            let board = sheet.sheet.board_seen(table, standpoint);
            if sheet.page.contains(board) {
                return [sheet.sheet.shows_at(board).unwrap_or(0.0); 3];
            }
        }
        self.floor.at(table)
    }
}

impl Draped<'_> {
    /// What of a pixel the piece covers.
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
    fn cover(&self, x: usize, y: usize) -> Cover<'_> {
        if self.levels.iter().any(|shape| shape.is_near(x, y)) {
            return Cover::Edge(self);
        }
        let centre = Point::new(x as f64, y as f64);
        self.levels
            .iter()
            .rposition(|shape| shape.contains(centre, y))
            .map_or(Cover::None, |k| Cover::All(self, k))
    }
}

/// Sixteen places in the unit square, one in each row and each column of a 16 x 16 net and one in each cell
/// of a 4 x 4 net (the 4 x 4 net turned by atan(1/4)).
const NET: [(f64, f64); SAMPLES] = {
    let mut out = [(0.0, 0.0); SAMPLES];
    let mut k = 0;
    while k < SAMPLES {
        let (i, j) = (k % 4, k / 4);
        #[expect(clippy::cast_precision_loss, reason = "0 to 15")]
        let place = (((4 * i + j) as f64 + 0.5) / 16.0, ((4 * j + 3 - i) as f64 + 0.5) / 16.0);
        out[k] = place;
        k += 1;
    }
    out
};

/// The silhouettes of a piece, level by level from the table up.
///
/// A square cut edge is the same ring at every height from 0 to t. A rounded one is, at height h, the ring
/// drawn in by r - √(r² - (h - r)²) with r = t / 2.
fn drape<'a>(cloth: &'a Cloth, camera: &Camera) -> Draped<'a> {
    let upright = FRAC_PI_2;
    let levels: Vec<(f64, f64, f64)> = match cloth.edge {
        Edge::Flat => vec![(0.0, 0.0, 0.0)],
        Edge::Cut { thickness_mm, .. } => {
            (0..=LEVELS).map(|k| (thickness_mm * f64::from(k) / f64::from(LEVELS), 0.0, upright)).collect()
        }
        Edge::Standing { from_mm, to_mm, .. } => (0..=LEVELS)
            .map(|k| (from_mm + (to_mm - from_mm) * f64::from(k) / f64::from(LEVELS), 0.0, upright))
            .collect(),
        Edge::Round { thickness_mm } => (0..=LEVELS)
            .map(|k| {
                let r = thickness_mm / 2.0;
                // Levels at equal angles round the half circle.
                let turn = 2.0 * FRAC_PI_2 * (f64::from(k) / f64::from(LEVELS) - 0.5);
                (r + r * turn.sin(), r - r * turn.cos(), upright - turn)
            })
            .collect(),
    };
    let (wall, height_mm) = match cloth.edge {
        Edge::Flat => (1.0, 0.0),
        Edge::Cut { thickness_mm, wall } => (wall, thickness_mm),
        Edge::Standing { to_mm, wall, .. } => (wall, to_mm),
        Edge::Round { thickness_mm } => (1.0, thickness_mm),
    };
    let shapes = levels
        .iter()
        .map(|&(height, inset, _)| {
            let rings: Vec<Vec<Point>> = cloth
                .rings
                .iter()
                .enumerate()
                .map(|(k, ring)| {
                    // Holes are drawn wider where the outer ring is drawn in.
                    let inset = if k == 0 { inset } else { -inset };
                    drawn_in(ring, inset).into_iter().filter_map(|p| camera.project(p, height)).collect()
                })
                .collect();
            Shape::new(&rings, camera.width, camera.height)
        })
        .collect();
    let leans = levels.iter().map(|l| l.2).collect();
    Draped { cloth, levels: shapes, leans, wall, height_mm }
}

/// The ring moved inwards by `inset_mm` along the bisectors of its corners; for insets that are small against the
/// ring's own curvature.
fn drawn_in(ring: &[Point], inset_mm: f64) -> Vec<Point> {
    let n = ring.len();
    let area: f64 = (0..n).map(|i| ring[i].to_vec2().cross(ring[(i + 1) % n].to_vec2())).sum();
    (0..n)
        .map(|i| {
            let before = (ring[i] - ring[(i + n - 1) % n]).normalize();
            let after = (ring[(i + 1) % n] - ring[i]).normalize();
            // Clockwise as seen (y down, positive area): inside lies to the right, (-y, x).
            let inward = |v: Vec2| Vec2::new(-v.y, v.x) * area.signum();
            let middle = inward(before) + inward(after);
            ring[i] + middle * (2.0 * inset_mm / middle.hypot2().max(1.0))
        })
        .collect()
}

/// Linear light to sRGB (IEC 61966-2-1), both 0 to 1.
fn srgb(v: f64) -> f64 {
    if v <= 0.003_130_8 { 12.92 * v.max(0.0) } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }
}

/// Gaussian blur, one axis after the other, the border carried on.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few pixels")]
#[expect(clippy::cast_precision_loss, clippy::cast_possible_wrap, reason = "picture sizes are small")]
fn blur(light: &[[f32; 3]], width: usize, height: usize, sigma: f64) -> Vec<[f32; 3]> {
    let reach = (BLUR_REACH * sigma).ceil() as isize;
    let weights: Vec<f32> =
        (-reach..=reach).map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp() as f32).collect();
    let sum: f32 = weights.iter().sum();
    let pass = |get: &(dyn Fn(isize) -> [f32; 3] + Sync)| {
        let mut out = [0.0_f32; 3];
        for (k, w) in (-reach..=reach).zip(&weights) {
            let v = get(k);
            for c in 0..3 {
                out[c] += w / sum * v[c];
            }
        }
        out
    };
    let inside = |v: isize, n: usize| v.clamp(0, n as isize - 1) as usize;
    let mut across = vec![[0.0_f32; 3]; width * height];
    across.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, out) in row.iter_mut().enumerate() {
            *out = pass(&|k| light[y * width + inside(x as isize + k, width)]);
        }
    });
    let mut down = vec![[0.0_f32; 3]; width * height];
    down.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, out) in row.iter_mut().enumerate() {
            *out = pass(&|k| across[inside(y as isize + k, height) * width + x]);
        }
    });
    down
}

impl Picture {
    /// The picture as PNG.
    pub(crate) fn png(&self) -> Vec<u8> {
        let mut out = std::io::Cursor::new(Vec::new());
        self.image().write_to(&mut out, image::ImageFormat::Png).expect("PNG in memory");
        out.into_inner()
    }

    /// The picture as JPEG of this quality (1 to 100), stored so that EXIF `orientation` (1 to 8) sets it upright.
    ///
    /// Orientation: EXIF 2.32 (CIPA DC-008-2019), tag 0x0112: which sides of the upright picture the stored rows and
    /// columns begin at.
    pub(crate) fn jpeg(&self, quality: u8, orientation: u8) -> Vec<u8> {
        self.jpeg_taken(quality, orientation, None)
    }

    /// The same, which may tell the focal length as of 35 mm film too, millimetres.
    pub(crate) fn jpeg_taken(&self, quality: u8, orientation: u8, focal_mm: Option<u8>) -> Vec<u8> {
        use image::imageops::{flip_horizontal, flip_vertical, rotate90, rotate180, rotate270};
        let upright = self.image();
        // The stored raster is what the viewer's turn for that value undoes.
        let stored = match orientation {
            1 => upright,
            2 => flip_horizontal(&upright),
            3 => rotate180(&upright),
            4 => flip_vertical(&upright),
            5 => flip_horizontal(&rotate90(&upright)),
            6 => rotate270(&upright),
            7 => flip_horizontal(&rotate270(&upright)),
            8 => rotate90(&upright),
            _ => panic!("EXIF orientations run from 1 to 8"),
        };
        let (width, height) = (u16::try_from(stored.width()), u16::try_from(stored.height()));
        let mut out = Vec::new();
        let mut encoder = jpeg_encoder::Encoder::new(&mut out, quality);
        encoder.set_sampling_factor(jpeg_encoder::SamplingFactor::F_1_1);
        encoder.add_app_segment(1, exif(orientation, focal_mm)).expect("a short segment");
        encoder
            .encode(
                stored.as_raw(),
                width.expect("below 65536"),
                height.expect("below 65536"),
                jpeg_encoder::ColorType::Rgb,
            )
            .expect("JPEG in memory");
        out
    }

    fn image(&self) -> image::RgbImage {
        let (width, height) = (u32::try_from(self.width), u32::try_from(self.height));
        image::RgbImage::from_raw(width.expect("small"), height.expect("small"), self.rgb.clone())
            .expect("three bytes a pixel")
    }
}

/// An EXIF segment with the orientation, and the focal length where it is told: a big-endian TIFF (EXIF 2.32, tags 0x0112
/// and, in the directory that 0x8769 points to, 0xA405; all of type SHORT but the pointer).
fn exif(orientation: u8, focal_mm: Option<u8>) -> Vec<u8> {
    let mut out = b"Exif\0\0MM\0\x2a\0\0\0\x08\0".to_vec();
    out.push(1 + u8::from(focal_mm.is_some()));
    out.extend_from_slice(&[0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, orientation, 0, 0]);
    if focal_mm.is_some() {
        // The second directory begins behind the first: 8 + 2 + 2 * 12 + 4.
        out.extend_from_slice(&[0x87, 0x69, 0, 4, 0, 0, 0, 1, 0, 0, 0, 38]);
    }
    out.extend_from_slice(&[0; 4]);
    if let Some(focal) = focal_mm {
        out.extend_from_slice(&[0, 1, 0xa4, 0x05, 0, 3, 0, 0, 0, 1, 0, focal, 0, 0, 0, 0, 0, 0]);
    }
    out
}
