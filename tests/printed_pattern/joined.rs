//! Pages joined by their crosses.

use crate::pdf_reader::Pdf;
use crate::{FOLD_MM, HALF_WIDTH_MM, half, piece, read};
use kurbo::Line;
use onfold::export::tiles;
use onfold::geometry::Point;
use onfold::sheet::Paper;
use std::collections::BTreeMap;

/// Middles of the registration crosses' circles (5 mm across), as they are printed.
fn crosses(file: &Pdf, page: usize) -> Vec<[f64; 2]> {
    let rings = file.strokes(page).into_iter().filter(|p| p.layer == "Page marks").flat_map(|p| p.subpaths);
    rings
        .map(|s| s.bounds())
        .filter(|b| (b[2] - b[0] - 5.0).abs() < 0.05 && (b[3] - b[1] - 5.0).abs() < 0.05)
        .map(|b| [(b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0])
        .collect()
}

/// Row and column from the page's own words.
fn row_and_column(words: &str) -> (usize, usize) {
    let (_, after) = words.split_once("row ").expect("the page says its row");
    let (row, after) = after.split_once(", column ").expect("and its column");
    let column: String = after.chars().take_while(char::is_ascii_digit).collect();
    (row.parse().unwrap(), column.parse().unwrap())
}

#[test]
fn pages_joined_by_their_crosses_give_the_piece() {
    let file = read(&tiles::pages(&[piece()], Paper::A4).unwrap());
    // Lay the pages out as a maker does: cross on cross, nothing else known.
    let mut places: BTreeMap<(usize, usize), (usize, [f64; 2])> = BTreeMap::new();
    for page in 1..file.pages().len() {
        let (row, column) = row_and_column(file.words(page));
        let own = crosses(&file, page);
        assert_eq!(own.len(), 4, "page {}", page + 1);
        let corner = |right: bool, low: bool| {
            let by = |a: &&[f64; 2], b: &&[f64; 2]| {
                let weigh =
                    |p: &[f64; 2]| (if right { -p[0] } else { p[0] }) + (if low { -p[1] } else { p[1] });
                weigh(a).total_cmp(&weigh(b))
            };
            *own.iter().min_by(by).unwrap()
        };
        let at = if row == 1 && column == 1 {
            [0.0, 0.0]
        } else {
            let (before, from_right) =
                if column > 1 { ((row, column - 1), true) } else { ((row - 1, column), false) };
            let (other, shift) = places[&before];
            let others = crosses(&file, other);
            // The neighbour's crosses on the shared side, moved to where that page lies.
            let shared = |p: &[f64; 2]| [p[0] + shift[0], p[1] + shift[1]];
            let theirs = others.iter().map(shared).collect::<Vec<_>>();
            let meet = |ours: [f64; 2], which: fn(&[f64; 2]) -> f64| {
                let most = theirs.iter().max_by(|a, b| which(a).total_cmp(&which(b))).unwrap();
                [most[0] - ours[0], most[1] - ours[1]]
            };
            if from_right {
                meet(corner(false, false), |p| p[0] - p[1])
            } else {
                meet(corner(false, false), |p| p[1] - p[0])
            }
        };
        places.insert((row, column), (page, at));
    }
    assert!(places.len() == 7 || places.len() == 8, "{places:?}");

    // What of the finished line shows on each page, in the frame of the joined paper.
    let mut shown: Vec<Vec<[f64; 2]>> = Vec::new();
    for (page, at) in places.values() {
        let finished = file.strokes(*page).into_iter().filter(|p| p.layer == "Finished lines");
        let mut points = Vec::new();
        for path in finished {
            assert!(
                (path.width_mm - 0.5).abs() < 1e-3 && path.dashes_mm.is_empty(),
                "ISO 128: full and thick"
            );
            let clip = path.clip.expect("a tile shows a window");
            for run in &path.subpaths {
                for pair in run.points.windows(2) {
                    // Every half millimetre of the line that lies in the window.
                    let length = (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]);
                    let steps = (length / 0.5).ceil().max(1.0) as usize;
                    for i in 0..=steps {
                        let t = i as f64 / steps as f64;
                        let p = [0, 1].map(|k| pair[0][k] + t * (pair[1][k] - pair[0][k]));
                        if p[0] >= clip[0] && p[0] <= clip[2] && p[1] >= clip[1] && p[1] <= clip[3] {
                            points.push([p[0] + at[0], p[1] + at[1]]);
                        }
                    }
                }
            }
        }
        shown.push(points);
    }
    let all: Vec<[f64; 2]> = shown.iter().flatten().copied().collect();
    assert!(all.len() > 2000);
    let extent = |k: usize| {
        let (least, most) = all.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p[k]), b.max(p[k])));
        (least, most - least)
    };
    let ((left, width), (top, height)) = (extent(0), extent(1));
    assert!((width - HALF_WIDTH_MM).abs() <= 0.05, "half width {width}");
    assert!((height - FOLD_MM).abs() <= 0.05, "length at the fold {height}");
    // Every place of the joined line lies on the true line, and all of the true line is there.
    let truth = half();
    let fold_dropped = &truth.segments()[..truth.segments().len() - 1];
    let dense: Vec<Point> = fold_dropped
        .iter()
        .flat_map(|s| (0..=4000).map(move |i| kurbo::ParamCurve::eval(s, f64::from(i) / 4000.0)))
        .collect();
    let ends: Vec<_> = dense.windows(2).map(|w| Line::new(w[0], w[1])).collect();
    for p in all.iter().step_by(3) {
        let at = Point::new(p[0] - left, p[1] - top);
        let off = ends
            .iter()
            .map(|l| kurbo::ParamCurveNearest::nearest(l, at, 1e-6).distance_sq)
            .fold(f64::MAX, f64::min);
        assert!(off.sqrt() <= 0.05, "{at} lies {} mm off", off.sqrt());
    }
    for q in dense.iter().step_by(40) {
        let there = all.iter().any(|p| Point::new(p[0] - left, p[1] - top).distance(*q) <= 0.3);
        assert!(there, "{q} is on no page (places are half a millimetre apart)");
    }
}
