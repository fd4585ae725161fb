//! What a program is, without a scene: the answer to "what is this file on the stick?".
//!
//! Everything that a scene would say is left open: the program is read as by a controller that takes the whole
//! language, from places nobody knows, with cutters zeroed by hand. Places are mm and degrees in the frame of G54.

mod comments;
mod cutting;
mod unmoved;
mod unreadable;
mod values;
mod words;

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Cursor, Read, Seek};

use crate::diagnostic::{Diagnostic, Kind};
use crate::listing::AXES;
use crate::motion;
use crate::program::{Block, BlockFlags, EventKind, NO_CUTTER, Plane, Program, Setup};
use crate::stream;
use crate::survey::{CodeName, Seen, Survey};
use crate::time::{FeedReading, Way};

pub use comments::Comment;
pub use cutting::{CuttingZ, MeasuredFrom};
pub use unreadable::Unreadable;
pub use values::{Used, Value};
pub use words::{Extent, Winding, WordUse};

use comments::Near;
use unmoved::Unmoved;
use values::Tally;
use words::Words;

/// Place of Z among the words.
const Z: usize = 2;

/// Cutters up to this number are given a length and a diameter of nothing, so that G43 and G41 leave words as written.
const NUMBERED: u32 = 1000;

/// A program and what can be told of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Description {
    /// Lines in the file.
    pub lines: u32,
    /// Where most lines cannot be read, so that this is hardly a program.
    pub unreadable: Option<Unreadable>,
    /// What moves.
    pub blocks: Blocks,
    /// The length unit.
    pub units: Units,
    /// X Y Z A B C, where a line that is executed commands it or an arc moves it.
    pub words: [Option<WordUse>; 6],
    /// Words that stand in the text, but only where it cannot be read or is never executed, by letter.
    pub idle: Vec<char>,
    /// Words that are taken to start at zero, as the program only ever moves them by increments, bit 0 X … bit 5 C.
    pub from_zero: u8,
    /// Cutters called, by number; T0 leaves the spindle empty.
    pub cutters: Vec<CutterCall>,
    /// Comments at the head of the file, before anything is commanded.
    pub head: Vec<Comment>,
    /// Feeds along X, Y and Z, mm/min, by blocks.
    pub feeds: Used,
    /// Feeds of blocks that only turn, degrees/min, by blocks.
    pub rotary_feeds: Used,
    /// Feeds under G93, 1/min, by blocks.
    pub inverse_feeds: Used,
    /// Feed blocks with no feed in force.
    pub without_feed: u32,
    /// Spindle speeds, 1/min, by S words.
    pub speeds: Used,
    /// M3, M4 and M5 as they occur: clockwise, counter-clockwise, off.
    pub spindle: [bool; 3],
    /// The height at which it cuts; `None`, too, where nothing ever moves Z.
    pub cutting_z: Option<CuttingZ>,
    /// Arcs by plane, XY, ZX, YZ.
    pub arcs: [Option<ArcUse>; 3],
    /// G95: where it holds, F is a length a revolution, which is not taken, so that no time at feed can be told.
    pub per_revolution: Option<Seen>,
    /// G41 or G42: no radius is known here, so that all is told of the path as written.
    pub compensation: Option<Seen>,
    /// What small controllers may lack, in the order it first stands in the text.
    pub uncommon: Vec<Uncommon>,
    /// How long it takes.
    pub times: Times,
    /// M2, M30 or a closing percent line was reached.
    pub ended: bool,
    /// Notes, warnings and errors of the reading.
    pub counted: [usize; 3],
    /// Those of them that the reader kept, errors first, and the text of their lines.
    pub remarks: Vec<(Diagnostic, String)>,
}

/// How many blocks there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Blocks {
    /// All.
    pub all: u32,
    /// At feed rate.
    pub fed: u32,
    /// At traverse rate.
    pub rapid: u32,
    /// Of which nobody knows where they start, so that their way cannot be told.
    pub from_unknown: u32,
}

/// The length unit and how it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// No G20 and no G21: millimetres, as at power on.
    Unstated,
    /// G21, first on this line.
    Millimetres(u32),
    /// G20, first on this line.
    Inches(u32),
    /// Both, the first of them on this line.
    Both(u32),
}

/// A cutter that is called.
#[derive(Debug, Clone, PartialEq)]
pub struct CutterCall {
    /// Its number.
    pub number: u32,
    /// Line of its first T word.
    pub line: u32,
    /// How often it comes into the spindle.
    pub changes: u32,
    /// Blocks at feed rate while it is there.
    pub fed: u32,
    /// Comments that may be about it.
    pub comments: Vec<Comment>,
}

