//! The mesh of wood without any order must be as sound as any other.

use std::collections::BTreeSet;

use dryturn_carve::RunOptions;

use super::*;
use crate::blocks::Blocks;
use crate::cells::Cells;
use crate::level::Levels;
use crate::place::Place;
use crate::rays::End;
use crate::twins::Finder;
use crate::wood::{Height, State, Wood};

/// Numbers that look random, from a seed (Steele, Lea and Flood, *Fast splittable pseudorandom number generators*,
/// OOPSLA 2014).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        mixed(self.0)
    }

    fn below(&mut self, bound: u64) -> u64 {
        self.roll() % bound
    }
}

fn mixed(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Wood that answers as it pleases, but always the same.
struct Whim(u64);

impl Wood for Whim {
    fn at(&self, place: Place) -> State {
        let bits = [place.station, place.theta, place.radius].map(f64::to_bits);
        let whim = bits.iter().fold(self.0, |whim, bits| mixed(whim ^ bits));
        State { is_solid: whim % 2 != 0, by: (whim % 3 == 0).then_some((whim % 7) as u32) }
    }

    fn surface(&self, _: u32, _: Place) -> Option<Height> {
        None
    }
}

impl Body for Whim {
    type Part<'a> = &'a Whim;

    fn between(&self, _: Place, _: Place) -> &Whim {
        self
    }
}

/// Rays with up to five ends on few radii, so that many are equal; some stations are solid on the axis.
fn rays(dice: &mut Dice, rows: usize, angles: usize) -> Rays {
    let mut rays = Rays::new(-0.25, 0.25, angles);
    rays.close_row(Vec::new()).unwrap();
    for _ in 0..rows {
        let solid = dice.below(2);
        let mut row = Vec::new();
        for _ in 0..angles {
            let mut count = 2 * dice.below(3) + solid;
            count += u64::from(dice.below(20) == 0);
            let mut radii: Vec<u64> = (0..count).map(|_| 1 + dice.below(12)).collect();
            radii.sort_unstable();
            row.push(radii.iter().map(|r| End { radius: *r as f32 * 0.25, by: dice.below(3) as u32 }).collect());
        }
        rays.close_row(row).unwrap();
    }
    rays.close_row(Vec::new()).unwrap();
    rays
}

/// Up to three levels for a column, often on the radii of ends and of its neighbours.
fn whimsical(seed: u64, row: usize, column: usize) -> Levels {
    let mut dice = Dice(mixed(seed ^ (row * 1000 + column) as u64));
    let mut levels: Levels = (0..dice.below(4)).map(|_| (1 + dice.below(24)) as f64 * 0.125).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels
}

#[test]
fn noise_becomes_a_manifold() {
    let options = RunOptions::default();
    for (rows, angles, seeds) in [(40, 25, 0..10), (157, 100, 10..13)] {
        for seed in seeds {
            let stop = Stop::new(&options, STAGES);
            let rays = rays(&mut Dice(seed), rows, angles);
            let wood = Whim(seed);
            let skin = Skin::new(&rays, &wood, |_, _| false, &stop).unwrap();
            let levels = |row, column| whimsical(seed, row, column);
            let complex = Complex::new(&skin, &wood, levels, 1.0, &stop).unwrap();
            let mesh = Draft::new(&complex, Blocks::none(), &stop).unwrap().joined(0..rays.rows()).unwrap();
            let topology = mesh.topology().unwrap_or_else(|fault| panic!("{rows} x {angles}, seed {seed}: {fault}"));
            assert_eq!(topology.euler % 2, 0);
            assert!(mesh.volume_mm3() > 0.0);
            let (columns, twins, ambiguous) = (rows * angles, twins(&complex), ambiguous(&complex));
            assert!(twins > columns / 3 && ambiguous > columns / 80, "{columns}: {twins}, {ambiguous}");
        }
    }
}

/// Number of twin edges.
fn twins<W: Wood>(complex: &Complex<'_, W>) -> usize {
    let cells: Vec<Cells> = (0..complex.rays.rows() - 1).map(|row| Cells::new(complex, &Blocks::none(), row)).collect();
    let (blocks, split) = (&Blocks::none(), &BTreeSet::new());
    (0..cells.len()).map(|row| Finder { complex, blocks, cells: &cells, row, split }.twins().len()).sum()
}

/// Number of levels that are crossed on all four sides of their column.
fn ambiguous<W: Wood>(complex: &Complex<'_, W>) -> usize {
    let of = |(row, column): (usize, usize)| {
        let column = complex.column(row, column);
        column.levels.iter().filter(|level| column.joints(**level, |_| false).len() == 2).count()
    };
    let columns =
        (0..complex.rays.rows() - 1).flat_map(|row| (0..complex.rays.angles).map(move |column| (row, column)));
    columns.map(of).sum()
}
