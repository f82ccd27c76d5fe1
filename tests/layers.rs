//! The law of imports and the house rules that the compiler does not check inside one crate.
//!
//! The rooms stand in `src/lib.rs` in the order in which data flows. A room imports only rooms above it, and
//! only those that [`MAY_IMPORT`] grants it. Outside the rooms named in [`MAY_TOUCH_FILES`] nothing prints and
//! nothing knows of files. Sources are read as tokens (comments and strings taken out), so that grouped imports,
//! full paths in the middle of code and `super::super::` are seen as well.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What each room may import. "Above" is every room declared before it.
const MAY_IMPORT: [(&str, Grant); 14] = [
    ("units", Grant::Only(&[])),
    ("geometry", Grant::Only(&["units"])),
    ("photo", Grant::Only(&["geometry"])),
    ("sheet", Grant::Only(&["geometry", "photo"])),
    ("camera", Grant::Only(&["geometry", "photo"])),
    ("outline", Grant::Above),
    ("curve", Grant::Only(&["geometry"])),
    ("ink", Grant::Only(&["geometry", "outline"])),
    ("capture", Grant::Above),
    ("pattern", Grant::Only(&["units", "geometry", "curve"])),
    ("export", Grant::Only(&["geometry", "pattern", "sheet"])),
    ("shelf", Grant::Only(&["geometry", "curve", "ink", "capture", "pattern", "export"])),
    ("workbench", Grant::Above),
    ("cli", Grant::Above),
];

/// Rooms that read and write files; of these only `cli` prints.
const MAY_TOUCH_FILES: [&str; 3] = ["cli", "shelf", "workbench"];

/// Words that stand for files, paths, the process's surroundings or a terminal, as paths of tokens.
const FILE_WORDS: [&[&str]; 10] = [
    &["std", "fs"],
    &["std", "path"],
    &["std", "env"],
    &["std", "process"],
    &["std", "net"],
    &["io", "stdout"],
    &["io", "stderr"],
    &["io", "stdin"],
    &["tokio"],
    &["atomic_write_file"],
];

/// Macros that print.
const PRINTERS: [&str; 5] = ["print", "println", "eprint", "eprintln", "dbg"];

/// Names of files that say nothing of what is in them.
const EMPTY_NAMES: [&str; 5] = ["utils", "common", "helpers", "types", "misc"];

/// A file longer than this is split.
const MOST_LINES: usize = 800;

#[derive(Debug, Clone, Copy)]
enum Grant {
    Only(&'static [&'static str]),
    Above,
}

/// One source file: where it stands, its room and its tokens.
struct Source {
    path: PathBuf,
    room: String,
    text: String,
    tokens: Vec<Token>,
}

#[derive(Debug, Clone, PartialEq)]
struct Token {
    word: String,
    line: usize,
    /// Modules between the crate's root and this token.
    depth: usize,
    /// Inside `#[cfg(test)]`.
    test: bool,
}

#[test]
fn every_room_is_declared_and_has_a_grant() {
    let declared = rooms();
    let known: Vec<&str> = MAY_IMPORT.iter().map(|(room, _)| *room).collect();
    assert!(declared.len() >= 12, "lib.rs declares only {declared:?}");
    let expected: Vec<&str> =
        known.iter().copied().filter(|room| declared.iter().any(|d| d == room)).collect();
    assert_eq!(declared, expected, "lib.rs must declare the rooms of the design, in its order");
    let sources = sources();
    for room in &declared {
        assert!(sources.iter().any(|s| &s.room == room), "room `{room}` has no source");
    }
}

#[test]
fn rooms_import_only_rooms_above_them() {
    let declared = rooms();
    let sources = sources();
    assert!(sources.len() > declared.len(), "only {} source files found", sources.len());
    let mut broken = Vec::new();
    let mut seen = 0;
    for source in sources.iter().filter(|s| !s.room.is_empty()) {
        let here = declared.iter().position(|r| r == &source.room);
        let Some(here) = here else {
            broken.push(format!(
                "{}: room `{}` is not declared in lib.rs",
                source.path.display(),
                source.room
            ));
            continue;
        };
        let grant = MAY_IMPORT.iter().find(|(room, _)| *room == source.room).map(|(_, grant)| *grant);
        for (room, line) in imports(&source.tokens) {
            seen += 1;
            if room == source.room {
                continue;
            }
            let place = declared.iter().position(|r| r == &room);
            let allowed = match (grant, place) {
                (_, None) | (None, _) => false,
                (Some(Grant::Above), Some(place)) => place < here,
                (Some(Grant::Only(list)), Some(place)) => place < here && list.contains(&room.as_str()),
            };
            if !allowed {
                broken.push(format!("{}:{line}: `{}` imports `{room}`", source.path.display(), source.room));
            }
        }
    }
    assert!(seen >= 40, "only {seen} imports between rooms were seen: the reader of sources is broken");
    assert!(broken.is_empty(), "the law of imports is broken:\n{}", broken.join("\n"));
}

