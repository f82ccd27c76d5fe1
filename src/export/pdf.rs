//! PDF: drawings in, the bytes of a file out, one page a drawing, at full scale.
//!
//! The user unit is 1/72 in and stays so: `UserUnit` is widely ignored, therefore a page may not pass 200 in.
//! Viewers are told not to scale when printing. Layers become optional content; words are set in an embedded
//! subset of the program's font and can be searched. The same drawings give the same bytes.
//! Rules: ISO 32000-1:2008, 7.7.3 (pages), 8.11 (optional content), 9.7 (composite fonts), 12.2 (print scaling).

mod objects;

use super::font::{self, Font};
use super::{ExportError, layers};
use crate::geometry::{Affine, BezPath, Drawing, Face, Item, Layer, Line, Paint, Point, Rect, Text};
use kurbo::{PathEl, Shape};
use objects::Objects;
use pdf_writer::types::{CidFontType, FontFlags, LineCapStyle, LineJoinStyle, SystemInfo, UnicodeCmap};
use pdf_writer::writers::{Catalog, DocumentInfo, Resources};
use pdf_writer::{Content, Filter, Finish, Name, Ref, Str, TextStr};
use std::collections::BTreeMap;
use std::io::Write;
use subsetter::GlyphRemapper;

/// Points of 1/72 in to a millimetre.
const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// Longest side of a page without `UserUnit`: 14400 points, 200 in (ISO 32000-1, annex C).
pub const LONGEST_MM: f64 = 200.0 * 25.4;

/// Compression effort, 0 to 10: 6 is the usual compromise; more costs time and gains a few per cent.
const EFFORT: u8 = 6;

/// Font numbers in a PDF are thousandths of the size (ISO 32000-1, 9.2.4).
const UNIT: f64 = 1000.0;

/// What the file says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct About<'a> {
    /// Title, shown in the viewer's frame.
    pub title: &'a str,
    /// What it is, in a few words.
    pub subject: &'a str,
}

/// Writes drawings as the pages of one file.
///
/// # Errors
/// [`ExportError::Nothing`] without pages, [`ExportError::PageTooLarge`] beyond 200 in.
pub fn write(about: &About<'_>, pages: &[Drawing]) -> Result<Vec<u8>, ExportError> {
    let mut file = Pages::new(Vec::new())?;
    pages.iter().try_for_each(|page| file.add(page))?;
    file.finish(about)
}

/// A font as far as the pages use it: which glyphs, and what they stand for.
#[derive(Debug)]
struct Used {
    font: Font,
    remapper: GlyphRemapper,
    characters: BTreeMap<u16, char>,
}

impl Used {
    fn new(face: Face) -> Self {
        Self { font: Font::of(face), remapper: GlyphRemapper::new(), characters: BTreeMap::new() }
    }
}

/// A file that is written page by page: however many they are, only what the fonts and the list of pages need is kept.
#[derive(Debug)]
pub struct Pages<W> {
    objects: Objects<W>,
    tree: Ref,
    resources: Ref,
    pages: Vec<Ref>,
    ink: Ink,
}

