//! The machine and its controller.

use dryturn_geom::{Along, Side, Turns, Wrap};
use dryturn_program::{Dropped, NotUnderstood};

use super::Cylinder;

/// The machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Axis the rotary axis lies along.
    pub along: Along,
    /// What turns the blank.
    pub wrap: Wrap,
    /// Sense of the rotary word.
    pub turns: Turns,
    /// Side the chuck stands on.
    pub chuck_on: Side,
    /// Which words the feed counts.
    pub feed_counts: FeedCounts,
    /// Rapid rates: along the axis, across it and up in mm/min, turning in degrees/min.
    pub rapid: PerAxis<f64>,
    /// Accelerations in mm/s² and degrees/s², if given.
    pub accel: PerAxis<Option<f64>>,
    /// How long a cutter change takes, seconds, if it is said.
    pub change_seconds: Option<f64>,
    /// Travel: stations, across and the height of the holder's lower face over the axis in mm, turning in degrees.
    pub reach: PerAxis<Option<[f64; 2]>>,
    /// Where the tip is before the first block, in program words of the first program's zero, mm and degrees.
    pub start: PerAxis<Option<f64>>,
    /// Where machine zero lies, in the terms of `reach`.
    pub home: PerAxis<Option<f64>>,
    /// Depth of the flat bed under the axis, mm.
    pub bed: Option<f64>,
    /// Cylinders of the spindle, from the top of the holder up.
    pub spindle: Vec<Cylinder>,
    /// Power of the spindle, W.
    pub spindle_power: Option<f64>,
    /// Turns a minute of the spindle where the program commands none, if it is said.
    pub spindle_speed: Option<f64>,
    /// Who switches the spindle.
    pub spindle_switch: SpindleSwitch,
    /// Torque that holds the rotary axis, N·m.
    pub rotary_torque: Option<f64>,
    /// How far the axis rises toward greater stations, mm per 100 mm.
    pub rise: f64,
    /// How far the axis leans toward +Y with greater stations, mm per 100 mm.
    pub skew: f64,
    /// Play of the rotary axis, degrees.
    pub backlash_deg: f64,
}

/// A value for each of the four axes: along the rotary axis, across it, up, and turning.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PerAxis<T> {
    /// Along the rotary axis.
    pub x: T,
    /// Across the bed.
    pub y: T,
    /// Up.
    pub z: T,
    /// Turning.
    pub a: T,
}

/// Which words the feed is measured over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FeedCounts {
    /// The linear axes.
    Linear,
    /// All words alike, a degree as a millimetre.
    All,
    /// The linear axes, with the rotary limited by its own greatest rate.
    Each,
}

/// Who switches the spindle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpindleSwitch {
    /// The program.
    Program,
    /// A hand.
    Hand,
}

/// What the controller understands.
#[derive(Clone, Debug, PartialEq)]
pub struct Controller {
    /// Arcs (G2, G3).
    pub arcs: bool,
    /// Canned cycles.
    pub canned: bool,
    /// Parameters and expressions.
    pub expressions: bool,
    /// Subprograms.
    pub subprograms: bool,
    /// Inverse time feed (G93).
    pub inverse_time: bool,
    /// Whether G43 takes its offset from a table.
    pub tool_length_table: bool,
    /// Cutter radius compensation (G41, G42), the diameters being those of the scene's cutters.
    pub compensation: bool,
    /// What it does where it does not understand a word, if that is known.
    pub not_understood: Option<NotUnderstood>,
    /// Codes and letters it drops without a word, as written: `S`, `G64`, `M8`.
    pub drops: Vec<Dropped>,
    /// What M6 does.
    pub m6: M6,
    /// Whether the dwell word counts milliseconds.
    pub dwell_milliseconds: bool,
    /// Longest line, characters.
    pub line_limit: u32,
    /// Whether numbers are 32 bits wide.
    pub numbers_f32: bool,
    /// Whether lines that begin with a slash are left out.
    pub block_delete: bool,
    /// Bounds on what a program may do before it is taken for endless.
    pub budget: Budget,
    /// How far the two radii of an arc may differ, mm.
    pub arc_slack: f64,
}

/// What M6 does at the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum M6 {
    /// The program waits while the cutter is changed by hand.
    Stops,
    /// Nothing: the cutter stays.
    Ignored,
    /// The machine changes the cutter.
    Changes,
}

/// Bounds on what a program may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    /// Lines executed once a program calls or repeats.
    pub steps: u64,
    /// Depth of subprogram calls.
    pub depth: u32,
    /// Blocks beyond one a line, and as many events.
    pub blocks: u32,
}
