//! `dryturn prove`: from a scene to a verdict.

mod memory;

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use dryturn_carve::CarveError;
use dryturn_check::{Proof, ReadError, RunOptions, Verdict, prove};
use dryturn_report::{Run, Stage, Summary, WriteError};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene, SceneError};

use crate::arguments::ProveArguments;
use crate::output::{self, OutputError, Watch};
use crate::progress::Progress;
use crate::{REFUSED, print, tell, width};
use memory::Memory;

/// Why a scene gave no verdict.
enum Failure {
    Interrupted,
    Scene(SceneError),
    Other(String),
}

impl From<SceneError> for Failure {
    fn from(error: SceneError) -> Self {
        Failure::Scene(error)
    }
}

impl From<ReadError> for Failure {
    fn from(error: ReadError) -> Self {
        match error {
            ReadError::Scene(error) => Failure::Scene(error),
            ReadError::Carve(CarveError::Cancelled) => Failure::Interrupted,
            ReadError::Carve(error) => Failure::Other(error.to_string()),
        }
    }
}

const INTERRUPTED: u8 = 130;
const FINDINGS: u8 = 1;

/// Proves all scenes that were named; the dearest exit code wins: 130, then 2, 1, 0.
pub(crate) fn run_all(arguments: &ProveArguments, interrupted: &AtomicBool) -> u8 {
    let mut worst = 0;
    for (index, scene) in arguments.scenes.iter().enumerate() {
        if index > 0 && !arguments.quiet {
            print("\n");
        }
        let code = match one(arguments, scene, interrupted) {
            Ok(code) => code,
            Err(Failure::Interrupted) => {
                tell("interrupted: nothing was written");
                return INTERRUPTED;
            }
            Err(Failure::Scene(error)) => {
                tell(&error.render(arguments.color.on(std::io::stderr().is_terminal())));
                REFUSED
            }
            Err(Failure::Other(message)) => {
                tell(&format!("error: {message}"));
                REFUSED
            }
        };
        worst = worst.max(code);
    }
    worst
}

fn one(arguments: &ProveArguments, named: &Path, interrupted: &AtomicBool) -> Result<u8, Failure> {
    let started = Instant::now();
    let mut stages = Vec::new();
    let mut stage = |name, since: Instant| stages.push(Stage { name, seconds: since.elapsed().as_secs_f64() });

    let scene = scene_of(arguments, named)?;
    let reading = RunOptions { threads: threads(arguments), cancel: Some(interrupted), ..RunOptions::default() };
    let job = dryturn_check::read(scene, JobOptions { lenient: arguments.lenient }, &reading)?;
    let memory = Memory::within(arguments, &job)?;
    stage("read", started);

    let proving = Instant::now();
    let proof = carve_and_check(arguments, &job, &memory, interrupted)?;
    stage("prove", proving);

    let run = output::run_of(&job, &proof);
    let mut written = None;
    if let Some(folder) = folder_for(arguments, named) {
        let progress = Progress::new("maps", arguments.quiet);
        let watch = Watch { threads: threads(arguments), interrupted, progress: &|share| progress.show(share) };
        let count = output::write(&folder, &job, &proof, &run, stages, &watch);
        progress.done();
        written = Some((folder, count.map_err(refused_writing)?));
    }
    if interrupted.load(Ordering::Relaxed) && written.is_none() {
        return Err(Failure::Interrupted);
    }
    let shown = show(arguments, &job, &run, written.as_ref(), started.elapsed().as_secs_f64());
    let worst = run.findings.iter().map(|finding| finding.severity).max();
    Ok(shown.max(if arguments.fail_on.fails(worst) { FINDINGS } else { 0 }))
}

fn refused_writing(error: OutputError) -> Failure {
    match error {
        OutputError::Write(WriteError::Interrupted) => Failure::Interrupted,
        error => Failure::Other(error.to_string()),
    }
}

