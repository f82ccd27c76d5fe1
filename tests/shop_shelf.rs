//! A shop's shelf, as a person types it: what is put there is found, shown, renewed, compared, checked, sent and printed.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

use assert_cmd::Command;
use std::fs;
use std::path::{Path, PathBuf};

fn onfold(shelf: &Path, words: &[&str]) -> Command {
    let mut command = Command::cargo_bin("onfold").expect("the program is built");
    command.arg("shelf").args(words).arg("--shelf").arg(shelf);
    command
}

/// What the command prints; it must succeed.
fn says(shelf: &Path, words: &[&str]) -> String {
    let out = onfold(shelf, words).assert().success().get_output().stdout.clone();
    String::from_utf8(out).expect("words")
}

/// What the command complains of; it must fail with status 1.
fn complains(shelf: &Path, words: &[&str]) -> String {
    let out = onfold(shelf, words).assert().code(1).get_output().stderr.clone();
    String::from_utf8(out).expect("words")
}

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(name)
}

/// A shelf with the canvas and the leather pattern.
fn stocked(room: &Path) -> PathBuf {
    let shelf = room.join("shelf");
    let canvas = sample("canvas_pattern");
    let leather = sample("leather_pattern");
    let told = says(
        &shelf,
        &[
            "add",
            &canvas.to_string_lossy(),
            "--name",
            "canvas",
            "--set",
            "tags=potter, long",
            "--set",
            "size=M",
        ],
    );
    assert_eq!(told, "on the shelf: canvas\n");
    says(&shelf, &["add", &leather.to_string_lossy(), "--name", "leather"]);
    shelf
}

fn names(shelf: &Path, words: &[&str]) -> Vec<String> {
    let mut words = words.to_vec();
    words.push("--json");
    let list: Vec<serde_json::Value> = serde_json::from_str(&says(shelf, &words)).expect("an array");
    list.iter().map(|entry| entry["name"].as_str().expect("a name").to_owned()).collect()
}

#[test]
fn what_is_put_there_is_found_and_shown() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    assert_eq!(names(&shelf, &["list"]), ["canvas", "leather"]);
    assert!(says(&shelf, &["list"]).contains("2 patterns"));
    for (words, found) in [
        (&["search", "potter"][..], &["canvas", "leather"][..]),
        (&["search", "--tag", "LONG"], &["canvas"]),
        (&["search", "--tag", "lon"], &[]),
        (&["search", "--size", "m"], &["canvas"]),
        (&["search", "--name", "eath"], &["leather"]),
        (&["search", "--from", "2000"], &["canvas", "leather"]),
        (&["search", "--until", "1999-12"], &[]),
        (&["search", "--height", "1mm..100m"], &["canvas", "leather"]),
    ] {
        assert_eq!(names(&shelf, words), found, "{words:?}");
    }
    let shown = says(&shelf, &["show", "canvas"]);
    assert!(shown.contains("potter, long") && shown.contains("piece is"), "{shown}");
    assert!(complains(&shelf, &["show", "canvass"]).contains("perhaps canvas is meant"));
    let again = says(&shelf, &["add", &sample("canvas_pattern").to_string_lossy()]);
    assert_eq!(again, "already on the shelf: canvas\n", "nothing is put there twice");
    says(&shelf, &["record", "leather", "tags=smith"]);
    assert_eq!(names(&shelf, &["search", "--tag", "smith"]), ["leather"]);
    assert!(complains(&shelf, &["record", "leather", "tag=smith"]).contains("did you mean `tags`"));
    assert!(says(&shelf, &["verify"]).contains("files as they were written"));
}

#[test]
fn a_new_version_supersedes_and_is_compared() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let told = says(&shelf, &["new-version", "canvas", "--set", "notes=longer"]);
    assert!(told.starts_with("on the shelf: canvas-v2, which supersedes canvas"), "{told}");
    let show: serde_json::Value =
        serde_json::from_str(&says(&shelf, &["show", "canvas-v2", "--json"])).expect("as the test set it up");
    assert_eq!(show["record"]["supersedes"], "canvas");
    assert_eq!(show["record"]["version"], "2");
    let folder = shelf.join("canvas-v2");
    let mut edit = Command::cargo_bin("onfold").expect("as the test set it up");
    edit.arg("edit").arg(&folder).args(["lengthen", "by=30mm", "edge=hem"]).assert().success();
    let picture = room.path().join("overlay.png");
    let differences = says(&shelf, &["compare", "canvas", "canvas-v2", "--out", &picture.to_string_lossy()]);
    assert!(differences.contains("height") && differences.contains("(+30.0)"), "{differences}");
    assert!(fs::read(&picture).expect("as the test set it up").starts_with(b"\x89PNG"));
    assert!(says(&shelf, &["verify"]).contains("3 patterns"), "an edit keeps the checksums");
    assert!(says(&shelf, &["new-version", "canvas-v2"]).contains("canvas-v3"));
}

