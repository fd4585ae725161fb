//! What moves: straight lines, arcs, and what is known of them.

use super::arc::{self, Ends};
use super::modes::Motion;
use super::reader::Reader;
use crate::codes::Group;
use crate::command::Command;
use crate::diagnostic::{At, Kind};
use crate::listing::{AXES, Word};
use crate::program::{Arc, Block, BlockFlags, NO_ARC, NO_CUTTER};

/// Farthest a position may lie from the origin, mm or degrees: f64 still resolves 0.12 µm there.
const FARTHEST: f64 = 1e9;

impl Reader<'_> {
    /// The motion of a line: what its axis words do in the mode in force.
    pub(super) fn motion(&mut self, command: &mut Command<'_>, feed: Option<f64>) {
        let written = command.code_of(Group::Motion);
        let machine = command.code_of(Group::NonModal).filter(|code| code.code == 530);
        let named = command.named_axes();
        let is_arc = matches!(self.modes.motion, Motion::ArcClockwise | Motion::ArcCounterClockwise);
        let offsets = [b'I', b'J', b'K', b'R'].map(|letter| is_arc && command.has(letter));
        let whole_circle = written.is_some() && offsets.contains(&true);
        if named == 0 && !whole_circle {
            if let Some(code) = written.or(machine).filter(|code| code.code != 800) {
                let message = "a motion code without axis words only sets the mode";
                self.note(command.at, Kind::NoMotion, code.span, message);
            }
            return;
        }
        self.commanded(command.at.line, named);
        if let Some(code) = machine.filter(|_| !matches!(self.modes.motion, Motion::Rapid | Motion::Feed)) {
            let message = "G53 goes with G0 or G1 only";
            command.error(Kind::NoMotion, code.span, message, &mut self.diagnostics);
        }
        if matches!(self.modes.motion, Motion::Foreign(_) | Motion::None) && !command.doubtful {
            self.refuse_idle_axes(command);
        }
        if command.doubtful {
            self.forget(named);
            return;
        }
        let words = command.take_axes();
        let target = match machine {
            Some(_) => self.machine_target(command, &words),
            None => self.target(command, &words),
        };
        let Some((to, unknown)) = target else {
            self.forget(named);
            return;
        };
        self.modes_used(command.at.line, self.modes.motion == Motion::Rapid, is_arc);
        let mut refused = false;
        let mut circle = None;
        if is_arc {
            match self.arc(command, &to, unknown, named) {
                ArcFound::Arc(arc) => circle = Some(arc),
                ArcFound::Unknown => {}
                ArcFound::Refused => refused = true,
            }
        }
        let rapid = self.modes.motion == Motion::Rapid;
        let feed = if rapid { f64::NAN } else { self.feed_for(command, &to, feed) };
        self.push(command.at, Moved { to, unknown, rapid, feed, circle, refused });
    }

    fn refuse_idle_axes(&mut self, command: &mut Command<'_>) {
        let Some(word) = command.first_axis() else {
            return;
        };
        let message = match self.modes.motion {
            Motion::Foreign(_) => {
                let name = self.modes.motion.name();
                format!("{name} is in force, which is not taken: this word's motion is unknown")
            }
            _ => "an axis word, but no motion code is in force".to_owned(),
        };
        command.error(Kind::NoMotion, word.span, message, &mut self.diagnostics);
    }

    /// Where the axis words lead in the system in force.
    pub(super) fn target(&mut self, command: &mut Command<'_>, words: &[Option<Word>; 6]) -> Option<([f64; 6], u8)> {
        let (mut to, mut unknown) = (self.place, self.unknown);
        for (axis, word) in words.iter().enumerate() {
            let Some(word) = word else { continue };
            let value = word.value * self.modes.scale(axis);
            if !self.modes.incremental {
                to[axis] = value + self.offset(axis);
                unknown &= !(1 << axis);
            } else if unknown & 1 << axis == 0 {
                to[axis] += value;
            } else {
                let letter = char::from(AXES[axis]);
                let message = format!("G91 moves {letter} from a place nobody knows");
                self.warn(command.at, Kind::Position, word.span, message);
            }
            if self.is_too_far(to[axis]) {
                self.too_far(command, *word);
                return None;
            }
        }
        Some((to, unknown))
    }

    pub(super) fn is_too_far(&self, place: f64) -> bool {
        place.is_nan() || place.abs() > FARTHEST
    }

    pub(super) fn too_far(&mut self, command: &mut Command<'_>, word: Word) {
        let message = "this lies more than a million metres or a thousand million degrees away";
        command.error(Kind::Number, word.span, message, &mut self.diagnostics);
    }

    fn arc(&mut self, command: &mut Command<'_>, to: &[f64; 6], unknown: u8, named: u8) -> ArcFound {
        let span = command.motion_span();
        if !self.setup.arcs {
            let message = "this controller takes no arcs";
            command.error(Kind::NotUnderstood, span, message, &mut self.diagnostics);
            return ArcFound::Refused;
        }
        let [first, second, _] = self.modes.plane.axes();
        let in_plane = 1 << first | 1 << second;
        let letters = [b'I', b'J', b'K'];
        let offset = [first, second].map(|axis| command.take(letters[axis]));
        let radius = command.take(b'R');
        let scale = self.modes.length_scale();
        let problem = match (offset, radius) {
            ([None, None], None) => Some(self.modes.plane_needs()),
            ([None, None], Some(_)) if named & in_plane == 0 => {
                Some("an arc given by its radius needs an end in its plane")
            }
            ([None, None], Some(word)) if word.value == 0.0 => Some("an arc's radius is not zero"),
            ([None, None], Some(_)) | (_, None) => None,
            _ => Some("an arc has a centre or a radius, not both"),
        };
        if let Some(message) = problem {
            command.error(Kind::Arc, span, message, &mut self.diagnostics);
            return ArcFound::Refused;
        }
        if (self.unknown | unknown) & in_plane != 0 {
            return ArcFound::Unknown;
        }
        let ends = Ends {
            plane: self.modes.plane,
            start: [self.place[first], self.place[second]],
            end: [to[first], to[second]],
            clockwise: self.modes.motion == Motion::ArcClockwise,
            slack: self.setup.arc_slack_mm,
        };
        let found = match radius {
            Some(word) => arc::by_radius(ends, word.value * scale),
            None => arc::by_center(ends, offset.map(|word| word.map_or(0.0, |word| word.value * scale))),
        };
        match found {
            Ok(arc) => ArcFound::Arc(arc),
            Err(message) => {
                command.error(Kind::Arc, span, message, &mut self.diagnostics);
                ArcFound::Refused
            }
        }
    }

    /// The feed of a block: mm/min, °/min for rotary words alone, or 1/min; NaN where none is in force.
    fn feed_for(&mut self, command: &Command<'_>, to: &[f64; 6], on_line: Option<f64>) -> f64 {
        if self.modes.inverse_time {
            if on_line.is_none() {
                let message = "G93 needs an F word on every line that feeds";
                let span = command.motion_span();
                self.error(command.at, Kind::Feed, span, message);
            }
            return on_line.unwrap_or(f64::NAN);
        }
        let Some(number) = self.feed else {
            return f64::NAN;
        };
        let rotary_only = (0..3).all(|axis| to[axis] == self.place[axis]) && self.unknown & 0b111 == 0;
        if rotary_only {
            return number;
        }
        if self.feed_inch != self.modes.inch {
            let message = "the feed was given in the other length unit; its number is taken in this one";
            let span = command.motion_span();
            self.warn(command.at, Kind::Feed, span, message);
        }
        number * self.modes.length_scale()
    }

    /// Writes a block down and goes where it leads.
    pub(super) fn push(&mut self, at: At<'_>, moved: Moved) {
        if self.program.blocks.len() as u64 >= self.setup.max_blocks.min(u64::from(u32::MAX)) {
            let message = format!("more than {} blocks", self.setup.max_blocks);
            self.refuse(at, Kind::Budget, message, "raise the budget of the controller, in blocks");
            return;
        }
        let mut flags = BlockFlags::default();
        flags.set(BlockFlags::RAPID, moved.rapid);
        flags.set(BlockFlags::INVERSE_TIME, self.modes.inverse_time && !moved.rapid);
        flags.set(BlockFlags::SPINDLE_ON, self.spindle_turns && self.spindle_speed != Some(0.0));
        flags.set(BlockFlags::START_UNKNOWN, self.unknown != 0 || moved.refused || !self.stands_where_left());
        flags.set(BlockFlags::INCH, self.modes.inch);
        flags.set_unknown(moved.unknown);
        let arc = match moved.circle {
            Some(circle) => {
                self.program.arcs.push(circle);
                self.program.arcs.len() as u32 - 1
            }
            None => NO_ARC,
        };
        debug_assert!(moved.to.iter().all(|word| word.is_finite()));
        self.program.blocks.push(Block {
            to: moved.to,
            line: at.line,
            feed: moved.feed as f32,
            arc,
            cutter: self.cutter.and_then(|number| u16::try_from(number).ok()).unwrap_or(NO_CUTTER),
            flags,
        });
        self.place = moved.to;
        self.unknown = moved.unknown;
    }

    /// Whether the tip stands where the block before ended: a bad line may have moved it to nobody knows where, and G92
    /// given it a new place since.
    fn stands_where_left(&self) -> bool {
        let left_at = self.program.start_of(self.program.blocks.len());
        left_at.iter().zip(self.place).all(|(left, place)| *left == Some(place))
    }

    /// What a bad line moves is unknown until commanded again.
    pub(super) fn forget(&mut self, named: u8) {
        self.unknown |= named;
    }

    pub(super) fn commanded(&mut self, line: u32, words: u8) {
        for (axis, first) in self.program.facts.commanded.iter_mut().enumerate() {
            if words & 1 << axis != 0 {
                first.get_or_insert(line);
            }
        }
    }
}

/// What became of an arc.
enum ArcFound {
    Arc(Arc),
    /// Its start or end is unknown.
    Unknown,
    Refused,
}

/// A motion to be written down.
pub(super) struct Moved {
    pub(super) to: [f64; 6],
    pub(super) unknown: u8,
    pub(super) rapid: bool,
    pub(super) feed: f64,
    pub(super) circle: Option<Arc>,
    pub(super) refused: bool,
}
