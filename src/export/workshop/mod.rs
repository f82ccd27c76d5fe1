//! The sheets a workshop works by: measures, what to cut, what to buy, and the order of making with its figures.
//!
//! Drafted pieces enter, [`Workshop`] leaves: tables and steps as values, which [`text()`], [`csv()`] and [`pages()`] write.
//! The order of the steps is the trade's usual one (common practice, no source): check the print, mock-up, choose, lay out,
//! cut, skive, turn, set hardware, punch, stitch, try on. Counts and lengths are those of whole pieces, opened out.

mod csv;
mod order;
mod pages;
mod tables;
mod text;

pub use csv::csv;
pub use pages::pages;
pub use text::text;

use super::ExportError;
use super::label::CAUTIONS;
use crate::pattern::{Construction, Drafted, Piece, in_both_units};

/// What stands in one field of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Words(String),
    /// A length, millimetres.
    Mm(f64),
    /// How many.
    Count(u64),
    /// An area, mm².
    Area(f64),
    /// Nothing.
    Empty,
}

impl Cell {
    /// For people: lengths on both tapes.
    fn shown(&self) -> String {
        match self {
            Self::Words(words) => words.clone(),
            Self::Mm(mm) => in_both_units(*mm),
            Self::Count(count) => count.to_string(),
            Self::Area(mm2) => format!("{:.3} m² ({:.2} ft²)", mm2 / MM2_PER_M2, mm2 / MM2_PER_FT2),
            Self::Empty => String::new(),
        }
    }
}

/// Square millimetres in a square metre.
const MM2_PER_M2: f64 = 1e6;
/// Square millimetres in a square foot; a foot is 304.8 mm exactly.
const MM2_PER_FT2: f64 = 304.8 * 304.8;

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it is.
    pub title: &'static str,
    /// Heads of its columns.
    pub columns: Vec<&'static str>,
    /// Its rows, each as long as `columns`.
    pub rows: Vec<Vec<Cell>>,
}

/// One step of the making.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// What to do, in two or three words.
    pub title: &'static str,
    /// How, with the figures.
    pub lines: Vec<String>,
}

/// The sheets.
#[derive(Debug, Clone, PartialEq)]
pub struct Workshop {
    /// Style name.
    pub style: String,
    /// Version and date, as the record has them.
    pub edition: String,
    /// Measures, what to cut, what to buy.
    pub tables: Vec<Table>,
    /// The order of making.
    pub steps: Vec<Step>,
    /// What to beware of.
    pub cautions: Vec<&'static str>,
}

/// A piece with what is drawn on it.
struct Made<'a> {
    piece: &'a Piece,
    on_it: Construction,
}

impl Workshop {
    /// The sheets of a drafted pattern.
    ///
    /// # Errors
    /// [`ExportError::Construction`]; never for pieces that were drafted. [`ExportError::Nothing`] without a piece.
    pub fn new(drafted: &Drafted) -> Result<Self, ExportError> {
        let first = drafted.pieces.first().ok_or(ExportError::Nothing)?;
        let refused = |problem| ExportError::Construction(Box::new(problem));
        let made = drafted.pieces.iter().map(|piece| Ok(Made { piece, on_it: piece.construction()? }));
        let made = made.collect::<Result<Vec<_>, _>>().map_err(refused)?;
        let measures = tables::measures(&made).map_err(refused)?;
        let record = &first.record;
        let said =
            |name: &str, text: &str| if text.is_empty() { String::new() } else { format!("{name} {text}  ") };
        Ok(Self {
            style: if record.style.is_empty() { "pattern".to_owned() } else { record.style.clone() },
            edition: said("version", &record.version) + &said("date", &record.date),
            tables: vec![measures, tables::to_cut(&made), tables::to_buy(&made)],
            steps: order::steps(&made, &drafted.sewn),
            cautions: CAUTIONS.to_vec(),
        })
    }
}
