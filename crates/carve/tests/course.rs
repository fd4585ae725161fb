//! What a run tells of its way: strokes against closed forms, and that listening changes nothing.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::f64::consts::{PI, TAU};

use common::{Program, bits, carve_checked, cutter, everything, pose};
use dryturn_carve::{Carved, Course, Cutter, Grid, Instructions, Job, RunOptions, Stroke, carve_recorded};
use dryturn_geom::{Motion, Offset, Shape, Stock};

fn recorded(stock: &Stock, cutters: &[Cutter], motions: &Vec<Motion>, pitch: f64) -> (Carved, Course) {
    let job = Job { stock, dimple: None, cutters, motions };
    carve_recorded(&job, &Grid::over(stock, pitch), &[], &RunOptions::default()).unwrap()
}

fn strokes(course: &Course, block: u32) -> Vec<Stroke> {
    course.strokes(block..block + 1).collect()
}

fn sum(strokes: &[Stroke], of: impl Fn(&Stroke) -> f64) -> f64 {
    strokes.iter().map(of).sum()
}

/// All bits of a course, in words.
fn course_bits(course: &Course, grid: &Grid, blocks: u32) -> Vec<u64> {
    let strokes = course.strokes(0..blocks).flat_map(|it| {
        let Stroke { block, last, share, volume_mm3, depth_mm, left_mm3 } = it;
        let numbers = [share.0, share.1, volume_mm3, depth_mm, left_mm3].map(f64::to_bits);
        numbers.into_iter().chain([block, last].map(u64::from))
    });
    let rows = (0..grid.stations).flat_map(|row| (0..course.moments().len()).map(move |moment| (row, moment)));
    let sections = rows.flat_map(|(row, moment)| {
        let it = course.section(row, moment);
        let [y, z] = it.first;
        let [yy, zz, yz] = it.second;
        [it.area, y, z, yy, zz, yz, it.reach].map(f64::to_bits)
    });
    strokes.chain(sections).collect()
}

#[test]
fn recording_changes_nothing_and_nothing_changes_the_record() {
    let (cutters, motions) = everything();
    let off = Offset { y: 0.5, z: 0.3 };
    let stock = Stock { near: off, far: Offset { z: -0.4, ..off }, start: -4.0, ..Stock::round(12.0, 44.0) };
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
    let (grid, count) = (Grid::over(&stock, 1.0), job.motions.count());
    let plain = bits(&carve_checked(&job, &grid, &RunOptions::default()), count);
    let moments: Vec<u32> = (0..count).step_by(3).collect();
    let mut first = None;
    for (threads, tile) in [(1, None), (2, Some((8, 64))), (7, Some((5, 17))), (3, Some((1000, 4000)))] {
        for instructions in Instructions::ALL {
            let options = RunOptions { threads, tile, instructions: Some(instructions), ..RunOptions::default() };
            let (carved, course) = carve_recorded(&job, &grid, &moments, &options).unwrap();
            assert_eq!(bits(&carved, count), plain, "{threads} threads, tiles {tile:?}, {instructions:?}");
            for block in 0..count {
                let told = strokes(&course, block);
                let all = sum(&told, |it| it.volume_mm3);
                let removed: f64 = (block..=told[0].last).map(|block| carved.removed_by(block)).sum();
                assert!((all - removed).abs() < 1e-9 * (1.0 + all), "block {block}");
            }
            let course = course_bits(&course, &grid, count);
            assert!(first.get_or_insert_with(|| course.clone()) == &course, "{threads} {tile:?} {instructions:?}");
        }
    }
}

/// A flat cutter steps away from the jaws by half its width with each turn. The wood passes under it away from the operator, so
/// it goes toward −y over the wood, and what it takes lies on its left.
#[test]
fn a_long_helix_tells_where_it_took_its_wood() {
    let (stock, cutters) = (Stock::round(20.0, 60.0), [cutter(Shape::Flat, 3.0, 20.0)]);
    let mut program = Program::new(pose(10.0, 0.0, 18.0, 0.0));
    program.feed(pose(10.0, 0.0, 18.0, 360.0)).feed(pose(40.0, 0.0, 18.0, 360.0 + 3600.0));
    let (carved, course) = recorded(&stock, &cutters, &program.motions, 0.25);
    let found = strokes(&course, 1);
    let way = 10.0 * TAU * 20.0;
    assert!(found.len() as f64 > way / 13.0 && found.len() as f64 <= way / 6.0, "{}", found.len());
    assert!(found.iter().all(|it| it.share.1 - it.share.0 <= 1.0 / 80.0 + 1e-12));
    assert!(found.windows(2).all(|pair| pair[0].share.1 == pair[1].share.0));
    assert_eq!((found[0].share.0, found[found.len() - 1].share.1), (0.0, 1.0));
    let all = sum(&found, |it| it.volume_mm3);
    assert!((all - carved.removed_by(1)).abs() < 1e-9 * all);
    // From the second turn on each takes as much as the lead is long.
    let ring = 3.0 * PI * (20.0 * 20.0 - 18.0 * 18.0);
    for it in found.iter().filter(|it| it.share.0 > 0.1) {
        let expected = 10.0 * ring * (it.share.1 - it.share.0);
        assert!((it.volume_mm3 / expected - 1.0).abs() < 0.06, "{it:?} {expected}");
        // A flat bottom off the vertical leaves a little more.
        assert!((it.depth_mm - 2.0).abs() < 0.03, "{it:?}");
        assert!((it.left_mm3 / it.volume_mm3 - 1.0).abs() < 1e-3, "{it:?}");
    }
}

