//! Single rays, walls, volumes and finer patches, held against grids and closed forms.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use std::f64::consts::{PI, TAU};

use common::{Program, carve_checked, cutter, difference, one_of_each, oracle, pose, solid};
use dryturn_carve::{Cutter, Dimple, Grid, Job, Replay, RunOptions, UNTOUCHED, Volumes, Wall, finer};
use dryturn_geom::{Motion, Offset, Section, Shape, Stock};

/// Numbers that look random, 0 … 1, from a seed (Marsaglia, *Xorshift RNGs*, J. Stat. Soft. 8, 2003).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.roll()
    }
}

fn stocks() -> [Stock; 3] {
    let round = Stock::round(10.0, 12.0);
    let off = Offset { y: 0.7, z: -0.4 };
    [
        round.clone(),
        Stock { bore: 3.0, near: off, far: off, ..round.clone() },
        Stock { section: Section::Polygon { apothem: 8.0, sides: 5 }, turned: 0.3, near: off, ..round },
    ]
}

/// Blocks on a wandering way in and out of the blank, some straight, some turning it far.
fn wander(dice: &mut Dice, blocks: usize) -> Vec<Motion> {
    let place = |dice: &mut Dice, degrees: f64| {
        let (x, y) = (dice.between(-1.0, 13.0), dice.between(-3.0, 3.0));
        pose(x, y, dice.between(1.0, 10.0), degrees)
    };
    let mut degrees = dice.between(0.0, 360.0);
    let mut program = Program::new(place(dice, degrees));
    for _ in 0..blocks {
        if dice.roll() < 0.7 {
            degrees += dice.between(-90.0, 200.0);
        }
        program.feed(place(dice, degrees));
    }
    program.motions
}

fn job<'a>(stock: &'a Stock, cutters: &'a [Cutter], motions: &'a Vec<Motion>) -> Job<'a> {
    Job { stock, dimple: None, cutters, motions }
}

fn replay<'a>(job: &Job<'a>) -> Replay<'a> {
    Replay::new(job, &RunOptions::default()).unwrap()
}

#[test]
fn a_replayed_ray_is_the_ray_of_the_grid() {
    let mut dice = Dice(0x1234_5678_9abc_def1);
    let (mut rays, mut apart, mut worst, mut strangers) = (0u32, 0u32, 0.0f64, 0u32);
    for round in 0..3 {
        for (name, cutter) in one_of_each(dice.between(1.0, 3.0), dice.roll()) {
            let stock = stocks()[round].clone();
            let dimple = (round == 0).then_some(Dimple { apex: 9.0, slope: 0.6 });
            let (cutters, motions) = ([cutter], wander(&mut dice, 4));
            let job = Job { dimple, ..job(&stock, &cutters, &motions) };
            let (grid, replay) = (Grid::over(&stock, 0.7), replay(&job));
            let carved = carve_checked(&job, &grid, &RunOptions::default());
            for row in 0..grid.stations {
                for column in 0..grid.angles {
                    let ray = replay.ray(grid.station(row), grid.theta(column));
                    let inside_out: Vec<_> = ray.solid.iter().rev().map(|s| (s.inner, s.outer)).collect();
                    let off = difference(&inside_out, &solid(&carved, row, column));
                    assert!(off < 1.2e-4, "{name}: row {row}, column {column}: {off}");
                    rays += 1;
                    apart += u32::from(off > 2e-6);
                    worst = worst.max(off);
                    let owners: Vec<_> = ray.solid.iter().map(|s| (s.inner_by, s.outer_by)).collect();
                    let named: Vec<_> = carved.spans(row, column).map(|s| (s.inner_by, s.outer_by)).collect();
                    strangers += u32::from(owners != named);
                }
            }
        }
    }
    println!("{rays} rays, worst {worst:.1e} mm, {apart} over 2 nm, {strangers} with another owner");
    assert!(f64::from(apart) < 1e-3 * f64::from(rays) && f64::from(strangers) < 1e-3 * f64::from(rays));
}

