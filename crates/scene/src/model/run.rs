//! What is run and how it is looked at: zeros, cutters, programs, target, grid and rules.

use std::path::PathBuf;

use dryturn_geom::Flutes;
use dryturn_geom::units::LengthUnit;

use super::Cylinder;

/// The coordinate systems as programs name them.
pub const SYSTEM_NAMES: [&str; 9] = ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"];

/// Where the nine program zeros sit: G54, G55 … G59, G59.1 … G59.3.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Zeros {
    /// What the scene says of each; `None` where it says nothing. G54 is the first.
    pub systems: [ZeroKeys; 9],
}

/// The keys of one zero, each `None` where it is not given.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ZeroKeys {
    /// Station of X0, mm.
    pub x: Option<f64>,
    /// Internal Y of Y0, mm.
    pub y: Option<f64>,
    /// Height of Z0.
    pub z: Option<ZeroHeight>,
    /// θ on top at A0, degrees.
    pub a_deg: Option<f64>,
}

/// The height of Z0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ZeroHeight {
    /// The rotary axis.
    Axis,
    /// The greatest radius of the blank: half the diameter, or the corner.
    Surface,
    /// This many mm over the axis.
    Height(f64),
    /// A flat of the blank.
    Flat,
    /// Where the tip of the program's first cutter comes down on the blank as it then is; for the scene's own zero that
    /// is before anything is cut.
    Touch {
        /// Station of the tip, mm.
        station: f64,
        /// The rotary word while it is touched off, degrees.
        a_deg: f64,
    },
}

/// A cutter with all that is above it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cutter {
    /// The T word.
    pub number: u32,
    /// What it is called; empty where it has no name.
    pub name: String,
    /// What it cuts with.
    pub flutes: Flutes,
    /// What is above the flutes; [`Cutter::shank_cylinders`] gives its bodies.
    pub shank: Shank,
    /// Tip to holder, mm.
    pub stickout: Option<f64>,
    /// Number of teeth.
    pub teeth: u32,
    /// Whether it cuts at its centre and so may be plunged.
    pub cuts_center: bool,
    /// Cylinders of the holder from the stickout up.
    pub holder: Vec<Cylinder>,
    /// What it may be asked for.
    pub limits: CutterLimits,
    /// How far its Z zero is off, mm; above zero the tip is higher than the program thinks.
    pub length_error: f64,
    /// The file its profile came from, as written.
    pub profile: Option<String>,
}

/// The shank of a cutter.
#[derive(Clone, Debug, PartialEq)]
pub enum Shank {
    /// One diameter up to the holder, mm.
    Plain(f64),
    /// Cylinders from the flutes up.
    Stack(Vec<Cylinder>),
}

/// What a cutter may be asked for; all optional.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CutterLimits {
    /// Depth per pass, mm.
    pub depth: Option<f64>,
    /// Width of cut, mm.
    pub width: Option<f64>,
    /// Feed straight down, mm/min.
    pub plunge: Option<f64>,
    /// Least and greatest chip, mm.
    pub chip: Option<[f64; 2]>,
}

/// A program and how it is run.
#[derive(Clone, Debug, PartialEq)]
pub struct ProgramEntry {
    /// The file as written in the scene.
    pub file: String,
    /// Where it lies.
    pub path: PathBuf,
    /// Number of the cutter in the spindle at its start.
    pub cutter: Option<u32>,
    /// Zeros of its own; what they leave open comes from the scene's.
    pub zeros: Zeros,
    /// What moved since the program before.
    pub slip: Slip,
    /// Whether the rotary axis turns only between cuts, by design.
    pub indexed: bool,
    /// Set where parting is meant.
    pub parts: Option<Parts>,
}

/// What moved: stations, across and up in mm, θ in degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Slip {
    /// Along the axis, mm.
    pub x: f64,
    /// Across, mm.
    pub y: f64,
    /// Up, mm.
    pub z: f64,
    /// Turned, degrees.
    pub a_deg: f64,
}

/// Parting is meant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// Least diameter of the tab that must stay, mm.
    pub min_tab: Option<f64>,
}

/// The shape wanted; [`Target::read`] gives the shape itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// The file as written.
    pub file: String,
    /// Where it lies.
    pub path: PathBuf,
    /// Unit of the file, if it is said: millimetres otherwise, or what a 3MF file says itself.
    pub units: Option<LengthUnit>,
    /// Station of its origin, mm.
    pub place_x: f64,
    /// Turn, degrees.
    pub place_a_deg: f64,
    /// Which of its axes is the rotary axis: 0, 1, 2 for x, y, z.
    pub place_axis: u8,
    /// Whether it is turned end for end.
    pub place_flip: bool,
    /// Stations compared, mm.
    pub span: Option<[f64; 2]>,
    /// Number (from 1) of the program after which it is compared.
    pub after: Option<u32>,
    /// Depth below the target that is reported, mm.
    pub gouge: f64,
    /// Height above it that is reported, mm.
    pub leftover: f64,
    /// Wood meant to stay over it, mm.
    pub allowance: f64,
}

/// The grid the blank is carved on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// Along the axis, and around it at the greatest swept radius, mm.
    pub pitch: f64,
}

/// How far things may be off, either way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    /// mm.
    pub x: f64,
    /// mm.
    pub y: f64,
    /// mm.
    pub z: f64,
    /// Degrees.
    pub a_deg: f64,
    /// mm.
    pub runout: f64,
}

/// Several pieces cut one after another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Batch {
    /// How many.
    pub pieces: u32,
    /// Taking a piece out and putting the next blank in, seconds a piece, if it is said.
    pub loading_seconds: Option<f64>,
}

/// A finding accepted beforehand.
#[derive(Clone, Debug, PartialEq)]
pub struct Accept {
    /// The rule.
    pub rule: String,
    /// Number (from 1) of the program a finding must belong to, or any.
    pub program: Option<u32>,
    /// First and last line a finding must lie within, or any.
    pub lines: Option<[u32; 2]>,
    /// Why.
    pub why: String,
}
