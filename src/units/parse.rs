//! Reading a length: signs made plain, words and numbers told apart, numbers and units taken in turn.

use super::{LengthError, Unit};

/// Longest length taken, millimetres: 100 m is longer than any roll; more is a slip of unit.
const LONGEST_MM: f64 = 100_000.0;

/// One word of the text.
#[derive(Debug, Clone, PartialEq)]
enum Token {
    Number { value: f64, digits: String },
    Slash,
    Dash,
    Unit(Unit),
}

/// Millimetres, and the first unit in the text. A plain number is taken in `default`, if there is one.
pub(super) fn parse(text: &str, default: Option<Unit>) -> Result<(f64, Unit), LengthError> {
    let text = text.trim();
    let plain = plain(text);
    let (sign, body) = match plain.trim().strip_prefix(['-', '+']) {
        Some(rest) => (if plain.trim().starts_with('-') { -1.0 } else { 1.0 }, rest),
        None => (1.0, plain.trim()),
    };
    if body.is_empty() {
        return Err(if text.is_empty() { LengthError::Empty } else { unreadable(text) });
    }
    let tokens = tokens(text, body)?;
    let mut reader = Reader { text, tokens: &tokens, at: 0 };
    let (mm, unit) = reader.terms(sign < 0.0, default)?;
    if mm > LONGEST_MM {
        return Err(LengthError::TooLong { text: text.to_owned(), limit_m: LONGEST_MM / 1000.0 });
    }
    Ok((sign * mm, unit))
}

fn unreadable(text: &str) -> LengthError {
    LengthError::Unreadable { text: text.to_owned() }
}

/// The many ways to type a fraction, a prime, a minus or a blank, brought to one.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 4);
    for c in text.chars() {
        match c {
            '½' => out.push_str(" 1/2"),
            '¼' => out.push_str(" 1/4"),
            '¾' => out.push_str(" 3/4"),
            '⅓' => out.push_str(" 1/3"),
            '⅔' => out.push_str(" 2/3"),
            '⅛' => out.push_str(" 1/8"),
            '⅜' => out.push_str(" 3/8"),
            '⅝' => out.push_str(" 5/8"),
            '⅞' => out.push_str(" 7/8"),
            '⁄' | '∕' => out.push('/'),
            '″' | '”' | '“' => out.push('"'),
            '′' | '’' | '‘' => out.push('\''),
            '−' | '–' | '—' => out.push('-'),
            c if c.is_whitespace() => out.push(' '),
            c => out.push(c),
        }
    }
    out.replace("''", "\"")
}

/// Cuts `body` (the text made plain, without its sign) into words.
fn tokens(text: &str, body: &str) -> Result<Vec<Token>, LengthError> {
    let mut out = Vec::new();
    let mut rest = body;
    while let Some(c) = rest.chars().next() {
        let word = match c {
            ' ' | '/' | '-' | '"' | '\'' => &rest[..c.len_utf8()],
            c if c.is_ascii_digit() || c == '.' || c == ',' => {
                &rest
                    [..rest.find(|c: char| !c.is_ascii_digit() && c != '.' && c != ',').unwrap_or(rest.len())]
            }
            c if c.is_alphabetic() => &rest[..rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len())],
            _ => return Err(unreadable(text)),
        };
        match word {
            " " => {}
            "/" => out.push(Token::Slash),
            "-" => out.push(Token::Dash),
            _ if word.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',') => {
                out.push(Token::Number { value: number(text, word)?, digits: word.to_owned() });
            }
            _ => {
                let unit = Unit::from_word(word);
                let unknown = || LengthError::UnknownUnit { text: text.to_owned(), word: word.to_owned() };
                out.push(Token::Unit(unit.ok_or_else(unknown)?));
            }
        }
        rest = &rest[word.len()..];
        // `6 in.` and `6 ft.`: the full stop of an abbreviation.
        if matches!(out.last(), Some(Token::Unit(_))) && rest.starts_with('.') {
            rest = &rest[1..];
        }
    }
    Ok(out)
}

/// A decimal number with a point or a comma. Thousands are not grouped: a comma before exactly three figures
/// is refused rather than guessed, since the two readings lie a thousandfold apart.
fn number(text: &str, word: &str) -> Result<f64, LengthError> {
    if let Some((before, after)) = word.split_once(',') {
        let grouped = after.len() == 3 && !before.is_empty() && !before.starts_with('0');
        if grouped && after.bytes().all(|b| b.is_ascii_digit()) {
            return Err(LengthError::AmbiguousComma {
                text: text.to_owned(),
                thousands: format!("{before}{after}"),
                decimal: format!("{before}.{}", &after[..1]),
            });
        }
    }
    word.replace(',', ".").parse().map_err(|_| unreadable(text))
}

