//! Laws that any carve obeys, whatever the program: what turns, shifts or mirrors the job does the same to the solid; how
//! a way is cut into blocks, in which order they come and how often does not matter.
//!
//! Random programs of one to three blocks, straight and arcs, all four coordinates moving, above, at and below the
//! rotary axis, under every kind of cutter. An end may be off by the 0.05 µm within which two ends are one, by as
//! much again where a chord is no more than a graze, and by the search's own 0.01 µm; so two ways to the same solid agree
//! within twice that.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::f64::consts::TAU;

use common::{
    Solid, carve_checked, numbered, one_of_each, removed_mm3, solid, without, worst_between, worst_difference,
};
use dryturn_carve::{Carved, Cutter, Grid, Job, RunOptions, removed};
use dryturn_geom::{Arc, Axis, Lean, Motion, Offset, Pose, Section, Stock, angle};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Most that two ways to the same solid may differ on a ray, mm.
const SAME: f64 = 2.2e-4;

/// Most that a chord may be off its arc, mm.
const CHORD_DEVIATION: f64 = 2e-4;

/// A block in numbers from −1 to 1: its kind, then what it takes.
type Numbers = (u8, [f64; 7]);

/// A random job, bare of what it is carved from.
#[derive(Clone, Debug)]
struct Sketch {
    start: [f64; 4],
    blocks: Vec<Numbers>,
    radius: f64,
    share: f64,
    stock: usize,
}

fn sketches() -> impl Strategy<Value = Sketch> {
    let unit = || -1.0..1.0f64;
    let block = (0u8..6, prop::array::uniform7(unit()));
    (prop::array::uniform4(unit()), prop::collection::vec(block, 1..4), 1.0..3.5f64, 0.0..1.0f64, 0usize..3)
        .prop_map(|(start, blocks, radius, share, stock)| Sketch { start, blocks, radius, share, stock })
}

fn stock_of(sketch: &Sketch) -> Stock {
    let round = Stock::round(10.0, 12.0);
    let off = Offset { y: 0.7, z: -0.4 };
    match sketch.stock {
        0 => round,
        1 => Stock { bore: 3.0, near: off, far: off, ..round },
        _ => Stock { section: Section::Polygon { apothem: 8.0, sides: 5 }, turned: 0.3, near: off, far: off, ..round },
    }
}

fn grid_of(stock: &Stock) -> Grid {
    Grid::over(stock, 1.5)
}

fn motions_of(sketch: &Sketch) -> Vec<Motion> {
    let [x, y, z, turn] = sketch.start;
    let beside = if y.abs() < 0.4 { 0.0 } else { 4.0 * y };
    let mut at = Pose { x: 6.0 + 7.0 * x, y: beside, z: 3.5 + 5.5 * z, turn: 20.0 * turn };
    let mut motions = Vec::new();
    for (kind, numbers) in &sketch.blocks {
        let motion = block(&at, *kind, numbers);
        at = motion.to;
        motions.push(motion);
    }
    numbered(motions)
}

fn block(from: &Pose, kind: u8, numbers: &[f64; 7]) -> Motion {
    let [x, y, z, turn, reach, start, sweep] = *numbers;
    let by = |x: f64, y: f64, z: f64, turn: f64| Pose {
        x: from.x + x,
        y: from.y + y,
        z: from.z + z,
        turn: from.turn + turn,
    };
    let straight = |to: Pose| Motion { from: *from, to, arc: None, block: 0, cutter: 0, rapid: false };
    match kind {
        0 => straight(by(4.0 * x, 2.0 * y, 3.0 * z, turn)),
        1 => straight(by(4.0 * x, 2.0 * y, 3.0 * z, 0.0)),
        2 => straight(by(4.0 * x, 0.0, z, 3.0 * turn)),
        kind => {
            let (axes, scale) = match kind {
                3 => ([Axis::X, Axis::Y], 1.0),
                4 => ([Axis::Z, Axis::X], 1.0),
                _ => ([Axis::X, Axis::Turn], 0.1),
            };
            let length = 0.5 + 3.0 * reach.abs();
            let reach = [length, scale * length];
            arc(straight(by(x, y, z, 0.5 * turn)), axes, reach, 3.0 * start, 5.0 * sweep)
        }
    }
}