#[test]
fn a_long_straight_cut_is_told_by_the_way_along_it() {
    let (stock, cutters) = (Stock::round(20.0, 200.0), [cutter(Shape::Flat, 3.0, 20.0)]);
    let mut program = Program::new(pose(-10.0, 0.0, 17.0, 0.0));
    program.feed(pose(210.0, 0.0, 17.0, 0.0));
    // Beside the slot, half over wood that is gone.
    program.resume(pose(-10.0, 3.0, 17.0, 0.0), 0).feed(pose(210.0, 3.0, 17.0, 0.0));
    let (carved, course) = recorded(&stock, &cutters, &program.motions, 0.1);
    for (block, left) in [(0, 0.5), (1, 1.0)] {
        let found = strokes(&course, block);
        assert_eq!(found.len(), 36);
        let all = carved.removed_by(block);
        assert!((sum(&found, |it| it.volume_mm3) - all).abs() < 1e-9 * all);
        for it in found.iter().filter(|it| it.share.0 > 0.1 && it.share.1 < 0.9) {
            let share = it.volume_mm3 / (all * 220.0 / 200.0 * (it.share.1 - it.share.0));
            assert!((share - 1.0).abs() < 0.02, "{it:?}: {share}");
            assert!((it.left_mm3 / it.volume_mm3 - left).abs() < 0.01, "{it:?}");
        }
        assert!(found[0].volume_mm3 < found[20].volume_mm3 && found[35].volume_mm3 < found[20].volume_mm3);
    }
    // Under the middle of the slot the flat bottom lies 3 mm below the surface.
    let depth = course.strokes(0..1).map(|it| it.depth_mm).fold(0.0, f64::max);
    assert!((depth - 3.0).abs() < 1e-4, "{depth}");
}

/// Rays slant where a bottom passes beside the top, and are longer than the cut is deep.
#[test]
fn depth_is_straight_down() {
    let stock = Stock::round(20.0, 40.0);
    // Beside the top and open to the outside, so that the second cut is 4 deep on every ray that meets its bottom first;
    // and on the other side in a slot, where a ray that comes in through one wall leaves through the other: from y = 9
    // to 15 at 8 over the axis, 3.2 down.
    for (y, radius, depth) in [(14.0, 6.0, 4.0), (-12.0, 3.0, 3.2)] {
        let cutters = [cutter(Shape::Flat, radius, 30.0)];
        let mut program = Program::new(pose(-10.0, y, 8.0, 0.0));
        program.feed(pose(50.0, y, 8.0, 0.0)).resume(pose(-10.0, y, 4.0, 0.0), 0).feed(pose(50.0, y, 4.0, 0.0));
        let (_, course) = recorded(&stock, &cutters, &program.motions, 0.1);
        for it in strokes(&course, 1).iter().filter(|it| it.share.0 > 0.2 && it.share.1 < 0.8) {
            assert!((it.depth_mm - depth).abs() < 0.05, "{it:?}");
        }
    }
}

/// Through the wall of a tube no more depth is told than there was wood.
#[test]
fn what_was_air_is_no_depth() {
    let stock = Stock { bore: 14.0, ..Stock::round(20.0, 40.0) };
    let cutters = [cutter(Shape::Flat, 2.0, 30.0)];
    let mut program = Program::new(pose(20.0, 0.0, 25.0, 0.0));
    program.feed(pose(20.0, 0.0, 0.5, 0.0));
    let (carved, course) = recorded(&stock, &cutters, &program.motions, 0.25);
    let found = strokes(&course, 0);
    assert_eq!(found.len(), 1);
    assert!((found[0].depth_mm - 6.0).abs() < 1e-4 && carved.radius(80, 0) == 0.0, "{found:?}");
    assert!((found[0].left_mm3 / found[0].volume_mm3 - 0.5).abs() < 1e-12, "{found:?}");
}

