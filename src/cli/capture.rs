//! `onfold capture`: from photographs to a new pattern folder.

use super::expect::{self, Expected};
use crate::capture::{self, Report, Request, Stage};
use crate::curve::Tolerance;
use crate::outline::{EdgeKind, Wish};
use crate::shelf::{self, Drawn, FoldEdge, Kind, PatternFile};
use crate::units::Length;
use anyhow::Context;
use clap::{Args, ValueEnum};
use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::time::Instant;

/// How the garment's edge is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Edge {
    /// A hem or a turned edge
    Folded,
    /// Cut through, as leather is
    Cut,
}

/// What lies on the sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Lying {
    /// A worn garment
    Garment,
    /// A hand-drawn paper pattern, or a card pattern cut to shape
    Paper,
}

/// Which straight edge of a drawn half is its fold, as the photograph shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Fold {
    /// The longest straight edge; a drawing that is its own mirror image is a whole pattern
    Longest,
    /// The straight edge at the left
    Left,
    /// The straight edge at the right
    Right,
    /// The straight edge at the top
    Top,
    /// The straight edge at the bottom
    Bottom,
    /// The drawing is a whole pattern
    None,
}

impl Fold {
    const fn edge(self) -> FoldEdge {
        match self {
            Self::Longest => FoldEdge::Longest,
            Self::Left => FoldEdge::Left,
            Self::Right => FoldEdge::Right,
            Self::Top => FoldEdge::Top,
            Self::Bottom => FoldEdge::Bottom,
            Self::None => FoldEdge::None,
        }
    }
}

/// How the garment is made and was photographed: what every capture asks.
#[derive(Debug, Args)]
pub(super) struct Taking {
    /// What a ruler says of the checked block, width and height, for example 179.5mm,239.2mm
    #[arg(long, value_name = "WIDTH,HEIGHT", value_parser = block, allow_hyphen_values = true)]
    measured: Option<Block>,
    /// Thickness of the garment's edge (1mm if left out)
    #[arg(long, value_name = "LENGTH", value_parser = Length::parse_positive, allow_hyphen_values = true)]
    pub(super) thickness: Option<Length>,
    /// How the edge is made
    #[arg(long, value_enum, default_value = "folded")]
    edge: Edge,
    /// Leave out straps: arms of the silhouette narrower than this
    #[arg(long, value_name = "LENGTH", value_parser = Length::parse_positive, allow_hyphen_values = true)]
    trim_narrower: Option<Length>,
    /// How near the curves keep to the traced line; a greater length gives fewer pieces (0.25mm for a garment if left out)
    #[arg(long, value_name = "LENGTH", value_parser = Length::parse_positive, allow_hyphen_values = true)]
    tolerance: Option<Length>,
    /// What lies on the sheets
    #[arg(long = "kind", value_enum, default_value = "garment")]
    lying: Lying,
    /// Which straight edge of a drawn half pattern is its fold (with --kind paper; longest if left out)
    #[arg(long, value_enum)]
    fold: Option<Fold>,
}

impl Taking {
    /// What lies on the sheets, and its fold.
    pub(super) fn kind(&self) -> anyhow::Result<Kind> {
        match (self.lying, self.fold) {
            (Lying::Paper, fold) => Ok(Kind::Paper(fold.map_or_else(FoldEdge::default, Fold::edge))),
            (Lying::Garment, None) => Ok(Kind::Garment),
            (Lying::Garment, Some(_)) => {
                anyhow::bail!("--fold is for --kind paper; a garment's fold is found by its two sides")
            }
        }
    }

    /// The capture's request.
    pub(super) fn request(&self) -> Request {
        let (depart_mm, usual_mm) = match self.lying {
            Lying::Garment => (DEPART_MM, USUAL_THICKNESS_MM),
            Lying::Paper => (INK_DEPART_MM, PAPER_MM),
        };
        Request {
            measured_mm: self.measured.map(|b| (b.0, b.1)),
            wish: Wish {
                thickness_mm: self.thickness.as_ref().map_or(usual_mm, Length::mm),
                edge: if self.edge == Edge::Cut { EdgeKind::Cut } else { EdgeKind::Folded },
                trim_narrower_mm: self.trim_narrower.as_ref().map(Length::mm),
            },
            tolerance: Tolerance {
                depart_mm: self.tolerance.as_ref().map_or(depart_mm, Length::mm),
                ..Tolerance::default()
            },
        }
    }
}

