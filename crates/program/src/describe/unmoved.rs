//! Words that no line has commanded yet: nobody knows where they stand, but they stand still, so that they add nothing
//! to the way of a block.

use crate::program::{Block, BlockFlags, Program};
use crate::time::Way;

/// The first block at which each word may move.
pub(super) struct Unmoved {
    until: [usize; 6],
}

impl Unmoved {
    pub(super) fn of(program: &Program) -> Self {
        let blocks = &program.blocks;
        let first = |line: u32| match program.facts.jumps {
            // The line may have made no block; then nothing tells when it was.
            true => blocks.iter().position(|block| block.line == line).unwrap_or(0),
            false => blocks.partition_point(|block| block.line < line),
        };
        Self { until: program.facts.commanded.map(|line| line.map_or(blocks.len(), first)) }
    }

    /// How far a block goes, if that is known of all words that may move.
    pub(super) fn way(&self, program: &Program, index: usize, block: &Block) -> Option<Way> {
        let waiting = self.until.iter().enumerate().filter(|(_, until)| index < **until);
        let still = block.unknown() & waiting.fold(0, |words, (word, _)| words | 1 << word);
        if still == 0 {
            return program.way(index);
        }
        // Where X, Y and Z were not all known, a feed of degrees was taken for one of inches.
        let doubtful = |way: &Way| !way.is_linear() && block.flags.has(BlockFlags::INCH);
        program.way_beside(index, still).filter(|way| !doubtful(way))
    }
}

#[cfg(test)]
mod tests {
    use crate::Description;

    /// Seconds along X, Y and Z, and blocks that are not in them.
    fn told(text: &str) -> (f64, u32) {
        let times = Description::of(text.as_bytes()).1.times;
        ((times.fed[0] * 60e6).round() / 1e6, times.untold)
    }

    #[test]
    fn a_word_named_late_costs_its_first_block_only() {
        assert_eq!(told("G0 X0 Y0 Z0\nG1 X10 F60\nY10\nA90\nX0\nM2"), (30.0, 1));
        assert_eq!(told("G0 X0 Y0 Z0\nG1 X10 F60\nM2\nA90"), (10.0, 0), "never executed");
        assert_eq!(told("G20 G0 X0 A0\nG1 A90 F10\nX1\nY1\nM2"), (6.0, 2), "degrees taken for inches");
    }

    #[test]
    fn what_may_have_moved_is_not_counted() {
        assert_eq!(told("G0 X0 Y0\nG1 X10 F60\nG1 X99 !\nX20\nX30\nA9\nM2"), (20.0, 2), "a bad line between");
        assert_eq!(told("G0 X0\nG2 X10 I5 F60\nG1 X20\nY9\nM2"), (10.0, 2), "an arc from an unknown place");
        assert_eq!(told("G0 X0\nG91 G1 Y5 F60\nX9\nG90 Y0\nM2"), (0.0, 3), "increments from an unknown place");
    }
}
