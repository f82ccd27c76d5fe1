//! The recipe as a person works with it: `onfold draft` and `onfold edit` on a pattern folder.

use assert_cmd::Command;
use kurbo::{CubicBez, Line, PathSeg};
use onfold::curve::Fitted;
use onfold::geometry::{Ring, Trace};
use onfold::pattern::{Traced, TracedRing};
use onfold::shelf::{NewPattern, PatternFile, create};
use std::fs;
use std::path::{Path, PathBuf};

/// A whole apron, symmetric about x = 0, millimetres: top 250 wide, armholes, sides, hem.
fn apron() -> NewPattern {
    let line = |a, b| PathSeg::Line(Line::new(a, b));
    let curve = |a, b, c, d| PathSeg::Cubic(CubicBez::new(a, b, c, d));
    let segments = vec![
        line((-125.0, 0.0), (125.0, 0.0)),
        curve((125.0, 0.0), (135.0, 132.5), (195.0, 246.45), (305.0, 265.0)),
        line((305.0, 265.0), (305.0, 780.0)),
        line((305.0, 780.0), (-305.0, 780.0)),
        line((-305.0, 780.0), (-305.0, 265.0)),
        curve((-305.0, 265.0), (-195.0, 246.45), (-135.0, 132.5), (-125.0, 0.0)),
    ];
    let fitted = Fitted {
        ring: Ring::new(segments).expect("the apron closes"),
        corners: vec![0, 1, 2, 3, 4, 5],
        worst_mm: 0.1,
        rms_mm: 0.05,
        sigma_mm: 0.05,
        strays: 0,
    };
    NewPattern {
        traced: Traced { outer: TracedRing { fitted, trace: Trace::default() }, holes: Vec::new() },
        file: PatternFile::default(),
        facts: Vec::new(),
        report: serde_json::Value::Null,
        pictures: Vec::new(),
    }
}

struct Bench {
    _room: tempfile::TempDir,
    dir: PathBuf,
}

fn bench() -> Bench {
    let room = tempfile::tempdir().expect("a folder for the test");
    let dir = room.path().join("apron");
    create(&dir, &apron(), false).expect("the pattern folder is made");
    Bench { dir, _room: room }
}

impl Bench {
    fn run(&self, command: &str, words: &[&str]) -> (i32, String, String) {
        let output = Command::cargo_bin("onfold")
            .expect("the program is built")
            .arg(command)
            .arg(&self.dir)
            .args(words)
            .output()
            .expect("the program runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("words");
        (output.status.code().expect("it ends by itself"), text(output.stdout), text(output.stderr))
    }

    fn recipe(&self) -> String {
        fs::read_to_string(self.dir.join("pattern.toml")).expect("the recipe is there")
    }

    fn points(&self) -> Vec<(f64, f64)> {
        let text =
            fs::read_to_string(Path::new(&self.dir).join("drafted.json")).expect("drafted.json is there");
        let json: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
        let ring = json["pieces"][0]["rings"][0].as_array().expect("a ring").clone();
        ring.iter().map(|p| (p[0].as_f64().expect("x"), p[1].as_f64().expect("y"))).collect()
    }
}

fn extent(points: &[(f64, f64)]) -> (f64, f64) {
    let most = |list: Vec<f64>| list.into_iter().fold(f64::NEG_INFINITY, f64::max);
    (most(points.iter().map(|p| p.0).collect()), most(points.iter().map(|p| p.1).collect()))
}

fn close(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected} within {within}");
}

