//! `onfold demo`: the whole way on a photograph that ships with the program, a potter's canvas apron.

use super::{capture, replay};
use crate::capture::{Request, capture as capture_photos};
use crate::curve::Tolerance;
use crate::export::json::{self, Outline};
use crate::export::{pdf, picture, png, tiles};
use crate::outline::{EdgeKind, Wish};
use crate::pattern::{Record, StepText};
use crate::sheet::Paper;
use crate::shelf::{self, Folder, PatternFile};
use crate::units::{Length, Unit};
use anyhow::Context;
use clap::Args;
use std::path::PathBuf;
use std::time::Instant;

/// The photograph.
const PHOTO: &[u8] = include_bytes!("../../testdata/canvas_apron.jpg");
/// Thickness of that apron's hem.
const THICKNESS: &str = "1.1mm";
/// What the potter wants changed: a longer apron, and more room under the arms.
const CHANGES: [(&str, &[(&str, &str)]); 2] =
    [("lengthen", &[("by", "90mm")]), ("move-end", &[("edge", "B-C"), ("point", "C"), ("each", "25mm")])];
/// Pixels to a millimetre of the picture.
const DOTS_PER_MM: f64 = 2.0;

/// Arguments of `onfold demo`.
#[derive(Debug, Args)]
pub(super) struct Demo {
    /// The folder to write to
    #[arg(long, value_name = "DIR", default_value = "onfold-demo")]
    out: PathBuf,
}

impl Demo {
    pub(super) fn run(self) -> anyhow::Result<()> {
        let began = Instant::now();
        println!("A potter's canvas apron, photographed on the calibration sheets.\n");
        let thickness = Length::parse_positive(THICKNESS)?;
        let wish = Wish { thickness_mm: thickness.mm(), edge: EdgeKind::Folded, trim_narrower_mm: None };
        let request = Request {
            measured_mm: Some((180.0, 240.0)),
            wish,
            tolerance: Tolerance { depart_mm: capture::DEPART_MM, ..Tolerance::default() },
        };
        let mut captured = capture_photos(&[PHOTO.to_vec()], &request, capture::told)?;
        capture::clear_told();
        let record = Record {
            style: "potter's apron".to_owned(),
            material: "waxed canvas".to_owned(),
            thickness: Some(thickness),
            ..Record::default()
        };
        let file = PatternFile { record, ..PatternFile::default() };
        shelf::keep(&self.out, &mut captured, file, &["canvas_apron.jpg".to_owned()], true, began)?;
        capture::print(&captured.report);
        let mut folder = Folder::open(&self.out)?;
        for (kind, keys) in CHANGES {
            let step = keys.iter().fold(StepText::new(kind), |step, (key, value)| step.with(key, value));
            folder = folder.with_step(&step)?;
        }
        folder.save()?;
        let (folded, drafted) = replay::replay(&folder)?;
        println!(
            "\nfold             left and right depart by {} in the mean, at most {}",
            Unit::Millimetre.show(folded.wear.rms_mm),
            Unit::Millimetre.show(folded.wear.worst.right_out_mm.abs()),
        );
        for report in &drafted.reports {
            println!("step {}           {}", report.number, report.spoken);
            for line in report.lines() {
                println!("                 {line}");
            }
        }
        let outlines = drafted.pieces.iter().map(Outline::of_piece).collect::<Result<Vec<_>, _>>()?;
        let replayed = folder.write_drafted(&json::write("drafted", &outlines))?;
        let half = self.out.join("half.png");
        let drawings = drafted.pieces.iter().map(picture::of_piece).collect::<Result<_, _>>()?;
        let drawing = picture::row(drawings);
        std::fs::write(&half, png::write(&drawing, DOTS_PER_MM)?)
            .with_context(|| format!("cannot write {}", half.display()))?;
        let pages = tiles::pages(&drafted.pieces, Paper::A4)?;
        let about = pdf::About { title: "potter's apron", subject: "full-scale pattern, finished line" };
        let printed = self.out.join("pattern-a4.pdf");
        std::fs::write(&printed, pdf::write(&about, &pages)?)
            .with_context(|| format!("cannot write {}", printed.display()))?;
        println!("\ndone in {:.1} s. Look at", began.elapsed().as_secs_f64());
        for picture in &captured.pictures {
            println!("  {}", self.out.join("pictures").join(&picture.name).display());
        }
        println!("  {}\nprint at 100 %\n  {}", half.display(), printed.display());
        println!("and change\n  {}", self.out.join("pattern.toml").display());
        println!("which onfold draft replays into\n  {}", replayed.display());
        Ok(())
    }
}