/// Bends the way of two coordinates of a straight motion into an arc.
fn arc(straight: Motion, axes: [Axis; 2], reach: [f64; 2], start: f64, sweep: f64) -> Motion {
    let (sine, cosine) = angle::sin_cos(start);
    let center = [get(&straight.from, axes[0]) - reach[0] * cosine, get(&straight.from, axes[1]) - reach[1] * sine];
    let (sine, cosine) = angle::sin_cos(start + sweep);
    let mut motion = Motion { arc: Some(Arc { axes, center, reach, start, sweep, lean: Lean::default() }), ..straight };
    *place(&mut motion.to, axes[0]) = center[0] + reach[0] * cosine;
    *place(&mut motion.to, axes[1]) = center[1] + reach[1] * sine;
    motion
}

fn place(pose: &mut Pose, axis: Axis) -> &mut f64 {
    match axis {
        Axis::X => &mut pose.x,
        Axis::Y => &mut pose.y,
        Axis::Z => &mut pose.z,
        Axis::Turn => &mut pose.turn,
    }
}

fn get(pose: &Pose, axis: Axis) -> f64 {
    *place(&mut pose.clone(), axis)
}

/// A motion with one coordinate scaled and shifted.
fn mapped(motion: &Motion, axis: Axis, scale: f64, shift: f64) -> Motion {
    let mut motion = *motion;
    for pose in [&mut motion.from, &mut motion.to] {
        *place(pose, axis) = scale * get(pose, axis) + shift;
    }
    if let Some(arc) = &mut motion.arc {
        for k in 0..2 {
            if arc.axes[k] == axis {
                arc.center[k] = scale * arc.center[k] + shift;
                arc.reach[k] *= scale;
            }
        }
    }
    motion
}

fn all_mapped(motions: &[Motion], axis: Axis, scale: f64, shift: f64) -> Vec<Motion> {
    motions.iter().map(|motion| mapped(motion, axis, scale, shift)).collect()
}

/// Into how many pieces a motion is cut: chords of its arc, and no more than a degree each.
fn pieces(motion: &Motion, radius: f64) -> f64 {
    let turns = ((motion.to.turn - motion.from.turn).abs() / TAU * 360.0 - 1e-9).ceil();
    f64::from(motion.chord_count(CHORD_DEVIATION, radius)).max(turns)
}

/// The two halves of a motion; an arc is cut at the end of one of its chords, or its ways would differ.
fn halves(motion: &Motion, share: f64, radius: f64) -> [Motion; 2] {
    let pieces = pieces(motion, radius);
    let t = if motion.arc.is_some() { (share * pieces).round() / pieces } else { share };
    let middle = motion.at(t);
    let part = |from: f64, by: f64| {
        motion.arc.map(|arc| Arc { start: arc.start + from * arc.sweep, sweep: by * arc.sweep, ..arc })
    };
    [Motion { to: middle, arc: part(0.0, t), ..*motion }, Motion { from: middle, arc: part(t, 1.0 - t), ..*motion }]
}

fn run(stock: &Stock, cutter: &Cutter, motions: &Vec<Motion>) -> Carved {
    let cutters = [cutter.clone()];
    let job = Job { stock, dimple: None, cutters: &cutters, motions };
    carve_checked(&job, &grid_of(stock), &RunOptions { threads: 1, ..RunOptions::default() })
}

