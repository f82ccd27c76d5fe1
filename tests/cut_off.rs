//! Programs cut off (SIGKILL) at any moment of a change leave every pattern on a shelf as it was, or whole as it was to be.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

use onfold::shelf::{Query, Shelf};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const MADE: &str = "as the test set it up";

fn program() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("onfold"));
    command.stdout(Stdio::null()).stderr(Stdio::null());
    command
}

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(name)
}

/// What is done to the shelf; `Photograph` captures one of 12 MP, which takes seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Change {
    NewVersion,
    Edit,
    Add,
    Record,
    Undo,
    Import,
    Photograph,
}

impl Change {
    const QUICK: [Self; 6] =
        [Self::NewVersion, Self::Edit, Self::Add, Self::Record, Self::Undo, Self::Import];

    /// The pattern that is changed where it stands.
    fn target(self) -> Option<&'static str> {
        matches!(self, Self::Edit | Self::Record | Self::Undo).then_some("leather")
    }

    /// The command, with input of its own so that nothing is on the shelf already.
    fn command(self, room: &Path, shelf: &Path, k: u64) -> Command {
        let mut command = program();
        let on_shelf = |command: &mut Command| {
            command.arg("--shelf").arg(shelf);
        };
        let number = k.to_string();
        match self {
            Self::NewVersion => on_shelf(command.args(["shelf", "new-version", "canvas"])),
            Self::Record => on_shelf(command.args(["shelf", "record", "leather", &format!("notes={k}")])),
            Self::Edit => {
                command.arg("edit").arg(shelf.join("leather")).args(["lengthen", "by=1mm", "edge=hem"]);
            }
            Self::Undo => {
                command.arg("edit").arg(shelf.join("leather")).arg("--undo");
            }
            Self::Add => {
                let from = pattern(room, &number);
                on_shelf(command.args(["shelf", "add"]).arg(from));
            }
            Self::Import => {
                let zip = room.join(format!("{k}.zip"));
                let mut file = zip::ZipWriter::new(fs::File::create(&zip).expect(MADE));
                let from = pattern(room, &number);
                for name in ["pattern.toml", "traced.json"] {
                    file.start_file(format!("sent/{name}"), zip::write::SimpleFileOptions::default())
                        .expect(MADE);
                    std::io::Write::write_all(&mut file, &fs::read(from.join(name)).expect(MADE))
                        .expect(MADE);
                }
                file.finish().expect(MADE);
                on_shelf(command.args(["shelf", "import"]).arg(zip));
            }
            Self::Photograph => {
                let from = room.join(format!("drawer{k}"));
                fs::create_dir(&from).expect(MADE);
                let mut bytes = fs::read(sample("canvas_apron.jpg")).expect(MADE);
                // A few bytes behind the picture make it another photograph.
                bytes.extend(number.bytes());
                fs::write(from.join("apron.jpg"), bytes).expect(MADE);
                on_shelf(command.args(["shelf", "add", "--thickness", "0.9mm"]).arg(from));
            }
        }
        command
    }
}

/// A pattern folder of its own.
fn pattern(room: &Path, number: &str) -> PathBuf {
    let (canvas, from) = (sample("canvas_pattern"), room.join(format!("from{number}")));
    fs::create_dir(&from).expect(MADE);
    let text = fs::read_to_string(canvas.join("pattern.toml")).expect(MADE) + &format!("# {number}\n");
    fs::write(from.join("pattern.toml"), text).expect(MADE);
    fs::copy(canvas.join("traced.json"), from.join("traced.json")).expect(MADE);
    from
}

/// Every pattern's files but the hidden ones, by name.
type Files = BTreeMap<String, BTreeMap<String, Vec<u8>>>;

fn files(shelf: &Path) -> Files {
    let listed = |dir: &Path| -> Vec<(String, PathBuf)> {
        let entries = fs::read_dir(dir).expect("it reads").flatten();
        let named = entries.map(|e| (e.file_name().to_string_lossy().into_owned(), e.path()));
        named.filter(|(name, _)| !name.starts_with('.')).collect()
    };
    let folders = listed(shelf).into_iter().filter(|(_, path)| path.is_dir());
    let of = |dir: &Path| listed(dir).into_iter().filter(|(_, path)| path.is_file());
    let read = |(name, path): (String, PathBuf)| (name, fs::read(path).expect("it reads"));
    folders.map(|(name, path)| (name, of(&path).map(read).collect())).collect()
}