#[test]
fn damage_is_named_and_the_rest_goes_on() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let file = shelf.join("canvas/traced.json");
    let mut bytes = fs::read(&file).expect("as the test set it up");
    bytes.truncate(200);
    fs::write(&file, bytes).expect("as the test set it up");
    let told = complains(&shelf, &["verify"]);
    assert!(told.contains("canvas"), "{told}");
    assert!(says(&shelf, &["list"]).contains("canvas   damaged: traced.json"));
    assert_eq!(names(&shelf, &["search", "--name", "leather"]), ["leather"]);
    let out = room.path().join("a.zip");
    assert!(
        complains(&shelf, &["export", "canvas", "--out", &out.to_string_lossy()]).contains("traced.json")
    );
    says(&shelf, &["export", "leather", "--out", &out.to_string_lossy()]);
    fs::write(shelf.join("index.sqlite"), "not an index").expect("as the test set it up");
    assert_eq!(names(&shelf, &["list"]), ["canvas", "leather"], "the index is made anew from the folders");
    fs::remove_file(shelf.join("index.sqlite")).expect("as the test set it up");
    assert!(says(&shelf, &["rebuild"]).contains("2 patterns"));
}

#[test]
fn a_pattern_goes_out_and_comes_in_as_a_zip() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let zip = room.path().join("canvas.zip");
    says(&shelf, &["export", "canvas", "--out", &zip.to_string_lossy()]);
    let other = room.path().join("other");
    assert_eq!(says(&other, &["import", &zip.to_string_lossy()]), "on the shelf: canvas\n");
    assert!(says(&other, &["import", &zip.to_string_lossy()]).contains("already"));
    for file in ["pattern.toml", "traced.json", "drafted.json"] {
        let read = |shelf: &Path| fs::read(shelf.join("canvas").join(file)).expect("as the test set it up");
        assert_eq!(read(&shelf), read(&other), "{file}");
    }
}

/// A zip with these names and bytes.
fn zip_of(path: &Path, files: &[(&str, &[u8])]) {
    let mut zip = zip::ZipWriter::new(fs::File::create(path).expect("as the test set it up"));
    let options = zip::write::SimpleFileOptions::default();
    for (name, bytes) in files {
        zip.start_file(*name, options).expect("as the test set it up");
        std::io::Write::write_all(&mut zip, bytes).expect("as the test set it up");
    }
    zip.finish().expect("as the test set it up");
}

#[test]
fn hostile_zips_leave_nothing() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let path = room.path().join("bad.zip");
    let toml = fs::read(sample("canvas_pattern").join("pattern.toml")).expect("as the test set it up");
    let traced = fs::read(sample("canvas_pattern").join("traced.json")).expect("as the test set it up");
    let whole: [(&str, &[u8]); 2] = [("a/pattern.toml", &toml), ("a/traced.json", &traced)];
    let bomb = vec![0_u8; 120_000_000];
    for (more, told) in [
        (Some(("a/../../evil", &b"x"[..])), "outside"),
        (Some(("/tmp/evil", b"x")), "outside"),
        (Some(("a/.hidden", b"x")), "outside"),
        (Some(("b/other", b"x")), "beside its recipe"),
        (Some(("a/bomb", &bomb)), "more than a pattern's file"),
    ] {
        let files: Vec<(&str, &[u8])> = whole.into_iter().chain(more).collect();
        zip_of(&path, &files);
        let complaint = complains(&shelf, &["import", &path.to_string_lossy()]);
        assert!(complaint.contains(told), "{told}: {complaint}");
    }
    zip_of(&path, &[("readme", b"no pattern")]);
    assert!(complains(&shelf, &["import", &path.to_string_lossy()]).contains("no pattern.toml"));
    fs::write(&path, "PK nonsense").expect("as the test set it up");
    assert!(complains(&shelf, &["import", &path.to_string_lossy()]).contains("no whole zip"));
    assert_eq!(names(&shelf, &["list"]), ["canvas", "leather"]);
    let left: Vec<_> =
        fs::read_dir(&shelf).expect("as the test set it up").flatten().map(|e| e.file_name()).collect();
    assert!(!left.iter().any(|name| name.to_string_lossy().starts_with(".making")), "{left:?}");
    assert!(!room.path().join("evil").exists());
}

