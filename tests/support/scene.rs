//! A scene: a floor, calibration sheets lying loosely on it, flat pieces of cloth on the sheets, light, a camera.
//!
//! Table frame: x right, y down, millimetres. Colours are linear light, 0 black to 1 white.

use super::camera::Camera;
use onfold::geometry::{Affine, Point, Rect, Vec2};
use onfold::sheet::layout::{self, Ink, Paper};

/// Reflectance of paper and of printed ink, as of office paper and toner.
pub(crate) const PAPER: f64 = 0.80;
pub(crate) const INK: f64 = 0.020;

#[derive(Debug, Clone)]
pub(crate) struct Scene {
    pub(crate) camera: Camera,
    pub(crate) floor: Surface,
    /// Later sheets lie on earlier ones.
    pub(crate) sheets: Vec<Sheet>,
    /// Later pieces lie on earlier ones.
    pub(crate) cloths: Vec<Cloth>,
    pub(crate) light: Light,
    /// Light that a piece's edge takes from what lies beside it.
    pub(crate) contact: Option<super::contact::Contact>,
    /// Standard deviation of the lens's blur, pixels.
    pub(crate) blur_px: f64,
    /// Standard deviation of the noise, 8-bit levels.
    pub(crate) noise: f64,
    pub(crate) seed: u64,
}

/// One printed sheet on the table.
#[derive(Debug, Clone)]
pub(crate) struct Sheet {
    /// Counted from 0; the printed number is one more.
    pub(crate) number: usize,
    pub(crate) paper: Paper,
    /// Table from the board's nominal millimetres; the print scale is inside it.
    pub(crate) table_from_board: Affine,
    /// Height of its face over the table, millimetres.
    pub(crate) height_mm: f64,
    pub(crate) curl: Option<Curl>,
    /// The part of the board's frame that is paper, when it is not the whole page.
    pub(crate) own: Option<Rect>,
}

/// A corner of a page that is lifted: the paper bends up as a parabolic cylinder across the line from that corner to the
/// page's middle.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Curl {
    /// Which corner: 0 top left, 1 top right, 2 bottom right, 3 bottom left.
    pub(crate) corner: usize,
    /// How high it is lifted, millimetres.
    pub(crate) lift_mm: f64,
    /// How far from the corner the paper lies flat again, millimetres.
    pub(crate) reach_mm: f64,
}

/// A piece of cloth or leather lying on the sheets.
#[derive(Debug, Clone)]
pub(crate) struct Cloth {
    /// Outer ring first, holes after it, seen straight down, millimetres on the table.
    pub(crate) rings: Vec<Vec<Point>>,
    pub(crate) surface: Surface,
    pub(crate) edge: Edge,
}

/// The edge of a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Edge {
    /// No thickness.
    Flat,
    /// Cut square through so many millimetres; its wall has so much of the surface's light.
    Cut { thickness_mm: f64, wall: f64 },
    /// A thing that stands on another, its upright wall from one height to another.
    Standing { from_mm: f64, to_mm: f64, wall: f64 },
    /// Folded or hemmed: a half circle of this thickness.
    Round { thickness_mm: f64 },
}

/// How a surface looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Surface {
    Plain([f64; 3]),
    /// Stripes along x of the table, each this wide.
    Stripes {
        a: [f64; 3],
        b: [f64; 3],
        width_mm: f64,
    },
    /// Checks, each this wide.
    Checks {
        a: [f64; 3],
        b: [f64; 3],
        width_mm: f64,
    },
    /// Boards of wood this wide, running along x, of uneven tone.
    Wood {
        tone: [f64; 3],
        width_mm: f64,
    },
    /// Cloth with a weave: uneven by this share, in patches of this size.
    Woven {
        tone: [f64; 3],
        uneven: f64,
        patch_mm: f64,
    },
}

/// Gain of the light over the table: 1 + slope · p (p in metres from the table's origin), and a soft shadow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Light {
    pub(crate) slope_per_m: Vec2,
    pub(crate) shadow: Option<Shadow>,
}

/// A shadow over the half plane on the side of `towards`, fading in over `soft_mm`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Shadow {
    pub(crate) from: Point,
    pub(crate) towards: Vec2,
    pub(crate) soft_mm: f64,
    /// Light left in full shadow.
    pub(crate) left: f64,
}

impl Sheet {
    /// A sheet whose page's middle lies at `middle`, turned clockwise by `turn_deg`, printed at true size.
    pub(crate) fn lying(number: usize, paper: Paper, middle: Point, turn_deg: f64) -> Self {
        Self::printed(number, paper, middle, turn_deg, (1.0, 1.0))
    }