impl<W: Write> Pages<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// [`ExportError::Unwritten`].
    pub fn new(out: W) -> Result<Self, ExportError> {
        let mut objects = Objects::new(out)?;
        let (tree, resources) = (objects.take(), objects.take());
        let ink = Ink { regular: Used::new(Face::Regular), bold: Used::new(Face::Bold), layers: Vec::new() };
        Ok(Self { objects, tree, resources, pages: Vec::new(), ink })
    }

    /// Writes the next page.
    ///
    /// # Errors
    /// [`ExportError::PageTooLarge`] beyond 200 in, [`ExportError::Unwritten`].
    pub fn add(&mut self, page: &Drawing) -> Result<(), ExportError> {
        let (width_mm, height_mm) = (page.width_mm, page.height_mm);
        if width_mm.max(height_mm) > LONGEST_MM {
            return Err(ExportError::PageTooLarge { width_mm, height_mm, limit_mm: LONGEST_MM });
        }
        let (id, content_id) = (self.objects.take(), self.objects.take());
        self.pages.push(id);
        self.objects.put(id, |chunk| {
            let mut entry = chunk.page(id);
            let (width, height) = (width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM);
            entry.parent(self.tree);
            entry.media_box(pdf_writer::Rect::new(0.0, 0.0, single(width), single(height)));
            entry.contents(content_id).pair(Name(b"Resources"), self.resources);
        })?;
        let content = self.ink.content(page);
        Ok(self.objects.put(content_id, |chunk| {
            chunk.stream(content_id, &content).filter(Filter::FlateDecode);
        })?)
    }

    /// Writes the rest of the file and gives what it was written to.
    ///
    /// # Errors
    /// [`ExportError::Nothing`] without pages, [`ExportError::Font`], [`ExportError::Unwritten`].
    pub fn finish(mut self, about: &About<'_>) -> Result<W, ExportError> {
        if self.pages.is_empty() {
            return Err(ExportError::Nothing);
        }
        let objects = &mut self.objects;
        let mut layers = self.ink.layers;
        layers.sort_by_key(|layer| layers::ALL.iter().position(|other| other == layer));
        let groups: Vec<(Layer, Ref)> = layers.into_iter().map(|layer| (layer, objects.take())).collect();
        let mut fonts = Vec::new();
        for (face, used) in [(Face::Regular, &self.ink.regular), (Face::Bold, &self.ink.bold)] {
            if !used.characters.is_empty() {
                fonts.push((face, write_font(objects, used, face)?));
            }
        }
        objects.put(self.resources, |chunk| {
            let mut resources = chunk.indirect(self.resources).start::<Resources<'_>>();
            let mut named = resources.fonts();
            for &(face, font) in &fonts {
                named.pair(Name(resource(face)), font);
            }
            named.finish();
            let mut properties = resources.insert(Name(b"Properties")).dict();
            for &(layer, group) in &groups {
                properties.pair(Name(layers::id(layer).as_bytes()), group);
            }
        })?;
        for &(layer, group) in &groups {
            objects.put(group, |chunk| {
                let mut entry = chunk.indirect(group).dict();
                entry.pair(Name(b"Type"), Name(b"OCG"));
                entry.pair(Name(b"Name"), TextStr(layers::title(layer)));
            })?;
        }
        let count = i32::try_from(self.pages.len()).unwrap_or(i32::MAX);
        objects.put(self.tree, |chunk| {
            chunk.pages(self.tree).kids(self.pages.iter().copied()).count(count);
        })?;
        let (catalog, info) = (objects.take(), objects.take());
        objects.put(catalog, |chunk| write_catalog(chunk.indirect(catalog).start(), self.tree, &groups))?;
        objects.put(info, |chunk| {
            chunk
                .indirect(info)
                .start::<DocumentInfo<'_>>()
                .title(TextStr(about.title))
                .subject(TextStr(about.subject))
                .creator(TextStr(concat!("onfold ", env!("CARGO_PKG_VERSION"))))
                .producer(TextStr("pdf-writer"));
        })?;
        Ok(self.objects.finish(catalog, info)?)
    }
}

/// What the pages so far are drawn with.
#[derive(Debug)]
struct Ink {
    regular: Used,
    bold: Used,
    layers: Vec<Layer>,
}

impl Ink {
    /// The page's operators, compressed.
    fn content(&mut self, page: &Drawing) -> Vec<u8> {
        let mut content = Content::new();
        // Millimetres, y down, from here on.
        let turned =
            Affine::new([POINTS_PER_MM, 0.0, 0.0, -POINTS_PER_MM, 0.0, page.height_mm * POINTS_PER_MM]);
        content.save_state().transform(matrix(turned));
        content.set_line_join(LineJoinStyle::RoundJoin).set_line_cap(LineCapStyle::ButtCap);
        self.items(&mut content, &page.items);
        content.restore_state();
        miniz_oxide::deflate::compress_to_vec_zlib(&content.finish(), EFFORT)
    }

    fn items(&mut self, content: &mut Content, items: &[Item]) {
        let mut open: Option<Layer> = None;
        for item in items {
            let layer = match item {
                Item::Path { layer, .. } | Item::Text { layer, .. } => Some(*layer),
                Item::Clip(_) => None,
            };
            if layer != open {
                if open.is_some() {
                    content.end_marked_content();
                }
                if let Some(layer) = layer {
                    if !self.layers.contains(&layer) {
                        self.layers.push(layer);
                    }
                    content
                        .begin_marked_content_with_properties(Name(b"OC"))
                        .properties_named(Name(layers::id(layer).as_bytes()));
                }
                open = layer;
            }
            match item {
                Item::Path { path, line, fill, .. } => draw_path(content, path, line.as_ref(), *fill),
                Item::Text { text, .. } => self.text(content, text),
                Item::Clip(clip) => {
                    content.save_state();
                    if let Some(window) = clip.window {
                        rect(content, window);
                        content.clip_nonzero().end_path();
                    }
                    content.transform(matrix(clip.parent_from_items));
                    self.items(content, &clip.items);
                    content.restore_state();
                }
            }
        }
        if open.is_some() {
            content.end_marked_content();
        }
    }

