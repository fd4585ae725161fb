//! What moves: straight lines, arcs, and what is known of them.

use super::arc::{self, Ends};
use super::modes::Motion;
use super::reader::Reader;
use crate::codes::Group;
use crate::command::Command;
use crate::diagnostic::{At, Kind};
use crate::listing::{AXES, Word};
use crate::program::{Arc, Block, BlockFlags, NO_ARC, NO_CUTTER, SAME, ToolOffset};

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
        let is_cycle = matches!(self.modes.motion, Motion::Cycle(_));
        if named == 0 && !whole_circle && !(is_cycle && (written.is_some() || command.has(b'R'))) {
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
        if let Motion::Cycle(code) = self.modes.motion {
            self.cycle(command, code, named);
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
        let moved = Moved { to, unknown, rapid, feed, circle, refused };
        match self.compensation {
            Some(compensation) => self.compensated(command, compensation, moved),
            None => self.push(command.at, moved),
        }
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
        let (mut to, mut unknown) = (self.programmed(), self.unknown);
        for (axis, word) in words.iter().enumerate() {
            let Some(word) = word else { continue };
            let value = word.value * self.modes.scale(axis);
            if !self.modes.incremental {
                let place = self.placed(axis, value);
                unknown = if place.is_some() { unknown & !(1 << axis) } else { unknown | 1 << axis };
                to[axis] = place.unwrap_or(to[axis]);
                if place.is_none() {
                    self.place_unknown(command, axis, *word);
                } else if axis == 2 && self.length == ToolOffset::None {
                    let message = "no tool length is in force: this Z places the spindle, not the cutter's tip";
                    self.note(command.at, Kind::Position, word.span, message);
                }
            } else if unknown & 1 << axis == 0 {
                to[axis] += value;
            } else if value != 0.0 {
                // An increment of zero moves nothing, wherever the word is: `G91 G28 Z0` goes straight home.
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

    /// Says why an absolute word leads nowhere known.
    fn place_unknown(&mut self, command: &Command<'_>, axis: usize, word: Word) {
        let letter = char::from(AXES[axis]);
        let reason = if self.unknown_origins[self.modes.system] & 1 << axis != 0 {
            "its origin is"
        } else {
            "no tool length is in force, or the cutter's stickout is not given, and its place is"
        };
        let message = format!("{letter} is unknown from here until commanded again: {reason} unknown");
        self.note(command.at, Kind::Position, word.span, message);
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
            let message = "this controller takes no arcs ([controller] arcs = false in the scene)";
            command.error(Kind::NotUnderstood, span, message, &mut self.diagnostics);
            return ArcFound::Refused;
        }
        let [first, second, _] = self.modes.plane.axes();
        let in_plane = 1 << first | 1 << second;
        let letters = [b'I', b'J', b'K'];
        let place = self.programmed();
        let start = [place[first], place[second]];
        let offset = [first, second].map(|axis| command.take(letters[axis]));
        let absolute = self.modes.arc_absolute;
        let radius = command.take(b'R');
        let scale = self.modes.length_scale();
        let problem = match (offset, radius) {
            ([None, None], None) => Some(self.modes.plane_needs()),
            ([None, None], Some(_)) if named & in_plane == 0 => {
                Some("an arc given by its radius needs an end in its plane")
            }
            ([None, None], Some(word)) if word.value == 0.0 => Some("an arc's radius is not zero"),
            ([Some(_), None] | [None, Some(_)], None) if absolute => {
                Some("under G90.1 an arc needs both words of its centre")
            }
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
            start,
            end: [to[first], to[second]],
            clockwise: self.modes.motion == Motion::ArcClockwise,
            slack: self.setup.arc_slack_mm,
        };
        let found = match radius {
            Some(word) => arc::by_radius(ends, word.value * scale),
            None => {
                let offset = offset.map(|word| word.map_or(0.0, |word| word.value * scale));
                let center = [first, second].map(|axis| self.placed(axis, 0.0).unwrap_or(0.0));
                let from_start = |k: usize| if absolute { offset[k] + center[k] - start[k] } else { offset[k] };
                arc::by_center(ends, [from_start(0), from_start(1)])
            }
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
    pub(super) fn feed_for(&mut self, command: &Command<'_>, to: &[f64; 6], on_line: Option<f64>) -> f64 {
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
        let from = self.programmed();
        let stands = |axis: usize| (to[axis] - from[axis]).abs() <= SAME;
        let rotary_only = (0..3).all(stands) && self.unknown & 0b111 == 0;
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
        if self.is_over() {
            return;
        }
        if self.program.blocks.len() as u64 >= self.most_blocks() {
            let message = format!("more than {} blocks by calls, loops and repeats", self.setup.max_blocks);
            self.refuse(
                at,
                Kind::Budget,
                message,
                "if it is meant, raise it in the scene: [controller] budget = { blocks = … }",
            );
            return;
        }
        if !moved.rapid {
            self.cuts_under_length(at);
        }
        let mut flags = BlockFlags::default();
        flags.set(BlockFlags::RAPID, moved.rapid);
        flags.set(BlockFlags::INVERSE_TIME, self.modes.inverse_time && !moved.rapid);
        flags.set(BlockFlags::SPINDLE_ON, self.spindle_turns && self.spindle_speed != Some(0.0));
        let start_unknown = self.unknown != 0 || moved.refused || !self.stands_where_left();
        flags.set(BlockFlags::START_UNKNOWN, start_unknown);
        flags.set(BlockFlags::BROKEN, start_unknown && self.is_broken(&moved));
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

    /// Puts the tip at another Z without a motion of the machine: a block from nowhere known, so that the next one
    /// starts where it does.
    pub(super) fn jump_to(&mut self, at: At<'_>, z: f64) {
        let mut to = self.place;
        to[2] = z;
        let unknown = self.unknown;
        self.push(at, Moved { to, unknown, rapid: true, feed: f64::NAN, circle: None, refused: true });
    }

    /// Whether the tip stands where the block before ended: a bad line may have moved it to nobody knows where, and G92
    /// given it a new place since.
    fn stands_where_left(&self) -> bool {
        match self.program.blocks.last() {
            Some(before) => before.unknown() == 0 && before.to == self.place,
            None => self.program.start.iter().zip(self.place).all(|(left, place)| *left == Some(place)),
        }
    }

    /// Whether a block is no straight line even for the words whose start is known.
    fn is_broken(&self, moved: &Moved) -> bool {
        let is_arc = matches!(self.modes.motion, Motion::ArcClockwise | Motion::ArcCounterClockwise);
        let left = self.program.start_of(self.program.blocks.len());
        let moved_since = |word: usize| {
            let stands = self.unknown & 1 << word == 0;
            left[word].is_some_and(|left| !stands || left != self.place[word])
        };
        moved.refused || is_arc && moved.circle.is_none() || (0..6).any(moved_since)
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
