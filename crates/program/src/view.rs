//! The text beside what it does: lines, the blocks each line makes, and the state of the controller at each.

use crate::diagnostic::Span;
use crate::program::{BlockFlags, Plane, Program, Setup, ToolOffset, Visit};
use crate::text::Lines;

/// How the spindle is told to turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Spindle {
    /// M5, or nothing said yet.
    #[default]
    Off,
    /// M3.
    Clockwise,
    /// M4.
    CounterClockwise,
}

/// The modes in force that change seldom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Modal {
    /// G17, G18, G19.
    pub plane: Plane,
    /// G20.
    pub inch: bool,
    /// G91.
    pub incremental: bool,
    /// G90.1.
    pub arc_absolute: bool,
    /// G93.
    pub inverse_time: bool,
    /// G99.
    pub retract_to_r: bool,
    /// G54 is 1, G59.3 is 9.
    pub system: u8,
    /// G41 (true) or G42 (false), and the cutter's radius, mm.
    pub compensation: Option<(bool, f64)>,
    /// G43, G49.
    pub tool_offset: ToolOffset,
    /// M3, M4, M5.
    pub spindle: Spindle,
    /// The S word, 1/min.
    pub speed: Option<f64>,
    /// The cutter of the last T word.
    pub selected: Option<u32>,
    /// The cutter in the spindle.
    pub cutter: Option<u32>,
    /// M7.
    pub mist: bool,
    /// M8.
    pub flood: bool,
    /// M48; M49 makes it false.
    pub overrides: bool,
    /// How corners are taken.
    pub path_control: PathControl,
    /// Origin of the system with the tool length, mm and degrees in G54 terms: what absolute words are counted from
    /// once G92 and G52 are reset.
    pub origin: [f64; 6],
    /// What the display is off by: `origin` with G92 and G52.
    pub offset: [f64; 6],
}

/// How the controller is told to take corners.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PathControl {
    /// It is not told.
    Unsaid,
    /// G61.
    ExactPath,
    /// G61.1.
    ExactStop,
    /// G64, and its P and Q words, mm.
    Blend([Option<f64>; 2]),
}

/// Modes and where they come into force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModalFrom {
    /// First block they hold for.
    pub first_block: u32,
    /// The line that set them, from 1.
    pub line: u32,
    /// The modes.
    pub modal: Modal,
}

/// All the controller would show before a block is executed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// The block it is about; the number of blocks: after the last one.
    pub block: u32,
    /// The modes in force.
    pub modal: Modal,
    /// Feed of the last block that was fed, mm/min, °/min or, under G93, 1/min.
    pub feed: Option<f64>,
    /// The cutter in the spindle.
    pub cutter: Option<u32>,
    /// Where the tip is, mm and degrees in G54 terms; `None`: unknown.
    pub place: [Option<f64>; 6],
    /// What the controller displays: in the system in force and its length unit.
    pub shown: [Option<f64>; 6],
    /// In machine coordinates, mm and degrees; `None`: unknown, or machine zero or stickout are not given.
    pub machine: [Option<f64>; 6],
}

/// A program's text, line by line.
#[derive(Debug, Clone)]
pub struct Listing<'a> {
    source: &'a [u8],
    program: &'a Program,
    setup: &'a Setup,
    lines: Vec<(usize, usize)>,
    /// Blocks by line, where they do not lie in the order of the lines.
    by_line: Option<Vec<u32>>,
}

const INCH: f64 = 25.4;

impl<'a> Listing<'a> {
    /// Puts a program beside the text and set-up it was read from. Linear in both.
    pub fn new(source: &'a [u8], program: &'a Program, setup: &'a Setup) -> Self {
        let offset = |text: &[u8]| text.as_ptr() as usize - source.as_ptr() as usize;
        let lines = Lines::new(source).map(|(_, text)| (offset(text), text.len())).collect();
        let by_line = program.facts.jumps.then(|| {
            let mut blocks: Vec<u32> = (0..program.blocks.len() as u32).collect();
            blocks.sort_by_key(|&block| program.blocks[block as usize].line);
            blocks
        });
        Self { source, program, setup, lines, by_line }
    }

    /// How many lines there are.
    pub fn len(&self) -> usize {
        self.lines.len()
    }