/// Uniform on 0 to 1 (Knuth's linear congruential generator with a 64-bit state; a fixed run of values).
struct Moments(u64);

impl Moments {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 32).expect("32 bits")) / f64::from(u32::MAX)
    }
}

/// Does so many changes, each cut off at a moment within the time that it takes undisturbed; every `photographs`th is a
/// capture.
fn killed(times: u64, photographs: Option<u64>) {
    let room = tempfile::tempdir().expect(MADE);
    let shelf = room.path().join("shelf");
    for name in ["canvas", "leather"] {
        let mut add = program();
        add.args(["shelf", "add"]).arg(sample(&format!("{name}_pattern")));
        let status = add.args(["--name", name]).arg("--shelf").arg(&shelf).status().expect("it runs");
        assert!(status.success());
    }
    let mut takes: BTreeMap<Change, Duration> = BTreeMap::new();
    let every = Change::QUICK.iter().chain(photographs.map(|_| &Change::Photograph));
    for (k, change) in (1_000_000..).zip(every) {
        let mut command = change.command(room.path(), &shelf, k);
        let began = Instant::now();
        assert!(command.status().expect("it runs").success(), "{change:?} undisturbed");
        takes.insert(*change, began.elapsed());
    }
    let mut moments = Moments(1);
    let mut cut_off = 0;
    for (k, quick) in (0..times).zip(Change::QUICK.iter().cycle()) {
        let capture = photographs.is_some_and(|every| k % every == every - 1);
        let change = if capture { Change::Photograph } else { *quick };
        let before = files(&shelf);
        let mut command = change.command(room.path(), &shelf, k);
        let moment = takes[&change].mul_f64(moments.next());
        let mut running = command.spawn().expect("it runs");
        std::thread::sleep(moment);
        let _ = running.kill();
        cut_off += u64::from(running.wait().expect("it ends").code().is_none());
        let what = format!("{change:?} {k} cut off after {moment:?}");
        untouched(&before, &files(&shelf), change, &what);
        whole(&shelf, k.is_multiple_of(3), &what);
    }
    println!("{cut_off} of {times} were cut off in time; {} patterns stand", files(&shelf).len());
    assert!(cut_off * 2 > times, "only {cut_off} of {times} were cut off in time");
}

/// What the change was not to touch is the same to the last byte; what it was to touch is as before, or is other and whole.
fn untouched(before: &Files, after: &Files, change: Change, what: &str) {
    for (name, old) in before {
        let new = after.get(name).unwrap_or_else(|| panic!("{what}: {name} is gone"));
        if change.target() == Some(name) {
            assert_eq!(new["traced.json"], old["traced.json"], "{what}: {name}");
        } else {
            assert!(new == old, "{what}: {name} is other than before");
        }
    }
    let more = usize::from(change.target().is_none());
    assert!(after.len() <= before.len() + more, "{what}: {} patterns", after.len());
}

/// Every pattern reads and is as its checksums say, whether the index is there or is made anew.
fn whole(dir: &Path, without_index: bool, what: &str) {
    if without_index {
        fs::remove_file(dir.join("index.sqlite")).expect(MADE);
    }
    let shelf = Shelf::open(dir).expect("a shelf");
    let mut count = 0;
    let mut check = |shelf: &Shelf| {
        count = 0;
        let each = shelf.each(&Query::default(), |entry| {
            count += 1;
            assert_eq!((&entry.problem, &entry.note), (&None, &None), "{what}: {}", entry.name);
            assert!(!entry.pieces.is_empty(), "{what}: {}", entry.name);
        });
        each.expect("a list");
        count
    };
    let there = check(&shelf);
    for pattern in shelf.verify(&[]).expect("it verifies") {
        assert!(!pattern.is_damaged(), "{what}: {pattern:?}");
    }
    assert_eq!(shelf.rebuild().expect("an index"), there, "{what}");
    assert_eq!(check(&shelf), there, "{what}");
    let hidden: Vec<String> = fs::read_dir(dir)
        .expect("it reads")
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| name.starts_with(".making"))
        .collect();
    assert!(hidden.is_empty(), "{what}: {hidden:?} is left");
}

#[test]
fn programs_cut_off_leave_nothing_half_written() {
    killed(24, None);
}

#[test]
#[ignore = "long: two hundred kills, some of them of captures, take minutes"]
fn two_hundred_kills_leave_nothing_half_written() {
    killed(200, Some(10));
}
