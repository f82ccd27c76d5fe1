//! `onfold shelf add`: pattern folders, or a drawer of photographs.

use super::{already, fields, print_json};
use crate::cli::capture::Taking;
use crate::shelf::{BatchEvent, Drawer, Manner, Outcome, OutcomeState, PatternFile, Shelf};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

/// Arguments of `onfold shelf add`.
#[derive(Debug, Args)]
pub(super) struct Add {
    /// Pattern folders, or folders of photographs: each folder in one is a garment; photographs beside them are put
    /// together by their sheets and times
    #[arg(value_name = "FOLDER", required = true)]
    from: Vec<PathBuf>,
    /// Its name on the shelf (its style, else its folder's name, if left out)
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// A field of the record to write: material=canvas; give it again for a second one
    #[arg(long = "set", value_name = "FIELD=TEXT")]
    set: Vec<String>,
    #[command(flatten)]
    taking: Taking,
    /// Print JSON: an array, an object a pattern or a group of photographs
    #[arg(long)]
    json: bool,
}

impl Add {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let fields = fields(&self.set)?;
        let mut outcomes = Vec::new();
        for from in &self.from {
            if from.join("pattern.toml").exists() {
                outcomes.push(self.folder(shelf, from, &fields)?);
                continue;
            }
            let drawer = Drawer::open(from)?;
            if drawer.photographs() == 0 {
                anyhow::bail!("`{}` holds neither a pattern nor photographs", from.display());
            }
            let mut file = PatternFile::default();
            file.record.thickness = self.taking.thickness.clone();
            for (key, text) in &fields {
                file.record.set(key, text)?;
            }
            let began = Instant::now();
            let progress = Progress::new(drawer.photographs());
            let manner = Manner { kind: self.taking.kind()?, request: self.taking.request(), file };
            let done = shelf.add_photographs(&drawer, &manner, |event| progress.tell(&event))?;
            progress.end();
            if !self.json {
                summary(&done, began.elapsed().as_secs_f64());
            }
            outcomes.extend(done);
        }
        if self.json {
            print_json(&outcomes)?;
        }
        let failed = outcomes.iter().filter(|o| matches!(o.state, OutcomeState::Failed(_))).count();
        if failed > 0 {
            anyhow::bail!("{failed} could not be captured; mend what is said of them and run it again");
        }
        Ok(())
    }

    fn folder(&self, shelf: &Shelf, from: &Path, fields: &[(&str, &str)]) -> anyhow::Result<Outcome> {
        let state = match shelf.add_folder(from, self.name.as_deref(), fields) {
            Ok(name) => OutcomeState::Added(name),
            Err(error) => OutcomeState::AlreadyThere(already(error)?),
        };
        if !self.json {
            println!("{}", spoken(&state));
        }
        Ok(Outcome { group: from.display().to_string(), photographs: Vec::new(), state, look: Vec::new() })
    }
}

fn spoken(state: &OutcomeState) -> String {
    match state {
        OutcomeState::Added(name) => format!("on the shelf: {name}"),
        OutcomeState::AlreadyThere(name) => format!("already on the shelf: {name}"),
        OutcomeState::Failed(why) => format!("failed: {why}"),
    }
}

/// What was done, and what a person should look at.
fn summary(done: &[Outcome], seconds: f64) {
    let count = |is: fn(&OutcomeState) -> bool| done.iter().filter(|o| is(&o.state)).count();
    println!(
        "{} put on the shelf, {} were there already, {} failed, in {seconds:.1} s",
        count(|s| matches!(s, OutcomeState::Added(_))),
        count(|s| matches!(s, OutcomeState::AlreadyThere(_))),
        count(|s| matches!(s, OutcomeState::Failed(_))),
    );
    if done.iter().any(|o| !o.look.is_empty()) {
        println!("\nlook at these:");
    }
    for outcome in done.iter().filter(|o| !o.look.is_empty()) {
        let name = match &outcome.state {
            OutcomeState::Added(name) | OutcomeState::AlreadyThere(name) => name.clone(),
            OutcomeState::Failed(_) => format!("{} (failed)", outcome.group),
        };
        println!("{name}");
        for line in &outcome.look {
            println!("- {line}");
        }
    }
}

/// A bar on a terminal; a line a garment where there is none.
struct Progress {
    bar: Option<ProgressBar>,
    total: usize,
    done: AtomicUsize,
}

impl Progress {
    /// `total` counts photographs.
    fn new(total: usize) -> Self {
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(total as u64);
            let style = ProgressStyle::with_template(
                "{bar:30} {pos} of {len} photographs, about {eta} left: {wide_msg}",
            );
            if let Ok(style) = style {
                bar.set_style(style);
            }
            bar.enable_steady_tick(std::time::Duration::from_secs(1));
            bar
        });
        Self { bar, total, done: AtomicUsize::new(0) }
    }

    fn tell(&self, event: &BatchEvent<'_>) {
        match (event, &self.bar) {
            (BatchEvent::Begun(name), Some(bar)) => bar.set_message((*name).to_owned()),
            (BatchEvent::Done(outcome), Some(bar)) => bar.inc(outcome.photographs.len() as u64),
            (BatchEvent::Begun(_), None) => {}
            (BatchEvent::Done(outcome), None) => {
                let count = outcome.photographs.len();
                let done = count + self.done.fetch_add(count, Ordering::Relaxed);
                let of = if count > 1 { format!(" ({count} photographs)") } else { String::new() };
                eprintln!(
                    "{done} of {} photographs: {}{of}: {}",
                    self.total,
                    outcome.group,
                    spoken(&outcome.state)
                );
            }
        }
    }

    fn end(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