    /// The same, printed at this scale across and down.
    pub(crate) fn printed(
        number: usize,
        paper: Paper,
        middle: Point,
        turn_deg: f64,
        (across, down): (f64, f64),
    ) -> Self {
        let half = Vec2::new(layout::BOARD_WIDTH_MM / 2.0, layout::BOARD_HEIGHT_MM / 2.0);
        let table_from_board = Affine::translate(middle.to_vec2())
            * Affine::rotate(turn_deg.to_radians())
            * Affine::scale_non_uniform(across, down)
            * Affine::translate(-half);
        Self { number, paper, table_from_board, height_mm: 0.0, curl: None, own: None }
    }

    /// Height of the sheet's face over the table at a place of the board, millimetres.
    pub(crate) fn height_at(&self, board: Point) -> f64 {
        let lift = self.curl.map_or(0.0, |curl| {
            let page = self.page();
            let corner = [(page.x0, page.y0), (page.x1, page.y0), (page.x1, page.y1), (page.x0, page.y1)]
                .map(Point::from)[curl.corner];
            let along = (board - corner).dot((page.center() - corner).normalize());
            curl.lift_mm * (1.0 - along / curl.reach_mm).max(0.0).powi(2)
        });
        self.height_mm + lift
    }

    /// The place of the board that a camera at `foot`, `rise` above the table, sees at a place of the table.
    pub(crate) fn board_seen(&self, table: Point, (foot, rise): (Point, f64)) -> Point {
        let back = self.table_from_board.inverse();
        let mut board = back * table;
        if self.height_mm != 0.0 || self.curl.is_some() {
            for _ in 0..4 {
                board = back * (table + (foot - table) * (self.height_at(board) / rise));
            }
        }
        board
    }

    /// The page in the board's frame.
    pub(crate) fn page(&self) -> Rect {
        if let Some(own) = self.own {
            return own;
        }
        // The paper has its true size, whatever the scale of the print.
        let (width, height) = self.paper.size_mm();
        let origin = Point::ORIGIN - self.paper.board_origin_mm().to_vec2();
        let [a, b, c, d, ..] = self.table_from_board.as_coeffs();
        let middle = Rect::from_origin_size(origin, (width, height)).center();
        Rect::from_center_size(middle, (width / a.hypot(b), height / c.hypot(d)))
    }
}

/// Sheets in rows on a grid of pages, `across` to a row, beginning with number 0, about the table's origin, each
/// moved and turned by chance: loosely laid.
pub(crate) fn loose_sheets(
    across: usize,
    down: usize,
    (gap_mm, loose_mm, loose_deg): (f64, f64, f64),
    seed: u64,
) -> Vec<Sheet> {
    let mut random = super::random::Random::new(seed);
    let (w, h) = Paper::A4.size_mm();
    let mut out = Vec::new();
    #[expect(clippy::cast_precision_loss, reason = "a few sheets")]
    for number in 0..across * down {
        let column = (number % across) as f64 - (across as f64 - 1.0) / 2.0;
        let row = (number / across) as f64 - (down as f64 - 1.0) / 2.0;
        let at = Point::new(
            column * (w + gap_mm) + random.between(-loose_mm, loose_mm),
            row * (h + gap_mm) + random.between(-loose_mm, loose_mm),
        );
        out.push(Sheet::lying(number, Paper::A4, at, random.between(-loose_deg, loose_deg)));
    }
    out
}

impl Scene {
    /// Even light, plain grey floor, no cloth, a slight blur, no noise.
    pub(crate) fn new(camera: Camera, sheets: Vec<Sheet>) -> Self {
        Self {
            camera,
            floor: Surface::Plain([0.20, 0.19, 0.18]),
            sheets,
            cloths: Vec::new(),
            light: Light { slope_per_m: Vec2::ZERO, shadow: None },
            contact: None,
            blur_px: 0.6,
            noise: 0.0,
            seed: 1,
        }
    }

    /// Pixels of every inner corner of a sheet's board, in the order of `layout::inner_corners`.
    pub(crate) fn corner_pixels(&self, sheet: &Sheet) -> Vec<(Point, Option<Point>)> {
        layout::inner_corners()
            .map(|c| (c, self.camera.project(sheet.table_from_board * c, sheet.height_at(c))))
            .collect()
    }