    fn text(&mut self, content: &mut Content, text: &Text) {
        let used = match text.face {
            Face::Regular => &mut self.regular,
            Face::Bold => &mut self.bold,
        };
        let mut codes = Vec::new();
        let mut width = 0.0;
        for glyph in used.font.glyphs(&text.words) {
            let code = used.remapper.remap(glyph.id);
            used.characters.entry(code).or_insert(glyph.character);
            codes.extend(code.to_be_bytes());
            width += used.font.advance(glyph.id) * text.size_mm;
        }
        let at = font::start(text, width);
        let (sin, cos) = text.turn_deg.to_radians().sin_cos();
        let name = Name(resource(text.face));
        set_fill(content, text.paint);
        content.begin_text().set_font(name, single(text.size_mm));
        content.set_text_matrix(matrix(Affine::new([cos, sin, sin, -cos, at.x, at.y])));
        content.show(Str(&codes)).end_text();
    }
}

/// The catalog: pages, no scaling when printed, title in the viewer's frame, the list of layers.
fn write_catalog(mut entry: Catalog<'_>, tree: Ref, groups: &[(Layer, Ref)]) {
    entry.pages(tree);
    entry.viewer_preferences().display_doc_title(true).pair(Name(b"PrintScaling"), Name(b"None"));
    let mut optional = entry.insert(Name(b"OCProperties")).dict();
    let all = groups.iter().map(|(_, group)| *group);
    optional.insert(Name(b"OCGs")).array().items(all.clone());
    let mut shown = optional.insert(Name(b"D")).dict();
    shown.pair(Name(b"Name"), TextStr("Layers"));
    shown.insert(Name(b"Order")).array().items(all);
}

/// A composite font: the subset's file, widths, and the way back from codes to characters. Gives its number.
fn write_font<W: Write>(objects: &mut Objects<W>, used: &Used, face: Face) -> Result<Ref, ExportError> {
    let [font_id, cid_id, descriptor_id, file_id, map_id] = std::array::from_fn(|_| objects.take());
    let name = match face {
        Face::Regular => "ONFOLD+DejaVuSans",
        Face::Bold => "ONFOLD+DejaVuSans-Bold",
    };
    let base = Name(name.as_bytes());
    let system = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
    objects.put(font_id, |chunk| {
        let mut font = chunk.type0_font(font_id);
        font.base_font(base).encoding_predefined(Name(b"Identity-H"));
        font.descendant_font(cid_id).to_unicode(map_id);
    })?;
    objects.put(cid_id, |chunk| {
        let mut cid = chunk.cid_font(cid_id);
        cid.subtype(CidFontType::Type2).base_font(base).system_info(system).font_descriptor(descriptor_id);
        cid.default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
        let widths = used.remapper.remapped_gids().map(|id| single(used.font.advance(id) * UNIT));
        cid.widths().consecutive(0, widths);
    })?;
    let parsed = used.font.face();
    let scale = |v: i16| single(f64::from(v) * UNIT / f64::from(parsed.units_per_em()));
    let bounds = parsed.global_bounding_box();
    objects.put(descriptor_id, |chunk| {
        chunk
            .font_descriptor(descriptor_id)
            .name(base)
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(pdf_writer::Rect::new(
                scale(bounds.x_min),
                scale(bounds.y_min),
                scale(bounds.x_max),
                scale(bounds.y_max),
            ))
            .italic_angle(0.0)
            .ascent(scale(parsed.ascender()))
            .descent(scale(parsed.descender()))
            .cap_height(single(font::CAPITAL * UNIT))
            .stem_v(if face == Face::Bold { 160.0 } else { 90.0 })
            .font_file2(file_id);
    })?;
    let subset = subsetter::subset(used.font.bytes, 0, &used.remapper)
        .map_err(|error| ExportError::Font(error.to_string()))?;
    let packed = miniz_oxide::deflate::compress_to_vec_zlib(&subset, EFFORT);
    let length = i32::try_from(subset.len()).map_err(|error| ExportError::Font(error.to_string()))?;
    objects.put(file_id, |chunk| {
        chunk.stream(file_id, &packed).filter(Filter::FlateDecode).pair(Name(b"Length1"), length);
    })?;
    let mut map = UnicodeCmap::new(Name(b"OnFold"), system);
    for (&code, &character) in &used.characters {
        map.pair(code, character);
    }
    let map = map.finish();
    objects.put(map_id, |chunk| {
        chunk.cmap(map_id, &map);
    })?;
    Ok(font_id)
}

