//! Pattern folders: made whole or not at all, replaced without loss, read with every mistake named.

use kurbo::{Line, PathSeg, Point};
use onfold::curve::Fitted;
use onfold::geometry::{Ring, Trace, TracePoint};
use onfold::pattern::{Traced, TracedRing};
use onfold::shelf::{Folder, NewPattern, PatternFile, Picture, ShelfError, create};
use std::fs;
use std::path::Path;

/// A square of this side, millimetres, as if it had been traced.
fn square(side_mm: f64) -> NewPattern {
    let p = [(0.0, 0.0), (side_mm, 0.0), (side_mm, side_mm), (0.0, side_mm)].map(Point::from);
    let segments = (0..4).map(|i| PathSeg::Line(Line::new(p[i], p[(i + 1) % 4]))).collect();
    let fitted = Fitted {
        ring: Ring::new(segments).expect("a square closes"),
        corners: vec![0, 1, 2, 3],
        worst_mm: 0.0,
        rms_mm: 0.0,
        sigma_mm: 0.05,
        strays: 0,
    };
    let points = p.iter().map(|at| TracePoint { at: *at, sigma_mm: 0.05, bridged: false }).collect();
    NewPattern {
        traced: Traced {
            outer: TracedRing { fitted, trace: Trace { points, corners: vec![0, 1, 2, 3] } },
            holes: Vec::new(),
        },
        file: PatternFile::default(),
        facts: vec![("photos".to_owned(), "apron.jpg".to_owned())],
        report: serde_json::json!({"sheets": 12}),
        pictures: vec![Picture { name: "outline.png".to_owned(), bytes: vec![1, 2, 3] }],
    }
}

/// Names in a folder, sorted.
fn names(dir: &Path) -> Vec<String> {
    let entries = fs::read_dir(dir).expect("the folder is there");
    let name = |entry: fs::DirEntry| entry.file_name().to_string_lossy().into_owned();
    let mut names: Vec<String> = entries.map(|entry| name(entry.expect("an entry reads"))).collect();
    names.sort();
    names
}

#[test]
fn a_folder_reads_back_as_it_was_made() {
    let room = tempfile::tempdir().unwrap();
    for dir in [room.path().join("deep/er/apron"), room.path().join("empty")] {
        if dir.ends_with("empty") {
            fs::create_dir(&dir).unwrap();
        }
        create(&dir, &square(500.0), false).unwrap();
        assert_eq!(names(&dir), [".shown", "capture.json", "pattern.toml", "pictures", "traced.json"]);
        assert_eq!(fs::read(dir.join("pictures/outline.png")).unwrap(), [1, 2, 3]);
        let folder = Folder::open(&dir).unwrap();
        assert_eq!(folder.traced, square(500.0).traced);
        assert_eq!(folder.file, PatternFile::default());
    }
    assert_eq!(names(room.path()), ["deep", "empty"], "nothing is left beside them");
}

#[test]
fn a_pattern_is_replaced_only_when_told_and_other_files_never() {
    let room = tempfile::tempdir().unwrap();
    let dir = room.path().join("apron");
    create(&dir, &square(500.0), false).unwrap();
    let refused = create(&dir, &square(600.0), false).unwrap_err();
    assert!(
        matches!(refused, ShelfError::Taken(_)) && refused.to_string().contains("--replace"),
        "{refused}"
    );
    assert_eq!(Folder::open(&dir).unwrap().traced, square(500.0).traced);

    fs::write(dir.join("notes of my own.txt"), "keep").unwrap();
    create(&dir, &square(600.0), true).unwrap();
    assert_eq!(Folder::open(&dir).unwrap().traced, square(600.0).traced);
    assert_eq!(fs::read_to_string(dir.join("notes of my own.txt")).unwrap(), "keep");

    let other = room.path().join("photos");
    fs::create_dir(&other).unwrap();
    fs::write(other.join("a.jpg"), "x").unwrap();
    for replace in [false, true] {
        let refused = create(&other, &square(500.0), replace).unwrap_err();
        assert!(matches!(refused, ShelfError::NotEmpty(_)), "{refused}");
    }
    assert!(matches!(create(&other.join("a.jpg"), &square(5.0), true), Err(ShelfError::NotAFolder(_))));
    assert_eq!(names(room.path()), ["apron", "photos"], "nothing is left beside them");
}

#[test]
fn a_failure_leaves_the_old_pattern_and_nothing_half_written() {
    let room = tempfile::tempdir().unwrap();
    let dir = room.path().join("apron");
    create(&dir, &square(500.0), false).unwrap();
    let mut bad = square(600.0);
    bad.pictures.push(Picture { name: "no/such/folder.png".to_owned(), bytes: vec![0] });
    create(&dir, &bad, true).unwrap_err();
    assert_eq!(Folder::open(&dir).unwrap().traced, square(500.0).traced);
    create(&room.path().join("new"), &bad, false).unwrap_err();
    assert_eq!(names(room.path()), ["apron"]);
}

/// `/dev/full` refuses every byte with "no space left", as a full disk does; a picture linked to it stands for one.
#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_is_called_by_its_name() {
    let room = tempfile::tempdir().unwrap();
    let mut pattern = square(500.0);
    pattern.pictures = vec![Picture { name: "/dev/full".to_owned(), bytes: vec![0; 5000] }];
    let refused = create(&room.path().join("apron"), &pattern, false).unwrap_err();
    assert!(matches!(refused, ShelfError::DiskFull { bytes: 5000, .. }), "{refused}");
    assert!(refused.to_string().contains("free some space"), "{refused}");
    assert_eq!(names(room.path()), Vec::<String>::new());
}

#[test]
fn a_folder_without_a_pattern_is_told() {
    let room = tempfile::tempdir().unwrap();
    for dir in [room.path().to_owned(), room.path().join("nothing")] {
        let refused = Folder::open(&dir).unwrap_err();
        assert!(matches!(refused, ShelfError::NoPattern(_)), "{refused}");
    }
    let dir = room.path().join("apron");
    create(&dir, &square(500.0), false).unwrap();
    fs::write(dir.join("traced.json"), "{}").unwrap();
    let refused = Folder::open(&dir).unwrap_err().to_string();
    assert!(refused.contains("traced.json") && refused.contains("capture the photograph again"), "{refused}");
}

#[test]
fn the_drafted_outline_is_put_in_place_of_the_last() {
    let room = tempfile::tempdir().unwrap();
    let dir = room.path().join("apron");
    create(&dir, &square(500.0), false).unwrap();
    let folder = Folder::open(&dir).unwrap();
    folder.write_drafted("{}\n").unwrap();
    let path = folder.write_drafted("{\"unit\":\"mm\"}\n").unwrap();
    assert_eq!(fs::read_to_string(path).unwrap(), "{\"unit\":\"mm\"}\n");
    let whole = [".shown", "capture.json", "drafted.json", "pattern.toml", "pictures", "traced.json"];
    assert_eq!(names(&dir), whole);
}