/// Carves two jobs with every kind of cutter and compares the solids, ray (row, column) with ray `of(row, column)`.
fn same_solid(
    sketch: &Sketch,
    one: (&Stock, &Vec<Motion>),
    two: (&Stock, &Vec<Motion>),
    of: impl Fn(usize, usize) -> Option<(usize, usize)>,
) -> Result<(), TestCaseError> {
    for (name, cutter) in one_of_each(sketch.radius, sketch.share) {
        let (a, b) = (run(one.0, &cutter, one.1), run(two.0, &cutter, two.1));
        let off = worst_between(&a, &b, &of);
        if off.value > SAME {
            let (row, column) = of(off.row, off.column).unwrap();
            let (a, b) = (solid(&a, off.row, off.column), solid(&b, row, column));
            return Err(TestCaseError::fail(format!("{name} at {off:?}: {a:?} and {b:?}")));
        }
    }
    Ok(())
}

/// The stock with its centre line and its first flat turned on.
fn turned(stock: &Stock, by: f64) -> Stock {
    let (sine, cosine) = angle::sin_cos(by);
    let turn = |o: Offset| Offset { y: o.y * cosine - o.z * sine, z: o.z * cosine + o.y * sine };
    Stock { turned: stock.turned + by, near: turn(stock.near), far: turn(stock.far), ..stock.clone() }
}

fn mirrored(stock: &Stock) -> Stock {
    let mirror = |o: Offset| Offset { y: -o.y, ..o };
    Stock { turned: -stock.turned, near: mirror(stock.near), far: mirror(stock.far), ..stock.clone() }
}

fn config() -> ProptestConfig {
    ProptestConfig { cases: 32, rng_seed: RngSeed::Fixed(20), failure_persistence: None, ..ProptestConfig::default() }
}