/// What is not folded is shown as the maker corrected it, not as it was traced.
#[test]
fn an_outline_without_pieces_is_shown_as_corrected() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = room.path().join("shelf");
    let leather = sample("leather_pattern");
    let text = fs::read_to_string(leather.join("pattern.toml")).expect("as the test set it up");
    let traced = fs::read_to_string(leather.join("traced.json")).expect("as the test set it up");
    let json: serde_json::Value = serde_json::from_str(&traced).expect("as the test set it up");
    // The right end of the outline, where a segment begins.
    let segments = json["rings"][0]["segments"].as_array().expect("as the test set it up");
    let at = |k: usize| [0, 1].map(|i| segments[k][i].as_f64().expect("as the test set it up"));
    let right =
        (0..segments.len()).map(at).max_by(|a, b| a[0].total_cmp(&b[0])).expect("as the test set it up");
    let broken = "\n[[step]]\ndo = \"lengthen\"\nby = \"1mm\"\nedge = \"Y-Z\"\n";
    let pulled =
        format!("\n[[step]]\ndo = \"traced-move\"\nat = \"{} {}\"\nright = \"10mm\"\n", right[0], right[1]);
    let mut widths = Vec::new();
    for (name, steps) in [("traced", broken.to_owned()), ("corrected", pulled + broken)] {
        let from = room.path().join(name);
        fs::create_dir(&from).expect("as the test set it up");
        fs::write(from.join("pattern.toml"), text.clone() + &steps).expect("as the test set it up");
        fs::write(from.join("traced.json"), &traced).expect("as the test set it up");
        says(&shelf, &["add", &from.to_string_lossy(), "--name", name]);
        let show: serde_json::Value =
            serde_json::from_str(&says(&shelf, &["show", name, "--json"])).expect("as the test set it up");
        assert!(show["note"].is_string(), "nothing is folded: {show}");
        widths.push(show["pieces"][0]["width_mm"].as_f64().expect("a width"));
    }
    let more = widths[1] - widths[0];
    assert!((8.0..10.5).contains(&more), "{widths:?}");
}

#[test]
fn a_catalogue_has_every_pattern() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let out = onfold(&shelf, &["catalogue", "--out", "-"]).assert().success().get_output().stdout.clone();
    assert!(out.starts_with(b"%PDF"));
    assert!(
        complains(&shelf, &["catalogue", "--name", "nothing", "--out", "-"]).contains("nothing like that")
    );
}

/// Every version of the recipe's format that ever was reads for ever; a newer one is refused in words.
#[test]
fn old_formats_read_for_ever_and_newer_ones_are_refused() {
    let old = sample("canvas_pattern");
    let text = fs::read_to_string(old.join("pattern.toml")).expect("as the test set it up");
    assert!(text.contains("format = 1"), "the file of version 1 stays as it was");
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let now = fs::read_to_string(shelf.join("canvas/pattern.toml")).expect("as the test set it up");
    assert!(now.contains("format = 3") && now.contains("tags = \"potter, long\""), "{now}");
    let newer = room.path().join("newer");
    fs::create_dir(&newer).expect("as the test set it up");
    fs::write(newer.join("pattern.toml"), text.replace("format = 1", "format = 4"))
        .expect("as the test set it up");
    fs::copy(old.join("traced.json"), newer.join("traced.json")).expect("as the test set it up");
    let told = complains(&shelf, &["add", &newer.to_string_lossy()]);
    assert!(told.contains("format 4") && told.contains("newer program"), "{told}");
    fs::write(shelf.join("shelf.toml"), "format = 2\n").expect("as the test set it up");
    assert!(complains(&shelf, &["list"]).contains("newer program"));
}

