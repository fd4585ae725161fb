//! What can be typed.

mod mesh;
#[cfg(feature = "render")]
mod still;
#[cfg(feature = "view")]
mod view;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use dryturn_check::{SERIES_POINTS, Severity};
use dryturn_scene::Scene;

use crate::new::{self, NewArguments};
use crate::restart::{self, RestartArguments};
use crate::round::{self, RoundArguments};
use crate::scenes::Places;
use crate::sheet::{self, SheetArguments};

pub(crate) use mesh::{MeshArguments, Paint, What};
#[cfg(feature = "render")]
pub(crate) use still::{Backdrop, Cut, Moment, Size, StillArguments, Tint};
#[cfg(feature = "view")]
pub(crate) use view::ViewArguments;

/// Proves out rotary router programs before a blank is committed.
///
/// Reads the programs the router will run, carves the turning blank with the exact volume each cutter sweeps, and says
/// what would go wrong: what is hit, what is gouged, what is left.
#[derive(Parser, Debug)]
#[command(name = "dryturn", version, after_help = CODES)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

const CODES: &str = "\
Exit codes: 0 nothing at or above --fail-on · 1 findings · 2 usage, unreadable or invalid input · 130 interrupted

A simulation proves neither the machine nor the set-up: run the program in air first, a hand at the stop.";