#[test]
fn only_the_doors_print_or_know_files() {
    let sources = sources();
    let inner: Vec<&Source> = sources
        .iter()
        .filter(|s| !s.room.is_empty() && !MAY_TOUCH_FILES.contains(&s.room.as_str()))
        .collect();
    assert!(inner.len() >= 10, "only {} files in the inner rooms", inner.len());
    let mut broken = Vec::new();
    for source in &sources {
        let tokens: Vec<&Token> = source.tokens.iter().filter(|t| !t.test).collect();
        for (i, token) in tokens.iter().enumerate() {
            let at = |k: usize| tokens.get(i + k).map_or("", |t| t.word.as_str());
            let place = format!("{}:{}", source.path.display(), token.line);
            if PRINTERS.contains(&token.word.as_str()) && at(1) == "!" && source.room != "cli" {
                broken.push(format!("{place}: prints with `{}!`", token.word));
            }
            if MAY_TOUCH_FILES.contains(&source.room.as_str()) || source.room.is_empty() {
                continue;
            }
            for words in FILE_WORDS {
                if words
                    .iter()
                    .enumerate()
                    .all(|(k, word)| at(2 * k) == *word && (k == 0 || at(2 * k - 1) == "::"))
                {
                    broken.push(format!("{place}: uses `{}`", words.join("::")));
                }
            }
        }
    }
    assert!(broken.is_empty(), "printing and files belong to {MAY_TOUCH_FILES:?}:\n{}", broken.join("\n"));
}

#[test]
fn every_file_says_what_it_is_and_stays_short() {
    let sources = sources();
    assert!(sources.len() >= 20, "only {} source files found", sources.len());
    let mut broken = Vec::new();
    for source in &sources {
        let name = source.path.file_stem().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let lines = source.text.lines().count();
        if !source.text.starts_with("//!") {
            broken.push(format!("{}: does not begin with what it holds (`//!`)", source.path.display()));
        }
        if lines > MOST_LINES {
            broken.push(format!("{}: {lines} lines; split it", source.path.display()));
        }
        if EMPTY_NAMES.contains(&name.as_str()) {
            broken.push(format!("{}: a name that says nothing", source.path.display()));
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

/// The reader itself, on a text with every way to write an import.
#[test]
fn the_reader_sees_every_kind_of_import() {
    let text = r#"
        //! crate::cli in a comment does not count
        use crate::{geometry::{Point, Ring}, photo as p, units};
        /* nor /* nested */ crate::shelf */
        fn f<'a>(x: &'a str) -> char { let _ = "crate::cli"; let _ = r"crate::cli"; crate::sheet::layout(x); '"' }
        use super::super::camera::Lens;
        mod tests { use super::super::super::curve; use super::f; }
    "#;
    let found: Vec<String> = imports(&tokens(text, 2)).into_iter().map(|(room, _)| room).collect();
    assert_eq!(found, ["geometry", "photo", "units", "sheet", "camera", "curve"]);
}

/// The names after `pub mod` in `lib.rs`, in order.
fn rooms() -> Vec<String> {
    let text = std::fs::read_to_string(root().join("lib.rs")).expect("src/lib.rs");
    let tokens = tokens(&text, 0);
    tokens.windows(3).filter(|w| w[0].word == "mod" && w[2].word == ";").map(|w| w[1].word.clone()).collect()
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// Every `.rs` file under `src`, by path; files at the top have an empty room.
fn sources() -> Vec<Source> {
    let mut found = BTreeMap::new();
    let mut folders = vec![root()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).expect("a folder under src") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let inside = path.strip_prefix(root()).expect("under src").to_path_buf();
                let parts: Vec<String> = inside.iter().map(|p| p.to_string_lossy().into_owned()).collect();
                let room = if parts.len() > 1 { parts[0].clone() } else { String::new() };
                // src/room/mod.rs is one module below the root, src/room/part.rs two, and so on.
                let last = parts.last().expect("a name");
                let depth = parts.len() - usize::from(last == "mod.rs" || parts.len() == 1);
                let text = std::fs::read_to_string(&path).expect("a source file");
                let tokens = tokens(&text, depth);
                found.insert(inside.clone(), Source { path: inside, room, text, tokens });
            }
        }
    }
    found.into_values().collect()
}

