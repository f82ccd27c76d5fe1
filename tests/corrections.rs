//! Corrections of the traced line, from the command line: each on an outline of known size, so that areas follow from
//! plane geometry alone, and undone to the byte.

use assert_cmd::Command;
use kurbo::{CubicBez, Line, ParamCurve, ParamCurveArea, ParamCurveNearest, PathSeg, Point};
use onfold::curve::Fitted;
use onfold::geometry::{Ring, Trace};
use onfold::pattern::{Traced, TracedRing};
use onfold::shelf::{Folder, NewPattern, PatternFile, create};
use std::fs;
use std::path::PathBuf;

/// A whole apron, symmetric about x = 0, millimetres: top 250 wide, armholes, sides, hem.
fn apron() -> Vec<PathSeg> {
    let line = |a, b| PathSeg::Line(Line::new(a, b));
    let curve = |a, b, c, d| PathSeg::Cubic(CubicBez::new(a, b, c, d));
    vec![
        line((-125.0, 0.0), (125.0, 0.0)),
        curve((125.0, 0.0), (135.0, 132.5), (195.0, 246.45), (305.0, 265.0)),
        line((305.0, 265.0), (305.0, 780.0)),
        line((305.0, 780.0), (-305.0, 780.0)),
        line((-305.0, 780.0), (-305.0, 265.0)),
        curve((-305.0, 265.0), (-195.0, 246.45), (-135.0, 132.5), (-125.0, 0.0)),
    ]
}

/// The same with a strap of 40 by 700 mm that goes out of the middle of the right side.
fn with_strap() -> Vec<PathSeg> {
    let mut segments = apron();
    let places =
        [(305.0, 265.0), (305.0, 400.0), (1005.0, 400.0), (1005.0, 440.0), (305.0, 440.0), (305.0, 780.0)];
    let lines = places.windows(2).map(|w| PathSeg::Line(Line::new(w[0], w[1])));
    segments.splice(2..3, lines);
    segments
}

struct Bench {
    _room: tempfile::TempDir,
    dir: PathBuf,
}

impl Bench {
    fn of(segments: Vec<PathSeg>) -> Self {
        let room = tempfile::tempdir().expect("a folder for the test");
        let dir = room.path().join("apron");
        let fitted = Fitted {
            corners: (0..segments.len()).collect(),
            ring: Ring::new(segments).expect("the apron closes"),
            worst_mm: 0.1,
            rms_mm: 0.05,
            sigma_mm: 0.05,
            strays: 0,
        };
        let pattern = NewPattern {
            traced: Traced { outer: TracedRing { fitted, trace: Trace::default() }, holes: Vec::new() },
            file: PatternFile::default(),
            facts: Vec::new(),
            report: serde_json::Value::Null,
            pictures: Vec::new(),
        };
        create(&dir, &pattern, false).expect("the pattern folder is made");
        Self { dir, _room: room }
    }

    fn run(&self, words: &[&str]) -> (i32, String, String) {
        let output = Command::cargo_bin("onfold")
            .expect("the program is built")
            .arg(words[0])
            .arg(&self.dir)
            .args(&words[1..])
            .output()
            .expect("the program runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("words");
        (output.status.code().expect("it ends by itself"), text(output.stdout), text(output.stderr))
    }

    fn edit(&self, words: &[&str]) -> String {
        let (status, told, error) = self.run(&[&["edit"], words].concat());
        assert_eq!(status, 0, "{words:?}: {error}");
        told
    }

    fn refused(&self, words: &[&str]) -> String {
        let before = self.file("pattern.toml");
        let (status, _, error) = self.run(&[&["edit"], words].concat());
        assert_eq!(status, 1, "{words:?} is done");
        assert_eq!(self.file("pattern.toml"), before);
        error
    }

    fn file(&self, name: &str) -> Vec<u8> {
        fs::read(self.dir.join(name)).expect("the file is there")
    }

    fn outer(&self) -> Fitted {
        Folder::open(&self.dir).expect("it opens").corrected().expect("it is corrected").outer
    }

    fn area_mm2(&self) -> f64 {
        self.outer().ring.area_mm2()
    }
}

fn close(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected} within {within}");
}

/// Parts of the line that stay as traced: every place that `stays` names lies on the corrected line.
fn untouched(bench: &Bench, was: &[PathSeg], stays: impl Fn(Point) -> bool) {
    let now = bench.outer().ring;
    let places: Vec<Point> = was
        .iter()
        .flat_map(|s| (0..=40).map(move |k| s.eval(f64::from(k) / 40.0)))
        .filter(|p| stays(*p))
        .collect();
    assert!(places.len() > 100, "only {} places", places.len());
    for place in places {
        let off =
            now.segments().iter().map(|s| s.nearest(place, 1e-9).distance_sq).fold(f64::INFINITY, f64::min);
        assert!(off.sqrt() < 1e-6, "{place} is {} mm off", off.sqrt());
    }
}

