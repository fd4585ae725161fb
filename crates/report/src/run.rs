//! What one run comes to: everything the report and the summary are made from.

use dryturn_check::{
    Assumed, BlockTime, Clearance, CutterTimes, Ends, Finding, JobTimes, Moment, NotChecked, Preparation, Verdict,
    ZeroWindow,
};

/// The results of one run over one scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Title of the scene.
    pub title: String,
    /// What the findings come to.
    pub verdict: Verdict,
    /// What the scene did not say, and what was taken.
    pub assumed: Vec<Assumed>,
    /// What was not looked at.
    pub not_checked: Vec<NotChecked>,
    /// The grid the blank was carved on.
    pub grid: Grid,
    /// Volume of the blank before the first block, mm³.
    pub blank_mm3: f64,
    /// Volume cut away, mm³.
    pub removed_mm3: f64,
    /// Volume left, mm³.
    pub left_mm3: f64,
    /// The programs in the order they ran.
    pub programs: Vec<ProgramRun>,
    /// How long each cutter works.
    pub cutters: Vec<CutterTimes>,
    /// How long all programs take, and a batch, where that was worked out.
    pub times: Option<JobTimes>,
    /// The greatest of each load.
    pub loads: Loads,
    /// Its course over time, where that was worked out.
    pub series: Option<Series>,
    /// When its blocks come and what they take, where that was worked out.
    pub blocks: Option<Blocks>,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The closest approach of each described pair of bodies.
    pub clearances: Vec<Clearance>,
    /// How far the zeros may be off before bodies meet, where it is known what holds the blank.
    pub zero_window: Option<ZeroWindow>,
    /// What a person gets ready before the run, where that was worked out.
    pub preparation: Option<Preparation>,
    /// How the piece compares with the target, where there is one.
    pub target: Option<Target>,
    /// The maps written beside the report.
    pub maps: Vec<MapFile>,
}

/// The grid of rays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// Station of the first row, mm from the jaw face.
    pub station_first: f64,
    /// From one row to the next, mm.
    pub station_step: f64,
    /// Number of rows.
    pub stations: usize,
    /// From one column to the next, degrees.
    pub angle_step: f64,
    /// Number of columns.
    pub angles: usize,
    /// Memory the carved blank takes, bytes.
    pub bytes: u64,
}

/// One program of the run.
#[derive(Clone, Debug, PartialEq)]
pub struct ProgramRun {
    /// Path as the scene names it.
    pub file: String,
    /// Lines of text.
    pub lines: u64,
    /// Blocks that move something.
    pub blocks: u64,
    /// Volume it cut away, mm³.
    pub removed_mm3: f64,
    /// How long it takes at the machine, where that was worked out.
    pub time: Option<ProgramTime>,
    /// How far its words reach, where anything moved.
    pub extents: Option<Extents>,
    /// How the blank is wound, where the word that turns it is known.
    pub winding: Option<Winding>,
    /// Coordinate systems that its motions are counted in, 0 for G54 … 8 for G59.3, each once, the first that is used first.
    pub systems: Vec<usize>,
}

/// How long a program takes at the machine, seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProgramTime {
    /// Feed moves.
    pub cut_s: f64,
    /// Of these, moves that take no wood.
    pub air_s: f64,
    /// Rapids.
    pub rapid_s: f64,
    /// Dwells.
    pub dwell_s: f64,
    /// Cutter changes; `None` where nobody said how long one takes.
    pub change_s: Option<f64>,
}

/// Least and greatest value of each coordinate over a program's motions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extents {
    /// Station of the tip, mm.
    pub station_mm: [f64; 2],
    /// Tip across the bed, mm off the axis.
    pub y_mm: [f64; 2],
    /// Height of the tip over the axis, mm.
    pub z_mm: [f64; 2],
    /// Angle θ on top, degrees, not brought into one turn.
    pub turn_deg: [f64; 2],
}

/// How far the word that turns the blank winds it; of a length laid around the blank its share of the way around.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Winding {
    /// The rotary word when the program starts, degrees.
    pub start_deg: f64,
    /// The rotary word when it ends, degrees.
    pub end_deg: f64,
    /// Whole and part turns from start to end; the sign is the word's.
    pub turns: f64,
}

/// The greatest of each load over a run; `None` where it is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Loads {
    /// Power at the spindle, W.
    pub power: Option<Load>,
    /// Torque about the rotary axis, N·mm.
    pub torque: Option<Load>,
    /// Main cutting force, N.
    pub force: Option<Load>,
    /// Push on the wood along the axis, toward the center or off the chuck, N.
    pub axial: Option<Load>,
    /// How far piece and cutter spring apart, mm.
    pub spring: Option<Load>,
}

/// The greatest of a load and where it is met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Low and high end.
    pub range: Ends,
    /// Whether the wood breaks before it is reached; a spring ends there.
    pub breaks: bool,
    /// What there is to bear it, or what is allowed, in the same unit; `None` where nobody said.
    pub limit: Option<f64>,
    /// Index of the program.
    pub program: usize,
    /// Line of the block (from 1).
    pub line: u32,
    /// Number of the cutter; `None` where the spindle is empty.
    pub cutter: Option<u32>,
}

/// The course of a run, in equal slices of its time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// How long a slice is, seconds.
    pub step_s: f64,
    /// When each program begins, seconds.
    pub starts_s: Vec<f64>,
    /// The slices in order.
    pub slices: Vec<Slice>,
    /// When the worst place of each finding is passed, seconds, in the order of the run's findings; `None` where it belongs to
    /// no line.
    pub found_s: Vec<Option<f64>>,
}

/// One slice of the course.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slice {
    /// Index of the program under way where it begins.
    pub program: usize,
    /// Line of the block under way then.
    pub line: u32,
    /// Number of the cutter in the spindle then; `None` where it is empty.
    pub cutter: Option<u32>,
    /// What goes on in it.
    pub moment: Moment,
}

/// When blocks come and what they take, in rows of as many blocks as were asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Blocks {
    /// How many blocks a row stands for; the last of a program may stand for fewer.
    pub a_row: u32,
    /// The rows in order.
    pub rows: Vec<BlockRow>,
}

/// One block, or some that follow each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BlockRow {
    /// Index of the program.
    pub program: usize,
    /// Line of the first of them.
    pub line: u32,
    /// Their times.
    pub times: BlockTime,
}

/// How the piece compares with the target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// Volume cut away inside the target, mm³.
    pub gouge_mm3: f64,
    /// Volume left outside the target, mm³.
    pub leftover_mm3: f64,
    /// Deepest gouge by shortest distance, mm.
    pub deepest_gouge_mm: f64,
    /// Thickest leftover by shortest distance, mm.
    pub thickest_leftover_mm: f64,
}

/// A map written beside the report.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MapFile {
    /// Name, for example `remaining-radius`.
    pub name: String,
    /// Unit of the values; empty where they have none.
    pub unit: String,
    /// Type of the numbers as NPY names it: `<f4`, `<i4`, `<i2`.
    pub dtype: String,
}

/// One stage of the work and how long it took here, not at the machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Name, for example `carve`.
    pub name: &'static str,
    /// Wall-clock time, seconds.
    pub seconds: f64,
}
