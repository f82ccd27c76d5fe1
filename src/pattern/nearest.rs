//! The known word that a mistyped one most likely meant.

/// A suggestion may differ from what was typed by at most this part of its letters (and always by one): more
/// suggests words that have nothing to do with it, less misses a dropped and a swapped letter together.
const PART_WRONG: f64 = 0.4;

/// The candidate that takes the fewest changes of a letter to reach from `word`, if it is near enough to be
/// worth suggesting. Case is ignored; the first of equals is taken.
#[must_use]
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    let (distance, best) = candidates
        .into_iter()
        .map(|c| (edits(&word, &c.to_lowercase()), c))
        .min_by_key(|(distance, _)| *distance)?;
    #[expect(clippy::cast_precision_loss, reason = "words are short")]
    let near = distance <= 1 || distance as f64 <= PART_WRONG * best.chars().count() as f64;
    near.then_some(best)
}

/// Letters inserted, dropped, replaced or swapped with their neighbour to get from one word to the other
/// (optimal string alignment; F. Damerau, "A technique for computer detection and correction of spelling errors",
/// Communications of the ACM 7(3), 1964, doi:10.1145/363958.363994).
fn edits(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows: Vec<Vec<usize>> = vec![(0..=b.len()).collect()];
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let replaced = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = replaced.min(rows[i - 1][j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            row.push(best);
        }
        rows.push(row);
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_finger_are_understood() {
        let names = ["armhole", "side", "hem"];
        assert_eq!(nearest("armhloe", names), Some("armhole"));
        assert_eq!(nearest("Sid", names), Some("side"));
        assert_eq!(nearest("collar", names), None);
        assert_eq!(nearest("x", []), None);
        assert_eq!(edits("kitten", "sitting"), 3, "the textbook pair");
    }
}