/// Arguments of `onfold capture`.
#[derive(Debug, Args)]
pub(super) struct Capture {
    /// The photograph, or several of one garment that show the same sheets
    #[arg(value_name = "PHOTO", required = true)]
    photos: Vec<PathBuf>,
    /// The pattern folder to make
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// What a tape measure says, for example A-B=412mm between lettered points, height=95cm or width=70cm
    #[arg(long, value_name = "PLACES=LENGTH", value_parser = expect::expected)]
    expect: Vec<Expected>,
    #[command(flatten)]
    taking: Taking,
    /// Put the new pattern in the place of one that is there
    #[arg(long)]
    replace: bool,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

/// Thickness when none is told, millimetres: a hemmed canvas.
const USUAL_THICKNESS_MM: f64 = 1.0;

pub(super) use crate::shelf::DEPART_MM;

/// The same for a drawn line, whose trace is quieter.
const INK_DEPART_MM: f64 = 0.08;
/// Thickness of paper when none is told, millimetres.
const PAPER_MM: f64 = 0.2;

/// A measured block.
#[derive(Debug, Clone, Copy)]
struct Block(f64, f64);

/// Two lengths: `179.5mm,239.2mm`; with decimal commas, parted by a semicolon or ` x `.
fn block(text: &str) -> Result<Block, String> {
    let part = [";", "x", ","].into_iter().find(|p| text.matches(p).count() == 1);
    let Some((width, height)) = part.and_then(|p| text.split_once(p)) else {
        return Err("give the width and the height, for example 179.5mm,239.2mm".to_owned());
    };
    let length = |t: &str| Length::parse_positive(t.trim()).map(|l| l.mm()).map_err(|e| e.to_string());
    Ok(Block(length(width)?, length(height)?))
}

impl Capture {
    pub(super) fn run(self) -> anyhow::Result<()> {
        let began = Instant::now();
        let photos = self
            .photos
            .iter()
            .map(|p| std::fs::read(p).with_context(|| format!("cannot read {}; check its name", p.display())))
            .collect::<anyhow::Result<Vec<_>>>()?;
        let kind = self.taking.kind()?;
        let request = self.taking.request();
        let mut file = PatternFile::default();
        let mut facts = Vec::new();
        let mut captured = match kind {
            Kind::Paper(fold) => {
                let paper = capture::capture_paper(&photos, &request, told)?;
                clear_told();
                let drawn = Drawn::of(&paper, fold)?;
                file.drawn_fold = drawn.fold;
                file.recipe.steps = drawn.steps;
                facts = drawn.facts;
                paper.captured
            }
            Kind::Garment => {
                file.record.thickness.clone_from(&self.taking.thickness);
                capture::capture(&photos, &request, told)?
            }
        };
        clear_told();
        expect::compare(&self.expect, &mut captured)?;
        let names: Vec<String> = self.photos.iter().map(|p| p.display().to_string()).collect();
        shelf::keep(&self.out, &mut captured, file, &names, self.replace, began)?;
        if self.json {
            println!("{}", serde_json::to_string(&captured.report)?);
        } else {
            print(&captured.report);
            for (name, text) in &facts {
                println!("{name:16} {text}");
            }
            println!("\nwritten: {}", self.out.display());
            for picture in &captured.pictures {
                println!("picture: {}", self.out.join("pictures").join(&picture.name).display());
            }
            println!("next: onfold draft {}", self.out.display());
        }
        Ok(())
    }
}

/// The stage, on one line that the next overwrites; nothing when no person watches.
pub(super) fn told(stage: Stage) {
    if !std::io::stderr().is_terminal() {
        return;
    }
    let words = match stage {
        Stage::Decode => "reading the photograph",
        Stage::Sheets => "looking for the sheets",
        Stage::Outline => "tracing the outline",
        Stage::Curves => "fitting curves",
        Stage::Pictures => "drawing pictures",
    };
    eprint!("\r\x1b[K{words} ...");
    let _ = std::io::stderr().flush();
}

/// Wipes the line of [`told`].
pub(super) fn clear_told() {
    if std::io::stderr().is_terminal() {
        eprint!("\r\x1b[K");
    }
}

/// The report for a maker.
pub(super) fn print(report: &Report) {
    let numbers: Vec<String> = report.sheets.iter().map(|s| s.number.to_string()).collect();
    println!("sheets found     {} (number {})", report.sheets.len(), numbers.join(", "));
    println!(
        "camera           tilted {:.0} degrees, {:.0} mm up, {:.2} mm a pixel; {} corners agree to {:.2} px",
        report.camera.tilt_deg,
        report.camera.height_mm,
        report.mm_per_px,
        report.corners_used,
        report.reprojection_rms_px
    );
    for (k, camera) in report.more_cameras.iter().enumerate() {
        println!(
            "photograph {}     tilted {:.0} degrees, {:.0} mm up",
            k + 2,
            camera.tilt_deg,
            camera.height_mm
        );
    }
    let [w, h] = report.block_mm;
    let checked = if report.scale_checked { "as you measured it" } else { "as designed, not measured yet" };
    println!("scale            checked block {w:.1} x {h:.1} mm, {checked}");
    println!("height by width  {:.1} x {:.1} mm", report.height_mm, report.width_mm);
    println!(
        "accuracy         {:.2} mm typical, {:.2} mm at the worst place{}",
        report.outline_accuracy_median_mm,
        report.outline_accuracy_worst_mm,
        if report.bridged_mm > 1.0 {
            format!("; {:.0} mm bridged", report.bridged_mm)
        } else {
            String::new()
        }
    );
    for e in &report.expected {
        println!(
            "{:16} {:.1} mm, your tape says {:.1} mm ({:+.1})",
            e.name,
            e.found_mm,
            e.wanted_mm,
            e.off_mm()
        );
    }
    println!("outline          {} lines and curves, {:.0} mm round", report.segments, report.perimeter_mm);
    if !report.holes.is_empty() {
        println!("holes            {}", report.holes_in_words());
    }
    if !report.advice.is_empty() {
        println!("\nwhat would help:");
        for line in &report.advice {
            println!("- {line}");
        }
    }
}
