//! What a program resolves to: blocks with places, arcs, events; no modes, units, offsets or planes.

use std::collections::BTreeMap;

use crate::codes::g_name;
use crate::command::whole;
use crate::diagnostic::{Diagnostic, Span};
use crate::view::ModalFrom;

/// `Block::cutter` of an empty spindle, or one whose cutter nobody named.
pub const NO_CUTTER: u16 = u16::MAX;

/// `Block::arc` of a straight block.
pub const NO_ARC: u32 = u32::MAX;

/// Places nearer than this are the same, mm or degrees: sums of decimal words differ by less.
pub(crate) const SAME: f64 = 1e-9;

/// What machine and scene say before the first line. Positions and words are X Y Z A B C, in mm and
/// degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Origins of G54 … G59.3 relative to that of G54 (whose own entry is normally zero).
    pub origins: [[f64; 6]; 9],
    /// The G92 offset that the program before left in force, mm and degrees.
    pub g92: [f64; 6],
    /// Position before the first block in G54 terms; `None`: unknown until commanded.
    pub start: [Option<f64>; 6],
    /// Where machine zero (G53) lies in G54 terms; Z for a cutter without stickout.
    pub machine_zero: [Option<f64>; 6],
    /// Stickout by cutter number, mm: the tip lies that far under the machine's Z reference.
    pub stickouts: BTreeMap<u32, f64>,
    /// Number of the cutter in the spindle at the start.
    pub cutter: Option<u32>,
    /// The controller takes no notice of M6: the cutter stays.
    pub m6_ignored: bool,
    /// Lines that start with `/` are skipped.
    pub block_delete: bool,
    /// Greatest difference of an arc's start and end radius, mm; 0.1 % of the radius passes too, over
    /// 0.5 mm never does.
    pub arc_slack_mm: f64,
    /// The controller takes G2 and G3.
    pub arcs: bool,
    /// The controller takes G93.
    pub inverse_time: bool,
    /// Most bytes on a line.
    pub line_limit: usize,
    /// P of G4 is milliseconds, not seconds.
    pub dwell_milliseconds: bool,
    /// Errors do not stop: what a bad line moves becomes unknown and the reading goes on.
    pub lenient: bool,
    /// Which of A, B, C the machine has: those a bare G28 sends home.
    pub rotary_words: [bool; 3],
    /// Most blocks beyond one a line, so of those that calls, loops and repeats make; the same for events.
    pub max_blocks: u64,
    /// Most lines executed once a program calls or repeats.
    pub max_steps: u64,
    /// Deepest nesting of calls.
    pub max_depth: u32,
    /// What the controller does where it does not understand a word, if that is known.
    pub not_understood: Option<NotUnderstood>,
    /// Codes and letters that the controller drops without a word.
    pub drops: Vec<Dropped>,
    /// The controller takes parameters, expressions and functions.
    pub expressions: bool,
    /// The controller takes subprograms, conditions and loops.
    pub subprograms: bool,
    /// The controller takes canned cycles.
    pub canned: bool,
    /// The controller takes G43 with H, the lengths being [`Setup::stickouts`].
    pub tool_length: bool,
    /// The controller takes G41 and G42, the diameters being [`Setup::diameters`].
    pub compensation: bool,
    /// The tool length offset in force before the first line.
    pub tool_offset: ToolOffset,
    /// Diameter by cutter number, mm; negative: compensation goes to the other side.
    pub diameters: BTreeMap<u32, f64>,
    /// Parameters before the first line: those of 5161 … 5186 (home, in machine coordinates), 5211 … 5216 (the G92
    /// offset that G92.3 brings back) and 5220 (the system in force) act; lengths in mm. The origins, 5221 … 5386,
    /// come from [`Setup::origins`] and [`Setup::machine_zero`].
    pub parameters: BTreeMap<u16, f64>,
}

/// The tool length offset in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ToolOffset {
    /// No G43 in the job: each cutter is zeroed by hand.
    #[default]
    ByHand,
    /// None (G49): Z words place the spindle's reference.
    None,
    /// The length of this cutter (G43).
    Of(u32),
}

/// Something that a controller drops without a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dropped {
    /// All words with this letter, in upper case; not G, M or N.
    Letter(u8),
    /// A G code, ten times its number.
    G(u32),
    /// An M code.
    M(u32),
}

