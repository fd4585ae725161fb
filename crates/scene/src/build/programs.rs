//! `[zero]`, `[[program]]` and what is compared, gridded and doubted.

use std::path::PathBuf;

use dryturn_geom::units::LengthUnit;

use super::files::Files;
use crate::model::{
    Batch, Blank, BlankShape, Cutter, Doubt, Grid, Parts, ProgramEntry, Slip, Target, ZeroHeight, ZeroKeys, Zeros,
};
use crate::read::{Bound, Item, Table};

/// The words of the nine systems, G54 first.
const SYSTEMS: [&str; 9] = ["g54", "g55", "g56", "g57", "g58", "g59", "g59.1", "g59.2", "g59.3"];

pub(super) fn scene_zeros(root: &Table<'_>, blank: &Blank) -> Zeros {
    let table = root.table("zero", "zero");
    let mut zeros = zeros(&table, blank);
    let g54 = &mut zeros.systems[0];
    let axis = ZeroKeys { x: Some(0.0), y: Some(0.0), z: Some(ZeroHeight::Axis), a_deg: Some(0.0) };
    *g54 = g54.over(axis);
    let assume = |key: &str, value: &str, because: &str| {
        if !table.has(key) {
            table.cx().assume(table.path_of(key), value.to_owned(), because);
        }
    };
    assume("x", "0", "program X0 at the jaw face");
    assume("y", "0", "program Y0 over the axis");
    assume("z", "\"axis\"", "program Z0 on the rotary axis, as is usual for wrapped work (common practice)");
    assume("a", "0", "the blank as it stands at A0");
    zeros
}

fn zeros(table: &Table<'_>, blank: &Blank) -> Zeros {
    let mut zeros = Zeros::default();
    zeros.systems[0] = zero_keys(table, blank);
    let g59 = table.table("g59", "zero.g59");
    for (system, word) in SYSTEMS.iter().enumerate().skip(1) {
        // Unquoted, [zero.g59.1] is a table 1 within g59.
        let nested = word.strip_prefix("g59.").map(|number| g59.table(number, "zero.system"));
        let schema = if *word == "g59" { "zero.g59" } else { "zero.system" };
        let keys = [Some(table.table(word, schema)), nested].into_iter().flatten().find(Table::is_given);
        if let Some(keys) = keys {
            zeros.systems[system] = zero_keys(&keys, blank);
        }
    }
    zeros
}

fn zero_keys(table: &Table<'_>, blank: &Blank) -> ZeroKeys {
    ZeroKeys {
        x: table.length("x", Bound::Any),
        y: table.length("y", Bound::Any),
        z: table.get("z").and_then(|item| zero_height(&item, blank)),
        a_deg: table.number("a", Bound::Any),
    }
}

fn zero_height(item: &Item<'_>, blank: &Blank) -> Option<ZeroHeight> {
    if item.value().is_table() {
        return special_height(item, blank);
    }
    match item.value().as_str() {
        Some("axis") => Some(ZeroHeight::Axis),
        Some("surface") => Some(ZeroHeight::Surface),
        Some(word) if !word.chars().any(|c| c.is_ascii_digit()) => {
            let help = "write \"axis\", \"surface\", a height over the axis, { flat = true } or { touch = { station = 100, a = 0 } }";
            item.problem(format!("`{}` cannot be \"{word}\"", item.path()), Some(help.into()));
            None
        }
        _ => item.length(Bound::Any).map(ZeroHeight::Height),
    }
}

fn special_height(item: &Item<'_>, blank: &Blank) -> Option<ZeroHeight> {
    let table = item.table("zero.z")?;
    if table.has("touch") {
        return touch(&table);
    }
    if table.flag("flat") != Some(true) {
        item.problem(
            format!("`{}` takes {{ flat = true }} or {{ touch = {{ station = 100, a = 0 }} }}", item.path()),
            None,
        );
        return None;
    }
    if blank.is_round() || blank.is_solid() {
        item.problem("this blank has no flat".into(), Some("write z = \"surface\"".into()));
        return None;
    }
    Some(ZeroHeight::Flat)
}

fn touch(zero: &Table<'_>) -> Option<ZeroHeight> {
    let table = zero.table("touch", "zero.z.touch");
    let station = table.needed_length("station", Bound::Any, "where it is touched off, for example station = 100");
    Some(ZeroHeight::Touch { station, a_deg: table.number("a", Bound::Any).unwrap_or(0.0) })
}

/// Most programs of a scene.
const MOST: usize = 1000;

pub(super) fn programs(root: &Table<'_>, blank: &Blank, cutters: &[Cutter], files: &Files<'_>) -> Vec<ProgramEntry> {
    if !root.has("program") {
        root.missing("program", "for example program = [{ file = \"part.nc\" }]");
    }
    let tables = root.tables("program", "program[]");
    if tables.is_empty() && root.has("program") {
        root.problem("program", "a scene needs at least one program".into(), None);
    }
    if tables.len() > MOST {
        root.problem("program", format!("there are more than {MOST} programs"), None);
        return Vec::new();
    }
    let mut programs: Vec<ProgramEntry> =
        tables.iter().filter_map(|table| program(table, blank, cutters, files)).collect();
    let first = tables.first().filter(|table| !table.has("cutter")).zip(programs.first_mut());
    if let (Some((table, program)), Some(cutter)) = (first, cutters.first()) {
        let because = "in the spindle at the start, until the program calls another";
        table.cx().assume(table.path_of("cutter"), cutter.number.to_string(), because);
        program.cutter = Some(cutter.number);
    }
    programs
}

