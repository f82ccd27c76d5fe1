//! The mirror axis put right by hand: as it is written, and by how much.

use super::StepProblem;
use crate::units::Length;

/// An axis that is further off than this was not found at all, millimetres: correct the outline, or draw the fold.
const SHIFT_MOST_MM: f64 = 50.0;
/// The same for its direction, degrees.
const TURN_MOST_DEG: f64 = 10.0;

/// By how much the axis that is found is put right.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Nudge {
    /// Moved across itself by this, to the right as seen with the top up, millimetres.
    pub right_mm: f64,
    /// Turned by this about the middle of the piece, clockwise, radians.
    pub clockwise_rad: f64,
}

/// The same as a person writes it: `shift = "1.5mm"`, `turn = "0.2"`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NudgeText {
    shift: Option<Length>,
    turn_deg: Option<f64>,
}

impl NudgeText {
    /// Its keys.
    pub const KEYS: [&str; 2] = ["shift", "turn"];

    /// Reads a key of [`NudgeText::KEYS`].
    ///
    /// # Errors
    /// [`StepProblem`]: no length or no number, or more than an axis is ever off.
    pub fn set(&mut self, key: &str, text: &str) -> Result<(), StepProblem> {
        let bad = |example: String| {
            Err(StepProblem::BadValue { key: key.to_owned(), found: format!("`{text}`"), example })
        };
        if key == Self::KEYS[0] {
            let length =
                Length::parse(text).map_err(|source| StepProblem::Length { key: key.to_owned(), source })?;
            if length.mm().abs() > SHIFT_MOST_MM {
                return bad(format!("{key} = \"1.5mm\", at most {SHIFT_MOST_MM:.0} mm"));
            }
            self.shift = Some(length);
        } else {
            let degrees = text.trim().trim_end_matches('°').trim().parse::<f64>().ok();
            let Some(degrees) = degrees.filter(|degrees| degrees.abs() <= TURN_MOST_DEG) else {
                return bad(format!("{key} = \"0.2\", at most {TURN_MOST_DEG:.0} degrees"));
            };
            self.turn_deg = Some(degrees);
        }
        Ok(())
    }

    /// The keys that are set, and their texts.
    #[must_use]
    pub fn entries(&self) -> Vec<(&'static str, String)> {
        let shift = self.shift.as_ref().map(|shift| (Self::KEYS[0], shift.to_string()));
        let turn = self.turn_deg.map(|turn| (Self::KEYS[1], turn.to_string()));
        shift.into_iter().chain(turn).collect()
    }

    /// By how much.
    #[must_use]
    pub fn nudge(&self) -> Nudge {
        Nudge {
            right_mm: self.shift.as_ref().map_or(0.0, Length::mm),
            clockwise_rad: self.turn_deg.unwrap_or(0.0).to_radians(),
        }
    }
}
