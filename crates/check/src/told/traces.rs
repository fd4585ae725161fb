//! What each block did to the surface, for the maps.

use super::Effort;
use crate::load::{Engagement, Grain};

/// What the codes of [`Trace::way`] stand for, from 1; 0 is a groove, whose sides are cut both ways, a way straight down, or
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

/// What one stroke did to the surface.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Trace {
    /// Depth of cut, mm.
    pub depth_mm: f32,
    /// Greatest chip, mm; 0 where it is not known.
    pub chip_mm: f32,
    /// How far piece and cutter spring apart at the most, mm; 0 where it is not known.
    pub spring_mm: f32,
    /// A place in [`WAYS`], counted from 1, or 0.
    pub way: u8,
}

/// A stroke, of one block or of several, and the share of its way at which it ends.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stroke {
    block: u32,
    last: u32,
    until: f32,
    volume: f32,
    trace: Trace,
}

/// What each stroke that took wood did, in the order of the strokes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Traces {
    strokes: Vec<Stroke>,
    knows: Known,
}

/// What is known of any stroke.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Known {
    chip: bool,
    spring: bool,
    way: bool,
}

impl Traces {
    /// Bytes kept for each stroke.
    pub const STROKE_BYTES: u64 = size_of::<Stroke>() as u64;

    pub(super) fn take(&mut self, effort: &Effort) {
        let chip = effort.engagement.and_then(|engagement| engagement.chip_greatest);
        self.knows.chip |= chip.is_some();
        self.knows.spring |= effort.spring.is_some();
        let trace = Trace {
            depth_mm: effort.engagement.map_or(0.0, |engagement| engagement.depth) as f32,
            chip_mm: chip.unwrap_or(0.0) as f32,
            spring_mm: effort.spring.map_or(0.0, |ends| ends[1]) as f32,
            way: effort.engagement.map_or(0, |engagement| way(&engagement)),
        };
        self.knows.way |= trace.way > 0;
        let (until, volume) = (effort.share.1 as f32, effort.volume_mm3 as f32);
        self.strokes.push(Stroke { block: effort.block, last: effort.last, until, volume, trace });
    }

    /// Takes in what the blocks that follow did.
    pub(super) fn join(&mut self, mut later: Traces) {
        let Known { chip, spring, way } = later.knows;
        self.knows =
            Known { chip: self.knows.chip || chip, spring: self.knows.spring || spring, way: self.knows.way || way };
        self.strokes.append(&mut later.strokes);
    }

    /// What a block did between two shares of its way, or at the nearest at which it took wood; anywhere where nobody can tell
    /// the shares: the greatest of each, and the way of the stroke that took the most wood. Nothing where it took none.
    pub fn at(&self, block: u32, shares: Option<[f64; 2]>) -> Trace {
        let first = self.strokes.partition_point(|stroke| stroke.last < block);
        let count = self.strokes[first..].iter().take_while(|stroke| stroke.block <= block).count();
        let mut strokes = &self.strokes[first..first + count];
        if let Some([from, to]) = shares.filter(|_| count > 0) {
            let at = |share: f64| strokes.partition_point(|stroke| f64::from(stroke.until) < share).min(count - 1);
            strokes = &strokes[at(from)..=at(to)];
        }
        let mut most = Trace::default();
        let mut volume = 0.0;
        for stroke in strokes {
            most.depth_mm = most.depth_mm.max(stroke.trace.depth_mm);
            most.chip_mm = most.chip_mm.max(stroke.trace.chip_mm);
            most.spring_mm = most.spring_mm.max(stroke.trace.spring_mm);
            if stroke.volume > volume {
                (volume, most.way) = (stroke.volume, stroke.trace.way);
            }
        }
        most
    }

    /// Whether any block took wood.
    pub fn knows_depths(&self) -> bool {
        !self.strokes.is_empty()
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

fn way(engagement: &Engagement) -> u8 {
    let Some(is_climb) = engagement.is_climb else { return 0 };
    let grain = match engagement.grain {
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

    const GROOVE: Engagement = Engagement {
        width: 6.0,
        depth: 1.0,
        diameter: 6.0,
        arc: std::f64::consts::PI,
        feed_per_tooth: None,
        chip_mean: None,
        chip_greatest: None,
        rate: None,
        speed: None,
        direction: [-1.0, 0.0, 0.0],
        is_plunge: false,
        is_climb: None,
        grain: Grain::Along,
    };

    #[test]
    fn a_stroke_is_found_by_block_and_share() {
        let mut traces = Traces::default();
        assert!(!traces.knows_depths() && !traces.knows_chips() && !traces.knows_spring() && !traces.knows_ways());
        let stroke = |(block, last), share, volume_mm3, depth, is_climb| Effort {
            block,
            last,
            share,
            volume_mm3,
            engagement: Some(Engagement {
                depth,
                chip_greatest: Some(0.1 * depth),
                is_climb: Some(is_climb),
                grain: Grain::Uphill,
                ..GROOVE
            }),
            ..Effort::default()
        };
        let efforts = [
            stroke((1, 1), (0.25, 0.5), 5.0, 1.0, true),
            stroke((1, 1), (0.5, 0.75), 2.0, 3.0, false),
            stroke((2, 4), (0.0, 1.0), 1.0, 0.5, false),
        ];
        efforts.iter().for_each(|effort| traces.take(effort));
        let depth = |block, share| traces.at(block, share).depth_mm;
        // Before the first and past the last that took wood the nearest stands.
        assert_eq!([0.0, 0.3, 0.6, 1.0].map(|share| depth(1, Some([share; 2]))), [1.0, 1.0, 3.0, 3.0]);
        // Between two shares the greatest.
        assert_eq!([0.4, 0.6].map(|share| depth(1, Some([0.2, share]))), [1.0, 3.0]);
        let whole = traces.at(1, None);
        assert_eq!((whole.depth_mm, whole.chip_mm, whole.spring_mm, whole.way), (3.0, 0.3, 0.0, 4));
        assert_eq!((traces.at(2, None).way, traces.at(2, Some([0.5; 2])).way), (8, 8));
        // All blocks of a stroke did what it did.
        assert_eq!([2, 3, 4].map(|block| depth(block, Some([0.1; 2]))), [0.5; 3]);
        assert_eq!((traces.at(0, None), traces.at(5, Some([0.5; 2]))), (Trace::default(), Trace::default()));
        assert!(traces.knows_depths() && traces.knows_chips() && !traces.knows_spring() && traces.knows_ways());
    }
}
