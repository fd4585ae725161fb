//! The modes in force, from the standard's power-on state on.

use crate::codes::{self, Group};
use crate::command::Command;
use crate::program::{Facts, Plane};
use crate::view::PathControl;

/// Millimetres in an inch.
const INCH: f64 = 25.4;

/// What axis words alone do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Motion {
    /// Nothing has been said, or G80.
    None,
    Rapid,
    Feed,
    ArcClockwise,
    ArcCounterClockwise,
    /// A canned cycle, ten times its number.
    Cycle(u32),
    /// A code that is not taken, ten times its number.
    Foreign(u32),
}

impl Motion {
    /// The mode a code of group 1 sets.
    fn of(code: u32) -> Self {
        match code {
            0 => Motion::Rapid,
            10 => Motion::Feed,
            20 => Motion::ArcClockwise,
            30 => Motion::ArcCounterClockwise,
            cycle if codes::is_cycle(cycle) => Motion::Cycle(cycle),
            _ => Motion::None,
        }
    }

    pub(super) fn name(self) -> String {
        match self {
            Motion::None => "G80".to_owned(),
            Motion::Rapid => "G0".to_owned(),
            Motion::Feed => "G1".to_owned(),
            Motion::ArcClockwise => "G2".to_owned(),
            Motion::ArcCounterClockwise => "G3".to_owned(),
            Motion::Cycle(tenths) | Motion::Foreign(tenths) => codes::g_name(tenths),
        }
    }
}

/// The modes that matter to motion.
#[derive(Debug, Clone, Copy)]
pub(super) struct Modes {
    pub(super) motion: Motion,
    pub(super) plane: Plane,
    pub(super) incremental: bool,
    pub(super) inverse_time: bool,
    pub(super) inch: bool,
    /// I, J, K are places, not increments (G90.1).
    pub(super) arc_absolute: bool,
    /// Cycles end at R (G99), not where they began.
    pub(super) retract_to_r: bool,
    /// Coordinate system, 0 for G54 … 8 for G59.3.
    pub(super) system: usize,
    /// M7.
    pub(super) mist: bool,
    /// M8.
    pub(super) flood: bool,
    /// M48.
    pub(super) overrides: bool,
    pub(super) path_control: PathControl,
}

impl Modes {
    /// Power on: G17, G90, G94, G21, G54, and no motion mode.
    pub(super) fn new() -> Self {
        Self {
            motion: Motion::None,
            plane: Plane::Xy,
            incremental: false,
            inverse_time: false,
            inch: false,
            arc_absolute: false,
            retract_to_r: false,
            system: 0,
            mist: false,
            flood: false,
            overrides: true,
            path_control: PathControl::Unsaid,
        }
    }

    /// Millimetres or degrees in a unit of an axis word: rotary words are never scaled.
    pub(super) fn scale(&self, axis: usize) -> f64 {
        if axis < 3 { self.length_scale() } else { 1.0 }
    }

    /// Millimetres in the length unit in force.
    pub(super) fn length_scale(&self) -> f64 {
        if self.inch { INCH } else { 1.0 }
    }

    /// What an arc in the plane in force must have.
    pub(super) fn plane_needs(&self) -> &'static str {
        match self.plane {
            Plane::Xy => "an arc in G17 needs a centre (I, J) or a radius (R)",
            Plane::Zx => "an arc in G18 needs a centre (I, K) or a radius (R)",
            Plane::Yz => "an arc in G19 needs a centre (J, K) or a radius (R)",
        }
    }

    pub(super) fn set_plane(&mut self, command: &Command<'_>, facts: &mut Facts) {
        let Some(code) = command.code_of(Group::Plane) else {
            return;
        };
        facts.plane = true;
        self.plane = match code.code {
            170 => Plane::Xy,
            180 => Plane::Zx,
            _ => Plane::Yz,
        };
    }

    pub(super) fn set_units(&mut self, command: &Command<'_>, facts: &mut Facts) {
        if let Some(code) = command.code_of(Group::Units) {
            self.inch = code.code == 200;
            facts.inch |= self.inch;
            facts.millimetres |= !self.inch;
            facts.units.get_or_insert(command.at.line);
        }
    }

    pub(super) fn set_system(&mut self, command: &Command<'_>) {
        if let Some(code) = command.code_of(Group::System) {
            self.system = match code.code {
                tenths @ 591..=593 => (tenths - 591) as usize + 6,
                tenths => (tenths / 10 - 54) as usize,
            };
        }
    }

    pub(super) fn set_distance(&mut self, command: &Command<'_>, facts: &mut Facts) {
        if let Some(code) = command.code_of(Group::Distance) {
            facts.distance = true;
            self.incremental = code.code == 910;
        }
    }

    /// M2 and M30 (NISTIR 6556 section 3.6.1): G54, G17, G90, G94, G1, M9 and M48; units, G61 to G64, G98 and G99 stay.
    pub(super) fn end(&mut self) {
        let Self { inch, retract_to_r, path_control, .. } = *self;
        *self = Self { motion: Motion::Feed, inch, retract_to_r, path_control, ..Self::new() };
    }

    /// M7, M8, M9; M48, M49.
    pub(super) fn set_switches(&mut self, command: &Command<'_>) {
        match command.code_of(Group::Coolant).map(|code| code.code) {
            _ if command.both_coolants => (self.mist, self.flood) = (true, true),
            Some(7) => self.mist = true,
            Some(8) => self.flood = true,
            Some(_) => (self.mist, self.flood) = (false, false),
            None => {}
        }
        if let Some(code) = command.code_of(Group::Override) {
            self.overrides = code.code == 48;
        }
    }

    /// G90.1, G91.1, G98, G99.
    pub(super) fn set_small_ones(&mut self, command: &Command<'_>) {
        if let Some(code) = command.code_of(Group::ArcDistance) {
            self.arc_absolute = code.code == 901;
        }
        if let Some(code) = command.code_of(Group::Retract) {
            self.retract_to_r = code.code == 990;
        }
    }

    pub(super) fn set_motion(&mut self, command: &Command<'_>) {
        if let Some(code) = command.code_of(Group::Motion) {
            self.motion = Motion::of(code.code);
        } else if let Some(tenths) = command.foreign_mode {
            self.motion = Motion::Foreign(tenths);
        }
    }
}
