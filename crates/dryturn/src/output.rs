//! The files of a run.

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use dryturn_carve::{Carved, PREPARED, UNTOUCHED};
use dryturn_check::Proof;
use dryturn_geom::angle;
use dryturn_report::{
    BORE, Extents, Grid, JsonError, Map, MapError, MapFile, ProgramRun, Run, Setting, Stage, Values, Winding,
    WriteError, npy, picture,
};
use dryturn_scene::Job;

/// Why the files could not be made or written.
#[derive(Debug)]
pub(crate) enum OutputError {
    Map(MapError),
    Json(JsonError),
    Write(WriteError),
}

impl std::fmt::Display for OutputError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            OutputError::Map(error) => error.fmt(f),
            OutputError::Json(error) => error.fmt(f),
            OutputError::Write(error) => error.fmt(f),
        }
    }
}

impl From<MapError> for OutputError {
    fn from(error: MapError) -> Self {
        OutputError::Map(error)
    }
}

impl From<JsonError> for OutputError {
    fn from(error: JsonError) -> Self {
        OutputError::Json(error)
    }
}

impl From<WriteError> for OutputError {
    fn from(error: WriteError) -> Self {
        OutputError::Write(error)
    }
}

/// Writes the report, the maps and the resolved scene; all of it or nothing. Returns how many files there are.
pub(crate) fn write(
    folder: &Path,
    job: &Job,
    proof: &Proof,
    run: &Run,
    threads: usize,
    stages: &[Stage],
    interrupted: &AtomicBool,
) -> Result<usize, OutputError> {
    let mut files: Vec<(PathBuf, Vec<u8>)> = maps(job, proof)?;
    files.push(("scene.resolved.toml".into(), job.scene.resolved_toml().into_bytes()));
    files.push(("timings.json".into(), dryturn_report::timings(threads, stages)?.into_bytes()));
    files.push(("report.schema.json".into(), dryturn_report::schema().into_bytes()));
    // The report speaks for the others, so it is put in its place last.
    files.push(("report.json".into(), dryturn_report::report(run)?.into_bytes()));
    Ok(dryturn_report::write_all(folder, &files, interrupted)?.len())
}

/// Title of a scene: its own, or what it is called.
pub(crate) fn title(job: &Job) -> String {
    job.scene.title.clone().unwrap_or_else(|| job.scene.name.clone())
}

/// What the report is made from.
pub(crate) fn run_of(job: &Job, proof: &Proof) -> Run {
    let grid = proof.carved.grid();
    Run {
        title: title(job),
        verdict: proof.verdict,
        assumed: proof.assumed.clone(),
        not_checked: proof.not_checked.clone(),
        grid: Grid {
            station_first: grid.station_first,
            station_step: grid.station_step,
            stations: grid.stations,
            angle_step: angle::degrees(grid.angle_step),
            angles: grid.angles,
            bytes: grid.bytes(),
        },
        blank_mm3: proof.carved.blank_mm3(),
        removed_mm3: proof.programs.iter().map(|program| program.removed_mm3).sum(),
        left_mm3: proof.carved.left_mm3(),
        programs: programs(job, proof),
        findings: proof.findings.clone(),
        clearances: proof.clearances.clone(),
        target: None,
        maps: LAYERS.iter().map(|layer| layer.file()).collect(),
    }
}

fn programs(job: &Job, proof: &Proof) -> Vec<ProgramRun> {
    let rows = job.programs.iter().zip(&proof.programs);
    rows.map(|(run, summary)| ProgramRun {
        file: run.file.clone(),
        lines: u64::from(run.program.lines),
        blocks: u64::from(summary.moving),
        removed_mm3: summary.removed_mm3,
        time: None,
        extents: summary.extents.map(|[station_mm, y_mm, z_mm, turn_deg]| Extents { station_mm, y_mm, z_mm, turn_deg }),
        winding: summary.winding.map(|[start_deg, end_deg]| Winding {
            start_deg,
            end_deg,
            turns: (end_deg - start_deg) / 360.0,
        }),
    })
    .collect()
}

/// One map of the piece: names, unit, and how a ray's value is found.
struct Layer {
    name: &'static str,
    title: &'static str,
    unit: &'static str,
    of: Of,
}

enum Of {
    Measure(fn(&Carved, usize, usize) -> f32),
    /// Line of the block that cut last.
    Line,
    /// Number (from 1) of the program that cut last.
    Program,
    /// Number of the cutter that cut last.
    Cutter,
}

