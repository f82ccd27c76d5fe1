//! The small picture of a pattern as text: a line of JSON.
//!
//! `{"width_mm":...,"height_mm":...,"items":[{"path":"M1,2 L3,4","line":{"width_mm":...,"dashes_mm":[...],"paint":[r,g,b]},
//! "fill":[r,g,b]}]}`: paths as SVG writes them (SVG 1.1, 8.3), millimetres at the pieces' true size to a hundredth, colours
//! from 0 to 1. The layers that lines belong to are not kept: nobody cuts by a small picture.

use crate::geometry::{BezPath, Drawing, Item, Layer, Line, Paint, Point};
use kurbo::PathEl;
use serde::{Deserialize, Serialize};

/// A hundredth of a millimetre at true size: on paper, where a garment is shown a tenth as large, below any printer.
const STEPS_PER_MM: f64 = 100.0;

#[derive(Debug, Serialize, Deserialize)]
struct Small {
    width_mm: f64,
    height_mm: f64,
    items: Vec<Drawn>,
}

#[derive(Debug, Serialize, Deserialize)]
struct Drawn {
    path: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    line: Option<Stroke>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    fill: Option<[f64; 3]>,
}

#[derive(Debug, Serialize, Deserialize)]
struct Stroke {
    width_mm: f64,
    dashes_mm: Vec<f64>,
    paint: [f64; 3],
}

/// The text of a drawing's lines and fills; words and clipped groups, which a small picture does not have, are left out.
pub(super) fn text(drawing: &Drawing) -> String {
    let colour = |p: Paint| [p.r, p.g, p.b];
    let drawn = |item: &Item| match item {
        Item::Path { path, line, fill, .. } => Some(Drawn {
            path: rounded(path).to_svg(),
            line: line.as_ref().map(|line| Stroke {
                width_mm: round(line.width_mm),
                dashes_mm: line.dashes_mm.iter().map(|mm| round(*mm)).collect(),
                paint: colour(line.paint),
            }),
            fill: fill.map(colour),
        }),
        Item::Text { .. } | Item::Clip(_) => None,
    };
    let small = Small {
        width_mm: drawing.width_mm,
        height_mm: drawing.height_mm,
        items: drawing.items.iter().filter_map(drawn).collect(),
    };
    serde_json::to_string(&small).unwrap_or_default()
}

/// The drawing of a text; `None` for a text that is not such a one.
pub(super) fn read(text: &str) -> Option<Drawing> {
    let small: Small = serde_json::from_str(text).ok()?;
    let paint = |[r, g, b]: [f64; 3]| Paint { r, g, b };
    let item = |drawn: Drawn| {
        Some(Item::Path {
            layer: Layer::Page,
            name: String::new(),
            path: BezPath::from_svg(&drawn.path).ok()?,
            line: drawn.line.map(|line| Line {
                width_mm: line.width_mm,
                dashes_mm: line.dashes_mm,
                paint: paint(line.paint),
            }),
            fill: drawn.fill.map(paint),
        })
    };
    let items = small.items.into_iter().map(item).collect::<Option<Vec<_>>>()?;
    Some(Drawing { width_mm: small.width_mm, height_mm: small.height_mm, items })
}

fn rounded(path: &BezPath) -> BezPath {
    let p = |p: Point| Point::new(round(p.x), round(p.y));
    let element = |element: &PathEl| match *element {
        PathEl::MoveTo(a) => PathEl::MoveTo(p(a)),
        PathEl::LineTo(a) => PathEl::LineTo(p(a)),
        PathEl::QuadTo(a, b) => PathEl::QuadTo(p(a), p(b)),
        PathEl::CurveTo(a, b, c) => PathEl::CurveTo(p(a), p(b), p(c)),
        PathEl::ClosePath => PathEl::ClosePath,
    };
    BezPath::from_vec(path.elements().iter().map(element).collect())
}

fn round(mm: f64) -> f64 {
    (mm * STEPS_PER_MM).round() / STEPS_PER_MM
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_read_as_it_was_written() {
        let mut path = BezPath::new();
        path.move_to((0.004, 1.236));
        path.line_to((10.0, 0.0));
        path.curve_to((11.0, 0.0), (12.5, 1.0), (12.5, 2.0));
        path.close_path();
        let line = Line { width_mm: 0.126, dashes_mm: vec![3.0, 1.5], paint: Paint::BLACK };
        let item = |line, fill| Item::Path {
            layer: Layer::Cut,
            name: "body".to_owned(),
            path: path.clone(),
            line,
            fill,
        };
        let items = vec![item(Some(line), None), item(None, Some(Paint::grey(0.5)))];
        let text = text(&Drawing { width_mm: 13.0, height_mm: 3.0, items });
        let read = read(&text).expect("a picture");
        assert_eq!(read.items.len(), 2);
        let Item::Path { path, line: Some(line), fill: None, .. } = &read.items[0] else { panic!("{text}") };
        assert_eq!(path.elements()[0], PathEl::MoveTo(Point::new(0.0, 1.24)));
        assert!((line.width_mm - 0.13).abs() < 1e-9);
        assert_eq!(super::text(&read), text, "what was rounded once stays");
    }
}
