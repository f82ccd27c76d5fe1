//! A piece at full scale on pages that are joined: registration crosses, names, neighbours, a test square on every page.
//!
//! Every page shows a window of the same drawing, moved and never scaled, so lines meet exactly at the joins.

use super::canvas::{Canvas, Style, boxed, circle, test_lines, test_square};
use super::plan::{self, Gauge, Manner, Pages, Plan};
use super::shared_page::SharedPage;
use super::space::{Space, WORDS_COST, least, offsets};
use super::strokes::{self, QUIET, painted};
use super::tiling::{CROSS_MM, OVERLAP_MM, STRIP_MM, Tiling, UNPRINTABLE_MM, name};
use super::{ExportError, font, page_map};
use crate::geometry::{Affine, Drawing, Face, Item, Layer, Line, Point, Rect, Vec2};
use crate::pattern::Piece;
use crate::sheet::Paper;
use kurbo::Shape;
use rayon::prelude::*;

/// Words at a tile's sides, millimetres.
const SIDE_WORDS_MM: f64 = 2.6;
/// The pages of some pieces: for each large one a map of its pages, then its tiles; then pages that small ones share.
///
/// # Errors
/// [`ExportError::Nothing`] without a piece, [`ExportError::NotFinite`] for an outline that is not made of numbers.
pub fn pages(pieces: &[Piece], paper: Paper) -> Result<Vec<Drawing>, ExportError> {
    Ok(cut(pieces, paper)?.0)
}

/// A page that is joined to others: its name, and its frame through its four crosses, in the piece's frame. Neighbours share a side.
pub type Window = (String, Rect);

/// The pages as [`pages`] has them, and of every piece its windows, none for one that shares a page.
///
/// # Errors
/// As [`pages`].
pub fn cut(pieces: &[Piece], paper: Paper) -> Result<(Vec<Drawing>, Vec<Vec<Window>>), ExportError> {
    if pieces.is_empty() {
        return Err(ExportError::Nothing);
    }
    let drawn = pieces.par_iter().map(|piece| Cut::new(piece, paper)).collect::<Result<Vec<_>, _>>()?;
    let (mut laid, mut small, mut windows) = (Vec::new(), Vec::new(), Vec::new());
    for (piece, cut) in pieces.iter().zip(drawn) {
        match cut {
            Cut::Shared(plan) => {
                small.push((piece, plan));
                windows.push(Vec::new());
            }
            Cut::Joined(tiles) => {
                windows.push(tiles.windows());
                laid.push(tiles);
            }
        }
    }
    let shared = SharedPage::lay(small, paper.size_mm());
    let of = laid.iter().map(Laid::pages).sum::<usize>() + shared.len();
    let mut out = Vec::with_capacity(of);
    for laid in &laid {
        let first = out.len() + 1;
        if laid.has_map() {
            out.push(page_map::page(laid.piece, paper, &laid.tiling, &laid.used, first));
        }
        for &tile in &laid.used {
            let place = Place { tile, number: out.len() + 1, of, used: &laid.used };
            out.push(page(laid, &place));
        }
    }
    for page in shared {
        let number = out.len() + 1;
        out.push(page.into_drawing(paper.size_mm(), number, of));
    }
    Ok((out, windows))
}

/// A piece drawn.
enum Cut<'a> {
    /// Small enough to share a page.
    Shared(Plan),
    /// On pages that are joined.
    Joined(Laid<'a>),
}

impl<'a> Cut<'a> {
    fn new(piece: &'a Piece, paper: Paper) -> Result<Self, ExportError> {
        // Drawn once to learn how much room it takes.
        let plan = plan::draw(piece, Manner::PAPER, &Pages::default())?;
        if SharedPage::takes(plan.bounds.size().to_vec2(), paper.size_mm()) {
            return Ok(Self::Shared(plan));
        }
        Laid::new(piece, &plan, paper).map(Self::Joined)
    }
}

/// A piece drawn and cut into tiles.
struct Laid<'a> {
    piece: &'a Piece,
    plan: Plan,
    tiling: Tiling,
    /// The tiles that show anything.
    used: Vec<(usize, usize)>,
}

impl<'a> Laid<'a> {
    /// One page alone needs no map.
    fn has_map(&self) -> bool {
        self.used.len() > 1
    }

    fn windows(&self) -> Vec<Window> {
        let window = |&(column, row): &(usize, usize)| {
            (name(column, row), self.tiling.tile(column, row).inset(-OVERLAP_MM / 2.0))
        };
        self.used.iter().map(window).collect()
    }

    fn pages(&self) -> usize {
        self.used.len() + usize::from(self.has_map())
    }

