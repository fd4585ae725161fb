//! The files of a run.

mod course;
mod gathered;
mod kept;
#[cfg(feature = "view")]
pub(crate) mod layers;
mod maps;
mod root;

use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use dryturn_carve::CarveError;
use dryturn_check::target::Comparison;
use dryturn_check::{ProgramTimes, Proof, RunOptions};
use dryturn_geom::angle;
use dryturn_report::{
    Extents, Grid, JsonError, MapError, ProgramRun, ProgramTime, Run, Stage, Staging, Target, Winding, WriteError,
    run_picture,
};
use dryturn_scene::Job;

pub(crate) use gathered::{Gathered, clash, shows_text};
pub(crate) use kept::KEPT_FILE;
pub(crate) use maps::bytes as map_bytes;
#[cfg(feature = "render")]
pub(crate) use maps::cutter_name;

/// What the scene is called as it was understood.
pub(crate) const RESOLVED_FILE: &str = "scene.resolved.toml";

/// Why the files could not be made or written.
#[derive(Debug)]
pub(crate) enum OutputError {
    Map(MapError),
    Json(JsonError),
    Write(WriteError),
    Xml(std::io::Error),
    Carve(CarveError),
    Threads(rayon::ThreadPoolBuildError),
}

impl std::fmt::Display for OutputError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            OutputError::Map(error) => error.fmt(f),
            OutputError::Json(error) => error.fmt(f),
            OutputError::Write(error) => error.fmt(f),
            OutputError::Xml(error) => error.fmt(f),
            OutputError::Carve(error) => error.fmt(f),
            OutputError::Threads(error) => write!(f, "the worker threads could not be started: {error}"),
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

impl From<CarveError> for OutputError {
    fn from(error: CarveError) -> Self {
        match error {
            CarveError::Cancelled => OutputError::Write(WriteError::Interrupted),
            error => OutputError::Carve(error),
        }
    }
}

impl From<std::io::Error> for OutputError {
    fn from(error: std::io::Error) -> Self {
        OutputError::Xml(error)
    }
}

impl From<rayon::ThreadPoolBuildError> for OutputError {
    fn from(error: rayon::ThreadPoolBuildError) -> Self {
        OutputError::Threads(error)
    }
}

/// Writes the report, the maps and the resolved scene; all of it or nothing. Returns how many files there are.
pub(crate) fn write(
    folder: &Path,
    job: &Job,
    proof: &Proof,
    run: &Run,
    mut stages: Vec<Stage>,
    interrupted: &AtomicBool,
    options: &RunOptions<'_>,
) -> Result<usize, OutputError> {
    let started = Instant::now();
    let mut staging = Staging::new(folder, interrupted);
    kept::write(&mut staging, job, proof, options)?;
    stages.push(Stage { name: "kept", seconds: started.elapsed().as_secs_f64() });
    let started = Instant::now();
    maps::write(&mut staging, job, proof, options)?;
    stages.push(Stage { name: "maps", seconds: started.elapsed().as_secs_f64() });
    let timings = dryturn_report::timings(options.threads, &stages)?;
    if let Some(picture) = run_picture(run)? {
        staging.file("run.svg".as_ref(), picture.svg.as_bytes())?;
        staging.file("run.png".as_ref(), &picture.png)?;
    }
    staging.file(RESOLVED_FILE.as_ref(), job.scene.resolved_toml().as_bytes())?;
    staging.file("timings.json".as_ref(), timings.as_bytes())?;
    staging.file("report.schema.json".as_ref(), dryturn_report::schema().as_bytes())?;
    // The report speaks for the others, so it is put in its place last.
    staging.file("report.json".as_ref(), dryturn_report::report(run)?.as_bytes())?;
    Ok(staging.put_in_place()?.len())
}

/// Title of a scene: its own, or what its file is called; of a `scene.toml` that is the name of its folder.
pub(crate) fn title(job: &Job) -> String {
    let scene = &job.scene;
    scene.title.clone().unwrap_or_else(|| {
        // A scene may be named from within its own folder.
        let file = std::path::absolute(&scene.name).unwrap_or_default();
        let is_plain = file.file_name().is_some_and(|name| name == "scene.toml");
        let folder = file.parent().and_then(Path::file_name).filter(|_| is_plain);
        folder.or(file.file_name()).map_or(scene.name.clone(), |name| name.to_string_lossy().into_owned())
    })
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
        cutters: proof.cutters.clone(),
        times: Some(proof.times),
        loads: course::loads(job, &proof.told.loads),
        series: Some(course::series(job, proof)),
        blocks: Some(course::blocks(job, proof)),
        findings: proof.findings.clone(),
        clearances: proof.clearances.clone(),
        zero_window: proof.zero_window.clone(),
        preparation: Some(proof.preparation.clone()),
        target: proof.target.as_ref().map(target),
        maps: maps::files(job, proof),
    }
}

fn target(comparison: &Comparison) -> Target {
    Target {
        gouge_mm3: comparison.gouge_mm3,
        leftover_mm3: comparison.leftover_mm3,
        deepest_gouge_mm: comparison.deepest_gouge_mm,
        thickest_leftover_mm: comparison.thickest_leftover_mm,
    }
}

fn time(times: &ProgramTimes) -> ProgramTime {
    let ProgramTimes { cut_s, air_s, rapid_s, dwell_s, change_s, .. } = *times;
    ProgramTime { cut_s, air_s, rapid_s, dwell_s, change_s }
}

fn programs(job: &Job, proof: &Proof) -> Vec<ProgramRun> {
    let rows = job.programs.iter().zip(&proof.programs);
    rows.map(|(run, summary)| ProgramRun {
        file: run.file.clone(),
        lines: u64::from(run.program.lines),
        blocks: u64::from(summary.moving),
        removed_mm3: summary.removed_mm3,
        time: Some(time(&summary.times)),
        extents: summary.extents.map(|[station_mm, y_mm, z_mm, turn_deg]| Extents { station_mm, y_mm, z_mm, turn_deg }),
        winding: summary.winding.map(|[start_deg, end_deg]| Winding {
            start_deg,
            end_deg,
            turns: (end_deg - start_deg) / 360.0,
        }),
        systems: run.systems(),
    })
    .collect()
}