/// Programs that write at once lose nothing.
#[test]
fn two_programs_at_once_lose_nothing() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    std::thread::scope(|scope| {
        for _ in 0..6 {
            scope.spawn(|| says(&shelf, &["new-version", "canvas"]));
        }
    });
    let there = names(&shelf, &["list"]);
    for k in 2..8 {
        assert!(there.contains(&format!("canvas-v{k}")), "{there:?}");
    }
}

/// Files of a pattern's folder that a replaced file was to come from, long after, are swept away; a new one is somebody's.
#[test]
fn what_a_cut_off_program_left_beside_a_file_is_swept_away() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let left = [".pattern.toml.a1b2c3", ".SHA256SUMS.a1b2c3"].map(|name| shelf.join("canvas").join(name));
    for path in &left {
        fs::write(path, "half").expect("as the test set it up");
    }
    let old = std::time::SystemTime::now() - std::time::Duration::from_secs(7200);
    let file = fs::File::options().write(true).open(&left[0]).expect("as the test set it up");
    file.set_modified(old).expect("as the test set it up");
    says(&shelf, &["rebuild"]);
    assert_eq!(left.map(|path| path.exists()), [false, true]);
}

/// The bytes of the catalogue.
fn catalogue(shelf: &Path) -> Vec<u8> {
    onfold(shelf, &["catalogue", "--out", "-"]).assert().success().get_output().stdout.clone()
}

/// What is kept of a pattern for lists and the catalogue is the same as what is made anew, and is made anew whenever it is
/// not whole or was made of other files.
#[test]
fn what_is_kept_for_lists_is_never_the_truth() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let kept = shelf.join("canvas/.shown");
    let text = fs::read_to_string(&kept).expect("kept when it was put there");
    let (list, pages) = (says(&shelf, &["list", "--json"]), catalogue(&shelf));
    let wrong = text.replacen("\"height_mm\":8", "\"height_mm\":9", 1);
    assert_ne!(wrong, text);
    for (what, bytes) in
        [("cut short", &text[..text.len() / 2]), ("other figures", &wrong), ("empty", ""), ("none", "")]
    {
        fs::write(&kept, bytes).expect("as the test set it up");
        if what == "none" {
            fs::remove_file(&kept).expect("as the test set it up");
        }
        assert_eq!(catalogue(&shelf), pages, "{what}");
        says(&shelf, &["rebuild"]);
        assert_eq!(says(&shelf, &["list", "--json"]), list, "{what}");
        assert_eq!(fs::read_to_string(&kept).expect("made anew"), text, "{what}");
    }
    let recipe = shelf.join("canvas/pattern.toml");
    let before = fs::read_to_string(&recipe).expect("as the test set it up");
    let step = "\n[[step]]\ndo = \"lengthen\"\nby = \"30mm\"\nedge = \"hem\"\n";
    fs::write(&recipe, before.clone() + step).expect("as the test set it up");
    let height = || {
        let show: serde_json::Value =
            serde_json::from_str(&says(&shelf, &["show", "canvas", "--json"])).expect("JSON");
        show["pieces"][0]["height_mm"].as_f64().expect("a height")
    };
    let longer = height();
    fs::write(&recipe, before).expect("as the test set it up");
    assert!((longer - height() - 30.0).abs() < 0.01, "a recipe changed by hand is shown as it is now");
    assert!(says(&shelf, &["verify"]).contains("2 patterns"), "what is kept has no part in the checksums");
}

/// A shelf of many patterns, each with a recipe of its own: the figures are printed.
fn many(count: usize) -> (f64, f64, f64, f64) {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    for k in 0..count - 2 {
        let from = shelf.join(["canvas", "leather"][k % 2]);
        let to = shelf.join(format!("copy-{k:04}"));
        fs::create_dir(&to).expect("as the test set it up");
        for file in ["pattern.toml", "traced.json", "drafted.json", "SHA256SUMS"] {
            fs::copy(from.join(file), to.join(file)).expect("as the test set it up");
        }
        let recipe = to.join("pattern.toml");
        let text = fs::read_to_string(&recipe).expect("as the test set it up") + &format!("# {k}\n");
        fs::write(&recipe, text).expect("as the test set it up");
    }
    let timed = |words: &[&str]| {
        let began = std::time::Instant::now();
        says(&shelf, words);
        began.elapsed().as_secs_f64()
    };
    let first = timed(&["list"]);
    fs::remove_file(shelf.join("index.sqlite")).expect("as the test set it up");
    let median = |words: &[&str]| {
        let mut runs: Vec<f64> = (0..5).map(|_| timed(words)).collect();
        runs.sort_by(f64::total_cmp);
        runs[2]
    };
    let rebuild = median(&["rebuild"]);
    let list = median(&["list", "--json"]).max(median(&["list"]));
    let search = median(&["search", "potter", "--tag", "long"]).max(median(&["search", "apron"]));
    let pdf = room.path().join("c.pdf");
    let catalogue = timed(&["catalogue", "--out", &pdf.to_string_lossy()]);
    println!(
        "{count} patterns: seen for the first time {first:.2} s, list {list:.3} s, search {search:.3} s, \
         rebuild {rebuild:.2} s, catalogue {catalogue:.2} s"
    );
    assert_eq!(names(&shelf, &["list"]).len(), count);
    (list, search, rebuild, catalogue)
}