    /// Tiles over a piece that was drawn roughly: of the places of the grid with fewest pages, or one more, the first whose
    /// test squares cross nothing, or the one where they cross least. It is drawn again with words kept off the seams, which takes no other room.
    fn new(piece: &'a Piece, rough: &Plan, paper: Paper) -> Result<Self, ExportError> {
        let mut grids: Vec<_> = Tiling::best(rough.bounds, paper)
            .moved(rough.bounds)
            .map(|tiling| (tiling.used(&rough.space), tiling))
            .collect();
        let fewest = grids.iter().map(|(used, _)| used.len()).min().unwrap_or_default();
        let mut best: Option<Self> = None;
        grids.sort_by_key(|(used, _)| used.len());
        for (used, tiling) in grids.into_iter().take_while(|(used, _)| used.len() <= fewest + 1) {
            let plan = plan::draw(piece, Manner::PAPER, &tiling.pages(&used))?;
            if best.as_ref().is_none_or(|known| plan.crossed_mm < known.plan.crossed_mm) {
                best = Some(Self { piece, plan, tiling, used });
            }
            if best.as_ref().is_some_and(|known| known.plan.crossed_mm <= 0.0) {
                break;
            }
        }
        best.ok_or(ExportError::Nothing)
    }
}

/// Which page of how many.
struct Place<'a> {
    tile: (usize, usize),
    number: usize,
    of: usize,
    used: &'a [(usize, usize)],
}

impl Place<'_> {
    /// The name of the neighbour so many columns and rows on, if it is printed.
    fn neighbour(&self, columns: isize, rows: isize) -> Option<String> {
        let column = self.tile.0.checked_add_signed(columns)?;
        let row = self.tile.1.checked_add_signed(rows)?;
        self.used.contains(&(column, row)).then(|| name(column, row))
    }
}

fn page(laid: &Laid<'_>, place: &Place<'_>) -> Drawing {
    let Laid { piece, plan, tiling, .. } = laid;
    let (frame, tile) = (tiling.frame(), tiling.tile(place.tile.0, place.tile.1));
    let page_from_piece = frame.origin() - tile.origin();
    let mut canvas = Canvas::default();
    let shown = plan.items.iter().filter(|item| reaches(item, tile)).cloned().collect();
    canvas.place(Some(frame), Affine::translate(page_from_piece), shown);
    let mut taken = Taken { space: &plan.space, page_from_piece, page_words: Vec::new() };
    borders(&mut canvas, frame, place);
    crosses(&mut canvas, frame, &mut taken);
    neighbours(&mut canvas, frame, place, &mut taken);
    let gauge = laid.used.iter().position(|tile| *tile == place.tile).and_then(|k| plan.gauges.get(k));
    let measure = match gauge {
        Some(Gauge::Lines { across, down }) => {
            test_lines(&mut canvas, *across + page_from_piece, *down + page_from_piece);
            "measure the two test lines (no room for the square)"
        }
        Some(Gauge::Square(corner)) => {
            test_square(&mut canvas, *corner + page_from_piece);
            "measure the square"
        }
        None => "measure the square of another page",
    };
    strip(&mut canvas, frame, piece, place, measure);
    canvas.into_drawing(tiling.page_mm.0, tiling.page_mm.1)
}

/// Whether an item of the plan comes near a tile; the others are left out, so that no page holds hidden words.
fn reaches(item: &Item, tile: Rect) -> bool {
    match item {
        Item::Path { path, line, .. } => {
            let half = line.as_ref().map_or(0.0, |line| line.width_mm / 2.0);
            // An upright or level line has a box without area.
            let around = path.bounding_box().inflate(half + 0.01, half + 0.01);
            around.overlaps(tile)
        }
        Item::Text { text, .. } => font::outline(text).bounding_box().overlaps(tile),
        Item::Clip(_) => true,
    }
}

/// What stands on a page already: the piece's lines and words, and the page's own.
struct Taken<'a> {
    space: &'a Space,
    page_from_piece: Vec2,
    page_words: Vec<Rect>,
}

impl Taken<'_> {
    fn crowding_mm(&self, on_page: Rect) -> f64 {
        let met = self.page_words.iter().filter(|r| r.overlaps(on_page));
        let own: f64 = met.map(|r| WORDS_COST * (r.width() + r.height())).sum();
        own + self.space.crowding_mm(on_page - self.page_from_piece)
    }
}

