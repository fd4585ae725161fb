//! Many rays at a time: plain loops over short arrays, compiled once more for machines with wider registers.
//!
//! The loops hold no fused multiply-adds and no reordered sums of numbers that round, so every level gives the same bits.

use super::filter::Bars;
use super::instant::{Aim, Piece};
use super::integrals::{SumsByLane, Weights, integrate};
use super::lost::{Lost, Side, fall};
use super::meet::{self, Field, Row};
use super::settle::{Contact, Gathered, settle};
use super::volume::units_of;

/// Rays that are looked at together: neighbours in a row.
pub(crate) const LANES: usize = 16;

/// How neighbouring columns stand at the two ends of a piece: sin φ and cos φ.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Aims<T> {
    pub(crate) s0: [T; LANES],
    pub(crate) c0: [T; LANES],
    pub(crate) s1: [T; LANES],
    pub(crate) c1: [T; LANES],
}

/// The same for the filter and for what is exact.
#[derive(Clone, Copy, Debug)]
pub(crate) struct AimChunk {
    pub(crate) rough: Aims<f32>,
    /// 1 − cos φ at the two ends, which near the top is known much more closely than the cosine.
    pub(crate) versines: ([f32; LANES], [f32; LANES]),
    pub(crate) exact: Aims<f64>,
}

impl<T: Copy> Aims<T> {
    const fn of(value: T) -> Aims<T> {
        Aims { s0: [value; LANES], c0: [value; LANES], s1: [value; LANES], c1: [value; LANES] }
    }
}

impl AimChunk {
    pub(crate) const ZERO: AimChunk =
        AimChunk { rough: Aims::of(0.0), versines: ([0.0; LANES], [0.0; LANES]), exact: Aims::of(0.0) };

    /// How one column stands.
    #[inline]
    pub(crate) fn aim(&self, lane: usize) -> Aim {
        let exact = &self.exact;
        Aim { start: (exact.s0[lane], exact.c0[lane]), end: (exact.s1[lane], exact.c1[lane]) }
    }
}

/// The outermost solid of neighbouring rays in a row: its ends, mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wood<'a> {
    pub(crate) inner: &'a [f32; LANES],
    pub(crate) outer: &'a [f32; LANES],
}

/// Which instructions the loops are compiled for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Instructions {
    /// What every processor of the kind has.
    Common,
    /// 256-bit registers, x86-64 only (AVX2).
    Wide,
    /// 512-bit registers and masks, x86-64 only (AVX-512 F, BW, DQ and VL).
    Widest,
}

impl Instructions {
    /// All kinds, from the narrowest.
    pub const ALL: [Instructions; 3] = [Instructions::Common, Instructions::Wide, Instructions::Widest];

    /// The widest this processor has.
    pub fn best() -> Instructions {
        #[cfg(target_arch = "x86_64")]
        {
            let is_wide = is_x86_feature_detected!("avx2");
            let has_masks = is_x86_feature_detected!("avx512bw") && is_x86_feature_detected!("avx512dq");
            let is_widest = has_masks && is_x86_feature_detected!("avx512f") && is_x86_feature_detected!("avx512vl");
            if is_wide {
                return if is_widest { Instructions::Widest } else { Instructions::Wide };
            }
        }
        Instructions::Common
    }

    /// These, or the widest ones where the processor lacks them.
    pub(crate) fn available(self) -> Instructions {
        self.min(Instructions::best())
    }

    /// How columns with these sines and cosines of θ stand during a piece.
    #[inline]
    pub(crate) fn aim(self, piece: &Piece, sines: &[f64; LANES], cosines: &[f64; LANES], aims: &mut AimChunk) {
        match self {
            Instructions::Common => aim(piece, sines, cosines, aims),
            Instructions::Wide => wide::aim(piece, sines, cosines, aims),
            Instructions::Widest => widest::aim(piece, sines, cosines, aims),
        }
    }

    /// Gathers the rays under the rows that the part behind the bars may meet.
    #[inline]
    pub(crate) fn gather(
        self,
        rows: &[Row],
        bars: &mut Bars,
        aims: &[AimChunk],
        field: &Field<'_>,
        gathered: &mut Gathered,
    ) {
        match self {
            Instructions::Common => gather(rows, bars, aims, field, gathered),
            Instructions::Wide => wide::gather(rows, bars, aims, field, gathered),
            Instructions::Widest => widest::gather(rows, bars, aims, field, gathered),
        }
    }

