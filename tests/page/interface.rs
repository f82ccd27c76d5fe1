//! The page's interface over HTTP, as `src/workbench/INTERFACE.md` has it: from the demo's photograph to the print.

use crate::http::{Page, send, shelf, shipped};
use assert_cmd::Command;
use serde_json::{Value, json};

#[test]
fn only_the_page_itself_is_answered() {
    let shelf = shelf();
    let page = Page::open(shelf.path());
    let (host, cookie) = (&page.host, &page.cookie);
    for headers in [
        format!("Host: {host}\r\n"),
        format!("Host: {host}\r\nCookie: {cookie}0\r\n"),
        format!("Host: other.example\r\nCookie: {cookie}\r\n"),
        format!("Host: {host}\r\nOrigin: http://other.example\r\nCookie: {cookie}\r\n"),
        format!("Host: {host}\r\nSec-Fetch-Site: cross-site\r\nCookie: {cookie}\r\n"),
    ] {
        for path in ["/", "/api/shelf", "/api/pattern/0", "/?token=0"] {
            assert_eq!(send(host, "GET", path, &headers, b"").status, 403, "{path} {headers}");
        }
    }
    let opened = page.get("/");
    assert_eq!(opened.status, 200);
    assert!(opened.head.contains("default-src 'none'; script-src 'self'"), "{}", opened.head);
    for path in [
        "/api/pattern/7",
        "/api/pattern/0/file/..%2f..%2fpattern.toml",
        "/../Cargo.toml",
        "/api/pattern/0/page/9999?paper=a4",
    ] {
        assert_eq!(page.get(path).status, 404, "{path}");
    }
}

#[test]
fn steps_are_previewed_changed_and_undone() {
    let shelf = shelf();
    let file = shelf.path().join("canvas/pattern.toml");
    let text = || std::fs::read_to_string(&file).expect("the recipe");
    let page = Page::open(shelf.path());
    let before = text();
    let listed = page.get("/api/shelf?find=potter%20canvas").json();
    assert_eq!(listed["patterns"][0]["title"], "potter's apron");
    assert_eq!(page.get("/api/shelf?find=velvet").json()["patterns"], json!([]));
    let view = page.get("/api/pattern/0?unit=in").json();
    let steps = view["steps"].as_array().expect("steps").len();
    assert!(steps > 40 && view["pieces"].as_array().expect("pieces").len() > 5, "{steps}");
    let longer = json!({ "change": "replace", "at": 0, "step": { "do": "lengthen", "keys": [["by", ["4in"]], ["at", ["40mm below C"]]] } });
    let shown = page.post("/api/pattern/0/preview?unit=in", &longer).json();
    assert_eq!(shown["step"]["spoken"].as_str().map(|s| s.contains("4in")), Some(true), "{}", shown["step"]);
    assert_eq!(text(), before, "a preview writes nothing");
    page.post("/api/pattern/0/change", &longer).json();
    assert!(text().contains("by = \"4in\""));
    let wrong = page.post(
        "/api/pattern/0/change",
        &json!({ "change": "insert", "at": 1, "step": { "do": "lengthen", "keys": [["by", ["90"]]] } }),
    );
    assert_eq!(wrong.status, 422);
    let said: Value = serde_json::from_slice(&wrong.body).expect("JSON");
    assert_eq!(said["step"], 1, "{said}");
    page.post("/api/pattern/0/undo", &json!({})).json();
    assert_eq!(text(), before, "to the byte");
    page.post("/api/pattern/0/redo", &json!({})).json();
    let off = json!({ "change": "replace", "at": 0, "step": { "do": "lengthen", "keys": [["by", ["4in"]], ["off", ["yes"]]] } });
    let stamp = page.post("/api/pattern/0/change", &off).json()["stamp"].clone();
    // Another program writes: the page hears of it.
    std::fs::write(&file, &before).expect("written");
    let news = page.get(&format!("/api/pattern/0/news?after={stamp}")).json();
    assert_ne!(news["stamp"], stamp);
    for name in ["a4", "letter", "roll&width=60in"] {
        assert!(
            page.get(&format!("/api/pattern/0/print?paper={name}")).json()["pages"].as_u64().unwrap_or(0) > 0
        );
    }
}

