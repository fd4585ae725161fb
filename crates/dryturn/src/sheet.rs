//! `dryturn sheet`: the page to print and take to the machine.

use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

use clap::Args;
use dryturn_check::SERIES_POINTS;
use dryturn_report::plain;

use crate::arguments::{Color, Going};
use crate::failure::Failure;
use crate::memory::Memory;
use crate::running::Running;
use crate::{output, piece, print, prove};

/// What `dryturn sheet --help` says at its end.
pub(crate) const HELP: &str = "\
Proves the scene, and writes one page that asks for nothing else: how the blank is held, drawn to scale; the cutters and how \
far they must stick out; the order of work with what the rotary axis reads at each change; times, winding and how it is \
undone; the blank to get; what a zero that is a little off does to this piece; what to look at before the first run. Its \
numbers are those of report.json. Print it from any browser, on A4 or Letter.

Examples:
  dryturn sheet scenes/winch-handle -o handle.html
  dryturn sheet scenes/marble-lift/scene-fixed.toml -o lift.html --quiet

Exit codes: 0 written, whatever was found · 2 usage, unreadable or invalid input · 130 interrupted";

#[derive(Args, Debug)]
pub(crate) struct SheetArguments {
    /// A scene file, or a folder that holds a scene.toml
    #[arg(value_name = "SCENE")]
    scene: PathBuf,

    /// The page to write; one that is there is replaced
    #[arg(long, short, value_name = "FILE.html")]
    output: PathBuf,

    #[command(flatten)]
    going: Going,
}

/// Writes the page; gives the exit code.
pub(crate) fn run(arguments: &SheetArguments, interrupted: &AtomicBool) -> u8 {
    match written(arguments, &Running::new(&arguments.going, interrupted)) {
        Ok(_) if arguments.going.quiet => 0,
        Ok(text) => print(&text),
        Err(failure) => failure.told(Color::Auto),
    }
}

/// Proves the scene and writes its page; gives what to say.
fn written(arguments: &SheetArguments, running: &Running<'_>) -> Result<String, Failure> {
    let name = plain(&arguments.output.display().to_string());
    if arguments.output.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("html")) {
        return Err(Failure::Other(format!("{name}: a sheet is a page, so end its name in .html")));
    }
    let job = piece::read(&arguments.scene, &arguments.output, &arguments.going, running)?;
    let memory = Memory::within(running, false, &job)?;
    let proof = prove::carve_and_check(&job, SERIES_POINTS, &memory, running)?;
    let run = output::run_of(&job, &proof);
    let page = dryturn_report::sheet(&run, &job.scene).map_err(|error| Failure::Other(error.to_string()))?;
    dryturn_report::write_each(&[(arguments.output.clone(), page.into_bytes())], running.interrupted)?;
    Ok(format!("{}  {}\n{name}: print it, and take it to the machine\n", run.verdict.word(), plain(&run.title)))
}