#[test]
fn a_corner_is_moved_and_its_edges_stay_straight() {
    let bench = Bench::of(apron());
    let (area, recipe) = (bench.area_mm2(), bench.file("pattern.toml"));
    let traced = bench.file("traced.json");
    let told = bench.edit(&["traced-move", "at=305 780", "right=4mm", "down=3mm"]);
    assert!(told.contains("step 1: the traced line at 305 780 moved 4mm right and 3mm down"), "{told}");
    assert!(told.contains("traced area"), "{told}");
    // The shoelace formula: the corner's move across the line between its neighbours, halved.
    let across = (4.0 * (780.0 - 265.0) + 3.0 * (305.0 + 305.0)) / 2.0;
    close(bench.area_mm2() - area, across, 1e-6);
    untouched(&bench, &apron(), |p| p.y < 265.0 || p.x < -300.0);
    assert_eq!(bench.file("traced.json"), traced, "what was traced is never written over");
    let (status, svg, _) = bench.run(&["export", "--stage", "traced", "--format", "json", "--out", "-"]);
    assert_eq!(status, 0);
    assert!(!svg.contains("309"), "the traced stage is the trace as captured");
    bench.edit(&["--undo"]);
    assert_eq!(bench.file("pattern.toml"), recipe);
    assert_eq!(bench.outer(), Folder::open(&bench.dir).expect("it opens").traced.outer.fitted);
}

#[test]
fn a_point_of_a_curve_is_moved_with_its_reach_alone() {
    let bench = Bench::of(apron());
    let at = apron()[1].eval(0.5);
    bench.edit(&[
        "traced-move",
        &format!("at={} {}", at.x, at.y),
        &format!("to={} {}", at.x - 3.0, at.y),
        "reach=3cm",
    ]);
    let now = bench.outer();
    let goal = Point::new(at.x - 3.0, at.y);
    let off =
        now.ring.segments().iter().map(|s| s.nearest(goal, 1e-9).distance_sq).fold(f64::INFINITY, f64::min);
    assert!(off.sqrt() < 1e-6, "it goes through the place it was moved to");
    untouched(&bench, &apron(), |p| p.distance(at) > 30.1);
    assert_eq!(now.corners.len(), 6, "no corner is made");
}

#[test]
fn a_corner_becomes_a_curve_and_a_corner_again() {
    let bench = Bench::of(apron());
    let area = bench.area_mm2();
    bench.edit(&["traced-curve", "at=305 780", "reach=15mm"]);
    // A quarter circle of radius r takes (1 − π/4) r² off a square corner; the cubic departs from it by 0.03 %.
    close(area - bench.area_mm2(), (1.0 - std::f64::consts::FRAC_PI_4) * 225.0, 0.1);
    assert_eq!(bench.outer().corners.len(), 5);
    bench.edit(&["traced-corner", "at=300.6 775.6", "reach=2cm"]);
    close(bench.area_mm2(), area, 1e-3);
    assert_eq!(bench.outer().corners.len(), 6);
    assert!(bench.refused(&["traced-corner", "at=305 780"]).contains("there is a corner at 305 780 already"));
    assert!(bench.refused(&["traced-curve", "at=305 500"]).contains("runs on smoothly at 305 500"));
    assert!(bench.refused(&["traced-curve", "at=125 0", "reach=1m"]).contains("use a smaller reach"));
}

#[test]
fn a_run_is_made_straight() {
    let bench = Bench::of(apron());
    let area = bench.area_mm2();
    let [from, to] = [0.4, 0.6].map(|t| apron()[1].eval(t));
    let place = |key: &str, p: Point| format!("{key}={} {}", p.x, p.y);
    bench.edit(&["traced-straight", &place("from", from), &place("to", to)]);
    // What lay between the curve and its chord.
    let between = apron()[1].subsegment(0.4..0.6).signed_area() + Line::new(to, from).signed_area();
    close(area - bench.area_mm2(), between, 1e-3);
    assert!(between.abs() > 50.0, "{between}");
    untouched(&bench, &apron(), |p| p.distance(from.midpoint(to)) > from.distance(to));
    let error = bench.refused(&["traced-straight", "from=-125 0", "to=-305 265"]);
    assert!(
        error.contains("no mirror axis"),
        "a correction after which it has no fold is not written: {error}"
    );
}

