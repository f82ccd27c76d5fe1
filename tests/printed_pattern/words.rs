//! What stands on the pages in words, and where.

use crate::squares::test_squares;
use crate::{pdf_reader, piece, poppler, print, read};
use onfold::export::tiles;
use onfold::sheet::Paper;
use std::path::Path;

#[test]
fn every_word_of_the_record_is_printed() {
    let file = read(&tiles::pages(&[piece()], Paper::Letter).unwrap());
    let all: String = (0..file.pages().len()).map(|p| file.words(p).replace('\n', " ")).collect();
    // TRADE.md, "Record on every piece" and the cautions of printed sheets (common practice).
    for words in [
        "Potter's apron",
        "body, 1 of 1",
        "cut 1 on fold",
        "waxed canvas",
        "0.8mm",
        "FINISHED LINE: no allowance is added",
        "grain: along the fold",
        "FOLD",
        "873.4 mm",
        "341.7 mm",
        "683.4 mm",
        "test square: 100 mm",
        "2026-11-25",
        "version: 1",
        "supersedes",
        "not tested or certified as protective equipment",
        "a release that parts",
        "cut away from yourself",
        "eye protection",
        "no ignition",
    ] {
        assert!(all.contains(words), "`{words}` is missing");
    }
    assert!(all.contains("right R2C2"), "neighbours are named: {all}");
}

/// A word on a page: what it says and the box round it, millimetres.
type Word = (String, [f64; 4]);

/// How much of the smaller of two boxes lies in the other.
fn overlap(a: &[f64; 4], b: &[f64; 4]) -> f64 {
    let side = |k: usize| (a[k + 2].min(b[k + 2]) - a[k].max(b[k])).max(0.0);
    let area = |r: &[f64; 4]| (r[2] - r[0]) * (r[3] - r[1]);
    side(0) * side(1) / area(a).min(area(b)).max(1e-9)
}

/// Where a word's letters stand: poppler's box is as high as the font's whole line, with a fifth of it above and below them.
fn letters(word: &[f64; 4]) -> [f64; 4] {
    let rim = 0.2 * (word[2] - word[0]).min(word[3] - word[1]);
    [word[0] + rim, word[1] + rim, word[2] - rim, word[3] - rim]
}

/// The words of a worked example's pages.
fn words_of(example: &str, file: &Path) -> Vec<Vec<Word>> {
    poppler::required();
    print(example, &["--paper", "a4"], file);
    poppler::boxed_words(file)
}

#[test]
fn no_words_lie_on_each_other_or_on_a_test_square() {
    for (example, least) in [("canvas_pattern", 2000), ("leather_pattern", 700)] {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("pattern.pdf");
        let pages = words_of(example, &file);
        let file = pdf_reader::read(&file);
        let mut seen = 0;
        for (page, words) in pages.iter().enumerate() {
            let squares = test_squares(&file, page);
            for (index, (word, at)) in words.iter().enumerate() {
                seen += 1;
                for (other, there) in &words[index + 1..] {
                    let part = overlap(at, there);
                    assert!(part < 0.3, "{example}, page {}: `{word}` and `{other}`, {part:.2}", page + 1);
                }
                // A square's sides, a quarter of a millimetre wide; its own words stand 0.7 mm inside.
                for &[x0, y0, x1, y1] in &squares {
                    let sides = [[x0, y0, x1, y0], [x1, y0, x1, y1], [x0, y1, x1, y1], [x0, y0, x0, y1]];
                    for side in sides {
                        let line = [side[0] - 0.12, side[1] - 0.12, side[2] + 0.12, side[3] + 0.12];
                        let crossed = overlap(&letters(at), &line) > 0.0
                            && !["test", "square:", "100", "mm", "across", "down"].contains(&word.as_str());
                        assert!(!crossed, "{example}, page {}: `{word}` on the square", page + 1);
                    }
                }
            }
        }
        assert!(seen > least, "{example}: {seen} words");
    }
}

#[test]
fn every_label_stands_whole_on_one_page() {
    for (example, labels) in [("canvas_pattern", 13), ("leather_pattern", 4)] {
        let folder = tempfile::tempdir().unwrap();
        // The tile's window on A4; what reaches out of it is cut off.
        let window = [7.0, 7.0, 210.0 - 7.0, 297.0 - 7.0];
        let mut whole = 0;
        for words in words_of(example, &folder.path().join("pattern.pdf")) {
            let is_map = words.iter().any(|(word, _)| word == "Trim");
            let begins = words.iter().find(|(word, _)| word == "supersedes:");
            if let Some((_, begins)) = begins.filter(|_| !is_map) {
                // The label stands above its last line, as wide as its widest.
                let label = words.iter().filter(|(_, at)| {
                    at[0] >= begins[0] - 0.5
                        && at[0] < begins[0] + 100.0
                        && at[3] <= begins[3]
                        && at[1] > begins[1] - 60.0
                });
                let cut = label.filter(|(_, at)| {
                    at[0] < window[0] || at[2] > window[2] || at[1] < window[1] || at[3] > window[3]
                });
                // On a neighbour's page a part of it may show in the overlap.
                if cut.count() == 0 {
                    whole += words.iter().filter(|(word, _)| word == "supersedes:").count();
                }
            }
        }
        assert!(whole >= labels, "{example}: {whole} labels");
    }
}
