//! What is drawn of a piece as the page takes it: elements of SVG as `[name, attributes, words]`, layer by layer, so that the page
//! changes of each only what is another. Colours, joins of lines and fonts are the page's style.

use crate::export::svg;
use crate::geometry::{Anchor, BezPath, Face, Item, Line, Text};
use serde_json::{Map, Value, json};

/// Decimals of a millimetre, finer than any screen shows.
pub(super) const DECIMALS: usize = 2;

/// Layers with their elements.
pub(super) fn layers(items: &[Item]) -> Vec<Value> {
    let one = |(id, title, items): (&str, &str, Vec<&Item>)| json!({ "id": id, "title": title, "items": elements(&items) });
    svg::by_layer(items).into_iter().map(one).collect()
}

/// A path as SVG.
pub(super) fn path(path: &BezPath) -> String {
    svg::data(path, DECIMALS)
}

fn elements(items: &[&Item]) -> Vec<Value> {
    // Dots without a name, one after another, are one element: a seam has hundreds of holes.
    let dot = |item: &&Item| matches!(item, Item::Path { name, line: None, .. } if name.is_empty());
    items.chunk_by(|a, b| dot(a) && dot(b)).filter_map(element).collect()
}

fn element(items: &[&Item]) -> Option<Value> {
    match items.first()? {
        Item::Path { line, fill, .. } => {
            let d: String = items
                .iter()
                .filter_map(|item| if let Item::Path { path: p, .. } = item { Some(path(p)) } else { None })
                .collect();
            Some(json!(["path", stroke(d, line.as_ref(), fill.is_some())]))
        }
        Item::Text { text, .. } => Some(json!(["text", place(text), text.words])),
        Item::Clip(_) => None,
    }
}

fn stroke(d: String, line: Option<&Line>, filled: bool) -> Map<String, Value> {
    let mut out = Map::new();
    out.insert("d".to_owned(), d.into());
    if let Some(line) = line {
        out.insert("stroke-width".to_owned(), number(line.width_mm).into());
        if !line.dashes_mm.is_empty() {
            let dashes: Vec<String> = line.dashes_mm.iter().map(|d| number(*d)).collect();
            out.insert("stroke-dasharray".to_owned(), dashes.join(" ").into());
        }
    } else if filled {
        out.insert("class".to_owned(), "solid".into());
    }
    out
}

fn place(text: &Text) -> Map<String, Value> {
    let (x, y) = (number(text.at.x), number(text.at.y));
    let mut out = Map::new();
    if text.turn_deg.abs() > 0.0 {
        out.insert("transform".to_owned(), format!("rotate({} {x} {y})", number(text.turn_deg)).into());
    }
    out.insert("x".to_owned(), x.into());
    out.insert("y".to_owned(), y.into());
    out.insert("font-size".to_owned(), number(text.size_mm).into());
    match text.anchor {
        Anchor::Start => {}
        Anchor::Middle => _ = out.insert("text-anchor".to_owned(), "middle".into()),
        Anchor::End => _ = out.insert("text-anchor".to_owned(), "end".into()),
    }
    if text.face == Face::Bold {
        out.insert("font-weight".to_owned(), "bold".into());
    }
    out
}

fn number(v: f64) -> String {
    svg::decimal(v, DECIMALS)
}
