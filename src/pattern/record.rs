//! What is written on every piece.

use super::StepProblem;
use crate::units::Length;

/// What a person says about a piece, for its label. The two finished dimensions, the scale square, FOLD and the
/// kind of line come from the pattern itself.
///
/// Fields after the trade's record on every piece: style, piece, "n of N", quantity, material and thickness,
/// allowance and where, grain, date, version, what it supersedes. Size, tags and notes serve a shop's shelf and stand
/// on no label.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Style name or number.
    pub style: String,
    /// Piece name.
    pub piece: String,
    /// Which piece of how many: `1 of 1`.
    pub number: String,
    /// How many to cut, and how: `cut 1 on fold`.
    pub quantity: String,
    /// Material.
    pub material: String,
    /// Its thickness.
    pub thickness: Option<Length>,
    /// Allowance and where.
    pub allowance: String,
    /// Direction of grain or backbone: `along the fold`.
    pub grain: String,
    /// Date, year first.
    pub date: String,
    /// Version.
    pub version: String,
    /// What it supersedes.
    pub supersedes: String,
    /// Whom it fits, in the maker's words: `M`, `chest 100`.
    pub size: String,
    /// Words to find it by, between commas: `apron, potter`.
    pub tags: String,
    /// Anything else.
    pub notes: String,
}

impl Default for Record {
    fn default() -> Self {
        Self {
            style: String::new(),
            piece: "body".to_owned(),
            number: "1 of 1".to_owned(),
            quantity: "cut 1 on fold".to_owned(),
            material: String::new(),
            thickness: None,
            allowance: "none: this is the finished line".to_owned(),
            grain: "along the fold".to_owned(),
            date: String::new(),
            version: "1".to_owned(),
            supersedes: String::new(),
            size: String::new(),
            tags: String::new(),
            notes: String::new(),
        }
    }
}

impl Record {
    /// Names of the fields, as they are written in the recipe.
    pub const KEYS: [&str; 14] = [
        "style",
        "piece",
        "number",
        "quantity",
        "material",
        "thickness",
        "allowance",
        "grain",
        "date",
        "version",
        "supersedes",
        "size",
        "tags",
        "notes",
    ];

    /// Fields and their texts, in the order of [`Record::KEYS`].
    #[must_use]
    pub fn entries(&self) -> [(&'static str, String); 14] {
        let thickness = self.thickness.as_ref().map(ToString::to_string).unwrap_or_default();
        let texts = [
            &self.style,
            &self.piece,
            &self.number,
            &self.quantity,
            &self.material,
            &thickness,
            &self.allowance,
            &self.grain,
            &self.date,
            &self.version,
            &self.supersedes,
            &self.size,
            &self.tags,
            &self.notes,
        ];
        std::array::from_fn(|i| (Self::KEYS[i], texts[i].clone()))
    }

    /// Sets one field from its text; an empty thickness is none.
    ///
    /// # Errors
    /// [`StepProblem::UnknownKey`] and [`StepProblem::Length`].
    pub fn set(&mut self, key: &str, text: &str) -> Result<(), StepProblem> {
        let field = match key {
            "style" => &mut self.style,
            "piece" => &mut self.piece,
            "number" => &mut self.number,
            "quantity" => &mut self.quantity,
            "material" => &mut self.material,
            "thickness" => {
                let read = |t: &str| Length::parse_positive(t);
                self.thickness = (!text.trim().is_empty())
                    .then(|| read(text))
                    .transpose()
                    .map_err(|source| StepProblem::Length { key: key.to_owned(), source })?;
                return Ok(());
            }
            "allowance" => &mut self.allowance,
            "grain" => &mut self.grain,
            "date" => &mut self.date,
            "version" => &mut self.version,
            "supersedes" => &mut self.supersedes,
            "size" => &mut self.size,
            "tags" => &mut self.tags,
            "notes" => &mut self.notes,
            _ => return Err(StepProblem::unknown_key(key, &Self::KEYS)),
        };
        text.clone_into(field);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_set_by_name() {
        let mut record = Record::default();
        for (index, key) in Record::KEYS.iter().enumerate() {
            let text = if *key == "thickness" { "3-4 oz".to_owned() } else { format!("words {index}") };
            record.set(key, &text).unwrap();
            assert_eq!(record.entries()[index], (*key, text));
        }
        record.set("thickness", "").unwrap();
        assert_eq!(record.thickness, None);
        let error = record.set("matreial", "canvas").unwrap_err().to_string();
        assert!(error.contains("did you mean `material`"), "{error}");
        assert!(record.set("thickness", "-3").unwrap_err().to_string().contains("above zero"));
    }
}