impl std::str::FromStr for Dropped {
    type Err = String;

    /// A letter, or a code as it is written: `S`, `G64`, `G61.1`, `M8`.
    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || format!("`{text}` is no letter and no G or M code");
        let (letter, number) = text.split_at_checked(1).ok_or_else(wrong)?;
        let number = number.trim();
        match (letter.to_ascii_uppercase().as_bytes(), number.parse::<f64>()) {
            ([b'G'], Ok(value)) => whole(value * 10.0, 1e-6).map(Dropped::G).ok_or_else(wrong),
            ([b'M'], Ok(value)) => whole(value, 1e-6).map(Dropped::M).ok_or_else(wrong),
            ([letter], _) if number.is_empty() && letter.is_ascii_uppercase() && !b"GMNO".contains(letter) => {
                Ok(Dropped::Letter(*letter))
            }
            _ => Err(wrong()),
        }
    }
}

impl std::fmt::Display for Dropped {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Dropped::Letter(letter) => write!(f, "{}", char::from(*letter)),
            Dropped::G(tenths) => f.write_str(&g_name(*tenths)),
            Dropped::M(code) => write!(f, "M{code}"),
        }
    }
}

/// What a controller does where it does not understand a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotUnderstood {
    /// It stops with an error.
    Stops,
    /// It passes over the word and executes the rest of the line.
    Ignores,
}

impl NotUnderstood {
    pub(crate) fn advice(self) -> &'static str {
        match self {
            NotUnderstood::Stops => "this controller stops here with an error",
            NotUnderstood::Ignores => "this controller passes over it and executes the rest",
        }
    }
}

impl Default for Setup {
    fn default() -> Self {
        Self {
            g92: [0.0; 6],
            origins: [[0.0; 6]; 9],
            start: [None; 6],
            machine_zero: [None; 6],
            stickouts: BTreeMap::new(),
            cutter: None,
            m6_ignored: false,
            block_delete: false,
            arc_slack_mm: 0.005,
            arcs: true,
            inverse_time: true,
            line_limit: 256,
            dwell_milliseconds: false,
            lenient: false,
            rotary_words: [true, false, false],
            max_blocks: 5_000_000,
            max_steps: 5_000_000,
            max_depth: 10,
            not_understood: None,
            drops: Vec::new(),
            expressions: true,
            subprograms: true,
            canned: true,
            tool_length: true,
            compensation: true,
            tool_offset: ToolOffset::ByHand,
            diameters: BTreeMap::new(),
            parameters: BTreeMap::new(),
        }
    }
}

/// Facts about a block, one bit each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct BlockFlags(u16);

impl BlockFlags {
    /// A move at traverse rate.
    pub const RAPID: Self = Self(1 << 6);
    /// The feed is 1/min (G93).
    pub const INVERSE_TIME: Self = Self(1 << 7);
    /// M3 or M4 is in force, with a speed other than S0.
    pub const SPINDLE_ON: Self = Self(1 << 8);
    /// How the block moves cannot be known: a word's start is unknown, or a bad line was read leniently.
    pub const START_UNKNOWN: Self = Self(1 << 9);
    /// Some word is unknown where the block ends; [`Block::unknown`] tells which.
    pub const END_UNKNOWN: Self = Self(1 << 10);
    /// The program's unit was the inch.
    pub const INCH: Self = Self(1 << 11);

    /// Only beside `START_UNKNOWN`: not even the words that are known go straight from where the block before left them.
    pub(crate) const BROKEN: Self = Self(1 << 12);

    /// Bits 0 … 5: this word is unknown at the end.
    const WORDS: u16 = 0b11_1111;

    /// Whether all bits of `other` are set.
    pub fn has(self, other: Self) -> bool {
        self.0 & other.0 == other.0
    }

    pub(crate) fn set(&mut self, other: Self, on: bool) {
        if on {
            self.0 |= other.0;
        } else {
            self.0 &= !other.0;
        }
    }

    pub(crate) fn set_unknown(&mut self, words: u8) {
        self.0 = self.0 & !Self::WORDS | u16::from(words) & Self::WORDS;
        self.set(Self::END_UNKNOWN, words != 0);
    }
}