#[test]
fn a_shelf_of_sixty_works() {
    many(60);
}

/// The bars are a shop's: a list while somebody waits, a catalogue while the kettle boils.
#[test]
#[ignore = "measures: a shelf of a thousand, for figures in a release build on a machine at rest"]
fn a_shelf_of_a_thousand() {
    let (list, search, rebuild, catalogue) = many(1_000);
    assert!(list < 0.050 && search < 0.050, "list and search within 50 ms");
    assert!(rebuild < 5.0 && catalogue < 20.0, "rebuild within 5 s, catalogue within 20 s");
}

/// Names of every field in a value, however deep.
fn fields(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(map) => {
            out.extend(map.keys().cloned());
            map.values().for_each(|value| fields(value, out));
        }
        serde_json::Value::Array(list) => list.iter().for_each(|value| fields(value, out)),
        _ => {}
    }
}

#[test]
fn every_field_that_is_written_is_specified() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let shelf = stocked(room.path());
    let read =
        |name: &str| fs::read_to_string(shelf.join("canvas").join(name)).expect("as the test set it up");
    let mut all = Vec::new();
    for name in ["traced.json", "drafted.json", "origin.json"] {
        fields(&serde_json::from_str(&read(name)).expect("JSON"), &mut all);
    }
    let shown = read(".shown");
    for line in shown.lines().enumerate().filter_map(|(k, line)| (k != 1).then_some(line)) {
        fields(&serde_json::from_str(line).expect("JSON"), &mut all);
    }
    let mut recipe: toml::Table = read("pattern.toml").parse().expect("TOML");
    // The facts are for people, an edge's name is the maker's own, and the steps' keys stand in the program's help.
    for free in ["capture", "edges", "step"] {
        recipe.remove(free);
    }
    fields(&serde_json::to_value(recipe).expect("JSON"), &mut all);
    all.sort();
    all.dedup();
    assert!(all.len() > 30, "{all:?}");
    let specified = include_str!("../src/shelf/FORMAT.md");
    let words: Vec<&str> = specified.split(|c: char| !c.is_alphanumeric() && c != '_').collect();
    all.retain(|field| !words.contains(&field.as_str()));
    assert!(all.is_empty(), "FORMAT.md does not say what these are: {all:?}");
}

/// A drawer is captured one thread a garment, a single photograph on all cores: both trace the same to the last byte.
#[test]
fn a_drawer_gives_what_single_captures_give() {
    let room = tempfile::tempdir().expect("as the test set it up");
    let (shelf, drawer) = (room.path().join("shelf"), room.path().join("drawer/apron"));
    fs::create_dir_all(&drawer).expect("as the test set it up");
    fs::copy(sample("canvas_apron.jpg"), drawer.join("a.jpg")).expect("as the test set it up");
    let from = room.path().join("drawer");
    says(&shelf, &["add", &from.to_string_lossy(), "--thickness", "0.9mm"]);
    let single = room.path().join("single");
    let mut capture = Command::cargo_bin("onfold").expect("the program is built");
    capture.arg("capture").arg(drawer.join("a.jpg")).args(["--thickness", "0.9mm", "--out"]).arg(&single);
    capture.assert().success();
    for file in ["traced.json", "pictures/outline.jpg", "pictures/table.jpg", "pictures/sheets.jpg"] {
        let read = |dir: &Path| fs::read(dir.join(file)).expect("as the test set it up");
        assert!(read(&single) == read(&shelf.join("apron")), "{file}");
    }
}