fn scene_of(arguments: &ProveArguments, named: &Path) -> Result<Scene, Failure> {
    if let (Some(blank), Some(cutter)) = (&arguments.blank, &arguments.cutter) {
        if named.is_dir() {
            let name = dryturn_report::plain(&named.display().to_string());
            return Err(Failure::Other(format!("{name}: a folder; with --blank and --cutter name a program")));
        }
        if let Some(file) = &arguments.save {
            save(named, blank, cutter, file)?;
        }
        return Ok(Scene::from_flags(named, blank, cutter)?);
    }
    let file = if named.is_dir() { named.join("scene.toml") } else { named.to_owned() };
    let is_scene = file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"));
    if !is_scene && file.is_file() {
        return Err(Failure::Other(format!(
            "{}: not a scene file (.toml); to prove a bare program add --blank 64x200 --cutter flat:6",
            dryturn_report::plain(&file.display().to_string())
        )));
    }
    Ok(Scene::load(&file, LoadOptions { allow_outside: arguments.allow_outside })?)
}

fn save(program: &Path, blank: &str, cutter: &str, file: &Path) -> Result<(), Failure> {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let text = Scene::flags_to_toml(program, blank, cutter, folder)?;
    let name = file.file_name().map(PathBuf::from).unwrap_or_default();
    if file.exists() {
        return Err(Failure::Other(format!("{}: is there already; choose another name", file.display())));
    }
    dryturn_report::write_all(folder, &[(name, text.into_bytes())], &AtomicBool::new(false))
        .map(drop)
        .map_err(|error| Failure::Other(error.to_string()))
}

pub(crate) fn threads(arguments: &ProveArguments) -> usize {
    match arguments.threads {
        0 => std::thread::available_parallelism().map_or(1, usize::from),
        threads => usize::from(threads),
    }
}

fn carve_and_check(
    arguments: &ProveArguments,
    job: &Job,
    memory: &Memory,
    interrupted: &AtomicBool,
) -> Result<Proof, Failure> {
    let progress = Progress::new(&dryturn_report::plain(&output::title(job)), arguments.quiet);
    let show = |share: f64| progress.show(share);
    let options = RunOptions {
        threads: threads(arguments),
        cancel: Some(interrupted),
        memory: Some(memory.for_carving()),
        progress: Some(&show),
        ..RunOptions::default()
    };
    let proof = prove(job, &options);
    progress.done();
    proof.map_err(|error| match error {
        CarveError::Cancelled => Failure::Interrupted,
        CarveError::Memory { .. } => Failure::Other(memory.passed()),
        error => Failure::Other(error.to_string()),
    })
}

/// Where a scene's files go: the folder asked for, or one in it for each scene where there are several.
fn folder_for(arguments: &ProveArguments, named: &Path) -> Option<PathBuf> {
    let out = arguments.out.as_ref()?;
    if arguments.scenes.len() == 1 {
        return Some(out.clone());
    }
    let number = arguments.scenes.iter().position(|scene| scene == named).unwrap_or(0) + 1;
    let own = if named.file_name().is_some_and(|name| name == "scene.toml") { named.parent() } else { Some(named) };
    let name = own.and_then(Path::file_stem).map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    Some(out.join(format!("{number:02}-{name}")))
}

/// Prints what was found; gives an exit code.
fn show(arguments: &ProveArguments, job: &Job, run: &Run, written: Option<&(PathBuf, usize)>, seconds: f64) -> u8 {
    if arguments.quiet {
        let word = match run.verdict {
            Verdict::Clear => "clear",
            Verdict::Caution => "caution",
            Verdict::Stop => "stop",
        };
        return print(&format!("{word}  {}\n", dryturn_report::plain(&run.title)));
    }
    let terminal = std::io::stdout().is_terminal();
    let quote = |program: usize, line: u32| Some(job.line_text(program, line).into_owned());
    let folder = written.map(|(folder, count)| (folder.display().to_string(), *count));
    let summary = Summary {
        run,
        quote: &quote,
        written: folder.as_ref().map(|(folder, count)| (folder.as_str(), *count)),
        seconds: Some(seconds),
        width: width(),
        colour: arguments.color.on(terminal),
    };
    print(&summary.text())
}