/// The motion of one line: from where the block before ends to `to`. It may have no length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// Where it ends, mm and degrees in G54 terms, X Y Z A B C; always finite. A word that is unknown
    /// holds its last known value, or 0.
    pub to: [f64; 6],
    /// Its line, from 1.
    pub line: u32,
    /// mm/min, or °/min where no linear word moves, or 1/min with `INVERSE_TIME`; NaN: none in force, or
    /// a rapid.
    pub feed: f32,
    /// Index into [`Program::arcs`], or [`NO_ARC`].
    pub arc: u32,
    /// Number of the cutter in the spindle, or [`NO_CUTTER`].
    pub cutter: u16,
    /// Facts, one bit each.
    pub flags: BlockFlags,
}

impl Block {
    /// Words that are unknown where the block ends, bit 0 X … bit 5 C.
    pub fn unknown(&self) -> u8 {
        (self.flags.0 & BlockFlags::WORDS) as u8
    }

    /// Where a word stands at its end; `None` where nobody knows.
    pub(crate) fn known(&self, word: usize) -> Option<f64> {
        (self.unknown() & 1 << word == 0).then_some(self.to[word])
    }

    /// Whether it moves from or to a place that nobody knows.
    pub fn is_unknown(&self) -> bool {
        self.flags.has(BlockFlags::START_UNKNOWN) || self.flags.has(BlockFlags::END_UNKNOWN)
    }
}

/// A plane of arcs, named by its axes in right-handed order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plane {
    /// G17.
    Xy,
    /// G18.
    Zx,
    /// G19.
    Yz,
}

impl Plane {
    /// Places of first axis, second axis and normal among the words.
    pub fn axes(self) -> [usize; 3] {
        match self {
            Plane::Xy => [0, 1, 2],
            Plane::Zx => [2, 0, 1],
            Plane::Yz => [1, 2, 0],
        }
    }
}

/// The circle a block follows in its plane, in G54 terms. All other words move evenly with the sweep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Which two linear words turn.
    pub plane: Plane,
    /// Centre along first and second axis, mm.
    pub center: [f64; 2],
    /// Direction of the start from the centre, rad from the first axis toward the second, −π … π.
    pub from: f64,
    /// Signed angle of travel, rad, from the first axis toward the second; never 0, at most 2π in size.
    pub sweep: f64,
    /// Radius, mm. The start lies on the circle; the end may miss it by the slack, and is as programmed.
    pub radius: f64,
}

/// Something other than motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// It happens after so many blocks.
    pub after_blocks: u32,
    /// Its line, from 1.
    pub line: u32,
    /// What happens.
    pub kind: EventKind,
}

/// What an [`Event`] is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EventKind {
    /// Standing still for so many seconds.
    Dwell(f64),
    /// M0.
    Stop,
    /// M1.
    OptionalStop,
    /// Another cutter, or the same again, comes into the spindle; `None`: the spindle is left empty.
    CutterChange(Option<u32>),
    /// M3.
    SpindleClockwise,
    /// M4.
    SpindleCounterClockwise,
    /// M5, or M6, which stops it.
    SpindleOff,
    /// A new speed, 1/min.
    SpindleSpeed(f64),
    /// M2, M30 or the closing percent line.
    End,
}

/// What the controller displays from a block on: the position less this.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// First block it holds for.
    pub first_block: u32,
    /// Origin of the active system and G92 together, mm and degrees.
    pub offset: [f64; 6],
    /// Active system, 1 (G54) … 9 (G59.3).
    pub system: u8,
}

/// Where a cutter was first called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CutterUse {
    /// Line, from 1.
    pub line: u32,
    /// Its T word, in bytes of the line.
    pub span: Span,
}

/// What the program said anywhere in what was executed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Facts {
    /// First line on which each word was commanded, X Y Z A B C.
    pub commanded: [Option<u32>; 6],
    /// M3, M4, M5 or S occurs.
    pub spindle: bool,
    /// G20 occurs.
    pub inch: bool,
    /// G21 occurs.
    pub millimetres: bool,
    /// First line with either of them.
    pub units: Option<u32>,
    /// G17, G18 or G19 occurs.
    pub plane: bool,
    /// G90 or G91 occurs.
    pub distance: bool,
    /// G93 or G94 occurs.
    pub feed_mode: bool,
    /// G93 occurs.
    pub inverse_time: bool,
    /// An F word occurs.
    pub feed: bool,
    /// M6 occurs.
    pub m6: bool,
    /// G43 occurs.
    pub tool_length: bool,
    /// G92 occurs.
    pub g92: bool,
    /// Something called, repeated or passed over lines, so that those of the blocks may fall.
    pub jumps: bool,
    /// Lines executed since then.
    pub steps: u64,
    /// The deepest nesting of calls.
    pub depth: u32,
    /// M2, M30 or a closing percent line was reached.
    pub ended: bool,
    /// Every cutter called, T0 included, and where first.
    pub cutters: BTreeMap<u32, CutterUse>,
}