/// Arcs in one plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArcUse {
    /// How many.
    pub count: u32,
    /// Least radius, mm.
    pub least: f64,
    /// Greatest radius, mm.
    pub greatest: f64,
    /// The first one's line.
    pub line: u32,
}

/// Something that small controllers may lack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Uncommon {
    /// What it is.
    pub what: Feature,
    /// Where and how often.
    pub seen: Seen,
}

/// What an [`Uncommon`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Feature {
    /// A G or M code.
    Code(CodeName),
    /// Parameters, expressions or functions.
    Formulas,
    /// O words that call, repeat or decide.
    Flow,
}

/// How long the program takes by each reading of F.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Times {
    /// Feed blocks with F along X, Y and Z, over all words alike, and as inverse time, minutes; no word is held back.
    pub fed: [f64; 3],
    /// Feed blocks whose time cannot be told and is in none of these.
    pub untold: u32,
    /// Dwells, seconds.
    pub dwell_seconds: f64,
    /// Way of all rapids along X, Y and Z, mm: how long they take is the machine's affair.
    pub rapid_way: f64,
    /// Way of all rapids over A, B and C, degrees.
    pub rapid_turn: f64,
}

/// Codes that controllers of small machines take (common practice, no source); G as ten times its number.
const COMMON_G: [u32; 31] = [
    0, 10, 20, 30, 40, 100, 170, 180, 190, 200, 210, 280, 300, 400, 490, 530, 540, 550, 560, 570, 580, 590, 610, 800,
    900, 910, 911, 920, 921, 930, 940,
];
const COMMON_M: [u32; 11] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30];

impl Description {
    /// Reads a text and describes it.
    ///
    /// ```
    /// use dryturn_program::Description;
    /// let (_, told) = Description::of(b"G21 G90\nG0 X0 Z5 A0\nG1 X10 A720 F100\nM2");
    /// let turned = told.words[3].as_ref().and_then(|a| a.winding).map(|winding| winding.net);
    /// assert_eq!(turned, Some(2.0));
    /// assert_eq!(told.words[4], None);
    /// ```
    pub fn of(source: &[u8]) -> (Program, Self) {
        Self::of_file(&mut Cursor::new(source)).expect("a text in memory reads without a fault")
    }

    /// Reads a file and describes it, without its text in memory (see [`crate::read_file`]).
    ///
    /// # Errors
    ///
    /// What the reading of the file meets.
    pub fn of_file(input: &mut (impl Read + Seek)) -> io::Result<(Program, Self)> {
        input.rewind()?;
        let survey = Survey::of_file(&mut *input)?;
        let mut program = motion::read_surveyed(input, &open_setup(&survey, 0), &survey)?;
        let unplaced = never_known(&program) & commanded(&program);
        let misread = if unplaced == 0 { 0 } else { unplaced & !unreadable::words_read(input)? };
        let from_zero = if survey.holds(INCREMENTAL) { unplaced & !misread } else { 0 };
        if from_zero != 0 {
            program = motion::read_surveyed(input, &open_setup(&survey, from_zero), &survey)?;
        }
        let remarks = kept_remarks(&program);
        let near = Near::to(&program.facts.cutters);
        let wanted: BTreeSet<u32> = near.lines().chain(remarks.iter().map(|one| one.line)).collect();
        let unreadable = Unreadable::most_of(&program, input)?;
        input.rewind()?;
        let texts = stream::lines_at(input, &wanted)?;
        let text_of = |line: u32| texts.get(&line).map_or_else(String::new, |text| lossy(text));
        let description = Self {
            cutters: cutters_called(&program, &near, &texts),
            head: comments::at_head(&texts),
            remarks: remarks.into_iter().map(|one| (one.clone(), text_of(one.line))).collect(),
            from_zero,
            unreadable,
            ..Self::told(&program, &survey, misread)
        };
        Ok((program, description))
    }