    /// Whether there is no line.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// The bytes of a line, from 1, without its end.
    pub fn line(&self, line: u32) -> &'a [u8] {
        let index = (line as usize).checked_sub(1);
        let found = index.and_then(|index| self.lines.get(index));
        found.and_then(|&(start, length)| self.source.get(start..start + length)).unwrap_or_default()
    }

    /// Where a line's bytes lie in the file.
    pub fn span(&self, line: u32) -> Option<Span> {
        let &(start, length) = self.lines.get((line as usize).checked_sub(1)?)?;
        Some(Span::new(start, start + length))
    }

    /// The blocks a line makes, in the order they are executed.
    pub fn blocks_of(&self, line: u32) -> Vec<u32> {
        let line_of = |block: u32| self.program.blocks[block as usize].line;
        match &self.by_line {
            Some(blocks) => {
                let first = blocks.partition_point(|&block| line_of(block) < line);
                let last = blocks.partition_point(|&block| line_of(block) <= line);
                blocks[first..last].to_vec()
            }
            None => {
                let blocks = &self.program.blocks;
                let first = blocks.partition_point(|block| block.line < line);
                let last = blocks.partition_point(|block| block.line <= line);
                (first as u32..last as u32).collect()
            }
        }
    }

    /// The state before a line is executed, the first time if it is executed again. `None`: it never is, as something
    /// passes over it.
    pub fn state_before(&self, line: u32) -> Option<State> {
        let Visit { blocks, modals } = self.visit(line)?;
        let mut state = self.state_of(blocks);
        let before = modals.checked_sub(1).and_then(|before| self.program.modals.get(before as usize));
        let Some(ModalFrom { modal, .. }) = before else { return Some(state) };
        (state.modal, state.cutter) = (*modal, modal.cutter);
        Some(self.with_display(state, modal.offset))
    }

    /// What was written down before a line.
    fn visit(&self, line: u32) -> Option<Visit> {
        let program = self.program;
        let (mut blocks, mut modals) = (program.blocks.as_slice(), program.modals.as_slice());
        if let Some((first, before)) = program.first_jump {
            if line > first {
                return program.visits.get(&line).copied();
            }
            // Up to here lines came in their order.
            blocks = &blocks[..before.blocks as usize];
            modals = &modals[..before.modals as usize];
        }
        Some(Visit {
            blocks: blocks.partition_point(|block| block.line < line) as u32,
            modals: modals.partition_point(|from| from.line < line) as u32,
        })
    }

    /// The state before a block is executed, its own line's modes in force.
    pub fn state_of(&self, block: u32) -> State {
        let program = self.program;
        let modals = &program.modals;
        let after = modals.partition_point(|from| from.first_block <= block);
        let modal = modals.get(after.saturating_sub(1)).map_or_else(Modal::at_power_on, |from| from.modal);
        let before = &program.blocks[..program.blocks.len().min(block as usize)];
        let fed = before.iter().rev().find(|block| !block.flags.has(BlockFlags::RAPID) && !block.feed.is_nan());
        let cutter = match program.blocks.get(block as usize) {
            Some(block) => (block.cutter != crate::NO_CUTTER).then_some(u32::from(block.cutter)),
            None => program.end_cutter,
        };
        let place = program.start_of(block as usize);
        let feed = fed.map(|block| f64::from(block.feed));
        let offset = program.shown_during(block).map_or([0.0; 6], |shown| shown.offset);
        self.with_display(State { block, modal, feed, cutter, place, shown: place, machine: place }, offset)
    }

    /// Works out what is displayed, and the machine's own coordinates.
    fn with_display(&self, mut state: State, offset: [f64; 6]) -> State {
        let stickout = state.cutter.map_or(Some(0.0), |cutter| self.setup.stickouts.get(&cutter).copied());
        for (word, offset) in offset.into_iter().enumerate() {
            let unit = if state.modal.inch && word < 3 { INCH } else { 1.0 };
            state.shown[word] = state.place[word].map(|place| (place - offset) / unit);
            let hangs = if word == 2 { stickout } else { Some(0.0) };
            let zero = self.setup.machine_zero[word];
            state.machine[word] =
                state.place[word].zip(zero).zip(hangs).map(|((place, zero), hangs)| place - zero + hangs);
        }
        state
    }
}

