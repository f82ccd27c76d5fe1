//! The tags of a DXF file: a group code on one line, its value on the next.

use crate::geometry::Point;
use std::fmt::Write as _;

/// Layers that are declared, and their colours (numbers of the standard's palette), so that they are told apart.
const LAYERS: [(u8, u8); 11] =
    [(1, 7), (2, 1), (3, 1), (4, 2), (6, 3), (7, 4), (8, 5), (11, 6), (13, 6), (14, 30), (15, 8)];

/// Text while it grows.
#[derive(Debug, Default)]
pub(super) struct Tags {
    text: String,
}

impl Tags {
    fn tag(&mut self, code: u16, value: &str) {
        let _ = write!(self.text, "{code:>3}\r\n{value}\r\n");
    }

    /// A number to a tenth of a micrometre.
    fn number(&mut self, code: u16, value: f64) {
        // Adding nought turns a negative nought into a plain one.
        let rounded = (value * 1e4).round() / 1e4 + 0.0;
        self.tag(code, &format!("{rounded:.4}"));
    }

    fn at(&mut self, p: Point) {
        self.number(10, p.x);
        self.number(20, p.y);
        self.number(30, 0.0);
    }

    fn entity(&mut self, kind: &str, layer: u8) {
        self.tag(0, kind);
        self.tag(8, &layer.to_string());
    }

    pub(super) fn section(&mut self, name: &str) {
        self.tag(0, "SECTION");
        self.tag(2, name);
    }

    pub(super) fn end_section(&mut self) {
        self.tag(0, "ENDSEC");
    }

    /// Version, extent, and the tables of line types and layers.
    pub(super) fn header(&mut self, least: Point, most: Point) {
        self.tag(999, "onfold, millimetres, after ASTM D6673");
        self.section("HEADER");
        self.tag(9, "$ACADVER");
        self.tag(1, "AC1009");
        for (name, p) in [("$EXTMIN", least), ("$EXTMAX", most)] {
            self.tag(9, name);
            self.at(p);
        }
        self.end_section();
        self.section("TABLES");
        self.tag(0, "TABLE");
        self.tag(2, "LTYPE");
        self.tag(70, "1");
        self.tag(0, "LTYPE");
        self.tag(2, "CONTINUOUS");
        self.tag(70, "0");
        self.tag(3, "Solid line");
        self.tag(72, "65");
        self.tag(73, "0");
        self.number(40, 0.0);
        self.tag(0, "ENDTAB");
        self.tag(0, "TABLE");
        self.tag(2, "LAYER");
        self.tag(70, &LAYERS.len().to_string());
        for (layer, colour) in LAYERS {
            self.tag(0, "LAYER");
            self.tag(2, &layer.to_string());
            self.tag(70, "0");
            self.tag(62, &colour.to_string());
            self.tag(6, "CONTINUOUS");
        }
        self.tag(0, "ENDTAB");
        self.end_section();
    }

    pub(super) fn block(&mut self, name: &str) {
        self.entity("BLOCK", 1);
        self.tag(2, name);
        self.tag(70, "0");
        self.at(Point::ZERO);
        self.tag(3, name);
    }

    pub(super) fn end_block(&mut self) {
        self.entity("ENDBLK", 1);
    }

    pub(super) fn insert(&mut self, name: &str, at: Point) {
        self.entity("INSERT", 1);
        self.tag(2, name);
        self.at(at);
    }

    pub(super) fn point(&mut self, layer: u8, at: Point) {
        self.entity("POINT", layer);
        self.at(at);
    }

    pub(super) fn line(&mut self, layer: u8, from: Point, to: Point) {
        self.entity("LINE", layer);
        self.at(from);
        self.number(11, to.x);
        self.number(21, to.y);
        self.number(31, 0.0);
    }

    pub(super) fn circle(&mut self, layer: u8, at: Point, radius: f64) {
        self.entity("CIRCLE", layer);
        self.at(at);
        self.number(40, radius);
    }

    pub(super) fn polyline(&mut self, layer: u8, points: &[Point], closed: bool) {
        self.entity("POLYLINE", layer);
        self.tag(66, "1");
        self.at(Point::ZERO);
        self.tag(70, if closed { "1" } else { "0" });
        for &p in points {
            self.entity("VERTEX", layer);
            self.at(p);
        }
        self.entity("SEQEND", layer);
    }

    pub(super) fn text(&mut self, layer: u8, at: Point, height: f64, turn_deg: f64, words: &str) {
        self.entity("TEXT", layer);
        self.at(at);
        self.number(40, height);
        self.tag(1, words);
        if turn_deg.abs() > 0.0 {
            self.number(50, turn_deg);
        }
    }

    pub(super) fn finish(mut self) -> String {
        self.tag(0, "EOF");
        self.text
    }
}
