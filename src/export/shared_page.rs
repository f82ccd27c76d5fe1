//! Small pieces at full scale, several to a page: nothing to join, one test square a page.

use super::canvas::{Canvas, Style, TEST_SQUARE_MM, test_square};
use super::plan::Plan;
use super::tiling::{STRIP_MM, Tiling};
use crate::geometry::{Affine, Drawing, Layer, Point, Rect, Vec2};
use crate::pattern::Piece;

/// Pieces, and the square, keep this from each other and from the border, millimetres: room for scissors.
const APART_MM: f64 = 6.0;

/// A piece, drawn, and where on its page the top-left corner of its box lies, millimetres.
pub(super) struct Placed<'a> {
    pub(super) piece: &'a Piece,
    pub(super) plan: Plan,
    at: Point,
}

/// A page of small pieces.
#[derive(Default)]
pub(super) struct SharedPage<'a> {
    placed: Vec<Placed<'a>>,
    taken: Vec<Rect>,
}

impl<'a> SharedPage<'a> {
    /// Whether a piece of this size finds room on an empty page beside its test square.
    pub(super) fn takes(size: Vec2, page_mm: (f64, f64)) -> bool {
        Self::default().room_for(size, page_mm).is_some()
    }

    /// Takes pieces onto as few pages as come out when the tallest is laid first, each as high and then as far left as it
    /// goes (bottom-left heuristic: Baker, Coffman & Rivest 1980, doi:10.1137/0209064).
    pub(super) fn lay(mut pieces: Vec<(&'a Piece, Plan)>, page_mm: (f64, f64)) -> Vec<Self> {
        pieces.sort_by(|a, b| b.1.bounds.height().total_cmp(&a.1.bounds.height()));
        let mut pages: Vec<Self> = Vec::new();
        for (piece, plan) in pieces {
            let size = plan.bounds.size().to_vec2();
            let found =
                pages.iter().enumerate().find_map(|(k, page)| Some((k, page.room_for(size, page_mm)?)));
            let (page, at) = found.unwrap_or_else(|| {
                pages.push(Self::default());
                let at = pages[pages.len() - 1].room_for(size, page_mm);
                (pages.len() - 1, at.unwrap_or_else(|| Tiling::frame_of(page_mm).origin()))
            });
            pages[page].taken.push(Rect::from_origin_size(at, size.to_size()));
            pages[page].placed.push(Placed { piece, plan, at });
        }
        pages
    }

    /// The test square: in the lower right corner, out of the way of tall pieces.
    fn square(page_mm: (f64, f64)) -> Rect {
        let frame = Tiling::frame_of(page_mm);
        let corner = Point::new(frame.x1 - APART_MM - TEST_SQUARE_MM, frame.y1 - APART_MM - TEST_SQUARE_MM);
        Rect::from_origin_size(corner, (TEST_SQUARE_MM, TEST_SQUARE_MM))
    }

    /// The highest place for a box, of those the one farthest left, that touches nothing.
    fn room_for(&self, size: Vec2, page_mm: (f64, f64)) -> Option<Point> {
        let room = Tiling::frame_of(page_mm).inset(-APART_MM);
        let taken: Vec<Rect> = self.taken.iter().copied().chain([Self::square(page_mm)]).collect();
        let mut across: Vec<f64> = taken.iter().map(|r| r.x1 + APART_MM).chain([room.x0]).collect();
        let mut down: Vec<f64> = taken.iter().map(|r| r.y1 + APART_MM).chain([room.y0]).collect();
        across.sort_by(f64::total_cmp);
        down.sort_by(f64::total_cmp);
        let places = down.iter().flat_map(|y| across.iter().map(move |x| Point::new(*x, *y)));
        places.into_iter().find(|at| {
            let here = Rect::from_origin_size(*at, size.to_size());
            room.contains_rect(here)
                && taken.iter().all(|r| !r.inflate(APART_MM - 1e-6, APART_MM - 1e-6).overlaps(here))
        })
    }

    /// The page, number `number` of `of`.
    pub(super) fn into_drawing(self, page_mm: (f64, f64), number: usize, of: usize) -> Drawing {
        let frame = Tiling::frame_of(page_mm);
        let mut canvas = Canvas::default();
        let names: Vec<&str> = self.placed.iter().map(|p| p.piece.record.piece.as_str()).collect();
        let style = self.placed.first().map_or("", |p| p.piece.record.style.as_str());
        let style = if style.is_empty() { String::new() } else { format!("{style} · ") };
        let first = format!("{style}{} · page {number} of {of}", names.join(", "));
        for placed in self.placed {
            let shift = placed.at - placed.plan.bounds.origin();
            canvas.place(None, Affine::translate(shift), placed.plan.items);
        }
        test_square(&mut canvas, Self::square(page_mm).origin());
        let base = frame.y1 + STRIP_MM - 3.4;
        let second = "full scale, nothing to join · print at 100 %, then measure the square";
        canvas.words(Layer::Page, Point::new(frame.x0, base - 3.9), first, Style::plain(2.7).bold());
        canvas.words(Layer::Page, Point::new(frame.x0, base), second, Style::plain(2.7));
        canvas.into_drawing(page_mm.0, page_mm.1)
    }
}