    /// Finds what the rays lose that were gathered, where it can be proved at once.
    #[inline]
    pub(crate) fn settle(self, contact: &Contact<'_>, gathered: &mut Gathered) {
        match self {
            Instructions::Common => settle(contact, gathered),
            Instructions::Wide => wide::settle(contact, gathered),
            Instructions::Widest => widest::settle(contact, gathered),
        }
    }

    /// Brings rays, by bit, down to new outer ends in the name of a block; returns the units of volume they lose and the
    /// greatest outer end that is left.
    #[inline]
    pub(crate) fn lower(
        self,
        rays: u32,
        (ends, by): (&[f32; LANES], u32),
        outer: &mut [f32; LANES],
        outer_by: &mut [u32; LANES],
    ) -> (i64, f32) {
        match self {
            Instructions::Common => lower(rays, ends, by, outer, outer_by),
            Instructions::Wide => wide::lower(rays, ends, by, outer, outer_by),
            Instructions::Widest => widest::lower(rays, ends, by, outer, outer_by),
        }
    }

    /// As [`Instructions::lower`], and tells how deep and on which side of the way the rays lose it.
    #[inline]
    pub(crate) fn lower_told(
        self,
        rays: u32,
        ends: (&[f32; LANES], u32),
        side: &Side,
        aims: &AimChunk,
        outer: (&mut [f32; LANES], &mut [u32; LANES]),
    ) -> (Lost, f32) {
        match self {
            Instructions::Common => lower_told(rays, ends, side, &aims.rough, outer),
            Instructions::Wide => wide::lower_told(rays, ends, side, &aims.rough, outer),
            Instructions::Widest => widest::lower_told(rays, ends, side, &aims.rough, outer),
        }
    }

    /// Adds what the wood of rays comes to in integrals over the section, to the sums of their lanes.
    #[inline]
    pub(crate) fn integrate(self, weights: &Weights<'_>, wood: Wood<'_>, sums: &mut SumsByLane) {
        match self {
            Instructions::Common => integrate(weights, wood, sums),
            Instructions::Wide => wide::integrate(weights, wood, sums),
            Instructions::Widest => widest::integrate(weights, wood, sums),
        }
    }

    /// Brings every radius down to a floor.
    #[inline]
    pub(crate) fn skim(self, radii: &mut [f32], floor: f32) {
        match self {
            Instructions::Common => skim(radii, floor),
            Instructions::Wide => wide::skim(radii, floor),
            Instructions::Widest => widest::skim(radii, floor),
        }
    }
}

/// The places of the ones, as bits.
#[inline(always)]
pub(super) fn bits<const COUNT: usize>(values: &[u32; COUNT]) -> u32 {
    let mut bits = 0;
    for (lane, value) in values.iter().enumerate() {
        bits |= value << lane;
    }
    bits
}

#[inline(always)]
fn aim(piece: &Piece, sines: &[f64; LANES], cosines: &[f64; LANES], aims: &mut AimChunk) {
    let AimChunk { rough, versines, exact } = aims;
    for lane in 0..LANES {
        let aim = piece.aim((sines[lane], cosines[lane]));
        (exact.s0[lane], exact.c0[lane]) = aim.start;
        (exact.s1[lane], exact.c1[lane]) = aim.end;
    }
    for lane in 0..LANES {
        rough.s0[lane] = exact.s0[lane] as f32;
        rough.c0[lane] = exact.c0[lane] as f32;
        rough.s1[lane] = exact.s1[lane] as f32;
        rough.c1[lane] = exact.c1[lane] as f32;
        versines.0[lane] = (1.0 - exact.c0[lane]) as f32;
        versines.1[lane] = (1.0 - exact.c1[lane]) as f32;
    }
}

#[inline(always)]
fn lower(rays: u32, ends: &[f32; LANES], by: u32, outer: &mut [f32; LANES], outer_by: &mut [u32; LANES]) -> (i64, f32) {
    let units = lower_each(rays, ends, by, (&mut *outer, outer_by), |_, _, _| {});
    (units, greatest(outer))
}