#[test]
fn a_strap_is_cut_off_however_long_it_is() {
    let bench = Bench::of(with_strap());
    let error = bench.run(&["draft"]).2;
    assert!(error.contains("no mirror axis"), "{error}");
    let told = bench.edit(&["traced-cut", "from=905 440", "to=905 400"]);
    assert!(
        told.contains("not folded yet: no mirror axis"),
        "a correction on the way to a fold is kept: {told}"
    );
    bench.edit(&["--undo"]);
    bench.edit(&["traced-cut", "from=305 440", "to=305 400"]);
    let plain = Ring::new(apron()).expect("the apron closes");
    close(bench.area_mm2(), plain.area_mm2(), 1e-6);
    untouched(&bench, &apron(), |_| true);
    assert_eq!(bench.run(&["draft"]).0, 0, "what is left folds");
}

#[test]
fn a_stretch_is_drawn_anew_through_places() {
    for (from, to, places) in
        [("125 0", "305 265", "145 110,210 210"), ("305 265", "125 0", "210 210, 145 110")]
    {
        let bench = Bench::of(apron());
        bench.edit(&[
            "traced-redraw",
            &format!("from={from}"),
            &format!("to={to}"),
            &format!("places={places}"),
        ]);
        let now = bench.outer();
        for place in [(145.0, 110.0), (210.0, 210.0)].map(Point::from) {
            let off = now
                .ring
                .segments()
                .iter()
                .map(|s| s.nearest(place, 1e-9).distance_sq)
                .fold(f64::INFINITY, f64::min);
            assert!(off.sqrt() < 1e-6, "{place}");
        }
        untouched(&bench, &apron(), |p| p.x < 120.0 || p.y > 266.0);
        let text = String::from_utf8(bench.file("pattern.toml")).expect("words");
        assert!(text.contains("places = [\""), "{text}");
    }
}

#[test]
fn what_cannot_be_corrected_is_refused() {
    let bench = Bench::of(apron());
    for (words, told) in [
        (vec!["traced-move", "at=0 600", "right=1mm"], "is 180.0 mm from the traced line"),
        (vec!["traced-move", "at=305 780", "to=-400 300"], "the line would cross itself near -305 295"),
        (vec!["traced-move", "at=305 780"], "`to` is missing"),
        (vec!["traced-move", "at=305", "right=1mm"], "millimetres right and down"),
        (vec!["traced-move", "at=305 780", "right=3"], "no unit"),
        (vec!["traced-cut", "from=305 500", "to=305 500"], "are one place of the line"),
        (vec!["traced-redraw", "from=125 0", "to=305 265", "places=310 300,150 150"], "would cross itself"),
        (vec!["traced-redraw", "from=125 0", "to=305 265"], "`places` is missing"),
        (vec!["traced-mvoe", "at=305 780"], "did you mean `traced-move`"),
        (vec!["traced-move", "at=305 780", "right=1mm", "piece=body"], "there is no `piece` here"),
    ] {
        let error = bench.refused(&words);
        assert!(error.contains(told), "{told}: {error}");
    }
}

/// Wherever they stand, corrections are done first; switched off, they are not done.
#[test]
fn corrections_are_done_before_all_else() {
    let bench = Bench::of(apron());
    bench.edit(&["lengthen", "by=90mm"]);
    let longer = bench.run(&["draft"]).1;
    assert!(longer.contains("870 mm high"), "{longer}");
    bench.edit(&["traced-move", "at=305 780", "down=10mm"]);
    bench.edit(&["traced-move", "at=-305 780", "down=10mm"]);
    let told = bench.run(&["draft"]).1;
    assert!(told.contains("880 mm high") && told.contains("step 2: the traced line at 305 780"), "{told}");
    let text = String::from_utf8(bench.file("pattern.toml")).expect("words");
    fs::write(
        bench.dir.join("pattern.toml"),
        text.replace("down = \"10mm\"", "down = \"10mm\"\noff = \"yes\""),
    )
    .expect("the recipe is changed");
    let told = bench.run(&["draft"]).1;
    assert!(told.contains("870 mm high") && !told.contains("step 2"), "{told}");
}

#[test]
fn every_correction_of_the_help_can_be_done() {
    let help = Command::cargo_bin("onfold").expect("the program is built").args(["edit", "--help"]).output();
    let help = String::from_utf8(help.expect("it runs").stdout).expect("words");
    let lines: Vec<&str> = help.lines().filter(|l| l.starts_with("  traced-")).collect();
    assert_eq!(lines.len(), 6, "{help}");
    let bench = Bench::of(apron());
    let before = bench.file("pattern.toml");
    for line in lines {
        let step = line.trim().split("   ").next().expect("a step");
        // Words of a shell: blanks part them, but not between quotes.
        let mut quoted = false;
        let parted: String = step
            .chars()
            .filter_map(|c| match c {
                '"' => {
                    quoted = !quoted;
                    None
                }
                ' ' if !quoted => Some('\n'),
                c => Some(c),
            })
            .collect();
        let words: Vec<&str> = parted.lines().collect();
        bench.edit(&words);
        bench.edit(&["--undo"]);
        assert_eq!(bench.file("pattern.toml"), before, "undone to the byte: {line}");
    }
}
