//! The plain middle model between a pattern and a file: lines, fills and words in millimetres.
//!
//! Whatever is written (PDF, SVG, PNG, later plotter files) is first a [`Drawing`]; a writer knows
//! nothing of patterns. x right, y down, origin at the top-left corner of the drawing.

use super::{Affine, BezPath, Point, Rect};

/// What a line is for. A writer keeps layers apart where its format can.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Layer {
    /// Where the knife goes.
    Cut,
    /// The finished line, where it is not the cut line.
    Finished,
    /// Where the work is folded, and the fold of a half pattern.
    Fold,
    /// Where leather is thinned.
    Skive,
    /// Where the needle goes.
    Stitch,
    /// Notches, holes, placement lines, grain.
    Marks,
    /// Words and dimensions.
    Text,
    /// The page's own furniture: crosses, names, test squares.
    Page,
    /// A printed target (the calibration sheet).
    Target,
}

/// Grey or colour, each 0 (none) to 1 (full light); black is 0, 0, 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paint {
    /// Red.
    pub r: f64,
    /// Green.
    pub g: f64,
    /// Blue.
    pub b: f64,
}

impl Paint {
    /// Ink black.
    pub const BLACK: Self = Self::grey(0.0);
    /// Paper white.
    pub const WHITE: Self = Self::grey(1.0);
    /// A grey of this lightness.
    #[must_use]
    pub const fn grey(v: f64) -> Self {
        Self { r: v, g: v, b: v }
    }
}

/// A stroke: width and dashes in millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Line width, millimetres.
    pub width_mm: f64,
    /// Lengths on and off in turn, millimetres; empty for a full line.
    pub dashes_mm: Vec<f64>,
    /// Its colour.
    pub paint: Paint,
}

/// Which end of the words stands at the point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The words begin there.
    Start,
    /// The words are centred there.
    Middle,
    /// The words end there.
    End,
}

/// Weight of the letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Plain.
    Regular,
    /// Bold.
    Bold,
}

/// Words on one line.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Where the baseline begins (or its middle or end, see `anchor`).
    pub at: Point,
    /// The words.
    pub words: String,
    /// Size of the letters (the em), millimetres.
    pub size_mm: f64,
    /// Turn of the baseline, degrees, clockwise as seen.
    pub turn_deg: f64,
    /// Which end stands at `at`.
    pub anchor: Anchor,
    /// Plain or bold.
    pub face: Face,
    /// Colour.
    pub paint: Paint,
}

/// Items placed by a transform and cut at a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Clip {
    /// The box in the parent's frame; nothing outside is shown. `None` shows all.
    pub window: Option<Rect>,
    /// Parent's frame from the items' frame.
    pub parent_from_items: Affine,
    /// What is inside.
    pub items: Vec<Item>,
}

/// One thing drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A path, stroked, filled or both.
    Path {
        /// Its layer.
        layer: Layer,
        /// A name for formats that carry one (an SVG id); empty for none.
        name: String,
        /// The path, millimetres.
        path: BezPath,
        /// The stroke, if any.
        line: Option<Line>,
        /// The fill, if any (non-zero winding).
        fill: Option<Paint>,
    },
    /// Words.
    Text {
        /// Its layer.
        layer: Layer,
        /// The words and their place.
        text: Text,
    },
    /// A placed and clipped group.
    Clip(Clip),
}

/// One page or picture, in millimetres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// Width, millimetres.
    pub width_mm: f64,
    /// Height, millimetres.
    pub height_mm: f64,
    /// What is on it, in drawing order.
    pub items: Vec<Item>,
}