const LAYERS: [Layer; 5] = [
    Layer {
        name: "remaining-radius",
        title: "Remaining radius",
        unit: "mm",
        of: Of::Measure(|carved, row, column| carved.radius(row, column)),
    },
    Layer {
        name: "solid-length",
        title: "Solid along the ray",
        unit: "mm",
        of: Of::Measure(|carved, row, column| carved.spans(row, column).map(|span| span.outer - span.inner).sum()),
    },
    Layer { name: "cut-by", title: "Program line that cut last", unit: "", of: Of::Line },
    Layer { name: "cut-by-program", title: "Program that cut last", unit: "", of: Of::Program },
    Layer { name: "cut-by-cutter", title: "Cutter that cut last", unit: "", of: Of::Cutter },
];

impl Layer {
    fn file(&self) -> MapFile {
        let dtype = match self.of {
            Of::Measure(_) => "<f4",
            Of::Line => "<i4",
            Of::Program | Of::Cutter => "<i2",
        };
        MapFile { name: self.name.to_owned(), unit: self.unit.to_owned(), dtype: dtype.to_owned() }
    }
}

fn maps(job: &Job, proof: &Proof) -> Result<Vec<(PathBuf, Vec<u8>)>, MapError> {
    let carved = &proof.carved;
    let remaining = per_ray(carved, |row, column| carved.radius(row, column));
    let title = title(job);
    let setting = Setting {
        title: &title,
        chuck: job.scene.machine.chuck_on,
        greatest_radius: job.scene.swept_radius(),
        remaining: &remaining,
    };
    let mut files = Vec::new();
    for layer in &LAYERS {
        let category =
            |code: fn(&Job, u32) -> i32| per_ray(carved, |row, column| owner(job, carved, row, column, code));
        match layer.of {
            Of::Measure(value) => {
                let values = per_ray(carved, |row, column| value(carved, row, column));
                draw(layer, Values::Measures(&values), carved, &setting, &mut files)?;
            }
            Of::Line => {
                let lines = category(|job, block| job.line_of(block) as i32);
                draw(layer, Values::Lines(&lines), carved, &setting, &mut files)?;
            }
            Of::Program => {
                let codes = narrow(&category(|job, block| job.program_of(block) as i32 + 1));
                let names: Vec<(i16, String)> = (1..).zip(job.programs.iter().map(|run| run.file.clone())).collect();
                draw(layer, Values::Categories { codes: &codes, names: &names }, carved, &setting, &mut files)?;
            }
            Of::Cutter => {
                let codes = narrow(&category(cutter_number));
                let names: Vec<(i16, String)> =
                    job.scene.cutters.iter().map(|c| (c.number as i16, called(c))).collect();
                draw(layer, Values::Categories { codes: &codes, names: &names }, carved, &setting, &mut files)?;
            }
        }
    }
    Ok(files)
}

fn cutter_number(job: &Job, block: u32) -> i32 {
    let index = job.cutter_index(block).map(usize::from);
    index.and_then(|index| job.scene.cutters.get(index)).map_or(0, |cutter| cutter.number as i32)
}

fn called(cutter: &dryturn_scene::Cutter) -> String {
    if cutter.name.is_empty() { cutter.number.to_string() } else { format!("{} {}", cutter.number, cutter.name) }
}

fn per_ray<T>(carved: &Carved, value: impl Fn(usize, usize) -> T) -> Vec<T> {
    let grid = carved.grid();
    let rays = (0..grid.stations).flat_map(|row| (0..grid.angles).map(move |column| (row, column)));
    rays.map(|(row, column)| value(row, column)).collect()
}

fn owner(job: &Job, carved: &Carved, row: usize, column: usize, code: fn(&Job, u32) -> i32) -> i32 {
    match carved.cut_by(row, column) {
        UNTOUCHED => dryturn_report::UNTOUCHED,
        PREPARED => BORE,
        block => code(job, block),
    }
}

fn narrow(codes: &[i32]) -> Vec<i16> {
    codes.iter().map(|&code| code.clamp(i32::from(i16::MIN), i32::from(i16::MAX)) as i16).collect()
}

fn draw(
    layer: &Layer,
    values: Values<'_>,
    carved: &Carved,
    setting: &Setting<'_>,
    files: &mut Vec<(PathBuf, Vec<u8>)>,
) -> Result<(), MapError> {
    let grid = carved.grid();
    let map = Map {
        name: layer.name,
        title: layer.title,
        unit: layer.unit,
        rows: grid.stations,
        columns: grid.angles,
        station_first: grid.station_first,
        station_step: grid.station_step,
        angle_step: angle::degrees(grid.angle_step),
        values,
    };
    files.push((format!("maps/{}.npy", layer.name).into(), npy(&map)?));
    files.push((format!("maps/{}.png", layer.name).into(), picture(&map, setting)?));
    Ok(())
}
