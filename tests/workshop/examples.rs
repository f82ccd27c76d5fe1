//! The two worked examples: replayed, checked, complete.

use assert_cmd::Command;
use onfold::pattern::{Construction, Corner, Kind, LineKind, Stitch, step_guide, step_kinds};
use onfold::shelf::Folder;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn copied(name: &str, room: &Path) -> PathBuf {
    let (from, to) = (Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(name), room.join(name));
    fs::create_dir(&to).expect("a folder for the test");
    for file in ["pattern.toml", "traced.json"] {
        fs::copy(from.join(file), to.join(file)).expect("the example is there");
    }
    to
}

fn run(command: &str, dir: &Path, more: &[&str]) -> (i32, String, String) {
    let out =
        Command::cargo_bin("onfold").expect("the program is built").arg(command).arg(dir).args(more).output();
    let out = out.expect("it runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("words");
    (out.status.code().expect("it ends by itself"), text(out.stdout), text(out.stderr))
}

#[test]
fn both_are_replayed_alike_every_time_and_have_no_fault() {
    let room = tempfile::tempdir().expect("a folder for the test");
    for (name, pieces) in [("canvas_pattern", 13), ("leather_pattern", 4)] {
        let dir = copied(name, room.path());
        let recipe = fs::read(dir.join("pattern.toml")).expect("the recipe");
        let (status, _, error) = run("draft", &dir, &[]);
        assert_eq!(status, 0, "{name}: {error}");
        let once = fs::read_to_string(dir.join("drafted.json")).expect("it was written");
        run("draft", &dir, &[]);
        assert_eq!(fs::read_to_string(dir.join("drafted.json")).expect("again"), once, "{name}");
        assert_eq!(
            fs::read(dir.join("pattern.toml")).expect("the recipe"),
            recipe,
            "{name}: replaying changes nothing"
        );
        let json: serde_json::Value = serde_json::from_str(&once).expect("JSON");
        assert_eq!(json["pieces"].as_array().map(Vec::len), Some(pieces), "{name}");
        let (status, told, error) = run("check", &dir, &["--all"]);
        assert_eq!(status, 0, "{name}: {told}{error}");
        assert!(told.contains("0 faults") && told.contains("[CP]"), "{told}");
    }
}

/// Everything that the program knows how to do on a pattern is done on the canvas apron: held against the program's own lists,
/// so that a new kind asks for its use here.
#[test]
fn the_canvas_apron_uses_every_kind_there_is() {
    let room = tempfile::tempdir().expect("a folder for the test");
    let folder = Folder::open(&copied("canvas_pattern", room.path())).expect("the example reads");
    let (_, drafted) = folder.replay().expect("and is drafted");
    let all = |kinds: &[&str], used: BTreeSet<&str>, what: &str| {
        assert!(kinds.len() >= 2, "{what}");
        for kind in kinds {
            assert!(used.contains(kind), "no {what} `{kind}`: {used:?}");
        }
    };

    let kinds: Vec<&str> = step_kinds().collect();
    assert!(kinds.len() >= 41, "{kinds:?}");
    all(&kinds, folder.file.recipe.steps.iter().map(|s| s.kind.as_str()).collect(), "step");
    let told: Vec<&str> = step_guide().iter().map(|guide| guide.kind).collect();
    for kind in kinds {
        assert!(told.contains(&kind), "`{kind}` is not told in the help");
    }

    let edges = || drafted.pieces.iter().flat_map(|piece| piece.outline.edges());
    let allowances = edges().filter_map(|e| e.allowance.map(|a| a.kind.word())).collect();
    all(&Kind::ALL.map(Kind::word), allowances, "allowance");
    assert!(edges().any(|e| !e.tabs.is_empty()), "no folded tab");

    let mut corners = BTreeSet::new();
    for piece in &drafted.pieces {
        let edges = piece.outline.edges();
        for (index, edge) in edges.iter().enumerate() {
            let before = &edges[(index + edges.len() - 1) % edges.len()];
            if before.allowance.is_some() && edge.allowance.is_some() {
                corners.insert(edge.corner.word());
            }
        }
    }
    all(&Corner::WORDS, corners, "corner");

    let made: Vec<Construction> =
        drafted.pieces.iter().map(|piece| piece.construction().expect("it was drafted")).collect();
    let lines = made.iter().flat_map(|m| &m.lines).map(|line| line.kind.word()).collect();
    all(&LineKind::ALL.map(LineKind::word), lines, "line");
    let holes = made.iter().flat_map(|m| &m.holes);
    let holes = holes.map(|hole| if hole.drilled { "drilled" } else { "punched" }).collect();
    all(&["drilled", "punched"], holes, "hole");
    let stitches = made.iter().flat_map(|m| &m.stitching).map(|line| line.stitch.word()).collect();
    all(&[Stitch::Saddle, Stitch::Lockstitch].map(Stitch::word), stitches, "stitch");
    assert!(made.iter().any(|m| !m.words.is_empty()), "no words");

    assert!(drafted.pieces.iter().any(|p| p.quantity.pairs), "no mirrored pair");
    assert!(drafted.pieces.iter().any(|p| p.quantity.count > 1), "no piece that is cut more than once");
    let materials: BTreeSet<&str> = drafted.pieces.iter().map(|p| p.record.material.as_str()).collect();
    assert!(materials.len() > 1, "one material alone");
    assert!(
        drafted.pieces.iter().any(|p| p.ring.as_ref().is_some_and(|r| r.strap.is_some())),
        "no ring on a strap"
    );
    assert!(!drafted.sewn.is_empty(), "no seam");
    let recipe = fs::read_to_string(folder.dir().join("pattern.toml")).expect("the recipe");
    for option in
        ["style = \"double\"", "turn = \"added\"", "bow = ", "flap = ", "taper = ", "holds = ", "finished = "]
    {
        assert!(recipe.contains(option), "the canvas apron has no {option}");
    }
}

#[test]
fn the_last_step_is_taken_back_to_the_byte() {
    let room = tempfile::tempdir().expect("a folder for the test");
    let dir = copied("canvas_pattern", room.path());
    let before = fs::read(dir.join("pattern.toml")).expect("the recipe");
    let (status, _, error) = run("edit", &dir, &["notch", "piece=pocket", "at=3 1/2in along top"]);
    assert_eq!(status, 0, "{error}");
    let text = fs::read_to_string(dir.join("pattern.toml")).expect("the recipe");
    assert!(text.contains("at = \"3 1/2in along top\""), "kept as written");
    assert_eq!(run("edit", &dir, &["--undo"]).0, 0);
    assert_eq!(fs::read(dir.join("pattern.toml")).expect("the recipe"), before);
}

#[test]
fn a_fault_is_exit_status_1() {
    let room = tempfile::tempdir().expect("a folder for the test");
    let dir = copied("leather_pattern", room.path());
    let (status, _, error) = run("edit", &dir, &["hole", "at=20mm along top", "inset=-5mm", "diameter=5mm"]);
    assert_eq!(status, 0, "{error}");
    let (status, told, error) = run("check", &dir, &[]);
    assert_eq!(status, 1, "{told}");
    assert!(told.contains("FAULT: body, hole") && told.contains("twice its diameter"), "{told}");
    assert!(error.contains("mend the recipe"), "{error}");
}
