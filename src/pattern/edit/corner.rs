//! What becomes of two allowances at the corner between them.

use super::Edit;
use super::mitre::Mitre;
use crate::pattern::{Corner as Style, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};

/// How the allowances of two edges end at a corner, with the layers that lie on each other there.
///
/// ```toml
/// [[step]]
/// do = "corner"
/// point = "D"
/// style = "square"         # full, square, butted or folded-back (mitred: the step mitre)
/// first = "side"           # butted: the edge that runs through; folded-back: the one folded first. Left out: the edge
///                          # that ends at the corner
/// rim = "4mm"              # butted: how far the other edge is turned over the end of the first. Left out: a third of its
///                          # allowance; 0mm: none, the edge stays raw there and is dressed
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Corner {
    point: String,
    style: Word,
    first: Option<String>,
    rim: Option<Length>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Word {
    Full,
    Square,
    Butted,
    FoldedBack,
    Mitred,
}

const RIM: &str = "rim = \"4mm\", or 0mm for none, at a butted corner alone";

const STYLES: [(&str, Word); 5] = [
    ("full", Word::Full),
    ("square", Word::Square),
    ("butted", Word::Butted),
    ("folded-back", Word::FoldedBack),
    ("mitred", Word::Mitred),
];

impl Corner {
    /// How it is written.
    pub(super) const KIND: &str = "corner";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["point", "style", "first", "rim"])?;
        let missing =
            || StepProblem::Missing { key: "style".to_owned(), example: "style = \"square\"".to_owned() };
        let style = text.choice("style", &STYLES)?.ok_or_else(missing)?;
        let rim = text.length("rim", RIM)?;
        if let Some(rim) = rim.as_ref().filter(|rim| style != Word::Butted || rim.mm() < 0.0) {
            return Err(StepProblem::BadValue {
                key: "rim".to_owned(),
                found: format!("`{rim}`"),
                example: RIM.to_owned(),
            });
        }
        Ok(Self {
            point: text.must("point", "point = \"D\"")?.to_owned(),
            style,
            first: text.one("first", "first = \"side\"")?.map(str::to_owned),
            rim,
        })
    }
}

impl Edit for Corner {
    fn spoken(&self) -> String {
        let word = STYLES.iter().find(|(_, style)| *style == self.style).map_or("", |(word, _)| word);
        let first = self.first.as_ref().map_or_else(String::new, |first| format!(", {first} first"));
        let rim = self.rim.as_ref().map_or_else(String::new, |rim| format!(", a rim of {rim}"));
        format!("corner {} {word}{first}{rim}", self.point)
    }

    fn unit(&self) -> Option<Unit> {
        self.rim.as_ref().map(Length::unit)
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        if self.style == Word::Mitred {
            return Mitre::at(&self.point).apply(piece);
        }
        let outline = &mut piece.outline;
        let index = outline.find_point(&self.point)?;
        if outline.is_on_fold(index) {
            return Err(StepProblem::OnFold { what: format!("point {}", self.point) });
        }
        let before = outline.before(index);
        let first = match &self.first {
            None => true,
            Some(name) => {
                let edge = outline.find_edge(name)?;
                if edge != before && edge != index {
                    return Err(StepProblem::NotAtPoint {
                        edge: outline.spoken(edge),
                        point: self.point.clone(),
                        edges: format!("{} and {}", outline.spoken(before), outline.spoken(index)),
                    });
                }
                edge == before
            }
        };
        outline.edges_mut()[index].corner = match self.style {
            Word::Full | Word::Mitred => Style::Full,
            Word::Square => Style::Square,
            Word::Butted => Style::Butted { first_through: first, rim_mm: self.rim.as_ref().map(Length::mm) },
            Word::FoldedBack => Style::FoldedBack { first_back: first },
        };
        Ok(())
    }
}
