//! How long a draft of the worked examples takes: read, folded, every step replayed, the outlines written.
//!
//! `cargo bench --bench drafting` prints the median, and of it what the fold takes.

#![allow(clippy::print_stdout, reason = "a report")]

use onfold::export::json::{self, Outline};
use onfold::shelf::Folder;
use std::path::Path;
use std::time::Instant;

/// Runs of each example.
const RUNS: usize = 41;
/// Bar, milliseconds.
const MOST_MS: f64 = 50.0;

fn main() {
    for example in ["canvas_pattern", "leather_pattern"] {
        let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(example);
        let open = || Folder::open(&dir).expect("the example reads");
        let fold = median_ms(|| drop(open().fold().expect("it folds")));
        let whole = median_ms(|| {
            let (_, drafted) = open().replay().expect("it is drafted");
            let pieces: Vec<_> =
                drafted.pieces.iter().map(|p| Outline::of_piece(p).expect("drafted")).collect();
            assert!(json::write("drafted", &pieces).len() > 1000);
        });
        println!("{example}: {whole:.1} ms (bar {MOST_MS}), of it {fold:.1} to read and fold");
    }
}

fn median_ms(mut once: impl FnMut()) -> f64 {
    let mut all: Vec<f64> = (0..RUNS)
        .map(|_| {
            let began = Instant::now();
            once();
            began.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all[RUNS / 2]
}
