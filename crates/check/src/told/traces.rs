//! What each block did to the surface, for the maps.

use super::Effort;
use crate::load::Grain;

/// What the codes of [`Traces::way`] stand for, from 1; 0 is a groove, whose sides are cut both ways, a way straight down, or
/// one that is not known.
pub const WAYS: [&str; 8] = [
    "climb, downhill",
    "climb, along",
    "climb, across",
    "climb, uphill",
    "conv., downhill",
    "conv., along",
    "conv., across",
    "conv., uphill",
];

/// What each block did, by its number. A block with several strokes tells the greatest of each, and the way of the one that
/// took the most wood.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Traces {
    depth_mm: Vec<f32>,
    chip_mm: Vec<f32>,
    spring_mm: Vec<f32>,
    way: Vec<u8>,
    /// The block last taken in, and the most wood that one of its strokes took, mm³.
    last: Option<(u32, f64)>,
    knows: Known,
}

/// What is known of any block.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Known {
    depth: bool,
    chip: bool,
    spring: bool,
    way: bool,
}

impl Traces {
    /// Bytes kept for each block.
    pub const BLOCK_BYTES: u64 = 13;

    pub(super) fn new(blocks: u32) -> Traces {
        let none = || vec![0.0; blocks as usize];
        Traces {
            depth_mm: none(),
            chip_mm: none(),
            spring_mm: none(),
            way: vec![0; blocks as usize],
            last: None,
            knows: Known::default(),
        }
    }

    pub(super) fn take(&mut self, effort: &Effort) {
        let at = effort.block as usize;
        if at >= self.way.len() {
            return;
        }
        self.knows.depth = true;
        let raise = |value: &mut f32, to: f64| *value = value.max(to as f32);
        raise(&mut self.depth_mm[at], effort.depth_mm);
        self.knows.chip |= effort.chip_mm.is_some();
        raise(&mut self.chip_mm[at], effort.chip_mm.unwrap_or(0.0));
        self.knows.spring |= effort.spring.is_some();
        raise(&mut self.spring_mm[at], effort.spring.map_or(0.0, |ends| ends[1]));
        let most = self.last.filter(|last| last.0 == effort.block).map_or(f64::NEG_INFINITY, |last| last.1);
        if effort.volume_mm3 > most {
            self.last = Some((effort.block, effort.volume_mm3));
            self.way[at] = way(effort);
            self.knows.way |= self.way[at] > 0;
        }
    }

    /// Greatest depth of cut of a block, mm; 0 where it took nothing.
    pub fn depth_mm(&self, block: u32) -> f32 {
        self.depth_mm.get(block as usize).copied().unwrap_or(0.0)
    }

    /// Greatest chip of a block, mm; 0 where it took nothing, or it is not known.
    pub fn chip_mm(&self, block: u32) -> f32 {
        self.chip_mm.get(block as usize).copied().unwrap_or(0.0)
    }

    /// How far piece and cutter spring apart in a block at the most, mm; 0 where it took nothing, or it is not known.
    pub fn spring_mm(&self, block: u32) -> f32 {
        self.spring_mm.get(block as usize).copied().unwrap_or(0.0)
    }

    /// Way of a block: a place in [`WAYS`], counted from 1, or 0.
    pub fn way(&self, block: u32) -> u8 {
        self.way.get(block as usize).copied().unwrap_or(0)
    }

    /// Whether any block took wood.
    pub fn knows_depths(&self) -> bool {
        self.knows.depth
    }

    /// Whether the chip of any block is known.
    pub fn knows_chips(&self) -> bool {
        self.knows.chip
    }

    /// Whether the spring of any block is known.
    pub fn knows_spring(&self) -> bool {
        self.knows.spring
    }

    /// Whether the way of any block is known.
    pub fn knows_ways(&self) -> bool {
        self.knows.way
    }
}

fn way(effort: &Effort) -> u8 {
    let (Some(is_climb), Some(grain)) = (effort.is_climb, effort.grain) else { return 0 };
    let grain = match grain {
        Grain::Downhill => 1,
        Grain::Along => 2,
        Grain::Across => 3,
        Grain::Uphill => 4,
    };
    if is_climb { grain } else { grain + 4 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_tells_the_greatest_and_the_way_of_its_greatest_stroke() {
        let mut traces = Traces::new(3);
        assert!(!traces.knows_chips() && !traces.knows_spring() && !traces.knows_ways());
        let stroke = |block, volume_mm3, depth_mm, is_climb| Effort {
            block,
            volume_mm3,
            depth_mm,
            chip_mm: Some(0.1 * depth_mm),
            is_climb: Some(is_climb),
            grain: Some(Grain::Uphill),
            ..Effort::default()
        };
        for effort in [stroke(1, 5.0, 1.0, true), stroke(1, 2.0, 3.0, false), stroke(2, 1.0, 0.5, false)] {
            traces.take(&effort);
        }
        // Out of the job: nothing happens.
        traces.take(&stroke(7, 5.0, 1.0, true));
        assert_eq!([0, 1, 2, 7].map(|block| traces.depth_mm(block)), [0.0, 3.0, 0.5, 0.0]);
        assert_eq!([0, 1, 2, 7].map(|block| traces.way(block)), [0, 4, 8, 0]);
        assert_eq!((traces.chip_mm(2), traces.spring_mm(2)), (0.05, 0.0));
        assert!(traces.knows_chips() && !traces.knows_spring() && traces.knows_ways());
        assert_eq!(WAYS[usize::from(traces.way(2)) - 1], "conv., uphill");
    }
}
