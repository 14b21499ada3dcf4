//! How much room words take: widths of letters from a table, lines broken between words.
//!
//! The table is that of a wide sans-serif face, so that narrower ones stay inside. Heights are those of capital
//! letters, as ISO 3098 counts them.

/// Capital letters are this share of the font size, in the usual sans-serif faces.
const CAPITALS: f64 = 0.72;

/// From base line to base line, in heights of the letters.
pub const LINE_PITCH: f64 = 1.8;

/// What stands above and below the base line, in heights of the letters.
pub(super) const RISE: f64 = 1.1;
pub(super) const FALL: f64 = 0.35;

/// Font size in mm of letters whose capitals are so high.
#[must_use]
pub fn font_size_mm(height_mm: f64) -> f64 {
    height_mm / CAPITALS
}

/// Width in mm of a line of text.
pub(super) fn width_mm(text: &str, height_mm: f64) -> f64 {
    text.chars().map(letter).sum::<f64>() * font_size_mm(height_mm)
}

/// Width of a letter in font sizes.
const fn letter(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | '|' | '\'' => 0.30,
        ' ' | '.' | ',' | ':' | ';' | '!' | 'I' => 0.34,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '/' | '-' | '"' => 0.42,
        'J' | 's' | 'c' | 'k' | 'v' | 'x' | 'y' | 'z' => 0.56,
        'a'..='l' | 'n'..='v' | '0'..='9' | '\u{2212}' => 0.64,
        'M' | 'W' | 'm' | 'w' | '%' | '@' | '\u{2014}' => 0.98,
        'A'..='Z' => 0.76,
        '\0'..='\u{24f}' => 0.68,
        // Scripts that this table does not know: full width.
        _ => 1.05,
    }
}

/// The words of a text, a number together with the unit after it, or what else is as short.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let is_unit = word.chars().count() <= 4 && !word.starts_with(|c: char| c.is_ascii_digit());
        match words.last_mut() {
            Some(number) if is_unit && number.ends_with(|c: char| c.is_ascii_digit()) => {
                number.push(' ');
                number.push_str(word);
            }
            _ => words.push(word.to_string()),
        }
    }
    words
}

/// Width in mm of the widest word of a text.
pub(super) fn widest_word_mm(text: &str, height_mm: f64) -> f64 {
    words(text).iter().map(|word| width_mm(word, height_mm)).fold(0.0, f64::max)
}

/// Breaks a text into lines no wider than `room_mm`: between words, or within a word that is wider by itself. Control
/// characters become spaces.
pub(super) fn wrap(text: &str, height_mm: f64, room_mm: Option<f64>) -> Vec<String> {
    let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let Some(room_mm) = room_mm else { return vec![plain] };
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in words(&plain) {
        let mut with = line.clone();
        if !with.is_empty() {
            with.push(' ');
        }
        with.push_str(&word);
        if width_mm(&with, height_mm) <= room_mm {
            line = with;
            continue;
        }
        if !line.is_empty() {
            lines.push(core::mem::take(&mut line));
        }
        for letter in word.chars() {
            line.push(letter);
            if width_mm(&line, height_mm) > room_mm && line.chars().nth(1).is_some() {
                line.pop();
                lines.push(core::mem::replace(&mut line, letter.to_string()));
            }
        }
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_broken_between_words_and_within_long_ones() {
        let room = width_mm("a paper sack", 5.0);
        assert_eq!(wrap("a paper sack of two plies", 5.0, Some(room)), ["a paper sack", "of two plies"]);
        let long = "x".repeat(200);
        let lines = wrap(&long, 5.0, Some(room));
        assert!(lines.iter().all(|line| width_mm(line, 5.0) <= room));
        assert_eq!(lines.concat(), long);
        assert_eq!(wrap("a paper 10 mm", 5.0, Some(width_mm("a paper 10", 5.0))), ["a paper", "10 mm"]);
        assert_eq!(wrap("one\nline", 5.0, None), ["one line"]);
        assert_eq!(wrap("", 5.0, Some(room)), [""]);
    }
}