    /// All that needs no text; misread words are named only where lines cannot be read.
    fn told(program: &Program, survey: &Survey, misread: u8) -> Self {
        let axes = commanded(program) & !misread;
        let passed = Passed::over(program, axes);
        Self {
            lines: program.lines,
            unreadable: None,
            blocks: passed.blocks,
            units: units(program),
            words: passed.words.told(program),
            idle: letters(survey.axes & !axes),
            from_zero: 0,
            cutters: Vec::new(),
            head: Vec::new(),
            feeds: passed.feeds.used(),
            rotary_feeds: passed.rotary_feeds.used(),
            inverse_feeds: passed.inverse_feeds.used(),
            without_feed: passed.without_feed,
            speeds: speeds(program),
            spindle: spindle(program),
            cutting_z: passed.words.has(Z).then(|| CuttingZ::of(program)).flatten(),
            arcs: passed.arcs,
            per_revolution: survey.codes.get(&PER_REVOLUTION).copied(),
            compensation: compensation(survey),
            uncommon: uncommon(survey),
            times: Times { dwell_seconds: dwells(program), ..passed.times },
            ended: program.facts.ended,
            counted: program.counted,
            remarks: Vec::new(),
        }
    }
}

/// G95.
const PER_REVOLUTION: CodeName = CodeName::G(950);

/// G91.
const INCREMENTAL: CodeName = CodeName::G(910);

/// What one pass over the blocks gathers.
#[derive(Default)]
struct Passed {
    blocks: Blocks,
    words: Words,
    feeds: Tally,
    rotary_feeds: Tally,
    inverse_feeds: Tally,
    without_feed: u32,
    arcs: [Option<ArcUse>; 3],
    times: Times,
}

impl Passed {
    fn over(program: &Program, axes: u8) -> Self {
        let mut passed = Self { words: Words::new(axes), ..Self::default() };
        let unmoved = Unmoved::of(program);
        for (index, block) in program.blocks.iter().enumerate() {
            let way = unmoved.way(program, index, block);
            passed.words.take(program, index, block);
            passed.arc(program, block);
            passed.blocks.all += 1;
            passed.blocks.from_unknown += u32::from(way.is_none());
            if block.flags.has(BlockFlags::RAPID) {
                passed.rapid(way.as_ref());
            } else {
                passed.fed(block, way.as_ref());
            }
        }
        passed
    }

    fn rapid(&mut self, way: Option<&Way>) {
        self.blocks.rapid += 1;
        if let Some(way) = way {
            self.times.rapid_way += way.linear;
            self.times.rapid_turn += way.rotary;
        }
    }

    fn fed(&mut self, block: &Block, way: Option<&Way>) {
        self.blocks.fed += 1;
        if block.feed.is_nan() {
            self.without_feed += 1;
        } else if block.flags.has(BlockFlags::INVERSE_TIME) {
            self.inverse_feeds.take(block.feed);
        } else if way.is_none_or(Way::is_linear) {
            self.feeds.take(block.feed);
        } else {
            self.rotary_feeds.take(block.feed);
        }
        let asked = READINGS.map(|reading| way.and_then(|way| way.minutes_asked(block, reading)));
        self.times.untold += u32::from(asked.contains(&None));
        for (total, asked) in self.times.fed.iter_mut().zip(asked) {
            *total += asked.unwrap_or(0.0);
        }
    }

    fn arc(&mut self, program: &Program, block: &Block) {
        let Some(arc) = program.arcs.get(block.arc as usize) else {
            return;
        };
        let slot = &mut self.arcs[match arc.plane {
            Plane::Xy => 0,
            Plane::Zx => 1,
            Plane::Yz => 2,
        }];
        let first = ArcUse { count: 0, least: arc.radius, greatest: arc.radius, line: block.line };
        let seen = slot.get_or_insert(first);
        seen.count += 1;
        seen.least = seen.least.min(arc.radius);
        seen.greatest = seen.greatest.max(arc.radius);
    }
}

/// Most lines executed of a program that calls or repeats: whoever asks what a file is does not wait for a loop that
/// never ends.
const STEPS: u64 = 5_000_000;

/// The readings of F in the order of [`Times::fed`].
const READINGS: [FeedReading; 3] = [FeedReading::Linear, FeedReading::All, FeedReading::InverseTime];

/// A set-up that takes everything; words that stand nowhere in the text, and those given, start at zero.
fn open_setup(survey: &Survey, from_zero: u8) -> Setup {
    let at_zero = !survey.axes | from_zero;
    let nothing = || (0..NUMBERED).map(|number| (number, 0.0)).collect();
    Setup {
        start: std::array::from_fn(|word| (at_zero & 1 << word != 0).then_some(0.0)),
        lenient: true,
        rotary_words: std::array::from_fn(|word| survey.axes & 8 << word != 0),
        max_steps: STEPS,
        stickouts: nothing(),
        diameters: nothing(),
        ..Setup::default()
    }
}

/// Words that lines command, as far as they are executed, those named where a line cannot be read among them.
fn commanded(program: &Program) -> u8 {
    let lines = program.facts.commanded.iter().enumerate();
    lines.fold(0, |words, (word, line)| words | u8::from(line.is_some()) << word)
}

