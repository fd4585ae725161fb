//! Numbers as the standard writes them: sign, digits, point, digits; blanks anywhere (NISTIR 6556
//! section 3.3.2.1); no exponent.

/// What was found where a number should be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Number {
    /// A value and the position after its last character.
    Read { value: f64, end: usize, digits: usize, plain: bool },
    /// No digit before this position.
    Missing { at: usize },
}

/// Powers of ten that are exact in f64.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
    1e21, 1e22,
];

pub(crate) fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t')
}

/// Reads the number that starts at `from`, rounded to the nearest f64.
pub(crate) fn read(text: &[u8], from: usize) -> Number {
    let mut at = from;
    let mut end = from;
    let (mut negative, mut signed, mut point) = (false, false, false);
    let (mut mantissa, mut digits, mut decimals) = (0_u64, 0, 0);
    while let Some(&byte) = text.get(at) {
        match byte {
            _ if is_blank(byte) => {
                at += 1;
                continue;
            }
            b'+' | b'-' if !signed && digits == 0 && !point => {
                signed = true;
                negative = byte == b'-';
            }
            b'.' if !point => point = true,
            b'0'..=b'9' => {
                mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(byte - b'0'));
                digits += 1;
                decimals += usize::from(point);
            }
            _ => break,
        }
        at += 1;
        end = at;
    }
    if digits == 0 {
        return Number::Missing { at };
    }
    // Below 2^53 both mantissa and power are exact, so one division rounds correctly.
    let value = match TENS.get(decimals) {
        Some(power) if digits <= 15 => mantissa as f64 / power,
        _ => read_slowly(&text[from..end]),
    };
    Number::Read { value: if negative { -value } else { value }, end, digits, plain: !signed && !point }
}

/// A number of any length, without its sign.
fn read_slowly(text: &[u8]) -> f64 {
    let plain: String =
        text.iter().filter(|byte| byte.is_ascii_digit() || **byte == b'.').map(|&byte| char::from(byte)).collect();
    // Digits with at most one point, at least one digit: always a number; too long a one is infinite.
    plain.parse().unwrap_or(f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str) -> Option<f64> {
        match read(text.as_bytes(), 0) {
            Number::Read { value, end, .. } if end == text.trim_end().len() => Some(value),
            _ => None,
        }
    }

    #[test]
    fn forms_of_a_number() {
        for (text, expected) in [
            ("5", 5.0),
            ("+5.", 5.0),
            ("-.5", -0.5),
            ("0012.3400", 12.34),
            (" - 1 2 . 3 4 ", -12.34),
            ("0.1", 0.1),
            ("123456789.123456789", 123_456_789.123_456_79),
            ("0.000000000000000000000000000000000000001", 1e-39),
        ] {
            assert_eq!(value(text), Some(expected), "{text}");
        }
    }

    #[test]
    fn what_is_no_number() {
        for text in ["", "-", ".", "+.", "--1", "NaN", "1e5", "1.2.3", "1-2"] {
            assert_eq!(value(text), None, "{text}");
        }
    }

    #[test]
    fn four_hundred_digits_are_infinite_and_no_panic() {
        assert_eq!(value(&"9".repeat(400)), Some(f64::INFINITY));
    }
}