/// The rooms named after `crate::`, or after as many `super::` as lead to the root, with their lines.
fn imports(tokens: &[Token]) -> Vec<(String, usize)> {
    let mut found = Vec::new();
    let word = |i: usize| tokens.get(i).map_or("", |t| t.word.as_str());
    let mut i = 0;
    while i < tokens.len() {
        let start = i;
        let to_root = match word(i) {
            "crate" => true,
            "super" => {
                let mut climbed = 1;
                while word(i + 1) == "::" && word(i + 2) == "super" {
                    climbed += 1;
                    i += 2;
                }
                climbed >= tokens[start].depth && climbed > 0
            }
            _ => false,
        };
        if to_root && word(i + 1) == "::" {
            if word(i + 2) == "{" {
                let mut level = 0;
                let mut first = true;
                for token in &tokens[i + 2..] {
                    match token.word.as_str() {
                        "{" => level += 1,
                        "}" => level -= 1,
                        "," if level == 1 => first = true,
                        name if level == 1 && first => {
                            first = false;
                            found.push((name.to_owned(), token.line));
                        }
                        _ => {}
                    }
                    if level == 0 {
                        break;
                    }
                }
            } else {
                found.push((word(i + 2).to_owned(), tokens[i].line));
            }
        }
        i += 1;
    }
    found
}

/// Words, `::` and single marks of a source, without comments, strings and characters.
fn tokens(text: &str, file_depth: usize) -> Vec<Token> {
    let chars: Vec<char> = text.chars().collect();
    let mut out: Vec<Token> = Vec::new();
    // For every open brace: whether it opened a module, and whether that module is under cfg(test).
    let mut braces: Vec<(bool, bool)> = Vec::new();
    let (mut i, mut line) = (0, 1);
    let get = |i: usize| chars.get(i).copied().unwrap_or('\0');
    while i < chars.len() {
        let c = chars[i];
        if c == '\n' {
            line += 1;
            i += 1;
        } else if c.is_whitespace() {
            i += 1;
        } else if c == '/' && get(i + 1) == '/' {
            while i < chars.len() && chars[i] != '\n' {
                i += 1;
            }
        } else if c == '/' && get(i + 1) == '*' {
            let mut level = 0;
            loop {
                if get(i) == '/' && get(i + 1) == '*' {
                    level += 1;
                    i += 2;
                } else if get(i) == '*' && get(i + 1) == '/' {
                    level -= 1;
                    i += 2;
                } else {
                    line += usize::from(get(i) == '\n');
                    i += 1;
                }
                if level == 0 || i >= chars.len() {
                    break;
                }
            }
        } else if c == '"' {
            i += 1;
            while i < chars.len() && chars[i] != '"' {
                line += usize::from(chars[i] == '\n');
                i += if chars[i] == '\\' { 2 } else { 1 };
            }
            i += 1;
        } else if c == 'r' && (get(i + 1) == '"' || (get(i + 1) == '#' && matches!(get(i + 2), '"' | '#'))) {
            let hashes = chars[i + 1..].iter().take_while(|c| **c == '#').count();
            i += hashes + 2;
            while i < chars.len() && !(chars[i] == '"' && (1..=hashes).all(|k| get(i + k) == '#')) {
                line += usize::from(chars[i] == '\n');
                i += 1;
            }
            i += hashes + 1;
        } else if c == '\'' && (get(i + 1) == '\\' || get(i + 2) == '\'') {
            i += if get(i + 1) == '\\' { 3 } else { 2 };
            while i < chars.len() && chars[i] != '\'' {
                i += 1;
            }
            i += 1;
        } else {
            let start = i;
            if c.is_alphanumeric() || c == '_' {
                while get(i).is_alphanumeric() || get(i) == '_' {
                    i += 1;
                }
            } else {
                i += if c == ':' && get(i + 1) == ':' { 2 } else { 1 };
            }
            let word: String = chars[start..i].iter().collect();
            let depth = file_depth + braces.iter().filter(|(module, _)| *module).count();
            let test = braces.last().is_some_and(|(_, test)| *test);
            match word.as_str() {
                "{" => {
                    let module = out.len() >= 2 && out[out.len() - 2].word == "mod";
                    let marked = module && under_cfg_test(&out[..out.len() - 2]);
                    braces.push((module, test || marked));
                }
                "}" => {
                    braces.pop();
                }
                _ => {}
            }
            out.push(Token { word, line, depth, test });
        }
    }
    out
}

/// Whether the attributes that end here hold `#[cfg(test)]`.
fn under_cfg_test(before: &[Token]) -> bool {
    let words: Vec<&str> = before.iter().rev().take(24).map(|t| t.word.as_str()).collect();
    let end = words.iter().position(|w| matches!(*w, ";" | "}" | "{")).unwrap_or(words.len());
    words[..end].windows(4).any(|w| w == [")", "test", "(", "cfg"])
}
