//! The table of runs in `DEVELOPERS.md`: a row a run, between two comments.

use std::path::Path;
use std::process::Command;
use std::time::{SystemTime, UNIX_EPOCH};

use crate::reference::compare::Summary;
use crate::reference::walks::{FAMILIES, Family};

/// Rows are added above this line.
const END: &str = "<!-- exactness: end -->";

/// What was asked for.
pub(crate) struct Run {
    pub(crate) seed: u16,
    /// Whether by whole carves.
    pub(crate) carved: bool,
}

/// Adds the row of a run.
pub(crate) fn add(run: &Run, found: &[(Family, Summary)]) -> Result<(), String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../DEVELOPERS.md");
    let text = std::fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
    let (before, after) = text.split_once(END).ok_or(format!("{}: no line {END}", path.display()))?;
    let row = row(run, found)?;
    std::fs::write(&path, format!("{before}{row}\n{END}{after}"))
        .map_err(|error| format!("{}: {error}", path.display()))
}

fn row(run: &Run, found: &[(Family, Summary)]) -> Result<String, String> {
    let worst = |family: Family| {
        let of_family = found.iter().find(|(other, _)| *other == family);
        of_family.map_or("–".to_owned(), |(_, summary)| format!("{:.3}", 1e3 * summary.worst))
    };
    let sum = |of: fn(&Summary) -> u64| found.iter().map(|(_, summary)| of(summary)).sum::<u64>().to_string();
    let counted: [fn(&Summary) -> u64; 4] =
        [|summary| summary.grazing, |summary| summary.off, |summary| summary.wrong, |summary| summary.undecided];
    let rays = found.iter().map(|(_, summary)| summary.rays).max().unwrap_or(0);
    let asked = if run.carved { "carves" } else { "single" };
    let start = [today()?, commit()?, asked.to_owned(), run.seed.to_string(), rays.to_string()];
    let cells: Vec<String> = start.into_iter().chain(FAMILIES.map(worst)).chain(counted.map(sum)).collect();
    Ok(format!("| {} |", cells.join(" | ")))
}

/// The commit at hand, with a + if the crate differs from it.
fn commit() -> Result<String, String> {
    let git = |arguments: &[&str]| {
        let run = Command::new("git").args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).output();
        let output = run.map_err(|error| format!("git: {error}"))?;
        Ok::<String, String>(String::from_utf8_lossy(&output.stdout).trim().to_owned())
    };
    let changed = !git(&["status", "--porcelain", "--", "src", "../geom/src"])?.is_empty();
    Ok(git(&["rev-parse", "--short", "HEAD"])? + if changed { "+" } else { "" })
}

/// The date of today, year-month-day, UTC.
fn today() -> Result<String, String> {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).map_err(|error| error.to_string())?;
    let mut days = since.as_secs() / 86_400;
    let leap = |year: u64| year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let mut year = 1970;
    while days >= 365 + u64::from(leap(year)) {
        days -= 365 + u64::from(leap(year));
        year += 1;
    }
    let months = [31, 28 + u64::from(leap(year)), 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let mut month = 0;
    while days >= months[month] {
        days -= months[month];
        month += 1;
    }
    Ok(format!("{year}-{:02}-{:02}", month + 1, days + 1))
}