/// As [`lower`]; `tell` is given every lane, and its outer end before and after, in the same go over the lanes.
#[inline(always)]
fn lower_each(
    rays: u32,
    ends: &[f32; LANES],
    by: u32,
    (outer, outer_by): (&mut [f32; LANES], &mut [u32; LANES]),
    mut tell: impl FnMut(usize, f32, f32),
) -> i64 {
    let mut lost = [0; LANES];
    for lane in 0..LANES {
        // Bits are chosen rather than branches: what is stored in any case can be done many at a time.
        let chosen = (rays >> lane & 1).wrapping_neg();
        let end = f32::from_bits(ends[lane].to_bits() & chosen | outer[lane].to_bits() & !chosen);
        lost[lane] = units_of(outer[lane]) - units_of(end);
        tell(lane, outer[lane], end);
        outer[lane] = end;
        outer_by[lane] = by & chosen | outer_by[lane] & !chosen;
    }
    let mut sum = 0;
    for units in lost {
        sum += units;
    }
    sum
}

#[inline(always)]
fn lower_told(
    rays: u32,
    (ends, by): (&[f32; LANES], u32),
    side: &Side,
    aims: &Aims<f32>,
    (outer, outer_by): (&mut [f32; LANES], &mut [u32; LANES]),
) -> (Lost, f32) {
    let before = *outer;
    let mut depths = [0.0; LANES];
    let units = lower_each(rays, ends, by, (&mut *outer, outer_by), |lane, before, after| {
        depths[lane] = fall(before - after, (aims.c0[lane], aims.c1[lane]));
    });
    let left_twice = side.of_all.map_or_else(|| left_twice(side, aims, &before, outer), |twice| units * twice);
    (Lost { units, left_twice, depth: greatest(&depths) }, greatest(outer))
}

/// The greatest of neighbouring rays, as a tree, which the compiler turns into a few vector instructions.
#[inline(always)]
pub(crate) fn greatest(values: &[f32; LANES]) -> f32 {
    let mut all = *values;
    let mut half = LANES / 2;
    while half > 0 {
        for k in 0..half {
            all[k] = if all[k] > all[k + half] { all[k] } else { all[k + half] };
        }
        half /= 2;
    }
    all[0]
}

/// Twice the units that rays lost to the left of the way when their outer ends came down.
#[inline(always)]
fn left_twice(side: &Side, aims: &Aims<f32>, before: &[f32; LANES], after: &[f32; LANES]) -> i64 {
    let mut twice = [0; LANES];
    for lane in 0..LANES {
        let turned = side.turned(before[lane], aims.s0[lane] + aims.s1[lane], aims.c0[lane] + aims.c1[lane]);
        twice[lane] = u32::from(turned > side.on_line) + u32::from(turned >= -side.on_line);
    }
    let mut sum = 0;
    for lane in 0..LANES {
        let (lost, twice) = (units_of(before[lane]) - units_of(after[lane]), i64::from(twice[lane]));
        sum += (lost & -(twice & 1)) + ((lost + lost) & -(twice >> 1));
    }
    sum
}

#[inline(always)]
fn skim(radii: &mut [f32], floor: f32) {
    for radius in radii {
        *radius = if *radius > floor { floor } else { *radius };
    }
}

/// As many rays as the filter looks at together where registers are not the widest.
const HALF: usize = LANES / 2;

#[inline(always)]
fn gather(rows: &[Row], bars: &mut Bars, aims: &[AimChunk], field: &Field<'_>, gathered: &mut Gathered) {
    meet::gather::<HALF>(rows, bars, aims, field, gathered);
}

#[inline(always)]
fn gather_chunks(rows: &[Row], bars: &mut Bars, aims: &[AimChunk], field: &Field<'_>, gathered: &mut Gathered) {
    meet::gather::<LANES>(rows, bars, aims, field, gathered);
}

#[cfg(not(target_arch = "x86_64"))]
mod wide {
    pub(super) use super::{aim, gather, integrate, lower, lower_told, settle, skim};
}

#[cfg(not(target_arch = "x86_64"))]
mod widest {
    pub(super) use super::{aim, gather_chunks as gather, integrate, lower, lower_told, settle, skim};
}