fn letters(words: u8) -> Vec<char> {
    let named = AXES.iter().enumerate().filter(|&(word, _)| words & 1 << word != 0);
    named.map(|(_, &letter)| char::from(letter)).collect()
}

/// Words whose place no block knows.
fn never_known(program: &Program) -> u8 {
    let mut unknown = 0b11_1111;
    for block in &program.blocks {
        unknown &= block.unknown();
        if unknown == 0 {
            break;
        }
    }
    unknown
}

fn units(program: &Program) -> Units {
    let facts = &program.facts;
    match (facts.units, facts.inch, facts.millimetres) {
        (None, ..) => Units::Unstated,
        (Some(line), true, true) => Units::Both(line),
        (Some(line), true, false) => Units::Inches(line),
        (Some(line), ..) => Units::Millimetres(line),
    }
}

fn speeds(program: &Program) -> Used {
    let mut tally = Tally::default();
    for event in &program.events {
        if let EventKind::SpindleSpeed(speed) = event.kind {
            tally.take(speed as f32);
        }
    }
    tally.used()
}

fn spindle(program: &Program) -> [bool; 3] {
    let kinds = [EventKind::SpindleClockwise, EventKind::SpindleCounterClockwise, EventKind::SpindleOff];
    kinds.map(|kind| program.events.iter().any(|event| event.kind == kind))
}

fn dwells(program: &Program) -> f64 {
    let seconds = |kind| if let EventKind::Dwell(seconds) = kind { seconds } else { 0.0 };
    program.events.iter().map(|event| seconds(event.kind)).sum()
}

/// G41, G41.1, G42 and G42.1 together.
fn compensation(survey: &Survey) -> Option<Seen> {
    let seen = [410, 411, 420, 421].iter().filter_map(|&code| survey.codes.get(&CodeName::G(code)));
    seen.copied().reduce(|one, other| Seen { line: one.line.min(other.line), times: one.times + other.times })
}

/// Codes and features beyond what is common, by their first line.
fn uncommon(survey: &Survey) -> Vec<Uncommon> {
    let common = |code: &CodeName| match code {
        CodeName::G(tenths) => COMMON_G.contains(tenths),
        CodeName::M(code) => COMMON_M.contains(code),
    };
    let codes = survey.codes.iter().filter(|(code, _)| !common(code));
    let mut found: Vec<Uncommon> = codes.map(|(&code, &seen)| Uncommon { what: Feature::Code(code), seen }).collect();
    found.extend(survey.formulas.map(|seen| Uncommon { what: Feature::Formulas, seen }));
    found.extend(survey.flow.map(|seen| Uncommon { what: Feature::Flow, seen }));
    found.sort_by_key(|one| (one.seen.line, one.what));
    found
}

fn cutters_called(program: &Program, near: &Near, texts: &BTreeMap<u32, Vec<u8>>) -> Vec<CutterCall> {
    let mut fed: BTreeMap<u16, u32> = BTreeMap::new();
    let same = program.blocks.chunk_by(|one, other| one.cutter == other.cutter);
    for blocks in same {
        let count = blocks.iter().filter(|block| !block.flags.has(BlockFlags::RAPID)).count();
        *fed.entry(blocks[0].cutter).or_default() += count as u32;
    }
    let mut changes: BTreeMap<u32, u32> = BTreeMap::new();
    for event in &program.events {
        if let EventKind::CutterChange(cutter) = event.kind {
            *changes.entry(cutter.unwrap_or(0)).or_default() += 1;
        }
    }
    let called = program.facts.cutters.iter().map(|(&number, first)| CutterCall {
        number,
        line: first.line,
        changes: changes.get(&number).copied().unwrap_or(0),
        fed: fed.get(&u16::try_from(number).unwrap_or(NO_CUTTER)).copied().unwrap_or(0),
        comments: near.comments(number, first.line, texts),
    });
    called.collect()
}

/// The diagnostics that were kept, errors first.
fn kept_remarks(program: &Program) -> Vec<Diagnostic> {
    let mut remarks: Vec<&Diagnostic> = program.diagnostics.iter().filter(|one| one.kind != Kind::More).collect();
    remarks.sort_by_key(|one| std::cmp::Reverse(one.severity));
    remarks.into_iter().cloned().collect()
}

fn lossy(text: &[u8]) -> String {
    String::from_utf8_lossy(text).into_owned()
}

#[cfg(test)]
mod tests;