/// Height over the surface of its owner and agreement of its normal with differences of neighbouring rays.
#[test]
fn normals_are_those_of_the_surface_around() {
    const STEP: f64 = 1e-3;
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    let (mut ends, mut bent, mut worst) = (0u32, 0u32, 0.0f64);
    for (name, cutter) in one_of_each(2.0, 0.5) {
        let stock = stocks()[usize::from(dice.roll() < 0.5) + 1].clone();
        let (cutters, motions) = ([cutter], wander(&mut dice, 4));
        let dimple = Some(Dimple { apex: 9.0, slope: 1.2 });
        let replay = replay(&Job { dimple, ..job(&stock, &cutters, &motions) });
        for _ in 0..300 {
            let (station, theta) = (dice.between(0.1, 11.9), dice.between(0.0, TAU));
            let ray = replay.ray(station, theta);
            let around: Vec<Vec<_>> = [(STEP, 0.0), (-STEP, 0.0), (0.0, STEP), (0.0, -STEP)]
                .map(|(x, turn)| replay.ray(station + x, theta + turn).ends().collect())
                .into();
            for (k, end) in ray.ends().enumerate() {
                let found = replay.surface(end.by, station, theta, end.radius).unwrap();
                assert!(found.height.abs() < 6e-5, "{name}: {end:?} {found:?}");
                let alike: Option<Vec<f64>> = around
                    .iter()
                    .map(|ends| ends.get(k).filter(|e| (e.by, e.is_outer) == (end.by, end.is_outer)).map(|e| e.radius))
                    .collect();
                let Some(r) = alike else { continue };
                let (along, across) = ((r[0] - r[1]) / (2.0 * STEP), (r[2] - r[3]) / (2.0 * STEP * end.radius));
                let second = (r[0] + r[1] - 2.0 * end.radius).abs().max((r[2] + r[3] - 2.0 * end.radius).abs());
                // Beside an edge, on a steep wall and at the axis the differences tell nothing.
                if end.radius < 0.5 || along.abs().max(across.abs()) > 3.0 || second > 2e-6 {
                    continue;
                }
                let sign = if end.is_outer { 1.0 } else { -1.0 };
                let length = (1.0 + along * along + across * across).sqrt();
                let local = [-along, 1.0, -across].map(|part| sign * part / length);
                let (s, c) = theta.sin_cos();
                let expected = [local[0], -local[1] * s - local[2] * c, local[1] * c - local[2] * s];
                let off = (0..3).map(|k| (expected[k] - found.normal[k]).abs()).fold(0.0, f64::max);
                ends += 1;
                bent += u32::from(off > 0.02);
                worst = worst.max(off);
                if off > 0.02 {
                    println!("{name}: {end:?} {found:?}, by differences {expected:?}");
                }
            }
        }
    }
    println!("{ends} ends, worst {worst:.1e}, {bent} over 0.02");
    assert!(ends > 1000 && f64::from(bent) < 2e-3 * f64::from(ends));
}

/// To the angle that a micrometre on the blank stands for.
fn is_near(normal: Option<[f64; 3]>, expected: [f64; 3]) -> bool {
    normal.is_some_and(|n| (0..3).all(|k| (n[k] - expected[k]).abs() < 4e-5))
}

fn only(walls: Vec<Wall>) -> Wall {
    assert_eq!(walls.len(), 1, "{walls:#?}");
    walls.into_iter().next().unwrap()
}

