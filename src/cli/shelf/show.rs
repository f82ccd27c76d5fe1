//! `onfold shelf show`.

use super::print_json;
use crate::shelf::Shelf;
use clap::Args;

/// Arguments of `onfold shelf show`.
#[derive(Debug, Args)]
pub(super) struct Show {
    /// The pattern's name on the shelf
    name: String,
    /// Print JSON: one object
    #[arg(long)]
    json: bool,
}

impl Show {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let entry = shelf.show(&self.name)?;
        if self.json {
            return print_json(&entry);
        }
        let say = |head: &str, text: &str| println!("{head:12} {text}");
        println!("{}", entry.name);
        if let Some(problem) = &entry.problem {
            say("damaged", problem);
        }
        for (key, text) in &entry.record {
            if !text.is_empty() {
                say(key, text);
            }
        }
        for piece in &entry.pieces {
            let cm = |mm: f64| mm / 10.0;
            println!(
                "{:12} {}: {:.1} x {:.1} cm, {:.0} cm²; {}",
                "piece is",
                piece.name,
                cm(piece.height_mm),
                cm(piece.width_mm),
                piece.area_mm2 / 100.0,
                piece.quantity
            );
        }
        say("steps", &entry.steps.to_string());
        if let Some(note) = &entry.note {
            say("not drafted", note);
        }
        if let (Some(median), Some(worst)) = (entry.accuracy_median_mm, entry.accuracy_worst_mm) {
            say("accuracy", &format!("{median:.2} mm typical, {worst:.2} mm at the worst place"));
        }
        if let Some(bridged) = entry.bridged_mm.filter(|mm| *mm > 1.0) {
            say("bridged", &format!("{bridged:.0} mm, where no edge was to be seen"));
        }
        if let Some(origin) = &entry.origin {
            say("shelved", &origin.added);
            for photograph in &origin.photographs {
                say("photograph", &photograph.name);
            }
            if let Some(grouped) = &origin.grouped {
                say("grouped", grouped);
            }
        }
        for line in &entry.advice {
            say("advice", line);
        }
        say("folder", &shelf.folder_of(&entry.name)?.display().to_string());
        Ok(())
    }
}