#[test]
fn steps_are_replayed_and_told() {
    let bench = bench();
    let (status, told, _) = bench.run("draft", &[]);
    assert_eq!(status, 0);
    for words in ["no steps yet", "whole: 780 mm high, 610 mm wide", "A: 0 mm across", "B-C", "straight"] {
        assert!(told.contains(words), "{words}: {told}");
    }
    let (wide, high) = extent(&bench.points());
    close(wide, 305.0, 0.15);
    close(high, 780.0, 0.15);

    let text = bench.recipe() + "\n# by hand\n[[step]]\ndo = \"lengthen\"\nby = \"3 1/2in\"\n";
    let text = text.replace("[edges]\n", "[edges]\narmhole = \"B-C\"\nside = \"C-D\"\n");
    fs::write(bench.dir.join("pattern.toml"), text).expect("the recipe is changed");
    let (status, told, error) = bench.run("draft", &[]);
    assert_eq!(status, 0, "{error}");
    for words in ["step 1: lengthen by 3 1/2in", "(+3 1/2 in)", "edge side (C-D)"] {
        assert!(told.contains(words), "{words}: {told}");
    }
    let (_, longer) = extent(&bench.points());
    close(longer - high, 3.5 * 25.4, 1e-3);
    assert!(bench.recipe().contains("# by hand"), "a comment stays");

    let once = fs::read(bench.dir.join("drafted.json")).expect("drafted.json is there");
    bench.run("draft", &[]);
    assert_eq!(fs::read(bench.dir.join("drafted.json")).expect("it is there"), once, "the same again");
}

#[test]
fn a_step_is_added_and_taken_back_to_the_byte() {
    let bench = bench();
    let before = bench.recipe();
    let (status, told, error) = bench.run("edit", &["widen", "total=2in"]);
    assert_eq!(status, 0, "{error}");
    assert!(told.contains("whole width") && told.contains("(+2 in)"), "{told}");
    let once = bench.recipe();
    let (status, _, error) = bench.run("edit", &["move-end", "edge=B-C", "point=C", "each=2,5cm"]);
    assert_eq!(status, 0, "{error}");
    assert!(bench.recipe().contains("each = \"2,5cm\""), "as it was typed");
    assert_eq!(bench.run("edit", &["--undo"]).0, 0);
    assert_eq!(bench.recipe(), once);
    assert_eq!(bench.run("edit", &["--undo"]).0, 0);
    assert_eq!(bench.recipe(), before);
    let (status, _, error) = bench.run("edit", &["--undo"]);
    assert_eq!(status, 1);
    assert!(error.contains("no steps to take back"), "{error}");
}

#[test]
fn every_step_of_the_help_can_be_done() {
    let help = Command::cargo_bin("onfold").expect("the program is built").args(["edit", "--help"]).output();
    let help = String::from_utf8(help.expect("it runs").stdout).expect("words");
    let lines: Vec<&str> = help
        .lines()
        .skip_while(|l| !l.starts_with("Steps that change"))
        .skip(1)
        .take_while(|l| l.starts_with("  "))
        .collect();
    assert!(lines.len() >= 36, "{help}");
    let bench = bench();
    let turned = "\n[[step]]\ndo = \"allowance\"\nedges = [\"side\", \"armhole\"]\nturned = \"12mm\"\n";
    let named = bench
        .recipe()
        .replace("[edges]\n", "[edges]\ntop = \"A-B\"\narmhole = \"B-C\"\nside = \"C-D\"\nhem = \"D-E\"\n");
    let rounded = named.clone() + "\n[[step]]\ndo = \"round\"\npoint = \"D\"\nradius = \"40mm\"\n";
    for line in lines {
        let words = words_of(line);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        // The corner that `square` takes away and the edge that `name` names must be there first, as must an allowance
        // that is to be turned.
        let (text, words) = match words[0] {
            "square" => (rounded.clone(), vec!["square", "edge=F-G"]),
            "name" => (rounded.clone(), vec!["name", "edge=F-G", "as=round"]),
            "match" | "slits" | "skive" | "glue" => (named.clone() + turned, words),
            _ => (named.clone(), words),
        };
        fs::write(bench.dir.join("pattern.toml"), &text).expect("the recipe is set");
        let (status, _, error) = bench.run("edit", &words);
        assert_eq!(status, 0, "{line}: {error}");
        assert_eq!(bench.run("edit", &["--undo"]).0, 0, "{line}");
        assert_eq!(bench.recipe(), text, "undone to the byte: {line}");
    }
}

