//! The words that stand on every piece, after the trade's record: style, piece, number, quantity, material, the kind
//! of line and allowance, grain, two finished dimensions, date, version, what it supersedes.
//!
//! A piece enters, lines of words with their sizes leave. What nobody has said yet is left as a rule to write on.

use super::canvas::{Canvas, LEADING, Style};
use super::font;
use crate::geometry::{Face, Layer, Point, Vec2};
use crate::pattern::{Piece, in_both_units};

/// What a person fills in by hand.
const BLANK: &str = "________________";

/// What belongs on printed work patterns (common practice; safety rules differ from place to place).
pub(super) const CAUTIONS: [&str; 5] = [
    "Work garment: not tested or certified as protective equipment. For welding, molten metal, chemicals, electricity, \
     saws or rotating machinery use certified equipment and follow local rules and the employer’s hazard assessment.",
    "Straps near rotating machinery can catch: use a release that parts.",
    "Knives and skiving: cut away from yourself, sharp blade, other hand clear. Punching: eye protection.",
    "Solvent cement: ventilate, no ignition, read the data sheet.",
    "Cut a mock-up from paper or scrap and try it on before you cut the hide or cloth.",
];

/// One line of a label.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LabelLine {
    /// Its words.
    pub(super) words: String,
    /// Size of the letters, millimetres.
    pub(super) size_mm: f64,
    /// Weight.
    pub(super) face: Face,
}

/// The finished dimensions: length at the fold (or height), then the greatest width; of a half, its own and the whole's.
pub(super) fn dimensions(piece: &Piece) -> Vec<String> {
    let measures = piece.measures();
    if piece.outline.on_fold() {
        let fold = piece.outline.edges().last().map_or(0.0, |edge| edge.length_mm());
        let half = measures.width_mm / 2.0;
        vec![
            format!("length at the fold {}", in_both_units(fold)),
            format!("half width {}", in_both_units(half)),
            format!("whole width {}", in_both_units(measures.width_mm)),
        ]
    } else {
        vec![
            format!("height {}", in_both_units(measures.height_mm)),
            format!("width {}", in_both_units(measures.width_mm)),
        ]
    }
}

/// Which line is cut: the dearest mistake is to take the one for the other.
pub(super) fn kind_of_line(piece: &Piece) -> &'static str {
    if piece.outline.edges().iter().any(|edge| edge.allowance.is_some() || !edge.tabs.is_empty()) {
        "CUT on the full line: allowances are in it. Inside it is the FINISHED LINE: dashed where it is sewn, dash-dot \
         where it is folded."
    } else if piece.cut_as_drawn {
        "CUT on the full line: this is the size to cut."
    } else {
        "FINISHED LINE: no allowance is added. Add your allowances outside this line before you cut."
    }
}

/// The label's lines, wrapped to a width; `scale` 1 is for reading at a cutting table.
pub(super) fn lines(piece: &Piece, scale: f64, width_mm: f64) -> Vec<LabelLine> {
    let record = &piece.record;
    let or_blank =
        |text: &str| if text.trim().is_empty() { BLANK.to_owned() } else { text.trim().to_owned() };
    let thickness = record.thickness.as_ref().map_or(BLANK.to_owned(), ToString::to_string);
    let kind = if piece.outline.on_fold() { "HALF PATTERN: " } else { "" };
    let (large, bold, plain) = ((7.0, Face::Bold), (4.6, Face::Bold), (4.0, Face::Regular));
    let added = match piece.allowance_words(in_both_units).join("; ") {
        none if none.is_empty() && piece.cut_as_drawn => "none".to_owned(),
        none if none.is_empty() => or_blank(&record.allowance),
        added => added,
    };
    let mut entries = vec![
        (large, or_blank(&record.style)),
        (large, format!("{}, {}", record.piece, record.number)),
        (bold, format!("{kind}{}", record.quantity)),
        (bold, kind_of_line(piece).to_owned()),
        (plain, format!("allowance: {added}")),
        (plain, format!("material: {}", or_blank(&record.material))),
        (plain, format!("thickness: {thickness}")),
        (plain, format!("grain: {}", or_blank(&record.grain))),
    ];
    entries.extend(dimensions(piece).into_iter().map(|dimension| (plain, format!("finished {dimension}"))));
    entries.extend([
        (plain, format!("date: {}   version: {}", or_blank(&record.date), or_blank(&record.version))),
        (plain, format!("supersedes: {}", or_blank(&record.supersedes))),
    ]);
    entries
        .into_iter()
        .flat_map(|((size, face), words)| {
            let size_mm = size * scale;
            font::wrap(&words, size_mm, face, width_mm).into_iter().map(move |words| LabelLine {
                words,
                size_mm,
                face,
            })
        })
        .collect()
}

/// Width and height of a label, millimetres.
pub(super) fn size(lines: &[LabelLine]) -> Vec2 {
    let width = lines.iter().map(|l| font::width_mm(&l.words, l.size_mm, l.face)).fold(0.0, f64::max);
    Vec2::new(width, lines.iter().map(|l| l.size_mm * LEADING).sum())
}

/// Sets a label with its top-left corner at `corner`.
pub(super) fn set(canvas: &mut Canvas, corner: Point, lines: &[LabelLine]) {
    let mut y = corner.y;
    for line in lines {
        y += line.size_mm;
        let style = Style { face: line.face, ..Style::plain(line.size_mm) };
        canvas.words(Layer::Text, Point::new(corner.x, y), line.words.as_str(), style);
        y += line.size_mm * (LEADING - 1.0);
    }
}