#[test]
fn the_edge_of_a_slot_is_found_with_both_normals() {
    let stock = Stock::round(25.0, 100.0);
    let cutters = [cutter(Shape::Flat, 3.0, 80.0)];
    let mut program = Program::new(pose(-30.0, 0.0, 20.0, 0.0));
    program.feed(pose(130.0, 0.0, 20.0, 0.0));
    let replay = replay(&job(&stock, &cutters, &program.motions));
    // The wall u = 3 leaves the blank where sin θ = 3/25 and meets the floor where tan θ = 3/20.
    let rim = (3f64 / 25.0).asin();
    let wall = only(replay.walls((50.0, rim - 3e-3), (50.0, rim + 6e-3)));
    assert!((wall.theta - rim).abs() * 25.0 < 1e-3, "{wall:?}");
    assert!(wall.sides[0].is_empty() && wall.sides[1].len() == 2, "{wall:?}");
    let [skin, side] = [wall.sides[1][0], wall.sides[1][1]];
    assert_eq!((skin.end.by, side.end.by, side.end.is_outer), (UNTOUCHED, 0, false));
    assert!((skin.end.radius - 25.0).abs() < 1e-9 && (side.end.radius - 25.0).abs() < 1e-2);
    assert!(is_near(skin.normal, [0.0, -wall.theta.sin(), wall.theta.cos()]), "{wall:?}");
    assert!(is_near(side.normal, [0.0, 1.0, 0.0]), "{wall:?}");
    let corner = only(replay.walls((50.0, rim + 6e-3), (50.0, 0.2)));
    assert!((corner.theta - (3f64 / 20.0).atan()).abs() * 25.0 < 1e-3, "{corner:?}");
    let floor = corner.sides[0].last().unwrap();
    assert!(is_near(floor.normal, [0.0, 0.0, 1.0]), "{corner:?}");
}

#[test]
fn the_side_of_a_groove_and_the_end_of_the_blank_are_faces() {
    let stock = Stock::round(25.0, 20.0);
    let cutters = [cutter(Shape::Flat, 3.0, 80.0)];
    let mut program = Program::new(pose(10.0, 0.0, 20.0, 0.0));
    program.ring(10.0, 0.0, 20.0);
    let replay = replay(&job(&stock, &cutters, &program.motions));
    let wall = only(replay.walls((6.9, 1.0), (7.13, 1.0)));
    assert!((wall.station - 7.0).abs() < 1e-3, "{wall:?}");
    let radii = wall.sides.each_ref().map(|side| side[0].end.radius);
    assert!((radii[0] - 25.0).abs() < 1e-6 && (radii[1] - 20.0).abs() < 1e-6, "{wall:?}");
    let riser = wall.risers[0];
    assert!((riser.inner - 20.0).abs() < 1e-6 && (riser.outer - 25.0).abs() < 1e-6 && riser.by == 0, "{wall:?}");
    assert!(is_near(riser.normal, [1.0, 0.0, 0.0]), "{wall:?}");
    assert!(
        replay.walls((7.0, f64::NAN), (7.2, 1.0)).len() <= 1 && replay.walls((7.0, 1e300), (7.2, -1e300)).len() <= 1
    );
    let end = only(replay.walls((19.9, 1.0), (20.1, 1.0)));
    assert!((end.station - 20.0).abs() < 1e-3, "{end:?}");
    assert!(is_near(end.risers[0].normal, [1.0, 0.0, 0.0]) && end.risers[0].by == UNTOUCHED, "{end:?}");
}

/// A cutter whose profile has a step of 2 mm makes a step in the floor of its groove that has one owner on both sides.
#[test]
fn a_step_that_one_block_has_made_is_a_wall_too() {
    let stock = Stock::round(25.0, 20.0);
    let profile = vec![(0.0, 1.5), (2.0, 1.5), (2.0, 3.0)];
    let cutters = [cutter(Shape::Form { profile }, 3.0, 40.0)];
    let mut program = Program::new(pose(10.0, 0.0, 20.0, 0.0));
    program.ring(10.0, 0.0, 20.0);
    let replay = replay(&job(&stock, &cutters, &program.motions));
    let wall = only(replay.walls((11.4, 0.5), (11.65, 0.5)));
    assert!((wall.station - 11.5).abs() < 1e-3, "{wall:?}");
    assert!(is_near(wall.risers[0].normal, [-1.0, 0.0, 0.0]), "{wall:?}");
}