/// The step of a help line, parted as a shell does; it ends where two blanks begin.
fn words_of(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quoted) = (Vec::new(), String::new(), false);
    let step = line.trim();
    for (index, c) in step.char_indices() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => {
                words.push(std::mem::take(&mut word));
                if step[index + 1..].starts_with(' ') {
                    return words;
                }
            }
            c => word.push(c),
        }
    }
    words.push(word);
    words
}

#[test]
fn an_allowance_is_cut_and_said() {
    let bench = bench();
    let (status, told, error) = bench.run("edit", &["allowance", "edges=C-D", "seam=15mm"]);
    assert_eq!(status, 0, "{error}");
    assert!(told.contains("seam allowance of 15mm at C-D"), "{told}");
    assert_eq!(bench.run("edit", &["allowance", "edges=D-E", "hem=1 1/2in"]).0, 0);
    let (_, told, _) = bench.run("draft", &[]);
    for words in ["seam 9/16 in at C-D", "hem 1 1/2 in at D-E"] {
        assert!(told.contains(words), "{words}: {told}");
    }
    let text = fs::read_to_string(bench.dir.join("drafted.json")).expect("drafted.json is there");
    let json: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
    let cut = json["pieces"][0]["cut"].as_array().expect("a cut line").clone();
    let cut: Vec<(f64, f64)> =
        cut.iter().map(|p| (p[0].as_f64().expect("x"), p[1].as_f64().expect("y"))).collect();
    let ((wide, high), (finished_wide, finished_high)) = (extent(&cut), extent(&bench.points()));
    close(wide - finished_wide, 15.0, 0.05);
    close(high - finished_high, 1.5 * 25.4, 0.05);
    let (_, svg, _) = bench.run("export", &["--stage", "drafted", "--format", "svg", "--out", "-"]);
    assert!(svg.contains("body-cut"), "the cut line has its own id");
    let (status, _, error) = bench.run("edit", &["allowance", "edges=B-C", "hem=40mm"]);
    assert_eq!(status, 1);
    assert!(error.contains("step 3 (allowance): B-C is curved and cannot be folded over whole"), "{error}");
}

#[test]
fn what_cannot_be_done_leaves_everything_as_it_was() {
    let bench = bench();
    bench.run("draft", &[]);
    let (recipe, drafted) = (bench.recipe(), bench.points());
    for (words, told) in [
        (vec!["widen", "total=2in", "edges=armhole"], "step 1 (widen): there is no edge `armhole`"),
        (vec!["lengthen", "by=-3"], "`-3` has no unit"),
        (vec!["lengthen", "by=6 1/2in", "at=1in below Z"], "there is no point `Z`"),
        (vec!["lengthen", "6.5\""], "is not key=value"),
        (vec!["lenghten", "by=6.5\""], "did you mean `lengthen`"),
        (vec!["lengthen", "by=16,500cm"], "read in two ways"),
    ] {
        let (status, out, error) = bench.run("edit", &words);
        assert_eq!((status, out.as_str()), (1, ""), "{error}");
        assert!(error.contains(told), "{told}: {error}");
    }
    assert_eq!(bench.recipe(), recipe);
    let broken = recipe.clone() + "\n[[step]]\ndo = \"widen\"\ntotal = \"50mm\"\nedges = [\"armhole\"]\n";
    fs::write(bench.dir.join("pattern.toml"), broken).expect("the recipe is changed");
    let (status, _, error) = bench.run("draft", &[]);
    assert_eq!(status, 1);
    assert!(error.contains("step 1 (widen)") && error.contains("the edges are A-B, B-C"), "{error}");
    assert_eq!(bench.points(), drafted, "the last good outline stays");
    assert_eq!(bench.run("edit", &[]).0, 2, "wrong usage");
}
