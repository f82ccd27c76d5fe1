//! `onfold grid`: the calibration sheets to print.

use super::output::Output;
use crate::export::{guide, pdf};
use crate::sheet::layout::{Paper, Roll, SHEETS};
use crate::sheet::print;
use clap::{Args, ValueEnum};

/// What the sheets are printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum On {
    /// One sheet a page, 210 x 297 mm
    A4,
    /// One sheet a page, 8.5 x 11 in
    Letter,
    /// Boards side by side on one large page
    Roll,
}

/// Arguments of `onfold grid`.
#[derive(Debug, Args)]
pub(super) struct Grid {
    /// The paper
    #[arg(long, value_enum)]
    paper: On,
    /// The PDF to write; `-` for standard output
    #[arg(long, value_name = "FILE.pdf")]
    out: Output,
    /// Which sheets, for example 1-12 or 5 (all 24 if left out); a4 and letter only
    #[arg(long, value_name = "FROM-TO", value_parser = sheets, allow_hyphen_values = true, conflicts_with = "boards")]
    sheets: Option<(usize, usize)>,
    /// Boards across and down, for example 4x6; roll only
    #[arg(long, value_name = "ACROSSxDOWN", value_parser = boards, allow_hyphen_values = true)]
    boards: Option<Roll>,
}

impl Grid {
    pub(super) fn run(self) -> anyhow::Result<()> {
        if self.paper == On::Roll && self.sheets.is_some() {
            anyhow::bail!("a roll holds boards, not single sheets: give --boards 4x6 in place of --sheets");
        }
        if self.paper != On::Roll && self.boards.is_some() {
            anyhow::bail!("--boards is for --paper roll; for single pages give --sheets 1-12");
        }
        let (first, last) = self.sheets.unwrap_or((1, SHEETS));
        let (paper, name) = match self.paper {
            On::A4 | On::Roll => (Paper::A4, "A4"),
            On::Letter => (Paper::Letter, "Letter"),
        };
        let mut pages = vec![guide::page(paper)];
        let subject = if self.paper == On::Roll {
            let roll = self.boards.unwrap_or(Roll { across: 4, down: 6 });
            pages.push(print::roll_page(roll));
            format!("{} x {} boards on a roll", roll.across, roll.down)
        } else {
            pages.extend((first - 1..last).map(|sheet| print::page(sheet, paper)));
            format!("sheets {first} to {last} on {name}")
        };
        let about = pdf::About { title: "onfold calibration sheets", subject: &subject };
        self.out.write(&pdf::write(&about, &pages)?)
    }
}

/// `1-12` or `5`, within the sheets there are.
fn sheets(text: &str) -> Result<(usize, usize), String> {
    let (first, last) = text.split_once('-').unwrap_or((text, text));
    match (first.trim().parse(), last.trim().parse()) {
        (Ok(first), Ok(last)) if 1 <= first && first <= last && last <= SHEETS => Ok((first, last)),
        _ => Err(format!("give the first and the last sheet, from 1 to {SHEETS}, for example 1-12")),
    }
}

/// `4x6`, no more boards than there are sheets.
fn boards(text: &str) -> Result<Roll, String> {
    let sides = text.split_once(['x', 'X', '×']).map(|(a, b)| (a.trim().parse(), b.trim().parse()));
    match sides {
        Some((Ok(across), Ok(down)))
            if (1..=SHEETS).contains(&across) && (1..=SHEETS / across).contains(&down) =>
        {
            Ok(Roll { across, down })
        }
        _ => Err(format!("give boards across and down, {SHEETS} in all at most, for example 4x6")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_and_boards_are_read() {
        assert_eq!(sheets("1-12"), Ok((1, 12)));
        assert_eq!(sheets("5"), Ok((5, 5)));
        assert_eq!(boards("4x6"), Ok(Roll { across: 4, down: 6 }));
        for wrong in ["", "0-3", "3-1", "1-25", "a"] {
            assert!(sheets(wrong).is_err(), "{wrong}");
        }
        for wrong in ["", "4", "0x3", "5x5", "99999999999x99999999999"] {
            assert!(boards(wrong).is_err(), "{wrong}");
        }
    }
}