const EXAMPLES: &str = "\
Examples:
  dryturn prove scenes/winch-handle --out out/winch-handle
  dryturn prove finial.nc --blank 64x200 --cutter flat:6 --save scene.toml
  dryturn prove scenes/* --fail-on never --sarif dryturn.sarif --junit dryturn.xml --format github

Exit codes: 0 nothing at or above --fail-on · 1 findings · 2 usage, unreadable or invalid input · 130 interrupted";

const INSPECTED: &str = "\
Examples:
  dryturn inspect finial.nc
  dryturn inspect --json *.nc > programs.json
  zcat finial.nc.gz | dryturn inspect -

Exit codes: 0 all were described · 2 usage, or a program that could not be read";

const SCHEMAS: &str = "\
Examples:
  dryturn schema scene > scene.schema.json
  dryturn schema report > report.schema.json

A scene whose first line is `#:schema scene.schema.json` has its keys completed and explained by editors of TOML that know \
this line.";

#[derive(Subcommand, Debug)]
pub(crate) enum Command {
    /// Carve the blank as the programs would, and report what would go wrong
    #[command(after_help = EXAMPLES)]
    Prove(ProveArguments),
    /// Write the piece, or what belongs to it, as a solid: STL, PLY, GLB or 3MF
    #[command(after_help = mesh::EXAMPLES)]
    Mesh(MeshArguments),
    /// Take a picture of the piece, or make a page on which it is turned by hand
    #[cfg(feature = "render")]
    #[command(after_help = still::EXAMPLES)]
    Still(StillArguments),
    /// Open a window on the job: piece, skin and run under one cursor, with what was found
    #[cfg(feature = "view")]
    #[command(after_help = view::EXAMPLES)]
    View(ViewArguments),
    /// Describe programs without a scene: units, words that move, cutters, feeds, heights, times
    #[command(after_help = INSPECTED)]
    Inspect(InspectArguments),
    /// Sketch a scene for programs from what they give away, each guess with its evidence
    #[command(after_help = new::HELP)]
    New(NewArguments),
    /// Write the program that brings a raw blank to round, to a prism, or to a coupon that shows the zeros
    #[command(after_help = round::HELP)]
    Round(Box<RoundArguments>),
    /// Write the page to print and take to the machine: holding, cutters, order of work, times, blank, errors, checks
    #[command(after_help = sheet::HELP)]
    Sheet(SheetArguments),
    /// Write the program that takes a job up at a line, after it was broken off
    #[command(after_help = restart::HELP)]
    Restart(RestartArguments),
    /// Explain a rule: when it speaks, why it matters at the machine, what quiets it
    #[command(after_help = "Examples:\n  dryturn rule holder-hits\n  dryturn rule")]
    Rule {
        /// Its name; without one all are listed
        name: Option<String>,
    },
    /// Say what this machine can draw pictures with, and what to install if it cannot
    #[cfg(feature = "render")]
    #[command(after_help = "\
Examples:
  dryturn doctor
  dryturn doctor --adapter 1
  WGPU_BACKEND=gl dryturn doctor

Exit codes: 0 pictures can be drawn · 2 they cannot")]
    Doctor {
        /// The adapter to try: its number, or a part of its name
        #[arg(long, value_name = "NAME")]
        adapter: Option<String>,
    },
    /// Print the JSON schema of a file that dryturn reads or writes
    #[command(after_help = SCHEMAS)]
    Schema {
        /// Which file
        of: SchemaOf,
    },
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum SchemaOf {
    /// A scene file or a library, for editors of TOML
    Scene,
    /// report.json
    Report,
}

#[derive(Args, Debug)]
pub(crate) struct InspectArguments {
    /// Programs; - reads standard input
    #[arg(required = true, value_name = "PROGRAM")]
    pub(crate) programs: Vec<PathBuf>,

    /// Print JSON, for other programs to read
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Args, Debug)]
pub(crate) struct ProveArguments {
    /// Scene files, or folders that hold a scene.toml; with --blank and --cutter a program
    #[arg(required = true, value_name = "SCENE")]
    pub(crate) scenes: Vec<PathBuf>,

    /// Prove a bare program on this blank: DIAMETERxLENGTH, or "60 sq x 110" for square stock; units as in "2 in x 7 in"
    #[arg(long, requires = "cutter", value_name = "SIZE")]
    pub(crate) blank: Option<String>,

    /// The cutter for a bare program: flat:D, ball:D, bull:D:CORNER, vee:ANGLE:D, drill:D, taper:ANGLE:TIP:D
    #[arg(long, requires = "blank", value_name = "SHAPE")]
    pub(crate) cutter: Option<String>,

    /// Keep what --blank and --cutter say as a scene file, to be edited and proved again
    #[arg(long, requires = "blank", value_name = "FILE")]
    pub(crate) save: Option<PathBuf>,

    /// Write the report, the maps and the resolved scene into this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,

    /// In how many slices of its time report.json and run.png tell the course of the run, and in how many rows report.json
    /// tells the times of its blocks
    #[arg(long, default_value_t = SERIES_POINTS, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(crate) series: u32,

    /// Write all findings of all scenes as SARIF 2.1.0; - is standard output
    #[arg(long, value_name = "FILE")]
    pub(crate) sarif: Option<PathBuf>,

    /// Write a JUnit case for each program and rule; - is standard output
    #[arg(long, value_name = "FILE")]
    pub(crate) junit: Option<PathBuf>,

    /// Write a summary in Markdown, as for a pull request; - is standard output
    #[arg(long, value_name = "FILE")]
    pub(crate) markdown: Option<PathBuf>,

    /// What to print: text unless something else goes to standard output
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<Format>,

    /// The least severity that makes the exit code 1
    #[arg(long, value_enum, default_value_t = FailOn::Error, value_name = "SEVERITY")]
    pub(crate) fail_on: FailOn,

    #[command(flatten)]
    pub(crate) going: Going,

    /// Whether to colour what is printed
    #[arg(long, value_enum, default_value_t = Color::Auto, value_name = "WHEN")]
    pub(crate) color: Color,
}

/// What every command takes that carves the piece of a scene.
#[derive(Args, Clone, Debug)]
pub(crate) struct Going {
    /// Carve at this pitch instead of the scene's, mm
    #[arg(long, value_name = "MM", value_parser = pitch, allow_negative_numbers = true)]
    pub(crate) pitch: Option<f64>,

    /// Go on where a program is not understood; what a proof finds there is told as a finding
    #[arg(long)]
    pub(crate) lenient: bool,

    #[command(flatten)]
    pub(crate) places: Places,

    /// Number of threads; 0 takes one for each core
    #[arg(long, default_value_t = 0, value_name = "N", value_parser = clap::value_parser!(u16).range(0..=1024))]
    pub(crate) threads: u16,

    /// Most memory the run may take, for example 800MB or 2GB; a piece that does not fit in it is kept packed
    #[arg(long, default_value = "4GB", value_parser = bytes, value_name = "SIZE")]
    pub(crate) memory: u64,

    /// Print the verdict only, where there is one, and errors
    #[arg(long, short)]
    pub(crate) quiet: bool,
}

impl Going {
    /// A scene at the pitch that is asked for.
    pub(crate) fn at_pitch(&self, scene: Scene) -> Scene {
        match self.pitch {
            Some(pitch) => scene.at_pitch(pitch),
            None => scene,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// A summary for people
    Text,
    /// report.json; of several scenes a list
    Json,
    /// A line for each finding, which GitHub shows beside the code
    Github,
    /// A code quality report for GitLab
    Gitlab,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum FailOn {
    Error,
    Warning,
    Note,
    Never,
}

impl FailOn {
    /// The least severity that makes a run fail, if any does.
    pub(crate) fn least(self) -> Option<Severity> {
        match self {
            FailOn::Error => Some(Severity::Error),
            FailOn::Warning => Some(Severity::Warning),
            FailOn::Note => Some(Severity::Note),
            FailOn::Never => None,
        }
    }

    /// Whether findings, of which this is the gravest, make the run fail.
    pub(crate) fn fails(self, worst: Option<Severity>) -> bool {
        self.least().zip(worst).is_some_and(|(least, worst)| worst >= least)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Color {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    Always,
    Never,
}

impl Color {
    /// Whether to colour what goes to a stream that is, or is not, a terminal.
    pub(crate) fn on(self, terminal: bool) -> bool {
        let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        match self {
            Color::Always => true,
            Color::Never => false,
            Color::Auto => !set("NO_COLOR") && (terminal || set("CLICOLOR_FORCE")),
        }
    }
}

/// A size in bytes: a number with B, KB, MB, GB or the binary KiB, MiB, GiB.
fn bytes(text: &str) -> Result<u64, String> {
    let split = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let factor = match unit.trim().to_ascii_lowercase().as_str() {
        "" | "b" => 1.0,
        "k" | "kb" => 1e3,
        "m" | "mb" => 1e6,
        "g" | "gb" => 1e9,
        "kib" => 1024.0,
        "mib" => 1024.0 * 1024.0,
        "gib" => 1024.0 * 1024.0 * 1024.0,
        other => return Err(format!("`{other}` is not a unit of memory; use MB or GB")),
    };
    match number.trim().parse::<f64>() {
        Ok(number) if number > 0.0 && number.is_finite() => Ok((number * factor) as u64),
        _ => Err("write a size such as 800MB or 2GB".to_owned()),
    }
}

/// A pitch within what a scene may ask for.
fn pitch(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(pitch) if (0.01..=100.0).contains(&pitch) => Ok(pitch),
        _ => Err("write a pitch from 0.01 to 100 mm".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_arguments_are_sound() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn sizes_of_memory() {
        assert_eq!(bytes("800MB"), Ok(800_000_000));
        assert_eq!(bytes("1.5 GiB"), Ok(1_610_612_736));
        assert!(bytes("2 TB").is_err() && bytes("-1GB").is_err() && bytes("").is_err() && bytes("NaN").is_err());
    }

    #[test]
    fn severities_that_fail() {
        assert!(FailOn::Warning.fails(Some(Severity::Error)));
        assert!(!FailOn::Error.fails(Some(Severity::Warning)));
        assert!(!FailOn::Never.fails(Some(Severity::Error)));
        assert!(!FailOn::Note.fails(None));
    }
}