/// Between any two neighbours that differ there is a wall; walls come in order, and their ends lie on what made them.
#[test]
fn walls_part_rays_that_differ() {
    let mut dice = Dice(0x2545_f491_4f6c_dd1d);
    let mut count = 0;
    for (name, cutter) in one_of_each(2.0, 0.5) {
        let stock = stocks()[1].clone();
        let (cutters, motions) = ([cutter], wander(&mut dice, 4));
        let replay = replay(&job(&stock, &cutters, &motions));
        for _ in 0..60 {
            let (station, theta) = (dice.between(0.2, 11.4), dice.between(0.0, TAU));
            let (from, to) = ((station, theta), (station + 0.3, theta + 0.03));
            let walls = replay.walls(from, to);
            let kinds = |(x, theta)| replay.ray(x, theta).ends().map(|end| (end.by, end.is_outer)).collect::<Vec<_>>();
            assert!(kinds(from) == kinds(to) || !walls.is_empty(), "{name}: {from:?} to {to:?}");
            assert!(walls.is_sorted_by(|a, b| a.station < b.station), "{name}: {walls:?}");
            for wall in &walls {
                assert!((from.0..=to.0).contains(&wall.station) && (from.1..=to.1).contains(&wall.theta));
                let edges = wall.sides.iter().flatten();
                assert!(edges.clone().all(|edge| edge.normal.is_some()), "{name}: {wall:?}");
                assert!(edges.count() + wall.risers.len() > 0, "{name}: {wall:?}");
            }
            count += walls.len();
        }
    }
    println!("{count} walls");
    assert!(count > 100);
}

/// 720 rays around, and rows of the given length.
fn grid_720(stock: &Stock, stations: usize) -> Grid {
    let station_step = stock.length / stations as f64;
    let station_first = stock.start + 0.5 * station_step;
    Grid { stations, angles: 720, station_first, station_step, angle_step: TAU / 720.0 }
}

/// Volumes of the blank and of what is left of it, by a grid of 720 angles and rows of about the given length, mm.
fn volumes(stock: &Stock, cutter: Cutter, motions: &Vec<Motion>, row: f64) -> Volumes {
    let cutters = [cutter];
    let job = job(stock, &cutters, motions);
    let grid = grid_720(stock, (stock.length / row).round() as usize);
    let carved = carve_checked(&job, &grid, &RunOptions::default());
    let volumes = replay(&job).volumes(&carved, 1e-4, &RunOptions::default()).unwrap();
    let by_rays = carved.removed_mm3(0..motions.len() as u32);
    println!("{volumes:?}, removed {:.6}, by rays alone {by_rays:.6}", volumes.removed_mm3());
    let blank = PI * 625.0 * stock.length;
    assert!((volumes.blank_mm3 / blank - 1.0).abs() < 1e-9, "{volumes:?}");
    volumes
}

/// Sources of the values: see [`oracle`].
fn check_volume(removed: f64, id: &str, part: &str) {
    let expected = oracle(id, part);
    let error = removed / expected - 1.0;
    println!("{id}: {removed:.6} for {expected:.6}: {error:.1e}");
    assert!(error.abs() < 1e-6, "{id}");
}

fn plunge(z: f64) -> Vec<Motion> {
    let mut program = Program::new(pose(10.0, 0.0, 40.0, 0.0));
    program.feed(pose(10.0, 0.0, z, 0.0));
    program.motions
}

#[test]
fn v12_and_v13_plunges_to_a_millionth() {
    let stock = Stock::round(25.0, 20.0);
    let rows = [
        ("V12", Shape::Flat, 5.0, 15.0),
        ("V12b", Shape::Flat, 3.0, 20.0),
        ("V13", Shape::Ball, 5.0, 15.0),
        ("V13b", Shape::Ball, 3.0, 20.0),
    ];
    for (id, shape, radius, z) in rows {
        let volumes = volumes(&stock, cutter(shape, radius, 80.0), &plunge(z), 0.25);
        check_volume(volumes.removed_mm3(), id, "");
    }
}