/// A module with the same functions once more, compiled for more instructions.
#[cfg(target_arch = "x86_64")]
macro_rules! compiled_for {
    ($module:ident, $features:literal, $gather:ident) => {
        #[allow(unsafe_code, reason = "functions compiled for more instructions can be called in no other way")]
        mod $module {
            use super::{
                AimChunk, Aims, Bars, Contact, Field, Gathered, LANES, Lost, Piece, Row, Side, SumsByLane, Weights,
                Wood,
            };

            compiled_for! { $features
                aim = aim_wide(super::aim; piece: &Piece, sines: &[f64; LANES], cosines: &[f64; LANES], aims: &mut AimChunk);
                gather = gather_wide(super::$gather; rows: &[Row], bars: &mut Bars, aims: &[AimChunk], field: &Field<'_>, gathered: &mut Gathered);
                settle = settle_wide(super::settle; contact: &Contact<'_>, gathered: &mut Gathered);
                lower = lower_wide(super::lower; rays: u32, ends: &[f32; LANES], by: u32, outer: &mut [f32; LANES], outer_by: &mut [u32; LANES]) -> (i64, f32);
                lower_told = lower_told_wide(super::lower_told; rays: u32, ends: (&[f32; LANES], u32), side: &Side, aims: &Aims<f32>, outer: (&mut [f32; LANES], &mut [u32; LANES])) -> (Lost, f32);
                integrate = integrate_wide(super::integrate; weights: &Weights<'_>, wood: Wood<'_>, sums: &mut SumsByLane);
                skim = skim_wide(super::skim; radii: &mut [f32], floor: f32);
            }
        }
    };
    ($features:literal $($name:ident = $inner:ident($function:path; $($argument:ident: $kind:ty),*) $(-> $result:ty)?;)*) => { $(
        #[target_feature(enable = $features)]
        fn $inner($($argument: $kind),*) $(-> $result)? {
            $function($($argument),*)
        }

        #[inline]
        pub(super) fn $name($($argument: $kind),*) $(-> $result)? {
            // SAFETY: instructions are only ever used after `available` has found all of them on this processor.
            unsafe { $inner($($argument),*) }
        }
    )* };
}

#[cfg(target_arch = "x86_64")]
compiled_for!(wide, "avx2", gather);
#[cfg(target_arch = "x86_64")]
compiled_for!(widest, "avx512f,avx512bw,avx512dq,avx512vl", gather_chunks);

#[cfg(test)]
mod tests {
    use dryturn_geom::{ConvexPart, Flutes, Pose, Shape, angle};

    use super::super::settle::{Settled, Underside};
    use super::super::{Passages, Range, SAME_END, sweep};
    use super::*;

    /// Numbers that look like chance, the same every time.
    struct Dice(u64);

    impl Dice {
        fn between(&mut self, low: f64, high: f64) -> f64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            low + (high - low) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
        }
    }

    /// Rays, side by side, that a piece was held against.
    struct Trial {
        part: ConvexPart,
        piece: Piece,
        station: f64,
        aims: AimChunk,
        outer: [f32; LANES],
    }

    impl Trial {
        /// Near the wood, aslant, off the axis, now and then without a turn.
        fn new(part: &ConvexPart, dice: &mut Dice) -> Trial {
            let turn = dice.between(-3.0, 3.0);
            let from =
                Pose { x: dice.between(-1.0, 1.0), y: dice.between(-2.0, 2.0), z: dice.between(4.0, 29.0), turn };
            let still = dice.between(0.0, 1.0) < 0.2;
            let by = if still { 0.0 } else { dice.between(-0.035, 0.035) };
            let to = Pose {
                x: from.x + dice.between(-1.0, 1.0),
                y: from.y + dice.between(-0.2, 0.2),
                z: from.z + dice.between(-0.3, 0.3) * dice.between(-1.0, 1.0).max(0.0),
                turn: turn + by,
            };
            let piece = Piece::new(&from, &to);
            let (middle, step) = (turn + dice.between(-0.3, 0.3), dice.between(0.005, 0.03));
            let directions: [(f64, f64); LANES] =
                std::array::from_fn(|lane| angle::sin_cos(middle + step * (lane as f64 - 8.0)));
            let mut aims = AimChunk::ZERO;
            let (sines, cosines) = (directions.map(|it| it.0), directions.map(|it| it.1));
            Instructions::best().aim(&piece, &sines, &cosines, &mut aims);
            let reach = part.radius;
            let outer = std::array::from_fn(|_| (from.z + dice.between(-1.0, 6.0)) as f32);
            Trial { part: part.clone(), piece, station: dice.between(-reach, reach), aims, outer }
        }

        fn searched(&self, lane: usize) -> Passages {
            let ray = self.piece.ray(self.station, self.aims.aim(lane));
            sweep(&self.part, &ray, Range { inner: 0.0, outer: f64::from(self.outer[lane]) })
        }

        /// The rays that the cutter may meet, and what they lose.
        fn met(&self) -> (u32, Settled<LANES>) {
            let (underside, top) = (Underside::of(&self.part), greatest(&self.outer));
            let contact = Contact::new(&underside, &self.piece, 36.0);
            let mut gathered = Gathered::default();
            gathered.begin(&contact);
            let rows = [Row { row: 0, station: self.station, floor: 0.0, within: 0..LANES }];
            let field = Field { first: 0, chunks: 1, inner: &[0.0; LANES], outer: &self.outer, tops: &[top] };
            let mut bars = Bars::new(&self.part, &self.piece, f64::from(top));
            let (best, aims) = (Instructions::best(), std::slice::from_ref(&self.aims));
            best.gather(&rows, &mut bars, aims, &field, &mut gathered);
            if gathered.is_empty() {
                return (0, Settled::NOTHING);
            }
            best.settle(&contact, &mut gathered);
            (gathered.chunk(0).rays, *gathered.fates(0))
        }
    }

    #[test]
    fn what_is_told_many_at_a_time_is_what_the_search_finds() {
        let shapes = [
            Shape::Flat,
            Shape::Ball,
            Shape::Bull { corner: 1.0 },
            Shape::Vee { half_angle: 0.6, tip_radius: 0.0 },
            Shape::Taper { half_angle: 0.1, tip_radius: 1.0, ball: true },
        ];
        let mut dice = Dice(7);
        let mut cut = 0;
        for shape in shapes {
            let flutes = Flutes::new(shape.clone(), 3.0, 5.0).expect("a plain cutter");
            let (mut lowered, mut clear) = (0, 0);
            for _ in 0..2000 {
                let trial = Trial::new(&flutes.parts()[0], &mut dice);
                let (met, settled) = trial.met();
                for lane in 0..LANES {
                    let bit = 1 << lane;
                    let found = trial.searched(lane);
                    let outer = f64::from(trial.outer[lane]);
                    if (settled.lowered | settled.cut) & bit != 0 {
                        let [(lo, hi)] = found[..] else { panic!("{shape:?}: {found:?} is more than one passage") };
                        let off =
                            (lo - f64::from(settled.lo[lane])).abs().max((hi - f64::from(settled.hi[lane])).abs());
                        assert!(off < 4e-5, "{shape:?}: {off} mm off {found:?}");
                    } else if settled.open & bit == 0 {
                        let deep = found.iter().any(|(lo, _)| *lo < outer - 1.1 * f64::from(SAME_END));
                        assert!(!deep, "{shape:?}: {found:?} is overlooked under {outer}");
                    }
                }
                lowered += settled.lowered.count_ones();
                cut += (settled.cut & !settled.lowered).count_ones();
                clear += (!met & 0xffff).count_ones();
            }
            assert!(lowered > 500 && clear > 500, "{shape:?}: {lowered} {clear}");
        }
        assert!(cut > 500, "{cut} rays leave the cutter below their outer ends");
    }

    #[test]
    fn lowered_rays_lose_what_their_ends_say() {
        let ends: [f32; LANES] = std::array::from_fn(|lane| 9.0 - 0.1 * lane as f32);
        for instructions in Instructions::ALL.map(Instructions::available) {
            let (mut outer, mut outer_by) = ([10.0; LANES], [7; LANES]);
            let (units, top) = instructions.lower(0b1010, (&ends, 3), &mut outer, &mut outer_by);
            assert_eq!((outer[0], outer[1], outer[2], outer[3], top), (10.0, ends[1], 10.0, ends[3], 10.0));
            assert_eq!(outer_by[..4], [7, 3, 7, 3]);
            let lost = 200.0 - ends[1].powi(2) - ends[3].powi(2);
            assert!((units as f64 / super::super::UNITS - f64::from(lost)).abs() < 1e-5);
        }
    }
}
