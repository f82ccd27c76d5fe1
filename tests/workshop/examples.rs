//! The two worked examples: replayed, checked, complete.

use assert_cmd::Command;
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

#[test]
fn the_canvas_apron_uses_every_kind_of_step() {
    let help =
        Command::cargo_bin("onfold").expect("built").args(["edit", "--help"]).output().expect("it runs");
    let help = String::from_utf8(help.stdout).expect("words");
    let path =
        |name: &str| Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(name).join("pattern.toml");
    let canvas = fs::read_to_string(path("canvas_pattern")).expect("the example is there");
    let kinds: Vec<&str> = help
        .lines()
        .skip_while(|l| !l.starts_with("Steps that change"))
        .filter(|l| l.starts_with("  ") && l.contains('='))
        .filter_map(|l| l.trim().split(' ').next())
        .take_while(|kind| *kind != "onfold")
        .collect();
    assert!(kinds.len() >= 38, "{kinds:?}");
    for kind in kinds {
        assert!(canvas.contains(&format!("do = \"{kind}\"")), "the canvas apron has no step `{kind}`");
    }
    for word in [
        "seam =",
        "turned =",
        "hem =",
        "turn-down =",
        "style = \"square\"",
        "butted",
        "folded-back",
        "double",
    ] {
        assert!(canvas.contains(word), "the canvas apron has no {word}");
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