/// A pattern with an outline of our own, whole, symmetric about x = 0: 250 wide at the top, 610 below, 780 high.
fn plain(strap: bool) -> tempfile::TempDir {
    use onfold::geometry::{PathSeg, Ring, Trace};
    let right: &[(f64, f64)] = if strap {
        &[
            (125.0, 0.0),
            (305.0, 265.0),
            (305.0, 400.0),
            (1005.0, 400.0),
            (1005.0, 440.0),
            (305.0, 440.0),
            (305.0, 780.0),
        ]
    } else {
        &[(125.0, 0.0), (305.0, 265.0), (305.0, 780.0)]
    };
    let left = [(-305.0, 780.0), (-305.0, 265.0), (-125.0, 0.0)];
    let places: Vec<(f64, f64)> = right.iter().copied().chain(left).chain([right[0]]).collect();
    let segments: Vec<PathSeg> =
        places.windows(2).map(|w| PathSeg::Line(kurbo::Line::new(w[0], w[1]))).collect();
    let fitted = onfold::curve::Fitted {
        corners: (0..segments.len()).collect(),
        ring: Ring::new(segments).expect("it closes"),
        worst_mm: 0.1,
        rms_mm: 0.05,
        sigma_mm: 0.05,
        strays: 0,
    };
    let outer = onfold::pattern::TracedRing { fitted, trace: Trace::default() };
    let pattern = onfold::shelf::NewPattern {
        traced: onfold::pattern::Traced { outer, holes: Vec::new() },
        file: onfold::shelf::PatternFile::default(),
        facts: Vec::new(),
        report: Value::Null,
        pictures: Vec::new(),
    };
    let shelf = tempfile::tempdir().expect("a folder");
    onfold::shelf::create(&shelf.path().join("apron"), &pattern, false).expect("made");
    shelf
}

fn correction(kind: &str, keys: &[(&str, &[&str])]) -> Value {
    json!({ "change": "insert", "at": 0, "step": { "do": kind, "keys": keys } })
}

