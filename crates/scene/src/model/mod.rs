//! The checked scene: every number in mm, mm/min and degrees, every default applied.

mod bodies;
mod checks;
mod machine;
mod run;

use std::collections::BTreeMap;
use std::path::PathBuf;

use dryturn_geom::Stock;
use dryturn_geom::units::LengthUnit;

pub use bodies::*;
pub use checks::*;
pub use machine::*;
pub use run::*;

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
    /// How many pieces are cut, if it is said.
    pub batch: Option<Batch>,
    /// How far things may be off, if it is said.
    pub doubt: Option<Doubt>,
    /// Findings accepted beforehand.
    pub accept: Vec<Accept>,
    /// Heights over the axis that were found by touching off on wood, mm, by the index of the program and its coordinate
    /// system; see [`Scene::next_touch_off`].
    pub touched: BTreeMap<(usize, usize), f64>,
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
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Written in the scene file.
    Scene,
    /// Given on the command line.
    Flag,
    /// Written in a library, by the name it is used under.
    Library(String),
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

impl Scene {
    /// The scene on a grid of another pitch, mm, that was asked for on the command line.
    pub fn at_pitch(mut self, pitch: f64) -> Scene {
        const KEY: &str = "grid.pitch";
        self.grid.pitch = pitch;
        self.given.insert(KEY.to_owned(), Origin::Flag);
        self.assumed.retain(|assumed| assumed.key != KEY);
        self
    }

    /// Whether the scene says what holds the blank.
    pub fn holding_described(&self) -> bool {
        self.chuck.is_some() || self.faceplate.is_some() || self.drive.is_some()
    }

    /// Whether every cutter has its stickout and its holder.
    pub fn holders_described(&self) -> bool {
        self.cutters.iter().all(|cutter| cutter.stickout.is_some() && !cutter.holder.is_empty())
    }

    /// Station of the blank's end in the holding, mm: 0, or behind it by what the jaws hold, and as far out as it is shifted.
    pub fn blank_start(&self) -> f64 {
        let held = self.gripping().map_or(0.0, |chuck| -chuck.hold);
        held + self.blank.shift()
    }

    /// The chuck, where its jaws hold the blank themselves.
    pub fn gripping(&self) -> Option<&Chuck> {
        self.chuck.as_ref().filter(|_| self.faceplate.is_none() && self.drive.is_none())
    }

    /// Length of blank behind the front of the jaws, mm; 0 where they hold nothing of it.
    pub fn held(&self) -> f64 {
        self.gripping().map_or(0.0, |_| (-self.blank_start()).max(0.0))
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