/// The tile's border, to trim along at the top and left; and where the neighbour's border comes to lie.
fn borders(canvas: &mut Canvas, frame: Rect, place: &Place<'_>) {
    let line = |width: f64| painted(strokes::full(width), QUIET);
    canvas.stroke(Layer::Page, boxed(frame), line(0.15));
    let trim = |line: Line| painted(Line { dashes_mm: vec![3.0, 1.5], ..line }, QUIET);
    if place.neighbour(1, 0).is_some() {
        let x = frame.x1 - OVERLAP_MM;
        canvas.line(
            Layer::Page,
            &[Point::new(x, frame.y0), Point::new(x, frame.y1)],
            trim(strokes::full(0.12)),
        );
    }
    if place.neighbour(0, 1).is_some() {
        let y = frame.y1 - OVERLAP_MM;
        canvas.line(
            Layer::Page,
            &[Point::new(frame.x0, y), Point::new(frame.x1, y)],
            trim(strokes::full(0.12)),
        );
    }
}

/// Crosses in the middle of the overlaps' corners: the same place of the piece on all pages that share it.
fn crosses(canvas: &mut Canvas, frame: Rect, taken: &mut Taken<'_>) {
    let inner = frame.inset(-OVERLAP_MM / 2.0);
    let line = strokes::full(0.18);
    for x in [inner.x0, inner.x1] {
        for y in [inner.y0, inner.y1] {
            let at = Point::new(x, y);
            for arm in [Vec2::new(CROSS_MM, 0.0), Vec2::new(0.0, CROSS_MM)] {
                canvas.line(Layer::Page, &[at - arm, at + arm], line.clone());
            }
            canvas.stroke(Layer::Page, circle(at, CROSS_MM * 0.5), line.clone());
            taken.page_words.push(Rect::from_center_size(at, (2.0 * CROSS_MM, 2.0 * CROSS_MM)));
        }
    }
}

/// On each side, in the overlap, the name of the page that joins there.
fn neighbours(canvas: &mut Canvas, frame: Rect, place: &Place<'_>, taken: &mut Taken<'_>) {
    let band = OVERLAP_MM / 2.0;
    let sides = [
        ((-1, 0), "←", Vec2::new(frame.x0 + band, 0.0), false),
        ((1, 0), "→", Vec2::new(frame.x1 - band, 0.0), false),
        ((0, -1), "↑", Vec2::new(0.0, frame.y0 + band), true),
        ((0, 1), "↓", Vec2::new(0.0, frame.y1 - band), true),
    ];
    for ((columns, rows), arrow, band_at, level) in sides {
        let Some(neighbour) = place.neighbour(columns, rows) else { continue };
        let words = format!("{arrow} {neighbour}");
        let width = font::width_mm(&words, SIDE_WORDS_MM, Face::Bold);
        let half = Vec2::new(width / 2.0 + 1.0, SIDE_WORDS_MM);
        // Along the side from its middle outward, where it meets least.
        let (from, to) = if level { (frame.x0, frame.x1) } else { (frame.y0, frame.y1) };
        let spots = offsets((to - from) / 2.0 - 25.0).map(|d| {
            let along = f64::midpoint(from, to) + d;
            if level { Point::new(along, band_at.y) } else { Point::new(band_at.x, along) }
        });
        let covered = |at: Point| Rect::from_points(at - half, at + half);
        let Some(at) = least(spots, |at| taken.crowding_mm(covered(at))) else { continue };
        let style = Style::plain(SIDE_WORDS_MM).bold().middle().painted(QUIET);
        canvas.words(Layer::Page, at + Vec2::new(0.0, SIDE_WORDS_MM * font::CAPITAL / 2.0), words, style);
        taken.page_words.push(covered(at));
    }
}

/// The page's words below the tile.
fn strip(canvas: &mut Canvas, frame: Rect, piece: &Piece, place: &Place<'_>, measure: &str) {
    let base = frame.y1 + STRIP_MM - 3.4;
    let (column, row) = place.tile;
    let title = name(column, row);
    canvas.words(Layer::Page, Point::new(frame.x0, base), title.as_str(), Style::plain(8.0).bold());
    let left = frame.x0 + font::width_mm(&title, 8.0, Face::Bold) + 4.0;
    let style = if piece.record.style.is_empty() { "" } else { " · " };
    let first = format!(
        "{}{style}{} · row {}, column {} · page {} of {}",
        piece.record.style,
        piece.record.piece,
        row + 1,
        column + 1,
        place.number,
        place.of
    );
    let side = |columns, rows| place.neighbour(columns, rows).unwrap_or_else(|| "none".to_owned());
    let second = format!(
        "left {} · right {} · above {} · below {} · print at 100 %, then {measure}",
        side(-1, 0),
        side(1, 0),
        side(0, -1),
        side(0, 1)
    );
    canvas.words(Layer::Page, Point::new(left, base - 3.9), first, Style::plain(2.7).bold());
    canvas.words(Layer::Page, Point::new(left, base), second, Style::plain(2.7));
    debug_assert!(base < frame.y1 + STRIP_MM + UNPRINTABLE_MM);
}
