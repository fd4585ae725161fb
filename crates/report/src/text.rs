//! Text from files and people, made safe to show.

/// The text without anything that could steer a terminal or reorder what is read.
///
/// A tab becomes a blank. Control characters, line separators, marks that change the direction of writing and other
/// invisible characters become their code point, for example `\u{1b}`.
pub fn plain(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\t' => shown.push(' '),
            character if hides(character) => shown.extend(character.escape_unicode()),
            character => shown.push(character),
        }
    }
    shown
}

/// Whether a character shows nothing itself but changes what is around it.
fn hides(character: char) -> bool {
    character.is_control()
        || matches!(character,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// The text cut to a number of characters, with an ellipsis where something is missing.
pub fn cut(text: &str, characters: usize) -> String {
    match text.char_indices().nth(characters) {
        None => text.to_owned(),
        Some(_) if characters == 0 => String::new(),
        Some(_) => text.chars().take(characters - 1).chain(['…']).collect(),
    }
}

/// The text broken at blanks (not at those that bind) into lines of at most so many characters; a longer word is broken where it must.
pub fn wrapped(text: &str, characters: usize) -> Vec<String> {
    let characters = characters.max(1);
    let mut lines = vec![String::new()];
    let mut room = characters;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let length = word.chars().count();
        let blank = usize::from(room < characters);
        if blank == 1 && length + 1 > room {
            lines.push(String::new());
            room = characters;
        }
        let blank = usize::from(room < characters);
        for (index, character) in std::iter::repeat_n(' ', blank).chain(word.chars()).enumerate() {
            if room == 0 && index > 0 {
                lines.push(String::new());
                room = characters;
            }
            if let Some(line) = lines.last_mut() {
                line.push(character);
            }
            room -= 1;
        }
    }
    lines
}

/// A number with a fixed count of decimals, a true minus sign, no minus zero, and thin groups of three before the point.
pub fn number(value: f64, decimals: usize) -> String {
    let digits = format!("{:.decimals$}", value.abs());
    let zero = !digits.bytes().any(|byte| (b'1'..=b'9').contains(&byte));
    let (whole, rest) = digits.split_at(digits.find('.').unwrap_or(digits.len()));
    let mut text = String::from(if value < 0.0 && !zero { "−" } else { "" });
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) && whole.len() > 4 {
            text.push('\u{a0}');
        }
        text.push(digit);
    }
    text + rest
}

/// A number with so many decimals at most.
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = number(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A number with three decimals at most.
pub(crate) fn short(value: f64) -> String {
    trimmed(value, 3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_steers_a_terminal_is_spelled_out() {
        assert_eq!(plain("a\u{1b}[31mred"), "a\\u{1b}[31mred");
        assert_eq!(plain("x\r\ny\tz"), "x\\u{d}\\u{a}y z");
        assert_eq!(plain("abc\u{202e}cba"), "abc\\u{202e}cba");
        assert_eq!(plain("⌀64 × 200, θ = 90°"), "⌀64 × 200, θ = 90°");
    }

    #[test]
    fn numbers_read_well() {
        assert_eq!(number(-0.0004, 3), "0.000");
        assert_eq!(number(-2.345, 2), "−2.35");
        assert_eq!(number(1234.5, 1), "1234.5");
        assert_eq!(number(113_097.3, 0), "113\u{a0}097");
        assert_eq!([0.0, 100.0, -2.5, 0.1 + 0.2].map(short), ["0", "100", "−2.5", "0.3"]);
        assert_eq!(number(1_234_567.0, 0), "1\u{a0}234\u{a0}567");
        assert_eq!([trimmed(100.0, 0), trimmed(-1.25, 3), trimmed(-0.0001, 3)], ["100", "−1.25", "0"]);
    }

    #[test]
    fn text_is_wrapped_at_blanks() {
        assert_eq!(wrapped("set the cutter out further", 11), ["set the", "cutter out", "further"]);
        assert_eq!(wrapped("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(wrapped("", 5), [""]);
        assert_eq!(cut("abcdef", 4), "abc…");
        assert_eq!(cut("abcd", 4), "abcd");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(10_000))]

        #[test]
        fn nothing_hidden_gets_through(text in any::<String>(), more in "[\\x00-\\x1f\\x7f-\\x9f\u{200b}-\u{206f}]{0,8}") {
            let shown = plain(&(text + &more));
            prop_assert!(!shown.chars().any(|c| c.is_control() || hides(c)));
            prop_assert_eq!(plain(&shown), shown.clone());
        }

        #[test]
        fn wrapping_keeps_the_words_and_the_width(text in "[a-z ]{0,80}", width in 1usize..20) {
            let lines = wrapped(&text, width);
            prop_assert!(lines.iter().all(|line| line.chars().count() <= width));
            let kept: String = lines.concat().split_whitespace().collect();
            prop_assert_eq!(kept, text.split_whitespace().collect::<String>());
        }
    }
}
