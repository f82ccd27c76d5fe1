//! Rims of stains told from ink, by how they look across: a dried drop leaves a rim that is wider than a stroke and paler, or
//! brown, and the paper on its inner side is darker (the drop carries what it dissolved to its rim: R. D. Deegan and others,
//! "Capillary flow as the cause of ring stains from dried liquid drops", Nature 389, 1997, doi:10.1038/39827).

use super::graph::{Edge, Graph, Look};
use std::collections::HashSet;

/// A stroke this many times as wide as ink usually is on this paper is wide.
const WIDE_TIMES: f64 = 1.5;
/// ... and its sides differ when one is darker by this part of the stroke's darkness.
const STEP: f64 = 0.22;
/// A stroke less dark than this part of the usual ink is pale.
const PALE: f64 = 0.75;
/// A stroke warmer than usual ink by this (see [`Look::warm`]) is brown.
const WARM: f64 = 0.25;
/// A rim is at least this long in one stroke, millimetres; a drop of half a centimetre has fifteen round it.
const RIM_MM: f64 = 10.0;
/// Fewer seen places than this tell nothing.
const LEAST: usize = 5;
/// Usual ink is that of strokes of this length, millimetres: writing is often done with another pen.
const LONG_MM: f64 = 15.0;

/// Takes the rims of stains out of a drawing. Gives how many strokes they were.
pub(super) fn remove(graph: &mut Graph) -> usize {
    let long = |e: &&Edge| e.length_mm() >= LONG_MM;
    let all: Vec<Look> = graph.edges.iter().filter(long).flat_map(seen).collect();
    let Some(usual) = median(&all) else { return 0 };
    let suspect: Vec<bool> = graph
        .edges
        .iter()
        .map(|edge| {
            let looks: Vec<Look> = seen(edge).collect();
            looks.len() >= LEAST && median(&looks).is_some_and(|look| is_rim(&look, &usual))
        })
        .collect();
    // A short stroke beside others looks like a rim (an arrowhead's has ink at one side): it is one where a rim goes on in it.
    let mut rim: Vec<bool> =
        graph.edges.iter().zip(&suspect).map(|(e, s)| *s && e.length_mm() >= RIM_MM).collect();
    loop {
        let at: HashSet<usize> =
            graph.edges.iter().zip(&rim).filter(|(_, r)| **r).flat_map(|(e, _)| e.ends).collect();
        let mut more = false;
        for (k, edge) in graph.edges.iter().enumerate() {
            if suspect[k] && !rim[k] && edge.ends.iter().any(|n| at.contains(n)) {
                (rim[k], more) = (true, true);
            }
        }
        if !more {
            break;
        }
    }
    let before = graph.edges.len();
    let mut rim = rim.into_iter();
    graph.edges.retain(|_| !rim.next().unwrap_or(false));
    before - graph.edges.len()
}

fn is_rim(look: &Look, usual: &Look) -> bool {
    let wide = look.wide_mm > WIDE_TIMES * usual.wide_mm;
    let pale = look.dark < PALE * usual.dark;
    let brown = look.warm > usual.warm + WARM;
    (wide || look.step > STEP) && (pale || brown)
}

fn seen(edge: &Edge) -> impl Iterator<Item = Look> {
    edge.spots.iter().filter(|s| s.seen).map(|s| s.look)
}

/// The medians of what strokes look like.
fn median(looks: &[Look]) -> Option<Look> {
    if looks.is_empty() {
        return None;
    }
    let of = |key: fn(&Look) -> f64| {
        let mut v: Vec<f64> = looks.iter().map(key).collect();
        v.sort_by(f64::total_cmp);
        v[v.len() / 2]
    };
    Some(Look {
        dark: of(|l| l.dark),
        wide_mm: of(|l| l.wide_mm),
        step: of(|l| l.step),
        warm: of(|l| l.warm),
    })
}
