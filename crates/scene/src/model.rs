//! The checked scene: every number in mm, mm/min and degrees, every default applied.

use std::collections::BTreeMap;
use std::path::PathBuf;

use dryturn_geom::units::LengthUnit;
use dryturn_geom::{Along, Flutes, Side, Stock, Turns, Wrap};

use crate::material::Material;

/// One job: machine, blank, holding, cutters and programs.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// What messages call the scene: the file as the user named it, or the program it was made up for.
    pub name: String,
    /// Folder that relative paths in the scene start from.
    pub folder: PathBuf,
    /// What the job is called.
    pub title: Option<String>,
    /// Unit the scene was written in. Everything below is mm all the same.
    pub units: LengthUnit,
    /// The machine.
    pub machine: Machine,
    /// What the controller understands.
    pub controller: Controller,
    /// The blank.
    pub blank: Blank,
    /// The chuck, if there is one.
    pub chuck: Option<Chuck>,
    /// The faceplate, if there is one.
    pub faceplate: Option<Faceplate>,
    /// The drive center, if the blank is held between centers.
    pub drive: Option<Drive>,
    /// The tailstock, if there is one.
    pub tailstock: Option<Tailstock>,
    /// Anything else that stands in the way.
    pub fixed: Vec<FixedBody>,
    /// Anything else that moves with the spindle.
    pub moving: Vec<MovingBody>,
    /// Where the program zeros sit.
    pub zeros: Zeros,
    /// The cutters, in the order of the scene; a `Motion::cutter` is an index into this list.
    pub cutters: Vec<Cutter>,
    /// The programs, in the order they run.
    pub programs: Vec<ProgramEntry>,
    /// The shape wanted, if it is described.
    pub target: Option<Target>,
    /// The grid.
    pub grid: Grid,
    /// Numbers of the rules.
    pub checks: Checks,
    /// How far things may be off, if it is said.
    pub doubt: Option<Doubt>,
    /// Findings accepted beforehand.
    pub accept: Vec<Accept>,
    /// Every default that was taken.
    pub assumed: Vec<Assumed>,
    /// Everything that is not described, or not looked at yet.
    pub not_checked: Vec<NotChecked>,
    /// What is worth saying about the scene although nothing is wrong with it.
    pub notes: Vec<String>,
    /// Where the keys came from that were given, by their dotted path.
    pub given: BTreeMap<String, Origin>,
}

/// Where a key's value came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Written in the scene file.
    Scene,
    /// Given on the command line.
    Flag,
}

/// A default that was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumed {
    /// Dotted path of the key.
    pub key: String,
    /// The value, as it would be written in the scene.
    pub value: String,
    /// Why this value.
    pub because: String,
}

/// Something a run says nothing about.
#[derive(Clone, Debug, PartialEq)]
pub struct NotChecked {
    /// What it is about, in a word or two.
    pub what: String,
    /// Why it is not checked, as a sentence.
    pub because: String,
    /// What to write or do to have it checked; empty where nothing helps yet.
    pub how_to_add: String,
}

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
    /// Steps of the interpreter.
    pub steps: u64,
    /// Depth of subprogram calls.
    pub depth: u32,
    /// Blocks.
    pub blocks: u32,
}

/// The blank as described; [`Scene::stock`] gives its solid.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    /// Its section.
    pub shape: BlankShape,
    /// Whole length, mm, the part in the jaws included.
    pub length: f64,
    /// What it is made of, if it is said.
    pub material: Option<Material>,
    /// Shift of the centre line at station 0, machine Y and Z in mm while θ on top is 0.
    pub runout: [f64; 2],
    /// The same at the free end.
    pub runout_far: [f64; 2],
    /// Greatest shift by the bend between the ends, mm.
    pub bow: f64,
    /// Angle θ it bends toward, degrees.
    pub bow_angle_deg: f64,
    /// Angle θ of the outward normal of the first flat, degrees.
    pub turned_deg: f64,
}

/// The section of a blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BlankShape {
    /// A round bar.
    Round {
        /// mm.
        diameter: f64,
    },
    /// A bored round bar.
    Tube {
        /// mm.
        diameter: f64,
        /// Diameter of the bore, mm.
        bore: f64,
    },
    /// A square bar.
    Square {
        /// mm.
        across_flats: f64,
    },
    /// A bar with any number of flats.
    Polygon {
        /// Twice the apothem, mm, whatever the number of sides.
        across_flats: f64,
        /// 3 or more.
        sides: u32,
    },
}

/// A cylinder of a stack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cylinder {
    /// mm.
    pub diameter: f64,
    /// mm.
    pub length: f64,
}

/// The chuck.
#[derive(Clone, Debug, PartialEq)]
pub struct Chuck {
    /// Length of the blank inside the jaws, mm.
    pub hold: f64,
    /// The body behind the jaws.
    pub body: Option<Cylinder>,
    /// The jaws.
    pub jaws: Option<Jaws>,
}

/// The jaws of a chuck.
#[derive(Clone, Debug, PartialEq)]
pub struct Jaws {
    /// How many.
    pub count: u32,
    /// Across, mm.
    pub width: f64,
    /// Along the axis, mm.
    pub length: f64,
    /// From the gripped radius out (inside grip: in), mm.
    pub height: f64,
    /// Where they grip.
    pub grip: Grip,
    /// Angle θ of the first jaw, degrees.
    pub turned_deg: f64,
}