const fn resource(face: Face) -> &'static [u8] {
    match face {
        Face::Regular => b"Regular",
        Face::Bold => b"Bold",
    }
}

fn draw_path(content: &mut Content, path: &BezPath, line: Option<&Line>, fill: Option<Paint>) {
    if line.is_none() && fill.is_none() {
        return;
    }
    if let Some(paint) = fill {
        set_fill(content, paint);
    }
    if let Some(line) = line {
        let p = line.paint;
        content.set_stroke_rgb(single(p.r), single(p.g), single(p.b)).set_line_width(single(line.width_mm));
        content.set_dash_pattern(line.dashes_mm.iter().map(|d| single(*d)), 0.0);
    }
    for subpath in subpaths(path) {
        match upright_rect(subpath) {
            Some(r) => rect(content, r),
            None => draw_elements(content, subpath),
        }
    }
    match (line.is_some(), fill.is_some()) {
        (true, true) => content.fill_nonzero_and_stroke(),
        (true, false) => content.stroke(),
        _ => content.fill_nonzero(),
    };
}

fn draw_elements(content: &mut Content, elements: &[PathEl]) {
    let mut last = Point::ZERO;
    for &element in elements {
        match element {
            PathEl::MoveTo(p) => {
                content.move_to(single(p.x), single(p.y));
            }
            PathEl::LineTo(p) => {
                content.line_to(single(p.x), single(p.y));
            }
            PathEl::QuadTo(c, p) => {
                // A quadratic raised to a cubic, exactly.
                let (a, b) = (last.lerp(c, 2.0 / 3.0), p.lerp(c, 2.0 / 3.0));
                content.cubic_to(
                    single(a.x),
                    single(a.y),
                    single(b.x),
                    single(b.y),
                    single(p.x),
                    single(p.y),
                );
            }
            PathEl::CurveTo(a, b, p) => {
                content.cubic_to(
                    single(a.x),
                    single(a.y),
                    single(b.x),
                    single(b.y),
                    single(p.x),
                    single(p.y),
                );
            }
            PathEl::ClosePath => {
                content.close_path();
            }
        }
        last = element.end_point().unwrap_or(last);
    }
}

/// The path cut before every move.
fn subpaths(path: &BezPath) -> impl Iterator<Item = &[PathEl]> {
    path.elements().chunk_by(|_, next| !matches!(next, PathEl::MoveTo(_)))
}

/// The box, where a subpath is an upright closed one: written in one operator.
fn upright_rect(subpath: &[PathEl]) -> Option<Rect> {
    use PathEl::{ClosePath, LineTo, MoveTo};
    let corners = match *subpath {
        [MoveTo(a), LineTo(b), LineTo(c), LineTo(d), ClosePath] => [a, b, c, d],
        [MoveTo(a), LineTo(b), LineTo(c), LineTo(d), LineTo(e), ClosePath] if a == e => [a, b, c, d],
        _ => return None,
    };
    let box_of = Rect::from_points(corners[0], corners[2]);
    let path = BezPath::from_vec(subpath.to_vec());
    let same = (path.area().abs() - box_of.area()).abs() < 1e-9 && path.bounding_box() == box_of;
    same.then_some(box_of)
}

fn rect(content: &mut Content, r: Rect) {
    content.rect(single(r.x0), single(r.y0), single(r.width()), single(r.height()));
}

fn set_fill(content: &mut Content, p: Paint) {
    content.set_fill_rgb(single(p.r), single(p.g), single(p.b));
}

fn matrix(a: Affine) -> [f32; 6] {
    a.as_coeffs().map(single)
}

/// PDF numbers are single floats here: on a page of 5 m the last bit is 0.5 µm.
#[expect(clippy::cast_possible_truncation, reason = "see above")]
fn single(v: f64) -> f32 {
    v as f32
}