#[test]
fn every_correction_is_shown_done_and_undone() {
    let shelf = plain(false);
    let file = shelf.path().join("apron/pattern.toml");
    let text = || std::fs::read_to_string(&file).expect("the recipe");
    let page = Page::open(shelf.path());
    let before = text();
    let traced = || page.get("/api/pattern/0/traced").json();
    let whole = traced();
    let places = whole["places"].as_array().expect("places");
    assert_eq!(places.iter().filter(|p| p[2] == 2).count(), 6, "six corners");
    assert_eq!(whole["line"], whole["found"]);
    let near = |line: &Value, x: f64, y: f64| {
        let places = line["places"].as_array().expect("places");
        let off = |p: &Value| (p[0].as_f64().unwrap_or(1e9) - x).hypot(p[1].as_f64().unwrap_or(1e9) - y);
        places.iter().map(off).fold(f64::INFINITY, f64::min)
    };
    // A place that the line goes through afterwards, and one that it then leaves.
    for (change, goes, leaves) in [
        (
            correction("traced-move", &[("at", &["305 780"]), ("to", &["312 790"])]),
            (312.0, 790.0),
            (305.0, 780.0),
        ),
        (
            correction("traced-curve", &[("at", &["305 780"]), ("reach", &["30mm"])]),
            (296.2, 771.2),
            (305.0, 780.0),
        ),
        (
            correction(
                "traced-redraw",
                &[("from", &["125 0"]), ("to", &["305 265"]), ("places", &["200 120", "250 195"])],
            ),
            (200.0, 120.0),
            (206.5, 120.0),
        ),
        (
            correction("traced-straight", &[("from", &["290.1 243"]), ("to", &["305 300"])]),
            (297.5, 271.5),
            (305.0, 265.0),
        ),
        (
            correction("traced-cut", &[("from", &["200 780"]), ("to", &["305 700"])]),
            (252.5, 740.0),
            (305.0, 780.0),
        ),
    ] {
        let shown = page.post("/api/pattern/0/traced", &change).json();
        assert_eq!(text(), before, "shown, not written");
        assert!(near(&shown, goes.0, goes.1) < 3.0 && near(&shown, leaves.0, leaves.1) > 3.0, "{change}");
        let view = page.post("/api/pattern/0/change", &change);
        let refused = view.status != 200;
        if refused {
            let said: Value = serde_json::from_slice(&view.body).expect("JSON");
            panic!("{change}: {said}");
        }
        let done = traced();
        assert_eq!(done["line"], shown["line"]);
        assert_eq!(done["found"], whole["found"], "what was found stays");
        assert_eq!(done["corrections"].as_array().map(Vec::len), Some(1));
        page.post("/api/pattern/0/undo", &json!({})).json();
        assert_eq!(text(), before, "to the byte");
        page.post("/api/pattern/0/redo", &json!({})).json();
        assert_eq!(traced()["line"], shown["line"]);
        page.post("/api/pattern/0/undo", &json!({})).json();
    }
    page.post("/api/pattern/0/change", &correction("traced-curve", &[("at", &["305 780"])])).json();
    let corner = json!({ "change": "insert", "at": 1, "step": { "do": "traced-corner", "keys": [["at", ["302.1 777.1"]], ["reach", ["20mm"]]] } });
    page.post("/api/pattern/0/change", &corner).json();
    assert!(near(&traced(), 305.0, 780.0) < 0.05, "a corner again");
}

/// The axis of the plain outline is x = 0 and its middle at y = 390, so that halves about another axis follow from plane geometry.
#[test]
fn the_mirror_axis_is_moved_and_turned() {
    let shelf = plain(false);
    let folder = shelf.path().join("apron");
    let text = || std::fs::read_to_string(folder.join("pattern.toml")).expect("the recipe");
    let page = Page::open(shelf.path());
    let before = text();
    let fold = |key: &str, text: &str| json!({ "change": "fold", "key": key, "text": text });
    let widest = || {
        let mut command = Command::cargo_bin("onfold").expect("the program");
        command.arg("export").arg(&folder).args(["--stage", "folded", "--format", "json", "--out", "-"]);
        let told: Value = serde_json::from_slice(&command.output().expect("it runs").stdout).expect("JSON");
        let ring = told["pieces"][0]["rings"][0].as_array().expect("a ring").clone();
        let x = |p: &Value| p[0].as_f64().expect("a number");
        ring.iter().map(x).fold(0.0, f64::max)
    };
    let shown = page.post("/api/pattern/0/fold?unit=mm", &fold("shift", "3mm")).json();
    assert_eq!((&shown["shift"], &shown["worst"]), (&json!("3mm"), &json!("6 mm")), "{}", shown["worst"]);
    assert_eq!(text(), before, "shown, not written");
    let view = page.post("/api/pattern/0/change", &fold("shift", "3mm")).json();
    assert_eq!(view["fold"]["samples"], shown["samples"]);
    assert!(text().contains("shift = \"3mm\""));
    assert!((widest() - 305.0).abs() < 0.3, "the mean of both is as it was: {}", widest());
    for (keep, wide) in [("right", 302.0), ("left", 308.0)] {
        page.post("/api/pattern/0/change", &fold("keep", keep)).json();
        assert!((widest() - wide).abs() < 0.3, "{keep}: {}", widest());
    }
    page.post("/api/pattern/0/change", &fold("shift", "")).json();
    page.post("/api/pattern/0/change", &fold("turn", "1")).json();
    // Clockwise: the left lower corner comes nearer, the left upper one goes away, by 125 mm times the sine.
    let (sin, cos) = 1.0_f64.to_radians().sin_cos();
    assert!((widest() - (305.0 * cos + 125.0 * sin)).abs() < 0.3, "{}", widest());
    for (key, wrong, told) in [
        ("shift", "3", "no unit"),
        ("shift", "80mm", "at most 50 mm"),
        ("turn", "45", "at most 10 degrees"),
        ("turn", "a bit", "at most 10 degrees"),
    ] {
        for address in ["fold", "change"] {
            let answer = page.post(&format!("/api/pattern/0/{address}"), &fold(key, wrong));
            let said: Value = serde_json::from_slice(&answer.body).expect("JSON");
            assert_eq!(answer.status, 422);
            assert!(said["problem"].as_str().unwrap_or("").contains(told), "{said}");
        }
    }
    for _ in 0..5 {
        page.post("/api/pattern/0/undo", &json!({})).json();
    }
    assert_eq!(text(), before, "to the byte");
}