fn program(table: &Table<'_>, blank: &Blank, cutters: &[Cutter], files: &Files<'_>) -> Option<ProgramEntry> {
    let cutter = table.count("cutter", 0, 65_534).map(|number| number as u32);
    // Where no cutter could be read, that is told already.
    let is_missing = |number: &u32| *number != 0 && cutters.iter().all(|known| known.number != *number);
    if let Some(number) = cutter.filter(is_missing).filter(|_| !cutters.is_empty()) {
        let known = cutters.iter().map(|cutter| cutter.number.to_string()).collect::<Vec<_>>().join(", ");
        table.problem("cutter", format!("there is no cutter {number}"), Some(format!("the scene has cutter {known}")));
    }
    let zeros = zeros(&table.table("zero", "zero"), blank);
    let slip = table.table("slip", "program[].slip");
    let length = |key: &str| slip.length(key, Bound::Any).unwrap_or(0.0);
    let slip =
        Slip { x: length("x"), y: length("y"), z: length("z"), a_deg: slip.number("a", Bound::Any).unwrap_or(0.0) };
    let parts = table.table("parts", "program[].parts");
    let parts = parts.is_given().then(|| Parts { min_tab: parts.length("min_tab", Bound::NotNegative) });
    let indexed = table.flag("indexed").unwrap_or(false);
    let Some(item) = table.get("file") else {
        table.missing("file", "file = \"part.nc\"");
        return None;
    };
    let path = files.program(&item)?;
    let file = item.text()?.to_owned();
    Some(ProgramEntry { file, path, cutter, zeros, slip, indexed, parts })
}

pub(super) fn target(root: &Table<'_>, programs: usize, files: &Files<'_>) -> Option<Target> {
    let table = root.table("target", "target");
    if !table.is_given() {
        return None;
    }
    let units = [("mm", LengthUnit::Millimetre), ("inch", LengthUnit::Inch)];
    let place = table.table("place", "target.place");
    let tolerance = |key: &str, default: f64| {
        let value = table.length(key, Bound::NotNegative);
        table.or(key, value, default, &format!("\"{default} mm\""), "the usual tolerance of this tool")
    };
    let (gouge, leftover) = (tolerance("gouge", 0.05), tolerance("leftover", 0.3));
    let path: Option<PathBuf> = match table.get("file") {
        Some(item) => files.path(&item),
        None => {
            table.missing("file", "file = \"part.stl\"");
            None
        }
    };
    Some(Target {
        file: files.written(&table.get("file")?)?,
        path: path?,
        units: table.choice("units", &units),
        place_x: place.length("x", Bound::Any).unwrap_or(0.0),
        place_a_deg: place.number("a", Bound::Any).unwrap_or(0.0),
        place_axis: place.choice("axis", &[("x", 0), ("y", 1), ("z", 2)]).unwrap_or(0),
        place_flip: place.flag("flip").unwrap_or(false),
        span: table.span_of_lengths("span", Bound::Any),
        after: table.count("after", 1, programs.max(1) as u64).map(|number| number as u32),
        gouge,
        leftover,
        allowance: table.length("allowance", Bound::NotNegative).unwrap_or(0.0),
    })
}

/// Storage a ray takes in the grid while it holds one span, bytes: two ends, the block that made
/// each, and where further spans are.
const RAY_BYTES: f64 = 20.0;
/// What the default pitch keeps the grid under, bytes.
const DEFAULT_LIMIT: f64 = (1u64 << 30) as f64;

pub(super) fn grid(root: &Table<'_>, blank: &Blank) -> Grid {
    let table = root.table("grid", "grid");
    if let Some(pitch) = table.length("pitch", Bound::Within(0.01, 100.0)) {
        return Grid { pitch };
    }
    if let BlankShape::Kept(kept) = &blank.shape {
        let because = "the pitch that the blank was carved at";
        let pitch = kept.pitch;
        return Grid { pitch: table.or("pitch", None, pitch, &format!("\"{pitch} mm\""), because) };
    }
    let pitch = default_pitch(blank);
    Grid {
        pitch: table.or(
            "pitch",
            None,
            pitch,
            &format!("\"{pitch} mm\""),
            "the diameter over 250, within 0.1 to 0.5 mm",
        ),
    }
}

fn default_pitch(blank: &Blank) -> f64 {
    let stock = blank.stock(0.0);
    let rays = stock.length * std::f64::consts::TAU * stock.swept_radius();
    let fine = (2.0 * stock.corner_radius() / 250.0).clamp(0.1, 0.5);
    let fitting = (rays * RAY_BYTES / DEFAULT_LIMIT).sqrt();
    // Whole micrometres, so that the number can be written and read back.
    (fine.max(fitting) * 1000.0).ceil() / 1000.0
}

/// Most pieces of a batch.
const MOST_PIECES: u64 = 100_000;

pub(super) fn batch(root: &Table<'_>) -> Option<Batch> {
    let table = root.table("batch", "batch");
    if !table.is_given() {
        return None;
    }
    let pieces = table.count("pieces", 1, MOST_PIECES);
    if pieces.is_none() && !table.has("pieces") {
        table.missing("pieces", "how many pieces are cut, for example pieces = 10");
    }
    let loading_seconds = table.number("loading", Bound::NotNegative);
    Some(Batch { pieces: pieces.unwrap_or(1) as u32, loading_seconds })
}

pub(super) fn doubt(root: &Table<'_>) -> Option<Doubt> {
    let table = root.table("doubt", "doubt");
    let length = |key: &str| table.length(key, Bound::NotNegative).unwrap_or(0.0);
    table.is_given().then(|| Doubt {
        x: length("x"),
        y: length("y"),
        z: length("z"),
        a_deg: table.number("a", Bound::NotNegative).unwrap_or(0.0),
        runout: length("runout"),
    })
}
