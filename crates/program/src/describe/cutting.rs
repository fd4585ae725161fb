//! At what height a program cuts, and what that says of its zero.

use crate::program::{BlockFlags, NO_ARC, Program, SAME};

/// From where heights seem to be measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasuredFrom {
    /// The rotary axis: heights are radii, and most lie above zero.
    Axis,
    /// The surface of the blank: heights are depths, and most lie at or under zero.
    Surface,
    /// Neither fits well.
    Unclear,
}

/// The heights at which a program cuts: of all feed blocks that move or turn something besides Z.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CuttingZ {
    /// How many blocks these are.
    pub blocks: u32,
    /// Lowest, mm.
    pub least: f64,
    /// Highest, mm.
    pub greatest: f64,
    /// As many blocks end above as below it, mm, to a millionth of the height between the lowest and the highest.
    pub median: f64,
    /// Share of the blocks that end at or under zero, 0 … 1.
    pub at_or_under_zero: f64,
    /// What these say.
    pub measured_from: MeasuredFrom,
}

/// So large a share of blocks on one side of zero says where it lies (a choice of ours: retracting and leading in take
/// their part of the blocks).
const MOST: f64 = 0.75;

const BINS: usize = 4096;

impl CuttingZ {
    /// `None`: no block cuts.
    pub(super) fn of(program: &Program) -> Option<Self> {
        let (mut blocks, mut low_ones) = (0_u32, 0_u32);
        let (mut least, mut greatest) = (f64::INFINITY, f64::NEG_INFINITY);
        for z in heights(program) {
            blocks += 1;
            low_ones += u32::from(z <= SAME);
            least = least.min(z);
            greatest = greatest.max(z);
        }
        if blocks == 0 {
            return None;
        }
        let median = median(|| heights(program), blocks, least, greatest);
        let at_or_under_zero = f64::from(low_ones) / f64::from(blocks);
        let measured_from = match at_or_under_zero {
            share if share >= MOST && median <= SAME => MeasuredFrom::Surface,
            share if share <= 1.0 - MOST && median > SAME => MeasuredFrom::Axis,
            _ => MeasuredFrom::Unclear,
        };
        Some(Self { blocks, least, greatest, median, at_or_under_zero, measured_from })
    }
}

/// Where blocks end that cut sideways or turn.
fn heights(program: &Program) -> impl Iterator<Item = f64> {
    let mut before: Option<&crate::Block> = None;
    program.blocks.iter().filter_map(move |block| {
        let from = before.replace(block);
        let cuts = !block.flags.has(BlockFlags::RAPID) && block.unknown() & 0b100 == 0;
        let others = [0, 1, 3, 4, 5];
        let moves = block.arc != NO_ARC
            || from.is_some_and(|from| others.iter().any(|&word| (block.to[word] - from.to[word]).abs() > SAME));
        (cuts && moves).then_some(block.to[2])
    })
}

/// The lower of the middle ones. The heights pass by twice and take no memory: first into coarse bins, then those of
/// the bin that holds the middle one into fine ones.
fn median<I: Iterator<Item = f64>>(heights: impl Fn() -> I, count: u32, least: f64, greatest: f64) -> f64 {
    let mut before = (count - 1) / 2;
    let (mut low, mut width) = (least, (greatest - least) / BINS as f64);
    for _ in 0..2 {
        if width <= 0.0 {
            break;
        }
        let mut bins = [0_u32; BINS];
        let bin = |z: f64| ((z - low) / width).floor();
        for z in heights() {
            // The greatest height of all belongs to the last bin.
            let at = if z == greatest { bin(z).min(BINS as f64 - 1.0) } else { bin(z) };
            if (0.0..BINS as f64).contains(&at) {
                bins[at as usize] += 1;
            }
        }
        let mut middle = 0;
        while middle + 1 < BINS && before >= bins[middle] {
            before -= bins[middle];
            middle += 1;
        }
        low += middle as f64 * width;
        width /= BINS as f64;
    }
    low
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Description;

    fn told(text: &str) -> Option<CuttingZ> {
        Description::of(text.as_bytes()).1.cutting_z
    }

    #[test]
    fn the_median_is_not_drawn_off_by_extremes() {
        let heights = [3.0, 1.0, 1000.0, 2.0, 2.0];
        let found = median(|| heights.into_iter(), 5, 1.0, 1000.0);
        assert!((found - 2.0).abs() < 1e-4, "{found}");
        assert_eq!(median(|| [5.0; 4].into_iter(), 4, 5.0, 5.0), 5.0);
        let many: Vec<f64> = (0..=1000).map(|z| f64::from(z) * 0.01).collect();
        let found = median(|| many.iter().copied(), 1001, 0.0, 10.0);
        assert!((found - 5.0).abs() < 1e-5, "{found}");
    }

    #[test]
    fn depths_and_radii() {
        let surface = told("G0 X0 Z5 A0\nG1 Z-1 F100\nX10\nA90\nX0 Z-2\nG0 Z5\nM2").unwrap();
        assert_eq!((surface.measured_from, surface.blocks, surface.at_or_under_zero), (MeasuredFrom::Surface, 3, 1.0));
        assert_eq!((surface.least, surface.greatest), (-2.0, -1.0));
        let axis = told("G0 X0 Z50 A0\nG1 Z20 F100\nX10\nA90\nX0 Z18\nG0 Z50\nM2").unwrap();
        assert_eq!((axis.measured_from, axis.at_or_under_zero), (MeasuredFrom::Axis, 0.0));
        let unclear = told("G0 X0 Z5\nG1 Z1 F100\nX1\nZ-1\nX2\nM2").unwrap();
        assert_eq!(unclear.measured_from, MeasuredFrom::Unclear);
    }

    #[test]
    fn plunges_and_rapids_cut_nothing() {
        assert_eq!(told("G0 X0 Z5\nX9\nG1 Z-1 F100\nM2"), None);
    }

    #[test]
    fn no_height_without_z() {
        assert_eq!(told("G1 X1 Y2 F100\nX3 Y4\nM2"), None);
        let helix = told("G18 G0 X1\nG3 X3 I1 F100\nM2").expect("an arc moves Z");
        assert_eq!(helix.blocks, 1);
    }
}