/// While one types, a piece that is as it was is told by its number alone.
#[test]
fn only_what_changed_is_sent_while_one_types() {
    let shelf = shelf();
    let page = Page::open(shelf.path());
    let view = page.get("/api/pattern/0").json();
    let pieces = view["pieces"].as_array().expect("pieces").clone();
    let have: Vec<String> = pieces.iter().map(|p| p["number"].to_string()).collect();
    let longer = |by: &str| json!({ "change": "replace", "at": 0, "step": { "do": "lengthen", "keys": [["by", [by]], ["at", ["40mm below C"]]] } });
    let path = format!("/api/pattern/0/preview?have={}", have.join(","));
    let shown = page.post(&path, &longer("7in")).json();
    assert!(shown["step"]["spoken"].as_str().unwrap_or("").contains("7in"), "{}", shown["step"]);
    let told = shown["pieces"].as_array().expect("pieces");
    assert_eq!(told.len(), pieces.len());
    let whole: Vec<bool> = told.iter().map(|p| p["window"].is_array()).collect();
    assert!(whole[0], "the body is another");
    assert!(whole.iter().any(|whole| !whole), "a strap is the same");
    let all = page.post("/api/pattern/0/preview", &longer("7in")).json();
    for (k, piece) in all["pieces"].as_array().expect("pieces").iter().enumerate() {
        assert!(piece["window"].is_array());
        let same = if whole[k] { &told[k] } else { &pieces[k] };
        assert_eq!(piece["layers"], same["layers"]);
    }
}

/// Every finding that has a place shows it on its piece.
#[test]
fn findings_have_places() {
    let shelf = shelf();
    let page = Page::open(shelf.path());
    let view = page.get("/api/pattern/0").json();
    let checks = view["checks"].as_array().expect("checks");
    let (mut seen, mut seams) = (0, 0);
    for check in checks {
        let sights = check["sights"].as_array().expect("sights");
        seams += usize::from(sights.len() == 2);
        for sight in sights {
            let piece =
                view["pieces"].as_array().expect("pieces").iter().find(|p| p["name"] == sight["piece"]);
            let window = &piece.expect("its piece")["window"];
            let [x, y, w, h] = [0, 1, 2, 3].map(|k| window[k].as_f64().expect("a number"));
            let (at_x, at_y) =
                (sight["x"].as_f64().expect("a number"), sight["y"].as_f64().expect("a number"));
            assert!((x..=x + w).contains(&at_x) && (y..=y + h).contains(&at_y), "{check}");
            seen += 1;
        }
    }
    assert!(seen > 20 && seams > 2, "{seen} places of {} findings, {seams} seams", checks.len());
}

