//! When blocks come and what they take, in rows of as many blocks as are asked for.

use super::Times;

/// The times of all blocks in their order, row by row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BlockTimes {
    /// How many blocks a row stands for; the last of a program may stand for fewer.
    pub a_row: u32,
    /// The rows.
    pub rows: Vec<BlockTime>,
}

/// The times of one block, or of some of one program that follow each other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BlockTime {
    /// The first of them.
    pub block: u32,
    /// When it begins, seconds from the start of the first program.
    pub start_s: f64,
    /// What they take, speeding up and slowing down, seconds; what cannot be told is not in it.
    pub taken_s: f64,
    /// What they ask for, with no regard to acceleration, seconds; the same.
    pub asked_s: f64,
    /// Of what they take, the share in which no wood is taken, rapids included, seconds.
    pub air_s: f64,
}

impl Times<'_> {
    /// The times of the blocks in so many rows, and one more for each program at the most: of each block by itself where there
    /// are no more blocks. `air` tells the share of a block's way on which it takes no wood.
    pub fn by_block(&self, rows: u32, air: impl Fn(u32) -> f64) -> BlockTimes {
        let a_row = self.count().div_ceil(rows.max(1)).max(1);
        let programs = (0..self.job.programs.len()).map(|program| self.job.blocks_of(program));
        let firsts =
            programs.flat_map(|blocks| blocks.clone().step_by(a_row as usize).map(move |first| (first, blocks.end)));
        let row = |(first, end): (u32, u32)| {
            let mut row = BlockTime { block: first, start_s: self.start(first), ..BlockTime::default() };
            for block in first..end.min(first.saturating_add(a_row)) {
                let taken = self.seconds(block);
                row.taken_s += taken;
                row.asked_s += self.asked(block).unwrap_or(0.0);
                row.air_s += taken * air(block);
            }
            row
        };
        BlockTimes { a_row, rows: firsts.map(row).collect() }
    }
}