impl Modal {
    /// Before anything is said.
    pub(crate) fn at_power_on() -> Self {
        Self {
            plane: Plane::Xy,
            inch: false,
            incremental: false,
            arc_absolute: false,
            inverse_time: false,
            retract_to_r: false,
            system: 1,
            compensation: None,
            tool_offset: ToolOffset::ByHand,
            spindle: Spindle::Off,
            speed: None,
            selected: None,
            cutter: None,
            mist: false,
            flood: false,
            overrides: true,
            path_control: PathControl::Unsaid,
            origin: [0.0; 6],
            offset: [0.0; 6],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;

    const SOURCE: &[u8] = b"G20 G90\nG55 S900 M3\n(c)\nG1 X1 F10\nG91 G43 H1\nG0 Z1\nT2\nG42 D1 G1 X5\nM2\n";

    fn setup() -> Setup {
        Setup {
            start: [Some(0.0); 6],
            machine_zero: [Some(-10.0), Some(0.0), Some(0.0), Some(0.0), Some(0.0), Some(0.0)],
            stickouts: [(1, 30.0)].into(),
            diameters: [(1, 6.0)].into(),
            cutter: Some(1),
            origins: std::array::from_fn(
                |system| if system == 1 { [100.0, 0.0, 0.0, 0.0, 0.0, 0.0] } else { [0.0; 6] },
            ),
            ..Setup::default()
        }
    }

    #[test]
    fn lines_and_their_blocks() {
        let setup = setup();
        let program = read(SOURCE, &setup);
        let listing = Listing::new(SOURCE, &program, &setup);
        assert_eq!(listing.len(), 9);
        assert_eq!(listing.line(3), b"(c)");
        assert_eq!(listing.span(3).map(|span| (span.start, span.end)), Some((20, 23)));
        assert!(listing.line(0).is_empty() && listing.line(10).is_empty());
        assert_eq!(listing.blocks_of(4), [0]);
        assert!(listing.blocks_of(3).is_empty());
    }

    #[test]
    fn the_state_before_each_line() {
        let setup = setup();
        let program = read(SOURCE, &setup);
        let listing = Listing::new(SOURCE, &program, &setup);
        let before = |line: u32| listing.state_before(line).unwrap();
        assert!(!before(1).modal.inch && before(2).modal.inch);
        assert_eq!((before(2).modal.system, before(3).modal.system), (1, 2));
        assert_eq!((before(3).modal.spindle, before(3).modal.speed), (Spindle::Clockwise, Some(900.0)));
        assert_eq!((before(4).feed, before(5).feed), (None, Some(254.0)));
        assert!(!before(5).modal.incremental && before(6).modal.incremental);
        assert_eq!(before(6).modal.tool_offset, ToolOffset::Of(1));
        assert_eq!((before(7).modal.selected, before(8).modal.selected), (None, Some(2)));
        assert_eq!(before(9).modal.compensation, Some((false, 3.0)));
        let state = before(5);
        let near = |found: Option<f64>, expected: f64| (found.unwrap() - expected).abs() < 1e-9;
        assert!(near(state.place[0], 125.4) && near(state.shown[0], 1.0) && near(state.machine[0], 135.4));
        assert_eq!(state.cutter, Some(1));
    }

    #[test]
    fn lines_that_come_again() {
        let source = b"G91\no1 repeat [2]\nG0 X1\nG0 Y1\no1 endrepeat\nM2";
        let setup = Setup { start: [Some(0.0); 6], ..Setup::default() };
        let program = read(source, &setup);
        let listing = Listing::new(source, &program, &setup);
        assert_eq!(listing.blocks_of(3), [0, 2]);
        assert_eq!(listing.state_before(4).unwrap().place[..2], [Some(1.0), Some(0.0)]);
        assert_eq!(listing.state_before(5).unwrap().place[..2], [Some(1.0), Some(1.0)]);
        assert_eq!(listing.state_before(6).unwrap().place[..2], [Some(2.0), Some(2.0)]);
        assert_eq!(listing.state_before(1).unwrap().block, 0);
    }

    #[test]
    fn lines_without_blocks_where_something_jumps() {
        let source =
            b"G20\no1 if [0]\nG0 X9\no1 endif\nG91\nM3 S5\n(c)\nG0 X1\no2 repeat [2]\nG90\nG91\no2 endrepeat\nM2";
        let setup = Setup { start: [Some(0.0); 6], ..Setup::default() };
        let program = read(source, &setup);
        let listing = Listing::new(source, &program, &setup);
        assert!(listing.state_before(3).is_none(), "it is passed over");
        let modal = |line: u32| listing.state_before(line).unwrap().modal;
        assert!(!modal(1).inch && modal(2).inch && modal(4).inch);
        assert!(!modal(5).incremental && modal(6).incremental);
        assert_eq!((modal(6).spindle, modal(7).spindle), (Spindle::Off, Spindle::Clockwise));
        assert!(!modal(11).incremental && modal(12).incremental && modal(13).incremental);
    }
}