#[test]
fn a_refused_correction_says_where() {
    let shelf = plain(false);
    let page = Page::open(shelf.path());
    for (change, words, at) in [
        (
            correction("traced-move", &[("at", &["400 500"]), ("to", &["308 784"])]),
            "95.0 mm from the traced line; take a place within 5 mm of it: the nearest is 305.0 500.0, the nearest corner 305.0 265.0",
            [400.0, 500.0],
        ),
        (
            correction("traced-curve", &[("at", &["305 500"])]),
            "a corner: the nearest is 305.0 265.0",
            [305.0, 500.0],
        ),
        (
            correction("traced-cut", &[("from", &["305 500"]), ("to", &["305 500"])]),
            "one place",
            [305.0, 500.0],
        ),
    ] {
        for address in ["change", "traced"] {
            let answer = page.post(&format!("/api/pattern/0/{address}"), &change);
            assert_eq!(answer.status, 422);
            let said: Value = serde_json::from_slice(&answer.body).expect("JSON");
            assert!(said["problem"].as_str().unwrap_or("").contains(words), "{said}");
            assert_eq!((&said["step"], &said["at"]), (&json!(0), &json!(at)));
        }
    }
}

/// An outline that does not fold can be brought there by several corrections; one that folds is not broken.
#[test]
fn an_outline_without_a_fold_is_corrected_until_it_folds() {
    let shelf = plain(true);
    let page = Page::open(shelf.path());
    let view = page.get("/api/pattern/0").json();
    assert!(view["unfolded"].as_str().unwrap_or("").contains("no mirror axis"), "{view}");
    assert_eq!((&view["fold"], &view["pieces"]), (&Value::Null, &json!([])));
    assert_eq!(page.get("/api/pattern/0/file/pattern.pdf?paper=a4").status, 422);
    let lengthen =
        json!({ "change": "insert", "at": 0, "step": { "do": "lengthen", "keys": [["by", ["9cm"]]] } });
    assert_eq!(page.post("/api/pattern/0/change", &lengthen).status, 422, "nothing is there to lengthen");
    let shorter = correction("traced-cut", &[("from", &["900 400"]), ("to", &["900 440"])]);
    let view = page.post("/api/pattern/0/change", &shorter).json();
    assert!(view["unfolded"].is_string() && view["undo"] == 1, "written, though it does not fold yet");
    let off = correction("traced-cut", &[("from", &["305 400"]), ("to", &["305 440"])]);
    let off = json!({ "change": "insert", "at": 1, "step": off["step"] });
    let view = page.post("/api/pattern/0/change", &off).json();
    assert!(view["unfolded"].is_null() && view["pieces"][0]["name"].is_string(), "{view}");
    let breaks = correction("traced-straight", &[("from", &["125 0"]), ("to", &["305 780"])]);
    let breaks = json!({ "change": "insert", "at": 2, "step": breaks["step"] });
    let answer = page.post("/api/pattern/0/change", &breaks);
    assert_eq!(answer.status, 422, "what folds goes on folding");
    page.post("/api/pattern/0/undo", &json!({})).json();
    page.post("/api/pattern/0/undo", &json!({})).json();
    assert!(page.get("/api/pattern/0").json()["unfolded"].is_string());
}

