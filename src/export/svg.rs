//! SVG: a drawing in, the text of a file out, in millimetres.
//!
//! Width and height are in mm and the view box has the same numbers, so one user unit is one millimetre. Every
//! layer that is used is a group with its name as id, in the order of [`crate::geometry::Layer`] lists;
//! within a group the drawing's order is kept. Words stay words.

use super::layers;
use crate::geometry::{Affine, Anchor, BezPath, Clip, Drawing, Face, Item, Layer, Line, Paint, Text};
use kurbo::PathEl;
use std::fmt::Write as _;
use svg::node::element::{ClipPath, Description, Element, Group, Path, Rectangle, Text as Words, Title};
use svg::{Document, Node};

/// Decimals of a length: a tenth of a micrometre.
const DECIMALS: usize = 4;

/// Writes a drawing.
#[must_use]
pub fn write(title: &str, drawing: &Drawing) -> String {
    let (width, height) = (number(drawing.width_mm), number(drawing.height_mm));
    let mut document = Document::new()
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("viewBox", format!("0 0 {width} {height}"))
        .add(Title::new(title))
        .add(Description::new().add(svg::node::Text::new("One user unit is one millimetre.")));
    let mut writer = Writer { clips: 0 };
    for layer in layers::ALL {
        let mut group = Group::new().set("id", layers::id(layer));
        if writer.items(&mut group, &drawing.items, layer) {
            document = document.add(group);
        }
    }
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

/// The layers that items use, in the order in which files list them: id, what a person calls it, and what lies on it. Placed
/// groups are left out: a piece in its own frame has none.
#[must_use]
pub fn by_layer(items: &[Item]) -> Vec<(&'static str, &'static str, Vec<&Item>)> {
    let on = |layer: Layer| {
        let here = move |item: &&Item| matches!(item, Item::Path { layer: on, .. } | Item::Text { layer: on, .. } if *on == layer);
        (layers::id(layer), layers::title(layer), items.iter().filter(here).collect::<Vec<_>>())
    };
    layers::ALL.into_iter().map(on).filter(|(.., items)| !items.is_empty()).collect()
}

/// A path as the value of SVG's attribute `d`, its numbers at so many decimals, trailing noughts dropped.
#[must_use]
pub fn data(path: &BezPath, decimals: usize) -> String {
    let mut d = String::new();
    for element in path.elements() {
        let (letter, points): (char, &[kurbo::Point]) = match element {
            PathEl::MoveTo(p) => ('M', &[*p]),
            PathEl::LineTo(p) => ('L', &[*p]),
            PathEl::QuadTo(a, p) => ('Q', &[*a, *p]),
            PathEl::CurveTo(a, b, p) => ('C', &[*a, *b, *p]),
            PathEl::ClosePath => ('Z', &[]),
        };
        d.push(letter);
        for (i, p) in points.iter().enumerate() {
            let gap = if i == 0 { "" } else { " " };
            let _ = write!(d, "{gap}{},{}", decimal(p.x, decimals), decimal(p.y, decimals));
        }
    }
    d
}

/// A number at fixed decimals, its trailing noughts dropped.
#[must_use]
pub fn decimal(v: f64, decimals: usize) -> String {
    let mut text = format!("{v:.decimals$}");
    if decimals > 0 {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

struct Writer {
    clips: usize,
}

impl Writer {
    /// Adds what lies on `layer`; true when there was anything.
    fn items(&mut self, group: &mut Group, items: &[Item], layer: Layer) -> bool {
        let mut any = false;
        for item in items {
            match item {
                Item::Path { layer: on, name, path, line, fill } if *on == layer => {
                    group.append(path_node(name, path, line.as_ref(), *fill));
                    any = true;
                }
                Item::Text { layer: on, text } if *on == layer => {
                    group.append(text_node(text));
                    any = true;
                }
                Item::Clip(clip) => any |= self.clip(group, clip, layer),
                Item::Path { .. } | Item::Text { .. } => {}
            }
        }
        any
    }

    fn clip(&mut self, group: &mut Group, clip: &Clip, layer: Layer) -> bool {
        let mut inner = Group::new();
        if clip.parent_from_items != Affine::IDENTITY {
            let m = clip.parent_from_items.as_coeffs().map(|v| format!("{v:.8}")).join(" ");
            inner.assign("transform", format!("matrix({m})"));
        }
        if !self.items(&mut inner, &clip.items, layer) {
            return false;
        }
        match clip.window {
            None => group.append(inner),
            Some(window) => {
                self.clips += 1;
                let id = format!("window-{}", self.clips);
                let shape = Rectangle::new()
                    .set("x", number(window.x0))
                    .set("y", number(window.y0))
                    .set("width", number(window.width()))
                    .set("height", number(window.height()));
                group.append(ClipPath::new().set("id", id.as_str()).add(shape));
                group.append(Group::new().set("clip-path", format!("url(#{id})")).add(inner));
            }
        }
        true
    }
}

fn path_node(name: &str, path: &BezPath, line: Option<&Line>, fill: Option<Paint>) -> Element {
    let mut node =
        Path::new().set("d", data(path, DECIMALS)).set("fill", fill.map_or("none".to_owned(), colour));
    if !name.is_empty() {
        node.assign("id", name);
    }
    if let Some(line) = line {
        node.assign("stroke", colour(line.paint));
        node.assign("stroke-width", number(line.width_mm));
        node.assign("stroke-linejoin", "round");
        if !line.dashes_mm.is_empty() {
            let dashes: Vec<String> = line.dashes_mm.iter().map(|d| number(*d)).collect();
            node.assign("stroke-dasharray", dashes.join(" "));
        }
    }
    node.into()
}

fn text_node(text: &Text) -> Element {
    let (x, y) = (number(text.at.x), number(text.at.y));
    let mut node = Words::new(text.words.as_str())
        .set("x", x.as_str())
        .set("y", y.as_str())
        .set("font-size", number(text.size_mm))
        .set("font-family", "DejaVu Sans, Verdana, sans-serif")
        .set("fill", colour(text.paint));
    match text.anchor {
        Anchor::Start => {}
        Anchor::Middle => node.assign("text-anchor", "middle"),
        Anchor::End => node.assign("text-anchor", "end"),
    }
    if text.face == Face::Bold {
        node.assign("font-weight", "bold");
    }
    if text.turn_deg.abs() > 0.0 {
        node.assign("transform", format!("rotate({} {x} {y})", number(text.turn_deg)));
    }
    node.into()
}

fn number(v: f64) -> String {
    decimal(v, DECIMALS)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
fn colour(p: Paint) -> String {
    let byte = |v: f64| (v.clamp(0.0, 1.0) * 255.0).round() as u8;
    format!("#{:02x}{:02x}{:02x}", byte(p.r), byte(p.g), byte(p.b))
}
