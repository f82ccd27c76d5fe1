//! The letters: one open font that travels with the program, so words look and measure the same everywhere.
//!
//! Words enter, their width and outlines leave, in millimetres. Letters are set by their own widths, without
//! kerning: at the sizes of a pattern's labels nobody sees it, and every writer then agrees on every width.
//! DejaVu Sans 2.37 in a subset; source and licence stand beside this file.

use crate::geometry::{Affine, BezPath, Face, Point, Text};
use ttf_parser::GlyphId;

/// Height of the capitals as a part of the size (1493 of 2048 units in both weights).
pub(super) const CAPITAL: f64 = 1493.0 / 2048.0;

const REGULAR: &[u8] = include_bytes!("DejaVuSans.ttf");
const BOLD: &[u8] = include_bytes!("DejaVuSans-Bold.ttf");

/// Shown for a character that the font lacks.
const MISSING: char = '\u{2022}';

/// One weight of the font, opened.
#[derive(Debug, Clone)]
pub(super) struct Font {
    /// The whole file.
    pub(super) bytes: &'static [u8],
    face: ttf_parser::Face<'static>,
}

/// A glyph and the character it stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Glyph {
    /// Its number in the font.
    pub(super) id: u16,
    /// The character as it was written.
    pub(super) character: char,
}

impl Font {
    /// Opens a weight.
    ///
    /// # Panics
    /// Never: both files are part of the program and a test opens them.
    pub(super) fn of(weight: Face) -> Self {
        let bytes = match weight {
            Face::Regular => REGULAR,
            Face::Bold => BOLD,
        };
        #[expect(clippy::expect_used, reason = "a file inside the program")]
        let face = ttf_parser::Face::parse(bytes, 0).expect("the font that ships with the program opens");
        Self { bytes, face }
    }

    /// The opened font, for its own numbers.
    pub(super) fn face(&self) -> &ttf_parser::Face<'static> {
        &self.face
    }

    /// The glyphs of some words, one a character; a dot where the font has none.
    pub(super) fn glyphs(&self, words: &str) -> Vec<Glyph> {
        let missing = self.face.glyph_index(MISSING).unwrap_or_default();
        words
            .chars()
            .filter(|c| !c.is_control())
            .map(|character| Glyph { id: self.face.glyph_index(character).unwrap_or(missing).0, character })
            .collect()
    }

    /// How far the pen moves after a glyph, in parts of the size.
    pub(super) fn advance(&self, id: u16) -> f64 {
        f64::from(self.face.glyph_hor_advance(GlyphId(id)).unwrap_or(0)) / self.units()
    }

    fn units(&self) -> f64 {
        f64::from(self.face.units_per_em())
    }

    fn width(&self, words: &str) -> f64 {
        self.glyphs(words).iter().map(|g| self.advance(g.id)).sum()
    }
}

/// Width of words set in a size, millimetres.
pub(super) fn width_mm(words: &str, size_mm: f64, face: Face) -> f64 {
    Font::of(face).width(words) * size_mm
}

/// Where the words' baseline really begins, with the anchor worked in.
pub(super) fn start(text: &Text, width_mm: f64) -> Point {
    use crate::geometry::Anchor;
    let back = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => 0.5,
        Anchor::End => 1.0,
    };
    let along = Affine::rotate(text.turn_deg.to_radians()) * Point::new(width_mm * back, 0.0);
    text.at - along.to_vec2()
}

/// The words as filled outlines, in the drawing's millimetres.
pub(super) fn outline(text: &Text) -> BezPath {
    let font = Font::of(text.face);
    let glyphs = font.glyphs(&text.words);
    let width: f64 = glyphs.iter().map(|g| font.advance(g.id)).sum();
    let scale = text.size_mm / font.units();
    let place = Affine::translate(start(text, width * text.size_mm).to_vec2())
        * Affine::rotate(text.turn_deg.to_radians())
        * Affine::scale_non_uniform(scale, -scale);
    let mut pen = Pen { path: BezPath::new(), x: 0.0 };
    for glyph in glyphs {
        font.face.outline_glyph(GlyphId(glyph.id), &mut pen);
        pen.x += font.advance(glyph.id) * font.units();
    }
    pen.path.apply_affine(place);
    pen.path
}

/// Collects outlines of glyphs one after another, in font units, y up.
struct Pen {
    path: BezPath,
    x: f64,
}

impl Pen {
    fn at(&self, x: f32, y: f32) -> Point {
        Point::new(self.x + f64::from(x), f64::from(y))
    }
}

impl ttf_parser::OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(self.at(x, y));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(self.at(x, y));
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.path.quad_to(self.at(x1, y1), self.at(x, y));
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.path.curve_to(self.at(x1, y1), self.at(x2, y2), self.at(x, y));
    }
    fn close(&mut self) {
        self.path.close_path();
    }
}

/// Words broken into lines that are no wider than `width_mm`; a word wider than that keeps its own line.
pub(super) fn wrap(words: &str, size_mm: f64, face: Face, width_mm: f64) -> Vec<String> {
    let font = Font::of(face);
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if font.width(&format!("{line} {word}")) * size_mm <= width_mm => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Anchor, Paint};
    use kurbo::Shape;

    fn text(words: &str, anchor: Anchor, turn_deg: f64) -> Text {
        Text {
            at: Point::new(10.0, 20.0),
            words: words.into(),
            size_mm: 10.0,
            turn_deg,
            anchor,
            face: Face::Regular,
            paint: Paint::BLACK,
        }
    }

    #[test]
    fn letters_stand_on_their_baseline() {
        let bounds = outline(&text("H", Anchor::Start, 0.0)).bounding_box();
        assert!((bounds.y1 - 20.0).abs() < 1e-6 && (bounds.height() - 10.0 * CAPITAL).abs() < 1e-6);
        let turned = outline(&text("H", Anchor::Start, 90.0)).bounding_box();
        assert!(
            (turned.x0 - 10.0).abs() < 1e-6,
            "a quarter turn clockwise: letters stand up towards the right"
        );
        assert!(turned.y0 >= 20.0);
    }

    #[test]
    fn anchors_shift_by_the_width() {
        let width = width_mm("fold", 10.0, Face::Regular);
        let (a, b) = (text("fold", Anchor::Start, 0.0), text("fold", Anchor::End, 0.0));
        let shift = outline(&a).bounding_box().x0 - outline(&b).bounding_box().x0;
        assert!((shift - width).abs() < 1e-6);
    }

    #[test]
    fn every_sign_the_labels_use_is_in_both_weights() {
        for face in [Face::Regular, Face::Bold] {
            let font = Font::of(face);
            for c in "ABCÄÉßñøŁżαΩЖя0123456789½⅛×°±–—“”…→←↑↓≤≥²⌀%".chars()
            {
                assert!(font.face().glyph_index(c).is_some(), "{c}");
            }
        }
    }

    #[test]
    fn long_words_are_wrapped_between_words() {
        let lines =
            wrap("one two three four", 10.0, Face::Regular, width_mm("three four", 10.0, Face::Regular));
        assert_eq!(lines, ["one two", "three four"]);
    }
}