#[test]
fn v14_flat_slots_to_a_millionth() {
    let stock = Stock::round(25.0, 100.0);
    for (id, count) in [("V14", 1u8), ("V14b", 6)] {
        let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
        for k in 0..count {
            let degrees = 60.0 * f64::from(k);
            program.resume(pose(-30.0, 0.0, 20.0, degrees), 0).feed(pose(130.0, 0.0, 20.0, degrees));
        }
        let volumes = volumes(&stock, cutter(Shape::Flat, 3.0, 80.0), &program.motions, 5.0);
        check_volume(volumes.removed_mm3(), id, "");
    }
}

#[test]
fn v07_and_v08_grooves_to_a_millionth() {
    // The sides of the flat groove fall between rows, and so do those of the ball.
    let stock = Stock::round(25.0, 20.0);
    let mut program = Program::new(pose(10.1, 0.0, 20.0, 0.0));
    program.ring(10.1, 0.0, 20.0);
    for (id, shape) in [("V07", Shape::Flat), ("V08", Shape::Ball)] {
        let volumes = volumes(&stock, cutter(shape, 3.0, 80.0), &program.motions, 1.0);
        check_volume(volumes.removed_mm3(), id, "");
    }
}

/// One turn of a helical groove, as what a second turn removes beyond the first.
#[test]
fn v25_helical_groove_to_a_millionth() {
    let stock = Stock::round(25.0, 60.0);
    let removed = [1.0, 2.0].map(|turns| {
        let at = |turns: f64| pose(10.0 + 20.0 * turns, 0.0, 24.0, 360.0 * turns);
        let mut program = Program::new(at(0.0));
        program.feed(at(turns));
        volumes(&stock, cutter(Shape::Ball, 3.0, 80.0), &program.motions, 1.0).removed_mm3()
    });
    check_volume(removed[1] - removed[0], "V25", "c=27.0, pitch=20.0,");
}

#[test]
fn volumes_are_the_same_for_any_number_of_threads_and_can_be_cancelled() {
    let stock = Stock::round(10.0, 4.0);
    let cutters = [cutter(Shape::Ball, 2.0, 20.0)];
    let mut program = Program::new(pose(2.1, 0.0, 8.3, 0.0));
    program.feed(pose(2.9, 0.4, 8.1, 170.0));
    let job = job(&stock, &cutters, &program.motions);
    let carved = carve_checked(&job, &Grid::over(&stock, 1.0), &RunOptions::default());
    let with = |threads| RunOptions { threads, ..RunOptions::default() };
    let one = replay(&job).volumes(&carved, 1e-4, &with(1)).unwrap();
    let three = replay(&job).volumes(&carved, 1e-4, &with(3)).unwrap();
    assert_eq!(
        (one.left_mm3.to_bits(), one.blank_mm3.to_bits()),
        (three.left_mm3.to_bits(), three.blank_mm3.to_bits())
    );
    let stop = std::sync::atomic::AtomicBool::new(true);
    let options = RunOptions { cancel: Some(&stop), ..RunOptions::default() };
    assert!(Replay::new(&job, &options).is_err() && replay(&job).volumes(&carved, 1e-4, &options).is_err());
}

#[test]
fn a_finer_patch_is_part_of_the_finer_grid() {
    let mut dice = Dice(0xdead_beef_cafe_f00d);
    for (name, cutter) in one_of_each(2.0, 0.4) {
        let stock = stocks()[1].clone();
        let (cutters, motions) = ([cutter], wander(&mut dice, 3));
        let job = job(&stock, &cutters, &motions);
        let grid = Grid::over(&stock, 1.5);
        let whole = carve_checked(&job, &grid.finer(3), &RunOptions::default());
        // Once around the seam.
        let patch = finer(&job, &grid, 2..5, grid.angles - 4..grid.angles + 3, 3, &RunOptions::default()).unwrap();
        assert_eq!((patch.rows(), patch.columns().len()), (6..15, 21));
        for row in patch.rows() {
            for column in patch.columns() {
                let of_whole: Vec<_> = whole.spans(row, column % whole.grid().angles).collect();
                let of_patch: Vec<_> = patch.spans(row, column).collect();
                assert_eq!(of_patch, of_whole, "{name}: row {row}, column {column}");
            }
        }
    }
}