/// Where jaws grip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grip {
    /// The outside of the blank.
    Outside,
    /// The bore.
    Inside,
}

/// The faceplate.
#[derive(Clone, Debug, PartialEq)]
pub struct Faceplate {
    /// mm.
    pub diameter: f64,
    /// mm.
    pub thickness: f64,
    /// Screws in the wood.
    pub screws: Vec<Screw>,
}

/// A screw of the faceplate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// Distance of its axis from the rotary axis, mm.
    pub radius: f64,
    /// Angle θ, degrees.
    pub angle_deg: f64,
    /// mm.
    pub diameter: f64,
    /// Depth in the wood, mm.
    pub length: f64,
}

/// The drive center.
#[derive(Clone, Debug, PartialEq)]
pub struct Drive {
    /// The center itself.
    pub center: Cylinder,
    /// How deep it bites into the blank, mm.
    pub bite: f64,
    /// The body behind it.
    pub body: Option<Cylinder>,
}

/// The tailstock with its live center.
#[derive(Clone, Debug, PartialEq)]
pub struct Tailstock {
    /// Included angle of the cone, degrees.
    pub angle_deg: f64,
    /// Greatest diameter of the cone, mm.
    pub diameter: f64,
    /// Diameter of the quill, mm.
    pub quill: f64,
    /// How far the quill stands out of the body, mm.
    pub extension: f64,
    /// The turning head between cone and quill.
    pub head: Option<Cylinder>,
    /// Depth of the cone's tip in the blank, mm.
    pub dimple: f64,
    /// The body.
    pub body: Option<TailstockBody>,
}

/// The body of the tailstock: a box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TailstockBody {
    /// Across, mm.
    pub width: f64,
    /// Its top over the axis, mm.
    pub above: f64,
    /// Along the axis, mm.
    pub length: f64,
}

/// A box that stands in the way.
#[derive(Clone, Debug, PartialEq)]
pub struct FixedBody {
    /// What findings call it.
    pub name: String,
    /// Least and greatest station, mm.
    pub x: [f64; 2],
    /// Least and greatest internal Y, mm.
    pub y: [f64; 2],
    /// Least and greatest height over the axis, mm.
    pub z: [f64; 2],
}

/// A cylinder about the spindle axis that moves with it.
#[derive(Clone, Debug, PartialEq)]
pub struct MovingBody {
    /// What findings call it.
    pub name: String,
    /// mm.
    pub diameter: f64,
    /// Lower end over the holder's lower face, mm; below zero it hangs under it.
    pub from: f64,
    /// Upper end, mm.
    pub to: f64,
}

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

/// The shape wanted. Read and checked; not compared with yet.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// The file as written.
    pub file: String,
    /// Where it lies.
    pub path: PathBuf,
    /// Unit of the file.
    pub units: LengthUnit,
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

/// Numbers of the rules.
#[derive(Clone, Debug, PartialEq)]
pub struct Checks {
    /// Closest approach that is let pass, mm.
    pub near: f64,
    /// The same for single fixed bodies, by the name the report uses.
    pub near_of: BTreeMap<String, f64>,
}

impl Checks {
    /// Closest approach to this fixed body that is let pass, mm.
    pub fn near(&self, fixed: &str) -> f64 {
        self.near_of.get(fixed).copied().unwrap_or(self.near)
    }
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

/// A finding accepted beforehand.
#[derive(Clone, Debug, PartialEq)]
pub struct Accept {
    /// The rule.
    pub rule: String,
    /// Number (from 1) of the program, or any.
    pub program: Option<u32>,
    /// First and last line, or any.
    pub lines: Option<[u32; 2]>,
    /// Why.
    pub why: String,
}

impl Scene {
    /// Whether the scene says what holds the blank.
    pub fn holding_described(&self) -> bool {
        self.chuck.is_some() || self.faceplate.is_some() || self.drive.is_some()
    }

    /// Whether every cutter has its stickout and its holder.
    pub fn holders_described(&self) -> bool {
        self.cutters.iter().all(|cutter| cutter.stickout.is_some() && !cutter.holder.is_empty())
    }

    /// Station of the blank's end in the holding, mm: 0, or behind it by what the jaws hold.
    pub fn blank_start(&self) -> f64 {
        match (&self.faceplate, &self.chuck) {
            (None, Some(chuck)) => -chuck.hold,
            _ => 0.0,
        }
    }

    /// The solid of the blank before anything is removed, bore included, dimple not.
    pub fn stock(&self) -> Stock {
        self.blank.stock(self.blank_start())
    }

    /// A bound on the greatest radius the blank sweeps, mm.
    pub fn swept_radius(&self) -> f64 {
        self.stock().swept_radius()
    }

    /// Index of the cutter with a T number.
    pub fn cutter_by_number(&self, number: u32) -> Option<u16> {
        self.cutters.iter().position(|cutter| cutter.number == number).and_then(|index| u16::try_from(index).ok())
    }
}