/// What was written down when a line came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Visit {
    /// Blocks.
    pub(crate) blocks: u32,
    /// Entries of [`Program::modals`].
    pub(crate) modals: u32,
}

/// A program, resolved.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Program {
    /// Motions in order.
    pub blocks: Vec<Block>,
    /// Circles the blocks refer to.
    pub arcs: Vec<Arc>,
    /// All that is not motion, in order.
    pub events: Vec<Event>,
    /// What the display is off by, by first block; the first entry is for block 0.
    pub shown: Vec<Shown>,
    /// Modes that change seldom, by first block.
    pub modals: Vec<ModalFrom>,
    /// What is wrong, by line; at most about 200, the last one then counts the rest.
    pub diagnostics: Vec<Diagnostic>,
    /// How many notes, warnings and errors there are, those left out included.
    pub counted: [usize; 3],
    /// Lines in the file.
    pub lines: u32,
    /// Where the program leaves the tip, in G54 terms; `None`: unknown.
    pub end: [Option<f64>; 6],
    /// The cutter it leaves in the spindle.
    pub end_cutter: Option<u32>,
    /// What it said.
    pub facts: Facts,
    /// Origins of G54 … G59.3 at the end, as [`Setup::origins`] gives them at the start.
    pub end_origins: [[f64; 6]; 9],
    /// The tool length offset in force at the end.
    pub end_tool_offset: ToolOffset,
    /// The G92 offset in force at the end, mm and degrees: nothing after M2 or M30.
    pub end_g92: [f64; 6],
    /// What the display is off by once all has ended, as [`Shown::offset`].
    pub end_offset: [f64; 6],
    /// The set-up's parameters as the program leaves them, with those it set itself; what stands for a length is in mm.
    pub parameters: BTreeMap<u16, f64>,
    /// Where each line was executed first, once something called, repeated or passed over lines.
    pub(crate) visits: BTreeMap<u32, Visit>,
    /// The first line that did so; those before it came in order.
    pub(crate) first_jump: Option<(u32, Visit)>,
    pub(crate) start: [Option<f64>; 6],
    pub(crate) stopped: bool,
}

impl Program {
    /// Whether the blocks cannot be relied on: an error, unless lenient; always for an error that ended
    /// the reading (no text, nothing in it, over budget).
    pub fn stopped(&self) -> bool {
        self.stopped
    }

    /// Where a block starts, X Y Z A B C; `None`: unknown. Block `blocks.len()` starts where all ends.
    pub fn start_of(&self, block: usize) -> [Option<f64>; 6] {
        let Some(before) = block.checked_sub(1).and_then(|before| self.blocks.get(before)) else {
            return self.start;
        };
        std::array::from_fn(|word| before.known(word))
    }

    /// Says where a word stood at the end of the last block, or at the start of all, if it was unknown there.
    pub(crate) fn settle(&mut self, word: usize, place: f64) {
        match self.blocks.last_mut() {
            Some(block) if block.unknown() & 1 << word != 0 => {
                block.to[word] = place;
                block.flags.set_unknown(block.unknown() & !(1 << word));
            }
            Some(_) => {}
            None => self.start[word] = Some(place),
        }
    }

    /// What the controller's display is off by during a block.
    pub fn shown_during(&self, block: u32) -> Option<&Shown> {
        let after = self.shown.partition_point(|shown| shown.first_block <= block);
        self.shown.get(after.checked_sub(1)?)
    }
}

/// The words of a position that are `None`, bit 0 X … bit 5 C.
pub(crate) fn unknown_words(position: &[Option<f64>; 6]) -> u8 {
    (0..6).filter(|&word| position[word].is_none()).fold(0, |mask, word| mask | 1 << word)
}