#[test]
fn a_photograph_becomes_the_print_that_the_command_writes() {
    let shelf = tempfile::tempdir().expect("a folder");
    let page = Page::open(shelf.path());
    let told = json!({ "name": "../Potter's apron", "thickness": "1.1mm", "edge": "folded", "trim_narrower": "",
        "block_width": "180mm", "block_height": "240mm" });
    assert_eq!(page.post("/api/capture", &told).status, 422, "without a photograph");
    let bytes = std::fs::read(shipped("canvas_apron.jpg")).expect("the demo's photograph");
    page.ask("POST", "/api/photos?name=apron.jpg", &bytes).json();
    let mut after = page.post("/api/capture", &told).json()["count"].as_u64().expect("a count") - 1;
    let done = loop {
        let news = page.get(&format!("/api/capture?after={after}")).json();
        after = news["count"].as_u64().expect("a count");
        match news["state"].as_str() {
            Some("working") => {}
            _ => break news,
        }
    };
    assert_eq!(done["state"], "done", "{done}");
    let advice = done["advice"].to_string();
    assert!(!advice.contains("--"), "the page has no options of the command line: {advice}");
    let folder = shelf.path().join("potter-s-apron");
    assert!(folder.join("pattern.toml").is_file());
    assert!(page.get("/api/pattern/0/photo.jpg").body.starts_with(&[0xff, 0xd8]));
    for step in [
        json!({ "do": "lengthen", "keys": [["by", ["3 1/2in"]]] }),
        json!({ "do": "allowance", "keys": [["edges", ["B-C"]], ["seam", ["10mm"]]] }),
    ] {
        let steps = page.get("/api/pattern/0").json()["steps"].as_array().expect("steps").len();
        page.post("/api/pattern/0/change", &json!({ "change": "insert", "at": steps, "step": step })).json();
    }
    let ours = page.get("/api/pattern/0/file/pattern.pdf?paper=a4");
    let out = shelf.path().join("print.pdf");
    let mut command = Command::cargo_bin("onfold").expect("the program");
    command.arg("print").arg(&folder).args(["--paper", "a4", "--out"]).arg(&out).assert().success();
    assert!(
        ours.body == std::fs::read(&out).expect("the print"),
        "the page's PDF is another than the command's"
    );
}

/// Bar: 50 ms at the 95th percentile for the program's part, in an optimised program on a quiet machine.
#[test]
#[cfg_attr(debug_assertions, ignore = "held in an optimised build: cargo test --release --test page follows")]
fn the_drawing_follows_typing() {
    let shelf = shelf();
    let page = Page::open(shelf.path());
    let mut have = String::new();
    let mut seconds: Vec<f64> = (0..100)
        .map(|k| {
            let keys = json!([["by", [format!("{}mm", 80 + k % 20)]], ["at", ["40mm below C"]]]);
            let change = json!({ "change": "replace", "at": 0, "step": { "do": "lengthen", "keys": keys } });
            let began = std::time::Instant::now();
            let told = page.post(&format!("/api/pattern/0/preview?have={have}"), &change).json();
            let numbers = told["pieces"].as_array().expect("pieces").iter().map(|p| p["number"].to_string());
            have = numbers.collect::<Vec<_>>().join(",");
            began.elapsed().as_secs_f64()
        })
        .collect();
    seconds.sort_by(f64::total_cmp);
    assert!(seconds[94] <= 0.050, "95th percentile {:.0} ms", 1e3 * seconds[94]);
}

/// Bar: the page without photographs weighs 400 kB at most.
#[test]
fn the_page_is_light() {
    let shelf = shelf();
    let page = Page::open(shelf.path());
    let (mut waiting, mut weight, mut seen) = (vec!["/".to_owned()], 0, Vec::new());
    while let Some(path) = waiting.pop() {
        let answer = page.get(&path);
        assert_eq!(answer.status, 200, "{path}");
        weight += answer.body.len();
        let text = String::from_utf8(answer.body).expect("text");
        let quoted = text.split('"').filter(|word| !word.contains(char::is_whitespace));
        let files = quoted.filter(|word| [".js", ".css", ".svg"].iter().any(|end| word.ends_with(end)));
        for file in files.map(|word| format!("/{}", word.trim_start_matches("./").trim_start_matches('/'))) {
            // Files that are taken along, not the page's.
            if !seen.contains(&file) && !file.contains(['$', '?']) && !file.starts_with("/pattern.svg") {
                seen.push(file.clone());
                waiting.push(file);
            }
        }
    }
    println!("the page weighs {} kB in {} files", weight / 1000, seen.len() + 1);
    assert!(seen.len() > 8 && weight <= 400_000, "{weight} bytes, {seen:?}");
}
