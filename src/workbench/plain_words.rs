//! Words of the rooms above that name an option of the command line, told as the page has it.

/// What the command line calls it, and the page.
const WORDS: [(&str, &str); 3] = [
    (
        "and give it with --measured WIDTH,HEIGHT.",
        "and enter its width and its height when you hand the photograph over again.",
    ),
    (
        "check the sheets' print with a ruler (--measured),",
        "check the sheets' print with a ruler (the checked block, when you hand over the photograph),",
    ),
    ("or capture a cut shape with --kind garment", "or photograph a cut shape as a garment"),
];

/// The words as a person at the page needs them.
pub(super) fn plain(words: &str) -> String {
    WORDS.iter().fold(words.to_owned(), |words, (from, to)| words.replace(from, to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_option_is_left() {
        let told = plain(
            "The print's scale is not checked: measure the checked block (180 x 240 mm) with a steel ruler and give it \
             with --measured WIDTH,HEIGHT.",
        );
        assert!(told.contains("enter its width") && !told.contains("--"), "{told}");
    }
}
