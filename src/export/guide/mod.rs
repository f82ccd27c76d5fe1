//! The page that goes before the calibration sheets: in pictures and few words, how to print, check, lay out and
//! photograph.

mod pictures;
mod props;

use super::canvas::{Canvas, Style, circle};
use super::strokes::{self, full};
use crate::geometry::{Drawing, Layer, Paint, Point, Rect, Vec2};
use crate::sheet::Paper;
use kurbo::Shape;

/// Margin of the page, millimetres: inside what any printer reaches.
const MARGIN_MM: f64 = 13.0;
/// Space between panels, millimetres.
const GAP_MM: f64 = 5.0;
/// Height kept for the title, millimetres.
const TITLE_MM: f64 = 16.0;
/// Height kept for the foot of the page, millimetres.
const FOOT_MM: f64 = 21.0;
/// Height of a panel's words, millimetres.
const WORDS_MM: f64 = 17.0;

const PAGE: Layer = Layer::Page;
const CLOTH: Paint = Paint { r: 0.78, g: 0.70, b: 0.58 };
const GOOD: Paint = Paint { r: 0.10, g: 0.50, b: 0.25 };
const BAD: Paint = Paint { r: 0.78, g: 0.13, b: 0.10 };
const SHADE: Paint = Paint::grey(0.93);

/// What one panel shows and says.
struct Step {
    heading: &'static str,
    words: &'static str,
    picture: fn(&mut Canvas, Rect),
}

const STEPS: [Step; 8] = [
    Step {
        heading: "Print at 100 %",
        words: "Choose “actual size” or 100 %. Never “fit to page”. Plain white matt paper, black ink.",
        picture: pictures::print_picture,
    },
    Step {
        heading: "Measure a sheet",
        words: "A steel ruler over 9 squares across and 12 down (tick to tick on a page): 180 and 240 mm. \
                Enter what it really says, both ways: --measured 179.5mm,239.2mm",
        picture: pictures::measure_picture,
    },
    Step {
        heading: "Lay a ring of sheets",
        words: "Sheets lie flat under the garment’s whole outline, half covered, half in sight. Gaps and overlaps \
                do no harm. Each number once. None is needed in the middle.",
        picture: pictures::ring_picture,
    },
    Step {
        heading: "Tuck straps under",
        words: "Straps, ties, rings and labels go under the garment, so that only its true outline shows.",
        picture: pictures::straps_picture,
    },
    Step {
        heading: "Smooth it, do not pull",
        words: "Flat hands from the middle outward. Relaxed, closed, no folds. A pulled edge is copied pulled.",
        picture: pictures::flat_picture,
    },
    Step {
        heading: "Hold the camera above",
        words: "As square from above as you can, tilt under 30°. Stand on a chair; step back rather than use \
                the wide-angle lens.",
        picture: pictures::camera_picture,
    },
    Step {
        heading: "All of it in the frame",
        words: "The whole garment with sheets on every side fills the frame. Highest resolution, main lens, \
                no zoom, no filter.",
        picture: pictures::frame_picture,
    },
    Step {
        heading: "Even light, no flash",
        words: "Daylight from a window or a bright overcast sky. No flash, no hard shadow across the edge. \
                Hold still: the checks must be sharp.",
        picture: pictures::light_picture,
    },
];

/// The guide on a page of this paper.
#[must_use]
pub fn page(paper: Paper) -> Drawing {
    let (width, height) = paper.size_mm();
    let mut canvas = Canvas::default();
    let title = Style::plain(7.0).bold();
    canvas.words(PAGE, Point::new(MARGIN_MM, MARGIN_MM + 6.0), "Print, check, lay out, photograph", title);
    let note =
        "The pages after this one are the calibration sheets. Keep them: they can be used again and again.";
    let quiet = Style::plain(2.8).painted(strokes::QUIET);
    canvas.words(PAGE, Point::new(MARGIN_MM, MARGIN_MM + 11.0), note, quiet);

    let panel_width = (width - 2.0 * MARGIN_MM - GAP_MM) / 2.0;
    let panel_height = (height - 2.0 * MARGIN_MM - TITLE_MM - FOOT_MM + 3.0 * -GAP_MM) / 4.0;
    for (number, step) in STEPS.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "eight panels")]
        let (column, row) = ((number % 2) as f64, (number / 2) as f64);
        let corner = Point::new(
            MARGIN_MM + column * (panel_width + GAP_MM),
            MARGIN_MM + TITLE_MM + row * (panel_height + GAP_MM),
        );
        panel(&mut canvas, Rect::from_origin_size(corner, (panel_width, panel_height)), number + 1, step);
    }
    foot(
        &mut canvas,
        Rect::new(MARGIN_MM, height - MARGIN_MM - FOOT_MM, width - MARGIN_MM, height - MARGIN_MM),
    );
    canvas.into_drawing(width, height)
}

fn panel(canvas: &mut Canvas, r: Rect, number: usize, step: &Step) {
    let picture = Rect::new(r.x0, r.y0, r.x1, r.y1 - WORDS_MM);
    canvas.fill(PAGE, picture.to_rounded_rect(2.0).to_path(0.01), SHADE);
    (step.picture)(canvas, picture.inset((-9.0, -3.0)));
    let dot = Point::new(r.x0 + 5.5, r.y0 + 5.5);
    canvas.fill(PAGE, circle(dot, 3.6), Paint::BLACK);
    let figure = Style::plain(4.2).bold().middle().painted(Paint::WHITE);
    canvas.words(PAGE, dot + Vec2::new(0.0, 1.5), number.to_string(), figure);
    let base = picture.y1 + 4.6;
    canvas.words(PAGE, Point::new(r.x0, base), step.heading, Style::plain(3.7).bold());
    canvas.paragraph(PAGE, Point::new(r.x0, base + 4.2), r.width(), step.words, Style::plain(2.65));
}

/// A line of 100 mm to lay a ruler on, and what the sheets are not for.
fn foot(canvas: &mut Canvas, r: Rect) {
    let y = r.y0 + 8.0;
    let line = full(0.25);
    canvas.line(PAGE, &[Point::new(r.x0, y), Point::new(r.x0 + 100.0, y)], line.clone());
    for step in 0..=10 {
        let x = r.x0 + 10.0 * f64::from(step);
        let tall = if step % 5 == 0 { 3.0 } else { 1.8 };
        canvas.line(PAGE, &[Point::new(x, y), Point::new(x, y - tall)], line.clone());
    }
    let words =
        "This line is 100 mm. If your ruler says otherwise, the print was scaled: print again at 100 %.";
    canvas.paragraph(
        PAGE,
        Point::new(r.x0 + 104.0, y - 2.0),
        r.width() - 104.0,
        words,
        Style::plain(2.65).bold(),
    );
    let cautions = "Before you start, measure the garment by hand, two lengths and two widths: the result must agree \
        within 3 mm. A copied garment is a work garment: it is not tested or certified as protective equipment.";
    let quiet = Style::plain(2.5).painted(strokes::QUIET);
    canvas.paragraph(PAGE, Point::new(r.x0, y + 7.5), r.width(), cautions, quiet);
}
