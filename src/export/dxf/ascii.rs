//! Words in the 7-bit letters that release 12 of DXF holds.

/// Longest name of a block.
const LONGEST: usize = 31;

/// The words with every other letter written in ASCII: accents dropped, `?` where nothing is alike.
pub(super) fn plain(words: &str) -> String {
    words.chars().map(alike).collect()
}

fn alike(c: char) -> &'static str {
    /// Letters and what stands for them.
    const ALIKE: [(&str, &str); 24] = [
        ("àáâãåā", "a"),
        ("ä", "ae"),
        ("æ", "ae"),
        ("çćč", "c"),
        ("èéêëēę", "e"),
        ("ìíîïī", "i"),
        ("ñńň", "n"),
        ("òóôõøō", "o"),
        ("öœ", "oe"),
        ("ùúûūů", "u"),
        ("ü", "ue"),
        ("ýÿ", "y"),
        ("śš", "s"),
        ("ß", "ss"),
        ("źżž", "z"),
        ("ł", "l"),
        ("×", "x"),
        ("–—−", "-"),
        ("‘’", "'"),
        ("“”", "\""),
        ("°", " deg"),
        ("²", "2"),
        ("½", "1/2"),
        ("⌀", "dia"),
    ];
    /// The printable letters themselves, from the blank to the tilde.
    const ASCII: &str =
        " !\"#$%&'()*+,-./0123456789:;<=>?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[\\]^_`abcdefghijklmnopqrstuvwxyz{|}~";
    if let Some(at) = ASCII.find(c) {
        return &ASCII[at..=at];
    }
    let small = c.to_lowercase().next().unwrap_or(c);
    ALIKE.iter().find(|(letters, _)| letters.contains(small)).map_or("?", |(_, alike)| alike)
}

/// A name for a block that none of `taken` has.
pub(super) fn block_name(name: &str, taken: &[String]) -> String {
    let letters: String = plain(name)
        .to_uppercase()
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' })
        .collect();
    let letters = if letters.is_empty() { "PIECE".to_owned() } else { letters };
    let cut = |length: usize| letters.chars().take(length).collect::<String>();
    let mut out = cut(LONGEST);
    let mut number = 2;
    while taken.contains(&out) {
        let end = format!("_{number}");
        out = cut(LONGEST - end.len()) + &end;
        number += 1;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_keep_to_release_12() {
        assert_eq!(block_name("Körper, links", &[]), "KOERPER__LINKS");
        let long = block_name(&"pocket flap ".repeat(4), &[]);
        assert_eq!(long.len(), LONGEST);
        let second = block_name(&"pocket flap ".repeat(4), std::slice::from_ref(&long));
        assert!(second.len() <= LONGEST && second != long, "{second}");
        assert_eq!(block_name("", &[]), "PIECE");
        assert_eq!(plain("½ × 3°, 漆"), "1/2 x 3 deg, ?");
    }
}