#[test]
fn short_blocks_are_joined_and_the_number_of_strokes_is_bounded() {
    let (stock, cutters) = (Stock::round(20.0, 60.0), [cutter(Shape::Ball, 1.0, 9.0)]);
    let mut program = Program::new(pose(10.0, 0.0, 30.0, 0.0));
    for k in 1..=20u8 {
        program.feed(pose(10.0, 0.0, 30.0, 5.0 * f64::from(k)));
    }
    program.feed(pose(10.0, 0.0, 30.0, 3.6e7));
    let (_, course) = recorded(&stock, &cutters, &program.motions, 1.0);
    // A block goes 1.75 mm at the blank's radius, and half of the least stroke is 1.5.
    assert!((0..20).all(|block| course.strokes(block..block + 1).all(|it| it.block == block && it.last == block)));
    assert_eq!(course.strokes(0..20).count(), 20);
    let long = course.strokes(20..21).count();
    assert!((250_000..=1_000_001).contains(&long), "{long}");
}

/// Blocks of 0.31 mm under a cutter of 6, three rows to and fro: some make a stroke together, of at least half of the
/// cutter but at a turn and at a moment, and all is told of them that is told of each.
#[test]
fn short_blocks_that_go_straight_on_are_one_stroke() {
    let (stock, cutters) = (Stock::round(20.0, 60.0), [cutter(Shape::Flat, 3.0, 20.0)]);
    let mut program = Program::new(pose(10.0, 0.0, 18.0, 0.0));
    for row in 0..3u8 {
        let y = f64::from(row);
        for k in 1..=100u8 {
            let along = 0.31 * f64::from(k);
            program.feed(pose(10.0 + if row == 1 { 31.0 - along } else { along }, y, 18.0, 0.0));
        }
        program.feed(pose(program.motions[program.motions.len() - 1].to.x, y + 1.0, 18.0, 0.0));
    }
    let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
    let (carved, course) = carve_recorded(&job, &Grid::over(&stock, 0.25), &[152], &RunOptions::default()).unwrap();
    let all: Vec<Stroke> = course.strokes(0..303).collect();
    assert_eq!((all[0].block, all[0].last, all[0].share), (0, 9, (0.0, 1.0)));
    assert!(all.windows(2).all(|pair| pair[0].last + 1 == pair[1].block) && all[all.len() - 1].last == 302);
    // Ten blocks each, where neither a turn nor the moment comes first: 100 = 10 · 10, the turn by itself, 51 and 49.
    assert_eq!(all.iter().filter(|it| it.last - it.block == 9).count(), 10 + 5 + 4 + 10);
    assert!([100, 201, 302].iter().all(|turn| all.iter().any(|it| it.block == *turn && it.last == *turn)));
    assert!(all.iter().any(|it| it.block == 152) && all.iter().any(|it| it.last == 151));
    for it in &all {
        let removed: f64 = (it.block..=it.last).map(|block| carved.removed_by(block)).sum();
        assert!((it.volume_mm3 - removed).abs() < 1e-9, "{it:?}: {removed}");
    }
}

/// Thin slices along the whole bar change every row each time; a helix changes only a few rows from one moment to the next.
#[test]
fn moments_are_as_many_as_their_cost_allows() {
    let (stock, cutters) = (Stock::round(20.0, 60.0), [cutter(Shape::Ball, 1.5, 20.0), cutter(Shape::Flat, 1.0, 20.0)]);
    let grid = Grid::over(&stock, 0.25);
    let chosen = |program: &Program, threads| {
        let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &program.motions };
        Course::choose_moments(&job, &grid, &RunOptions { threads, ..RunOptions::default() }).unwrap()
    };
    let mut helix = Program::new(pose(0.0, 0.0, 19.0, 0.0));
    for k in 1..=30_000u32 {
        helix.feed(pose(0.002 * f64::from(k), 0.0, 19.0, 2.0 * f64::from(k)));
    }
    let mut slices = Program::new(pose(0.0, 0.0, 19.0, 0.0));
    for k in 1..=600u32 {
        let cutter = if k > 345 { 1 } else { 0 };
        slices.resume(pose(0.0, 0.0, 19.0, f64::from(k)), cutter).feed(pose(60.0, 0.0, 19.0, f64::from(k)));
    }
    let [of_helix, of_slices] = [&helix, &slices].map(|program| chosen(program, 1));
    assert!(of_helix.len() > 120 && of_helix.len() < 1030, "{}", of_helix.len());
    assert!((16..100).contains(&of_slices.len()), "{}", of_slices.len());
    assert!(of_slices.contains(&345) && chosen(&slices, 3) == of_slices);
    for (moments, count) in [(of_helix, 30_000), (of_slices, 600)] {
        assert!(moments.is_sorted_by(|a, b| a < b));
        assert_eq!((moments[0], moments[moments.len() - 1]), (0, count));
    }
    assert_eq!(chosen(&Program::new(pose(0.0, 0.0, 0.0, 0.0)), 1), [0]);
}
