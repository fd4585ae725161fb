//! Lengths as people write them: `64`, `2.25 in`, `2 1/4 in`, `1/8"`, `300 mm`.

/// The unit of a number that does not carry its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetres.
    Millimetre,
    /// Inches of 25.4 mm.
    Inch,
}

impl LengthUnit {
    /// Millimetres in one of the unit.
    pub fn in_mm(self) -> f64 {
        match self {
            LengthUnit::Millimetre => 1.0,
            LengthUnit::Inch => 25.4,
        }
    }
}

/// Why a text is not a length.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UnitsError {
    /// No number was found where one must stand.
    #[error("`{0}` is not a number; write for example 64, 2.25 or 2 1/4")]
    Number(String),
    /// The unit is not known.
    #[error("`{0}` is not a unit of length; use mm, cm, m, in, inch or \"")]
    Unit(String),
    /// A fraction divides by zero.
    #[error("the fraction `{0}` divides by zero")]
    Fraction(String),
    /// A comma stands where a decimal point must.
    #[error("`{0}` holds a comma; decimals are written with a point")]
    Comma(String),
}

/// Reads a length, or a rate in lengths a minute, as mm; `default` is the unit of a text that names none.
///
/// # Errors
/// [`UnitsError`] says which part of the text could not be read.
pub fn millimetres(text: &str, default: LengthUnit) -> Result<f64, UnitsError> {
    let trimmed = text.trim();
    if trimmed.contains(',') {
        return Err(UnitsError::Comma(trimmed.to_owned()));
    }
    let amount = trimmed.strip_suffix("/min").map_or(trimmed, str::trim_end);
    let unit_at = amount.find(|c: char| c.is_alphabetic() || c == '"' || c == '″').unwrap_or(amount.len());
    let (number, unit) = amount.split_at(unit_at);
    let factor = match unit.trim() {
        "" => default.in_mm(),
        "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "in" | "inch" | "inches" | "\"" | "″" => 25.4,
        other => return Err(UnitsError::Unit(other.to_owned())),
    };
    Ok(mixed_number(number)? * factor)
}

/// Reads `2`, `2.5`, `1/4`, `2 1/4` or `2-1/4`.
fn mixed_number(text: &str) -> Result<f64, UnitsError> {
    let unreadable = || UnitsError::Number(text.trim().to_owned());
    let (negative, body) = match text.trim().strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text.trim()),
    };
    if body.starts_with('-') {
        return Err(unreadable());
    }
    let mut total = 0.0;
    let mut parts = body.split(|c: char| c.is_whitespace() || c == '-').filter(|p| !p.is_empty());
    let first = parts.next().ok_or_else(unreadable)?;
    total += simple_number(first).ok_or_else(unreadable)??;
    if let Some(fraction) = parts.next() {
        if first.contains(['/', '.']) || !fraction.contains('/') || parts.next().is_some() {
            return Err(unreadable());
        }
        total += simple_number(fraction).ok_or_else(unreadable)??;
    }
    Ok(if negative { -total } else { total })
}

fn simple_number(text: &str) -> Option<Result<f64, UnitsError>> {
    let plain = |t: &str| {
        let looks_plain = !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b'+');
        looks_plain.then(|| t.parse::<f64>().ok().filter(|v| v.is_finite())).flatten()
    };
    let Some((above, below)) = text.split_once('/') else { return plain(text).map(Ok) };
    let (above, below) = (plain(above)?, plain(below)?);
    if below == 0.0 {
        return Some(Err(UnitsError::Fraction(text.to_owned())));
    }
    Some(Ok(above / below))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<f64, UnitsError> {
        millimetres(text, LengthUnit::Millimetre)
    }

    #[test]
    fn lengths_as_people_write_them() {
        for (text, mm) in [
            ("64", 64.0),
            ("64 mm", 64.0),
            ("64mm", 64.0),
            ("2 1/4 in", 57.15),
            ("2-1/4 in", 57.15),
            ("1/8\"", 3.175),
            ("2.25 inch", 57.15),
            ("-1/2 in", -12.7),
            ("30 cm", 300.0),
            ("100 in/min", 2540.0),
            (".5 in", 12.7),
        ] {
            let value = read(text).unwrap();
            assert!((value - mm).abs() < 1e-9, "{text}: {value}");
        }
        assert!((millimetres("2 1/4", LengthUnit::Inch).unwrap() - 57.15).abs() < 1e-9);
    }

    #[test]
    fn what_is_no_length_is_named() {
        assert_eq!(read("2,5"), Err(UnitsError::Comma("2,5".into())));
        assert_eq!(read("5 feet"), Err(UnitsError::Unit("feet".into())));
        assert_eq!(read("1/0 in"), Err(UnitsError::Fraction("1/0".into())));
        for text in ["", "mm", "1 2 in", "1/2 1/4 in", "nan", "1e9", "1 2/3 4/5", "--2"] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}
