//! What is said of every new piece: its name, how many, of what.

use crate::pattern::{Outline, Piece, Quantity, Record, StepProblem, StepText};
use crate::units::Length;

/// Name, quantity and material of a new piece.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Said {
    name: String,
    quantity: Quantity,
    material: Option<String>,
    thickness: Option<Length>,
}

impl Said {
    /// Its keys, for [`StepText::only`].
    pub(super) const KEYS: [&str; 5] = ["name", "cut", "pairs", "material", "thickness"];

    /// Reads them; the name is `usual` when it is not said.
    pub(super) fn read(text: &StepText, usual: &str) -> Result<Self, StepProblem> {
        let quantity = match (text.count("cut")?, text.count("pairs")?) {
            (count, None) => Quantity { count: count.unwrap_or(1), pairs: false },
            (None, Some(count)) => Quantity { count, pairs: true },
            (Some(_), Some(_)) => {
                return Err(StepProblem::BadValue {
                    key: "cut".to_owned(),
                    found: "given together with `pairs`".to_owned(),
                    example: "cut = \"2\" (all alike) or pairs = \"1\" (one of each mirrored)".to_owned(),
                });
            }
        };
        Ok(Self {
            name: text.one("name", "name = \"pocket\"")?.unwrap_or(usual).trim().to_owned(),
            quantity,
            material: text.one("material", "material = \"canvas\"")?.map(str::to_owned),
            thickness: text.size("thickness", "thickness = \"1.4mm\"")?,
        })
    }

    /// Its name.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// A piece that is drawn at the size at which it is cut; what is not said is as on the body.
    pub(super) fn piece_as_cut(&self, outline: Outline, body: &Record, grain: &str) -> Piece {
        Piece { cut_as_drawn: true, ..self.piece(outline, body, grain) }
    }

    /// A piece of this line; what is not said is as on the body.
    pub(super) fn piece(&self, outline: Outline, body: &Record, grain: &str) -> Piece {
        let on_fold = if outline.on_fold() { " on fold" } else { "" };
        let record = Record {
            piece: self.name.clone(),
            number: String::new(),
            quantity: format!("{}{on_fold}", self.quantity),
            material: self.material.clone().unwrap_or_else(|| body.material.clone()),
            thickness: self.thickness.clone().or_else(|| body.thickness.clone()),
            grain: grain.to_owned(),
            ..body.clone()
        };
        Piece { quantity: self.quantity, ..Piece::new(outline, record) }
    }

    /// `pocket, cut 2`.
    pub(super) fn spoken(&self) -> String {
        format!("{}, {}", self.name, self.quantity)
    }
}
