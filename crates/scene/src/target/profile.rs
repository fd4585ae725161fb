//! Profiles: rows of station, radius.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use dryturn_geom::units::LengthUnit;

use crate::error::{LineRemark, SceneError, Severity};

/// Largest profile file, bytes.
const LIMIT: u64 = 16 << 20;
/// Greatest number in a profile, mm: 100 m.
const GREATEST: f64 = 1e5;

/// The rows of a profile in mm. Lines that begin with `#` and one heading are passed over.
pub(super) fn rows(path: &Path, units: LengthUnit) -> Result<Vec<[f64; 2]>, SceneError> {
    let name = path.display().to_string();
    let cannot_read = |source| SceneError::Read { path: name.clone(), source };
    let mut bytes = Vec::new();
    File::open(path).map_err(cannot_read)?.take(LIMIT + 1).read_to_end(&mut bytes).map_err(cannot_read)?;
    if bytes.len() as u64 > LIMIT {
        return Err(SceneError::TooLarge { message: format!("{name} is larger than 16 MiB, too large for a profile") });
    }
    let text = String::from_utf8_lossy(&bytes);
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let (mut rows, mut remarks): (Vec<[f64; 2]>, Vec<LineRemark>) = (Vec::new(), Vec::new());
    for (index, record) in reader.records().enumerate() {
        let record = record.map_err(|error| whole(&name, error.to_string()))?;
        let line = record.position().map_or(0, |place| place.line() as usize);
        let mut refuse = |message: &str| remarks.push(remark(&name, line, text, message));
        match row(&record, units) {
            Ok(row) if rows.last().is_none_or(|before| before[0] <= row[0]) => rows.push(row),
            Ok(_) => refuse("the station is behind that of the row before"),
            // A heading has no number in its first field.
            Err(_) if index == 0 && record.get(0).is_some_and(|field| field.parse::<f64>().is_err()) => {}
            Err(message) => refuse(message),
        }
    }
    if !remarks.is_empty() {
        return Err(SceneError::lines(remarks));
    }
    let is_solid = rows.windows(2).any(|pair| pair[0][0] < pair[1][0] && pair[0][1].max(pair[1][1]) > 0.0);
    if !is_solid {
        return Err(whole(&name, "the profile encloses nothing".to_owned()));
    }
    Ok(rows)
}

const HELP: &str =
    "a profile is a CSV file of station, radius, the stations rising; the same station twice is a shoulder";

fn whole(path: &str, message: String) -> SceneError {
    SceneError::File { path: path.to_owned(), message, help: HELP.to_owned() }
}

fn row(record: &csv::StringRecord, units: LengthUnit) -> Result<[f64; 2], &'static str> {
    let numbers: Vec<Option<f64>> = record.iter().map(|field| field.parse().ok()).collect();
    let [Some(station), Some(radius)] = numbers[..] else { return Err("this is not a station and a radius") };
    let [station, radius] = [station, radius].map(|number| number * units.in_mm());
    if !(station.abs() <= GREATEST && radius.abs() <= GREATEST) {
        return Err("a number is not within 100 m");
    }
    if radius < 0.0 {
        return Err("the radius is below zero");
    }
    Ok([station, radius])
}

fn remark(path: &str, line: usize, text: &str, message: &str) -> LineRemark {
    let text = text.lines().nth(line.saturating_sub(1)).unwrap_or_default();
    LineRemark {
        path: path.to_owned(),
        line,
        text: text.to_owned(),
        span: 0..text.len(),
        message: message.to_owned(),
        label: String::new(),
        help: Some(HELP.to_owned()),
        severity: Severity::Error,
    }
}
