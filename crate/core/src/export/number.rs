//! Numbers in written files.

/// Adds a number with at most three decimals. Drawings have many: written from integers, they need no general formatting
/// of floating point.
pub(super) fn push_number(out: &mut String, value: f64) {
    // Sheets reach some metres: far inside of i64.
    #[allow(clippy::cast_possible_truncation)]
    let thousandths = (value * 1000.0).round() as i64;
    if thousandths < 0 {
        out.push('-');
    }
    let size = thousandths.unsigned_abs();
    out.push_str(&(size / 1000).to_string());
    let mut rest = size % 1000;
    if rest == 0 {
        return;
    }
    out.push('.');
    let mut place = 100;
    while rest > 0 {
        // A digit.
        out.push(char::from(b'0' + (rest / place) as u8));
        rest %= place;
        place /= 10;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_three_decimals_at_most() {
        let written = |value: f64| {
            let mut text = String::new();
            push_number(&mut text, value);
            text
        };
        assert_eq!(written(0.0), "0");
        assert_eq!(written(-0.0001), "0");
        assert_eq!(written(-12.5), "-12.5");
        assert_eq!(written(1.0604), "1.06");
        assert_eq!(written(1234.005), "1234.005");
        assert_eq!(written(0.999_9), "1");
    }
}