/// What single rays lose, each on its own, without any grid, tile or bound.
fn alone(stock: &Stock, cutter: &Cutter, motions: &[Motion], station: f64, theta: f64) -> Solid {
    let radius = stock.swept_radius();
    let mut solid = stock.spans(station, theta).as_slice().to_vec();
    for motion in motions {
        let pieces = pieces(motion, radius);
        for piece in 0..pieces as u32 {
            let [from, to] = [piece, piece + 1].map(|k| motion.at(f64::from(k) / pieces));
            for (lo, hi) in removed(&cutter.flutes, &from, &to, station, theta, radius) {
                solid = without(&solid, lo, hi);
            }
        }
    }
    solid
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn a_grid_overlooks_no_ray(sketch in sketches()) {
        let stock = stock_of(&sketch);
        let motions = motions_of(&sketch);
        for (name, cutter) in one_of_each(sketch.radius, sketch.share) {
            let carved = run(&stock, &cutter, &motions);
            let off = worst_difference(&carved, 1, |x, theta| alone(&stock, &cutter, &motions, x, theta));
            prop_assert!(off.value <= SAME, "{}: {:?}", name, off);
        }
    }

    #[test]
    fn turning_the_job_turns_the_solid(sketch in sketches(), columns in 1usize..60) {
        let (stock, motions) = (stock_of(&sketch), motions_of(&sketch));
        let grid = grid_of(&stock);
        let by = columns as f64 * grid.angle_step;
        let on = (turned(&stock, by), all_mapped(&motions, Axis::Turn, 1.0, by));
        prop_assert_eq!(grid_of(&on.0).angles, grid.angles);
        same_solid(&sketch, (&stock, &motions), (&on.0, &on.1), |row, column| {
            Some((row, (column + columns) % grid.angles))
        })?;
    }

    #[test]
    fn shifting_the_job_shifts_the_solid(sketch in sketches(), rows in 1usize..6) {
        let (stock, motions) = (stock_of(&sketch), motions_of(&sketch));
        let grid = grid_of(&stock);
        let on = all_mapped(&motions, Axis::X, 1.0, rows as f64 * grid.station_step);
        same_solid(&sketch, (&stock, &motions), (&stock, &on), |row, column| {
            (row + rows < grid.stations).then_some((row + rows, column))
        })?;
    }

    #[test]
    fn mirroring_the_job_mirrors_the_solid(sketch in sketches()) {
        let (stock, motions) = (stock_of(&sketch), motions_of(&sketch));
        let grid = grid_of(&stock);
        let over = all_mapped(&all_mapped(&motions, Axis::Y, -1.0, 0.0), Axis::Turn, -1.0, 0.0);
        same_solid(&sketch, (&stock, &motions), (&mirrored(&stock), &over), |row, column| {
            Some((row, (grid.angles - column) % grid.angles))
        })?;
        // The blank is uniform along its axis, so end for end is a mirror too.
        let back = all_mapped(&motions, Axis::X, -1.0, stock.length);
        same_solid(&sketch, (&stock, &motions), (&stock, &back), |row, column| {
            Some((grid.stations - 1 - row, column))
        })?;
    }

    #[test]
    fn cutting_blocks_in_two_changes_nothing(sketch in sketches(), share in 0.05..0.95f64) {
        let (stock, motions) = (stock_of(&sketch), motions_of(&sketch));
        let radius = stock.swept_radius();
        let cut = numbered(motions.iter().flat_map(|motion| halves(motion, share, radius)).collect());
        same_solid(&sketch, (&stock, &motions), (&stock, &cut), |row, column| Some((row, column)))?;
    }

    #[test]
    fn going_backward_changes_nothing(sketch in sketches()) {
        let (stock, motions) = (stock_of(&sketch), motions_of(&sketch));
        let back = motions.iter().rev().map(|motion| Motion {
            from: motion.to,
            to: motion.from,
            arc: motion.arc.map(|arc| Arc { start: arc.start + arc.sweep, sweep: -arc.sweep, ..arc }),
            ..*motion
        });
        let back = numbered(back.collect());
        same_solid(&sketch, (&stock, &motions), (&stock, &back), |row, column| Some((row, column)))?;
    }

    #[test]
    fn a_second_time_takes_nothing(sketch in sketches()) {
        let (stock, motions) = (stock_of(&sketch), motions_of(&sketch));
        let twice = numbered([motions.clone(), motions.clone()].concat());
        let count = motions.len() as u32;
        for (name, cutter) in one_of_each(sketch.radius, sketch.share) {
            let (a, b) = (run(&stock, &cutter, &motions), run(&stock, &cutter, &twice));
            let (first, second) = (b.removed_mm3(0..count), b.removed_mm3(count..2 * count));
            prop_assert_eq!(first.to_bits(), removed_mm3(&a, &motions).to_bits());
            prop_assert!(second <= 1e-9 * first, "{}: {} after {}", name, second, first);
            let off = worst_between(&a, &b, |row, column| Some((row, column)));
            prop_assert!(off.value <= SAME, "{}: {:?}", name, off);
        }
    }

    #[test]
    fn order_does_not_matter(sketch in sketches()) {
        let (stock, motions) = (stock_of(&sketch), motions_of(&sketch));
        let reversed = numbered(motions.iter().rev().copied().collect());
        same_solid(&sketch, (&stock, &motions), (&stock, &reversed), |row, column| Some((row, column)))?;
    }

    /// Blocks that share no ray may come in any order to the last bit.
    #[test]
    fn order_of_disjoint_blocks_changes_no_bit(sketch in sketches()) {
        let stock = Stock { length: 72.0, ..stock_of(&sketch) };
        let apart: Vec<Motion> = motions_of(&sketch)
            .iter()
            .enumerate()
            .map(|(k, motion)| mapped(motion, Axis::X, 1.0, 12.0 + 24.0 * k as f64 - motion.from.x))
            .collect();
        let reversed = numbered(apart.iter().rev().copied().collect());
        let last = apart.len() as u32 - 1;
        for (name, cutter) in one_of_each(sketch.radius, sketch.share) {
            let (a, b) = (run(&stock, &cutter, &apart), run(&stock, &cutter, &reversed));
            for block in 0..=last {
                prop_assert_eq!(a.removed_by(block).to_bits(), b.removed_by(last - block).to_bits(), "{}", name);
            }
            let off = worst_between(&a, &b, |row, column| Some((row, column)));
            prop_assert_eq!(off.value, 0.0, "{}", name);
        }
    }
}