/// Reads words in turn.
struct Reader<'a> {
    text: &'a str,
    tokens: &'a [Token],
    at: usize,
}

impl Reader<'_> {
    fn peek(&self, ahead: usize) -> Option<&Token> {
        self.tokens.get(self.at + ahead)
    }

    fn whole(&self, ahead: usize) -> Option<(f64, &str)> {
        match self.peek(ahead) {
            Some(Token::Number { value, digits }) if digits.bytes().all(|b| b.is_ascii_digit()) => {
                Some((*value, digits))
            }
            _ => None,
        }
    }

    /// Numbers with units, from the largest unit to the smallest, to the end of the text.
    fn terms(&mut self, negative: bool, default: Option<Unit>) -> Result<(f64, Unit), LengthError> {
        let mut sum_mm = 0.0;
        let mut units: Vec<Unit> = Vec::new();
        while self.at < self.tokens.len() {
            let start = self.at;
            let mut quantity = self.quantity()?;
            let mut range = false;
            if self.peek(0) == Some(&Token::Dash) {
                self.at += 1;
                // Leather is sold by a range of ounces; its middle is the best single figure.
                quantity = f64::midpoint(quantity, self.quantity()?);
                range = true;
            }
            let unit = match self.peek(0).cloned() {
                Some(Token::Unit(unit)) => {
                    self.at += 1;
                    unit
                }
                None if units.is_empty() && default.is_some() => default.unwrap_or(Unit::Millimetre),
                None => return Err(self.no_unit(start, negative && units.is_empty())),
                Some(_) => return Err(unreadable(self.text)),
            };
            if range && (unit != Unit::LeatherOunce || start > 0 || self.at < self.tokens.len()) {
                return Err(LengthError::Range { text: self.text.to_owned() });
            }
            if units.last().is_some_and(|last| last.mm() <= unit.mm()) {
                return Err(unreadable(self.text));
            }
            sum_mm += quantity * unit.mm();
            units.push(unit);
        }
        let first = units.first().copied().ok_or_else(|| unreadable(self.text))?;
        Ok((sum_mm, first))
    }

    /// A number: `6.5`, `3/8`, `6 1/2`, `6-1/2`.
    fn quantity(&mut self) -> Result<f64, LengthError> {
        let Some(Token::Number { value, .. }) = self.peek(0) else { return Err(unreadable(self.text)) };
        let value = *value;
        if self.peek(1) == Some(&Token::Slash) {
            return self.fraction();
        }
        let dash = usize::from(self.peek(1) == Some(&Token::Dash));
        let fraction_follows = self.whole(1 + dash).is_some() && self.peek(2 + dash) == Some(&Token::Slash);
        if self.whole(0).is_some() && fraction_follows {
            let (over, under) = (self.whole(1 + dash), self.whole(3 + dash));
            let proper = over.zip(under).is_some_and(|((over, _), (under, _))| over < under);
            if proper {
                self.at += 1 + dash;
                return Ok(value + self.fraction()?);
            }
            if dash == 0 {
                let name =
                    |part: Option<(f64, &str)>| part.map_or(String::new(), |(_, digits)| digits.to_owned());
                let fraction = format!("{}/{}", name(over), name(under));
                return Err(LengthError::BadFraction { text: self.text.to_owned(), fraction });
            }
        }
        self.at += 1;
        Ok(value)
    }

    /// `3/8`: a whole number over a whole number above nothing.
    fn fraction(&mut self) -> Result<f64, LengthError> {
        match (self.whole(0), self.whole(2)) {
            (Some((over, _)), Some((under, _))) if under > 0.0 => {
                let value = over / under;
                self.at += 3;
                Ok(value)
            }
            (Some((_, over)), Some((_, under))) => Err(LengthError::BadFraction {
                text: self.text.to_owned(),
                fraction: format!("{over}/{under}"),
            }),
            _ => Err(unreadable(self.text)),
        }
    }

    fn no_unit(&self, start: usize, negative: bool) -> LengthError {
        let mut number = String::from(if negative { "-" } else { "" });
        let mut after_number = false;
        for token in &self.tokens[start..] {
            let is_number = matches!(token, Token::Number { .. });
            if after_number && is_number {
                number.push(' ');
            }
            match token {
                Token::Number { digits, .. } => number.push_str(digits),
                Token::Slash => number.push('/'),
                Token::Dash => number.push('-'),
                Token::Unit(_) => {}
            }
            after_number = is_number;
        }
        LengthError::NoUnit { text: self.text.to_owned(), number }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mm(text: &str) -> f64 {
        parse(text, None).unwrap_or_else(|e| panic!("{text}: {e}")).0
    }

    #[test]
    fn lengths_as_people_type_them() {
        for (text, expected) in [
            ("6 1/2in", 165.1),
            ("6.5\"", 165.1),
            ("6 1/2 \"", 165.1),
            ("6½ in", 165.1),
            ("6-1/2 in.", 165.1),
            ("6 1⁄2 inches", 165.1),
            ("16,5cm", 165.0),
            ("165mm", 165.0),
            ("0,125 in", 3.175),
            ("3/8in", 9.525),
            (".5in", 12.7),
            ("1' 6\"", 457.2),
            ("1′6½″", 469.9),
            ("1 ft 6 in", 457.2),
            ("5'", 1524.0),
            ("1 yd", 914.4),
            ("1.2 m", 1200.0),
            ("-3mm", -3.0),
            ("− 1/2 in", -12.7),
            ("+3 MM", 3.0),
            ("3.5oz", 3.5 * 0.396_875),
            ("3-4 oz", 3.5 * 0.396_875),
            ("3 1/2 oz", 3.5 * 0.396_875),
            ("3-1/2 oz", 3.5 * 0.396_875),
            ("2 1/2-3 oz", 2.75 * 0.396_875),
        ] {
            assert!((mm(text) - expected).abs() < 1e-9, "{text} is {expected} mm, not {}", mm(text));
        }
    }

    #[test]
    fn what_is_no_length_is_told_with_the_right_form() {
        for (text, told) in [
            ("", "165mm"),
            ("-3", "-3mm"),
            ("6 1/2", "6 1/2in"),
            ("1' 6", "6in"),
            ("6 mn", "`mn` is not a unit"),
            ("6 1/0in", "1/0"),
            ("6 5/4in", "5/4"),
            ("1,250mm", "1250 or as 1.2"),
            ("1 000 mm", "does not read"),
            ("1.2.3mm", "does not read"),
            ("3-4 in", "range"),
            ("6in 1ft", "does not read"),
            ("in", "does not read"),
            ("-", "does not read"),
            ("--3mm", "does not read"),
            ("6/in", "does not read"),
            ("900m", "more than 100 m"),
            ("99999999999999999999999999999999999999999999mm", "more than 100 m"),
            ("3%", "does not read"),
        ] {
            let error = parse(text, None).expect_err(text).to_string();
            assert!(error.contains(told), "{text}: {error}");
            assert!(text.is_empty() || error.contains(text), "the text is named: {error}");
        }
    }

    #[test]
    fn a_plain_number_takes_the_callers_unit() {
        assert_eq!(parse("12", Some(Unit::Centimetre)).unwrap(), (120.0, Unit::Centimetre));
        assert_eq!(parse("12mm", Some(Unit::Centimetre)).unwrap(), (12.0, Unit::Millimetre));
        assert!(parse("1' 6", Some(Unit::Centimetre)).is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig { rng_seed: proptest::test_runner::RngSeed::Fixed(1), ..ProptestConfig::default() })]

        #[test]
        fn no_text_makes_it_panic(text in "\\PC{0,16}") {
            let _ = parse(&text, None);
        }

        #[test]
        fn words_of_lengths_never_panic(text in "[-0-9 /.,'\"½mcinftoz]{0,12}") {
            let _ = parse(&text, Some(Unit::Inch));
        }

        #[test]
        fn what_is_shown_reads_back(value in -5000.0..5000.0f64) {
            for (unit, step) in [
                (Unit::Millimetre, 0.1), (Unit::Centimetre, 0.1), (Unit::Metre, 1.0),
                (Unit::Inch, 25.4 / 16.0), (Unit::LeatherOunce, 0.01 * 0.396_875),
            ] {
                let back = mm(&unit.show(value));
                prop_assert!((back - value).abs() <= 0.5 * step + 1e-9, "{} for {value}", unit.show(value));
            }
        }

        #[test]
        fn mixed_numbers_add_up(whole in 0u32..200, over in 1u32..64, extra in 1u32..64) {
            let under = over + extra;
            let expected = 25.4 * (f64::from(whole) + f64::from(over) / f64::from(under));
            let text = format!("{whole} {over}/{under}in");
            prop_assert!((mm(&text) - expected).abs() < 1e-9);
        }
    }
}