    /// Whether a place of a sheet is seen with `clear_mm` of that sheet about it: in the picture, under no other
    /// sheet, under no cloth.
    pub(crate) fn is_clear(&self, index: usize, board: Point, clear_mm: f64) -> bool {
        (0..16).all(|k| {
            let turn = f64::from(k) / 16.0 * std::f64::consts::TAU;
            let table = self.sheets[index].table_from_board * (board + clear_mm * Vec2::from_angle(turn));
            let covered_by_sheet = self.sheets[index + 1..].iter().any(|s| s.shows(table).is_some());
            let covered_by_cloth = self.cloths.iter().any(|c| c.covers(table));
            let pixel = self.camera.project(table, 0.0);
            #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
            let (right, bottom) = (self.camera.width as f64 - 1.0, self.camera.height as f64 - 1.0);
            let seen = pixel.is_some_and(|p| p.x >= 0.0 && p.y >= 0.0 && p.x <= right && p.y <= bottom);
            seen && !covered_by_sheet && !covered_by_cloth
        })
    }
}

impl Sheet {
    /// Reflectance of the sheet at a place of the table; `None` off its page.
    pub(crate) fn shows(&self, table: Point) -> Option<f64> {
        self.shows_at(self.table_from_board.inverse() * table)
    }

    /// The same for a place in the board's frame.
    pub(crate) fn shows_at(&self, board: Point) -> Option<f64> {
        self.page().contains(board).then(|| match layout::ink_at(board, self.number) {
            Some(Ink::Black) => INK,
            _ => PAPER,
        })
    }
}

impl Cloth {
    /// A piece of one ring without thickness.
    pub(crate) fn flat(ring: Vec<Point>, surface: Surface) -> Self {
        Self { rings: vec![ring], surface, edge: Edge::Flat }
    }

    /// Whether a place of the table lies under it (even-odd rule).
    pub(crate) fn covers(&self, at: Point) -> bool {
        let mut inside = false;
        for ring in &self.rings {
            for i in 0..ring.len() {
                let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                if (a.y > at.y) != (b.y > at.y) && a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x) > at.x {
                    inside = !inside;
                }
            }
        }
        inside
    }
}

impl Surface {
    /// Linear colour at a place, millimetres on the table.
    pub(crate) fn at(&self, p: Point) -> [f64; 3] {
        match *self {
            Self::Plain(tone) => tone,
            Self::Stripes { a, b, width_mm } => pick((p.x / width_mm).floor(), a, b),
            Self::Checks { a, b, width_mm } => {
                pick((p.x / width_mm).floor() + (p.y / width_mm).floor(), a, b)
            }
            Self::Wood { tone, width_mm } => {
                let board = (p.y / width_mm).floor();
                let gain =
                    0.75 + 0.5 * lattice(board, 7.0) + 0.25 * (value_noise(p.x / 60.0, p.y / 2.5) - 0.5);
                tone.map(|v| v * gain)
            }
            Self::Woven { tone, uneven, patch_mm } => {
                let gain = 1.0 + uneven * (2.0 * value_noise(p.x / patch_mm, p.y / patch_mm) - 1.0);
                tone.map(|v| v * gain)
            }
        }
    }
}

fn pick(count: f64, a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    if count.rem_euclid(2.0) < 0.5 { a } else { b }
}

/// A fixed random number in [0, 1) for whole coordinates.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "any mixing of the bits will do")]
fn lattice(x: f64, y: f64) -> f64 {
    let key =
        (x as i64 as u64).wrapping_mul(0x9e37_79b9) ^ (y as i64 as u64).wrapping_mul(0x85eb_ca77_c2b2_ae63);
    super::random::Random::new(key).unit()
}

/// Smooth noise in [0, 1): bilinear between whole coordinates.
fn value_noise(x: f64, y: f64) -> f64 {
    let (i, j) = (x.floor(), y.floor());
    let (u, v) = (x - i, y - j);
    let top = lattice(i, j) * (1.0 - u) + lattice(i + 1.0, j) * u;
    let low = lattice(i, j + 1.0) * (1.0 - u) + lattice(i + 1.0, j + 1.0) * u;
    top * (1.0 - v) + low * v
}

impl Light {
    /// Gain at a place of the table.
    pub(crate) fn at(&self, p: Point) -> f64 {
        let even = 1.0 + self.slope_per_m.dot(p.to_vec2()) / 1000.0;
        let shadow = self.shadow.map_or(1.0, |s| {
            let t = ((p - s.from).dot(s.towards.normalize()) / s.soft_mm + 0.5).clamp(0.0, 1.0);
            1.0 + (s.left - 1.0) * t * t * (3.0 - 2.0 * t)
        });
        even.max(0.0) * shadow
    }
}
